"""How long did it take from one ground speed to another on the take-off run?

The same accelerations from a standstill as a take-off roll (:mod:`.ground_rolls`), and no lift-off to be found: only
the fixes between the two speeds count. A straight line is fitted through them by generalised least squares, bent by as
much as the acceleration of light aeroplanes falls on the way, which a handful of fixes cannot tell.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.fixes import Fixes, rounding_of_places
from samesky.instruments.tracks.noise import Noise, TrackEstimate
from samesky.instruments.tracks.segments.ground_rolls import Limits, found_rolls, runs, worked_out
from samesky.instruments.tracks.segments.segments import Found, Segment, looked_at, scatter_note
from samesky.instruments.tracks.segments.takeoff_segment import WORDS

#: Share of the acceleration that each m/s of ground speed takes, over that speed [s^2/m^2], and how far that may be off
#: as a share of itself (assumed; 0.0012 to 0.0019 in own computations).
LOSS, LOSS_UNKNOWN = 0.0016, 0.6
#: Speed [m/s] beyond the two between which fixes still count: more fixes, the same line.
BESIDE = 1.5
#: How such a stretch is called.
KIND = "acceleration on the ground"
#: Fewest fixes of a line.
FEWEST = 3


@dataclass(frozen=True, slots=True)
class SpeedGain:
    """Between which ground speeds [m/s] the time is taken."""

    first: float
    second: float


def ground_acceleration(
    fixes: Fixes,
    *,
    first: float,
    second: float,
    expected: int = 1,
    between: tuple[float, float] | None = None,
    still: float = 1.5,
    flying: float = 15.0,
    least_height: float = 15.0,
    longest: float = 90.0,
    speed_noise: Noise = noises.SPEED,
    position_noise: Noise = noises.POSITION,
) -> Found:
    """Accelerations on the ground of a track's take-offs, in order of time.

    Parameters
    ----------
    first, second : [m/s] ground speeds between which the time is taken; all wheels must be on the ground at either
    expected, between, still, flying, least_height, longest : as in :func:`.takeoff_segment.takeoff_roll`
    speed_noise, position_noise : of the receiver

    Returns
    -------
    Found
        segments with ``elapsed`` [s] from the one speed to the other, ``acceleration`` [m/s^2] and ``track`` [rad];
        accelerations that are no take-off are candidates without values, and say so
    """
    part = looked_at(fixes, between)
    position_noise = position_noise.with_white(rounding_of_places(part))
    height, _ = part.heights()
    limits = Limits(still, max(flying, second + BESIDE), least_height, longest)
    gains, others = [], []
    for begin, up, why_not in runs(part, height, limits, WORDS, (speed_noise, position_noise)):
        if why_not:
            others.append(Segment(KIND, float(part.time[begin]), float(part.time[up]), {}, (why_not,)))
            continue
        gains.append(_measured(part, begin, up, SpeedGain(first, second), speed_noise, position_noise))
    assumptions = (
        f"an acceleration goes from below {still:g} m/s past {limits.flying:g} m/s in {longest:g} s, then up "
        f"{least_height:g} m",
        f"a line through all fixes between {first:.1f} and {second:.1f} m/s, bent as the acceleration of light "
        f"aeroplanes falls with speed ({LOSS:g} V for each m/s, within {100 * LOSS_UNKNOWN:.0f} %)",
        f"speed noise: {speed_noise.source}",
    )
    return found_rolls(gains, others, expected, "accelerations on the ground", assumptions, "", "elapsed")


def _measured(part: Fixes, begin: int, up: int, gain: SpeedGain, speed_noise: Noise, position_noise: Noise) -> Segment:
    """The time between the two speeds from the fixes of one run, or the reason why there is none."""
    noise = speed_noise
    if part.computed[begin : up + 1].any():
        part, noise = worked_out(part, position_noise)
    own = np.flatnonzero((part.piece == part.piece[begin]) & (np.arange(len(part)) >= begin))
    speed = part.ground_speed[own]
    fast = np.flatnonzero(speed > gain.second + BESIDE)
    last = fast[0] if fast.size else speed.size
    slow = np.flatnonzero(speed[:last] < gain.first - BESIDE)
    chosen = own[(slow[-1] + 1 if slow.size else 0) : last]
    clock, readings = part.time[chosen], part.ground_speed[chosen]
    told = float(part.time[begin]), float(part.time[up])
    if chosen.size < FEWEST or readings[-1] - readings[0] < 0.5 * (gain.second - gain.first):
        return Segment(KIND, *told, {}, (f"{chosen.size} fixes between the two speeds: too few for a line",))
    noise, middle = noise.with_resolution(readings), float(clock.mean())
    after = clock - middle
    rise = float(noises.fit(noise, clock, readings, np.vander(after, 2, True)).coefficients[1])
    if rise <= 0.2:
        return Segment(KIND, *told, {}, ("the ground speed does not grow between the two speeds",))
    bend = LOSS * 0.5 * (gain.first + gain.second) * rise**2

    def fitted(bend: float) -> noises.CurveFit:
        """The straight line through the readings less their bend [m/s^3]."""
        return noises.fit(noise, clock, readings + 0.5 * bend * np.square(after), np.vander(after, 2, True))

    def passed(line: np.ndarray, bend: float) -> np.ndarray:
        """Moments [s after the middle] at which the bent line passes the two speeds."""
        need = np.array([gain.first, gain.second]) - line[0]
        root = np.sqrt(np.maximum(line[1] ** 2 - 2.0 * bend * need, 1e-9))
        return 2.0 * need / (line[1] + root)

    line = fitted(bend)
    best, spread = np.array(line.coefficients), np.linalg.cholesky(line.covariance) * float(line.inflation)
    changes = [0.5 * (np.ptp(passed(best + push, bend)) - np.ptp(passed(best - push, bend))) for push in spread.T]
    flatter, rounder = (
        np.ptp(passed(np.array(fitted(share * bend).coefficients), share * bend))
        for share in (1.0 - LOSS_UNKNOWN, 1.0 + LOSS_UNKNOWN)
    )
    start, end = (middle + float(moment) for moment in passed(best, bend))
    doubt = float(np.sqrt(np.sum(np.square([*changes, 0.5 * (rounder - flatter)]))))
    found = (gain.second - gain.first) / (end - start)
    east, north = (np.sum(readings * of(part.track[chosen])) for of in (np.sin, np.cos))
    values = {
        "elapsed": TrackEstimate(end - start, doubt),
        "acceleration": TrackEstimate(found, found * doubt / (end - start)),
        "track": TrackEstimate(float(np.arctan2(east, north) % (2 * np.pi)), noise.standard_deviation / gain.second),
    }
    return Segment(KIND, start, end, values, scatter_note("ground speed", float(line.scatter), float(line.inflation)))
