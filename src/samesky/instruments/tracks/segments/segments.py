"""What is a segment of a track, and how is one found without fooling the pilot?

A finder gives a :class:`Found`: all candidates, what it assumed, and a choice only where there is exactly one way to
choose. Otherwise the choice is empty, ``ambiguous`` is true and ``reason`` says what the pilot has to decide.

What the finders take for still, level or steady unless told otherwise is assumed: no print says so, and each is a
parameter. Helpers here look at a track through a sliding window, never across a break.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from samesky.instruments.tracks.fixes import Fixes
from samesky.instruments.tracks.noise import TrackEstimate


@dataclass(frozen=True, slots=True)
class Segment:
    """One stretch of a track that measures something.

    Attributes
    ----------
    kind : ``"level leg"``, ``"climb"``, ``"descent"``, ``"take-off roll"`` or ``"landing roll"``
    start, end : [s] since 1970-01-01 UTC
    values : by name, SI, each with its standard uncertainty
    notes : what a pilot should know before using it
    """

    kind: str
    start: float
    end: float
    values: dict[str, TrackEstimate] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def duration(self) -> float:
        """Length in time [s]."""
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class Found:
    """What a finder found.

    Attributes
    ----------
    chosen : the segments to use; empty where the track does not say which
    candidates : all segments that could be meant, the chosen ones among them
    ambiguous : the pilot has to decide
    reason : why these were chosen, or why none was
    assumptions : thresholds and noise that were used, in sentences
    """

    chosen: tuple[Segment, ...]
    candidates: tuple[Segment, ...]
    ambiguous: bool
    reason: str
    assumptions: tuple[str, ...]


def choose(
    candidates: list[Segment], expected: int, what: str, assumptions: tuple[str, ...], blocked: str = ""
) -> Found:
    """Choose all candidates where there are as many as ``expected`` and nothing blocks the choice."""
    count = len(candidates)
    what = what if count != 1 else what.removesuffix("s")
    if count == expected and count and not blocked:
        reason = f"{count} {what} found, as expected"
        return Found(tuple(candidates), tuple(candidates), False, reason, assumptions)
    reason = blocked or f"{count} {what} found, {expected} expected"
    if count > expected:
        reason += ": say which are meant by the times between which to look"
    return Found((), tuple(candidates), True, reason, assumptions)


def rolling_line(
    time: np.ndarray, values: np.ndarray, piece: np.ndarray, window: float
) -> tuple[np.ndarray, np.ndarray]:
    """Mean and slope of a straight line fitted within ``window`` [s] about each fix, shape (n,) each.

    NaN where fewer than three fixes fall into the window; windows end at breaks.
    """
    mean, slope = np.full(time.size, np.nan), np.full(time.size, np.nan)
    for number in np.unique(piece):
        own = np.flatnonzero(piece == number)
        clock, value = time[own] - time[own[0]], values[own]
        first = np.searchsorted(clock, clock - window / 2 - 1e-9)
        last = np.searchsorted(clock, clock + window / 2 + 1e-9)
        sums = [np.r_[0.0, np.cumsum(part)] for part in (np.ones_like(clock), clock, value, clock**2, clock * value)]
        count, t, y, tt, ty = (total[last] - total[first] for total in sums)
        spread = count * tt - t**2
        enough = (count >= 3) & (spread > 0)
        with np.errstate(divide="ignore", invalid="ignore"):
            tilt = (count * ty - t * y) / spread
            at_fix = y / count + tilt * (clock - t / count)
        slope[own] = np.where(enough, tilt, np.nan)
        mean[own] = np.where(enough, at_fix, np.nan)
    return mean, slope


def stretches(good: np.ndarray, time: np.ndarray, piece: np.ndarray, bridge: float) -> list[tuple[int, int]]:
    """First and last index (included) of the runs of good fixes, lapses up to ``bridge`` [s] within a piece bridged."""
    runs: list[tuple[int, int]] = []
    edges = np.diff(np.r_[0, good.astype(int), 0])
    for first, last in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1, strict=True):
        # a run of good fixes can itself reach across a break: cut it there
        cuts = np.flatnonzero(np.diff(piece[first : last + 1])) + first
        for start, end in zip(np.r_[first, cuts + 1], np.r_[cuts, last], strict=True):
            if runs and piece[runs[-1][1]] == piece[start] and time[start] - time[runs[-1][1]] <= bridge:
                runs[-1] = (runs[-1][0], int(end))
            else:
                runs.append((int(start), int(end)))
    return runs


def unwrapped(angle: np.ndarray, piece: np.ndarray) -> np.ndarray:
    """The angle [rad] without its jumps at a full turn, piece by piece."""
    out = angle.copy()
    for number in np.unique(piece):
        own = piece == number
        out[own] = np.unwrap(angle[own])
    return out


def looked_at(fixes: Fixes, between: tuple[float, float] | None) -> Fixes:
    """The part of the track in which to look."""
    return fixes if between is None else fixes.between(*between)


def scatter_note(what: str, scatter: float, inflation: float) -> tuple[str, ...]:
    """Say that readings scatter more than the stated noise."""
    if inflation <= 1:
        return ()
    return (f"{what} scatters {scatter:.1f} times as much as the stated noise: its uncertainty was widened by that",)
