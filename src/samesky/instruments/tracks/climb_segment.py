"""Where in a track is the timed climb, and how fast did it go up?

The mean rate between two heights is the slope of a parabola about the middle of the interval: the curvature of a climb
whose rate falls with height drops out of it. Noise is correlated in time (:mod:`.noise`).
"""

from __future__ import annotations

import numpy as np

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.errors import TrackError
from samesky.instruments.tracks.fixes import Fixes
from samesky.instruments.tracks.noise import Estimate, Noise
from samesky.instruments.tracks.segments import (
    Found,
    Segment,
    choose,
    looked_at,
    rolling_line,
    scatter_note,
    stretches,
)  # fmt: skip


def timed_climb(
    fixes: Fixes,
    *,
    bottom: float | None = None,
    top: float | None = None,
    expected: int = 1,
    between: tuple[float, float] | None = None,
    least_rate: float = 0.5,
    least_gain: float = 60.0,
    settle: float = 10.0,
    window: float = 12.0,
    noise: Noise | None = None,
) -> Found:
    """Climbs of a track, in order of time.

    Parameters
    ----------
    bottom, top : [m] heights between which to time (pressure altitude where the logger has it, else by satellite);
        without them the whole climb counts, less ``settle`` [s] at each end
    expected : number of climbs flown
    between : (start, end) [s] look only there
    least_rate : [m/s] within ``window`` [s] that counts as climbing; lapses up to 5 s are bridged
    least_gain : [m] below which a climb is not listed
    noise : of the height; None takes :data:`.noise.PRESSURE_ALTITUDE` or :data:`.noise.ALTITUDE`

    Returns
    -------
    Found
        segments with ``rate of climb`` [m/s], ``gain`` [m], ``elapsed`` [s], ``from`` and ``to`` [m]

    Raises
    ------
    TrackError
        no heights in the track, or ``top`` not above ``bottom``
    """
    part = looked_at(fixes, between)
    height, name = part.heights()
    if np.isnan(height).any():
        raise TrackError(fixes.source, "fixes without a height", "A climb needs the height of every fix.")
    if (bottom is None) != (top is None) or (bottom is not None and top <= bottom):
        raise TrackError(fixes.source, "the heights of the climb", "Give both, the top above the bottom, or neither.")
    own = (noises.PRESSURE_ALTITUDE if name == "pressure altitude" else noises.ALTITUDE) if noise is None else noise
    smooth, rate = rolling_line(part.time, height, part.piece, window)
    ascents = [
        (first, last)
        for first, last in stretches(rate >= least_rate, part.time, part.piece, bridge=5.0)
        if smooth[last] - smooth[first] >= least_gain
    ]
    assumptions = [
        f"a climb gains {least_rate:g} m/s or more for {least_gain:g} m or more",
        f"height is {name}; its noise: {own.source}",
    ]
    if name == "satellite altitude":
        assumptions.append("heights are geometric: an altimeter's rate is that times standard over actual temperature")
    if bottom is None:
        assumptions.append(f"{settle:g} s at each end of the climb were cut off for settling")
        spans = [(part.time[first] + settle, part.time[last] - settle) for first, last in ascents]
    else:
        spans = [_crossings(part.time, smooth, first, last, bottom, top) for first, last in ascents]
    climbs = [_measure(part, height, span, own) for span in spans if span is not None]
    climbs = [climb for climb in climbs if climb is not None]
    blocked = ""
    if not climbs and ascents:
        reached = ", ".join(f"{smooth[first]:.0f} to {smooth[last]:.0f} m" for first, last in ascents)
        blocked = f"no climb covers the two heights; there are climbs from {reached}"
    return choose(climbs, expected, "climbs", tuple(assumptions), blocked)


def _crossings(time, smooth, first, last, bottom, top) -> tuple[float, float] | None:
    """Times at which one ascent goes through both heights for good: last through the bottom, first through the top."""
    inside = slice(first, last + 1)
    clock, height = time[inside], smooth[inside]
    below, above = np.flatnonzero(height < bottom), np.flatnonzero(height >= top)
    if not below.size or not above.size:
        return None
    low = below[below < above[0]][-1] if (below < above[0]).any() else None
    if low is None:
        return None
    ends = []
    for index, level in ((low, bottom), (above[0] - 1, top)):
        share = (level - height[index]) / (height[index + 1] - height[index])
        ends.append(float(clock[index] + share * (clock[index + 1] - clock[index])))
    return ends[0], ends[1]


def _measure(part: Fixes, height: np.ndarray, span: tuple[float, float], noise: Noise) -> Segment | None:
    own = (part.time >= span[0]) & (part.time <= span[1])
    if own.sum() < 5:
        return None
    clock, reading = part.time[own], height[own]
    fit = noises.fit(noise.with_resolution(reading), clock, reading, noises.powers(clock, 2))
    rate = fit.estimate(1)
    middle, half = (clock[0] + clock[-1]) / 2, np.array(span)
    low, high = (np.polynomial.polynomial.polyval(half - middle, fit.coefficients)).tolist()
    gain = high - low
    relative = rate.standard_uncertainty / abs(rate.value)
    elapsed = span[1] - span[0]
    values = {
        "rate of climb": rate,
        "gain": Estimate(gain, rate.standard_uncertainty * elapsed),
        "elapsed": Estimate(elapsed, elapsed * relative),
        "from": Estimate(low, float(np.hypot(noise.standard_deviation, noise.white))),
        "to": Estimate(high, float(np.hypot(noise.standard_deviation, noise.white))),
    }
    notes = scatter_note("height", float(fit.scatter), float(fit.inflation))
    widest = float(np.diff(clock).max())
    if widest > 0.1 * elapsed:
        notes += (f"{widest:.0f} s of the climb were not recorded",)
    return Segment("climb", span[0], span[1], values, notes)
