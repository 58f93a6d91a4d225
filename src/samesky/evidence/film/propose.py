"""What would the film of the rolls put into the blank cells of the runs?

Runs are found by their names. Only blank cells are filled; a reading that is there stays, and is held against the film.
What the film is worth goes into ``campaign.toml``, for the measure that it fills alone:
:mod:`samesky.evidence.film.sources`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from samesky import units
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import plain_name
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.film_file import HOW, FilmedRolls, is_filmed_rolls
from samesky.campaign.reading.read import run_files
from samesky.campaign.tables import cells
from samesky.campaign.tables.delimited import split
from samesky.campaign.tables.source_text import read_text
from samesky.campaign.toml.section import FILE
from samesky.evidence.film.sources import assumed, own_uncertainty, stated
from samesky.evidence.run_file import RunFile, run_file
from samesky.evidence.stated_sources import Stated, to_append
from samesky.instruments.roll_film import (
    Filmed,
    FilmSetup,
    RollFrames,
    ground_roll,
    speed_between_markers,
    time_to_lift_off,
    too_far_beyond,
)
from samesky.measures.filmed_rolls import BRAKES, FILMED
from samesky.measures.shape import Measure


@dataclass(frozen=True, slots=True)
class Given:
    """One number a roll that a film can give: the column it fills, its dimension, how it is reckoned, what it needs."""

    column: str
    dimension: str
    quantity: Callable[[FilmSetup, RollFrames], Filmed]
    needs: str


#: Standard uncertainties by which a reading may differ from the film before that is doubtful.
APART = 3.0
#: What a film gives, by the measure that wants it; all but the first are free measures of that name.
GIVEN: Mapping[str, Given] = {
    "takeoff_roll": Given("ground roll", "length", ground_roll, "lift-off and two marker passages"),
    "time_to_lift_off": Given("time to lift off", "time", time_to_lift_off, f"{BRAKES} and lift-off"),
    "speed_between_markers": Given("speed between markers", "speed", speed_between_markers, "two marker passages"),
}


@dataclass(frozen=True, slots=True)
class FilmedRun:
    """What the film says of one run of one measure.

    ``index`` is the row in the film's table from 0, ``row`` that in the ``measure``'s ``file`` as a spreadsheet shows
    it; ``text`` is what goes, or would go, into the cell, in ``unit``; ``value`` and its standard ``uncertainty`` SI.
    ``kind`` is "fill" for a blank cell, "there" for a cell that says the same, "apart" for one that says otherwise:
    its ``reading`` [SI] stays.
    """

    index: int
    run: str
    measure: Measure
    file: str
    row: int
    column: str
    text: str
    unit: str
    value: float
    uncertainty: float
    kind: str
    reading: float


@dataclass(frozen=True, slots=True, eq=False)
class Proposal:
    """What the film would put into a campaign folder.

    Attributes
    ----------
    film : the film as written down
    runs : what it says of each run that it tells something of
    sources : the error sources that ``campaign.toml`` would state
    appended : the text that it would get, ``""`` for none
    doubts : readings that disagree with the film, and what else is doubtful
    left : sentences: what is not filled, and why
    notes : sentences: what the numbers rest on
    """

    film: FilmedRolls
    runs: tuple[FilmedRun, ...]
    sources: tuple[Stated, ...]
    appended: str
    doubts: tuple[Finding, ...]
    left: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def fills(self) -> tuple[FilmedRun, ...]:
        """Those that go into a blank cell."""
        return tuple(one for one in self.runs if one.kind == "fill")


def wanted(campaign: Campaign) -> dict[str, Given]:
    """What a film can give to the measures that the campaign asks for, by their names."""
    by_plain = {plain_name(name): given for name, given in GIVEN.items()}
    found = {name: by_plain.get(plain_name(name)) for name in campaign.asked}
    return {
        name: given
        for name, given in found.items()
        if given is not None and campaign.asked[name].measure.dimension == given.dimension
    }


def propose(campaign: Campaign) -> Proposal:
    """What the film would fill in; nothing is written.

    ``campaign`` is as read from its folder; cells that are still blank are no hindrance.

    Raises
    ------
    CampaignError
        nothing is asked that a film can give, there is no film or a fault in it, the campaign's settings have to be
        mended first, or ``campaign.toml`` states otherwise what the film is known to be worth
    """
    film = ready(campaign)
    runs: list[FilmedRun] = []
    sources: list[Stated] = []
    left: list[str] = []
    notes = assumed(film)
    for name, given in wanted(campaign).items():
        file = run_file(campaign.folder, campaign.asked[name].measure)
        told, filmed, why = _told(campaign, film, given, file)
        runs += told
        left += why
        if told:
            by_hand = _by_hand(campaign, file, given.column, told)
            made, said = stated(campaign, given.column, filmed, file, film.setup, by_hand)
            sources += made
            notes += said
    doubts = [_doubt(campaign, one) for one in runs if one.kind == "apart" and _is_far(campaign, one)]
    doubts += [one for one in campaign.findings if one.kind == "warning" and one.file == film.file]
    left += [_stays(one) for one in runs if one.kind == "apart" and not _is_far(campaign, one)]
    appended = ""
    if any(one.kind == "fill" for one in runs):
        appended = to_append(toml_text(campaign.folder), campaign.sources, sources, "film")
    return Proposal(film, tuple(runs), tuple(sources), appended, tuple(doubts), tuple(left), tuple(notes))


def ready(campaign: Campaign) -> FilmedRolls:
    """The campaign's film, with its set-up. Raises CampaignError where there is none, or a fault in the settings."""
    file = next((path.name for path in run_files(campaign.folder) if is_filmed_rolls(path)), f"{FILMED.name}.csv")
    for finding in campaign.findings:
        if finding.kind == "error" and finding.file in (FILE, file) and not _of_the_runs(finding):
            raise CampaignError(finding)
    if not wanted(campaign):
        mend = "Ask for [measure.takeoff_roll], or for a free measure time_to_lift_off in s or speed_between_markers."
        raise cannot(FILE, "asks for nothing that a film of rolls can give.", mend)
    if campaign.film is not None and campaign.film.setup is None:
        raise cannot(FILE, "it is not said how the rolls were filmed.", HOW, column="[film]")
    if campaign.film is None:
        raise cannot(file, "no filmed roll is written down.", "Begin its table: samesky film DIR --begin")
    return campaign.film


