"""What did the pilot mean by what was typed into a cell?

A number with another unit of the same kind is brought to the column's ("412 m" in a column of feet), a decimal comma
becomes a point where the file cannot hold it. Whatever is not understood stays as it was typed: the reader says what is
wrong with it. Only signs that nobody sees go: they come along from web pages and documents, and no file holds them all.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

import numpy as np

from samesky import units
from samesky.campaign.tables import cells
from samesky.spellings import NUMBER, is_calibrated
from samesky.worksheets.runs.columns import ShownColumn

#: A decimal comma that cannot be one of thousands: not three digits behind it, or a nought before it.
_DECIMAL_COMMA = re.compile(r"[+-]?(\d+,(\d{1,2}|\d{4,})|0,\d+)", re.ASCII)
#: Joiners without width, which some scripts need between letters.
_JOINERS = "\u200c\u200d"
#: Digits of a number brought from another unit.
DIGITS = 6


def plain(text: str) -> str:
    """Typed text on one line, without signs that cannot be seen: controls, halves of characters, turns of direction."""
    seen = (
        character
        for character in " ".join(text.split())
        if character in _JOINERS or unicodedata.category(character) not in ("Cc", "Cf", "Cs")
    )
    return " ".join("".join(seen).split())


def entered(text: str, shown: ShownColumn, separator: str) -> tuple[str, str]:
    """The text to keep, and what to tell the pilot about it ("" where it is kept as typed)."""
    typed = plain(text)
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
    match = NUMBER.match(typed)
    if match is not None and is_calibrated(match["unit"]) != is_calibrated(shown.unit):
        # What the indicator shows and what is left of it without its error are no two units of one number.
        return typed, ""
    for dimension in (shown.column.dimension, *shown.column.also):
        if (
            match is None
            or not match["unit"]
            or not _fits(match["unit"], dimension)
            or not _fits(shown.unit, dimension)
        ):
            continue
        try:
            value = units.parse(typed, dimension)
        except units.UnitError:
            continue
        kept = shortly(units.from_si(value, shown.unit, dimension))
        return kept, f"{typed} is {kept} {shown.unit}."
    return typed, ""


@lru_cache(maxsize=4096)
def _fits(unit: str, dimension: str) -> bool:
    """Whether a unit measures that; remembered, for what is no unit takes long to be looked up in vain."""
    try:
        units.to_si(1.0, unit, dimension)
    except units.UnitError:
        return False
    return True


def in_unit(text: str, old: str, new: str, dimension: str, comma_is_decimal: bool) -> str:
    """A cell's number brought from one unit to another; what is no number stays as it is. Raises UnitError."""
    try:
        value = cells.number(text, comma_is_decimal)
    except cells.CellError:
        return text
    return shortly(units.from_si(units.to_si(value, old, dimension), new, dimension))


def shortly(value: float) -> str:
    """A number with :data:`DIGITS` digits, without an exponent."""
    return np.format_float_positional(value, precision=DIGITS, fractional=False, trim="-")
