"""How fast does it fly level, and how soon?

Top speed: thrust equals drag, less what rising air gives (or sinking air takes) while the height is held. Acceleration
to it is slow at the end: a reading taken early is a reading too low.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from samesky.air.constants import G0
from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.ambient import Ambient
from samesky.simulator.motion.equations import speed_after
from samesky.simulator.values import Value

#: Bounds of the search for the top speed [m/s].
SLOWEST, FASTEST = 25.0, 110.0


def top_speed(aeroplane: SimAeroplane, air: Ambient, mass: Value, rising_air: Value = 0.0) -> tuple[Value, Value]:
    """True top speed [m/s] in level flight at full throttle, and engine speed [rev/s].

    Secant steps on thrust minus drag from above the answer, each with the propeller speed of the last as its guess.
    ``rising_air`` [m/s] is the vertical speed of the air in which the height is held. NaN where there is no such speed.
    """
    excess, state = _excess_thrust(aeroplane, air, mass, rising_air)
    shape = np.broadcast_shapes(*(np.shape(value) for value in (air.density, mass, rising_air)))
    old, new = np.full(shape, 46.0), np.full(shape, 52.0)
    old_excess, new_excess = excess(old), excess(new)
    for _ in range(30):
        change = new_excess - old_excess
        flat = change == 0
        step = np.where(flat, 0.0, -new_excess * (new - old) / np.where(flat, 1.0, change))
        old, old_excess = new, new_excess
        new = np.clip(new + step, SLOWEST, FASTEST)
        if np.all(np.abs(step) <= 1e-9 * new):
            break
        new_excess = excess(new)
    # Where the engine comes to its limit the curve has a kink, over which secant steps may jump to and fro.
    astray = ~(np.abs(step) <= 1e-9 * new)
    if np.any(astray):
        new = np.where(astray, _halved(excess, shape), new)
    lost = (new <= SLOWEST + 1e-6) | (new >= FASTEST - 1e-6)
    return np.where(lost, np.nan, new), state["speed"] * aeroplane.engine.gear_ratio


def _halved(excess: Callable[[Value], Value], shape: tuple[int, ...]) -> np.ndarray:
    """The speed (shape) at which the excess falls to zero, by halving; an end where there is none."""
    low, high = np.full(shape, SLOWEST), np.full(shape, FASTEST)
    for _ in range(50):
        middle = 0.5 * (low + high)
        faster = excess(middle) > 0
        low, high = np.where(faster, middle, low), np.where(faster, high, middle)
    return 0.5 * (low + high)


def acceleration(
    aeroplane: SimAeroplane, air: Ambient, mass: Value, rising_air: Value = 0.0
) -> Callable[[Value], Value]:
    """Acceleration [m/s^2] in level flight at full throttle as a function of true airspeed [m/s]."""
    excess, _ = _excess_thrust(aeroplane, air, mass, rising_air)
    return lambda airspeed: excess(airspeed) / mass


def speed_when_read(aeroplane: SimAeroplane, air: Ambient, mass: Value, start: Value, wait: Value) -> Value:
    """True airspeed [m/s] after ``wait`` [s] at full throttle from ``start`` [m/s]."""
    return speed_after(acceleration(aeroplane, air, mass), start, wait)


def _excess_thrust(aeroplane: SimAeroplane, air: Ambient, mass: Value, rising_air: Value):
    """Thrust minus drag [N] as a function of true airspeed, and the propeller speed that it saw last."""
    drive, frame, density, weight = aeroplane.drive(air), aeroplane.airframe, air.density, mass * G0
    state: dict[str, Value | None] = {"speed": None}

    def excess(airspeed: Value) -> Value:
        thrust, state["speed"] = drive.at(airspeed, state["speed"])
        return thrust - frame.drag(density, airspeed, weight) + weight * rising_air / airspeed

    return excess, state
