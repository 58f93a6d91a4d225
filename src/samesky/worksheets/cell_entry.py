"""What did the pilot mean by what was typed into a cell?

A number with another unit of the same kind is brought to the column's ("412 m" in a column of feet), a decimal comma
becomes a point where the file cannot hold it. Whatever is not understood stays as it was typed: the reader says what is
wrong with it.
"""

from __future__ import annotations

import re

from samesky import units
from samesky.campaign import cells
from samesky.worksheets.tables import ShownColumn

#: A decimal comma that cannot be one of thousands: not three digits behind it, or a nought before it.
_DECIMAL_COMMA = re.compile(r"[+-]?(\d+,(\d{1,2}|\d{4,})|0,\d+)", re.ASCII)
#: Digits of a number brought from another unit.
DIGITS = 6


def entered(text: str, shown: ShownColumn, separator: str) -> tuple[str, str]:
    """The text to keep, and what to tell the pilot about it ("" where it is kept as typed)."""
    typed = " ".join(text.split())
    if not typed or not shown.is_number:
        return typed, ""
    try:
        cells.number(typed, separator != ",")
    except cells.CellError:
        pass
    else:
        return typed, ""
    if separator == "," and _DECIMAL_COMMA.fullmatch(typed):
        point = typed.replace(",", ".")
        return point, f"{typed} was taken as {point}."
    return _converted(typed, shown) if shown.unit else (typed, "")


def _converted(typed: str, shown: ShownColumn) -> tuple[str, str]:
    for dimension in (shown.column.dimension, *shown.column.also):
        try:
            value = units.from_si(units.parse(typed, dimension), shown.unit, dimension)
        except units.UnitError:
            continue
        kept = f"{value:.{DIGITS}g}"
        if "e" not in kept:
            return kept, f"{typed} is {kept} {shown.unit}."
    return typed, ""


def in_unit(text: str, old: str, new: str, dimension: str, comma_is_decimal: bool) -> str:
    """A cell's number brought from one unit to another; what is no number stays as it is. Raises UnitError."""
    try:
        value = cells.number(text, comma_is_decimal)
    except cells.CellError:
        return text
    return f"{units.from_si(units.to_si(value, old, dimension), new, dimension):.{DIGITS}g}"
