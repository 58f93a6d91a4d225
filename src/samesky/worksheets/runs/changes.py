"""How does typing, pasting or dropping change a file of runs?

Every change says what the page showed when it was made. Where somebody else has changed that row meanwhile, nothing is
written: the page keeps what was typed and shows the other's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from samesky import units
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.reading.table import columns_of
from samesky.campaign.tables.delimited import MOST_ROWS
from samesky.campaign.tables.grid import Grid
from samesky.worksheets import catalogue as say
from samesky.worksheets.draft import Draft
from samesky.worksheets.runs.cell_entry import entered, in_unit, plain
from samesky.worksheets.runs.columns import Runs

#: Longest text of one cell.
LONGEST_CELL = 1_000
#: Most rows of runs: the header is one of those that a file may have.
MOST_RUNS = MOST_ROWS - 1


class SomebodyElseError(CampaignError):
    """The row was changed since the page showed it; ``row`` holds its cells now."""

    def __init__(self, runs: Runs, number: int, row: Sequence[str]):
        super().__init__(cannot(runs.file, say.TYPED_ROW_CHANGED(), number).finding)
        self.row = list(row)


@dataclass(frozen=True, slots=True)
class GridChange:
    """The file after a change, and what to tell the pilot about it."""

    grid: Grid
    said: str = ""


def change_cell(runs: Runs, row: int, column: int, text: str, seen: Sequence[str]) -> GridChange:
    """One cell typed; ``seen`` are the row's cells as the page showed them.

    Raises SomebodyElseError where the row reads otherwise now, CampaignError for a place that is none.
    """
    current = row_of(runs, row)
    if not 0 <= column < len(runs.columns):
        raise cannot(runs.file, say.TYPED_NO_SUCH_COLUMN(the_column=column + 1))
    if list(seen) != current:
        raise SomebodyElseError(runs, number_of(runs, row), current)
    kept, said = kept_text(runs, column, text)
    return GridChange(runs.grid.with_cell(row, column, kept), said)


def kept_text(runs: Runs, column: int, text: str) -> tuple[str, str]:
    """The text to keep of a cell, and what to tell the pilot. Raises CampaignError where it is too long."""
    if len(text) > LONGEST_CELL:
        raise cannot(runs.file, say.TYPED_CELL_TOO_LONG(count=len(text), longest_cell=LONGEST_CELL))
    return entered(text, runs.columns[column], runs.grid.separator)


def row_of(runs: Runs, row: int) -> list[str]:
    """The cells of a row, blank below the last one. Raises CampaignError beyond the most rows that a file may have."""
    if not 0 <= row < MOST_RUNS:
        raise cannot(runs.file, say.TYPED_TOO_MANY_RUNS(most_runs=MOST_RUNS))
    cells = runs.grid.rows[row] if row < len(runs.grid.rows) else ()
    return [*cells, *[""] * (len(runs.columns) - len(cells))]


def with_cells(grid: Grid, changed: Mapping[tuple[int, int], str]) -> Grid:
    """With many cells changed, by (row, column); rows up to them are added."""
    width = len(grid.header)
    below = max([row + 1 for row, _ in changed], default=0) - len(grid.rows)
    rows = [list(row) for row in grid.rows] + [[""] * width for _ in range(below)]
    for (row, column), text in changed.items():
        rows[row] += [""] * (width - len(rows[row]))
        rows[row][column] = text
    return replace(grid, rows=tuple(tuple(row) for row in rows))


def change_unit(runs: Runs, column: int, unit: str, convert: bool) -> GridChange:
    """Another unit over a column: its numbers are brought to it, or, without ``convert``, only the header changes.

    Raises CampaignError for a unit that the column cannot have.
    """
    shown = runs.columns[column] if 0 <= column < len(runs.columns) else None
    if shown is None or not shown.is_number:
        raise cannot(runs.file, say.TYPED_NO_UNIT(the_column=column + 1))
    unit = plain(unit)
    dimension = _dimension(runs, shown, unit)
    grid = runs.grid.with_header(column, f"{shown.name} [{unit}]")
    if convert and shown.unit:
        try:
            for row, cells in enumerate(runs.grid.rows):
                if column < len(cells) and cells[column]:
                    new = in_unit(cells[column], shown.unit, unit, dimension, grid.separator != ",")
                    grid = grid.with_cell(row, column, new)
        except units.UnitError:
            raise cannot(runs.file, say.TYPED_DENSITY_NEEDED(unit=shown.unit, unit2=unit)) from None
        return GridChange(grid, f"{shown.name}: every number was brought from {shown.unit} to {unit}.")
    return GridChange(grid, f"{shown.name} is in {unit} now; its numbers are as they were.")


def add_column(runs: Runs, header: str) -> GridChange:
    """One more column, of those that the measure has. Raises CampaignError for any other."""
    if header not in runs.spare:
        raise cannot(runs.file, say.TYPED_COLUMN_NOT_OFFERED(header=header))
    return GridChange(runs.grid.with_column(header), f"{header.partition('[')[0].strip()} was added.")


def delete_row(runs: Runs, row: int, seen: Sequence[str]) -> GridChange:
    """Without a row. Raises SomebodyElseError where it reads otherwise now."""
    current = row_of(runs, row)
    if list(seen) != current:
        raise SomebodyElseError(runs, number_of(runs, row), current)
    if row >= len(runs.grid.rows):
        return GridChange(runs.grid)
    return GridChange(runs.grid.without_row(row), "The row was deleted: " + ", ".join(filter(None, current)))


def keep(draft: Draft, runs: Runs, changed: GridChange) -> None:
    """Write the file as typed, if it has changed.

    Raises CampaignError where it would not read back as it was typed: then what was kept before stays.
    """
    if changed.grid == runs.grid:
        return
    text = changed.grid.trimmed().to_text()
    known = [] if runs.measure is None else [column.name for column in columns_of(runs.measure)]
    back = Grid.from_text(text, runs.file, known)
    if back.separator != changed.grid.separator or _filled(back) != _filled(changed.grid):
        raise cannot(runs.file, say.TYPED_NOT_READ_BACK())
    draft.write(runs.file, text)


def _filled(grid: Grid) -> list[tuple[str, ...]]:
    def stripped(cells: Sequence[str]) -> tuple[str, ...]:
        last = max((k for k, cell in enumerate(cells) if cell.strip()), default=-1)
        return tuple(cell.strip() for cell in cells[: last + 1])

    return [stripped(grid.header), *(stripped(row) for row in grid.trimmed().rows)]


def number_of(runs: Runs, row: int) -> int:
    """The number that a spreadsheet shows beside a row."""
    numbers = runs.numbers
    return numbers[row] if row < len(numbers) else numbers[-1] + row - len(numbers) + 1


def _dimension(runs: Runs, shown, unit: str) -> str:
    for dimension in (shown.column.dimension, *shown.column.also):
        try:
            units.to_si(1.0, unit, dimension)
        except units.UnitError:
            continue
        return dimension
    usual = ", ".join(units.DIMENSIONS[shown.column.dimension].examples[:4])
    raise cannot(runs.file, say.TYPED_NO_SUCH_UNIT(unit=unit, name=shown.name, usual=usual))


def typed_table(runs: Runs, typed: Mapping[tuple[int, int], str]) -> GridChange:
    """Every cell of a table that was sent as a plain form: those that differ are changed. Raises CampaignError."""
    filled, said = {}, []
    for (row, column), text in sorted(typed.items()):
        there = row_of(runs, row)
        if 0 <= column < len(there) and " ".join(text.split()) != there[column]:
            filled[row, column], words = kept_text(runs, column, text)
            said += [words] * bool(words)
    return GridChange(with_cells(runs.grid, filled), " ".join(said[:3]))
