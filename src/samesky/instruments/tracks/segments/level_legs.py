"""Which parts of a track are level legs, and how fast did the aeroplane go over the ground on each?

A leg is level where height, direction and speed hold still together. Ground speed and track are those of the mean
velocity over the leg, as multi-leg true airspeed wants them, fitted with correlated noise (:mod:`.noise`).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.fixes import Fixes, local_metres, rounding_of_places
from samesky.instruments.tracks.noise import Noise, TrackEstimate
from samesky.instruments.tracks.segments.segments import (
    Found,
    Segment,
    choose,
    looked_at,
    rolling_line,
    scatter_note,
    stretches,
    unwrapped,
)  # fmt: skip

#: Share (assumed) of fixes without a recorded speed beyond which all speeds of a leg are taken from the positions.
MOST_WORKED_OUT = 0.2


def level_legs(
    fixes: Fixes,
    *,
    expected: int | None = None,
    between: tuple[float, float] | None = None,
    shortest: float = 30.0,
    greatest_climb: float = 0.75,
    greatest_turn: float = np.radians(0.6),
    greatest_acceleration: float = 0.3,
    slowest: float = 15.0,
    greatest_bend: float = np.radians(5.0),
    greatest_drift: float = 0.3,
    greatest_change: float = 1.0,
    altitude_band: float = 60.0,
    window: float = 10.0,
    speed_noise: Noise = noises.SPEED,
    position_noise: Noise = noises.POSITION,
) -> Found:
    """Level legs of a track, in order of time.

    Parameters
    ----------
    expected : number of legs flown; None takes all legs found, as long as they lie within one ``altitude_band``
    between : (start, end) [s] look only there
    shortest : [s] least length of a leg, after ``window``/2 has been cut off each end for settling
    greatest_climb : [m/s], ``greatest_turn`` : [rad/s], ``greatest_acceleration`` : [m/s2] within ``window`` [s]
    slowest : [m/s] ground speed below which the aeroplane is not taken to fly
    greatest_bend : [rad] by which the track may change over a leg (a slow turn is no leg); at 5 degrees the way over
        the ground is 0.03 % shorter than the way flown
    greatest_drift : [m/s] of climb or sink over a leg as a whole
    greatest_change : [m/s] between the slowest and the fastest part of a leg (two knots: assumed)
    altitude_band : [m] legs further apart than this in height are not of one set
    speed_noise, position_noise : of the receiver, per axis; the second where it recorded no speed

    Returns
    -------
    Found
        segments with ``ground speed`` [m/s], ``track`` [rad], ``altitude`` [m], ``rate of climb`` [m/s]; a stretch
        that bends, settles or drifts has no values, says so, and stops the choice
    """
    part = looked_at(fixes, between)
    height, height_name = part.heights()
    direction = unwrapped(part.track, part.piece)
    climb, turn, acceleration = (
        rolling_line(part.time, value, part.piece, window)[1] for value in (height, direction, part.ground_speed)
    )
    good = (np.abs(turn) <= greatest_turn) & (np.abs(acceleration) <= greatest_acceleration)
    good &= part.ground_speed >= slowest
    without_height = np.isnan(height).all()
    if not without_height:
        good &= np.abs(climb) <= greatest_climb
    assumptions = (
        f"a level leg holds {greatest_climb:g} m/s of climb, {np.degrees(greatest_turn):g} deg/s of turn and "
        f"{greatest_acceleration:g} m/s2 for {shortest:g} s, faster than {slowest:g} m/s",
        f"{window / 2:g} s at each end were cut off for settling",
        "height was not recorded and not looked at" if without_height else f"height is {height_name}",
        f"speed noise: {speed_noise.source}",
    )
    legs: list[Segment] = []
    for first, last in stretches(good, part.time, part.piece, bridge=3.0):
        clock = part.time[first : last + 1]
        inside = (clock >= clock[0] + window / 2) & (clock <= clock[-1] - window / 2)
        if clock[-1] - clock[0] - window < shortest or inside.sum() < 5:
            continue
        own = np.arange(first, last + 1)[inside]
        leg = measure_leg(part.select(own), speed_noise, position_noise)
        drift = leg.values.get("rate of climb", TrackEstimate(0.0, 0.0)).value
        slow, fast = _range(part.time[own], part.ground_speed[own], 2)
        bend = float(np.diff(_range(part.time[own], direction[own], 1))[0])
        if bend > greatest_bend:
            leg = _unfit(leg, f"the track bends by {np.degrees(bend):.0f} deg: a slow turn, no leg")
        elif fast - slow > greatest_change:
            leg = _unfit(leg, f"the ground speed goes from {slow:.1f} to {fast:.1f} m/s: not at one airspeed")
        elif abs(drift) > greatest_drift:
            leg = _unfit(leg, f"it climbs at {drift:.1f} m/s from end to end: not level")
        legs.append(leg)
    unfit = [leg for leg in legs if not leg.values]
    count = (len(legs) or 1) if expected is None else expected
    blocked = _several_sets(legs, altitude_band)
    if unfit and len(legs) == count:
        blocked = f"{len(unfit)} of {len(legs)} {'are' if len(unfit) > 1 else 'is'} no level leg: {unfit[0].notes[0]}"
    return choose(legs, count, "level legs", assumptions, blocked)


def _unfit(leg: Segment, why: str) -> Segment:
    """A stretch that holds still for seconds at a time and is no leg: it stands among the candidates, and stops."""
    return replace(leg, values={}, notes=(why,))


def _range(clock: np.ndarray, values: np.ndarray, degree: int) -> tuple[float, float]:
    """Lowest and highest value of a line or parabola through all of them: what the noise does not do."""
    middle = clock - (clock[0] + clock[-1]) / 2
    curve = np.polyval(np.polyfit(middle, values, degree), middle)
    return float(curve.min()), float(curve.max())


def _several_sets(legs: list[Segment], band: float) -> str:
    heights = [leg.values["altitude"].value for leg in legs if "altitude" in leg.values]
    if heights and max(heights) - min(heights) > band:
        return (
            f"the legs lie between {min(heights):.0f} and {max(heights):.0f} m: more than one set of legs, or not "
            "level; say which are meant by the times between which to look"
        )
    return ""


def measure_leg(
    leg: Fixes, speed_noise: Noise = noises.SPEED, position_noise: Noise = noises.POSITION
) -> Segment:  # fmt: skip
    """Ground speed, track and height of a stretch that is known to be a level leg; at least five fixes."""
    recorded = leg.computed.mean() < MOST_WORKED_OUT
    if recorded:
        leg = leg.select(~leg.computed)
    own_noise = (
        speed_noise.with_resolution(leg.ground_speed)
        if recorded
        else position_noise.with_white(rounding_of_places(leg))
    )
    east, north = leg.ground_speed * np.sin(leg.track), leg.ground_speed * np.cos(leg.track)
    guess = np.arctan2(east.mean(), north.mean())
    if recorded:
        along_cross = np.stack(
            [leg.ground_speed * np.cos(leg.track - guess), leg.ground_speed * np.sin(leg.track - guess)]
        )
        design, index = noises.powers(leg.time, 1), 0
    else:
        east, north = local_metres(leg.latitude, leg.longitude, height=_height(leg))
        along_cross = np.stack(
            [east * np.sin(guess) + north * np.cos(guess), east * np.cos(guess) - north * np.sin(guess)]
        )
        design, index = noises.powers(leg.time, 2), 1
    rounding = noises.recorded_turn(leg.track) / np.sqrt(12) if recorded else 0.0
    across_noise = own_noise.with_white(rounding * float(leg.ground_speed.mean()))
    fits = [
        noises.fit(noise, leg.time, values, design)
        for noise, values in zip((own_noise, across_noise), along_cross, strict=True)
    ]
    along, cross = (fit.estimate(index) for fit in fits)
    speed = float(np.hypot(along.value, cross.value))
    # A direction that hardly moves is rounded the same way at every fix: that part does not average out.
    turned = float(np.hypot(cross.standard_uncertainty / speed, rounding))
    values = {
        "ground speed": TrackEstimate(speed, along.standard_uncertainty),
        "track": TrackEstimate(float((guess + np.arctan2(cross.value, along.value)) % (2 * np.pi)), turned),
    }
    notes = scatter_note("ground speed", float(fits[0].scatter), float(fits[0].inflation))
    if not recorded:
        notes += ("ground speed was worked out from the positions",)
    height, name = leg.heights()
    if not np.isnan(height).any():
        own = noises.PRESSURE_ALTITUDE if name == "pressure altitude" else noises.ALTITUDE
        line = noises.fit(own.with_resolution(height), leg.time, height, noises.powers(leg.time, 1))
        values |= {"altitude": line.estimate(0), "rate of climb": line.estimate(1)}
    return Segment("level leg", float(leg.time[0]), float(leg.time[-1]), values, notes)


def _height(leg: Fixes) -> float:
    height = leg.heights()[0]
    return 0.0 if np.isnan(height).all() else float(np.nanmean(height))
