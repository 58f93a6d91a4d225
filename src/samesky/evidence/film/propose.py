"""What would the film of the rolls put into the blank cells of the runs?

Runs are found by their names. Only blank cells are filled; a reading that is there stays, and is held against the film.
What the film is worth goes into ``campaign.toml``, for the measure that it fills alone:
:mod:`samesky.evidence.film.sources`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import plain_name
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.files import named
from samesky.campaign.reading.film_file import FilmedRolls
from samesky.campaign.tables import cells
from samesky.campaign.toml.section import FILE
from samesky.evidence import catalogue as say
from samesky.evidence.film.put import FilmedRun, filled_text, rows_by_run
from samesky.evidence.film.sources import assumed, own_uncertainty, stated
from samesky.evidence.proposal import ProposedRow
from samesky.evidence.run_file import RunFile, run_file
from samesky.evidence.stated_sources import StatedSource, to_append, with_tables
from samesky.instruments.roll_film import (
    Filmed,
    ground_roll,
    speed_between_markers,
    time_between_speeds,
    time_to_lift_off,
    too_far_beyond,
)
from samesky.measures.filmed_rolls import BRAKES, FILMED
from samesky.measures.shape import Measure


@dataclass(frozen=True, slots=True)
class FilmColumn:
    """One number a roll that a film can give: the column it fills, its dimension, how it is reckoned, what it needs.

    ``beside`` names readings of the same row that the reckoning takes as well, after set-up and frames.
    """

    column: str
    dimension: str
    quantity: Callable[..., Filmed]
    needs: str
    beside: tuple[str, ...] = ()


#: Standard uncertainties by which a reading may differ from the film before that is doubtful.
APART = 3.0
#: What a film gives, by the measure that wants it; all but the first two are free measures of that name.
GIVEN: Mapping[str, FilmColumn] = {
    "takeoff_roll": FilmColumn("ground roll", "length", ground_roll, "lift-off and two marker passages"),
    "ground_acceleration": FilmColumn(
        "elapsed",
        "time",
        time_between_speeds,
        "three marker passages before lift-off, the two ground speeds typed in, and their middle reached between the "
        "first passage and the last",
        ("first ground speed", "second ground speed"),
    ),
    "time_to_lift_off": FilmColumn("time to lift off", "time", time_to_lift_off, f"{BRAKES} and lift-off"),
    "speed_between_markers": FilmColumn("speed between markers", "speed", speed_between_markers, "two marker passages"),
}


@dataclass(frozen=True, slots=True, eq=False)
class FilmProposal:
    """What the film would put into a campaign folder.

    Attributes
    ----------
    found : the film as written down
    runs : what it says of each run that it tells something of
    sources : the error sources that ``campaign.toml`` would state
    doubted : readings that disagree with the film, and what else is doubtful
    left : sentences: what is not filled, and why
    notes : sentences: what the numbers rest on
    """

    found: FilmedRolls
    runs: tuple[FilmedRun, ...]
    sources: tuple[StatedSource, ...]
    doubted: tuple[Finding, ...]
    left: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def fills(self) -> tuple[FilmedRun, ...]:
        """Those that go into a blank cell."""
        return tuple(one for one in self.runs if one.kind == "fill")

    @property
    def proposed(self) -> tuple[ProposedRow, ...]:
        """The blank cells that are filled, one a run and measure."""
        return tuple(ProposedRow(one.file, one.row, {one.column: one.text}) for one in self.fills)

    def texts(self, campaign: Campaign) -> dict[str, str]:
        """The new files: cells filled, and what the film is worth where it is not stated yet.

        Raises CampaignError where a cell has been filled since, or an error source is stated otherwise.
        """
        tables = to_append(campaign.toml, campaign.sources, self.sources, "film") if self.fills else ""
        texts = {FILE: with_tables(campaign.toml, tables)} if tables else {}
        for name in dict.fromkeys(one.file for one in self.fills):
            texts[name] = filled_text(campaign, [one for one in self.fills if one.file == name])
        return texts


def wanted(campaign: Campaign) -> dict[str, FilmColumn]:
    """What a film can give to the measures that the campaign asks for, by their names."""
    by_plain = {plain_name(name): given for name, given in GIVEN.items()}
    found = {name: by_plain.get(plain_name(name)) for name in campaign.asked}
    return {
        name: given
        for name, given in found.items()
        if given is not None
        and any(
            one.dimension == given.dimension for one in campaign.asked[name].measure.columns if one.name == given.column
        )
    }


def _columns(measure: Measure) -> set[tuple[str, str]]:
    return {(column.name, column.dimension) for column in measure.columns}


def propose(campaign: Campaign) -> FilmProposal:
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
    sources: list[StatedSource] = []
    left: list[str] = []
    notes = assumed(film)
    for name, given in wanted(campaign).items():
        file = run_file(campaign, campaign.asked[name].measure)
        told, filmed, why = _told(campaign, film, given, file)
        runs += told
        left += why
        if told:
            by_hand = _by_hand(file, given.column, told)
            made, said = stated(campaign, given.column, filmed, file, film.setup, by_hand)
            sources += made
            notes += said
    doubts = [_doubt(campaign, one) for one in runs if one.kind == "apart" and _is_far(campaign, one)]
    doubts += [one for one in campaign.findings if one.kind == "warning" and one.file == film.file]
    left += [_stays(one) for one in runs if one.kind == "apart" and not _is_far(campaign, one)]
    if any(one.kind == "fill" for one in runs):
        # What is stated otherwise is said before anything is shown.
        to_append(campaign.toml, campaign.sources, sources, "film")
    return FilmProposal(film, tuple(runs), tuple(sources), tuple(doubts), tuple(left), tuple(notes))


def ready(campaign: Campaign) -> FilmedRolls:
    """The campaign's film, with its set-up. Raises CampaignError where there is none, or a fault in the settings."""
    file = named(campaign.texts, FILMED.name) or f"{FILMED.name}.csv"
    for finding in campaign.findings:
        if finding.kind == "error" and finding.file in (FILE, file) and not _of_the_runs(finding):
            raise CampaignError(finding)
    if not wanted(campaign):
        raise cannot(FILE, say.FILM_NOTHING_ASKED())
    if campaign.film is not None and campaign.film.setup is None:
        raise cannot(FILE, say.FILM_NOT_DESCRIBED(), column="[film]")
    if campaign.film is None:
        raise cannot(file, say.FILM_NONE())
    return campaign.film


