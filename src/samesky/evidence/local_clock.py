"""How do people say clock times on the wall, and how far that clock is ahead of UTC?

``called`` is how a message names what was given: options on the command line, fields on a page.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta

from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import quoted
from samesky.campaign.tables.cells import CellError, clock_hours
from samesky.campaign.tables.cells import day as day_of
from samesky.evidence import catalogue as say

#: The widest offsets that any place on earth keeps [h].
_OFFSETS = (-12.0, 14.0)


def utc_offset(text: str, called: str) -> float:
    """Hours that a clock is ahead of UTC, from ``+02:00``, ``-5``, ``Z``. Raises CampaignError."""
    found = re.fullmatch(r"(UTC|Z)|(?:UTC)?([+\-\u2212])(\d{1,2})(?::?([0-5]\d))?", text.strip().upper(), re.ASCII)
    hours = 0.0
    if found and not found[1]:
        hours = (1.0 if found[2] == "+" else -1.0) * (int(found[3]) + int(found[4] or 0) / 60)
    if not found or not _OFFSETS[0] <= hours <= _OFFSETS[1]:
        raise cannot(called, say.CLOCK_OFFSET_UNREADABLE(text=quoted(text)))
    return hours


def clock(text: str, called: str) -> float:
    """Seconds since midnight of a clock time. Raises CampaignError."""
    try:
        return 3600.0 * clock_hours(text)
    except CellError as error:
        raise cannot(called, say.CLOCK_UNREADABLE(text=quoted(text), wrong=error.wrong, mend=error.mend)) from None


def date_said(text: str, called: str) -> date:
    """A date as people write it. Raises CampaignError."""
    try:
        return day_of(text)
    except CellError as error:
        raise cannot(called, say.CLOCK_UNREADABLE(text=quoted(text), wrong=error.wrong, mend=error.mend)) from None


def moments(
    start: str | None,
    end: str | None,
    day: str | None,
    span: tuple[float, float],
    offset_hours: float,
    called: Mapping[str, str],
) -> tuple[float, float] | None:
    """Times [s since 1970 UTC] of a start and an end on the local clock, on a day of the track.

    ``span`` [s] is that of the track, ``called`` has the keys ``from``, ``to``, ``date`` and ``utc_offset``. An end
    before its start is on the next day; a missing one is that of the track. Raises CampaignError where the day is not
    clear, or the times are none of the track's.
    """
    if start is None and end is None and day is None:
        return None
    first, last = (datetime.fromtimestamp(moment + 3600.0 * offset_hours, UTC) for moment in span)
    days = [first.date() + timedelta(days=k) for k in range((last.date() - first.date()).days + 1)][:400]
    if day is not None:
        days = [date_said(day, called["date"])]
    begin = 0.0 if start is None else clock(start, called["from"])
    finish = 86_400.0 if end is None else clock(end, called["to"])
    if begin == finish:
        raise cannot(called["to"], say.CLOCK_NO_SPAN(called=called["from"]))
    if finish < begin:
        finish += 86_400.0
    asked = [(_midnight(one, offset_hours) + begin, _midnight(one, offset_hours) + finish) for one in days]
    inside = [(low, high) for low, high in asked if low < span[1] and high > span[0]]
    both = f"{called['from']} and {called['to']}"
    said = f"The track runs from {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M} on that clock."
    if not inside:
        raise cannot(both, say.TRACK_NOTHING_BETWEEN(said=said, called=called["utc_offset"]))
    if len(inside) > 1:
        raise cannot(both, say.TRACK_SEVERAL_DAYS(said=said, called=called["date"]))
    return inside[0]


def _midnight(day: date, offset_hours: float) -> float:
    return datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp() - 3600.0 * offset_hours
