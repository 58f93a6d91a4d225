"""Does the roll told by all measures hold, in worlds that are not ours? ``python -m tests.worlds.excess_thrust``

Pulls, rolls, climbs and, in one order, accelerations of the same campaign, flown on the same fittings in the same
drift, through reading, reduction, comparison and the line of excess thrust, many campaigns at once (as the rehearsal
flies them; a test holds some of them against ``compare`` itself, one by one). Propellers are alike (how often is one
called better on its take-off roll?) or differ in diameter, pitch and chord (how often does the 95 % interval hold the
true change of the roll?), which tests the straightness of the line as well. Writes ``excess_thrust.csv`` beside this
file.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import numpy as np

from samesky.campaign.model.campaign import Campaign
from samesky.inference import verdict
from samesky.inference.together.seen import Seen
from samesky.inference.together.told import ends, estimate_by_all, judge_by_all
from samesky.rehearsal.flight import hear, on_one_ground, ready_of
from samesky.rehearsal.script import Script
from tests.worlds.campaigns import Cell, campaign_of, flown, truth
from tests.worlds.corrections import WORLDS, World

PULL, ROLL, CLIMB = "static_pull", "takeoff_roll", "timed_climb"
ON_THE_GROUND, LEVEL = "ground_acceleration", "level_acceleration"
MEASURES = (PULL, ROLL, CLIMB)
SEED, CAMPAIGNS = 20_261_201, 1200
#: The orders that are flown: a swap of free parts in pairs, a morning with a return, the same with accelerations, one
#: swap, three days that each return, three days that do not.
ORDERS = {
    "pairs": ("ABBABA", False, MEASURES),
    "return": ("AAABBBAAA", True, MEASURES),
    "return, accelerations": ("AAABBBAAA", True, (*MEASURES, ON_THE_GROUND, LEVEL)),
    "swap": ("AAABBB", True, MEASURES),
    "three days with returns": ("ABA|BAB|ABA", True, MEASURES),
    "three days": ("AABB|BBAA|AABB", True, MEASURES),
}
#: Orders of which a day, or every day, shows no drift: their intervals hold under the worst drift believed.
HIDING = ("swap", "three days")
#: Shares of another propeller: alike; a little more diameter and less pitch, and the other way round.
UNLIKE = (0.0, 0.02, -0.02)
#: Ground speeds by a line through the fixes of a receiver, as its reader states them.
RECEIVER = "".join(
    f'\n[instrument.{which}_fixes]\ntarget = "{which} ground speed"\nstandard_uncertainty = "0.1 m/s"\nscope = "run"\n'
    for which in ("first", "second")
)


def cell(order: str, unlike: float) -> Cell:
    letters, refit, measures = ORDERS[order]
    return Cell(f"{order}, {unlike:+.0%}", "pulls, rolls and climbs together", measures, letters, refit, better=unlike)


@dataclass(frozen=True, eq=False)
class Together:
    """Many campaigns of one world: the typical one, their columns (campaigns, runs), what each measure sees, the truth
    by measure on the scale of comparison."""

    typical: Campaign
    tables: Mapping[str, Mapping[str, np.ndarray]]
    views: list[Seen]
    truth: dict[str, float]

    @property
    def roll(self) -> Seen:
        return next(one for one in self.views if one.measure == ROLL)


def together(world: World, one: Cell, campaigns: int, rng: np.random.Generator) -> Together:
    """Campaigns of one world and cell, and what all their measures see."""
    tables = flown(world, one, campaigns, rng)
    typical = campaign_of(world, one, tables, "2 %", RECEIVER if ON_THE_GROUND in one.measures else "")
    prepared = on_one_ground({name: ready_of(typical, table, "B") for name, table in typical.tables.items()})
    views = []
    for name, ready in prepared.items():
        scene = SimpleNamespace(script=Script(typical, "B", {name: ready.table}))
        views.append(hear(scene, name, ready, {key: tables[name][key] for key in ready.table.columns})[1])
    views = sorted((each for each in views if each is not None), key=lambda each: each.sight.airspeed)
    return Together(typical, tables, views, {name: truth(world, one, name, typical) for name in one.measures})


def row(order: str, unlike: float, campaigns: int, seed: int, worlds: dict[str, World]) -> dict:
    """What became of one order and one pair of propellers over all worlds."""
    each, found = -(-campaigns // len(worlds)), []
    for world, chances in zip(worlds.values(), np.random.SeedSequence(seed).spawn(len(worlds)), strict=True):
        flown_there = together(world, cell(order, unlike), each, np.random.default_rng(chances))
        roll, true = flown_there.roll, flown_there.truth[ROLL]
        estimate = estimate_by_all(flown_there.views, roll)
        low, high = ends(roll, estimate.interval(0.95))
        own = np.subtract(*roll.own.estimate.interval(0.95)[::-1])
        code = judge_by_all(roll, estimate)
        better = np.isin(code, (verdict.OTHER_BETTER, verdict.BASELINE_BETTER))
        right = verdict.OTHER_BETTER if true < 0 else verdict.BASELINE_BETTER
        half = 50.0 * (np.expm1(high) - np.expm1(low))
        found.append(
            ((low <= true) & (true <= high), better, better & ((true == 0.0) | (code != right)), half, 50 * own)
        )
    holds, called, wrong, half, own = (np.concatenate(column) for column in zip(*found, strict=True))
    return {
        "order": order, "unlike": unlike, "campaigns": holds.size, "holds": holds.mean(),
        "called_better": called.mean(), "wrong": wrong.mean(),
        "half_width": np.median(half), "own_half_width": np.median(own),
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
