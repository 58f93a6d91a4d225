"""What does a campaign look like as a workbook? The sheets, their columns, and what each cell shows."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Mapping
from datetime import datetime

from samesky.campaign.entries.outline import outline
from samesky.campaign.entries.schema import NAMED, Group, Path
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import plain_name, quoted
from samesky.campaign.reading.table import columns_of
from samesky.campaign.tables import cells as people
from samesky.campaign.tables.delimited import MOST_ROWS
from samesky.campaign.tables.grid import Grid
from samesky.campaign.toml.section import FILE
from samesky.exchange import catalogue as say
from samesky.exchange.workbook.cells import SheetCell, as_number, encoded
from samesky.exchange.workbook.open import library
from samesky.exchange.zip.archive import safe_members, zip_bytes
from samesky.measures import MEASURES
from samesky.measures.airspeed_calibration import CALIBRATION
from samesky.measures.columns import COMMON
from samesky.measures.filmed_rolls import FILMED
from samesky.measures.shape import Column

#: Names of the sheets that hold no runs.
CAMPAIGN, REMARKS = "campaign", "remarks"
#: Columns of the sheet ``campaign``, with their widths.
COLUMNS = {"part": 26, "entry": 34, "value": 38, "example": 26, "what it means": 100}
#: What the part of the entries at the top of ``campaign.toml`` is called.
TOP = "campaign"
#: What a table without entries has in the column ``value``.
EMPTY = "yes"
#: Longest text that a cell can hold, and longest name of a sheet: limits of the usual spreadsheets (common practice).
LONGEST_TEXT = 32_767
LONGEST_NAME = 31
#: Most lines of ``campaign.toml`` that are kept word for word.
MOST_LINES = 4_000

#: What stands over the sheet ``campaign``, in place of the remark at the top of ``campaign.toml``.
HOW = (
    "Fill in the column 'value'; what has none is not used. Every number with a dimension has its unit: 75 kt, 412 ft, "
    "14.2 kg. Any usual unit will do. Several values stand with commas between. A row may be added: another "
    "configuration, runway or station has its own name in the column 'part', such as runway.27. Write values, no "
    "formulas."
)
#: Over the lines that are kept.
KEPT = "line (kept so that remarks come back; change values in the other sheets)"

_INK, _QUIET, _RULE, _WASH, _FIELD = "1D2126", "59626C", "CFD5DB", "E6EBEF", "F7F5EC"


def workbook_bytes(files: Mapping[str, str], file: str) -> bytes:
    """The workbook of a campaign's files; ``file`` is its name, for messages. The same files give the same bytes."""
    openpyxl = library(file)
    book = openpyxl.Workbook()
    book.remove(book.active)
    remarks: list[tuple[str, str]] = []
    toml = files.get(FILE)
    if toml is not None:
        _campaign_sheet(book.create_sheet(CAMPAIGN), outline(toml))
        lines = [line.rstrip("\r") for line in toml.split("\n")]
        remarks += [(FILE, line) for line in lines] if len(lines) <= MOST_LINES else []
    keys = [group.path[1] for group in outline(toml or "") if group.path[:1] == ("configuration",) and group.on]
    for name in sorted(name for name in files if name.casefold().endswith(".csv")):
        columns, title = _columns(name), _sheet_name(name, book)
        grid = Grid.from_text(files[name], name, list(columns))
        _refuse_short_rows(grid, name)
        _run_sheet(book.create_sheet(title), grid, columns, keys)
        remarks += [(f"{title}.csv", line) for before, line in grid.remarks if before < 0]
    _remark_sheet(book.create_sheet(REMARKS), remarks)
    book.properties.creator = "Same Sky"
    book.properties.created = book.properties.modified = datetime(1980, 1, 1)
    stream = io.BytesIO()
    book.save(stream)
    members = safe_members(stream.getvalue(), file)
    # Saving writes the time of day into the properties.
    core = members["docProps/core.xml"]
    members["docProps/core.xml"] = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>1980-01-01T00:00:00Z", core)
    return zip_bytes(members)


def part_of(path: Path) -> str:
    """What the column ``part`` shows for a table."""
    return ".".join(path) if path else TOP


