"""Whole flights with known truth, seen by a receiver that wanders, and written as GPX, NMEA 0183 or IGC files.

Speeds and rates of climb are those of the simulated aeroplane in air that is warmer or colder than standard; a flight
stands, rolls, climbs to the area, and there flies its runs: a full-throttle climb through the band, then a set of level
legs in a steady wind, then a descent. Pressure altitude is integrated here from dHp = (Ts/T) dZ, step by step, without
the package's own formula. The receiver adds first-order Gauss-Markov noise, white noise, rounding, dropouts, fixes
written twice and clocks that jump.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache, reduce
from operator import xor

import numpy as np
from scipy.signal import lfilter

from samesky.simulator.ambient import Ambient
from samesky.simulator.examples.trainer import TRAINER
from samesky.simulator.motion.climb import rate_of_climb
from samesky.simulator.motion.level import top_speed

STEP = 0.1
BEGIN = 1_716_528_600.0  # 2024-05-24 05:30 UTC
LATITUDE, LONGITUDE = np.radians(46.0), np.radians(9.0)
STRIP, MASS, CLIMB_SPEED = 120.0, 620.0, 36.0
#: Pressure altitudes [m] between which climbs are timed.
BAND = (700.0, 1000.0)


@cache
def _standard_performance() -> tuple[np.ndarray, np.ndarray, float]:
    """Rate of climb [m/s] at some pressure altitudes [m], and level speed [m/s], on a standard day."""
    heights = np.array([0.0, 600.0, 1200.0, 1800.0])
    day = Ambient(288.15, 101325.0)
    rates = [float(rate_of_climb(TRAINER, day.at_pressure_altitude(0.0, h), MASS, CLIMB_SPEED)[0]) for h in heights]
    return heights, np.array(rates), float(top_speed(TRAINER, day.at_pressure_altitude(0.0, 1200.0), MASS)[0])


@dataclass
class Flight:
    """Truth on a fine grid [s, m, m/s, rad]; ``airspeeds`` is the true airspeed of each run's legs."""

    deviation: float
    qnh: float
    time: np.ndarray = field(default_factory=lambda: np.zeros(0))
    east: np.ndarray = field(default_factory=lambda: np.zeros(0))
    north: np.ndarray = field(default_factory=lambda: np.zeros(0))
    height: np.ndarray = field(default_factory=lambda: np.zeros(0))
    pressure_altitude: np.ndarray = field(default_factory=lambda: np.zeros(0))
    speed: np.ndarray = field(default_factory=lambda: np.zeros(0))
    track: np.ndarray = field(default_factory=lambda: np.zeros(0))
    airspeeds: list[float] = field(default_factory=list)
    lifted: float = 0.0
    roll: float = 0.0
    lift_off_speed: float = 0.0

    def at(self, moment, name):
        """A quantity at moments [s] of the flight."""
        return np.interp(moment, self.time, getattr(self, name))


