"""Is this workbook safe to open, and what stands in its cells?

A workbook is a zip of XML files (ISO/IEC 29500). It is unpacked against the limits of
:mod:`samesky.exchange.zip.archive`, only what the cells need goes on to openpyxl, and no formula is ever computed, nor
its last result believed.
"""

from __future__ import annotations

import io
import math
import re
import warnings
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import ModuleType

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.sentences import Said
from samesky.campaign.messages.words import quoted
from samesky.exchange import catalogue as say
from samesky.exchange.workbook.cells import SheetCell
from samesky.exchange.zip.archive import safe_members, zip_bytes

#: Most sheets, and most rows and cells that all of them may have in their XML, formatted and blank ones counted; and
#: most cells that are merged with others.
MOST_SHEETS = 60
MOST_XML_ROWS = 20_000
MOST_XML_CELLS = 200_000
MOST_MERGED = 10_000
#: Farthest column that may be filled.
MOST_COLUMNS = 256

#: Parts of a workbook that cells do not need; pictures and what draws them, print settings, connections.
_UNUSED = re.compile(r"xl/(?!workbook|_rels/workbook|worksheets/[^/]*$|sharedStrings|styles)|docProps/|customXml/")


@dataclass(frozen=True, slots=True)
class Sheet:
    """The filled cells of one sheet by row and column, counted from 1."""

    file: str
    name: str
    cells: Mapping[tuple[int, int], SheetCell] = field(default_factory=dict)

    def wrong(self, row: int, column: int, said: Said) -> CampaignError:
        """The error about one cell, ready to raise."""
        return cannot(self.cell(row, column), said)

    def cell(self, row: int, column: int) -> str:
        """What messages call a cell."""
        return f"{self.file}, sheet {quoted(self.name)}, cell {place(row, column)}"

    def rows(self) -> dict[int, list[int]]:
        """The rows in which something stands, from the top, each with its filled columns from the left."""
        found: dict[int, list[int]] = {}
        for row, column in sorted(self.cells):
            found.setdefault(row, []).append(column)
        return found


def place(row: int, column: int) -> str:
    """The name that a spreadsheet gives a cell: B7."""
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{row}"


def library(file: object) -> ModuleType:
    """openpyxl's module; CampaignError where it is not installed."""
    try:
        import openpyxl
    except ImportError:
        raise cannot(
            file,
            say.WORKBOOK_NO_LIBRARY(),
        ) from None
    return openpyxl


def sheets(data: bytes, file: str) -> list[Sheet]:
    """Every sheet of a workbook with its filled cells, in its order. Raises CampaignError at the first fault."""
    openpyxl = library(file)
    members = _members(data, file)
    try:
        return _read(openpyxl, members, file)
    except CampaignError:
        raise
    except Exception as error:
        # Damage makes openpyxl raise nearly anything, and not only while it opens: styles are looked up cell by cell.
        cause = error.__cause__ or error
        reason = quoted(cause)[1:-1]
        raise cannot(file, say.WORKBOOK_DAMAGED(name=type(cause).__name__, reason=reason)) from None


def _read(openpyxl, members: Mapping[str, bytes], file: str) -> list[Sheet]:
    for name, content in members.items():
        _refuse_xml(name, content, file)
    _refuse_crowds([content for name, content in members.items() if name.startswith("xl/worksheets/")], file)
    members = {name: _bare(name, content, file) for name, content in members.items()}
    with warnings.catch_warnings():
        # What openpyxl leaves out, such as rules of colour, holds no cell.
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(io.BytesIO(zip_bytes(members)), keep_links=False)
        found = book.worksheets
    listed = sum(_count(b"sheet", content) for name, content in members.items() if name.startswith("xl/workbook"))
    if len(found) != listed:
        raise cannot(file, say.WORKBOOK_SHEETS_HIDDEN(listed=listed, count=len(found)))
    if len(found) > MOST_SHEETS:
        raise cannot(file, say.WORKBOOK_TOO_MANY_SHEETS(count=len(found), most_sheets=MOST_SHEETS))
    return [_sheet(one, file) for one in found]


def _members(data: bytes, file: str) -> dict[str, bytes]:
    names: list[str] = []

    def needed(name: str) -> bool:
        names.append(name)
        return name.endswith((".xml", ".rels")) and not _UNUSED.match(name)

    try:
        members = safe_members(data, file, needed)
    except CampaignError as error:
        wrong = error.finding
        if wrong.code == "zip.none":
            raise cannot(file, say.WORKBOOK_NO_ZIP(**wrong.facts)) from None
        # Of a zip that nobody sees as one.
        raise cannot(file, say.WORKBOOK_UNSAFE(message=wrong.message.replace("the zip", "the workbook"))) from None
    lower = [name.casefold() for name in names]
    if any("vbaproject" in name or "/activex/" in name for name in lower):
        raise cannot(file, say.WORKBOOK_MACROS())
    if b"macroenabled" in members.get("[Content_Types].xml", b"").lower():
        raise cannot(file, say.WORKBOOK_FOR_MACROS())
    if any(name.startswith("xl/") and name.endswith(".bin") and "sheet" in name for name in lower):
        raise cannot(file, say.WORKBOOK_BINARY())
    if "[Content_Types].xml" not in names or not any(name.startswith("xl/") for name in lower):
        kind = "an office document (.ods or .odt)" if "mimetype" in names else "a zip of other files"
        raise cannot(file, say.WORKBOOK_NONE(sort=kind))
    if any(name.startswith("xl/chartsheets/") for name in lower):
        raise cannot(file, say.WORKBOOK_CHART())
    return members


