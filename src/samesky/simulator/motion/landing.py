"""How long is the landing roll, with the propeller idling as an air brake?"""

from __future__ import annotations

import numpy as np

from samesky.air.constants import G0
from samesky.simulator.aeroplane.airframe import GRASS
from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.ambient import Ambient, true_airspeed
from samesky.simulator.motion.equations import POINTS, distance_and_time
from samesky.simulator.values import Value


def landing_roll(
    aeroplane: SimAeroplane,
    air: Ambient,
    mass: Value,
    touch_down: Value,
    headwind: Value = 0.0,
    slope: Value = 0.0,
    friction: Value = GRASS,
    points: int = POINTS,
) -> tuple[Value, Value]:
    """Ground roll [m] and its time [s] from touch-down to rest, throttle shut, brakes on.

    Parameters
    ----------
    mass : [kg]; touch_down : calibrated airspeed [m/s]; headwind [m/s]
    slope : fraction, uphill positive in the direction of landing; friction : rolling-friction coefficient, to which the
        airframe's own braking coefficient is added
    """
    frame, drive, density = aeroplane.airframe, aeroplane.drive(air, "idle"), air.density
    start = np.maximum(true_airspeed(touch_down, density) - headwind, 0.0)
    grip = friction + frame.braking
    area = 0.5 * density * frame.wing_area / mass
    drag = frame.zero_lift_drag_landing + frame.induced * frame.ground_effect * frame.ground_lift_landing**2
    retarding = area * (drag - grip * frame.ground_lift_landing)
    cosine = 1 / np.sqrt(1 + np.square(slope))
    steady = G0 * cosine * (grip + slope)

    def acceleration(ground_speed: Value) -> Value:
        airspeed = ground_speed + headwind
        thrust, _ = drive.at(airspeed)
        return thrust / mass - retarding * np.square(airspeed) - steady

    return distance_and_time(acceleration, start, 0.0, points)
