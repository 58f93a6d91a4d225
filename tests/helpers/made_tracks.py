"""Tracks with known truth: flights made up point by point, seen through a made-up receiver.

The truth is integrated on a fine grid by the trapezium rule; the receiver adds first-order Gauss-Markov noise by its
exact recursion (Brown and Hwang), rounding, dropouts, duplicate fixes and clock faults. Nothing here uses the package's
own fitting.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.instruments.tracks.fixes import build

STEP = 0.02
BEGIN = 1_714_550_400.0  # 2024-05-01 08:00 UTC
LATITUDE, LONGITUDE = np.radians(46.0), np.radians(9.0)


@dataclass
class Flight:
    """Truth on a fine grid: time [s] from zero, east, north, height [m] and their rates [m/s]."""

    time: np.ndarray
    east: np.ndarray
    north: np.ndarray
    height: np.ndarray
    speed: np.ndarray
    track: np.ndarray

    def at(self, moment, name):
        return np.interp(moment, self.time, getattr(self, name))


def flight(speed, track, climb, height=0.0) -> Flight:
    """From ground speed [m/s], track [rad] and climb rate [m/s] on the fine grid."""
    time = np.arange(speed.size) * STEP

    def integrate(rate, begin=0.0):
        return begin + np.r_[0.0, np.cumsum((rate[1:] + rate[:-1]) / 2) * STEP]

    return Flight(
        time,
        integrate(speed * np.sin(track)),
        integrate(speed * np.cos(track)),
        integrate(climb, height),
        speed,
        np.unwrap(track),
    )


def held(parts):
    """A quantity from (duration [s], value at the end) pairs: straight lines between, starting at the first value."""
    moments = np.cumsum([0.0, *(duration for duration, _ in parts)])
    values = [parts[0][1], *(value for _, value in parts)]
    return np.interp(np.arange(0.0, moments[-1], STEP), moments, values)


def markov(rng, time, standard_deviation, correlation_time):
    """Gauss-Markov noise at these times, by its exact recursion."""
    fresh = rng.standard_normal(time.size)
    out = np.empty(time.size)
    out[0] = standard_deviation * fresh[0]
    decay = np.exp(-np.diff(time) / correlation_time)
    for i, keep in enumerate(decay, start=1):
        out[i] = keep * out[i - 1] + standard_deviation * np.sqrt(1 - keep**2) * fresh[i]
    return out


@dataclass
class Receiver:
    """What the receiver does to the truth; defaults are the noise that the package assumes."""

    rate: float = 1.0
    speed: tuple[float, float] = (0.2 / 1.959964, 10.0)
    position: tuple[float, float] = (8.0 / 2.448, 300.0)
    height: tuple[float, float, float] = (1.0, 300.0, 0.11)
    barometer: bool = True
    writes_speed: bool = True
    speed_step: float = 0.01
    height_step: float = 0.0
    dropouts: int = 0
    duplicates: int = 0
    clock_jump: float = 0.0
    #: Seconds for which the log holds what the receiver gave, row by row; 0 writes it anew in every row.
    held: float = 0.0

    def see(self, truth: Flight, rng):
        """Columns (time, latitude, longitude, height, speed, track) as the receiver writes them."""
        time = np.arange(rng.uniform(0, 1 / self.rate), truth.time[-1], 1 / self.rate)
        for _ in range(self.dropouts):
            start = rng.uniform(0, truth.time[-1])
            time = time[(time < start) | (time > start + rng.uniform(1.5, 4.0))]
        time = np.sort(np.r_[time, rng.choice(time, self.duplicates, replace=False)])
        east = truth.at(time, "east") + markov(rng, time, *self.position)
        north = truth.at(time, "north") + markov(rng, time, *self.position)
        sd, tau, white = self.height
        height = truth.at(time, "height") + markov(rng, time, sd, tau) + white * rng.standard_normal(time.size)
        if self.height_step:
            height = np.round(height / self.height_step) * self.height_step
        track = truth.at(time, "track")
        along, across = truth.at(time, "speed") + markov(rng, time, *self.speed), markov(rng, time, *self.speed)
        speed = np.hypot(along, across)
        track = track + np.arctan2(across, along)
        speed = np.round(speed / self.speed_step) * self.speed_step
        # metres to angles by the published radii of WGS 84 at 46 degrees, computed here on their own
        a, flat = 6378137.0, 1 / 298.257223563
        e2 = flat * (2 - flat)
        root = np.sqrt(1 - e2 * np.sin(LATITUDE) ** 2)
        above = truth.height.mean()
        latitude = LATITUDE + north / (a * (1 - e2) / root**3 + above)
        longitude = LONGITUDE + east / ((a / root + above) * np.cos(LATITUDE))
        clock = BEGIN + time
        if self.clock_jump:
            clock = np.where(time > truth.time[-1] - 10, clock + self.clock_jump, clock)
        columns = latitude, longitude, height, speed, track % (2 * np.pi)
        if self.held:
            turn = np.floor((time - time[0]) / self.held + 1e-6)
            first = np.searchsorted(turn, turn)
            columns = tuple(column[first] for column in columns)
        return clock, *columns

    def fixes(self, truth: Flight, rng):
        clock, latitude, longitude, height, speed, track = self.see(truth, rng)
        return build(
            clock,
            latitude,
            longitude,
            None if self.barometer else height,
            pressure_altitude=height if self.barometer else None,
            ground_speed=speed if self.writes_speed else None,
            track=track if self.writes_speed else None,
        )


def box_of_legs(rng, leg=60.0, wind=6.0, airspeed=50.0, tracks=(0.3, 1.9, 3.4, 5.0), height=800.0) -> Flight:
    """Level legs on given tracks in a steady wind, with standard-rate turns between."""
    from_direction = rng.uniform(0, 2 * np.pi)
    track = []
    for here, there in zip(tracks, (*tracks[1:], None), strict=True):
        track.append(np.full(int(leg / STEP), here))
        if there is not None:
            track.append(np.linspace(here, there, int(abs(there - here) / np.radians(3.0) / STEP)))
    track = np.concatenate(track)
    across = wind * np.sin(from_direction - track)
    speed = np.sqrt(airspeed**2 - across**2) - wind * np.cos(from_direction - track)
    # the pilot's height wanders by a few metres, slowly
    time = np.arange(track.size) * STEP
    climb = 0.15 * np.sin(2 * np.pi * time / rng.uniform(60, 120) + rng.uniform(0, 6))
    return flight(speed, track, climb, height)


def level_climb_level(rng) -> Flight:
    """Level, a climb whose rate falls with height, level."""
    rate = rng.uniform(1.5, 6.0)
    climb = held([(30, 0.0), (4, rate), (rng.uniform(80, 150), rate * rng.uniform(0.75, 0.95)), (4, 0.0), (30, 0.0)])
    return flight(np.full(climb.size, 32.0), np.full(climb.size, 1.1), climb, 300.0)


@dataclass
class TakeOff:
    """A take-off with its truth."""

    truth: Flight
    released: float
    lifted: float
    lift_off_speed: float
    roll: float
    rotation: float
    slope: float


def take_off(rng, rotation=None, slope=None) -> TakeOff:
    """Standing, a roll against growing drag, rotation into a steady climb.

    dv/dt = a (1 - (v/V)^2), whose solution is v = V tanh(a t/V) and s = V^2/a ln cosh(a t/V).
    """
    wait, acceleration, limit = rng.uniform(15, 25), rng.uniform(1.8, 3.2), rng.uniform(45, 60)
    lift_off = rng.uniform(19, 25)
    climb_rate = rng.uniform(2.5, 5.0)
    rotation = max(rng.normal(3.0, 1.0), 0.5) if rotation is None else rotation
    slope = rng.normal(0.0, 0.005) if slope is None else slope
    time = np.arange(0, wait + 60, STEP)
    rolled = np.maximum(time - wait, 0.0)
    speed = limit * np.tanh(acceleration * rolled / limit)
    duration = limit / acceleration * np.arctanh(lift_off / limit)
    # the acceleration dies away within five seconds of lift-off
    lifted = wait + duration
    after = np.maximum(time - lifted, 0.0)
    still_gaining = acceleration * (1 - (lift_off / limit) ** 2)
    speed = np.where(time <= lifted, speed, lift_off + still_gaining * 5.0 * (1 - np.exp(-after / 5.0)))
    climb = np.where(time <= lifted, slope * speed, slope * lift_off + climb_rate * np.clip(after / rotation, 0, 1))
    roll = limit**2 / acceleration * np.log(np.cosh(acceleration * duration / limit))
    made = flight(speed, np.full(time.size, 2.2), climb, 120.0)
    return TakeOff(made, wait, lifted, lift_off, roll, rotation, slope)


@dataclass
class Landing:
    """A landing with its truth."""

    truth: Flight
    touched: float
    stood: float
    touch_down_speed: float
    roll: float


def landing(rng, held_off=None, slope=None, ends="standing", stands=20.0) -> Landing:
    """A steady approach, a flare, the aeroplane held off, the wheels down, braking to a standstill.

    On the ground dv/dt = -(a + k v^2), whose solution is v = V tan(c - sqrt(a k) t), V = sqrt(a/k), and
    s = ln(1 + k v0^2/a)/(2 k). ``ends`` is ``"standing"``, ``"taxying"`` (never below 4 m/s) or ``"turning"``.
    """
    sink, touch_down = rng.uniform(2.0, 4.0), rng.uniform(18.0, 25.0)
    flare = float(np.clip(rng.normal(4.0, 1.5), 1.0, None))
    held_off = rng.exponential(2.0) if held_off is None else held_off
    slope = rng.normal(0.0, 0.005) if slope is None else slope
    braking, drag = rng.uniform(1.2, 2.5), rng.uniform(0.0005, 0.003)
    approach = 60.0
    time = np.arange(0.0, approach + flare + held_off + 25.0 + stands, STEP)
    flare_end, touched = approach + flare, approach + flare + held_off
    phase, beat = np.arctan(touch_down * np.sqrt(drag / braking)), np.sqrt(braking * drag)
    stood = touched + phase / beat
    rolled = np.clip(time - touched, 0.0, phase / beat)
    speed = np.sqrt(braking / drag) * np.tan(phase - beat * rolled)
    # in the air it slows at 0.9 m/s2 from the beginning of the flare
    speed = np.where(time < touched, touch_down + 0.9 * np.clip(touched - time, 0.0, flare + held_off), speed)
    speed = np.where(time > stood, 0.0, np.maximum(speed, 0.0))
    climb = np.where(
        time < touched,
        slope * touch_down - sink * np.clip((flare_end - time) / flare, 0.0, 1.0),
        slope * speed,
    )
    track = np.full(time.size, 2.2)
    if ends != "standing":
        at = np.searchsorted(-speed, -4.0)  # the first moment at which it is slower than that
        at = max(at, int(touched / STEP))
        speed[at:] = 4.0
        if ends == "turning":
            speed[at:] = np.clip(4.0 - 0.5 * (time[at:] - time[at]), 0.0, None)
            track[at:] = 2.2 + np.radians(90.0) * np.clip((time[at:] - time[at]) / 4.0, 0.0, 1.0)
    made = flight(speed, track, climb, 320.0)
    roll = np.log(1 + drag * touch_down**2 / braking) / (2 * drag)
    return Landing(made, touched, stood, touch_down, roll)
