"""What did the track give, what was taken for granted, and what is left to fill in? One self-contained page."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from samesky import units
from samesky.campaign.messages.findings import Finding
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.tables.write import write_text
from samesky.evidence.tracks.finding import BANDS, MEASURED
from samesky.evidence.tracks.propose import TrackProposal
from samesky.evidence.tracks.rows import local
from samesky.evidence.tracks.runs import height_between
from samesky.instruments.tracks import Fixes, TrackEstimate
from samesky.measures import MEASURES
from samesky.measures.shape import Measure
from samesky.report import track_figure as figures
from samesky.report.phrases import NARROW, number, places_for
from samesky.report.picture import Picture, picture
from samesky.report.rendering import rendered


@dataclass(frozen=True, slots=True)
class TrackRow:
    """One run in words: its number, clock, result and readings, each reading as (name, text)."""

    run: str
    clock: str
    result: str
    readings: tuple[tuple[str, str], ...]


def write_track(
    campaign: Campaign, fixes: Fixes, proposal: TrackProposal, path: Path, left: tuple[Finding, ...] = ()
) -> Path:
    """Write the page; give its path. ``left`` are errors that stay until the pilot has filled in what is blank.

    Raises CampaignError where the page cannot be written; then nothing is left behind.
    """
    return write_text(Path(path), track_page(campaign, fixes, proposal, left))


def track_page(
    campaign: Campaign,
    fixes: Fixes,
    proposal: TrackProposal,
    left: tuple[Finding, ...] = (),
    drawn: tuple[Picture, Picture, str] | None = None,
) -> str:
    """The page as HTML text; the same track and campaign give the same page, byte for byte.

    ``drawn`` is what :func:`pictures` gave, where they were drawn before.
    """
    clock, ground, part = drawn or pictures(fixes, proposal)
    return rendered(
        "track.html",
        campaign=campaign,
        proposal=proposal,
        measure=MEASURES[proposal.measure],
        track=fixes.source,
        headline=headline(proposal),
        rows=[row(proposal, k) for k in range(len(proposal.runs))],
        candidates=candidates(proposal),
        clock=clock,
        ground=ground,
        part=part,
        left=left,
        offset=offset_words(proposal.utc_offset_hours),
    )


def pictures(fixes: Fixes, proposal: TrackProposal) -> tuple[Picture, Picture, str]:
    """Height and speed against the clock, the path over the ground, and words for where they do not show the whole."""
    near, close = figures.near(fixes, proposal), figures.near(fixes, proposal, least=8.0)
    return (
        picture(lambda width: figures.against_clock(near, proposal, width), figures.clock_alt(near, proposal)),
        picture(lambda width: figures.over_ground(close, proposal, width), figures.ground_alt(close, proposal)),
        "" if len(near) == len(fixes) else ", near what was found",
    )


def headline(proposal: TrackProposal) -> str:
    """What came of it, in one sentence."""
    count, what = len(proposal.rows), MEASURED[proposal.measure]
    if not count:
        return "Nothing was chosen: the track does not say which."
    many = what.replace("set of", "sets of") if count > 1 else what
    many = many if count == 1 or many.startswith("sets") else f"{many}s"
    return f"{count} {many} for {proposal.file}, configuration {proposal.configuration}."


def row(proposal: TrackProposal, index: int) -> TrackRow:
    """One run with everything that was read of it, plus or minus twice its standard uncertainty."""
    run, measure = proposal.runs[index], MEASURES[proposal.measure]
    cells = proposal.rows[index]
    said = {name: plus_minus(reading, *unit_of(proposal, measure, name)) for name, reading in run.readings.items()}
    if proposal.measure in BANDS:
        what = "gained" if proposal.measure == "timed_climb" else "lost"
        said[f"height {what}"] = plus_minus(height_between(run.segments[0]), proposal.units["length"], "length")
    for leg in range(1, len(run.segments) + 1 if proposal.measure == "level_speed" else 1):
        said[f"leg {leg}"] = f"{said.pop(f'speed {leg}')} on {said.pop(f'track {leg}')}"
    first, last = (local(moment, proposal.utc_offset_hours) for moment in (run.start, run.end))
    return TrackRow(
        run=cells.get("run", str(index + 1)),
        clock=f"{first:%H:%M:%S} to {last:%H:%M:%S}",
        result=plus_minus(run.result, proposal.units["result"], measure.dimension),
        readings=tuple(said.items()),
    )


def unit_of(proposal: TrackProposal, measure: Measure, name: str) -> tuple[str, str]:
    """Unit and dimension of a column, by the header cell that the rows were made for."""
    dimension = next(column.dimension for column in measure.columns if column.name == name)
    return units.header(proposal.headers[name])[1] or "1", dimension


def plus_minus(reading: TrackEstimate, unit: str, dimension: str) -> str:
    """``1023 ± 13 ft``: the value and twice its standard uncertainty (JCGM 100:2008, 6.3.3)."""
    value = float(units.from_si(reading.value, unit, dimension))
    spread = 2.0 * float(units.from_si(reading.standard_uncertainty, unit, dimension))
    if not (math.isfinite(spread) and spread > 0):
        return f"{number(value, 2 if dimension == 'time' else 0)}{NARROW}{unit}"
    decimals = places_for(spread)
    return f"{number(value, decimals)} ± {number(spread, decimals)}{NARROW}{unit}"


def candidates(proposal: TrackProposal) -> list[tuple[str, str, str, str]]:
    """Every stretch that could have been meant: clock, kind, whether it was taken, and what to know of it."""
    names = {id(segment): name for name, segment in figures.taken(proposal)}
    found = []
    for segment in proposal.found.candidates:
        first, last = (local(moment, proposal.utc_offset_hours) for moment in (segment.start, segment.end))
        name = next((names[id(one)] for one in proposal.found.chosen if one is segment and id(one) in names), "")
        taken = f"run {name}" if name else "not taken"
        found.append((f"{first:%H:%M:%S} to {last:%H:%M:%S}", segment.kind, taken, _known(proposal, segment)))
    return found


def _known(proposal: TrackProposal, segment) -> str:
    shown = (
        ("rate of climb", "result" if proposal.measure == "timed_climb" else "", "speed"),
        ("gain", "length", "length"),
        ("rate of descent", "result" if proposal.measure == "idle_descent" else "", "speed"),
        ("loss", "length", "length"),
        ("ground speed", "speed", "speed"),
        ("altitude", "length", "length"),
        ("roll", "result", "length"),
        ("acceleration", "result" if proposal.measure == "ground_acceleration" else "", "acceleration"),
    )
    parts = []
    for name, unit, dimension in shown:
        if name in segment.values and unit:
            value = segment.values[name]
            # The noise of one receiver says nothing of how well a satellite's height is known as pressure altitude.
            text = plus_minus(
                TrackEstimate(value.value, 0.0) if name == "altitude" else value, proposal.units[unit], dimension
            )
            parts.append(f"{name} {text}")
    return "; ".join([*parts, *segment.notes])


def offset_words(hours: float) -> str:
    """``UTC+02:00``."""
    minutes = round(abs(hours) * 60)
    return f"UTC{'-' if hours < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}" if minutes else "UTC"
