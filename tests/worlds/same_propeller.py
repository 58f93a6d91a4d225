"""Is one propeller at another setting called another propeller? In worlds that are not ours.

Three configurations: the first propeller at one setting, the second, set finer and coarser than it. The second is the
same propeller (how often is one called better?) or gives another thrust at its settings by a little more diameter and
less pitch (how often does the 95 % interval hold the true difference at the same abscissa?).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from scipy.optimize import brentq

from samesky.inference.comparison import compare
from samesky.inference.propellers.told import Answer, propellers
from samesky.reduction.reduction import reduce_table
from tests.worlds.air import FOOT
from tests.worlds.campaigns import Cell, campaign_of, flown, one_of, truth_at
from tests.worlds.corrections import World
from tests.worlds.flown import Conditions
from tests.worlds.propellers import Propeller

#: Blade angles [deg] of the first propeller and of the two settings of the second.
SET, FINER, COARSER = 0.0, -1.5, 2.0
MEASURES = ("takeoff_roll", "timed_climb", "static_pull", "level_speed")


def cell(world: World, unlike: float, letters: str = "ABCCBAABCCBA", pitch: float = np.radians(0.17)) -> Cell:
    own = world.plane.machine.propeller
    second = own.better_by(unlike) if unlike else own
    set_to = {
        "A": replace(own, turned=np.radians(SET)),
        "B": replace(second, turned=np.radians(FINER)),
        "C": replace(second, turned=np.radians(COARSER)),
    }
    return Cell("propellers", "", MEASURES, letters, True, propellers=set_to, pitch=pitch, step=0.12)


def named(world: World, one: Cell, tables):
    """The campaign of these tables, with its propellers named."""
    campaign = campaign_of(world, one, tables, margin="1 %")
    of = {"A": ("wood", 16.0), "B": ("composite", 14.5), "C": ("composite", 18.0)}
    own = {key: replace(each, of=of[key][0], setting=of[key][1]) for key, each in campaign.configurations.items()}
    return replace(campaign, configurations=own)


def told(world: World, one: Cell, campaigns: int, rng: np.random.Generator) -> Iterator[tuple[Answer, ...]]:
    """The answers of many campaigns."""
    tables = flown(world, one, campaigns, rng)
    typical = named(world, one, tables)
    for number in range(campaigns):
        own = one_of(typical, tables, number)
        found = propellers(own, compare(own))
        assert found is not None
        yield found.answers


def true_difference(world: World, one: Cell, measure: str, against: str, campaign) -> float:
    """True difference [%] of the second propeller less the first, turned to the abscissa of the first."""
    first, second = one.propellers["A"], one.propellers["B"]
    at = "static_pull" if against == "static_rpm" else "level_speed"

    def level(propeller: Propeller, of: str) -> float:
        plane = world.plane.with_propeller(propeller)
        reduction = reduce_table(campaign, campaign.tables[of])
        spare = Conditions(800.0 * FOOT, 288.0, world.plane.mass, lift_off=world.plane.lift_off)
        return float(truth_at(replace(world, plane=plane), of, reduction, spare))

    def abscissa(propeller: Propeller) -> float:
        if against == "level_speed":
            return level(propeller, at)
        plane = world.plane.with_propeller(propeller)
        air = Conditions(800.0 * FOOT, 288.0, world.plane.mass).air
        speed = level(propeller, "level_speed") if at == "level_speed" else 2.0
        return float(plane.machine.speed(speed, air))

    wanted = abscissa(first)

    def off(angle: float) -> float:
        return abscissa(replace(second, turned=angle)) - wanted

    angle = brentq(off, np.radians(-4.0), np.radians(4.5), xtol=1e-4)
    return 100.0 * (level(replace(second, turned=angle), measure) / level(first, measure) - 1.0)
