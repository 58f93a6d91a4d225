"""Where in a track is the take-off roll, where did the wheels leave the ground, and how long was the roll?

The roll begins where the first metres per second, carried back to a standstill, say that the brakes were let go. It
ends where the ground speed passes the lift-off speed, if the pilot gives one, or where the height begins to rise
(:mod:`.lift_off`). The way between is the recorded ground speed integrated, or the distance of the two positions, by
whichever is better known; the other checks it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.fixes import Fixes, local_metres, rounding_of_places
from samesky.instruments.tracks.lift_off import LiftOff, by_height, by_speed
from samesky.instruments.tracks.noise import Estimate, Noise
from samesky.instruments.tracks.segments import Found, Segment, choose, looked_at


def takeoff_roll(
    fixes: Fixes,
    *,
    lift_off_speed: Estimate | None = None,
    expected: int = 1,
    between: tuple[float, float] | None = None,
    still: float = 1.5,
    flying: float = 15.0,
    least_height: float = 15.0,
    longest: float = 90.0,
    slope: Estimate = Estimate(0.0, 0.005),  # noqa: B008
    rotation: Estimate = Estimate(3.0, 1.0),  # noqa: B008
    speed_noise: Noise = noises.SPEED,
    position_noise: Noise = noises.POSITION,
    height_noise: Noise | None = None,
) -> Found:
    """Take-off rolls of a track, in order of time.

    Parameters
    ----------
    lift_off_speed : [m/s] over the ground, with its uncertainty; None finds the lift-off in the heights
    expected : number of take-offs flown
    between : (start, end) [s] look only there
    still : [m/s] below which the aeroplane counts as standing
    flying : [m/s] that a take-off passes, within ``longest`` [s] of standing
    least_height : [m] to be gained within a minute after that, or it was no take-off
    slope : of the runway in the direction of take-off, uphill positive
    rotation : [s] from lift-off to a steady climb
    speed_noise, position_noise, height_noise : of the receiver (the last by its kind where None)

    Returns
    -------
    Found
        segments with ``roll`` [m], ``lift-off time`` [s since 1970], ``lift-off ground speed`` [m/s], ``track`` [rad]
        and ``acceleration`` [m/s2]. Touch-and-go landings, running and broken-off take-offs are candidates without
        values, and say so; they are not counted.
    """
    part = looked_at(fixes, between)
    position_noise = position_noise.with_white(rounding_of_places(part))
    height, height_name = part.heights()
    noise = height_noise or (noises.PRESSURE_ALTITUDE if height_name == "pressure altitude" else noises.ALTITUDE)
    rolls, others = [], []
    for first, last, why_not in _runs(part, height, still, flying, least_height, longest):
        if why_not:
            others.append(Segment("take-off roll", float(part.time[first]), float(part.time[last]), {}, (why_not,)))
            continue
        roll = _Roll(part, first, last, still, speed_noise, position_noise)
        lift_off = roll.lift_off(lift_off_speed, height, noise, slope, rotation)
        rolls.append(roll.segment(lift_off))
    assumptions = (
        f"a take-off goes from below {still:g} m/s past {flying:g} m/s in {longest:g} s, then up {least_height:g} m",
        f"lift-off is where the ground speed passes {lift_off_speed.value:.1f} m/s"
        if lift_off_speed
        else f"lift-off is where the {height_name} begins to rise, with {rotation.value:g} s (standard uncertainty "
        f"{rotation.standard_uncertainty:g} s) from there to a steady climb, and a slope of {slope.value:.1%}",
        f"speed noise: {speed_noise.source}",
        f"height noise: {noise.source}",
    )
    torn = [roll for roll in rolls if "roll" not in roll.values]
    blocked = torn[0].notes[0] if torn else ""
    found = choose(rolls, expected, "take-off rolls", assumptions, blocked)
    candidates = tuple(sorted((*rolls, *others), key=lambda roll: roll.start))
    return Found(found.chosen, candidates, found.ambiguous, found.reason, found.assumptions)


def _runs(part: Fixes, height, still, flying, least_height, longest):
    """Accelerations through ``flying``: index of the last slow fix, of the first fast one, and why it is none."""
    speed, fast = part.ground_speed, part.ground_speed >= flying
    for up in np.flatnonzero(fast[1:] & ~fast[:-1]) + 1:
        before = np.flatnonzero((part.piece == part.piece[up]) & (np.arange(speed.size) < up))
        since = before[speed[before] >= flying]
        before = before[before > since[-1]] if since.size else before
        if not before.size:
            continue
        standing = before[speed[before] < still]
        slowest = before[np.argmin(speed[before])]
        later = (part.time > part.time[up]) & (part.time <= part.time[up] + 60) & (part.piece == part.piece[up])
        if not standing.size:
            if since.size and speed[slowest] > flying - 2.0:
                continue  # noise about the threshold
            yield (
                slowest,
                up,
                f"no standstill, slowest at {speed[slowest]:.1f} m/s: a running take-off or a touch-and-go",
            )
        elif part.time[up] - part.time[standing[-1]] > longest:
            yield standing[-1], up, f"more than {longest:g} s from standing to {flying:g} m/s: not one acceleration"
        elif not np.isnan(height).any() and (
            not later.any() or height[later].max() - np.median(height[standing[-5:]]) < least_height
        ):
            yield (
                standing[-1],
                up,
                f"never {least_height:g} m up within a minute: a take-off broken off, or fast taxying",
            )
        else:
            yield standing[-1], up, ""


class _Roll:
    """One take-off: from the last standing fix to the first beyond flying speed and some way up."""

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

    def lift_off(self, speed: Estimate | None, height, noise: Noise, slope: Estimate, rotation: Estimate) -> LiftOff:
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
        east, north = local_metres(self.part.latitude[own], self.part.longitude[own])
        clock = self.part.time[own]
        away = np.hypot(
            np.interp(moment, clock, east) - np.interp(self.start, clock, east),
            np.interp(moment, clock, north) - np.interp(self.start, clock, north),
        )
        noise = self.position_noise
        lost = -np.expm1(-(moment - self.start) / noise.correlation_time)
        return float(away), float(np.sqrt(2 * noise.standard_deviation**2 * lost + 2 * noise.white**2))

    def segment(self, lift_off: LiftOff) -> Segment:
        """The roll with its uncertainties, or the reason why it has none."""
        if lift_off.note:
            return Segment("take-off roll", self.start, float(self.part.time[self.fast]), {}, (lift_off.note,))
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
        notes = ()
        if self.recorded and abs(by_speeds - positions) > 3 * np.sqrt(integral + u_positions**2):
            notes = (f"speeds give {by_speeds:.0f} m, positions {positions:.0f} m: one of them is wrong",)
        taken = (self.part.time >= self.start) & (self.part.time <= moment)
        east = np.sum(self.part.ground_speed[taken] * np.sin(self.part.track[taken]))
        north = np.sum(self.part.ground_speed[taken] * np.cos(self.part.track[taken]))
        values = {
            "roll": Estimate(roll, float(np.sqrt(variance))),
            "lift-off time": lift_off.time,
            "lift-off ground speed": Estimate(speed, lift_off.speed_uncertainty),
            "track": Estimate(float(np.arctan2(east, north) % (2 * np.pi)), noise.standard_deviation / (speed / 2)),
            "acceleration": Estimate(self.acceleration, noise.standard_deviation / 12.0 * self.acceleration),
        }
        return Segment("take-off roll", self.start, moment, values, notes + lift_off.remarks)


def worked_out(part: Fixes, noise: Noise) -> tuple[Fixes, Noise]:
    """The track with ground speeds from positions two seconds apart (or two fixes), and the noise of such speeds."""
    apart = max(2.0, 2 * part.interval)
    east, north = local_metres(part.latitude, part.longitude)
    speed = part.ground_speed.copy()
    for number in np.unique(part.piece):
        own = part.piece == number
        clock = part.time[own]
        before, after = np.maximum(clock - apart / 2, clock[0]), np.minimum(clock + apart / 2, clock[-1])
        way = [np.interp(after, clock, line[own]) - np.interp(before, clock, line[own]) for line in (east, north)]
        speed[own] = np.hypot(*way) / np.maximum(after - before, 1e-9)
    variance = -2 * noise.standard_deviation**2 * np.expm1(-apart / noise.correlation_time) + 2 * noise.white**2
    return replace(part, ground_speed=speed), Noise(float(np.sqrt(variance)) / apart, apart, source=noise.source)


def speed_at_first_fix(part: Fixes, start: float) -> float:
    """Ground speed [m/s] of the first fix after the brakes were let go."""
    return float(part.ground_speed[np.searchsorted(part.time, start)])
