"""What stands in each cell of a file of runs, as written, and how is it changed without disturbing the rest?

A grid knows nothing of units or meanings: it is the file as text, remarks and row numbers included, so that pages,
workbooks and finders of runs can put cells into a file that somebody typed. Reading it as a campaign is
:mod:`samesky.campaign.reading.read`'s.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.words import plain_name
from samesky.campaign.tables.cells import words
from samesky.campaign.tables.delimited import split
from samesky.campaign.tables.write import cell_text


@dataclass(frozen=True, slots=True)
class Grid:
    """A file of runs as text.

    Attributes
    ----------
    header : cells of the header, such as ``"oat [degC]"``
    rows : cells of each row; a row may be blank. One that was written shorter than the header stays so until one of its
        cells is changed: where its missing cells belong is for the reader to say
    remarks : ``(k, line)``: a line that begins with ``#`` and stands before row k, or before the header where k is -1
    separator : comma, semicolon or tab
    above : blank rows above it all in the text that it was made from, which :meth:`to_text` leaves off
    """

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...] = ()
    remarks: tuple[tuple[int, str], ...] = ()
    separator: str = ","
    above: int = field(default=0, compare=False)

    @classmethod
    def from_text(cls, text: str, file: str, known: Collection[str]) -> Grid:
        """The grid of a file's text; ``known`` are column names to be expected, which decide on the separator.

        Blank rows at the end are left off. Cells beyond the header get columns without a name, so that none is lost.
        Raises CampaignError where the text cannot be taken apart.
        """
        sheet, findings = split(text, file, known)
        if sheet is None:
            raise CampaignError(findings[0])
        width = max([len(sheet.header), *(len(cells) for _, cells in sheet.rows)])
        last = sheet.rows[-1][0] if sheet.rows else sheet.header_row
        filled = dict(sheet.rows)
        remarked = {row for row, _ in sheet.remarks}
        rows: list[tuple[str, ...]] = []
        place: dict[int, int] = {}
        for number in range(sheet.header_row + 1, last + 1):
            place[number] = len(rows)
            if number not in remarked:
                cells = [words(cell) for cell in filled.get(number, [""] * width)]
                rows.append(_padded(cells, width) if len(cells) >= len(sheet.header) else tuple(cells))
        remarks = [
            (-1 if number < sheet.header_row else place.get(number, len(rows)), line) for number, line in sheet.remarks
        ]
        above = sheet.header_row - 1 - sum(before < 0 for before, _ in remarks)
        return cls(_padded(sheet.header, width), tuple(rows), tuple(remarks), sheet.separator, above)

    def to_text(self) -> str:
        """The text of the file; cells that a spreadsheet would run, or take for a remark, are guarded."""
        stream = io.StringIO()
        writer = csv.writer(stream, delimiter=self.separator, lineterminator="\n")
        for k in range(-1, len(self.rows) + 1):
            for before, line in self.remarks:
                if before == k:
                    stream.write(line.replace("\n", " ").replace("\r", " ") + "\n")
            if k < len(self.rows):
                writer.writerow([cell_text(cell) for cell in (self.header if k < 0 else self.rows[k])])
        return stream.getvalue()

    def numbers(self) -> tuple[int, list[int]]:
        """The number that a spreadsheet shows beside the header, and beside each row, of :meth:`to_text`."""
        header = 1 + sum(before < 0 for before, _ in self.remarks)
        rows = [header + 1 + k + sum(0 <= before <= k for before, _ in self.remarks) for k in range(len(self.rows))]
        return header, rows

    def numbers_as_read(self) -> tuple[int, list[int]]:
        """The same of the text that the grid was made from, as its reader counts and messages say."""
        header, rows = self.numbers()
        return header + self.above, [number + self.above for number in rows]

    def column(self, name: str) -> int | None:
        """Index of the column of that name, whatever its unit; None where there is none."""
        for index, cell in enumerate(self.header):
            if plain_name(cell.partition("[")[0]) == plain_name(name):
                return index
        return None

    def with_column(self, cell: str) -> Grid:
        """With one more column, of that header cell; before ``exclude`` and ``notes``, which stand last."""
        at = next((k for k, old in enumerate(self.header) if plain_name(old) in ("exclude", "notes")), len(self.header))
        return replace(
            self,
            header=(*self.header[:at], cell, *self.header[at:]),
            rows=tuple(row if len(row) < at else (*row[:at], "", *row[at:]) for row in self.rows),
        )

    def with_header(self, column: int, cell: str) -> Grid:
        """With another header cell over a column; the cells below stay."""
        return replace(self, header=(*self.header[:column], cell, *self.header[column + 1 :]))

    def with_cell(self, row: int, column: int, text: str) -> Grid:
        """With one cell changed; rows up to it are added where there are none yet. Line ends become spaces."""
        rows = list(self.rows) + [("",) * len(self.header)] * (row + 1 - len(self.rows))
        cells = list(_padded(rows[row], len(self.header)))
        cells[column] = " ".join(text.split())
        rows[row] = tuple(cells)
        return replace(self, rows=tuple(rows))

    def with_rows(self, added: Sequence[Mapping[str, str]]) -> Grid:
        """With rows added below the last one that is filled, each given as text by column name.

        Raises KeyError for a name that no column has: add the column first.
        """
        grid = self.trimmed()
        rows = list(grid.rows)
        for cells in added:
            row = [""] * len(grid.header)
            for name, text in cells.items():
                index = grid.column(name)
                if index is None:
                    raise KeyError(name)
                row[index] = " ".join(text.split())
            rows.append(tuple(row))
        return replace(grid, rows=tuple(rows))

    def with_blank_row(self, row: int) -> Grid:
        """With the cells of a row emptied: those below keep their numbers."""
        blank = ("",) * len(self.header)
        return replace(self, rows=(*self.rows[:row], blank, *self.rows[row + 1 :]))

    def without_row(self, row: int) -> Grid:
        """Without a row; remarks stay."""
        remarks = tuple((before - (before > row), line) for before, line in self.remarks)
        return replace(self, rows=self.rows[:row] + self.rows[row + 1 :], remarks=remarks)

    def trimmed(self) -> Grid:
        """Without the blank rows at its end."""
        filled = [k for k, row in enumerate(self.rows) if any(cell.strip() for cell in row)]
        count = filled[-1] + 1 if filled else 0
        remarks = tuple((min(before, count), line) for before, line in self.remarks)
        return replace(self, rows=self.rows[:count], remarks=remarks)


def _padded(cells: Sequence[str], width: int) -> tuple[str, ...]:
    return (*cells, *[""] * (width - len(cells)))