def whole_flight(rng, runs: int = 3, legs: int = 3) -> Flight:
    """A flight with this many climbs and sets of legs."""
    made = Flight(float(rng.normal(0.0, 10.0)), float(rng.normal(101_325.0, 700.0)))
    heights, rates, level = _standard_performance()
    wind, wind_from = rng.uniform(1.0, 9.0), rng.uniform(0, 2 * np.pi)
    speed, track, climb = [], [], []

    def fly(airspeed, direction, rate, seconds=None):
        """Hold, or go straight to, an airspeed, a track and a rate; arrays pass as they are."""
        count = round(seconds / STEP) if seconds is not None else len(direction)
        airspeed, direction, rate = (np.broadcast_to(value, count) for value in (airspeed, direction, rate))
        across = wind * np.sin(wind_from - direction)
        over_ground = np.sqrt(airspeed**2 - across**2) - wind * np.cos(wind_from - direction)
        speed.append(over_ground), track.append(direction), climb.append(rate)

    def ramp(first, last, seconds):
        return np.linspace(first, last, round(seconds / STEP))

    def turn(first, last):
        return ramp(first, last, max(abs(last - first) / np.radians(3.0), 2.0))

    here = rng.uniform(0, 2 * np.pi)
    # standing, rolling against growing drag, off: v = V tanh(a t/V), s = V^2/a ln cosh(a t/V)
    wait, acceleration, limit, lift_off = 25.0, rng.uniform(2.0, 3.0), 50.0, rng.uniform(20.0, 24.0)
    duration = limit / acceleration * np.arctanh(lift_off / limit)
    made.lift_off_speed, rolling = float(lift_off), np.arange(0, duration, STEP)
    made.lifted, made.roll = wait + duration, limit**2 / acceleration * np.log(np.cosh(acceleration * duration / limit))
    ground = [np.zeros(round(wait / STEP)), limit * np.tanh(acceleration * rolling / limit), ramp(lift_off, 33.0, 6.0)]
    speed.append(np.concatenate(ground)), track.append(np.full(speed[0].size, here))
    climb.append(np.r_[np.zeros(ground[0].size + ground[1].size), ramp(0.0, 3.0, 3.0), ramp(3.0, 3.0, 3.0)])

    def rise_to(altitude, now, rate=0.0):
        """Climb at full throttle with the rate of each pressure altitude; gives the height reached."""
        reached, out = now, []
        while reached < altitude:
            rate += np.clip(np.interp(reached, heights, rates) - rate, -STEP, STEP)  # by 1 m/s in a second
            out.append(rate)
            reached += rate * STEP * 288.15 / (288.15 + made.deviation)
        fly(37.0, np.full(len(out), here), np.array(out))
        fly(37.0, here, ramp(out[-1], 0.0, 4.0), 4.0)
        return reached + 2.0 * out[-1]

    begin = STRIP + 44330.77 * (1 - (made.qnh / 101325.0) ** 0.190263)  # pressure altitude of the strip
    now = rise_to(BAND[0] - 150.0, begin + 10.0, 3.0)
    for _ in range(runs):
        fly(37.0, here, 0.0, rng.uniform(30, 50))
        now = rise_to(BAND[1] + rng.uniform(40.0, 90.0), now)
        airspeed = level * (1 + rng.normal(0.0, 0.01))
        made.airspeeds.append(airspeed)
        fly(ramp(37.0, airspeed, 40.0), here, 0.0, 40.0)
        start = here
        for leg in range(legs):
            there = start + leg * 2 * np.pi / legs + 0.7
            fly(airspeed, turn(here, there), 0.0)
            here = there
            wobble = 0.15 * np.sin(2 * np.pi * np.arange(0, 70, STEP) / rng.uniform(60, 120) + rng.uniform(0, 6))
            fly(airspeed, here, wobble[: round(70 / STEP)], 70.0)
        fly(ramp(airspeed, 40.0, 15.0), here, ramp(0.0, -5.0, 15.0), 15.0)
        down = (now - BAND[0] + 150.0) / 5.0
        fly(40.0, turn(here, here + np.pi), -5.0)
        here += np.pi
        fly(40.0, here, -5.0, max(down - 70.0, 5.0))
        fly(ramp(40.0, 37.0, 10.0), here, ramp(-5.0, 0.0, 10.0), 10.0)
        gone = sum(part.sum() for part in climb) * STEP
        now = begin + gone * 288.15 / (288.15 + made.deviation)
    speed, track, climb = (np.concatenate(parts) for parts in (speed, track, climb))
    made.time = np.arange(speed.size) * STEP
    made.speed, made.track = speed, track
    made.east, made.north = _sum(speed * np.sin(track)), _sum(speed * np.cos(track))
    made.height = STRIP + _sum(climb)
    # dHp/dt = Ts/(Ts + d) dZ/dt, Ts = 288.15 K - 6.5 K/km Hp: one step after the other
    pressure_altitude = np.empty(speed.size)
    pressure_altitude[0] = begin
    for i in range(1, speed.size):
        standard = 288.15 - 0.0065 * pressure_altitude[i - 1]
        rise = 0.5 * (climb[i] + climb[i - 1]) * STEP
        pressure_altitude[i] = pressure_altitude[i - 1] + rise * standard / (standard + made.deviation)
    made.pressure_altitude = pressure_altitude
    return made


