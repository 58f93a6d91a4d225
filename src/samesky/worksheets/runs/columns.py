"""What does a page show of one file of runs: its columns with their units, its rows, and what is wrong where?"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from samesky import units
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import plain_name
from samesky.campaign.reading.film_file import STEM as FILM_STEM
from samesky.campaign.reading.position_error_file import STEM
from samesky.campaign.reading.table import columns_of
from samesky.campaign.reading.template import header_cell, measure_file
from samesky.campaign.reading.unflown import unflown_places
from samesky.campaign.tables.grid import Grid
from samesky.measures import MEASURES
from samesky.measures.airspeed_calibration import CALIBRATION
from samesky.measures.filmed_rolls import FILMED
from samesky.measures.shape import Column, Measure

#: Blank rows that a table offers below the last one.
OFFERED = 3


@dataclass(frozen=True, slots=True)
class ShownColumn:
    """One column: its header cell, its ``column`` (None where nobody knows the name) and the ``unit`` that it is in."""

    header: str
    column: Column | None
    unit: str

    @property
    def name(self) -> str:
        """The name without the unit."""
        return self.header.partition("[")[0].strip()

    @property
    def units(self) -> list[str]:
        """Units to choose from, the one in use first."""
        if not self.is_number:
            return []
        usual = [
            unit for kind in (self.column.dimension, *self.column.also) for unit in units.DIMENSIONS[kind].examples
        ]
        return list(dict.fromkeys([*[self.unit] * bool(self.unit), *usual]))

    @property
    def is_number(self) -> bool:
        """Whether its cells hold numbers."""
        return self.column is not None and self.column.dimension != "text"


@dataclass(frozen=True, slots=True)
class Runs:
    """One file of runs on a page."""

    file: str
    measure: Measure | None
    grid: Grid
    columns: tuple[ShownColumn, ...]

    @property
    def stem(self) -> str:
        """The file's name without its ending."""
        return self.file.rpartition(".")[0]

    @property
    def title(self) -> str:
        """What a person calls it."""
        return self.measure.title if self.measure is not None else self.stem

    @property
    def rows(self) -> list[list[str]]:
        """Every row as wide as the header, and some blank ones."""
        width = len(self.columns)
        filled = [[*row, *[""] * (width - len(row))] for row in self.grid.rows]
        return filled + [[""] * width for _ in range(OFFERED)]

    @property
    def numbers(self) -> list[int]:
        """The number of every row of :attr:`rows`, as a spreadsheet shows it and messages name it."""
        header, numbers = self.grid.numbers_as_read()
        last = numbers[-1] if numbers else header
        return numbers + [last + k for k in range(1, OFFERED + 1)]

    @property
    def unflown(self) -> list[int]:
        """The rows that are planned and not flown yet, from 0."""
        return [] if self.measure is None else unflown_places(self.grid, columns_of(self.measure))

    @property
    def is_flown(self) -> bool:
        """Whether a run is typed that was flown, or begun."""
        return sum(any(cell.strip() for cell in row) for row in self.grid.rows) > len(self.unflown)

    @property
    def next_row(self) -> int:
        """The row in which the next run is typed: the first planned one that was not called off, else a blank one."""
        reason = self.grid.column("exclude")
        waiting = (row for row in self.unflown if reason is None or not self.rows[row][reason].strip())
        return next(waiting, len(self.grid.rows))

    @property
    def spare(self) -> list[str]:
        """Header cells of columns that could be added."""
        if self.measure is None:
            return []
        there = {plain_name(column.name) for column in self.columns}
        return [
            header_cell(column, self.measure)
            for column in columns_of(self.measure)
            if plain_name(column.name) not in there
        ]

    def places(self, findings: Iterable[Finding]) -> list[tuple[Finding, int, int]]:
        """The findings of this table, with the row and the column of each, either -1 where it is of the whole."""
        _, numbers = self.grid.numbers_as_read()
        row_of = {number: row for row, number in enumerate(numbers)}
        return [
            (finding, row_of.get(finding.row, -1), -1 if finding.column is None else self._column(finding.column))
            for finding in findings
            if finding.file == self.file and (finding.row is not None or finding.column is not None)
        ]

    def _column(self, written: str) -> int:
        for index, shown in enumerate(self.columns):
            if written == shown.header or plain_name(written) == plain_name(shown.name):
                return index
        return -1


def runs_of(file: str, text: str | None, measure: Measure | None) -> Runs:
    """A file of runs, or what a fresh one has where ``text`` is None and the measure is known.

    Raises CampaignError where the text cannot be taken apart.
    """
    if text is None:
        text = measure_file(measure)
    known = {} if measure is None else {plain_name(column.name): column for column in columns_of(measure)}
    names = [column.name for column in known.values()]
    grid = Grid.from_text(text, file, names)
    columns = tuple(_shown(cell, known) for cell in grid.header)
    return Runs(file, measure, grid, columns)


def measures_of(asked: Mapping[str, Measure], files: Iterable[str]) -> dict[str, Measure | None]:
    """The measure of every file that is asked for or there, by file name, in the order in which they are asked for.

    None stands for a file that nobody asked for under a name that no measure has. The calibration of the airspeed
    system and the frames of filmed rolls are no measures: :func:`calibration_file`, :func:`film_file`.
    """
    there = {plain_name(file.rpartition(".")[0]): file for file in files if file.casefold().endswith(".csv")}
    found: dict[str, Measure | None] = {
        there.pop(plain_name(name), f"{name}.csv"): measure for name, measure in asked.items()
    }
    by_plain = {plain_name(name): measure for name, measure in MEASURES.items()}
    return found | {file: by_plain.get(stem) for stem, file in there.items() if stem not in (STEM, FILM_STEM)}


def calibration_file(files: Iterable[str]) -> dict[str, Measure]:
    """The file of the airspeed system's calibration with what is read from it; nothing where there is none."""
    return _named(files, STEM, CALIBRATION)


def film_file(files: Iterable[str]) -> dict[str, Measure]:
    """The file of the frames of filmed rolls with its columns; nothing where there is none."""
    return _named(files, FILM_STEM, FILMED)


def _named(files: Iterable[str], stem: str, measure: Measure) -> dict[str, Measure]:
    named = (file for file in sorted(files) if file.casefold().endswith(".csv"))
    return {file: measure for file in named if plain_name(file.rpartition(".")[0]) == stem}


def _shown(cell: str, known: Mapping[str, Column]) -> ShownColumn:
    try:
        name, unit = units.header(cell)
    except units.UnitError:
        name, unit = cell.partition("[")[0].strip(), None
    column = known.get(plain_name(name))
    return ShownColumn(cell, column, unit or "")
