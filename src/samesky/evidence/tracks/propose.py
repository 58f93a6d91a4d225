"""What does a track hold that the campaign's files can take?

:func:`propose` finds the runs of one measure in a track and puts them as rows in the units of the file's own header,
with what was assumed, how sure each number is, and what a track cannot know and the pilot has to say. Nothing is chosen
where the track leaves a choice: then there are no rows, and a sentence says which times to give.
:func:`samesky.evidence.proposal.put` writes a proposal down.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import did_you_mean, listed, plain_name, quoted
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.toml.section import FILE
from samesky.evidence import catalogue as say
from samesky.evidence.day_air import DayAir
from samesky.evidence.proposal import ProposedRow
from samesky.evidence.run_file import RunFile, run_file
from samesky.evidence.stated_sources import StatedSource, to_append, with_tables
from samesky.evidence.tracks.finding import MEASURED, ON_THE_GROUND, TrackRequest, air_for, runs_of
from samesky.evidence.tracks.put import with_rows
from samesky.evidence.tracks.rows import local, not_below_hands, questions_of, rows_of
from samesky.evidence.tracks.runs import TrackRun
from samesky.instruments.tracks import Fixes, Found
from samesky.instruments.tracks.noise import TrackEstimate
from samesky.measures import MEASURES


@dataclass(frozen=True, slots=True)
class TrackProposal:
    """Rows that a track offers to one file of a campaign.

    Attributes
    ----------
    measure, configuration : name of the measure, key of the configuration
    file : name of the file, such as ``timed_climb.csv``
    rows : text by column name, in the units of ``headers``; none where the pilot has to decide first
    headers : the header cell of each of these columns, for those that the file lacks
    runs : the same as numbers [SI], one a row
    found : what the finder saw, candidates included
    assumptions : what was taken for granted, in sentences
    questions : what the pilot must still say
    sources : error sources that belong into ``campaign.toml``
    air : what turned heights by satellite into pressure altitude; None with a barometer, or where none is needed
    utc_offset_hours : of the rows' clock
    units : units in which heights (``"length"``), speeds (``"speed"``) and the ``"result"`` are shown
    places : places in the file's grid of the planned rows that the rows fill; none where they go in by their clock
    planned : what to tell of planned rows before anything is put, ``""`` where there is none
    """

    measure: str
    configuration: str
    file: str
    rows: tuple[Mapping[str, str], ...]
    headers: Mapping[str, str]
    runs: tuple[TrackRun, ...]
    found: Found
    assumptions: tuple[str, ...]
    questions: tuple[str, ...]
    sources: tuple[StatedSource, ...]
    air: DayAir | None
    utc_offset_hours: float
    units: Mapping[str, str]
    places: tuple[int, ...] = ()
    planned: str = ""

    @property
    def proposed(self) -> tuple[ProposedRow, ...]:
        """The rows, which go in by their clock or fill planned ones."""
        return tuple(ProposedRow(self.file, None, row) for row in self.rows)

    @property
    def doubted(self) -> tuple[Finding, ...]:
        """Nothing: a track is asked about by :attr:`questions`, and replaces no reading."""
        return ()

    def texts(self, campaign: Campaign) -> dict[str, str]:
        """The new files: the rows in their places, and the receiver's noise where it is not stated yet.

        Raises CampaignError where there is no row, a run of that date and clock is there already, or an error source is
        stated otherwise.
        """
        if not self.rows:
            raise cannot("the track", say.TRACK_NO_ROW(reason=self.found.reason))
        rows = with_rows(campaign, self.measure, self.headers, self.rows, self.runs, self.places)
        tables = to_append(campaign.toml, campaign.sources, self.sources)
        return ({FILE: with_tables(campaign.toml, tables)} if tables else {}) | {self.file: rows}

    @property
    def uncertainty(self) -> tuple[Mapping[str, TrackEstimate], ...]:
        """Value and standard uncertainty [SI] of each reading, one mapping a row."""
        return tuple(run.readings for run in self.runs)


def propose(
    campaign: Campaign,
    fixes: Fixes,
    measure: str,
    *,
    configuration: str,
    between: tuple[float, float] | None = None,
    utc_offset_hours: float = 0.0,
    expected: int = 1,
    band: tuple[float, float] | None = None,
    legs: int | None = None,
    lift_off_speed: TrackEstimate | None = None,
    touch_down_speed: TrackEstimate | None = None,
    marks: tuple[float, float] | None = None,
    oat: float | None = None,
    qnh: float | None = None,
    installation: str = "",
) -> TrackProposal:
    """The rows that a track offers to one measure's file.

    Parameters
    ----------
    measure : one of :data:`.track_finding.MEASURED`
    configuration : key of what was flown in this part of the track
    between : (start, end) [s since 1970 UTC] look only there; for descents, when the throttle was closed
    utc_offset_hours : local clock less UTC
    expected : number of runs flown; all that are found are taken, in order of time, if they are that many
    band : (bottom, top) [m, pressure altitude] of climbs and descents; None for each whole one
    legs : number of level legs of a run; None where all runs have equally many
    lift_off_speed, touch_down_speed : [m/s] over the ground; None finds the lift-off in the heights, and of the
        touch-down what they leave open
    marks : [m/s] ground speeds between which an acceleration on the ground is timed; None takes those of the runs that
        are there, of the plan, or usual ones
    oat, qnh : [K], [Pa] read for these runs; also those that turn satellite heights into pressure altitude
    installation : number of the fitting, where the file counts them

    Raises
    ------
    CampaignError
        a measure or configuration that the campaign does not have, or a file that cannot be read
    TrackError
        a track without what the measure needs
    """
    name = _measure(campaign, measure)
    key = _configuration(campaign, configuration)
    file = run_file(campaign, MEASURES[name])
    part = fixes if between is None else fixes.between(*between)
    if not len(part):
        raise cannot(fixes.source, say.TRACK_NO_FIXES(span=_span(fixes, utc_offset_hours)))
    part, notes = _with_heights(part)
    by_satellite = part.heights()[1] == "satellite altitude" and not np.isnan(part.altitude).all()
    speed = touch_down_speed if name == "landing_roll" else lift_off_speed
    asked = TrackRequest(campaign, name, file, expected, between, band, legs, speed, by_satellite, marks)
    air, said = None, list(notes)
    if by_satellite and name not in ON_THE_GROUND:
        air = air_for(asked, part, utc_offset_hours, oat, qnh)
        said += ["heights are counted by satellite, not by pressure", *air.said]
        try:
            part = replace(part, pressure_altitude=air.pressure_altitude(part.altitude))
        except ValueError as error:
            raise cannot(fixes.source, say.TRACK_HEIGHTS(error=error)) from None
    found, runs, made = runs_of(asked, part, air)
    made, kept = not_below_hands(campaign, file, made)
    into = rows_of(campaign, file, fixes.source, runs, key, utc_offset_hours, {"oat": oat, "qnh": qnh}, installation)
    written = into.rows
    names = dict.fromkeys(column for row in written for column in row)
    return TrackProposal(
        measure=name,
        configuration=key,
        file=file.name,
        rows=written,
        headers={column: file.header(column) for column in names},
        runs=tuple(runs),
        found=found,
        assumptions=(*found.assumptions, *fixes.notes, *said, *kept),
        questions=(
            *questions_of(name, file, found, runs, written, utc_offset_hours),
            *(() if air is None else air.asks()),
            *_as_well(campaign, name, written),
        ),
        sources=tuple(made),
        air=air,
        utc_offset_hours=utc_offset_hours,
        units=_units(campaign, file),
        places=into.places,
        planned=into.said,
    )


def _as_well(campaign: Campaign, name: str, rows: Sequence[Mapping[str, str]]) -> tuple[str, ...]:
    """What the same runs give besides, where the campaign asks for it."""
    other = {"takeoff_roll": "ground_acceleration", "ground_acceleration": "takeoff_roll"}.get(name)
    if not rows or other not in campaign.asked:
        return ()
    return (f"The same take-offs give the {MEASURES[other].title} as well: look for {other} in this track next.",)


def _units(campaign: Campaign, file: RunFile) -> dict[str, str]:
    """The file's own units where it has a column of the kind, else usual ones."""
    columns = {
        "length": ("from", "altitude"),
        "speed": ("speed 1", "first ground speed", "airspeed", "lift-off airspeed"),
    }
    found = {"length": "ft", "speed": "kt"}
    for kind, names in columns.items():
        known = [name for name in names if name in file.known()]
        if known:
            found[kind] = file.unit(known[0])[0]
    return found | {"result": campaign.asked[file.measure.name].unit or file.measure.unit}