def _sum(rate):
    return np.r_[0.0, np.cumsum((rate[1:] + rate[:-1]) / 2) * STEP]


@dataclass
class Seen:
    """What a receiver saw: clock [s since 1970], and the moment of the flight [s] that each clock truly was."""

    clock: np.ndarray
    moment: np.ndarray
    latitude: np.ndarray
    longitude: np.ndarray
    height: np.ndarray
    pressure_altitude: np.ndarray
    speed: np.ndarray
    track: np.ndarray

    def truly(self, clock):
        """The moment of the flight [s] at clock times [s since 1970]."""
        return np.interp(clock, self.clock, self.moment)


def _wander(rng, count, rate, spread, correlation):
    """First-order Gauss-Markov noise at an even rate [Hz], in its exact recursion."""
    keep = np.exp(-1 / (rate * correlation))
    fresh = rng.standard_normal(count) * spread * np.sqrt(1 - keep**2)
    fresh[0] /= np.sqrt(1 - keep**2)
    return lfilter([1.0], [1.0, -keep], fresh)


def see(flight: Flight, rng, rate: float = 1.0, dropouts: int = 6, repeats: int = 5, jump: float = 20.0) -> Seen:
    """The flight through a receiver: noise as the package assumes, and everything that goes wrong with clocks."""
    moment = np.arange(rng.uniform(0, 1 / rate), flight.time[-1], 1 / rate)
    count = moment.size
    position, level = 8.0 / 2.448, 13.0 / 1.959964
    east, north = (_wander(rng, count, rate, position, 300.0) for _ in range(2))
    height = flight.at(moment, "height") + _wander(rng, count, rate, level, 300.0)
    barometer = flight.at(moment, "pressure_altitude") + _wander(rng, count, rate, 1.0, 300.0)
    barometer = barometer + 0.11 * rng.standard_normal(count)
    velocity = 0.2 / 1.959964
    along = flight.at(moment, "speed") + _wander(rng, count, rate, velocity, 10.0)
    across = _wander(rng, count, rate, velocity, 10.0)
    track = np.interp(moment, flight.time, np.unwrap(flight.track)) + np.arctan2(across, np.maximum(along, 0.3))
    clock = BEGIN + moment
    # the receiver's clock leaps in every descent: where the height falls by 5 m/s
    falling = np.flatnonzero(np.gradient(flight.at(moment, "height"), moment) < -4.5)
    if jump and falling.size:
        clock = clock + jump * (np.arange(count) > falling[falling.size // 2])
    kept = np.ones(count, dtype=bool)
    for _ in range(dropouts):
        start = rng.uniform(0, flight.time[-1])
        kept &= (moment < start) | (moment > start + rng.uniform(1.5, 4.0))
    chosen = np.sort(np.r_[np.flatnonzero(kept), rng.choice(np.flatnonzero(kept), repeats, replace=False)])
    latitude, longitude = _places(flight, moment, east, north)
    columns = (clock, moment, latitude, longitude, height, barometer, np.hypot(along, across), track % (2 * np.pi))
    return Seen(*(column[chosen] for column in columns))


def _places(flight, moment, east_error, north_error):
    """Latitude and longitude [rad] at moments [s], with errors [m], step by step over the WGS 84 ellipsoid."""
    a, flat = 6378137.0, 1 / 298.257223563
    e2 = flat * (2 - flat)
    latitude = np.full(flight.time.size, LATITUDE)
    for _ in range(3):  # the radius hardly changes over a flight: three rounds are plenty
        root = np.sqrt(1 - e2 * np.sin(latitude) ** 2)
        north_radius, east_radius = a * (1 - e2) / root**3 + flight.height, a / root + flight.height
        latitude = LATITUDE + _sum(flight.speed * np.cos(flight.track) / north_radius)
    longitude = LONGITUDE + _sum(flight.speed * np.sin(flight.track) / (east_radius * np.cos(latitude)))
    here, there, north_radius, east_radius = (
        np.interp(moment, flight.time, column) for column in (latitude, longitude, north_radius, east_radius)
    )
    return here + north_error / north_radius, there + east_error / (east_radius * np.cos(here))


def _stamp(clock, layout, places):
    """Clock texts, with decimals of the second where there are places for them."""
    out = []
    for moment in np.round(clock, places):
        whole = int(moment)
        part = f"{moment - whole:.{places}f}"[1:] if places else ""
        out.append(datetime.fromtimestamp(whole, UTC).strftime(layout).replace("#", part))
    return out


def as_gpx(seen: Seen, with_speed: bool = True) -> str:
    """GPX 1.1 as a logger writes it: tenths of a metre, speeds in an extension of its own."""
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="made up" '
    head += 'xmlns="http://www.topografix.com/GPX/1/1" xmlns:m="urn:made-up">\n<trk><trkseg>\n'
    lines = []
    for i, stamp in enumerate(_stamp(seen.clock, "%Y-%m-%dT%H:%M:%S#Z", 3)):
        more = ""
        if with_speed:
            course = np.degrees(seen.track[i])
            more = f"<extensions><m:speed>{seen.speed[i]:.2f}</m:speed><m:course>{course:.1f}</m:course></extensions>"
        place = f'lat="{np.degrees(seen.latitude[i]):.7f}" lon="{np.degrees(seen.longitude[i]):.7f}"'
        lines.append(f"<trkpt {place}><ele>{seen.height[i]:.1f}</ele><time>{stamp}</time>{more}</trkpt>\n")
    return head + "".join(lines) + "</trkseg></trk></gpx>\n"


def _sentence(body):
    return f"${body}*{reduce(xor, body.encode(), 0):02X}\r\n"


def _minutes(angle, digits, east):
    value = abs(float(np.degrees(angle)))
    whole = int(value)
    letter = ("EW" if east else "NS")[int(angle < 0)]
    return f"{whole:0{digits}d}{60 * (value - whole):09.6f},{letter}"


def as_nmea(seen: Seen) -> str:
    """NMEA 0183: GGA and RMC of each instant, hundredths of a knot."""
    out = []
    for i, stamp in enumerate(_stamp(seen.clock, "%H%M%S#", 2)):
        place = f"{_minutes(seen.latitude[i], 2, False)},{_minutes(seen.longitude[i], 3, True)}"
        day = datetime.fromtimestamp(seen.clock[i], UTC).strftime("%d%m%y")
        out.append(_sentence(f"GPGGA,{stamp},{place},1,09,0.9,{seen.height[i]:.1f},M,47.0,M,,"))
        knots, course = seen.speed[i] * 3600 / 1852, np.degrees(seen.track[i])
        out.append(_sentence(f"GPRMC,{stamp},A,{place},{knots:.2f},{course:.1f},{day},,,A"))
    return "".join(out)


def as_igc(seen: Seen, with_speed: bool = True) -> str:
    """IGC with pressure altitude in whole metres; decimals of the second, speed and track in extensions."""
    head = "AXXXABC\r\nHFDTE240524\r\n"
    head += "I033638TDS3943GSP4446TRT\r\n" if with_speed else "I013638TDS\r\n"
    out = []
    for i, stamp in enumerate(_stamp(seen.clock, "%H%M%S#", 3)):
        latitude, longitude = (abs(float(np.degrees(angle))) for angle in (seen.latitude[i], seen.longitude[i]))
        place = "".join(
            f"{int(value):0{digits}d}{round(60_000 * (value - int(value))):05d}{letter}"
            for value, digits, letter in ((latitude, 2, "N"), (longitude, 3, "E"))
        )
        heights = f"A{round(seen.pressure_altitude[i]):05d}{round(seen.height[i]):05d}"
        more = f"{round(seen.speed[i] * 360):05d}{round(np.degrees(seen.track[i])) % 360:03d}" if with_speed else ""
        out.append(f"B{stamp[:6]}{place}{heights}{stamp[7:]}{more}\r\n")
    return head + "".join(out)
