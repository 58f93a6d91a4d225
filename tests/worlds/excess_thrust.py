"""Does the roll told by all measures hold, in worlds that are not ours? ``python -m tests.worlds.excess_thrust``

Pulls, rolls and climbs of the same campaign, flown on the same fittings in the same drift, through reading, reduction,
comparison and the line of excess thrust, one campaign at a time. Propellers are alike (how often is one called better
on its take-off roll?) or differ in diameter, pitch and chord (how often does the 95 % interval hold the true change of
the roll?), which tests the straightness of the line as well. Writes ``excess_thrust.csv`` beside this file.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from samesky.inference.comparison import compare
from samesky.inference.result import Comparison
from tests.worlds.campaigns import Cell, campaign_of, flown, one_of, truth
from tests.worlds.corrections import WORLDS, World

PULL, ROLL, CLIMB = "static_pull", "takeoff_roll", "timed_climb"
MEASURES = (PULL, ROLL, CLIMB)
SEED, CAMPAIGNS = 20_261_201, 800
#: The orders that are flown: a swap of free parts in pairs, a morning with a return, one swap, three days.
ORDERS = {
    "pairs": ("ABBABA", False),
    "return": ("AAABBBAAA", True),
    "swap": ("AAABBB", True),
    "three days": ("AABB|BBAA|AABB", True),
}
#: Shares of another propeller: alike; a little more diameter and less pitch, and the other way round.
UNLIKE = (0.0, 0.02, -0.02)


def cell(order: str, unlike: float) -> Cell:
    letters, refit = ORDERS[order]
    return Cell(f"{order}, {unlike:+.0%}", "pulls, rolls and climbs together", MEASURES, letters, refit, better=unlike)


def told(world: World, one: Cell, campaigns: int, rng: np.random.Generator) -> Iterator[tuple[float, Comparison]]:
    """True difference of the roll [%], and its comparison, of every campaign."""
    tables = flown(world, one, campaigns, rng)
    typical = campaign_of(world, one, tables, margin="2 %")
    true = 100.0 * np.expm1(truth(world, one, ROLL, typical))
    for number in range(campaigns):
        comparisons = compare(one_of(typical, tables, number))
        yield true, next(each for each in comparisons if each.measure == ROLL)


def row(order: str, unlike: float, campaigns: int, seed: int, worlds: dict[str, World]) -> dict:
    """What became of one order and one pair of propellers over all worlds."""
    each, found = -(-campaigns // len(worlds)), []
    for world, chances in zip(worlds.values(), np.random.SeedSequence(seed).spawn(len(worlds)), strict=True):
        for true, roll in told(world, cell(order, unlike), each, np.random.default_rng(chances)):
            low, high = roll.by_all.percent_95
            better = roll.by_all.verdict.endswith(" better")
            right = "B better" if true < 0 else "A better"
            own = roll.percent_95
            found.append(
                (low <= true <= high, better, better and (true == 0.0 or roll.by_all.verdict != right),
                 0.5 * (high - low), 0.5 * (own[1] - own[0]))
            )  # fmt: skip
    values = np.array(found, dtype=float)
    return {
        "order": order, "unlike": unlike, "campaigns": len(found), "holds": values[:, 0].mean(),
        "called_better": values[:, 1].mean(), "wrong": values[:, 2].mean(),
        "half_width": np.median(values[:, 3]), "own_half_width": np.median(values[:, 4]),
    }  # fmt: skip


def fixed_pitch() -> dict[str, World]:
    """The worlds whose propellers are not turned in flight."""
    return {name: world for name, world in WORLDS.items() if world.plane.machine.governed is None}


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--campaigns", type=int, default=CAMPAIGNS)
    parser.add_argument("--out", type=Path, default=Path(__file__).with_suffix(".csv"))
    given = parser.parse_args()
    rows = []
    for place, order in enumerate(ORDERS):
        for unlike in UNLIKE:
            rows.append(row(order, unlike, given.campaigns, SEED + place, fixed_pitch()))
            print(
                {key: value if isinstance(value, str) else round(float(value), 4) for key, value in rows[-1].items()},
                flush=True,
            )
    with open(given.out, "w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, rows[0].keys(), lineterminator="\n")
        writer.writeheader()
        writer.writerows(
            {key: f"{value:.4f}" if isinstance(value, float) else value for key, value in one.items()} for one in rows
        )
