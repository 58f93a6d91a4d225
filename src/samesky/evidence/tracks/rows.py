"""How do runs found in a track become rows of somebody's file, and what is left for the pilot to say?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import numpy as np

from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.assemble import in_flown_order
from samesky.campaign.reading.unflown import unflown_places
from samesky.campaign.tables import cells
from samesky.campaign.toml.parse import parsed
from samesky.evidence import catalogue as say
from samesky.evidence.fill_planned import Filling, filling
from samesky.evidence.run_file import RunFile
from samesky.evidence.stated_sources import StatedSource, largest_stated, table_of
from samesky.evidence.tracks.runs import TrackRun, height_between
from samesky.instruments.tracks import Found, Segment

#: Columns that no track can know, by measure, as far as a file has them.
UNKNOWN = {
    "timed_climb": ("oat", "dew point", "fuel", "rpm", "airspeed", "entry airspeed", "exit airspeed"),
    "level_speed": ("oat", "dew point", "fuel", "rpm", "airspeed", "fuel flow"),
    "takeoff_roll": ("oat", "qnh", "dew point", "fuel", "rpm", "lift-off airspeed", "headwind", "gust", "crosswind"),
}
UNKNOWN |= {
    "idle_descent": UNKNOWN["timed_climb"],
    "ground_acceleration": tuple(name for name in UNKNOWN["takeoff_roll"] if name != "lift-off airspeed"),
    "landing_roll": tuple(name.replace("lift-off", "touch-down") for name in UNKNOWN["takeoff_roll"]),
}
#: Of these, the ones that are asked for even where the file has no column for them.
ASKED = ("oat", "qnh", "fuel")
#: What is asked where the track leaves a choice.
HOW_MANY = "Say how many were flown, if all that were found count, or between which times to look."
WHICH = {
    "idle_descent": "Say from when to when the throttle was closed, and how many descents were flown in that time: a "
    "track cannot tell a descent at idle from a powered approach.",
    "takeoff_roll": "Say how many were flown or between which times to look, and the ground speed at lift-off: heights "
    "alone hardly tell when the wheels left the ground.",
    "landing_roll": "Say how many were flown or between which times to look, and the ground speed at touch-down: "
    "heights alone hardly tell when the wheels touched.",
}
#: What no track shows of a run, and the comparison rests on.
WAS_IT = {
    "timed_climb": "Was each climb flown at full throttle and one airspeed from the first to the last second of it?",
    "idle_descent": "Was the throttle closed, with the same flap and one airspeed, from the first to the last second "
    "of each descent? A powered approach looks the same in a track: if not, do not put it.",
    "takeoff_roll": "Was each roll begun from a standstill with full throttle? The track shows the ground alone.",
    "ground_acceleration": "Was full throttle set before the first of the two speeds, and were all wheels on the "
    "ground at the second? The track shows neither.",
    "landing_roll": "Was each landing braked the same way, from the touch-down to the standstill? Neither brakes nor "
    "wheels show in a track.",
}
#: Days after which the week count of a satellite receiver begins anew: 1024 weeks.
WEEK_COUNT = 7168.0
#: Segments along a strip.
ROLLING = ("take-off roll", "landing roll", "acceleration on the ground")
#: How far [rad] the direction of a roll may be from the heading of its strip.
SAME_STRIP = np.radians(20.0)


def local(moment: float, offset_hours: float) -> datetime:
    """A moment [s since 1970 UTC] on the local clock."""
    return datetime.fromtimestamp(moment, UTC).astimezone(timezone(timedelta(hours=offset_hours)))


def rows_of(
    campaign: Campaign,
    file: RunFile,
    track: str,
    runs: Sequence[TrackRun],
    key: str,
    offset_hours: float,
    said: Mapping[str, float | None],
    installation: str,
) -> Filling:
    """One mapping a run, from column name to the text of its cell in the file's own unit, and the planned rows filled.

    ``said`` are readings [SI] that the pilot gave for all of these runs; None for those not given.
    """
    day = campaign.day
    dated = file.grid.column("date") is not None or day is None
    rows = []
    for run in runs:
        begin = local(run.start, offset_hours)
        cells_of = {"date": begin.date().isoformat(), "clock": f"{begin:%H:%M}", "configuration": key}
        if not dated and begin.date() == day:
            del cells_of["date"]
        if installation:
            cells_of["installation"] = installation
        strip = _strip(campaign, run)
        if strip:
            cells_of["runway"] = strip
        for name, value in said.items():
            if value is not None and name in file.known():
                cells_of[name] = file.text(name, value, 0.0)
        for name, reading in run.readings.items():
            cells_of[name] = file.text(name, reading.value, _rounding(run, name))
        cells_of["notes"] = f"from the track {track}, {_utc(run.start)} to {_utc(run.end)} UTC"
        rows.append(cells_of)
    found = filling(file.grid, list(file.known().values()), rows, day)
    named = zip(found.rows, _numbers(file, len(runs)), runs, strict=True)
    return replace(found, rows=tuple(_named(campaign, file, key, *one, offset_hours) for one in named))


def _named(
    campaign: Campaign, file: RunFile, key: str, row: Mapping[str, str], number: str, run: TrackRun, offset_hours: float
) -> dict[str, str]:
    """The row with its number and the number of its fitting, where it has none from a planned row."""
    head = {"run": row.get("run", number)} if file.grid.column("run") is not None or file.fresh else {}
    head |= {name: row[name] for name in ("date", "clock", "configuration") if name in row}
    fitted = row.get("installation") or _installation(campaign, file, key, local(run.start, offset_hours))
    return head | ({"installation": fitted} if fitted else {}) | {k: v for k, v in row.items() if k not in head}


def _rounding(run: TrackRun, name: str) -> float:
    """Uncertainty [SI] to whose fifth a cell is rounded: of two heights, that of their difference."""
    if name in ("from", "to"):
        return height_between(run.segments[0]).standard_uncertainty
    return run.readings[name].standard_uncertainty


def _utc(moment: float) -> str:
    return f"{local(moment, 0.0):%H:%M:%S}"


def _numbers(file: RunFile, count: int) -> list[str]:
    """Numbers for new runs, beyond the highest that is there."""
    taken = [int(cell) for cell in file.column("run") if cell.isdecimal() and len(cell) < 10]
    first = max([*taken, sum(any(cell.strip() for cell in row) for row in file.grid.rows), 0]) + 1
    return [str(first + k) for k in range(count)]


def _strip(campaign: Campaign, run: TrackRun) -> str:
    """The strip of a roll by its direction, where the campaign has several and one alone fits."""
    if len(campaign.runways) < 2 or run.segments[0].kind not in ROLLING:
        return ""
    track = run.segments[0].values["track"].value
    fits = [
        name
        for name, strip in campaign.runways.items()
        if strip.heading is not None and abs((track - strip.heading + np.pi) % (2 * np.pi) - np.pi) <= SAME_STRIP
    ]
    return fits[0] if len(fits) == 1 else ""


def _installation(campaign: Campaign, file: RunFile, key: str, begin: datetime) -> str:
    """The number of the fitting from the runs just before and after; blank where the files count none."""
    runs = in_flown_order(campaign.tables)
    written = [table.text.get("installation", [""] * len(table.rows))[index] for table, index in runs]
    if not any(written) and not any(file.column("installation")):
        return ""
    first = campaign.first_day
    hours = 24.0 * (begin.date() - first).days + begin.hour + begin.minute / 60 if first is not None else np.inf
    sides = [k for k, (table, index) in enumerate(runs) if table.hours[index] <= hours][-1:]
    sides += [k for k, (table, index) in enumerate(runs) if table.hours[index] > hours][:1]
    fits = {written[k] for k in sides if runs[k][0].configuration[runs[k][1]] == key and written[k]}
    if len(fits) != 1 or first is None:
        raise cannot(
            file.name,
            say.TRACK_INSTALLATION_UNKNOWN(begin=begin),
            column="installation",
        )
    return fits.pop()


def questions_of(
    measure: str,
    file: RunFile,
    found: Found,
    runs: Sequence[TrackRun],
    rows: Sequence[Mapping[str, str]],
    offset_hours: float,
) -> list[str]:
    """What the pilot must still say, in sentences."""
    asked = []
    if found.ambiguous:
        asked.append(WHICH.get(measure, HOW_MANY))
        asked += [_candidate(segment, offset_hours) for segment in found.candidates]
        return asked
    shown = [name for name in UNKNOWN[measure] if file.grid.column(name) is not None or name in ASKED]
    open_ = [name for name in shown if name in file.known() and not any(row.get(name) for row in rows)]
    if open_:
        asked.append(f"A track cannot know {listed(open_)}: fill in what you read, or leave that column empty for all.")
    asked.append(_clock_asked(file, rows[0], local(runs[0].start, offset_hours), local(runs[0].start, 0.0)))
    if measure == "level_speed":
        legs = listed(dict.fromkeys(len(run.segments) for run in runs), "or")
        asked.append(f"{legs} legs were taken as one run: was each flown at one airspeed, one setting and one height?")
    if measure in WAS_IT:
        asked.append(WAS_IT[measure])
    asked += [
        f"Run {row.get('run', k + 1)}: {run.note}."
        for k, (run, row) in enumerate(zip(runs, rows, strict=True))
        if run.note
    ]
    return asked


def _clock_asked(file: RunFile, row: Mapping[str, str], begin: datetime, by_receiver: datetime) -> str:
    """What only the pilot's watch knows: whether the receiver's clock and date are right."""
    said = (
        f"Did run {row.get('run', '1')} begin at {begin:%H:%M} on {begin:%Y-%m-%d} by your clock ({by_receiver:%H:%M} "
        "by the receiver, as UTC)? A receiver that keeps local time, or has a wrong day, shifts every run."
    )
    days = [(cells.day(cell) - begin.date()).days for cell in file.column("date") if _is_day(cell)]
    nearest = min(days, key=abs, default=0)
    if abs(abs(nearest) - WEEK_COUNT) < WEEK_COUNT / 20:
        said += (
            f" The other runs of {file.name} are {abs(nearest) / 7:.0f} weeks away: the week count of an old receiver "
            "begins anew after 1024."
        )
    return said


def _is_day(cell: str) -> bool:
    try:
        cells.day(cell)
    except cells.CellError:
        return False
    return True


def _candidate(segment: Segment, offset_hours: float) -> str:
    first, last = (local(moment, offset_hours) for moment in (segment.start, segment.end))
    why = f": {'; '.join(segment.notes)}" if segment.notes else ""
    return f"Candidate: {segment.kind} from {first:%H:%M:%S} to {last:%H:%M:%S}{why}."


def not_below_hands(
    campaign: Campaign, file: RunFile, made: Sequence[StatedSource]
) -> tuple[list[StatedSource], list[str]]:
    """The sources to state: where runs of the file were read by hand, none that is smaller than what holds for them."""
    there = parsed(campaign.toml).get("instrument", {})
    if all(table_of(there, one) is not None for one in made):
        return list(made), []
    planned = set(unflown_places(file.grid, list(file.known().values())))
    if not any(any(cell.strip() for cell in row) for k, row in enumerate(file.grid.rows) if k not in planned):
        return list(made), []
    kept = [one for one in made if one.size > largest_stated(campaign, one)]
    said = (
        f"{file.name} holds runs that were read by hand, and an error source holds for the whole file: the larger "
        "sizes stay, so that the runs of the track are better than is stated"
    )
    return kept, [said] if len(kept) < len(made) else []
