"""How fast did it go up, or down, through a band of height, and was that one steady climb or descent at all?

The mean rate between two heights is the slope of a parabola about the middle of the interval: the curvature of a climb
whose rate falls with height drops out of it. Noise is correlated in time (:mod:`.noise`). A descent is a climb with the
height turned over: ``sign`` is +1 or -1 throughout.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.fixes import Fixes
from samesky.instruments.tracks.noise import Noise, TrackEstimate
from samesky.instruments.tracks.readers.errors import TrackError
from samesky.instruments.tracks.segments.segments import Segment, rolling_line, scatter_note, stretches

#: Rates within a segment, as shares of its mean rate, outside of which it is no steady one (assumed): a level-off, a
#: step, a zoom. What a receiver's noise can do to a rate comes on top, three times.
LEAST_SHARE, MOST_SHARE = 0.5, 1.6
#: Share of the height that may have come from speed before that is told, and seconds over which speeds are compared.
FROM_SPEED, SPEED_SPAN = 0.05, 8.0
GRAVITY = 9.80665


@dataclass(frozen=True, slots=True)
class Direction:
    """Up or down: the sign of the rate, and the words for it."""

    sign: float
    kind: str
    many: str
    rate: str
    height: str
    does: str


UP = Direction(+1.0, "climb", "climbs", "rate of climb", "gain", "gains")
DOWN = Direction(-1.0, "descent", "descents", "rate of descent", "loss", "loses")


@dataclass(frozen=True, slots=True)
class SteadySearch:
    """What to look for: [m] from the start to the end of the band or None, [m/s], [m], [s], [s]."""

    band: tuple[float, float] | None
    least_rate: float
    least_height: float
    settle: float
    window: float


def heights_of(part: Fixes, given: Noise | None, kind: str) -> tuple[np.ndarray, str, Noise]:
    """Heights [m] of every fix, their name, and their noise. Raises TrackError where one is missing."""
    height, name = part.heights()
    if np.isnan(height).any():
        raise TrackError(part.source, "fixes without a height", f"A {kind} needs the height of every fix.")
    own = noises.PRESSURE_ALTITUDE if name == "pressure altitude" else noises.ALTITUDE
    return height, name, own if given is None else given


def band_of(source: str, bottom: float | None, top: float | None, way: Direction) -> tuple[float, float] | None:
    """The band [m] in the order in which it is flown; None where none is told. Raises TrackError for half a band."""
    if bottom is None and top is None:
        return None
    if bottom is None or top is None or top <= bottom:
        message = f"the heights of the {way.kind}"
        raise TrackError(source, message, "Give both, the top above the bottom, or neither.")
    return (bottom, top) if way.sign > 0 else (top, bottom)


def assumed(way: Direction, asked: SteadySearch, height_name: str, noise: Noise) -> list[str]:
    """What was taken for granted of the climbs or descents, in sentences."""
    said = [
        f"a {way.kind} {way.does} {asked.least_rate:g} m/s or more for {asked.least_height:g} m or more, without a "
        "level-off",
        f"height is {height_name}; its noise: {noise.source}",
    ]
    if height_name == "satellite altitude":
        said.append("heights are geometric: an altimeter's rate is that times standard over actual temperature")
    if asked.band is None:
        said.append(f"{asked.settle:g} s at each end of the {way.kind} were cut off for settling")
    return said


def steady(
    part: Fixes, height: np.ndarray, noise: Noise, way: Direction, asked: SteadySearch
) -> tuple[list[Segment], str]:
    """All climbs (or descents) that are asked for, in order of time, and why they cannot be used; blank if they can.

    One that is not steady comes without values, the reason in its notes.
    """
    smooth, rate = rolling_line(part.time, way.sign * height, part.piece, asked.window)
    legs = [
        (first, last)
        for first, last in stretches(rate >= asked.least_rate, part.time, part.piece, bridge=5.0)
        if smooth[last] - smooth[first] >= asked.least_height
    ]
    if asked.band is None:
        spans = [(part.time[first] + asked.settle, part.time[last] - asked.settle) for first, last in legs]
    else:
        begin, end = (way.sign * end for end in asked.band)
        crossed = (_crossings(part.time, smooth, first, last, begin, end) for first, last in legs)
        spans = [span for span in crossed if span is not None]
    measured = (_measured(part, height, rate, span, noise, way, asked.window) for span in spans)
    found = [one for one in measured if one is not None]
    unsteady = [one for one in found if not one.values]
    if unsteady:
        return found, f"the {way.kind} is not one steady {way.kind}: {unsteady[0].notes[0]}"
    if not found and legs:
        reached = ", ".join(
            f"{way.sign * smooth[first]:.0f} to {way.sign * smooth[last]:.0f} m" for first, last in legs
        )
        return found, f"no {way.kind} covers the two heights; there are {way.many} from {reached}"
    return found, ""


def _crossings(time, smooth, first, last, begin, end) -> tuple[float, float] | None:
    """Times at which one stretch goes through both heights for good: last through the first, first through the last."""
    inside = slice(first, last + 1)
    clock, height = time[inside], smooth[inside]
    below, above = np.flatnonzero(height < begin), np.flatnonzero(height >= end)
    if not below.size or not above.size:
        return None
    low = below[below < above[0]][-1] if (below < above[0]).any() else None
    if low is None:
        return None
    ends = []
    for index, level in ((low, begin), (above[0] - 1, end)):
        share = (level - height[index]) / (height[index + 1] - height[index])
        ends.append(float(clock[index] + share * (clock[index + 1] - clock[index])))
    return ends[0], ends[1]


def _measured(
    part: Fixes,
    height: np.ndarray,
    rate: np.ndarray,
    span: tuple[float, float],
    noise: Noise,
    way: Direction,
    window: float,
) -> Segment | None:
    own = (part.time >= span[0]) & (part.time <= span[1])
    if own.sum() < 5:
        return None
    clock, reading = part.time[own], height[own]
    noise = noise.with_resolution(reading)
    fit = noises.fit(noise, clock, reading, noises.powers(clock, 2))
    slope = fit.estimate(1)
    slope = TrackEstimate(way.sign * slope.value, slope.standard_uncertainty)
    why_not = _unsteady(clock, rate[own], slope.value, noise, way, window)
    if why_not:
        return Segment(way.kind, span[0], span[1], {}, (why_not,))
    middle, half = (clock[0] + clock[-1]) / 2, np.array(span)
    begin, end = (np.polynomial.polynomial.polyval(half - middle, fit.coefficients)).tolist()
    elapsed = span[1] - span[0]
    at_end = float(np.hypot(noise.standard_deviation, noise.white))
    values = {
        way.rate: slope,
        way.height: TrackEstimate(way.sign * (end - begin), slope.standard_uncertainty * elapsed),
        "elapsed": TrackEstimate(elapsed, elapsed * slope.standard_uncertainty / abs(slope.value)),
        "from": TrackEstimate(begin, at_end),
        "to": TrackEstimate(end, at_end),
    }
    notes = scatter_note("height", float(fit.scatter), float(fit.inflation))
    widest = float(np.diff(clock).max())
    if widest > 0.1 * elapsed:
        notes += (f"{widest:.0f} s of the {way.kind} were not recorded",)
    notes += _borrowed(part.select(own), abs(end - begin))
    return Segment(way.kind, span[0], span[1], values, notes)


def _unsteady(clock: np.ndarray, rate: np.ndarray, mean: float, noise: Noise, way: Direction, window: float) -> str:
    """Why the rates [m/s] within a segment, each over ``window`` [s], are not those of one steady climb or descent."""
    inside = (clock >= clock[0] + window / 2) & (clock <= clock[-1] - window / 2)
    if inside.sum() < 3:
        return ""
    number = max(3.0, window / float(np.median(np.diff(clock))))
    wander = noise.standard_deviation * np.sqrt(-2.0 * np.expm1(-window / noise.correlation_time))
    room = 3.0 * float(np.hypot(wander, noise.white * np.sqrt(12.0 / number))) / window
    low, high = float(rate[inside].min()), float(rate[inside].max())
    if low < LEAST_SHARE * mean - room or high > MOST_SHARE * mean + room:
        at = clock[inside][np.argmin(rate[inside]) if low < LEAST_SHARE * mean - room else np.argmax(rate[inside])]
        where = f"{at - clock[0]:.0f} s after its beginning"
        return f"its rate goes from {low:.1f} to {high:.1f} m/s, {where}: a level-off, a step or a change of power"
    return ""


def _borrowed(part: Fixes, height: float) -> tuple[str, ...]:
    """Say that the ground speed changed so much on one track that height was made of speed, or speed of height."""
    early, late = part.time <= part.time[0] + SPEED_SPAN, part.time >= part.time[-1] - SPEED_SPAN
    east, north = part.ground_speed * np.sin(part.track), part.ground_speed * np.cos(part.track)
    first, last = (np.hypot(east[own].mean(), north[own].mean()) for own in (early, late))
    along = (east[early].mean() * east[late].mean() + north[early].mean() * north[late].mean()) / max(
        first * last, 1e-9
    )
    share = abs(last**2 - first**2) / (2.0 * GRAVITY) / height
    if along < np.cos(np.radians(20.0)) or share < FROM_SPEED:
        return ()
    return (
        f"ground speed went from {first:.0f} to {last:.0f} m/s on one track: if that was airspeed, {share:.0%} of the "
        "height is speed turned into height or height into speed; give entry and exit airspeed",
    )
