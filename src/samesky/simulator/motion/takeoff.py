"""How long is the take-off roll, really?

dV/dt = (g/W) [T - D - mu (W cos(lambda) - L) - W sin(lambda)] (Gudmundsson, General Aviation Aircraft Design, 2013, eq.
17-4 and 17-5), thrust from engine and propeller at the airspeed of the moment, drag in ground effect, integrated over
ground speed. The wind may rise by a gust between brake release and lift-off, in proportion to ground speed.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from samesky.air.constants import G0
from samesky.simulator.aeroplane.airframe import GRASS
from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.ambient import Ambient, true_airspeed
from samesky.simulator.motion.equations import POINTS, distance_and_time
from samesky.simulator.values import Value


def roll(
    aeroplane: SimAeroplane,
    air: Ambient,
    mass: Value,
    lift_off: Value,
    headwind: Value = 0.0,
    gust: Value = 0.0,
    slope: Value = 0.0,
    friction: Value = GRASS,
    points: int = POINTS,
) -> tuple[Value, Value]:
    """Ground roll [m] and its time [s], from rest to lift-off.

    Parameters
    ----------
    mass : [kg]; lift_off : calibrated airspeed [m/s]
    headwind : mean at brake release [m/s]; gust : further headwind at lift-off [m/s]
    slope : fraction, uphill positive; friction : rolling-friction coefficient
    points : quadrature points; a governed propeller has a kink and wants about 40

    Returns
    -------
    Arrays of the broadcast shape; NaN where the aeroplane cannot reach the speed, zero where the wind alone lifts it.
    """
    lift_off_ground_speed = np.maximum(true_airspeed(lift_off, air.density) - headwind - gust, 0.0)
    acceleration = roll_acceleration(aeroplane, air, mass, headwind, gust, lift_off_ground_speed, slope, friction)
    return distance_and_time(acceleration, 0.0, lift_off_ground_speed, points)


def roll_acceleration(
    aeroplane: SimAeroplane,
    air: Ambient,
    mass: Value,
    headwind: Value,
    gust: Value,
    lift_off_ground_speed: Value,
    slope: Value,
    friction: Value,
) -> Callable[[Value], Value]:
    """Acceleration [m/s^2] as a function of ground speed [m/s]; arguments as in :func:`roll`."""
    frame = aeroplane.airframe
    drive = aeroplane.drive(air)
    area = 0.5 * air.density * frame.wing_area / mass
    drag = frame.zero_lift_drag_takeoff + frame.induced * frame.ground_effect * frame.ground_lift**2
    resisting = area * (drag - friction * frame.ground_lift)
    cosine = 1 / np.sqrt(1 + np.square(slope))
    steady = G0 * cosine * (friction + slope)
    rise = 1 + gust / np.maximum(lift_off_ground_speed, 1e-9)
    guess = None

    def acceleration(ground_speed: Value) -> Value:
        nonlocal guess
        airspeed = ground_speed * rise + headwind
        thrust, guess = drive.at(airspeed, guess)
        return thrust / mass - resisting * np.square(airspeed) - steady

    return acceleration
