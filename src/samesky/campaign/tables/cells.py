"""What does one cell say? Numbers, dates and clock times as people write them.

Every function gives the value, or raises :class:`CellError` with what was expected and how to mend it.
"""

from __future__ import annotations

import re
from datetime import date

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.sentences import Said

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_STARTS_AS_NUMBER = re.compile(r"[+-]?[\d.,]*\d[\d.,]*\s*\S*[^\d\s.,]\S*", re.ASCII)
_STOPWATCH = re.compile(r"(?P<m>\d{1,2}):(?P<s>[0-5]\d)", re.ASCII)
_DATES = (
    (re.compile(r"(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})([ T]0?0:00(:00(\.0+)?)?)?", re.ASCII)),
    (re.compile(r"(?P<d>\d{1,2})\.(?P<m>\d{1,2})\.(?P<y>\d{4})", re.ASCII)),
)
_CLOCK = re.compile(r"(?P<h>\d{1,2}):(?P<m>\d{2})(:(?P<s>\d{2})(\.\d+)?)?\s*(?P<half>[aApP]\.?[mM]\.?)?", re.ASCII)
_CLOCK_BARE = re.compile(r"(?P<h>\d{2})(?P<m>\d{2})", re.ASCII)
#: Years that a campaign can have been flown in; any other is a slip (chosen: instruments and papers of the kind go back
#: as far, and no clock is asked what the year is, so that an answer never changes with the day it is computed on).
YEARS = (1930, 2100)
#: Words that people and programs put where there is no reading.
NO_READING = {"nan", "inf", "-inf", "+inf", "infinity", "-infinity", "n/a", "na", "none", "null", "-", "--", "?", "x"}
#: Most signs of a cell that holds one number, and what no reading reaches in any unit.
LONGEST, BEYOND = 60, 1e200
#: Signs that make a spreadsheet run a cell as a formula.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


class CellError(ValueError):
    """A cell that cannot be read: the code of what is wrong, what is ``wrong`` with it, and how to mend it."""

    def __init__(self, said: Said):
        super().__init__(said.message)
        self.code, self.wrong, self.mend = said.code, said.message, said.mend


def number(cell: str, comma_is_decimal: bool, header: str = "") -> float:
    """The cell as a float, in the unit of its header.

    A decimal comma is taken only where commas do not separate the cells. Spaces that group thousands are taken,
    points and commas that do so are not: 1.234 is a little more than one.
    """
    text = cell.strip().replace("\u2212", "-")
    if len(text) > LONGEST:
        # The expressions below would look at it for hours.
        raise CellError(say.NUMBER_TOO_LONG(count=len(text)))
    bare = re.sub(r"(?<=\d)[\u00a0\u2009\u202f](?=\d{3}(\D|$))", "", text)
    if comma_is_decimal and bare.count(",") == 1 and "." not in bare:
        bare = bare.replace(",", ".")
    if _NUMBER.fullmatch(bare):
        value = float(bare)
        if abs(value) < BEYOND:
            return value
        raise CellError(say.NUMBER_BEYOND_MEASURE())
    if text.casefold() in NO_READING:
        raise CellError(say.NUMBER_NO_READING())
    if not comma_is_decimal and re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", text, re.ASCII):
        raise CellError(
            say.NUMBER_UNCLEAR_COMMA(what=text.replace(",", ""), what2=text.replace(",", ".")),
        )
    if re.fullmatch(r"[+-]?\d*,\d+", text, re.ASCII):
        raise CellError(
            say.NUMBER_DECIMAL_COMMA(what=text.replace(",", ".")),
        )
    if "," in text and "." in text:
        raise CellError(say.NUMBER_COMMA_AND_POINT())
    if watch := _STOPWATCH.fullmatch(text):
        # Minutes and seconds of a climb, hours and minutes of a cruise: which it is only the pilot knows.
        seconds = 60 * int(watch["m"]) + int(watch["s"])
        in_header = f", {header!r}" if header else ""
        raise CellError(
            say.NUMBER_STOPWATCH(in_header=in_header, text=text, seconds=seconds),
        )
    if _STARTS_AS_NUMBER.fullmatch(text):
        raise CellError(
            say.NUMBER_WORDS_BESIDE(what=f", {header!r}" if header else ""),
        )
    raise CellError(say.NUMBER_IS_TEXT())


def day(cell: str) -> date:
    """The cell as a date: 2025-06-14, or 14.6.2025 (day first); slashes are refused unless the year leads.

    The year lies within :data:`YEARS`.
    """
    text = cell.strip()
    for pattern in _DATES:
        match = pattern.fullmatch(text)
        if match:
            try:
                found = date(int(match["y"]), int(match["m"]), int(match["d"]))
            except ValueError:
                raise CellError(say.NUMBER_NO_DAY()) from None
            return flown_on(found)
    raise CellError(
        say.NUMBER_UNCLEAR_DATE(),
    )


def flown_on(found: date) -> date:
    """The date itself, where its year lies within :data:`YEARS`."""
    first, last = YEARS
    if not first <= found.year <= last:
        raise CellError(say.NUMBER_YEAR(first=first, last=last))
    return found


def clock_hours(cell: str) -> float:
    """Hours since midnight of a clock time: 09:05, 9:05:30, 0905 or 2:30 pm."""
    text = cell.strip()
    match = _CLOCK.fullmatch(text) or _CLOCK_BARE.fullmatch(text)
    if not match:
        raise CellError(say.NUMBER_NO_CLOCK())
    parts = match.groupdict()
    hours, minutes, seconds = int(parts["h"]), int(parts["m"]), int(parts.get("s") or 0)
    half = (parts.get("half") or "").replace(".", "").casefold()
    if half:
        if not 1 <= hours <= 12:
            raise CellError(say.NUMBER_NO_CLOCK())
        hours = hours % 12 + (12 if half == "pm" else 0)
    if hours > 23 or minutes > 59 or seconds > 59:
        raise CellError(say.NUMBER_NO_CLOCK())
    return hours + minutes / 60 + seconds / 3600


def words(cell: str) -> str:
    """The cell as text, without the apostrophe that :func:`guarded` put before a formula sign or a ``#``."""
    text = cell.strip()
    return text[1:] if re.match(r"'+[=+\-@\t\r#]", text) else text


def guarded(text: str) -> str:
    """Text that a spreadsheet does not run, and that opens no remark: an apostrophe goes before such a sign."""
    return "'" + text if text.lstrip("'").startswith((*FORMULA_SIGNS, "#")) else text
