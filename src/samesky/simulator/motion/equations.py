"""How far and how long until a speed is reached, when the acceleration depends on speed alone?

s = integral of v/a(v) dv and t = integral of dv/a(v), by Gauss-Legendre quadrature. The integrands are smooth, so eight
points reach 1e-9 where a time-stepping method needs hundreds of steps. The points are taken one after another in a
short loop, so that every array stays (campaigns, runs) and an acceleration may remember where its last point was.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from samesky.simulator.values import Value

#: Enough for 1e-8 on a smooth roll; see tests/simulator/test_motion.py.
POINTS = 8


def distance_and_time(
    acceleration: Callable[[Value], Value], start: Value, end: Value, points: int = POINTS
) -> tuple[Value, Value]:
    """Distance [m] and time [s] from speed ``start`` to speed ``end`` [m/s].

    Parameters
    ----------
    acceleration : acceleration [m/s^2] at a speed [m/s]; asked at rising (or falling) speeds from start to end
    start, end : speeds [m/s], scalars or arrays that broadcast

    Returns
    -------
    Distance and time; NaN where the acceleration does not carry the speed from start to end (it has the wrong sign or
    is zero somewhere on the way).
    """
    nodes, weights = np.polynomial.legendre.leggauss(points)
    half = 0.5 * (np.asarray(end, dtype=float) - start)
    middle = 0.5 * (np.asarray(end, dtype=float) + start)
    distance = time = np.zeros(())
    sound = np.ones((), dtype=bool)
    for node, weight in zip(nodes, weights, strict=True):
        speed = middle + half * node
        a = acceleration(speed)
        share = weight * half / a
        distance = distance + share * speed
        time = time + share
        sound = sound & (share >= 0)
    return np.where(sound, distance, np.nan), np.where(sound, time, np.nan)


def speed_after(acceleration: Callable[[Value], Value], start: Value, time: Value, steps: int = 40) -> Value:
    """Speed [m/s] reached from ``start`` [m/s] after ``time`` [s]: classical Runge-Kutta, ``steps`` equal steps."""
    v, h = np.asarray(start, dtype=float), time / steps
    for _ in range(steps):
        k1 = acceleration(v)
        k2 = acceleration(v + 0.5 * h * k1)
        k3 = acceleration(v + 0.5 * h * k2)
        k4 = acceleration(v + h * k3)
        v = v + h * (k1 + 2 * k2 + 2 * k3 + k4) / 6
    return v
