"""The rows of one file, each with a cell for every column, and the list of what is wrong with them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.sentences import Said
from samesky.campaign.messages.words import listed
from samesky.campaign.tables import cells
from samesky.campaign.tables.delimited import DelimitedRows
from samesky.campaign.tables.header import Place

#: Findings of one kind in one column that are listed one by one; the rest is counted.
LISTED = 5


class SheetRows:
    """Rows of a sheet whose columns are known; everything wrong goes to ``findings``.

    ``rows`` pairs each row's number in a spreadsheet with as many cells as the header has.
    """

    def __init__(self, sheet: DelimitedRows, file: str, where: Mapping[str, Place], findings: list[Finding]):
        self.sheet, self.file, self.where, self.findings = sheet, file, where, findings
        self.rows: list[tuple[int, list[str]]] = []
        self._trim()

    def __len__(self) -> int:
        return len(self.rows)

    def only(self, wanted: Sequence[bool]) -> SheetRows:
        """The same with the ``wanted`` rows alone; findings go to the same list."""
        part = copy(self)
        part.rows = [row for row, is_wanted in zip(self.rows, wanted, strict=True) if is_wanted]
        return part

    def error(self, row: int | None, column: str | None, said: Said) -> None:
        """Add an error about a cell, a row or a column."""
        self.findings.append(Finding("error", self.file, said, row, column))

    def warning(self, row: int | None, column: str | None, said: Said) -> None:
        """Add a warning about a cell, a row or a column."""
        self.findings.append(Finding("warning", self.file, said, row, column))

    def words(self, name: str) -> list[str] | None:
        """The cells of a column as stripped text; None where the sheet has no such column."""
        place = self.where.get(name)
        return None if place is None else [cells.words(row_cells[place.index]) for _, row_cells in self.rows]

    def _trim(self) -> None:
        """Bring every row to the header's length; blank words at its end may be left off."""
        width = len(self.sheet.header)
        may_lack = {place.index for place in self.where.values() if place.unit is None and not place.column.required}
        may_lack |= {index for index, name in enumerate(self.sheet.header) if not name}
        for row, row_cells in self.sheet.rows:
            row_cells = list(row_cells)
            # Only a row that ends in a filled cell is simply short of blanks: one that ends in a blank has lost a cell
            # further left, and one that is too long has one too many there; either would shift the rest.
            if row_cells[-1].strip() and may_lack.issuperset(range(len(row_cells), width)):
                row_cells += [""] * (width - len(row_cells))
            if len(row_cells) != width:
                # Its cells may stand under the wrong names: nothing more can be said of this row.
                self._wrong_length(row, row_cells, width)
                continue
            self.rows.append((row, row_cells))

    def _wrong_length(self, row: int, row_cells: list[str], width: int) -> None:
        count = len(row_cells)
        sentence = say.ROW_TOO_SHORT
        if count > width:
            sentence = say.ROW_TOO_LONG_BY_COMMA if self.sheet.separator == "," else say.ROW_TOO_LONG
        self.error(row, None, sentence(count=count, width=width))


def some(rows: list[int]) -> str:
    """A few row numbers, and how many more there are."""
    if len(rows) <= LISTED:
        return listed(rows)
    return f"{', '.join(map(str, rows[:LISTED]))} and {len(rows) - LISTED} more"
