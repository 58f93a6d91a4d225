"""How does typing, pasting or dropping change a file of runs?

Every change says what the page showed when it was made. Where somebody else has changed that row meanwhile, nothing is
written: the page keeps what was typed and shows the other's.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from samesky import units
from samesky.campaign.delimited import MOST_ROWS, split
from samesky.campaign.errors import CampaignError, cannot
from samesky.campaign.grid import Grid
from samesky.campaign.header import places
from samesky.campaign.table import columns_of
from samesky.campaign.words import plain_name
from samesky.worksheets.cell_entry import entered, in_unit
from samesky.worksheets.draft import Draft
from samesky.worksheets.tables import Runs

#: Longest text of one cell.
LONGEST_CELL = 1_000


class SomebodyElseError(CampaignError):
    """The row was changed since the page showed it; ``row`` holds its cells now."""

    def __init__(self, runs: Runs, number: int, row: Sequence[str]):
        message = "was changed on another page since you saw it."
        super().__init__(cannot(runs.file, message, "Look at it, then write yours again or leave it.", number).finding)
        self.row = list(row)


@dataclass(frozen=True, slots=True)
class Changed:
    """The file after a change, and what to tell the pilot about it."""

    grid: Grid
    said: str = ""


def change_cell(runs: Runs, row: int, column: int, text: str, seen: Sequence[str]) -> Changed:
    """One cell typed; ``seen`` are the row's cells as the page showed them.

    Raises SomebodyElseError where the row reads otherwise now, CampaignError for a place that is none.
    """
    current = row_of(runs, row)
    if not 0 <= column < len(runs.columns):
        raise cannot(runs.file, f"there is no column {column + 1}.", "Load the page again.")
    if list(seen) != current:
        raise SomebodyElseError(runs, _number(runs, row), current)
    if len(text) > LONGEST_CELL:
        raise cannot(runs.file, f"a cell of {len(text)} characters.", f"A cell holds {LONGEST_CELL} at most.")
    kept, said = entered(text, runs.columns[column], runs.grid.separator)
    return Changed(runs.grid.with_cell(row, column, kept), said)


def row_of(runs: Runs, row: int) -> list[str]:
    """The cells of a row, blank below the last one. Raises CampaignError beyond the most rows that a file may have."""
    if not 0 <= row < MOST_ROWS:
        raise cannot(runs.file, f"row {row + 1} of {MOST_ROWS} at most.", "A file of runs has one row a run.")
    cells = runs.grid.rows[row] if row < len(runs.grid.rows) else ()
    return [*cells, *[""] * (len(runs.columns) - len(cells))]


def paste(runs: Runs, row: int, column: int, text: str) -> Changed:
    """A block of cells from a spreadsheet, put down from one cell on; only blank cells are written to.

    A first row that names columns puts each column where it belongs, and brings its numbers to the unit there.
    Raises CampaignError where a cell is filled already, or the block leaves the table.
    """
    block = _block(runs.file, text)
    named = _named(runs, block[0])
    if named:
        return take(runs, _csv(block))
    width, grid = len(runs.columns), runs.grid
    if column + max(len(cells) for cells in block) > width:
        message = f"the block is {max(len(cells) for cells in block)} columns wide; {width - column} are left here."
        raise cannot(runs.file, message, "Begin further left, or copy the header with it: then every column is found.")
    said: list[str] = []
    for down, cells in enumerate(block):
        there = row_of(runs, row + down)
        for right, cell in enumerate(cells):
            kept, words = entered(cell, runs.columns[column + right], grid.separator)
            if kept and there[column + right] and there[column + right] != kept:
                message = f"the cell holds {there[column + right]!r} already, and {kept!r} would go there."
                mend = "Nothing was pasted. Begin at an empty row, or empty these cells first."
                raise cannot(runs.file, message, mend, _number(runs, row + down), runs.columns[column + right].header)
            if kept:
                grid = grid.with_cell(row + down, column + right, kept)
            said += [words] * bool(words)
    rows = len(block)
    return Changed(grid, " ".join([f"{rows} row{'s' * (rows > 1)} pasted.", *said[:3]]))


def take(runs: Runs, text: str) -> Changed:
    """Rows of another file of the same measure, added below; its columns are found by name, units are converted.

    A table without rows takes the file as it is. Raises CampaignError for what the reader would not understand.
    """
    known = [] if runs.measure is None else list(columns_of(runs.measure))
    taken = Grid.from_text(text, runs.file, [column.name for column in known]).trimmed()
    if not taken.rows:
        raise cannot(runs.file, "the file has a header and no runs.", "Take one with a row a run.")
    if not runs.grid.trimmed().rows:
        return Changed(taken, _taken(len(taken.rows)))
    findings: list = []
    sheet, _ = split(text, runs.file, [column.name for column in known])
    where = places(sheet, runs.file, known, {"date", "clock", "configuration"}, findings)
    wrong = [finding for finding in findings if finding.kind == "error"]
    if wrong:
        raise CampaignError(wrong[0])
    grid = runs.grid
    for name, place in where.items():
        if grid.column(name) is None:
            grid = grid.with_column(place.header)
    rows = [
        {name: _as_there(grid, name, place, cells, taken.separator) for name, place in where.items()}
        for cells in ([*row, *[""] * (len(taken.header) - len(row))] for row in taken.rows)
    ]
    if len(grid.rows) + len(rows) > MOST_ROWS:
        raise cannot(runs.file, f"would have more than {MOST_ROWS} rows.", "A file of runs has one row a run.")
    return Changed(grid.with_rows(rows), _taken(len(rows)))


def change_unit(runs: Runs, column: int, unit: str, convert: bool) -> Changed:
    """Another unit over a column: its numbers are brought to it, or, without ``convert``, only the header changes.

    Raises CampaignError for a unit that the column cannot have.
    """
    shown = runs.columns[column] if 0 <= column < len(runs.columns) else None
    if shown is None or not shown.is_number:
        raise cannot(runs.file, f"column {column + 1} has no unit to change.", "Choose a column of numbers.")
    grid = runs.grid.with_header(column, f"{shown.name} [{unit}]")
    dimension = _dimension(runs, shown, unit)
    if convert and shown.unit:
        try:
            for row, cells in enumerate(runs.grid.rows):
                if column < len(cells) and cells[column]:
                    new = in_unit(cells[column], shown.unit, unit, dimension, grid.separator != ",")
                    grid = grid.with_cell(row, column, new)
        except units.UnitError:
            message = f"{shown.unit} cannot be brought to {unit} without a density."
            raise cannot(runs.file, message, "Change the header alone, and type the numbers anew.") from None
        return Changed(grid, f"{shown.name}: every number was brought from {shown.unit} to {unit}.")
    return Changed(grid, f"{shown.name} is in {unit} now; its numbers are as they were.")


def add_column(runs: Runs, header: str) -> Changed:
    """One more column, of those that the measure has. Raises CampaignError for any other."""
    if header not in runs.spare:
        raise cannot(runs.file, f"there is no column {header!r} to add.", "Choose one from the list.")
    return Changed(runs.grid.with_column(header), f"{header.partition('[')[0].strip()} was added.")


def delete_row(runs: Runs, row: int, seen: Sequence[str]) -> Changed:
    """Without a row. Raises SomebodyElseError where it reads otherwise now."""
    current = row_of(runs, row)
    if list(seen) != current:
        raise SomebodyElseError(runs, _number(runs, row), current)
    if row >= len(runs.grid.rows):
        return Changed(runs.grid)
    return Changed(runs.grid.without_row(row), "The row was deleted: " + ", ".join(filter(None, current)))


def keep(draft: Draft, runs: Runs, changed: Changed) -> None:
    """Write the file as typed, if it has changed."""
    if changed.grid != runs.grid:
        draft.write(runs.file, changed.grid.trimmed().to_text())


def _number(runs: Runs, row: int) -> int:
    header, numbers = runs.grid.numbers()
    return numbers[row] if row < len(numbers) else (numbers[-1] if numbers else header) + row - len(numbers) + 1


def _block(file: str, text: str) -> list[list[str]]:
    """Cells of a pasted text: tabs between, as spreadsheets copy; else semicolons or commas where no tab is."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").strip("\n")
    separator = "\t" if "\t" in lines else ";" if ";" in lines else "," if "\n" in lines else "\t"
    try:
        block = [
            cells for cells in csv.reader(io.StringIO(lines), delimiter=separator) if any(c.strip() for c in cells)
        ]
    except csv.Error as error:
        raise cannot(
            file, f"what was pasted cannot be taken apart ({error}).", "Copy it from the table again."
        ) from None
    if not block:
        raise cannot(file, "there is nothing in what was pasted.", "Copy some cells first.")
    return block


