"""What is said when arithmetic fails in a way that nobody foresaw: a fault of ours, not of the numbers?

The pages go on, for typing must not suffer from it. Where it happened goes to the window in which samesky runs, once,
to be reported.
"""

from __future__ import annotations

import logging
import traceback

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.worksheets import catalogue as say

_log = logging.getLogger("samesky.worksheets")
#: Kinds and places of the faults that were shown.
_shown: set[tuple[str, str, int]] = set()


def words(error: Exception) -> str:
    """One sentence for the page; the traceback goes to the window, the first time that it happens there."""
    last = traceback.extract_tb(error.__traceback__)[-1:]
    key = (type(error).__name__, last[0].filename if last else "", last[0].lineno or 0 if last else 0)
    if key not in _shown:
        _shown.add(key)
        _log.error("A fault in samesky. Please report it with the lines below:", exc_info=error)
    return (
        f"this cannot be worked out, for a fault in samesky itself ({type(error).__name__}), not in your numbers. What "
        "you type is kept all the same. The window in which samesky runs says where it was: please report that."
    )


def as_campaign_error(error: Exception, what: str) -> CampaignError:
    """The same as an error that every page knows how to show."""
    return cannot(what, say.PAGE_FAULT(words=words(error)))
