"""When is which configuration flown? The flown order of every measure, as the simulator wants it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class RunPlan:
    """The runs of one measure, in any order; all arrays (n,).

    ``hours`` from the first midnight of the campaign; ``configuration`` keys such as ``"A"``; ``installation`` counters
    from 0, the same for every measure flown on one fitting; ``fuel`` [kg] at the start of the run. Raises ValueError
    where the lengths differ or there is no run.
    """

    hours: np.ndarray
    configuration: np.ndarray
    installation: np.ndarray
    fuel: np.ndarray

    def __post_init__(self) -> None:
        lengths = {len(self.hours), len(self.configuration), len(self.installation), len(self.fuel)}
        if len(lengths) != 1 or lengths == {0}:
            raise ValueError("a plan of runs needs a run, and as many configurations, installations and fuels as hours")

    @property
    def day(self) -> np.ndarray:
        """Counter of the day, from 0."""
        return np.unique(np.floor(self.hours / 24), return_inverse=True)[1]


#: The plan of each measure by name.
Schedule = Mapping[str, RunPlan]


def blocks(
    order: str,
    runs: Mapping[str, int],
    *,
    start: float = 9.0,
    minutes: Mapping[str, float],
    swap_minutes: float = 30.0,
    blocks_a_day: int = 4,
    fuel: float = 40.0,
    burn: float = 12.0,
    least_fuel: float = 15.0,
) -> dict[str, RunPlan]:
    """A schedule of blocks: in each block, ``runs`` of every measure one after another on one installation.

    Parameters
    ----------
    order : configurations of the blocks, such as ``"ABBA"``; neighbours of one configuration share an installation only
        within a day
    runs, minutes : number of runs a block and minutes a run, by measure, in flown order
    start : hour of the day of the first run; swap_minutes : between two blocks
    fuel, burn, least_fuel : [kg] at the start, [kg/h] while flying, and the level at which it is filled up again
    """
    rows: dict[str, list[tuple[float, str, int, float]]] = {name: [] for name in runs}
    installation, left = -1, fuel
    for number, configuration in enumerate(order):
        day, place = divmod(number, blocks_a_day)
        if place == 0:
            clock, left = start, fuel
        else:
            clock += swap_minutes / 60
        if place == 0 or order[number - 1] != configuration:
            installation += 1
        if left < least_fuel:
            left = fuel
        for name, count in runs.items():
            for _ in range(count):
                rows[name].append((24 * day + clock, configuration, installation, left))
                clock += minutes[name] / 60
                left -= burn * minutes[name] / 60
    return {
        name: RunPlan(*(np.array(column) for column in zip(*found, strict=True)))
        for name, found in rows.items()
        if found
    }
