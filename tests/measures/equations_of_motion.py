"""An aeroplane flown by its equations of motion, to hold the corrections against.

Written apart from the package: own air, own engine and propeller, integrated by scipy. Parameters are those of the
project's prototype simulation, whose baseline the registry prints (rows S01, S03, S05): synthetic, no real aircraft.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

G = 9.80665
KNOT = 1852 / 3600
AREA, K_INDUCED, DIAMETER, GEAR = 12.5, 0.0588, 1.75, 2.22


@dataclass(frozen=True)
class Air:
    """Dry air [K, Pa] and the law of engine power in it, "A" by density or "B" by pressure and root temperature."""

    temperature: float = 288.15
    pressure: float = 101325.0
    law: str = "A"

    @property
    def density(self) -> float:
        return self.pressure / (287.05287 * self.temperature)

    @property
    def power_factor(self) -> float:
        if self.law == "A":
            return 1.132 * self.density / 1.225 - 0.132
        return (1.132 * self.pressure / 101325.0 - 0.132) / np.sqrt(self.temperature / 288.15)

    def true_airspeed(self, calibrated: float) -> float:
        return calibrated * np.sqrt(1.225 / self.density)


def thrust_at(airspeed: float, air: Air) -> float:
    """Full-throttle thrust [N] at the propeller speed at which engine torque and propeller torque agree."""

    def shapes(n):
        x = airspeed / (n * DIAMETER) / 1.05
        thrust = 0.142 * (1 - 0.2402 * x - 0.9789 * x**2 + 0.2183 * x**3)
        return thrust, 0.086 * (1 - 0.2280 * x + 0.3435 * x**2 - 0.9578 * x**3)

    def surplus(n):
        engine = 140.11 * (1 - 0.0659 * ((n * 60 * GEAR - 4476.5) / 1000) ** 2) * air.power_factor * GEAR * 0.98
        return engine - shapes(n)[1] * air.density * n**2 * DIAMETER**5 / (2 * np.pi)

    n = brentq(surplus, 15.0, 60.0)
    return shapes(n)[0] * air.density * n**2 * DIAMETER**4


@cache
def thrust_curve(air: Air) -> CubicSpline:
    speeds = np.linspace(0.0, 60.0, 31)
    return CubicSpline(speeds, [thrust_at(v, air) for v in speeds])


def on_the_wheels(mass: float, headwind: float, slope: float, air: Air):
    """Right side of the equation of motion of a take-off run: state is way [m] and ground speed [m/s]."""
    thrust = thrust_curve(air)
    sine, cosine = np.sin(np.arctan(slope)), np.cos(np.arctan(slope))

    def motion(t, state):
        airspeed = state[1] + headwind
        q = 0.5 * air.density * airspeed**2 * AREA
        drag = q * (0.068 + K_INDUCED * 0.911 * 0.55**2)
        friction = 0.05 * max(mass * G * cosine - q * 0.55, 0.0)
        return [state[1], (thrust(airspeed) - drag - friction) / mass - G * sine]

    return motion


def ground_seconds(
    first: float, second: float, mass: float = 540.0, headwind: float = 0.0, slope: float = 0.0, air: Air | None = None
) -> float:
    """Time [s] from one ground speed [m/s] to the other on the take-off run, by integration from a standstill."""
    motion = on_the_wheels(mass, headwind, slope, air or Air())

    def passes_first(t, state):
        return state[1] - first

    def passes_second(t, state):
        return state[1] - second

    passes_second.terminal = True
    flown = solve_ivp(motion, (0.0, 120.0), [0.0, 0.0], events=[passes_first, passes_second], rtol=1e-9, atol=1e-9)
    return float(flown.t_events[1][0] - flown.t_events[0][0])


def level_seconds(
    first: float, second: float, mass: float = 540.0, path: float = 0.0, air: Air | None = None
) -> tuple[float, float]:
    """Time [s] from one calibrated airspeed [m/s] to the other at full throttle, and the height [m] gained meanwhile on
    a straight path of sine ``path``."""
    air = air or Air()
    thrust, start, end = thrust_curve(air), air.true_airspeed(first), air.true_airspeed(second)

    def motion(t, state):
        speed = state[1]
        return [speed * path, (thrust(speed) - drag_at(speed, mass, air)) / mass - G * path]

    def arrives(t, state):
        return state[1] - end

    arrives.terminal = True
    flown = solve_ivp(motion, (0.0, 300.0), [0.0, start], events=arrives, rtol=1e-9, atol=1e-9)
    return float(flown.t_events[0][0]), float(flown.y_events[0][0][0])


def ground_roll(
    mass: float = 540.0, lift_off: float = 38 * KNOT, headwind: float = 0.0, slope: float = 0.0, air: Air | None = None
) -> float:
    """Ground roll [m] to a calibrated lift-off speed [m/s], by integration in time to the event of lift-off."""
    air = air or Air()
    wanted, motion = air.true_airspeed(lift_off), on_the_wheels(mass, headwind, slope, air)

    def lifts_off(t, state):
        return state[1] + headwind - wanted

    lifts_off.terminal = True
    flown = solve_ivp(motion, (0.0, 120.0), [0.0, 0.0], events=lifts_off, rtol=1e-9, atol=1e-9)
    return float(flown.y_events[0][0][0])


def drag_at(airspeed: float, mass: float, air: Air, zero_lift: float = 0.050) -> float:
    q = 0.5 * air.density * airspeed**2 * AREA
    return q * (zero_lift + K_INDUCED * (mass * G / q) ** 2)


def climb_rate(mass: float = 540.0, calibrated: float = 60 * KNOT, air: Air | None = None) -> float:
    """Steady rate of climb [m/s] at constant calibrated airspeed, unaccelerated; lift is W cos(angle)."""
    air = air or Air()
    airspeed = air.true_airspeed(calibrated)
    thrust = thrust_at(airspeed, air)

    def surplus(sine):
        return thrust - drag_at(airspeed, mass * np.sqrt(1 - sine**2), air) - mass * G * sine

    return airspeed * brentq(surplus, 0.0, 0.9)


def level_speed(mass: float = 540.0, air: Air | None = None) -> float:
    """Full-throttle level true airspeed [m/s]."""
    air = air or Air()
    return brentq(lambda v: thrust_at(v, air) - drag_at(v, mass, air), 30.0, 80.0)
