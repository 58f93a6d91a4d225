"""Where was the simulated aeroplane at every moment of a flight, from brake release to the last level leg?

Take-off roll, climb and level speed are those of the rest of the simulator (:mod:`.takeoff`, :mod:`.climb`,
:mod:`.level`), strung together in time: standing, roll, rotation, climb at one airspeed, levelling off, full throttle
until the speed has settled, turns of standard rate (3 degrees a second) and level legs. One steady wind; on the strip
what the logarithmic law leaves of it. True airspeed follows the air's density, pressure altitude the air's temperature.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from samesky.air.atmosphere import pressure_altitude as pressure_altitude_of
from samesky.air.warm_column import deviation, height_between, pressure_altitude_at
from samesky.instruments.weather_report import wind_at_height
from samesky.simulator.aeroplane.airframe import GRASS
from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.ambient import Ambient, true_airspeed
from samesky.simulator.motion.climb import rate_of_climb
from samesky.simulator.motion.legs import ground_speed
from samesky.simulator.motion.level import speed_when_read
from samesky.simulator.motion.takeoff import roll_acceleration

#: Time between two moments of the truth [s], and rate of turn [rad/s].
STEP, TURN = 0.1, np.radians(3.0)
#: Seconds standing before the roll, from lift-off to a steady climb and to climbing speed, and for levelling off
#: (assumed).
STANDING, ROTATION, GAINING, LEVELLING = 25.0, 3.0, 6.0, 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Sortie:
    """The truth of a flight at every :data:`STEP`; arrays (n,).

    Attributes
    ----------
    time : [s] from the first moment
    east, north, height : [m] from the start, over the ground; height above sea level
    pressure_altitude : [m]
    ground_speed : [m/s]; track : [rad], not wrapped at a full turn
    airspeed : true [m/s]; NaN on the strip
    spans : (start, end) [s] of ``"roll"``, ``"climb"`` and ``"leg 1"``, ``"leg 2"`` ...
    """

    time: np.ndarray
    east: np.ndarray
    north: np.ndarray
    height: np.ndarray
    pressure_altitude: np.ndarray
    ground_speed: np.ndarray
    track: np.ndarray
    airspeed: np.ndarray
    spans: dict[str, tuple[float, float]]

    def at(self, moment, name: str) -> np.ndarray:
        """The quantity ``name`` at moments [s] of any shape."""
        return np.interp(moment, self.time, getattr(self, name))

    def rate(self, start: float, end: float, name: str) -> float:
        """Mean rate of change [1/s] of the quantity ``name`` from ``start`` to ``end`` [s]."""
        first, last = self.at(np.array([start, end]), name)
        return float((last - first) / (end - start))

    @property
    def roll(self) -> float:
        """Length of the take-off roll [m]."""
        start, end = self.at(np.array(self.spans["roll"]), "east"), self.at(np.array(self.spans["roll"]), "north")
        return float(np.hypot(np.diff(start), np.diff(end))[0])


def sortie(
    aeroplane: SimAeroplane,
    air: Ambient,
    mass: float,
    *,
    lift_off: float,
    climb_speed: float,
    elevation: float,
    heading: float,
    level_at: float,
    tracks: Sequence[float],
    wind: float = 0.0,
    wind_from: float = 0.0,
    settle: float = 150.0,
    leg: float = 70.0,
) -> Sortie:
    """A take-off, a climb at full throttle and level legs.

    Parameters
    ----------
    air : on the strip; mass : [kg]
    lift_off, climb_speed : calibrated airspeeds [m/s]
    elevation : [m] of the strip; heading : [rad] of the strip and of the climb
    level_at : pressure altitude [m] of the legs
    tracks : [rad] of the legs
    wind : [m/s] at ten metres and aloft; wind_from : [rad]
    settle : [s] at full throttle, straight and level, before the first leg; leg : [s] of each

    Returns
    -------
    Sortie
    """
    base = float(pressure_altitude_of(air.pressure))
    warmer = float(deviation(air.temperature, base))
    log = _SortieLog()
    log.add(np.zeros(round(STANDING / STEP)), heading, 0.0, np.nan)
    headwind = wind * float(wind_at_height(1.0, aeroplane.airframe.wing_height)) * np.cos(wind_from - heading)
    run = _roll(aeroplane, air, mass, lift_off, headwind)
    log.add(run, heading, 0.0, np.nan)
    log.spans["roll"] = (log.count - run.size - 1) * STEP, (log.count - 1) * STEP
    first = float(rate_of_climb(aeroplane, air, mass, climb_speed)[0])
    through_air = float(true_airspeed(climb_speed, air.density))
    after = STEP * np.arange(1, round(GAINING / STEP) + 1)
    rate = first * np.minimum(after / ROTATION, 1.0)
    ends = {"over ground": (run[-1], float(ground_speed(through_air, heading, wind, wind_from)))}
    ends["through air"] = float(true_airspeed(lift_off, air.density)), through_air
    gaining = {name: np.interp(after, (0.0, GAINING), pair) for name, pair in ends.items()}
    log.add(gaining["over ground"], heading, rate, gaining["through air"])
    begin = float(pressure_altitude_at(STEP * rate.sum(), warmer, 0.0, base))
    last = float(rate_of_climb(aeroplane, air.at_pressure_altitude(base, level_at), mass, climb_speed)[0])
    end = float(pressure_altitude_at(-LEVELLING / 2 * last, warmer, 0.0, level_at))
    rate, climbing = _climb(aeroplane, air, mass, climb_speed, base, begin, end, warmer)
    log.add(ground_speed(climbing, heading, wind, wind_from), heading, rate, climbing, "climb")
    slow = float(climbing[-1])
    rate = np.linspace(rate[-1], 0.0, round(LEVELLING / STEP))
    log.add(np.full(rate.size, ground_speed(slow, heading, wind, wind_from)), heading, rate, slow)
    track, spans = _round(heading, tracks, settle, leg)
    faster = _gaining_speed(aeroplane, air.at_pressure_altitude(base, level_at), mass, slow, track.size)
    begin = log.count
    log.add(ground_speed(faster, track, wind, wind_from), track, 0.0, faster)
    log.spans |= {name: ((begin + a) * STEP, (begin + b) * STEP) for name, (a, b) in spans.items()}
    return log.sortie(elevation, base, warmer)


def _roll(aeroplane, air, mass, lift_off, headwind) -> np.ndarray:
    """Ground speeds [m/s] at every step from rest to lift-off."""
    last = float(true_airspeed(lift_off, air.density)) - headwind
    accelerate = roll_acceleration(aeroplane, air, mass, headwind, 0.0, last, 0.0, GRASS)
    speed = np.linspace(0.0, last, 400)
    slowness = 1 / np.array([float(accelerate(one)) for one in speed])
    clock = np.r_[0.0, np.cumsum((slowness[1:] + slowness[:-1]) / 2 * np.diff(speed))]
    # Counted back from lift-off, so that the last step is that moment.
    return np.interp(np.arange(clock[-1], 0.0, -STEP)[::-1], clock, speed)


def _climb(aeroplane, air, mass, climb_speed, base, begin, end, warmer) -> tuple[np.ndarray, np.ndarray]:
    """Rate of climb and true airspeed [m/s] at every step from one pressure altitude [m] to another."""
    level = np.linspace(begin, end, 300)
    here = air.at_pressure_altitude(base, level)
    rate = np.asarray(rate_of_climb(aeroplane, here, mass, climb_speed)[0])
    if not np.all(rate > 0):
        raise ValueError(f"the aeroplane does not climb to a pressure altitude of {end:.0f} m")
    height = height_between(level, begin, warmer)
    clock = np.r_[0.0, np.cumsum(np.diff(height) * (1 / rate[1:] + 1 / rate[:-1]) / 2)]
    moments = np.arange(0.0, clock[-1], STEP)
    return np.interp(moments, clock, rate), np.interp(moments, clock, true_airspeed(climb_speed, here.density))


def _gaining_speed(aeroplane, air, mass, slow, count: int) -> np.ndarray:
    """True airspeed [m/s] at every step of level flight at full throttle, from ``slow`` on."""
    # The approach to the top speed is exponential: nodes close together at its beginning.
    moments = (count - 1) * STEP * np.linspace(0.0, 1.0, 120) ** 2
    return np.interp(np.arange(count) * STEP, moments, speed_when_read(aeroplane, air, mass, slow, moments))


def _round(heading, tracks, settle, leg) -> tuple[np.ndarray, dict[str, tuple[int, int]]]:
    """Track [rad] at every step of the level part, and the steps at which each leg begins and ends."""
    parts, spans, here = [np.full(round(settle / STEP), heading)], {}, heading
    for number, track in enumerate(tracks, start=1):
        turn = (track - here + np.pi) % (2 * np.pi) - np.pi
        parts.append(np.linspace(here, here + turn, max(round(abs(turn) / TURN / STEP), 2)))
        here += turn
        begin = sum(part.size for part in parts)
        parts.append(np.full(round(leg / STEP), here))
        spans[f"leg {number}"] = begin, begin + parts[-1].size - 1
    return np.concatenate(parts), spans


class _SortieLog:
    """Phases one after the other."""

    def __init__(self):
        self.parts: list[np.ndarray] = []
        self.spans: dict[str, tuple[float, float]] = {}
        self.count = 0

    def add(self, speed, track, climb, airspeed, name: str = "") -> None:
        """A phase: ground speed (m,) [m/s]; track, rate of climb and true airspeed of that shape or one number."""
        rows = np.array([np.broadcast_to(one, speed.shape) for one in (speed, track, climb, airspeed)])
        self.parts.append(rows)
        if name:
            self.spans[name] = self.count * STEP, (self.count + speed.size - 1) * STEP
        self.count += speed.size

    def sortie(self, elevation: float, base: float, warmer: float) -> Sortie:
        """Everything integrated by the trapezium rule."""
        speed, track, climb, airspeed = np.concatenate(self.parts, axis=1)
        height = elevation + _sum(climb)
        return Sortie(
            time=np.arange(speed.size) * STEP,
            east=_sum(speed * np.sin(track)),
            north=_sum(speed * np.cos(track)),
            height=height,
            pressure_altitude=pressure_altitude_at(height, warmer, elevation, base),
            ground_speed=speed,
            track=track,
            airspeed=airspeed,
            spans=self.spans,
        )


def _sum(rate: np.ndarray) -> np.ndarray:
    return np.r_[0.0, np.cumsum((rate[1:] + rate[:-1]) / 2) * STEP]