def _of_the_runs(finding: Finding) -> bool:
    """That nothing was flown yet is no fault of the settings."""
    return finding.code in ("campaign.nothing-flown", "campaign.all-planned")


def _told(
    campaign: Campaign, film: FilmedRolls, given: FilmColumn, file: RunFile
) -> tuple[list[FilmedRun], Filmed, list[str]]:
    """What the film says of the runs of one file, all that it has of them, and why it says nothing of others."""
    filmed = given.quantity(film.setup, film.frames, *_beside(film, given, file))
    beyond = too_far_beyond(film.frames) if given.quantity is ground_roll else np.zeros(len(film.runs), dtype=bool)
    rows, column = rows_by_run(file), file.known()[given.column]
    unit, dimension = file.unit(given.column)
    cells_of, numbers = file.column(given.column), file.grid.numbers_as_read()[1]
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


def _beside(film: FilmedRolls, given: FilmColumn, file: RunFile) -> list[np.ndarray]:
    """Readings [SI] of the runs' own rows that the reckoning takes, each (n,); NaN where a run has none."""
    rows = rows_by_run(file)
    found = []
    for name in given.beside:
        texts, (unit, dimension) = file.column(name), file.unit(name)
        read = [_read(texts[rows[run]], file, unit, dimension) if run in rows else np.nan for run in film.runs]
        found.append(np.array(read, dtype=float))
    return found


def _read(cell: str, file: RunFile, unit: str, dimension: str) -> float:
    try:
        return float(units.to_si(cells.number(cell, file.grid.separator != ","), unit, dimension))
    except cells.CellError:
        return np.nan


def _by_hand(file: RunFile, column: str, told: Sequence[FilmedRun]) -> bool:
    """Whether readings that count stand in the column which are not the film's."""
    film = {one.row for one in told if one.kind != "apart"}
    out, cells_of = file.column("exclude"), file.column(column)
    rows = zip(file.grid.numbers_as_read()[1], cells_of, out, strict=True)
    return any(cell and not why and number not in film for number, cell, why in rows)


def _is_far(campaign: Campaign, one: FilmedRun) -> bool:
    return not abs(one.reading - one.value) <= APART * np.hypot(one.uncertainty, _hand(campaign, one))


def _hand(campaign: Campaign, one: FilmedRun) -> float:
    return own_uncertainty(campaign, one.measure.name, one.column, one.value)


def _doubt(campaign: Campaign, one: FilmedRun) -> Finding:
    gap, allowed = abs(one.reading - one.value), APART * np.hypot(one.uncertainty, _hand(campaign, one))
    shown = [units.show(float(size), one.unit, one.dimension) for size in (gap, allowed)]
    facts = {"run": one.run, "film": f"{one.text} {one.unit}", "gap": shown[0], "apart": APART, "allowed": shown[1]}
    sentence = say.FILM_CELL_NO_NUMBER if np.isnan(gap) else say.FILM_READING_APART
    return Finding("warning", one.file, sentence(**facts), one.row, one.column)


def _stays(one: FilmedRun) -> str:
    reading = units.show(one.reading, one.unit, one.dimension)
    return (
        f"Run {one.run} ({one.file}, row {one.row}): the reading of {reading} stays; the film gives {one.text} "
        f"{one.unit}, which agrees with it within the uncertainties."
    )
