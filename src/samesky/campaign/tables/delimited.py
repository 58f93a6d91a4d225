"""How does the file fall into rows and cells?

Comma, semicolon and tab are told apart by the header alone, so that the same file is always read the same way.
Lines that begin with ``#`` are remarks. Rows carry the number that a spreadsheet shows beside them.
"""

from __future__ import annotations

import csv
from collections.abc import Collection
from dataclasses import dataclass

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import plain_name
from samesky.campaign.tables.cells import words

SEPARATORS = {"\t": "tabs", ";": "semicolons", ",": "commas"}
#: Most rows that a file of runs may have, and most characters of a line or a cell; the csv module's own limit is shared
#: with every other library of the process, which may have moved it.
MOST_ROWS = 2_000
LONGEST = 100_000


@dataclass(frozen=True, slots=True)
class DelimitedRows:
    """A file as rows of cells. ``rows`` pairs each row's number in a spreadsheet with its cells, ``remarks`` with the
    line that stands there instead.
    """

    separator: str
    header_row: int
    header: list[str]
    rows: list[tuple[int, list[str]]]
    remarks: list[tuple[int, str]]

    @property
    def comma_is_decimal(self) -> bool:
        """Whether a comma inside a cell can be a decimal comma."""
        return self.separator != ","


def split(text: str, file: str, known: Collection[str]) -> tuple[DelimitedRows | None, list[Finding]]:
    """The text as a :class:`DelimitedRows`, None where it has no header; ``known`` are column names to be expected."""
    # Only the three line ends of text files count: str.splitlines would also break at form feeds and the like.
    written = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    lines = ["\n" if line.startswith("#") else line + "\n" for line in written]
    header_line = next((line for line in lines if line.strip().strip('",;\t')), "")
    if not header_line:
        return None, [Finding("error", file, say.FILE_EMPTY(list=", ".join(list(known)[:5])))]
    if long := next((row for row, line in enumerate(lines, start=1) if len(line) > LONGEST), None):
        return None, [_too_long(file, "line", long)]
    separator = _separator(header_line, known)
    rows: list[tuple[int, list[str]]] = []
    remarks: list[tuple[int, str]] = []
    row = 0
    try:
        reader = csv.reader(lines, delimiter=separator, strict=True)
        for row, cells in enumerate(reader, start=1):
            if not any(cell.strip() for cell in cells) or cells[0].startswith("#"):
                if written[reader.line_num - 1].startswith("#"):
                    remarks.append((row, written[reader.line_num - 1]))
                continue
            if max(map(len, cells)) > LONGEST:
                return None, [_too_long(file, "cell", row)]
            rows.append((row, cells))
            if len(rows) > MOST_ROWS:
                return None, [Finding("error", file, say.FILE_TOO_MANY_ROWS(most_rows=MOST_ROWS), row)]
    except csv.Error as error:
        return None, [
            Finding(
                "error",
                file,
                say.ROW_NOT_TAKEN_APART(error=error),
                row + 1,
            )
        ]
    if not rows:
        return None, [Finding("error", file, say.FILE_NO_HEADER())]
    (header_row, header), *body = rows
    return DelimitedRows(separator, header_row, [words(cell) for cell in header], body, remarks), []


def _too_long(file: str, what: str, row: int) -> Finding:
    return Finding("error", file, say.FILE_TOO_LONG(what=what, longest=LONGEST), row)


def _separator(header_line: str, known: Collection[str]) -> str:
    """The separator that makes most known names of the header; at a tie the one that makes most cells."""
    names = {plain_name(name) for name in known}

    def worth(separator: str) -> tuple[int, int]:
        try:
            cells = next(csv.reader([header_line], delimiter=separator), [])
        except csv.Error:
            return 0, 0
        return sum(plain_name(cell.partition("[")[0]) in names for cell in cells), len(cells)

    return max(SEPARATORS, key=worth)
