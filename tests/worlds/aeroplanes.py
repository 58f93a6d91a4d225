"""Airframes of the worlds, and the four flights: tied down, rolling, climbing, level at full throttle.

Everything broadcasts, so that a thousand campaigns are one call. Numbers are invented for these tests, within what
light aeroplanes have (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.worlds.air import GRAVITY, Air, standard_pressure, standard_temperature
from tests.worlds.engines import Engine
from tests.worlds.machines import Machine
from tests.worlds.propellers import Propeller, Section

#: Nodes of the quadratures: the roll over airspeed, a climb over height.
_ROLL = np.polynomial.legendre.leggauss(20)
_BAND = np.polynomial.legendre.leggauss(5)


@dataclass(frozen=True)
class Aeroplane:
    """An airframe with its machine.

    ``mass`` [kg], ``area`` [m2], ``span`` [m], ``wing_height`` [m] above the ground when rolling, ``drag`` at no lift,
    ``rolling_drag`` beyond it (flap), ``oswald``, ``rolling_lift`` coefficient on the wheels, ``friction`` of the
    wheels, ``tied_drag`` area [m2] of the airframe that the wind pushes on when tied down. Speeds for use, equivalent
    [m/s]: ``lift_off`` and ``climb``.
    """

    name: str
    machine: Machine
    mass: float
    area: float
    span: float
    wing_height: float
    drag: float
    rolling_drag: float
    oswald: float
    rolling_lift: float
    friction: float
    tied_drag: float
    lift_off: float
    climb: float

    def of_law(self, law: str) -> Aeroplane:
        return replace(self, machine=replace(self.machine, engine=self.machine.engine.of_law(law)))

    def with_propeller(self, propeller: Propeller) -> Aeroplane:
        return replace(self, machine=replace(self.machine, propeller=propeller))

    @property
    def induced(self) -> float:
        return self.area / (np.pi * self.span**2 * self.oswald)

    def level_drag(self, speed, air: Air, mass, load=1.0):
        """Drag [N] at true airspeed, carrying ``load`` times the weight."""
        pressure = 0.5 * air.density * np.square(speed)
        lift = load * mass * GRAVITY / (pressure * self.area)
        return pressure * self.area * (self.drag + self.induced * np.square(lift))

    # ---- the flights

    def static_pull(self, air: Air, wind=0.0, power=1.0):
        """Reading of the scale [N], tied down in a headwind [m/s]."""
        wind = np.asarray(wind, dtype=float)
        push = 0.5 * air.density * wind * np.abs(wind) * self.tied_drag
        return self.machine.thrust(wind, air, power) - push

    def net_on_wheels(self, speed, air: Air, mass, slope=0.0, power=1.0, friction=None):
        """Accelerating force [N] at true airspeed, on the wheels; ``slope`` a fraction, uphill positive."""
        pressure = 0.5 * air.density * speed * np.abs(speed)
        ground = (16.0 * self.wing_height / self.span) ** 2
        induced = self.induced * ground / (1.0 + ground)
        lift = pressure * self.area * self.rolling_lift
        drag = pressure * self.area * (self.drag + self.rolling_drag + induced * self.rolling_lift**2)
        angle = np.arctan(slope)
        load = np.maximum(mass * GRAVITY * np.cos(angle) - lift, 0.0)
        wheels = (self.friction if friction is None else friction) * load
        return self.machine.thrust(speed, air, power) - drag - wheels - mass * GRAVITY * np.sin(angle)

    def takeoff_roll(self, air: Air, mass, wind=0.0, lift_off=None, slope=0.0, power=1.0, friction=None):
        """Ground roll [m] to an equivalent lift-off airspeed [m/s] in a headwind [m/s] at the height of the wing."""
        lift_off = self.lift_off if lift_off is None else lift_off
        end, wind = air.true(lift_off), np.asarray(wind, dtype=float)
        node, share = _ROLL
        half = 0.5 * (np.asarray(end) - wind)[..., None]
        speed = wind[..., None] + half * (node + 1.0)
        wide = Air(*(_last(one) for one in (air.pressure, air.temperature, air.vapour)))
        force = self.net_on_wheels(
            speed, wide, _last(mass), _last(slope), _last(power), None if friction is None else _last(friction)
        )
        # A wheel, a propeller and a crank turn too: 2 % of the mass (assumed).
        return np.sum(half * share * (speed - wind[..., None]) * 1.02 * _last(mass) / force, axis=-1)

    def ground_acceleration(self, air: Air, mass, first, second, wind=0.0, slope=0.0, power=1.0, friction=None):
        """Mean acceleration [m/s2] between two ground speeds [m/s] in a headwind [m/s] at the height of the wing."""
        node, share = _ROLL
        first, second, wind = (np.asarray(one, dtype=float) for one in (first, second, wind))
        half = 0.5 * (second - first)[..., None]
        speed = (first + wind)[..., None] + half * (node + 1.0)
        wide = Air(*(_last(one) for one in (air.pressure, air.temperature, air.vapour)))
        force = self.net_on_wheels(
            speed, wide, _last(mass), _last(slope), _last(power), None if friction is None else _last(friction)
        )
        return (second - first) / np.sum(half * share * 1.02 * _last(mass) / force, axis=-1)

    def level_run(self, air: Air, mass, first, second, power=1.0, path=0.0):
        """Seconds [s] and way [m] between two equivalent airspeeds [m/s], full throttle; ``path``: height over way."""
        node, share = _ROLL
        ends = [np.asarray(air.true(one), dtype=float) for one in (first, second)]
        half = 0.5 * (ends[1] - ends[0])[..., None]
        speed = ends[0][..., None] + half * (node + 1.0)
        wide = Air(*(_last(one) for one in (air.pressure, air.temperature, air.vapour)))
        force = self.machine.thrust(speed, wide, _last(power)) - self.level_drag(speed, wide, _last(mass))
        seconds = half * share * _last(mass) / (force - _last(mass) * GRAVITY * _last(path))
        return np.sum(seconds, axis=-1), np.sum(seconds * speed, axis=-1)

    def climb_rate(self, air: Air, mass, climb=None, power=1.0, lapse=0.0065):
        """Rate of climb [m/s, tapeline] at an equivalent airspeed [m/s] that is held."""
        speed = air.true(self.climb if climb is None else climb)
        thrust = self.machine.thrust(speed, air, power)
        excess = (thrust - self.level_drag(speed, air, mass)) / (mass * GRAVITY)
        # Path angle enters the lift once; held equivalent speed means that the true one rises.
        load = np.sqrt(1.0 - np.clip(excess, -0.5, 0.5) ** 2)
        sine = (thrust - self.level_drag(speed, air, mass, load)) / (mass * GRAVITY)
        gas = GRAVITY / (287.053 * np.asarray(air.temperature))
        gain = 0.5 * (gas - lapse / np.asarray(air.temperature)) * np.square(speed) / GRAVITY
        return speed * sine / (1.0 + gain)

    def climb_seconds(self, low, high, temperature, mass, climb=None, power=1.0, vapour=0.0, lapse=0.0065, rising=0.0):
        """Seconds [s] between two pressure altitudes [m]; ``temperature`` [K] is that of the middle of the band."""
        node, share = _BAND
        low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
        height = _last(0.5 * (low + high)) + _last(0.5 * (high - low)) * node
        warm = _last(temperature) - lapse * (height - _last(0.5 * (low + high)))
        air = Air(standard_pressure(height), warm, _last(vapour))
        held = None if climb is None else _last(climb)
        rate = self.climb_rate(air, _last(mass), held, _last(power), lapse) + _last(rising)
        virtual = warm / (1.0 - 0.378 * _last(vapour) / air.pressure)
        tape = virtual / standard_temperature(height)
        return np.sum(_last(0.5 * (high - low)) * share * tape / rate, axis=-1)

    def level_speed(self, air: Air, mass, power=1.0):
        """Full-throttle level true airspeed [m/s], whatever the rpm."""
        shape = np.broadcast_shapes(
            *(np.shape(one) for one in (air.pressure, air.temperature, air.vapour, mass, power))
        )
        low, high = np.full(shape, 1.1 * self.climb), np.full(shape, 94.0)
        for _ in range(45):
            middle = 0.5 * (low + high)
            more = self.machine.thrust(middle, air, power) > self.level_drag(middle, air, mass)
            low, high = np.where(more, middle, low), np.where(more, high, middle)
        return 0.5 * (low + high)


def _last(values):
    """With one more axis, for the nodes."""
    return np.asarray(values, dtype=float)[..., None]


#: Four seats, direct drive, two metal blades.
FOUR_SEATER = Aeroplane(
    "four-seater",
    Machine(
        Engine("A", 134e3, 45.0, rise=-0.30, droop=0.7),
        Propeller(1.96, 1.58, chord=0.180, washout=0.06),
        scrub=0.045,
    ),
    mass=1080.0, area=16.3, span=10.9, wing_height=2.1, drag=0.034, rolling_drag=0.014, oswald=0.72,
    rolling_lift=0.55, friction=0.045, tied_drag=1.0, lift_off=30.0, climb=38.5,
)  # fmt: skip
#: Two seats, direct drive, two wooden blades; the sections stall when it stands.
TWO_SEATER = Aeroplane(
    "two-seater",
    Machine(
        Engine("A", 74.5e3, 45.8, rise=-0.20, droop=1.1),
        Propeller(1.78, 1.36, chord=0.158, section=Section(stall=np.radians(10.5), drag=0.012)),
        scrub=0.035,
    ),
    mass=690.0, area=14.2, span=10.0, wing_height=1.9, drag=0.036, rolling_drag=0.012, oswald=0.74,
    rolling_lift=0.60, friction=0.05, tied_drag=0.85, lift_off=25.5, climb=33.0,
)  # fmt: skip
#: Light, geared, three slim blades set on the ground; short rolls on grass.
GEARED = Aeroplane(
    "geared",
    Machine(
        Engine("A", 73.0e3, 85.5, rise=-0.55, droop=1.6, gear=2.16, loss=0.025),
        Propeller(1.76, 1.30, blades=3, chord=0.118, washout=-0.05, section=Section(slope=6.1, stall=np.radians(13.0))),
        scrub=0.03,
    ),
    mass=545.0, area=13.0, span=9.3, wing_height=1.7, drag=0.043, rolling_drag=0.022, oswald=0.75,
    rolling_lift=0.7, friction=0.07, tied_drag=1.1, lift_off=20.5, climb=30.0,
)  # fmt: skip
#: Two seats, a propeller that holds its speed.
CONSTANT_SPEED = Aeroplane(
    "constant speed",
    Machine(
        Engine("A", 85.0e3, 86.4, rise=-0.3, droop=1.0, gear=2.187, loss=0.02),
        Propeller(1.80, 0.80, blades=3, chord=0.155, washout=0.04),
        governed=85.5 / 2.187,
        scrub=0.03,
    ),
    mass=720.0, area=11.8, span=9.0, wing_height=1.2, drag=0.028, rolling_drag=0.015, oswald=0.76,
    rolling_lift=0.5, friction=0.04, tied_drag=0.7, lift_off=28.5, climb=36.0,
)  # fmt: skip
FAMILY = {one.name: one for one in (FOUR_SEATER, TWO_SEATER, GEARED, CONSTANT_SPEED)}
