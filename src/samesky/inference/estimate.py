"""What is the difference, and how well is it known?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from samesky.inference import believable_drift, budget, joined, pooling, several
from samesky.inference.believable_drift import SEEN_WITHIN
from samesky.inference.budget import WORST, UncertaintyComponent
from samesky.inference.design import Design
from samesky.inference.floor import above_readings
from samesky.inference.uncertainty import join, t_quantile, two_sided_p

if TYPE_CHECKING:
    from samesky.arrays import Flags, Floats, Numbers
    from samesky.inference.budget import Solved

    #: Sources, each with the variance that it adds.
    Added = list[tuple[UncertaintyComponent, Floats]]

#: What an order may hide, in words.
NO_FITTING = "how far one fitting differs from the next"
NO_DAY = "how far the level changes from day to day"
NO_DRIFT = "how far the air may drift unseen in an hour"


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """A difference (other minus baseline) on the scale of the comparison, for one campaign or many.

    All arrays have the leading shape of the values given (scalars for one campaign).

    Attributes
    ----------
    difference, standard_uncertainty, degrees_of_freedom : the result; NaN uncertainty where no interval is possible
    type_a : standard uncertainty from the scatter seen
    type_b : standard uncertainty from stated sources that the order hides
    scatter : standard deviation of one unit (of a day's difference, for days)
    floor_used : whether the scatter seen is so small that what reading errors alone must give takes its place
    weights : (..., n) of the runs in the difference
    drift, drift_uncertainty : straight drift per hour and its standard uncertainty, NaN where not estimable
    added : (part, variance that it adds to the square of the standard uncertainty), beside the scatter
    surprise : probability of installations so far apart if what is stated were true; NaN where not judged
    widened : whether the scatter seen between installations replaced the stated one
    missing : what would have to be stated before an interval is honest; empty if nothing
    worst_drift : limit of what drift may do to the difference where the order cannot show it; zero where it can. It is
        no part of the standard uncertainty: the interval holds both
    reach : hours through which such a drift acts, so that ``worst_drift / reach`` is the drift an hour
    carried : whether a trend within blocks, faster than believable, took the place of the believable drift
    typical_drift : standard uncertainty of the difference by the drift entered, were it a normal one
    compared : configurations whose pairs are compared together; beyond two, intervals and p hold for all pairs at once
    pooled : whether their scatter is pooled: by the studentised range, else by Bonferroni's bound
    """

    difference: Floats
    standard_uncertainty: Floats
    degrees_of_freedom: Floats
    type_a: Floats
    type_b: Floats
    scatter: Floats
    scatter_degrees_of_freedom: int
    floor_used: Flags
    weights: Floats
    drift: Floats
    drift_uncertainty: Floats
    added: tuple[tuple[UncertaintyComponent, Floats], ...] = ()
    surprise: Numbers = float("nan")
    widened: Flags | bool = False
    missing: tuple[str, ...] = ()
    worst_drift: Numbers = 0.0
    reach: Numbers = 0.0
    carried: Flags | bool = False
    typical_drift: Numbers = 0.0
    compared: int = 2
    pooled: bool = True

    @property
    def _bias(self) -> Floats:
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(self.worst_drift) / self.standard_uncertainty

    def interval(self, level: Numbers = 0.95) -> tuple[Floats, Floats]:
        """Lower and upper end of the two-sided interval at this level, under every drift up to the worst.

        Parameters
        ----------
        level : probability that the interval holds [1], 0 to 1

        Returns
        -------
        tuple of ndarray
            Lower and upper end on the scale of the comparison, (...).
        """
        if self.compared > 2 and not self.pooled:
            alone = replace(self, compared=2)
            return alone.interval(several.each_of_pairs(level, self.compared))
        if self.compared > 2:
            half = several.together(level, self.compared, self.degrees_of_freedom) * self.standard_uncertainty
            return self.difference - half - self.worst_drift, self.difference + half + self.worst_drift
        half = believable_drift.multiplier(level, self.degrees_of_freedom, self._bias) * self.standard_uncertainty
        return self.difference - half, self.difference + half

    def equivalence_interval(self, level: Numbers = 0.90) -> tuple[Floats, Floats]:
        """Ends that two one-sided tests, each at half of what ``level`` leaves, hold against the margins.

        The interval of that level where no drift is hidden; else each end bears the worst drift by itself.

        Parameters
        ----------
        level : probability that the interval holds [1], 0 to 1

        Returns
        -------
        tuple of ndarray
            Lower and upper end on the scale of the comparison, (...).
        """
        if self.compared > 2:
            return self.interval(level)
        half = t_quantile(0.5 + np.asarray(level) / 2.0, self.degrees_of_freedom) * self.standard_uncertainty
        half = half + self.worst_drift
        return self.difference - half, self.difference + half

    @property
    def p_value(self) -> Floats:
        """Two-sided probability of a difference at least so far from zero, if there were none but the worst drift."""
        with np.errstate(divide="ignore", invalid="ignore"):
            t = np.abs(self.difference) / self.standard_uncertainty
        if self.compared > 2 and not self.pooled:
            return np.minimum(1.0, self.compared * (self.compared - 1) / 2.0 * replace(self, compared=2).p_value)
        if self.compared > 2:
            return several.together_p(np.maximum(t - self._bias, 0.0), self.compared, self.degrees_of_freedom)
        if not np.any(np.asarray(self.worst_drift) > 0):
            return two_sided_p(t, self.degrees_of_freedom)
        return 1.0 - believable_drift.between(t, self.degrees_of_freedom, self._bias)


#: Rounding errors of the arithmetic, as a share of the largest value (chosen: some three hundred last bits).
ROUNDING = 2.0**-44


def estimate(design: Design, y: Floats, parts: tuple[UncertaintyComponent, ...] = ()) -> Estimate:
    """Difference with its uncertainty for values ``y`` (..., n) in the order that the design was recognised from.

    ``parts`` are the stated error sources. Raises ValueError when the last axis is not the runs.

    Parameters
    ----------
    design : the comparison that the flown order supports
    y : values on the scale of the comparison, (..., n)
    parts : the entered error sources, as they act on the runs
    """
    y = np.asarray(y, dtype=float)
    if y.shape[-1:] != (design.order.runs,):
        raise ValueError(f"{design.order.runs} runs expected on the last axis, {y.shape[-1:] or 'none'} found")
    limits = tuple(part for part in parts if part.scope == WORST)
    parts = tuple(part for part in parts if part.scope != WORST)
    design = by_what_is_stated(design, parts)
    missing = not_stated(design, parts)
    if design.estimator == "none" or missing:
        return _difference_only(design, y, missing)
    if design.estimator == "joined":
        found = joined.solve(design, y, parts, believable_drift.fastest((*parts, *limits))[1])
    elif design.estimator == "days":
        found = pooling.solve(design, y, parts)
    else:
        found = _contrast(design, y, parts)
    return _assemble(design, y, (*parts, *limits), budget.readings_known(parts), found)


def by_what_is_stated(design: Design, parts: tuple[UncertaintyComponent, ...]) -> Design:
    """The design by which installations show their own scatter, where nothing states it and there are enough.

    Parameters
    ----------
    design : the comparison that the flown order supports
    parts : the entered error sources, as they act on the runs
    """
    if design.alone is not None and not any(part.scope == "installation" for part in parts):
        return design.alone
    return design


def not_stated(design: Design, parts: tuple[UncertaintyComponent, ...]) -> tuple[str, ...]:
    """What the order hides and no source states: silence must never count as zero.

    Parameters
    ----------
    design : the comparison that the flown order supports
    parts : the entered error sources, as they act on the runs
    """
    if by_what_is_stated(design, parts).estimator != "joined":
        return ()
    scopes = {part.scope for part in parts}
    wanted = []
    if design.order.fitted_anew and "installation" not in scopes:
        wanted.append(NO_FITTING)
    if design.order.day_confounded and np.unique(design.order.day).size > 1:
        if not any(part.scope == "day" and part.level for part in parts):
            wanted.append(NO_DAY)
    elif not design.order.has_return and not scopes & {"straight drift", "wandering"}:
        wanted.append(NO_DRIFT)
    return tuple(wanted)


def _contrast(design: Design, y: Floats, parts: tuple[UncertaintyComponent, ...]) -> Solved:
    seen = np.square(y @ design.residual.T).sum(axis=-1) / design.degrees_of_freedom
    floor, known = budget.reading_floor(parts, design), budget.readings_known(parts)
    run_variance, stated = above_readings(seen, floor, design.degrees_of_freedom, known)
    added = [
        (part, np.broadcast_to(budget.hidden(part, design), run_variance.shape))
        for part in parts
        if part.scope != "run"
    ]
    factor = budget.hidden_variance_factor(design)
    if factor > 1e-9 * design.variance_factor and design.within is not None:
        within = np.square(y @ design.within.T).sum(axis=-1) / len(design.within)
        added.append(
            (
                UncertaintyComponent("unequal numbers of runs", "run", np.array(np.nan), len(design.within)),
                factor * within,
            )
        )
    return {
        "difference": y @ design.weights,
        "scatter": np.sqrt(run_variance),
        "type_a": design.variance_factor * run_variance,
        "added": added,
        "stated": stated,
        "weights": design.weights,
    }


def _assemble(
    design: Design, y: Floats, parts: tuple[UncertaintyComponent, ...], known: float, found: Solved
) -> Estimate:
    type_a, weights, difference = found["type_a"], found["weights"], found["difference"]
    surprise = found.get("surprise", float("nan"))
    drift = believable_drift.hidden(design, y, weights, parts)
    added = _added(design, found, drift)
    combined, effective = _combined(design, found, added, known)
    # Readings that are all alike leave rounding errors of the arithmetic, which are no scatter and no difference.
    rounding = ROUNDING * np.abs(y).max(axis=-1) * np.abs(weights).sum(axis=-1)
    nothing = np.where(drift.worst > rounding, rounding, np.nan)  # a limit alone is an interval too
    slope = y @ design.drift_weights if design.drift_weights is not None else np.full(np.shape(difference), np.nan)
    return Estimate(
        difference=np.where(np.abs(difference) <= rounding, 0.0, difference)[()],
        standard_uncertainty=np.where(combined <= rounding, nothing, combined)[()],
        degrees_of_freedom=effective,
        type_a=np.sqrt(type_a),
        type_b=np.sqrt(sum((variance for _, variance in added), np.zeros_like(type_a))),
        scatter=found["scatter"],
        scatter_degrees_of_freedom=design.degrees_of_freedom,
        floor_used=found["stated"] > 0,
        weights=weights,
        drift=slope,
        drift_uncertainty=_drift_uncertainty(design, y, found),
        added=tuple(added),
        surprise=surprise,
        widened=surprise < joined.SURPRISING,
        missing=(),
        worst_drift=drift.worst[()],
        reach=drift.reach[()],
        carried=drift.carried[()],
        typical_drift=drift.typical[()],
    )


def _added(design: Design, found: Solved, drift: believable_drift.HiddenDrift) -> Added:
    """The sources with the variance that each adds, where drift is hidden with what the days show of it."""
    if not np.any(drift.reach > 0):
        return found["added"]
    # What a limit bounds is no scatter: entered drift acts as one only on the days that show it.
    added = [
        (part, believable_drift.shown(part, design.order, found["weights"]) + np.zeros_like(found["type_a"]))
        if part.scope == "straight drift"
        else (part, variance)
        for part, variance in found["added"]
    ]
    freedom = 1 if design.within is None else max(1, len(design.within))
    return [*added, (UncertaintyComponent(SEEN_WITHIN, "straight drift", np.array(np.nan), freedom), drift.added)]


def _combined(design: Design, found: Solved, added: Added, known: float) -> tuple[Floats, Floats]:
    """Standard uncertainty (...) of the difference and its effective degrees of freedom."""
    type_a, stated = found["type_a"], found["stated"]
    pooled, shaping = found.get("pooled"), found.get("shaping", ())
    components: list[tuple[Floats, Numbers]]
    if pooled is None:
        # What of the scatter rests on the entered reading errors is known as well as they are.
        components = [((1.0 - stated) * type_a, design.degrees_of_freedom), (stated * type_a, known)]
        components += [(variance, part.degrees_of_freedom) for part, variance in added]
    else:
        # Between installations the scatter seen and what is entered have become one.
        whole = type_a + sum(variance for part, variance in added if any(part is own for own in shaping))
        components = [(whole, pooled)]
        components += [(v, part.degrees_of_freedom) for part, v in added if not any(part is own for own in shaping)]
    variances = np.stack([variance for variance, _ in components], axis=-1)
    return join(variances, np.stack(np.broadcast_arrays(*(df for _, df in components)), axis=-1))


def _drift_uncertainty(design: Design, y: Floats, found: Solved) -> Floats:
    """Standard uncertainty (...) of the straight drift per hour."""
    if design.day_slopes is None:
        entered = found.get("drift_uncertainty")
        return found["scatter"] * np.sqrt(design.drift_variance_factor) if entered is None else entered
    daily = y @ design.day_slopes.T
    count = daily.shape[-1]
    # Of two days the spread says next to nothing.
    spread = daily.std(axis=-1, ddof=1) if count > 2 else np.full(np.shape(found["difference"]), np.nan)
    return spread / np.sqrt(count)


def _difference_only(design: Design, y: Floats, missing: tuple[str, ...]) -> Estimate:
    difference = y @ design.weights
    nothing = np.full(np.shape(difference), np.nan)
    scatter = nothing
    if design.degrees_of_freedom:
        scatter = np.sqrt(np.square(y @ design.residual.T).sum(axis=-1) / design.degrees_of_freedom)
    return Estimate(
        difference=difference,
        standard_uncertainty=nothing,
        degrees_of_freedom=nothing,
        type_a=nothing,
        type_b=nothing,
        scatter=scatter,
        scatter_degrees_of_freedom=design.degrees_of_freedom,
        floor_used=np.zeros(np.shape(difference), dtype=bool),
        weights=design.weights,
        drift=nothing,
        drift_uncertainty=nothing,
        missing=missing,
    )
