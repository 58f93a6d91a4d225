"""How would a stranger's program have to read this file of runs, to get the same numbers?

Answers in the words of two open standards of the Data Package family, version 2.0: Table Dialect (how the text falls
into cells) and Table Schema (what stands in a column). A column is given the type of a number, a date or a time only
where the standard's reading of every cell is ours; else it stays text, and says so.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime

from samesky import units
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.messages.words import plain_name
from samesky.campaign.tables import cells
from samesky.campaign.tables.delimited import DelimitedRows, split
from samesky.measures.shape import Column

#: A number as Table Schema 2.0 has it (that of XML Schema, with an exponent).
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_DEFAULT_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_DEFAULT_TIME = re.compile(r"\d{2}:\d{2}:\d{2}", re.ASCII)
_DATES = ("%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d", "%d.%m.%Y")
_TIMES = ("%H:%M", "%H:%M:%S", "%H%M", "%I:%M %p", "%I:%M%p", "%I:%M:%S %p")
#: Spaces that our reader takes between groups of three digits.
_GROUPS = "\u00a0\u2009\u202f"
AS_WRITTEN = "Not every cell reads in one way only, so it is described as text."


def table(text: str, file: str, columns: Sequence[Column]) -> dict[str, object] | None:
    """``dialect`` and ``schema`` of a file of runs; None where a plain reader would not get the cells that we get.

    ``columns`` are those that the file may have. Raises nothing: a file that cannot be taken apart has no table.
    """
    sheet, _ = split(text, file, [column.name for column in columns])
    if sheet is None:
        return None
    spaced = f"{sheet.separator} " in text
    records = _records(text, sheet, spaced)
    if records is None:
        return None
    header = records[sheet.header_row - 1]
    known = {plain_name(column.name): column for column in columns}
    body = [row for _, row in sheet.rows if len(row) == len(header)]
    fields = [
        _field(cell, index, known, [row[index].strip() for row in body], sheet.comma_is_decimal)
        for index, cell in enumerate(header)
    ]
    blank = [number for number, row in enumerate(records, start=1) if not any(cell.strip() for cell in row)]
    dialect: dict[str, object] = {"header": True, "delimiter": sheet.separator, "lineTerminator": _line_end(text)}
    dialect |= {"quoteChar": '"', "doubleQuote": True, "skipInitialSpace": spaced, "commentChar": "#"}
    if sheet.header_row != 1:
        dialect["headerRows"] = [sheet.header_row]
    if blank:
        dialect["commentRows"] = blank
    return {"dialect": dialect, "schema": {"fields": fields, "missingValues": [""]}}


def header_names(text: str, file: str, columns: Sequence[Column]) -> list[str] | None:
    """The names that the fields of a file of runs have, without spaces around them; None where it has no header."""
    sheet, _ = split(text, file, [column.name for column in columns])
    return None if sheet is None else [_name(cell, index) for index, cell in enumerate(sheet.header)]


def _records(text: str, sheet: DelimitedRows, spaced: bool) -> list[list[str]] | None:
    """All rows as a plain CSV reader has them, remarks as well; None where its cells are not ours.

    They differ where a remark opens a quotation that ends further down: we never take remarks apart.
    """
    lines = [line + "\n" for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n")]
    if lines[-1] == "\n":
        lines.pop()
    try:
        records = list(csv.reader(lines, delimiter=sheet.separator, skipinitialspace=spaced, strict=True))
    except csv.Error:
        return None
    for number, row in [(sheet.header_row, sheet.header), *sheet.rows]:
        theirs = records[number - 1] if number <= len(records) else []
        if [cells.words(cell) for cell in theirs] != [cells.words(cell) for cell in row]:
            return None
    return records


def _line_end(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n" if "\n" in text or "\r" not in text else "\r"


def _field(
    cell: str, index: int, known: Mapping[str, Column], found: Sequence[str], comma_is_decimal: bool
) -> dict[str, object]:
    """The field descriptor of one column; ``found`` are its cells."""
    name, unit = _named(cells.words(cell))
    column = known.get(plain_name(name))
    filled = [one for one in found if one]
    field: dict[str, object] = {"name": _name(cell, index)}
    if column is None:
        field |= (_number(filled, comma_is_decimal) if unit is not None and filled else None) or {"type": "string"}
        field["description"] = "Not used by the comparison."
    else:
        typed = _typed(column, filled, comma_is_decimal)
        field |= typed or {"type": "string"}
        says = column.meaning[:1].upper() + column.meaning[1:] + "."
        field["description"] = says if typed else f"{says} {AS_WRITTEN}"
        unit = _unit(column, unit)
    if unit is not None:
        field["unit"] = unit
    if column is not None and column.required and len(filled) == len(found):
        field["constraints"] = {"required": True}
    return field


def _name(cell: str, index: int) -> str:
    """A field has to have a name, a column need not."""
    return cell if cell.strip() else f"column {index + 1}"


def _named(cell: str) -> tuple[str, str | None]:
    try:
        return units.header(cell)
    except units.UnitError:
        return cell, None


def _unit(column: Column, unit: str | None) -> str | None:
    """The unit in which the numbers stand: that of the header, or the one that the column's name is."""
    if column.dimension == "text" or unit is not None:
        return unit
    if fits(column.name, column.dimension):
        return column.name
    return "1" if column.dimension == "fraction" else None


def _typed(column: Column, filled: Sequence[str], comma_is_decimal: bool) -> dict[str, object] | None:
    if column.name == "date":
        return _timed("date", filled, _DEFAULT_DATE, _DATES, lambda at: at.date(), cells.day)
    if column.name == "clock":
        return _timed("time", filled, _DEFAULT_TIME, _TIMES, _hours, cells.clock_hours)
    return {"type": "string"} if column.dimension == "text" else _number(filled, comma_is_decimal)


def _hours(at: datetime) -> float:
    return at.hour + at.minute / 60 + at.second / 3600


def _timed(
    kind: str,
    filled: Sequence[str],
    default: re.Pattern[str],
    formats: Sequence[str],
    value: Callable[[datetime], object],
    ours: Callable[[str], object],
) -> dict[str, object] | None:
    """Type and format of dates or times; None where no one format reads every cell as we do."""
    for form in formats:
        try:
            same = all(value(datetime.strptime(cell, form)) == ours(cell) for cell in filled)
        except ValueError:
            continue
        if same:
            usual = form in ("%Y-%m-%d", "%H:%M:%S") and all(default.fullmatch(cell) for cell in filled)
            return {"type": kind} if usual else {"type": kind, "format": form}
    return None


def _number(filled: Sequence[str], comma_is_decimal: bool) -> dict[str, object] | None:
    """Type, decimal sign and sign between thousands of numbers; None where no one way reads every cell as we do."""
    groups = {sign for cell in filled for sign in cell if sign in _GROUPS}
    decimal = "," if any("," in cell for cell in filled) else "."
    if len(groups) > 1:
        return None
    try:
        for cell in filled:
            bare = "".join(sign for sign in cell if sign not in groups)
            if decimal == "," and "." in bare:
                return None
            bare = bare.replace(decimal, ".")
            if not _NUMBER.fullmatch(bare) or float(bare) != cells.number(cell, comma_is_decimal):
                return None
    except cells.CellError:
        return None
    field: dict[str, object] = {"type": "number"}
    if decimal == ",":
        field["decimalChar"] = decimal
    if groups:
        field["groupChar"] = groups.pop()
    return field
