"""How are several runs of one file named in one sentence?"""

from __future__ import annotations

from collections.abc import Iterable

from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import RunTable

#: Runs that are named one by one; the rest is counted.
NAMED = 6


class NamedRuns(str):
    """Runs of one file in words, with all their ``names``."""

    names: tuple[str, ...]

    def __new__(cls, words: str, names: Iterable[str]) -> NamedRuns:
        """The words, with these names."""
        made = super().__new__(cls, words)
        made.names = tuple(names)
        return made


def named_runs(table: RunTable, indices: Iterable[int], counted_only: bool = True) -> tuple[NamedRuns, int] | None:
    """``runs 3, 4 and 7`` and the row of the first; None where there is none.

    ``counted_only`` passes over runs that are left out.
    """
    chosen = [index for index in indices if table.included[index] or not counted_only]
    if not chosen:
        return None
    names = [table.text["run"][index] for index in chosen]
    shown = names[:NAMED] + [f"{len(chosen) - NAMED} more"] * (len(chosen) > NAMED)
    words = f"run{'s' if len(chosen) > 1 else ''} {listed(shown)}"
    return NamedRuns(words, names), int(table.rows[chosen[0]])
