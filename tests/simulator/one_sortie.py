"""One simulated flight, for those who want to look at it."""

from __future__ import annotations

from functools import cache

import numpy as np

from samesky.simulator.ambient import Ambient
from samesky.simulator.examples.trainer import TRAINER
from samesky.simulator.motion.sortie import Sortie, sortie

KNOT = 1852 / 3600
AIR, MASS = Ambient(291.15, 99_500.0), 620.0
WIND, WIND_FROM, HEADING = 5.0, np.radians(260.0), np.radians(230.0)
TRACKS = np.radians([280.0, 40.0, 160.0])


@cache
def flown(level_at: float = 1000.0) -> Sortie:
    """A take-off in a wind from ahead and the right, a climb, and three legs."""
    return sortie(
        TRAINER, AIR, MASS, lift_off=45 * KNOT, climb_speed=70 * KNOT, elevation=120.0, heading=HEADING,
        level_at=level_at, tracks=TRACKS, wind=WIND, wind_from=WIND_FROM,
    )  # fmt: skip
