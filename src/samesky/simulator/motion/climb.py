"""How long does a climb, or an idle descent, through a band of pressure altitude take?

Quasi-steady climb at constant calibrated airspeed: the excess power of each height, (T - D) V/W with the lift that an
inclined path needs, less the part that goes into the slowly rising true airspeed and into a wind that changes with
height (factor 1 + (V/g)(dV/dh - dV_w/dh)). The band is one of pressure altitude; its true thickness stretches with
the temperature. The time is the integral of dh over the rate of climb plus the vertical speed of the air; a speed at
the exit that differs from that at the entry costs or gives energy height (V_2^2 - V_1^2)/2g. A descent is the same
with the throttle shut and the band taken downwards.
"""

from __future__ import annotations

import numpy as np

from samesky.air.atmosphere import temperature as standard_temperature
from samesky.air.constants import G0, LAPSE_RATE, R_AIR, T0
from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.ambient import Ambient, true_airspeed
from samesky.simulator.values import Value

#: Quadrature points over the band: the rate falls almost linearly with height.
POINTS = 3
#: Relative fall of density with height over half of it: dV/dh of a constant-EAS climb is V times this [1/m].
_TRUE_SPEED_RISE = 0.5 * (G0 / R_AIR - LAPSE_RATE) / T0


def rate_of_climb(
    aeroplane: SimAeroplane,
    air: Ambient,
    mass: Value,
    calibrated: Value,
    wind_gradient: Value = 0.0,
    throttle: str = "full",
    guess: Value | None = None,
) -> tuple[Value, Value]:
    """Steady rate of climb [m/s] relative to the air (negative at idle), and propeller speed [rev/s].

    ``calibrated`` airspeed [m/s]; ``wind_gradient`` is the rise of the headwind with height [1/s]; ``throttle`` is
    ``"full"`` or ``"idle"``; ``guess`` a propeller speed [rev/s] to start from.
    """
    density = air.density
    airspeed = true_airspeed(calibrated, density)
    thrust, speed = aeroplane.drive(air, throttle).at(airspeed, guess)
    weight = mass * G0
    kinetic = 1 + airspeed / G0 * (airspeed * _TRUE_SPEED_RISE - wind_gradient)
    # Along the path T - D = W s K, and the lift is W sqrt(1 - s^2), so that the induced drag falls by the share s^2:
    # a quadratic in the sine s of the climb angle, taken in the form that does not cancel.
    excess = (thrust - aeroplane.airframe.drag(density, airspeed, weight)) / weight
    induced = aeroplane.airframe.induced_drag(density, airspeed, weight) / weight
    sine = 2 * excess / (kinetic + np.sqrt(np.square(kinetic) - 4 * induced * excess))
    return sine * airspeed, speed


def time_through_band(
    aeroplane: SimAeroplane,
    air: Ambient,
    base: Value,
    start: Value,
    end: Value,
    mass: Value,
    calibrated: Value,
    entry: Value | None = None,
    exit: Value | None = None,
    rising_air: Value = 0.0,
    wind_gradient: Value = 0.0,
    throttle: str = "full",
    points: int = POINTS,
) -> tuple[Value, Value]:
    """Time [s] from ``start`` to ``end`` [m, pressure altitude], and mean engine speed [rev/s].

    Parameters
    ----------
    air : the air at pressure altitude ``base`` [m]
    calibrated : mean calibrated airspeed [m/s]; entry, exit : at start and end, where they differ from the mean
    rising_air : vertical speed of the air [m/s]; wind_gradient : rise of the headwind with height [1/s]

    Returns
    -------
    Time and engine speed; NaN where the aeroplane does not go from start to end.
    """
    nodes, weights = np.polynomial.legendre.leggauss(points)
    half, middle = 0.5 * (np.asarray(end, dtype=float) - start), 0.5 * (np.asarray(end, dtype=float) + start)
    time = engine_speed = np.zeros(())
    guess, sound = None, np.ones((), dtype=bool)
    for node, weight in zip(nodes, weights, strict=True):
        altitude = middle + half * node
        here = air.at_pressure_altitude(base, altitude)
        climb, guess = rate_of_climb(aeroplane, here, mass, calibrated, wind_gradient, throttle, guess)
        vertical = climb + rising_air
        share = weight * half * (here.temperature / standard_temperature(altitude)) / vertical
        sound = sound & (share > 0)
        time = time + share
        engine_speed = engine_speed + 0.5 * weight * guess
    if entry is not None or exit is not None:
        time = time + _energy_height(air, base, start, end, calibrated, entry, exit) / vertical
    return np.where(sound, time, np.nan), engine_speed * aeroplane.engine.gear_ratio


def _energy_height(air, base, start, end, calibrated, entry, exit) -> Value:
    """Energy height [m] that the change of speed asks for beyond that of a steady climb at the mean speed."""
    first_density = air.at_pressure_altitude(base, start).density
    last_density = air.at_pressure_altitude(base, end).density
    first, last = (calibrated if entry is None else entry), (calibrated if exit is None else exit)
    steady = true_airspeed(calibrated, last_density) ** 2 - true_airspeed(calibrated, first_density) ** 2
    flown = true_airspeed(last, last_density) ** 2 - true_airspeed(first, first_density) ** 2
    return (flown - steady) / (2 * G0)