def path_of(part: str) -> Path:
    """The table that a part names; after the name of a kind, such as runway, all the rest is one name."""
    if plain_name(part) == TOP:
        return ()
    names = [name.strip() for name in part.split(".")]
    for kind in sorted(NAMED, key=len, reverse=True):
        if tuple(map(plain_name, names[: len(kind)])) == kind and len(names) > len(kind):
            return (*kind, ".".join(names[len(kind) :]))
    return tuple(names)


def _sheet_name(file: str, book) -> str:
    name = file[: -len(".csv")]
    taken = {CAMPAIGN, REMARKS, *(title.casefold() for title in book.sheetnames)}
    if len(name) > LONGEST_NAME or re.search(r"[\[\]:*?/\\']", name) or not name.strip() or name.casefold() in taken:
        raise cannot(
            file,
            say.WORKBOOK_NAME_NOT_A_SHEET(name=quoted(name), longest_name=LONGEST_NAME),
        )
    return name


def _refuse_short_rows(grid: Grid, file: str) -> None:
    """A sheet has no short rows: the cell that one has lost would be a blank one at its end, wherever it belongs."""
    for number, row in zip(grid.numbers()[1], grid.rows, strict=True):
        if len(row) < len(grid.header):
            raise cannot(file, say.WORKBOOK_ROW_LENGTH(count=len(row), count2=len(grid.header)), number)


def _columns(file: str) -> dict[str, Column]:
    known = {**MEASURES, CALIBRATION.name: CALIBRATION, FILMED.name: FILMED}
    measure = known.get(plain_name(file[: -len(".csv")]).replace(" ", "_"))
    return {column.name: column for column in (columns_of(measure) if measure else COMMON)}


def _campaign_sheet(sheet, groups: Iterable[Group]) -> None:
    _head(sheet, COLUMNS)
    heading, at = "", 1
    for group in groups:
        if group.heading != heading:
            heading, at = group.heading, at + 1
            _row(sheet, at, [heading], heading=True)
        empty = group.on and not any(entry.on for entry in group.entries)
        part, at = part_of(group.path), at + 1
        _row(sheet, at, [part, "", EMPTY if empty else "", "", group.help if group.path else HOW], strong=True)
        for entry in group.entries:
            at += 1
            number = entry.kind == "number"
            _row(sheet, at, [part, entry.name, entry.text, entry.example, entry.help], number=number)
            _field(sheet.cell(at, 3), "General" if number and not entry.text else None)
            if entry.kind == "flag":
                _choices(sheet, f"C{at}", ["true", "false"])
    sheet.freeze_panes = "A2"


def _run_sheet(sheet, grid: Grid, columns: Mapping[str, Column], keys: list[str]) -> None:
    known = [columns.get(plain_name(cell.partition("[")[0])) for cell in grid.header]
    # A column that nobody knows, such as that of a free measure, has numbers if it has a unit.
    words = [
        column.dimension == "text" if column else "[" not in cell
        for cell, column in zip(grid.header, known, strict=True)
    ]
    widths = [min(40, max(9, *(len(row[k]) + 2 for row in (grid.header, *grid.rows)))) for k in range(len(known))]
    _head(sheet, dict(enumerate(widths)), grid.header, [column.meaning if column else "" for column in known])
    for k in range(len(known)):
        if words[k]:
            sheet.column_dimensions[_letter(k)].number_format = "@"
        column = known[k]
        if column is not None and column.name == "configuration":
            _choices(sheet, f"{_letter(k)}2:{_letter(k)}{MOST_ROWS}", keys)
    at = 1
    for k in range(len(grid.rows) + 1):
        for line in [line for before, line in grid.remarks if before == k]:
            at += 1
            _row(sheet, at, [line], remark=True)
        at += 1
        for j, text in enumerate(grid.rows[k] if k < len(grid.rows) else ()):
            if j == 0 and text.lstrip("'").startswith("#"):
                text = "'" + text  # or it would read as a remark
            if text:
                _put(sheet, at, j + 1, None if words[j] else _number_cell(text, grid.separator != ","), text)
    sheet.freeze_panes = "A2"


def _number_cell(text: str, decimal_comma: bool) -> SheetCell | None:
    if decimal_comma:
        try:
            return as_number(text) or as_number(f"{people.number(text, True):.10g}")
        except people.CellError:
            return None
    return as_number(text)


