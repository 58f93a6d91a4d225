"""How are several runs of one file named in one sentence?"""

from __future__ import annotations

from collections.abc import Iterable

from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import RunTable

#: Runs that are named one by one; the rest is counted.
NAMED = 6


def named_runs(table: RunTable, indices: Iterable[int], counted_only: bool = True) -> tuple[str, int] | None:
    """``runs 3, 4 and 7`` and the row of the first; None where there is none.

    ``counted_only`` passes over runs that are left out.
    """
    chosen = [index for index in indices if table.included[index] or not counted_only]
    if not chosen:
        return None
    names = [table.text["run"][index] for index in chosen[:NAMED]]
    if len(chosen) > NAMED:
        names.append(f"{len(chosen) - NAMED} more")
    return f"run{'s' if len(chosen) > 1 else ''} {listed(names)}", int(table.rows[chosen[0]])