def _refuse_xml(name: str, content: bytes, file: str) -> None:
    """XML that declares entities, that hides its text in another coding, or that has more than any campaign."""
    text = content.removeprefix(b"\xef\xbb\xbf").lstrip()
    coding = re.match(rb"<\?xml[^>]*?encoding\s*=\s*[\"']([^\"']*)", text)
    hidden = b"\0" in content or not text.startswith(b"<")
    if hidden or (coding and coding[1].lower() not in (b"utf-8", b"utf8", b"us-ascii", b"ascii")):
        raise cannot(file, say.WORKBOOK_NO_XML(name=quoted(name)))
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise cannot(
            file,
            say.WORKBOOK_ENTITIES(name=quoted(name)),
        )


def _refuse_crowds(parts: list[bytes], file: str) -> None:
    """More rows or cells than any campaign has, which would fill the memory; counted before they are taken apart."""
    for tag, what, most in ((b"row", "rows", MOST_XML_ROWS), (b"c", "cells", MOST_XML_CELLS)):
        count = sum(_count(tag, content) for content in parts)
        if count > most:
            raise cannot(file, say.WORKBOOK_CROWDED(count=count, what=what, most=most))


def _bare(name: str, content: bytes, file: str) -> bytes:
    """A part of the workbook without what cells do not need: links, rules, tables, names of ranges."""
    if name.startswith("xl/workbook"):
        return re.sub(rb"<((?:[\w.-]+:)?)definedNames\b.*?</\1definedNames\s*>", b"", content, flags=re.DOTALL)
    end = re.search(rb"</((?:[\w.-]+:)?)sheetData\s*>|<((?:[\w.-]+:)?)sheetData\s*/>", content)
    if not name.startswith("xl/worksheets/") or end is None:
        return content
    prefix = end[1] or end[2] or b""
    tail = content[end.end() :]
    merged = re.search(rb"<" + prefix + rb"mergeCells\b.*?</" + prefix + rb"mergeCells\s*>", tail, re.DOTALL)
    if merged is not None:
        _refuse_wide(merged[0], file)
    return content[: end.end()] + (merged[0] if merged else b"") + b"</" + prefix + b"worksheet>"


def _refuse_wide(merged: bytes, file: str) -> None:
    from openpyxl.utils import range_boundaries

    count = 0
    for reference in re.findall(rb"ref\s*=\s*[\"']([^\"']*)", merged):
        try:
            left, top, right, bottom = range_boundaries(reference.decode("ascii", "replace"))
            count += (right - left + 1) * (bottom - top + 1)
        except (TypeError, ValueError):
            count = MOST_MERGED + 1
        if count > MOST_MERGED:
            where = quoted(reference.decode("ascii", "replace"))
            raise cannot(file, say.WORKBOOK_MERGED_CELLS(where=where))


def _count(tag: bytes, content: bytes) -> int:
    """How many elements of a name begin in the XML, whatever prefix they have."""
    return len(re.findall(rb"<(?:[\w.-]+:)?" + tag + rb"[\s/>]", content))


def _sheet(one, file: str) -> Sheet:
    sheet = Sheet(file, one.title)
    label = f"{file}, sheet {quoted(one.title)}"
    if one.sheet_state != "visible":
        raise cannot(label, say.WORKBOOK_SHEET_HIDDEN())
    for merged in one.merged_cells.ranges:
        raise cannot(f"{label}, cells {merged.coord}", say.WORKBOOK_MERGED())
    spans = [(one_column.min, one_column.max) for one_column in one.column_dimensions.values() if one_column.hidden]
    unseen = {at for first, last in spans for at in range(first or 0, min(last or 0, MOST_COLUMNS) + 1)}
    # openpyxl has no public way to the cells that exist; its ranges fill in every blank one between.
    cells = {}
    for (row, column), cell in sorted(one._cells.items()):
        value = cell.value
        if value is None or (isinstance(value, str) and not value.strip()):
            continue
        if cell.data_type == "f":
            formula = value if isinstance(value, str) else getattr(value, "text", "") or "="
            raise sheet.wrong(row, column, say.WORKBOOK_FORMULA(formula=quoted(formula)))
        if cell.data_type == "e":
            raise sheet.wrong(row, column, say.WORKBOOK_ERROR_VALUE(value=quoted(value)))
        if isinstance(value, float) and not math.isfinite(value):
            raise sheet.wrong(row, column, say.WORKBOOK_BEYOND_MEASURE())
        if column > MOST_COLUMNS:
            raise sheet.wrong(row, column, say.WORKBOOK_TOO_FAR_RIGHT(value=quoted(value), most_columns=MOST_COLUMNS))
        if column in unseen or (row in one.row_dimensions and one.row_dimensions[row].hidden):
            what = "column" if column in unseen else "row"
            raise sheet.wrong(row, column, say.WORKBOOK_HIDDEN_CELL(value=quoted(value), what=what))
        cells[row, column] = SheetCell(value, cell.number_format)
    return Sheet(file, one.title, cells)
