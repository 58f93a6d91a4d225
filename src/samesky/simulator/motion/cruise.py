"""How much fuel does level flight at a chosen airspeed burn?

The propeller speed is the one at which thrust equals drag (the thrust curve's own cubic, by Newton steps), the shaft
power follows from C_P, the fuel from a constant specific consumption: part-throttle economy and mixture are not
modelled.
"""

from __future__ import annotations

import numpy as np

from samesky.air.constants import G0
from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.aeroplane.powerplant import Drive
from samesky.simulator.aeroplane.propeller import THRUST_SHAPE
from samesky.simulator.ambient import Ambient, true_airspeed
from samesky.simulator.values import Value


def cruise_fuel(
    aeroplane: SimAeroplane,
    air: Ambient,
    mass: Value,
    calibrated: Value,
    fuel_density: float = 720.0,
    rising_air: Value = 0.0,
) -> tuple[Value, Value]:
    """Fuel flow [m^3/s] and engine speed [rev/s] in level flight at ``calibrated`` airspeed [m/s], fixed pitch.

    ``rising_air`` [m/s] carries part of the weight while the height is held. NaN where full throttle does not suffice.
    """
    density, weight = air.density, mass * G0
    airspeed = true_airspeed(calibrated, density)
    needed = aeroplane.airframe.drag(density, airspeed, weight) - weight * rising_air / airspeed
    speed = _speed_for_thrust(aeroplane, density, airspeed, needed)
    drive: Drive = aeroplane.drive(air)
    power = drive.shaft_power(airspeed, speed) / aeroplane.engine.gear_efficiency
    _, most = drive.at(airspeed)
    flow = power * aeroplane.engine.specific_consumption / fuel_density
    return np.where(speed <= most, flow, np.nan), speed * aeroplane.engine.gear_ratio


def _speed_for_thrust(aeroplane: SimAeroplane, density: Value, airspeed: Value, thrust: Value) -> Value:
    """Propeller speed [rev/s] that gives ``thrust`` [N] at ``airspeed`` [m/s]."""
    propeller = aeroplane.propeller
    u = airspeed / (propeller.diameter * propeller.zero_thrust_advance_ratio)
    _, t1, t2, t3 = THRUST_SHAPE
    wanted = thrust / (propeller.static_thrust_coefficient * density * propeller.diameter**4)
    # n^2 f(u/n) = wanted, multiplied by n: a convex cubic for n above u, where the thrust is positive.
    a2, a1, a0 = t1 * u, t2 * u * u - wanted, t3 * u * u * u
    n = 2 * np.maximum(u, np.sqrt(np.abs(wanted)))
    for _ in range(60):
        step = (((n + a2) * n + a1) * n + a0) / ((3 * n + 2 * a2) * n + a1)
        n = n - step
        if np.all(np.abs(step) <= 1e-11 * n):
            return n
    raise ArithmeticError("no propeller speed gives the thrust of level flight: the airspeed is out of range")
