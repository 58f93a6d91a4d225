"""How does the simulated airframe resist, lift and roll?

Parabolic drag polar with ground effect (G = (16 h/b)^2/(1 + (16 h/b)^2), J. D. Anderson, Introduction to Flight,
take-off example), constant lift coefficient on the ground, and rolling friction by surface (W. H. Mason, Virginia
Tech course note; B. W. McCormick, Aerodynamics, Aeronautics and Flight Mechanics, ch. 7; entries marked so from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.air.constants import G0
from samesky.simulator.values import Value

#: Rolling-friction coefficient by surface.
ROLLING_FRICTION = {
    "hard, dry": 0.02,
    "hard turf": 0.04,
    "short dry grass": 0.05,
    "wet grass": 0.08,  # from memory
    "long grass": 0.10,
}
#: On which the simulator flies unless told otherwise.
GRASS = ROLLING_FRICTION["short dry grass"]


@dataclass(frozen=True, slots=True)
class Airframe:
    """A light aeroplane without its engine; any value may be an array over campaigns and runs.

    Areas [m^2], lengths [m]; ``zero_lift_drag`` clean, ``..._takeoff`` and ``..._landing`` with that flap;
    ``most_lift_...`` is the maximum lift coefficient; ``lift_off_ratio`` and ``touch_down_ratio`` over the stalling
    speed.
    """

    wing_area: Value = 12.5
    span: Value = 9.5
    wing_height: Value = 1.9
    oswald: Value = 0.75
    zero_lift_drag: Value = 0.050
    zero_lift_drag_takeoff: Value = 0.068
    zero_lift_drag_landing: Value = 0.095
    ground_lift: Value = 0.55
    ground_lift_landing: Value = 0.25
    most_lift_takeoff: Value = 2.0
    most_lift_landing: Value = 2.2
    lift_off_ratio: float = 1.05
    touch_down_ratio: float = 1.05
    braking: Value = 0.25

    @property
    def induced(self) -> Value:
        """k of C_D = C_D0 + k C_L^2, out of ground effect: S/(pi e b^2)."""
        return self.wing_area / (np.pi * self.oswald * np.square(self.span))

    @property
    def ground_effect(self) -> Value:
        """Share of the induced drag that is left with the wheels on the ground."""
        return ground_effect(self.wing_height / self.span)

    def drag(self, density: Value, airspeed: Value, weight: Value) -> Value:
        """Clean drag [N] in level flight at true ``airspeed`` [m/s]; ``weight`` is the force [N]."""
        parasite = 0.5 * density * np.square(airspeed) * (self.wing_area * self.zero_lift_drag)
        return parasite + self.induced_drag(density, airspeed, weight)

    def induced_drag(self, density: Value, airspeed: Value, lift: Value) -> Value:
        """Induced drag [N] at true ``airspeed`` [m/s] and ``lift`` [N]."""
        return self.induced * np.square(lift) / (0.5 * density * np.square(airspeed) * self.wing_area)

    def stalling_speed(self, mass: Value, most_lift: Value, density: Value) -> Value:
        """Stalling speed [m/s]: equivalent airspeed with sea-level density, true airspeed with the air's."""
        return np.sqrt(2 * mass * G0 / (density * self.wing_area * most_lift))


def ground_effect(height_over_span: Value) -> Value:
    """Induced-drag factor in ground effect, G = (16 h/b)^2/(1 + (16 h/b)^2)."""
    square = np.square(16 * height_over_span)
    return square / (1 + square)
