"""How long shall the benchmarks take? With ``SAMESKY_SHORT=1`` each runs once on little: to see that it still runs.

The ratios that a short run prints mean little; that it prints them at all is what is wanted.
"""

from __future__ import annotations

import os

SHORT = os.environ.get("SAMESKY_SHORT", "") not in ("", "0")


def size(full: int, short: int) -> int:
    """A number of rounds, points or campaigns: the full one, or the short form's."""
    return short if SHORT else full


def sizes(*full: int, below: int) -> tuple[int, ...]:
    """The full numbers; of these in the short form those of at most ``below``."""
    return tuple(one for one in full if not SHORT or one <= below)