def _of_the_runs(finding: Finding) -> bool:
    """That nothing was flown yet is no fault of the settings."""
    return finding.message.startswith("nothing flown yet")


def rows_by_run(file: RunFile) -> dict[str, int]:
    """Index of the row of each run, by its name; counted from 1 where the file names none."""
    filled = [k for k, row in enumerate(file.grid.rows) if any(cell.strip() for cell in row)]
    names = file.column("run")
    if not any(names):
        return {str(count): k for count, k in enumerate(filled, start=1)}
    return {names[k]: k for k in reversed(filled) if names[k]}


def toml_text(folder: Path) -> str:
    """The text of ``campaign.toml``. Raises CampaignError where it is none."""
    return _text(folder, FILE)


def _text(folder: Path, name: str) -> str:
    text, findings = read_text(folder / name)
    if text is None:
        raise CampaignError(findings[0])
    return text


def _told(
    campaign: Campaign, film: FilmedRolls, given: Given, file: RunFile
) -> tuple[list[FilmedRun], Filmed, list[str]]:
    """What the film says of the runs of one file, all that it has of them, and why it says nothing of others."""
    filmed = given.quantity(film.setup, film.frames)
    beyond = too_far_beyond(film.frames) if given.quantity is ground_roll else np.zeros(len(film.runs), dtype=bool)
    rows, column = rows_by_run(file), file.known()[given.column]
    unit, dimension = file.unit(given.column)
    cells_of, numbers = file.column(given.column), _numbers(campaign, file)
    told, left = [], []
    for index, run in enumerate(film.runs):
        value, spread = float(filmed.value[index]), float(filmed.standard_uncertainty[index])
        if not run or (np.isnan(film.frames.passages[index]).all() and np.isnan(film.frames.lift_off[index])):
            continue
        bounds = -np.inf if column.low is None else column.low, np.inf if column.high is None else column.high
        why = (
            f"{file.name} has no run of that name; type it in first, with its configuration and its clock"
            if run not in rows
            else f"{file.name} has no clock for it yet; type it in first"
            if file.grid.column("clock") is not None and not file.column("clock")[rows[run]]
            else f"the film needs {given.needs} for the {given.column}"
            if np.isnan(value)
            else "it lifts off too far beyond the last marker that was seen; put one further on"
            if beyond[index]
            else f"the film gives {units.show(value, unit, dimension)}, which is no {given.column}"
            if not bounds[0] <= value <= bounds[1]
            else ""
        )
        if why:
            left.append(f"Run {run} ({film.file}, row {film.rows[index]}): {why}.")
            continue
        text, there = file.text(given.column, value, spread), cells_of[rows[run]]
        reading = _read(there, file, unit, dimension)
        kind = "fill" if not there else "there" if there == text else "apart"
        told.append(
            FilmedRun(
                index, run, file.measure, file.name, numbers[rows[run]], given.column, text, unit, value, spread, kind,
                reading,
            )
        )  # fmt: skip
    return told, filmed.select(np.array([one.index for one in told], dtype=int)), left


