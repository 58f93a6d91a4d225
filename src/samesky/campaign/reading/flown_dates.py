"""Is a date likely to be the day on which it was flown?

A year with two figures turned round (2052 for 2025) still reads as a date. No clock is asked what the year is: what a
campaign says must not change with the day on which it is computed. So dates are held against each other, and against
bounds that are fixed.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from itertools import pairwise

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.findings import Finding
from samesky.campaign.reading.table import TableDraft

#: Days between one day of flying and the next from which on a slip of the year is likelier than patience (chosen).
LONG_PAUSE = timedelta(days=2 * 365)
#: Years that are taken without a doubt (chosen: before, hardly anyone kept runs as files; and the years of this decade
#: with their last two figures turned round, 2052 to 2092, lie beyond).
LIKELY_YEARS = (1980, 2050)
MEND = "Correct the year, or pass over this if it is right."


def doubtful_dates(drafts: Sequence[TableDraft]) -> list[Finding]:
    """A warning at every long pause between days of flying, over all files; else one for a year that is not likely."""
    flown = sorted(
        (day, draft.file, int(row)) for draft in drafts for day, row in zip(draft.dates, draft.rows, strict=True)
    )
    found = []
    for (before, *_), (now, file, row) in pairwise(flown):
        if now - before >= LONG_PAUSE:
            found.append(
                Finding(
                    "warning",
                    file,
                    say.DATE_LONG_PAUSE(now=now, days=(now - before).days / 365.25, before=before),
                    row,
                    "date",
                )
            )
    first, last = LIKELY_YEARS
    odd = [one for one in flown if not first <= one[0].year <= last]
    if odd and not found:
        day, file, row = odd[0]
        found.append(Finding("warning", file, say.DATE_YEAR_UNLIKELY(day=day, first=first, last=last), row, "date"))
    return found
