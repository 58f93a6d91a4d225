"""How does the text of a cell go into a workbook, and how does what a spreadsheet made of it come back as text?

A workbook keeps dates, clock times and percentages as numbers with a format; the files of a campaign keep them as they
are written. Signs that XML cannot hold are written by number, as ISO/IEC 29500-1:2016 has it (22.9.2.19, ST_Xstring).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

_NUMBER = re.compile(r"-?(0|[1-9]\d*)(\.\d+)?", re.ASCII)
_UNWRITABLE = re.compile("_(?=x[0-9A-Fa-f]{4}_)|[\x00-\x08\x0b-\x1f\ufffe\uffff]")
_WRITTEN_BY_NUMBER = re.compile("_x([0-9A-Fa-f]{4})_")
#: Days since the end of 1899 that are taken for a date where a number stands for one: the years 1954 to 2119 (assumed).
_DAYS = (20_000, 80_000)


@dataclass(frozen=True, slots=True)
class SheetCell:
    """A cell's value as the workbook has it, and its number format."""

    value: object
    format: str = "General"


def encoded(text: str) -> str:
    """Text as a workbook's XML can hold it."""
    return _UNWRITABLE.sub(lambda sign: f"_x{ord(sign[0]):04X}_", text)


def decoded(text: str) -> str:
    """What :func:`encoded` was given."""
    return _WRITTEN_BY_NUMBER.sub(lambda sign: chr(int(sign[1], 16)), text)


def as_number(text: str) -> SheetCell | None:
    """The text as a number that comes back in the same spelling, None where it is none."""
    if not _NUMBER.fullmatch(text) or len(text) > 15:
        return None
    decimals = len(text.partition(".")[2])
    value = float(text) if decimals else int(text)
    # As many decimals as were typed are shown, and more where somebody types more.
    shown = f"0.{'0' * decimals}{'#' * max(0, 6 - decimals)}" if decimals else "General"
    return SheetCell(value, shown) if f"{value:.{decimals}f}" == text else None


def spoken(cell: SheetCell, column: str = "") -> str:
    """The text that a campaign's file has for a cell; ``column`` is its plain name where that matters: date, clock."""
    value = cell.value
    if isinstance(value, str):
        # A line that began with # would be a remark of the file.
        return re.sub(r"\n+\s*(?=#)", " ", re.sub(r"\r\n?", "\n", decoded(value)))
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return _number(value, cell.format, column)
    if isinstance(value, timedelta):
        return _clock(value.total_seconds())
    if isinstance(value, time):
        return _clock(_seconds(value))
    if isinstance(value, datetime):
        moment = _clock(_seconds(value.time()))
        day = value.date().isoformat()
        return moment if column == "clock" else day if moment == "00:00" else f"{day} {moment}"
    return value.isoformat() if isinstance(value, date) else str(value)


def _number(value: int | float, shown: str, column: str) -> str:
    low, high = _DAYS
    if column == "clock":
        whole = value == int(value)
        if (not whole and (0 <= value < 1 or low < value < high)) or value == 0:
            return _clock(round((value % 1) * 86_400))
        if whole and 100 <= value <= 2359:
            return f"{int(value):04d}"
    if column == "date" and value == int(value) and low < value < high:
        return (date(1899, 12, 30) + timedelta(days=int(value))).isoformat()
    if "%" in shown:
        return f"{100 * value:.12g} %"
    decimals = re.fullmatch(r"0\.(0+)#*", shown)
    if decimals:
        text = f"{value:.{len(decimals[1])}f}"
        if float(text) == value:
            return text
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value)


def _seconds(moment: time) -> float:
    return 3600 * moment.hour + 60 * moment.minute + moment.second + moment.microsecond / 1e6


def _clock(seconds: float) -> str:
    """Hours and minutes, and seconds where there are any."""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}" + (f":{rest:02d}" if rest else "")