def _read(cell: str, file: RunFile, unit: str, dimension: str) -> float:
    try:
        return float(units.to_si(cells.number(cell, file.grid.separator != ","), unit, dimension))
    except cells.CellError:
        return np.nan


def _numbers(campaign: Campaign, file: RunFile) -> list[int]:
    """The numbers of the file's rows as it is: a grid leaves off blank lines above the header."""
    header, numbers = file.grid.numbers()
    sheet = None if file.fresh else split(_text(campaign.folder, file.name), file.name, list(file.known()))[0]
    return numbers if sheet is None else [number + sheet.header_row - header for number in numbers]


def _by_hand(campaign: Campaign, file: RunFile, column: str, told: Sequence[FilmedRun]) -> bool:
    """Whether readings that count stand in the column which are not the film's."""
    film = {one.row for one in told if one.kind != "apart"}
    out, cells_of = file.column("exclude"), file.column(column)
    rows = zip(_numbers(campaign, file), cells_of, out, strict=True)
    return any(cell and not why and number not in film for number, cell, why in rows)


def _is_far(campaign: Campaign, one: FilmedRun) -> bool:
    return not abs(one.reading - one.value) <= APART * np.hypot(one.uncertainty, _hand(campaign, one))


def _hand(campaign: Campaign, one: FilmedRun) -> float:
    return own_uncertainty(campaign, one.measure.name, one.column, one.value)


def _doubt(campaign: Campaign, one: FilmedRun) -> Finding:
    gap, allowed = abs(one.reading - one.value), APART * np.hypot(one.uncertainty, _hand(campaign, one))
    shown = [units.show(float(size), one.unit, one.measure.dimension) for size in (gap, allowed)]
    message = (
        f"run {one.run}: the reading differs from the film ({one.text} {one.unit}) by {shown[0]}, more than {APART:g} "
        f"standard uncertainties of both together ({shown[1]}). The reading stays."
    )
    if np.isnan(gap):
        message = f"run {one.run}: the cell holds no number, and the film gives {one.text} {one.unit}. The cell stays."
    mend = "Look at the frames, and at what was written by hand; empty the cell if the film is to fill it."
    return Finding("warning", one.file, message, mend, one.row, one.column)


def _stays(one: FilmedRun) -> str:
    reading = units.show(one.reading, one.unit, one.measure.dimension)
    return (
        f"Run {one.run} ({one.file}, row {one.row}): the reading of {reading} stays; the film gives {one.text} "
        f"{one.unit}, which agrees with it within the uncertainties."
    )