def _measure(campaign: Campaign, measure: str) -> str:
    by_plain = {plain_name(name): name for name in MEASURED}
    name = by_plain.get(plain_name(measure))
    if name is None:
        raise cannot(
            "a track",
            say.TRACK_NO_SUCH_MEASURE(
                measure=quoted(measure),
                measured=listed(MEASURED, "or"),
                hint=did_you_mean(measure, MEASURED, "Name one of these."),
            ),
        )
    if name not in campaign.asked:
        raise cannot(FILE, say.TRACK_MEASURE_NOT_ASKED(name=name))
    return name


def _configuration(campaign: Campaign, configuration: str) -> str:
    by_plain = {plain_name(key): key for key in campaign.configurations}
    key = by_plain.get(plain_name(configuration))
    if key is None:
        known = campaign.configurations
        labels = ", ".join(f"{key} ({one.label})" for key, one in known.items())
        raise cannot(
            FILE,
            say.TRACK_NO_SUCH_CONFIGURATION(
                configuration=quoted(configuration),
                hint=did_you_mean(
                    configuration, known, f"It has {labels or 'none: add [configuration.A] and [configuration.B]'}."
                ),
            ),
        )
    return key


def _span(fixes: Fixes, offset: float) -> str:
    first, last = (local(moment, offset) for moment in (fixes.time.min(), fixes.time.max()))
    return f"The track runs from {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M} on that clock."


def _with_heights(part: Fixes) -> tuple[Fixes, tuple[str, ...]]:
    """The track without the few fixes whose height is missing; as it is where heights are missing throughout."""
    for heights in (part.pressure_altitude, part.altitude):
        known = ~np.isnan(heights)
        if known.mean() >= 0.5:
            count = int((~known).sum())
            said = (f"{count} fix{'es' * (count > 1)} without a height left aside",) if count else ()
            return (part.select(known) if count else part), said
    return part, ()
