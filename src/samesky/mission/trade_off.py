"""Which configuration suits which flying?

Every measure's difference is put into one currency, the smallest difference that matters on it: a gain of 2 means twice
what the pilot said would make a difference. A mission adds the gains up by its weights. The sum is shown with its
interval, and beside it how often each configuration comes out ahead over all weights that rank the measures alike
and over the intervals of the measures. Where one gains and the other loses, that is said first: a score that hides a
trade-off is worse than none.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special

from samesky.campaign.messages.phrases import meant
from samesky.inference import several, verdict
from samesky.inference.result import Comparison
from samesky.inference.together.by_all import ByAll
from samesky.inference.together.shared_errors import correlations
from samesky.inference.together.witness import witness
from samesky.inference.uncertainty import join, t_quantile
from samesky.mission.weights import agreeing, normalised

#: Draws behind a share; its Monte Carlo error is then below half a per cent.
DRAWS = 20_000
#: A configuration suits a mission when it is ahead in at least this share of the draws (chosen).
FIRM = 0.90


@dataclass(frozen=True, slots=True)
class Gain:
    """What the other configuration gains on one measure, in smallest differences that matter (loss negative)."""

    measure: str
    title: str
    gain: float
    standard_uncertainty: float
    degrees_of_freedom: float
    verdict: str
    worst_drift: float = 0.0


@dataclass(frozen=True, slots=True)
class Suited:
    """What a mission makes of the gains.

    Attributes
    ----------
    mission : its name
    baseline, other : keys of the configurations
    weights : by measure, sum one
    missing : measures that the mission counts and that have no runs of both configurations that count
    unsure : measures that it counts and that were compared, but have no interval
    value : weighted gain of the other, in smallest differences that matter; NaN where something is missing or unsure
    interval_95, interval_90 : of the value
    other_ahead, baseline_ahead : shares of draws over agreeing weights and over intervals in which the one is ahead by
        more than nothing that matters; the rest lies between
    answer : ``"B"`` or ``"A"`` (a key), ``"either"`` or ``"open"``
    """

    mission: str
    baseline: str
    other: str
    weights: Mapping[str, float]
    missing: tuple[str, ...]
    unsure: tuple[str, ...]
    value: float
    interval_95: tuple[float, float]
    interval_90: tuple[float, float]
    other_ahead: float
    baseline_ahead: float
    answer: str

    @property
    def hangs_on_weights(self) -> bool:
        """Whether it is open although the interval excludes zero: which is ahead hangs on what counts how much."""
        low, high = self.interval_95
        return self.answer == "open" and len(self.weights) > 1 and (low > 0 or high < 0)

    def to_json(self) -> dict[str, object]:
        """The fields promised to machines; null where a number does not exist."""
        return {
            "kind_of_flying": self.mission,
            "baseline": self.baseline,
            "other": self.other,
            "answer": None if self.missing or self.unsure else self.answer,
            "weights": dict(self.weights),
            "not_flown": list(self.missing),
            "no_interval": list(self.unsure),
            "gain": meant(self.value),
            "gain_95": [meant(end) for end in self.interval_95],
            "other_ahead": meant(self.other_ahead),
            "baseline_ahead": meant(self.baseline_ahead),
        }

    def sentence(self) -> str:
        """The answer as a pilot would say it."""
        if self.missing or self.unsure:
            return (
                f"{self.mission}: cannot be said: {'; '.join(filter(None, (self._not_flown(), self._no_interval())))}."
            )
        said = {
            "either": "either will do: the two differ by less than what matters",
            "open": "open: the runs and the weights leave it undecided",
        }.get(self.answer, f"{self.answer} suits it")
        return f"{self.mission}: {said}."

    def _not_flown(self) -> str:
        if not self.missing:
            return ""
        has = "have" if len(self.missing) > 1 else "has"
        return f"{_named(self.missing)} {has} no runs of both {self.baseline} and {self.other} that count"

    def _no_interval(self) -> str:
        if not self.unsure:
            return ""
        return f"{_named(self.unsure)} {'have' if len(self.unsure) > 1 else 'has'} no interval"


def _named(measures: Sequence[str]) -> str:
    return " and ".join(name.replace("_", " ") for name in measures)


def gains(comparisons: Sequence[Comparison]) -> dict[str, Gain]:
    """The gain of the other configuration on every measure compared, by measure; its uncertainty is NaN without one."""
    found = {}
    for one in comparisons:
        sign = 1.0 if one.better == "larger" else -1.0
        told = one.deciding
        found[one.measure] = Gain(
            one.measure,
            one.title,
            sign * told.difference / one.smallest_that_matters,
            told.standard_uncertainty / one.smallest_that_matters,
            told.degrees_of_freedom,
            told.verdict,
            told.worst_drift / one.smallest_that_matters if isinstance(told, ByAll) else _limit(one),
        )
    return found


def _limit(one: Comparison) -> float:
    """The most that hidden drift may do to the gain."""
    level = one.scale.level if one.scale.asked.measure.ratio else 1.0
    return abs(one.scale.shown(level * float(one.estimate.worst_drift))) / one.smallest_that_matters


def correlated(comparisons: Sequence[Comparison]) -> dict[tuple[str, str], float]:
    """Correlation of the gains of every two measures, by names (:mod:`samesky.inference.together.shared_errors`)."""
    found = correlations([witness(one) for one in comparisons])
    names = [one.measure for one in comparisons]
    shared = {(a, b): float(found[i, j]) for i, a in enumerate(names) for j, b in enumerate(names)}
    for one in comparisons:
        if isinstance(one.deciding, ByAll):
            # What others tell errs as they do: taken as wholly shared, the sign that hurts.
            for name in names:
                if name != one.measure and one.deciding.shares.get(name):
                    shared[one.measure, name] = shared[name, one.measure] = 1.0
    return shared


def judge_mission(
    mission: str,
    weights: Mapping[str, float],
    found: Mapping[str, Gain],
    baseline: str,
    other: str,
    shared: Mapping[tuple[str, str], float] | None = None,
    compared: int = 2,
    seed: int = 20_260_401,
) -> Suited:
    """What one mission makes of the gains.

    ``shared`` is the correlation of the gains of two measures by their names, as :func:`correlated` gives it; without
    it they count as independent. With more than two configurations ``compared``, the answers of all pairs hold
    together. ``seed`` fixes the draws.

    Raises ValueError where a weight is negative or all are zero.
    """
    counted = {name: weight for name, weight in weights.items() if weight > 0}
    share = dict(zip(counted, normalised(np.array(list(counted.values()))), strict=True))
    missing = tuple(name for name in counted if name not in found)
    unsure = tuple(name for name in counted if name in found and not math.isfinite(found[name].standard_uncertainty))
    unknown, nothing = math.nan, (math.nan, math.nan)
    if missing or unsure:
        return Suited(
            mission, baseline, other, share, missing, unsure, unknown, nothing, nothing, unknown, unknown, "open"
        )
    w = np.array(list(share.values()))
    gain, u, df = (
        np.array([getattr(found[name], field) for name in share])
        for field in ("gain", "standard_uncertainty", "degrees_of_freedom")
    )
    limit = np.array([found[name].worst_drift for name in share])
    own = np.array([[1.0 if a == b else (shared or {}).get((a, b), 0.0) for b in share] for a in share])
    value = float(w @ gain)
    _, effective = join(np.square(w * u), df)
    # Errors that measures share add up, and never to less than if they had none in common.
    combined = math.sqrt(max(float((w * u) @ own @ (w * u)), float(np.square(w * u).sum())))
    ends = {
        level: _interval(value, combined, float(effective), level, float(w @ limit), compared) for level in (0.95, 0.90)
    }
    rng = np.random.default_rng(seed)
    values, axes = np.linalg.eigh(own)
    normal = rng.standard_normal((DRAWS, gain.size)) @ (axes * np.sqrt(np.maximum(values, 0.0))).T
    # Student's t of each measure's degrees of freedom, with the correlation of the normal draws.
    drawn = gain + u * t_quantile(special.ndtr(normal), np.minimum(df, 1e6))
    weighed = agreeing(w, DRAWS, rng)
    values, limits = (weighed * drawn).sum(axis=1), weighed @ limit
    ahead, behind = float((values - limits > 0).mean()), float((values + limits < 0).mean())
    return Suited(
        mission,
        baseline,
        other,
        share,
        (),
        (),
        value,
        ends[0.95],
        ends[0.90],
        ahead,
        behind,
        _of_one(found, share, _answer(ends, ahead, behind, baseline, other)),
    )


def _of_one(found: Mapping[str, Gain], weights: Mapping[str, float], answer: str) -> str:
    """The answer; open where the one measure that counts is itself undecided, after Holm or for the order flown."""
    if len(weights) > 1 or answer == "either":
        return answer
    return "open" if found[next(iter(weights))].verdict == verdict.WORDS[verdict.NOT_ENOUGH] else answer


def trade_off(comparisons: Sequence[Comparison]) -> dict[str, tuple[str, ...]]:
    """Titles of the measures on which each configuration is better, by its key; keys that win nothing are absent."""
    won: dict[str, tuple[str, ...]] = {}
    for one in comparisons:
        for key in (one.baseline, one.other):
            if one.deciding_verdict == f"{key} better":
                won[key] = (*won.get(key, ()), one.title)
    return won


def _interval(value: float, u: float, df: float, level: float, limit: float, compared: int) -> tuple[float, float]:
    quantile = several.together(level, compared, df) if compared > 2 else t_quantile(0.5 + level / 2.0, df)
    half = float(quantile) * u + limit
    return value - half, value + half


def _answer(ends: Mapping[float, tuple[float, float]], ahead: float, behind: float, baseline: str, other: str) -> str:
    """Better only if the interval excludes zero and the ranking alone carries it; alike only if within one unit."""
    low, high = ends[0.95]
    if ends[0.90][0] > -1.0 and ends[0.90][1] < 1.0:
        return "either"
    if low > 0 and ahead >= FIRM:
        return other
    if high < 0 and behind >= FIRM:
        return baseline
    return "open"