def _remark_sheet(sheet, remarks: Iterable[tuple[str, str]]) -> None:
    _head(sheet, {"file": 22, KEPT: 122})
    for at, (file, line) in enumerate(remarks, start=2):
        _row(sheet, at, [file, line], remark=True)
    sheet.freeze_panes = "A2"


# -- cells -------------------------------------------------------------------------------------------------------------


def _letter(index: int) -> str:
    from openpyxl.utils import get_column_letter

    return get_column_letter(index + 1)


def _put(sheet, row: int, column: int, number: SheetCell | None, text: str):
    """Put a number, or text that no spreadsheet runs, into a cell."""
    cell = sheet.cell(row, column)
    if number is not None:
        cell.value, cell.number_format = number.value, number.format
        return cell
    written = encoded(text)
    if len(written) > LONGEST_TEXT:
        raise cannot(
            f"sheet {quoted(sheet.title)}, cell {cell.coordinate}",
            say.WORKBOOK_TEXT_TOO_LONG(count=len(written), longest_text=LONGEST_TEXT),
        )
    cell.value = written
    # Whatever it begins with, it is text: no formula, no error value; the apostrophe that is not shown keeps it so.
    cell.data_type = "s"
    cell.number_format = "@"
    cell.quotePrefix = text.startswith(people.FORMULA_SIGNS)
    return cell


def _head(
    sheet, widths: Mapping[str, float] | Mapping[int, float], header: Iterable[str] | None = None, meanings=()
) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

    names = list(header if header is not None else map(str, widths))
    for k, (name, width) in enumerate(zip(names, widths.values(), strict=True)):
        sheet.column_dimensions[_letter(k)].width = width
        if not name:
            continue
        cell = _put(sheet, 1, k + 1, None, name)
        cell.font = Font(bold=True, color=_INK)
        cell.fill = PatternFill("solid", fgColor=_WASH)
        cell.border = Border(bottom=Side("medium", color=_QUIET))
        cell.alignment = Alignment(vertical="top")
        if k < len(meanings) and meanings[k]:
            cell.comment = Comment(meanings[k], "Same Sky", width=300, height=40 + 18 * (len(meanings[k]) // 45))
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = "1:1"


def _row(sheet, at: int, texts, heading=False, strong=False, remark=False, number=False) -> None:
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

    for k, text in enumerate([*texts, *[""] * (len(COLUMNS) - len(texts))] if heading else texts):
        if not text and not heading and not strong:
            continue
        cell = _put(sheet, at, k + 1, as_number(text) if number and k == 2 else None, text) if text else None
        cell = cell or sheet.cell(at, k + 1)
        last = k == len(COLUMNS) - 1
        cell.alignment = Alignment(vertical="top", wrap_text=k >= 2)
        quiet = remark or (k > 2 and not heading)
        cell.font = Font(bold=heading or (strong and k < 2), italic=last and strong, color=_QUIET if quiet else _INK)
        if heading:
            cell.fill = PatternFill("solid", fgColor=_WASH)
        if strong:
            cell.border = Border(top=Side("thin", color=_RULE))


def _field(cell, shown: str | None) -> None:
    """Mark a cell as one to fill in; words stay words, so that 5 % or 1/2 is not turned into something else."""
    from openpyxl.styles import Alignment, PatternFill

    cell.fill = PatternFill("solid", fgColor=_FIELD)
    cell.alignment = Alignment(vertical="top", wrap_text=True, horizontal="left")
    if shown or cell.value is None:
        cell.number_format = shown or "@"


def _choices(sheet, where: str, words: list[str]) -> None:
    """A list to choose from; other words are warned of, for the reader says better what is wrong."""
    from openpyxl.worksheet.datavalidation import DataValidation

    listed = ",".join(words)
    if not words or len(listed) > 250 or any('"' in word or "," in word for word in words):
        return
    rule = DataValidation(type="list", formula1=f'"{listed}"', allow_blank=True, errorStyle="warning")
    rule.showErrorMessage, rule.error = True, f"Expected one of: {listed}."
    sheet.add_data_validation(rule)
    rule.add(where)
