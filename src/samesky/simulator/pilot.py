"""How steady is the simulated pilot?

Targets and scatter of what hands and feet decide. The default sizes are assumed (ordinary private pilots, practised
on the aeroplane); nothing printed was found for light aeroplanes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.simulator.sky import KNOT
from samesky.simulator.values import Value


@dataclass(frozen=True, slots=True)
class Pilot:
    """Airspeeds [m/s, calibrated]: targets, and standard deviations from run to run.

    ``lift_off`` and ``touch_down`` None means the airframe's own ratio over its stalling speed at the weight of the
    run; an array is one target for each run of the measure. ``climb_scatter`` is that of the mean over the band,
    ``climb_ends_scatter`` of the speed at its ends about that mean. ``braking_scatter`` is a fraction of the braking.
    """

    lift_off: Value | None = 38 * KNOT
    lift_off_scatter: float = 1.5 * KNOT
    climb: float = 60 * KNOT
    climb_scatter: float = 2.0 * KNOT
    climb_ends_scatter: float = 1.0 * KNOT
    descent: float = 60 * KNOT
    descent_scatter: float = 2.0 * KNOT
    touch_down: float | None = None
    touch_down_scatter: float = 1.5 * KNOT
    braking_scatter: float = 0.05
    cruise: float = 80 * KNOT
    cruise_scatter: float = 1.0 * KNOT

    def fly(self, rng: np.random.Generator, target: np.ndarray | float, scatter: float, shape: tuple) -> np.ndarray:
        """Airspeeds (campaigns, n) [m/s] about a target that may differ from run to run."""
        return target + scatter * rng.standard_normal(shape)
