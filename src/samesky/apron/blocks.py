"""In which blocks were the runs flown, over all files, and where in the order does the next run stand?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.reading.assemble import in_flown_order


@dataclass(frozen=True, slots=True)
class FlownBlock:
    """Runs of one installation flown one after the other on one day; ``runs`` are (table, index) in flown order."""

    configuration: str
    installation: int
    day: int
    runs: tuple[tuple[RunTable, int], ...]

    def hours(self) -> np.ndarray:
        """Start of each run [h from the first midnight] (n,), NaN without a clock."""
        return np.array([table.hours[index] for table, index in self.runs])


def flown_blocks(campaign: Campaign) -> list[FlownBlock]:
    """The blocks in flown order, over all measures; left-out runs were flown too."""
    found: list[FlownBlock] = []
    key, runs = None, []
    for table, index in in_flown_order(campaign.tables):
        mine = (str(table.configuration[index]), int(table.installation[index]), int(table.day[index]))
        if mine != key and runs:
            found.append(FlownBlock(*key, tuple(runs)))
            runs = []
        key = mine
        runs.append((table, index))
    return [*found, FlownBlock(*key, tuple(runs))] if runs else found


def counterpart(campaign: Campaign, configuration: str) -> tuple[RunTable, int] | None:
    """The run of the last other block that stands where the next run will stand in its own; None without one.

    The next run is the first of a new block, unless the last block has this configuration.
    """
    blocks = flown_blocks(campaign)
    others = [block for block in blocks if block.configuration != configuration]
    if not others:
        return None
    place = len(blocks[-1].runs) if blocks[-1].configuration == configuration else 0
    return others[-1].runs[min(place, len(others[-1].runs) - 1)]