def _named(runs: Runs, cells: Sequence[str]) -> bool:
    if runs.measure is None:
        return False
    known = {plain_name(column.name) for column in columns_of(runs.measure)}
    named = [plain_name(cell.partition("[")[0]) in known for cell in cells if cell.strip()]
    return len(named) > 1 and sum(named) > len(named) / 2


def _csv(block: list[list[str]]) -> str:
    stream = io.StringIO()
    # Tabs, so that a decimal comma in a cell stays one.
    csv.writer(stream, delimiter="\t", lineterminator="\n").writerows(block)
    return stream.getvalue()


def _as_there(grid: Grid, name: str, place, cells: Sequence[str], separator: str) -> str:
    """A cell of another file, in the unit that its column has here."""
    text = cells[place.index]
    if place.unit is None or not text:
        return text
    here = units.header(grid.header[grid.column(name)])[1] or place.unit
    comma = separator != ","
    if here == place.unit:
        return text.replace(",", ".") if comma and grid.separator == "," else text
    try:
        return in_unit(text, place.unit, here, place.dimension, comma)
    except units.UnitError:
        message = f"it is in {place.unit}, and the table here in {here}: that takes a density."
        raise cannot(grid.header[grid.column(name)], message, "Bring both to one unit first.") from None


def _dimension(runs: Runs, shown, unit: str) -> str:
    for dimension in (shown.column.dimension, *shown.column.also):
        try:
            units.to_si(1.0, unit, dimension)
        except units.UnitError:
            continue
        return dimension
    usual = ", ".join(units.DIMENSIONS[shown.column.dimension].examples[:4])
    raise cannot(runs.file, f"{unit!r} is no unit of {shown.name}.", f"Choose one such as {usual}.")


def _taken(count: int) -> str:
    return f"{count} run{'s' * (count > 1)} taken."


def typed_table(runs: Runs, typed: Mapping[tuple[int, int], str]) -> Changed:
    """Every cell of a table that was sent as a plain form: those that differ are changed."""
    grid, said = runs.grid, []
    for (row, column), text in sorted(typed.items()):
        there = row_of(runs, row)
        if 0 <= column < len(there) and " ".join(text.split()) != there[column]:
            kept, words = entered(text[:LONGEST_CELL], runs.columns[column], grid.separator)
            grid = grid.with_cell(row, column, kept)
            said += [words] * bool(words)
    return Changed(grid, " ".join(said[:3]))
