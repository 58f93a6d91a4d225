"""When was each run flown, and do the rows stand in the order flown?"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import TypeVar

import numpy as np

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.words import quoted
from samesky.campaign.tables import cells
from samesky.campaign.tables.cells import CellError
from samesky.campaign.tables.sheet_rows import SheetRows

Value = TypeVar("Value")


def flown_times(rows: SheetRows, text: Mapping[str, list[str]], one_day: date | None) -> tuple[list[date], np.ndarray]:
    """Dates, and hours since midnight (n,). ``one_day`` is the date of rows that give none."""
    dates: list[date | None] = [one_day] * len(rows)
    clock = np.full(len(rows), np.nan)
    for index, (row, _) in enumerate(rows.rows):
        if "date" in text and (text["date"][index] or one_day is None):
            dates[index] = _read(rows, cells.day, text["date"][index], row, "date", "a date")
        if "clock" in text:
            hours = _read(rows, cells.clock_hours, text["clock"][index], row, "clock", "a clock time")
            clock[index] = np.nan if hours is None else hours
    for index in range(1, len(rows)):
        before, now, row = dates[index - 1], dates[index], rows.rows[index][0]
        if before is None or now is None:
            continue
        if now < before:
            rows.error(row, "date", say.DATE_GOES_BACK(now=now, before=before))
        elif now == before and clock[index] < clock[index - 1] - 1e-9:
            earlier, later = text["clock"][index - 1], text["clock"][index]
            rows.error(row, "clock", say.CLOCK_GOES_BACK(later=later, earlier=earlier))
    return [one or date.min for one in dates], clock


def _read(
    rows: SheetRows, read: Callable[[str], Value], cell: str, row: int, column: str, expected: str
) -> Value | None:
    try:
        return read(cell)
    except CellError as error:
        said = say.CELL_BLANK_TIME(expected=expected, mend=error.mend)
        if cell:
            facts = {"wrong": error.wrong, "mend": error.mend, "why": error.code}
            said = say.CELL_UNREADABLE_TIME(found=quoted(cell), expected=expected, **facts)
        rows.error(row, column, said)
        return None
