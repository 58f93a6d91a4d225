"""What do a take-off roll and a landing roll have in common in a track? One is the other with the clock turned round.

From a standstill the speed grows through walking pace to flying speed in one go, along one line: whatever taxies,
creeps or turns on the way is no roll, and the reason is kept. The way is the recorded ground speed integrated, or the
distance of the two positions, by whichever is better known; the other checks it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.fixes import Fixes, path_metres
from samesky.instruments.tracks.noise import Noise, TrackEstimate
from samesky.instruments.tracks.segments.lift_off import LiftOff, by_height, by_speed
from samesky.instruments.tracks.segments.segments import Found, Segment, choose, rolling_line, stretches

#: Acceleration [m/s2] below which, for that long [s], the aeroplane rolls on at one speed instead of gaining any.
ROLLING_ON, ROLLED = 0.1, 4.0
#: A roll that is known to no better than this share of itself (95 %) is no measurement (assumed).
USELESS = 0.5
#: Between a standstill and half the flying speed the track may turn so much [rad]; all assumed.
STRAIGHT = np.radians(25.0)
#: Speed [m/s] that counts as creeping where a standstill is wanted, beyond three times the noise, and for how long [s].
CREEPING, STOOD = 0.6, 4.0


@dataclass(frozen=True, slots=True)
class Limits:
    """What a roll has to be: [m/s], [m/s], [m], [s], as in :func:`.takeoff_segment.takeoff_roll`."""

    still: float
    flying: float
    least_height: float
    longest: float


@dataclass(frozen=True, slots=True)
class Words:
    """How a roll, and what is none, are called; ``{}`` stands for numbers."""

    kind: str
    running: str
    long: str
    low: str
    slowed: str
    creeping: str
    rolling: str
    turning: str


def rolls_of(
    part: Fixes,
    height: np.ndarray,
    limits: Limits,
    words: Words,
    noises_of: tuple[Noise, Noise],
    off_the_ground: Callable[[Roll], LiftOff],
) -> tuple[list[Segment], list[Segment]]:
    """The rolls of a track, and what looks like one and is none: without values, the reason in its notes.

    ``noises_of`` are those of speed and position; ``off_the_ground`` says when the wheels left (or touched) the ground.
    """
    speed_noise, position_noise = noises_of
    rolls, others = [], []
    for first, last, why_not in runs(part, height, limits, words, noises_of):
        if why_not:
            others.append(Segment(words.kind, float(part.time[first]), float(part.time[last]), {}, (why_not,)))
            continue
        roll = Roll(part, first, last, limits.still, speed_noise, position_noise)
        rolls.append(roll.segment(off_the_ground(roll), words.kind))
    return rolls, others


def found_rolls(
    rolls: list[Segment],
    others: list[Segment],
    expected: int,
    what: str,
    assumptions: tuple[str, ...],
    blocked: str,
    value: str = "roll",
) -> Found:
    """What was found: rolls without their ``value`` stop the choice, what is no roll is listed beside them."""
    torn = [roll for roll in rolls if value not in roll.values]
    found = choose(rolls, expected, what, assumptions, torn[0].notes[0] if torn else blocked)
    reason = found.reason
    if not rolls and others:
        reason += f"; what comes nearest: {others[-1].notes[0]}"
    candidates = tuple(sorted((*rolls, *others), key=lambda roll: roll.start))
    return Found(found.chosen, candidates, found.ambiguous, reason, found.assumptions)


def runs(
    part: Fixes, height: np.ndarray, limits: Limits, words: Words, noises_of: tuple[Noise, Noise]
) -> Iterator[tuple[int, int, str]]:
    """Accelerations through flying speed: index of the last slow fix, of the first fast one, and why it is no roll."""
    speed, fast = part.ground_speed, part.ground_speed >= limits.flying
    for up in np.flatnonzero(fast[1:] & ~fast[:-1]) + 1:
        before = np.flatnonzero((part.piece == part.piece[up]) & (np.arange(speed.size) < up))
        since = before[speed[before] >= limits.flying]
        before = before[before > since[-1]] if since.size else before
        if not before.size:
            continue
        standing = before[speed[before] < limits.still]
        if standing.size:
            yield int(standing[-1]), int(up), _why_not(part, height, standing, int(up), limits, words, noises_of)
            continue
        slowest = before[np.argmin(speed[before])]
        if since.size and speed[slowest] > limits.flying - 2.0:
            continue  # noise about the threshold
        yield int(slowest), int(up), words.running.format(speed[slowest])


def _why_not(part: Fixes, height, standing, up: int, limits: Limits, words: Words, noises_of) -> str:
    """Why what follows the last standing fix is no roll; blank where it is one."""
    last = standing[-1]
    clock = part.time - part.time[up]
    if -clock[last] > limits.longest:
        return words.long.format(limits.longest, limits.flying)
    later = (clock > 0) & (clock <= 60.0) & (part.piece == part.piece[up])
    ground = height[standing[-5:]][np.isfinite(height[standing[-5:]])]
    if ground.size and not (np.nanmax(np.r_[-np.inf, height[later]]) - np.median(ground) >= limits.least_height):
        return words.low.format(limits.least_height)
    if not ground.size and not (part.ground_speed[later & (clock <= 20.0)] >= 0.8 * limits.flying).all():
        return words.slowed
    noise = noises_of[0]
    if part.computed[last:up].any():
        part, noise = worked_out(part, noises_of[1])
    room = 3.0 * noise.standard_deviation
    stood = (part.piece == part.piece[last]) & (part.time <= part.time[last]) & (part.time >= part.time[last] - STOOD)
    creeps = float(np.median(part.ground_speed[stood]))
    if stood.sum() > 2 and creeps > CREEPING + room:
        return words.creeping.format(creeps)
    own = np.arange(last, up)
    own = own[part.ground_speed[own] < 0.6 * limits.flying]
    way = slice(last, up + 1)
    gain = rolling_line(part.time[way], part.ground_speed[way], part.piece[way], ROLLED)[1]
    flat = (gain[own - last] < ROLLING_ON) & (part.ground_speed[own] >= limits.still)
    for first, end in stretches(flat, part.time[own], part.piece[own], bridge=1.5):
        if part.time[own[end]] - part.time[own[first]] >= ROLLED / 2:
            return words.rolling.format(float(np.median(part.ground_speed[own[first : end + 1]])))
    moving = np.arange(last, up)
    moving = moving[part.ground_speed[moving] >= 2.0]
    turned = np.abs((part.track[moving] - part.track[up] + np.pi) % (2 * np.pi) - np.pi)
    if (turned > STRAIGHT + room / part.ground_speed[moving]).any():
        return words.turning.format(float(np.degrees(turned.max())))
    return ""


class Roll:
    """One roll: from the last standing fix to the first beyond flying speed and some way up."""

    def __init__(self, part: Fixes, first: int, fast: int, still: float, speed_noise: Noise, position_noise: Noise):
        self.first, self.fast = first, fast
        self.position_noise = position_noise
        self.recorded = not part.computed[first : fast + 1].any()
        if self.recorded:
            self.part, self.speed_noise = part, speed_noise
        else:
            self.part, self.speed_noise = worked_out(part, position_noise)
        self.start, self.acceleration, self.u_start = self._release(still)

    def _release(self, still: float) -> tuple[float, float, float]:
        """Time [s] at which the early speeds, carried back, are zero, the acceleration there and u(time)."""
        own = np.arange(self.first, self.fast + 1)
        early = own[(self.part.ground_speed[own] >= still) & (self.part.ground_speed[own] <= 12.0)]
        if early.size < 3:
            early = own[1:4] if own.size > 3 else own
        speed, clock = self.part.ground_speed[early], self.part.time[early] - self.part.time[self.first]
        # time against speed is nearly straight while drag is small; its curvature takes up the rest
        slowness = np.polyfit(speed, clock, 2 if early.size > 4 else 1)
        acceleration = 1 / max(slowness[-2], 0.05)
        return (
            self.part.time[self.first] + slowness[-1],
            acceleration,
            self.speed_noise.standard_deviation / acceleration,
        )

    def lift_off(
        self, speed: TrackEstimate | None, height, noise: Noise, slope: TrackEstimate, rotation: TrackEstimate
    ) -> LiftOff:
        """When the wheels left the ground: by the ground speed where it is told, else by the heights."""
        if speed is not None:
            return by_speed(self.part, self.first, speed, self.speed_noise)
        own = (self.part.piece == self.part.piece[self.first]) & (self.part.time >= self.start - 10.0)
        own &= self.part.time <= self.part.time[self.fast] + 25.0
        if np.isnan(height[own]).any():
            return LiftOff(note="no heights in the track: give the lift-off speed over the ground")
        way = np.array([self.way(moment) for moment in self.part.time[own]])
        return by_height(self.part.time[own], height[own], way, self.part.time[self.fast], noise, slope, rotation)

    def way(self, moment: float) -> float:
        """Distance [m] covered since the brakes were let go, from the ground speeds (trapezium rule)."""
        if moment <= self.start:
            return 0.0
        own = (self.part.time > self.start) & (self.part.piece == self.part.piece[self.first])
        clock = np.r_[self.start, self.part.time[own]]
        speed = np.r_[0.0, self.part.ground_speed[own]]
        inside = clock < moment
        clock, speed = np.r_[clock[inside], moment], np.r_[speed[inside], np.interp(moment, clock, speed)]
        return float(np.trapezoid(speed, clock))

    def by_positions(self, moment: float) -> tuple[float, float]:
        """Distance [m] of two positions along the line between them, and its standard uncertainty."""
        own = (self.part.piece == self.part.piece[self.first]) & (self.part.time <= moment + 3)
        east, north = path_metres(self.part.latitude[own], self.part.longitude[own])
        clock = self.part.time[own]
        away = np.hypot(
            np.interp(moment, clock, east) - np.interp(self.start, clock, east),
            np.interp(moment, clock, north) - np.interp(self.start, clock, north),
        )
        noise = self.position_noise
        lost = -np.expm1(-(moment - self.start) / noise.correlation_time)
        return float(away), float(np.sqrt(2 * noise.standard_deviation**2 * lost + 2 * noise.white**2))

    def segment(self, lift_off: LiftOff, kind: str) -> Segment:
        """The roll with its uncertainties, or the reason why it has none."""
        if lift_off.time is None:
            return Segment(kind, self.start, float(self.part.time[self.fast]), {}, (lift_off.note,))
        moment, speed = lift_off.time.value, lift_off.speed
        duration, noise = moment - self.start, self.speed_noise
        u_begin = 0.5 * speed_at_first_fix(self.part, self.start) * self.u_start
        integral = noises.integral_variance(noise, duration)
        positions, u_positions = self.by_positions(moment)
        by_speeds = self.way(moment)
        if self.recorded and np.sqrt(integral) <= u_positions:
            roll, variance = by_speeds, integral + u_begin**2 + lift_off.shared(noise, duration)
        else:
            roll, variance = positions, u_positions**2
        variance += (speed * lift_off.time.standard_uncertainty) ** 2
        notes: tuple[str, ...] = ()
        if self.recorded and abs(by_speeds - positions) > 3 * np.sqrt(integral + u_positions**2):
            notes = (f"speeds give {by_speeds:.0f} m, positions {positions:.0f} m: one of them is wrong",)
        taken = (self.part.time >= self.start) & (self.part.time <= moment)
        east = np.sum(self.part.ground_speed[taken] * np.sin(self.part.track[taken]))
        north = np.sum(self.part.ground_speed[taken] * np.cos(self.part.track[taken]))
        values = {
            "roll": TrackEstimate(roll, float(np.sqrt(variance))),
            "lift-off time": lift_off.time,
            "lift-off ground speed": TrackEstimate(speed, lift_off.speed_uncertainty),
            "track": TrackEstimate(
                float(np.arctan2(east, north) % (2 * np.pi)), noise.standard_deviation / (speed / 2)
            ),
            "acceleration": TrackEstimate(self.acceleration, noise.standard_deviation / 12.0 * self.acceleration),
        }
        return Segment(kind, self.start, moment, values, notes + lift_off.remarks)


def earlier(roll: Roll, seen: LiftOff, by: TrackEstimate) -> LiftOff:
    """The moment the wheels left (or touched) the ground, ``by`` [s] before that which the heights show.

    The aeroplane is at the ground's height for a while, on its wings already (or still): no height shows that while.
    """
    if seen.time is None:
        return seen
    moment = seen.time.value - by.value
    spread = float(np.hypot(seen.time.standard_uncertainty, by.standard_uncertainty))
    low, here, high = np.interp([moment - spread, moment, moment + spread], roll.part.time, roll.part.ground_speed)
    return replace(
        seen, time=TrackEstimate(moment, spread), speed=float(here), speed_uncertainty=float(abs(high - low)) / 2
    )


def noted(roll: Segment, event: str, most: float = USELESS) -> Segment:
    """The roll, with a note where it is known worse than to ``most`` of itself; ``event`` is how its end is called."""
    share = _share(roll.values["roll"]) if roll.values else 0.0
    if share <= most:
        return roll
    said = f"known to {100 * share:.0f} % of itself only: too little to compare; say the ground speed at {event}"
    return replace(roll, notes=(*roll.notes, said))


def useless(rolls: list[Segment], event: str, what: str, most: float = USELESS) -> str:
    """Why rolls that are known so badly are not chosen, by the worst of them; blank where all are known better."""
    known = [roll for roll in rolls if "roll" in roll.values]
    worst = max(known, key=lambda roll: _share(roll.values["roll"]), default=None)
    if worst is None or _share(worst.values["roll"]) <= most:
        return ""
    length, time = worst.values["roll"], worst.values[f"{event} time"]
    return (
        f"{what} is known to {2 * time.standard_uncertainty:.0f} s only, and a roll to {length.value:.0f} m give or "
        f"take {2 * length.standard_uncertainty:.0f} m: too little to compare; say the ground speed at {event}"
    )


def _share(roll: TrackEstimate) -> float:
    """Half the width of the 95 % interval as a share of the value."""
    return 2.0 * roll.standard_uncertainty / max(roll.value, 1e-9)


def worked_out(part: Fixes, noise: Noise) -> tuple[Fixes, Noise]:
    """The track with speeds and directions from positions two seconds apart (or two fixes), and their noise."""
    apart = max(2.0, 2 * part.interval)
    east, north = path_metres(part.latitude, part.longitude)
    speed, track = part.ground_speed.copy(), part.track.copy()
    for number in np.unique(part.piece):
        own = part.piece == number
        clock = part.time[own]
        before, after = np.maximum(clock - apart / 2, clock[0]), np.minimum(clock + apart / 2, clock[-1])
        way = [np.interp(after, clock, line[own]) - np.interp(before, clock, line[own]) for line in (east, north)]
        speed[own] = np.hypot(*way) / np.maximum(after - before, 1e-9)
        track[own] = np.arctan2(*way) % (2 * np.pi)
    variance = -2 * noise.standard_deviation**2 * np.expm1(-apart / noise.correlation_time) + 2 * noise.white**2
    return replace(part, ground_speed=speed, track=track), Noise(
        float(np.sqrt(variance)) / apart, apart, source=noise.source
    )


def speed_at_first_fix(part: Fixes, start: float) -> float:
    """Ground speed [m/s] of the first fix after the brakes were let go."""
    return float(part.ground_speed[np.searchsorted(part.time, start)])
