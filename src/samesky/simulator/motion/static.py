"""How hard does the tied-down aeroplane pull?"""

from __future__ import annotations

from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.ambient import Ambient
from samesky.simulator.values import Value


def static_pull(aeroplane: SimAeroplane, air: Ambient, headwind: Value = 0.0) -> tuple[Value, Value]:
    """Static pull [N] at full throttle and engine speed [rev/s], with a ``headwind`` [m/s] into the propeller."""
    thrust, speed = aeroplane.drive(air).at(headwind)
    return thrust, speed * aeroplane.engine.gear_ratio
