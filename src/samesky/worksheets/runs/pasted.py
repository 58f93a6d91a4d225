"""How are runs taken over from elsewhere: pasted from a spreadsheet, or from another file of the same measure?"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import replace

from samesky import units
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.words import listed, plain_name
from samesky.campaign.reading.table import columns_of
from samesky.campaign.tables.delimited import split
from samesky.campaign.tables.grid import Grid
from samesky.campaign.tables.header import Place, places
from samesky.evidence.fill_planned import filled, filling
from samesky.worksheets import catalogue as say
from samesky.worksheets.runs.cell_entry import in_unit, plain
from samesky.worksheets.runs.changes import MOST_RUNS, GridChange, kept_text, number_of, row_of, with_cells
from samesky.worksheets.runs.columns import Runs


def paste(runs: Runs, row: int, column: int, text: str) -> GridChange:
    """A block of cells from a spreadsheet, put down from one cell on; only blank cells are written to.

    A first row that names columns puts each column where it belongs, and brings its numbers to the unit there.
    Raises CampaignError where a cell is filled already, or the block leaves the table.
    """
    block, is_named = _block(runs, text)
    if is_named:
        return take(runs, _csv(block))
    width, across = len(runs.columns), max(len(cells) for cells in block)
    if column + across > width:
        raise cannot(runs.file, say.PASTED_TOO_WIDE(across=across, what=max(0, width - column)))
    row_of(runs, row + len(block) - 1)
    filled: dict[tuple[int, int], str] = {}
    said: list[str] = []
    for down, cells in enumerate(block):
        there = row_of(runs, row + down)
        for right, cell in enumerate(cells):
            kept, words = kept_text(runs, column + right, cell)
            if kept and there[column + right] and there[column + right] != kept:
                raise cannot(
                    runs.file,
                    say.PASTED_CELL_TAKEN(there=there[column + right], kept=kept),
                    number_of(runs, row + down),
                    runs.columns[column + right].header,
                )
            if kept:
                filled[row + down, column + right] = kept
            said += [words] * bool(words)
    rows = len(block)
    return GridChange(with_cells(runs.grid, filled), " ".join([f"{rows} row{'s' * (rows > 1)} pasted.", *said[:3]]))


def take(runs: Runs, text: str) -> GridChange:
    """Rows of another file of the same measure; its columns are found by name, units are converted.

    They fill planned rows by the rule of :mod:`samesky.evidence.fill_planned`, and else are added below; a table
    without rows takes the file as it is. Raises CampaignError for what the reader would not understand.
    """
    known = [] if runs.measure is None else list(columns_of(runs.measure))
    names = [column.name for column in known]
    taken = _seen(Grid.from_text(text, runs.file, names)).trimmed()
    if not taken.rows:
        raise cannot(runs.file, say.PASTED_NO_RUNS())
    if not runs.grid.trimmed().rows:
        return GridChange(_usual(taken), _taken(len(taken.rows)))
    findings: list = []
    where = _places(taken, runs.file, known, findings)
    wrong = [finding for finding in findings if finding.kind == "error"]
    if wrong:
        raise CampaignError(wrong[0])
    grid = runs.grid
    for name, place in where.items():
        if grid.column(name) is None:
            grid = grid.with_column(place.header)
    here = _places(grid, runs.file, known, [])
    rows = [
        {
            name: _as_there(runs.file, grid.separator, here.get(name), place, cells[place.index], taken.separator)
            for name, place in where.items()
        }
        for cells in ([*row, *[""] * (len(taken.header) - len(row))] for row in taken.rows)
    ]
    used = {place.index for place in where.values()}
    left = [cell for k, cell in enumerate(taken.header) if k not in used and cell and any(_at(taken.rows, k))]
    said = f" Not taken, for no column is called so: {listed(left)}." if left else ""
    into = filling(grid, known, rows)
    for place, row in zip(into.places, into.rows, strict=False):
        grid = filled(grid, place, row)
    below = [] if into.places else rows
    if len(grid.trimmed().rows) + len(below) > MOST_RUNS:
        raise cannot(runs.file, say.TYPED_TOO_MANY_RUNS(most_runs=MOST_RUNS))
    return GridChange(grid.with_rows(below), " ".join(filter(None, [_taken(len(rows)) + said, into.said])))


def _at(rows: Sequence[Sequence[str]], column: int) -> list[str]:
    return [row[column] for row in rows if column < len(row)]


def _places(grid: Grid, file: str, known, findings: list) -> dict[str, Place]:
    sheet, _ = split(replace(grid, remarks=()).to_text(), file, [column.name for column in known])
    # A cell that is missing can be typed in afterwards.
    return places(sheet, file, known, {column.name for column in known}, findings)


def _seen(grid: Grid) -> Grid:
    """Without signs that nobody sees."""
    rows = tuple(tuple(plain(cell) for cell in row) for row in grid.rows)
    return replace(grid, header=tuple(plain(cell) for cell in grid.header), rows=rows)


def _usual(grid: Grid) -> Grid:
    """With commas between the cells, or semicolons where a cell has one: few programs look for tabs in a CSV file."""
    if grid.separator != "\t":
        return grid
    return replace(grid, separator=";" if any("," in cell for row in grid.rows for cell in row) else ",")


def _block(runs: Runs, text: str) -> tuple[list[list[str]], bool]:
    """Cells of a pasted text, and whether the first row names columns.

    Spreadsheets copy with tabs between the cells. Where there is none, a comma or a semicolon stands between cells only
    where the first row then names columns, or every row has as many and more than one: "12,5" below "13,1" is one
    column of numbers, and "calm; smooth" is one note.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").strip("\n")
    best = _cells(lines, "\t")
    if "\t" not in lines:
        for separator in ";,":
            block = _cells(lines, separator)
            if block and (_named(runs, block[0]) or (len(block[0]) > 2 and len({len(cells) for cells in block}) == 1)):
                best = block
                break
    if not best:
        raise cannot(runs.file, say.PASTED_NOTHING())
    return best, _named(runs, best[0])


def _cells(lines: str, separator: str) -> list[list[str]]:
    for quoting in ({"strict": True}, {"quoting": csv.QUOTE_NONE}):
        try:
            cut = list(csv.reader(io.StringIO(lines), delimiter=separator, **quoting))
        except csv.Error:
            # A quotation mark without its partner, as in 5" of rain: then none means anything.
            continue
        return [cells for cells in cut if any(cell.strip() for cell in cells)]
    return [line.split(separator) for line in lines.split("\n") if line.strip()]


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


def _as_there(file: str, separator: str, here: Place | None, place: Place, text: str, taken: str) -> str:
    """A cell of another file, in the unit that its column has here."""
    if place.unit is None or not text:
        return text
    if here is None:
        raise cannot(file, say.PASTED_UNIT_NOT_UNDERSTOOD(name=place.column.name))
    if here.unit == place.unit:
        return text.replace(",", ".") if taken != "," and separator == "," else text
    try:
        return in_unit(text, place.unit, here.unit, place.dimension, taken != ",")
    except units.UnitError:
        raise cannot(here.header, say.PASTED_DENSITY_NEEDED(unit=place.unit, unit2=here.unit)) from None


def _taken(count: int) -> str:
    return f"{count} run{'s' * (count > 1)} taken."
