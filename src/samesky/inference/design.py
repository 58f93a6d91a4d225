"""Which comparison does the flown order support?

The method is fixed by the order alone, never by the results, so the level of its interval can be (and is) checked by
simulation:

1. three or more days that each hold both configurations: one drift-free difference a day, t over the days;
2. otherwise, where the change is free and every day goes back to its first configuration: regression of the runs on
   configuration, day levels and a slope for each day;
3. otherwise a joined estimate: scatter of the runs (Type A) with stated re-rigging and drift (Type B, JCGM 100, 4.3),
   which installations to spare correct; where nothing states re-rigging, regression on installations if they suffice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypedDict

import numpy as np

from samesky.inference import wording
from samesky.inference.linear import complement, estimators, indicators, rank
from samesky.inference.order import FlownOrder, separable

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Fewest degrees of freedom between installations for which regression on them stands alone where nothing states how
#: far fittings differ (chosen: with two, Student's quantile is 4.3).
FEWEST_BETWEEN = 3
#: Fewest days for the method over days (chosen: two leave one degree of freedom, a quantile of 12.7). The third day may
#: widen the interval; without it a difference that changes from day to day is covered in 83 to 94 % of campaigns only.
FEWEST_DAYS = 3


class Arithmetic(TypedDict, total=False):
    """Those fields of a :class:`Design` that follow from the columns of its mean model."""

    weights: Floats
    variance_factor: float
    residual: Floats
    degrees_of_freedom: int
    drift_weights: Floats
    drift_variance_factor: float


@dataclass(frozen=True, eq=False)
class Design:
    """What the flown order supports, and the arithmetic for it.

    Attributes
    ----------
    name : ``"pairs"``, ``"blocks with a return"``, ``"single swap"``, ``"days"`` or ``"irregular"``
    estimator : ``"contrast"`` (fixed weights), ``"days"`` (weights from the scatter of days flown with unequal effort),
        ``"joined"`` (Type A and stated Type B) or ``"none"`` (nothing to judge the scatter by)
    method : in words
    replication : ``"run"``, ``"installation"`` or ``"day"``
    order : the :class:`~samesky.inference.order.FlownOrder`
    weights : (n,) of the difference; for the estimators that weigh by scatter, the weights under equal scatter
    residual : (df, n) rows that are blind to the mean model; mean square of ``residual @ y`` is the scatter squared
    variance_factor : variance of the difference over the scatter squared
    degrees_of_freedom : of the scatter
    day_differences : (days, n), estimator ``"days"`` or design ``"days"`` only
    drift_weights : (n,) of the straight drift per hour that is taken out, the mean of the days' slopes, or None;
        ``drift_variance_factor`` as ``variance_factor``, NaN where sources join in or days are the samples
    day_slopes : (days, n) of each day's own slope, design ``"days"``, for the days that go back
    pair_differences : (pairs, n) or None
    with_time : whether the drift of every day is taken out by its own slope
    within : (k, n) rows that are blind to everything but the scatter of runs within their blocks; empty where
        every block is one run. ``slope_within`` : (n,) weights of the drift per hour that runs within blocks show;
        ``slope_removed`` whether it is removed from their scatter
    spare_blocks : degrees of freedom between blocks, estimator ``"joined"``
    run_scatter : scatter of one run from elsewhere, where the order shows none (:func:`by_record`); else NaN
    pooled : whether the scatter is that of all configurations, where there are further ones
    alone : the regression that needs no statement of how far fittings differ, or None
    assumption : what the interval rests on, a sentence
    warnings : sentences
    """

    name: str
    estimator: str
    method: str
    replication: str
    order: FlownOrder
    weights: Floats
    residual: Floats
    variance_factor: float
    degrees_of_freedom: int
    assumption: str
    warnings: tuple[str, ...] = ()
    with_time: bool = False
    day_differences: Floats | None = None
    drift_weights: Floats | None = None
    drift_variance_factor: float = float("nan")
    day_slopes: Floats | None = None
    pair_differences: Floats | None = None
    spare_blocks: int = 0
    run_scatter: float = float("nan")
    within: Floats | None = None
    slope_within: Floats | None = None
    slope_removed: bool = False
    pooled: bool = True
    alone: Design | None = None


def recognise(order: FlownOrder) -> Design:
    """The comparison that the flown order supports. Raises ValueError unless both configurations were flown.

    Parameters
    ----------
    order : the order in which the runs were flown
    """
    if not np.isin((0, 1), order.configuration).all():
        raise ValueError("both configurations must have been flown")
    if order.days_with_both.size >= FEWEST_DAYS:
        return _over_days(order)
    if order.has_return and not order.days_without_return.size:
        regression = _regression(order)
        if not order.fitted_anew:
            return regression if regression.degrees_of_freedom else _nothing(order)
        if regression.degrees_of_freedom >= FEWEST_BETWEEN:
            joined = _joined(order)
            return regression if joined.estimator == "none" else replace(joined, alone=regression)
    return _joined(order)


def by_record(order: FlownOrder, scatter: float, degrees_of_freedom: float) -> Design:
    """The joined estimate of an order that shows no scatter of its own, with one that comes from elsewhere.

    Parameters
    ----------
    order : the order in which the runs were flown
    scatter : standard deviation of one run on the scale of the comparison
    degrees_of_freedom : how well it is known [1]
    """
    return replace(
        _joined(order, scatter_known=True), run_scatter=scatter, degrees_of_freedom=math.floor(degrees_of_freedom)
    )


def within_blocks(order: FlownOrder) -> tuple[Floats, Floats | None]:
    """Rows (k, n) blind to block levels, and weights (n,) of the slope within blocks (None where there is none).

    Within a block nothing differs but the runs; a common slope is removed too where enough runs are left to judge by.

    Parameters
    ----------
    order : the order in which the runs were flown

    Returns
    -------
    tuple
        Rows (k, n) [1], and weights (n,) [1/h] or None.
    """
    levels = indicators(order.block)
    sloped = np.column_stack([levels, order.time])
    known = rank(sloped)
    slope = estimators(sloped)[-1] if order.runs > known > levels.shape[1] else None
    return complement(sloped if order.runs - known >= FEWEST_BETWEEN else levels), slope


def _contrast(columns: Floats, averages: Floats, slopes: int = 0) -> Arithmetic:
    """Weights, residual rows and factors for the coefficient in column 0 of a full-rank model of averages (k, n).

    The last ``slopes`` columns are drifts, whose mean, each as well as it is known, is the drift told.
    """
    rows = estimators(columns)
    residual = complement(columns)
    arithmetic: Arithmetic = {
        "weights": rows[0] @ averages,
        "variance_factor": float(rows[0] @ rows[0]),
        "residual": residual @ averages,
        "degrees_of_freedom": residual.shape[0],
    }
    if slopes:
        information = 1.0 / np.square(rows[-slopes:]).sum(axis=1)
        drift = information @ rows[-slopes:] / information.sum()
        arithmetic["drift_weights"] = drift @ averages
        arithmetic["drift_variance_factor"] = float(drift @ drift)
    return arithmetic


def _pair_operator(order: FlownOrder) -> Floats | None:
    """Differences other minus baseline of neighbouring units, (pairs, n), or None."""
    if order.pairs is None:
        return None
    means = order.averages(order.unit)
    sign = 2.0 * order.first_of(order.unit, order.configuration) - 1.0
    return np.array([sign[a] * means[a] + sign[b] * means[b] for a, b in order.pairs])


def _regression(order: FlownOrder) -> Design:
    columns = order.mean_model(order.unit, order.sloped_days)
    slopes = columns.shape[1] - order.mean_model(order.unit).shape[1]
    within, slope = within_blocks(order)
    return Design(
        name=_pattern(order),
        estimator="contrast",
        method=wording.regression(order),
        replication=order.unit_name,
        order=order,
        with_time=True,
        pair_differences=_pair_operator(order),
        assumption=wording.regressed(order),
        warnings=wording.warnings(order),
        within=within,
        slope_within=slope,
        **_contrast(columns, order.averages(order.unit), slopes),
    )


def _pattern(order: FlownOrder) -> str:
    if order.pairs is not None and not order.fitted_anew:
        return "pairs"
    stretches = np.unique(order.stretch).size
    return "blocks with a return" if order.fitted_anew or 2 * stretches <= order.runs else "irregular"


def _day_difference(order: FlownOrder, day: int) -> tuple[Floats, float, Floats | None]:
    """Weights (n,) of one day's difference, its variance factor over units, and weights of the slope taken out."""
    chosen = order.day == day
    labels = np.where(chosen, order.unit, -1)
    rows = np.isin(np.unique(labels), np.unique(order.unit[chosen]))
    averages = order.averages(labels)[rows]
    own = order.indicators_of(labels)[rows]
    columns = [own[:, own.any(axis=0)], np.ones(rows.sum())]
    with_time = separable(order, chosen)
    if with_time:
        columns.append(averages @ order.time)
    found = estimators(np.column_stack(columns))
    return found[0] @ averages, float(found[0] @ found[0]), found[-1] @ averages if with_time else None


def _over_days(order: FlownOrder) -> Design:
    found = [_day_difference(order, day) for day in order.days_with_both]
    differences = np.array([weights for weights, _, _ in found])
    factors = np.array([factor for _, factor, _ in found])
    # Within a twentieth (chosen) the weights cannot matter, and equal ones need no estimate from the scatter.
    equal = factors.max() <= 1.05 * factors.min()
    slopes = np.array([slope for _, _, slope in found if slope is not None])
    days = len(found)
    within, slope = within_blocks(order)
    arithmetic, pooled = _contrast(np.ones((days, 1)), differences), True
    if len(slopes):
        arithmetic["drift_weights"] = slopes.mean(axis=0)
    if order.further:
        shared = _scatter_of_days(order, factors) if equal else None
        arithmetic, pooled = arithmetic | (shared or Arithmetic()), shared is not None
    return Design(
        name="days",
        estimator="contrast" if equal else "days",
        method=wording.over_days(days, equal),
        replication="day",
        order=order,
        with_time=len(slopes) == days,
        day_differences=differences,
        day_slopes=slopes if len(slopes) else None,
        pair_differences=_pair_operator(order),
        assumption=wording.by_days(order, len(slopes) == days),
        warnings=wording.warnings(order, over_days=True),
        within=within,
        slope_within=slope,
        pooled=pooled,
        **arithmetic,
    )


def _scatter_of_days(order: FlownOrder, factors: Floats) -> Arithmetic | None:
    """Scatter of days pooled over all configurations, where every day of the comparison holds them all; else None.

    The change from day to day of each configuration against the others, as in randomised blocks: day and configuration
    are fitted, and what is left has (days - 1) x (configurations - 1) degrees of freedom.
    """
    keys = np.unique(order.configuration[order.configuration > 0])
    days = order.days_with_both
    if not all(np.isin(keys, order.configuration[order.day == day]).all() for day in days):
        return None
    against, spread = [], []
    for key in keys:
        swapped = np.where(order.configuration == key, 1, np.where(order.configuration == 1, key, order.configuration))
        found = [_day_difference(replace(order, configuration=swapped), day) for day in days]
        against.append([weights for weights, _, _ in found])
        spread.append(np.mean([factor for _, factor, _ in found]))
    # Orthonormal contrasts of the configurations, the baseline at zero, and of the days.
    contrasts = complement(np.ones((keys.size + 1, 1)))[:, 1:]
    rows = np.einsum("hc,rd,cdn->hrn", contrasts, complement(np.ones((days.size, 1))), np.array(against))
    own = max(1.0, float(np.mean(factors) / np.mean(spread)))
    return {
        "residual": rows.reshape(-1, order.runs),
        "degrees_of_freedom": int(keys.size * (days.size - 1)),
        "variance_factor": 2.0 / days.size * own,
    }


def _joined(order: FlownOrder, scatter_known: bool = False) -> Design:
    by_runs = order.has_return and not order.fitted_anew
    labels = order.unit if by_runs else order.block
    columns, averages = order.mean_model(labels, order.sloped_days), order.averages(labels)
    residual, slope = within_blocks(order)
    if by_runs:
        residual = complement(order.mean_model(np.arange(order.runs), np.unique(order.day)))
    if not residual.shape[0] and not scatter_known:
        return _nothing(order)
    row = estimators(columns)[0]
    spare = 0 if by_runs else columns.shape[0] - rank(columns)
    return Design(
        name=_pattern(order) if order.has_return else "single swap",
        estimator="joined",
        method=wording.joined(order),
        replication=order.unit_name,
        order=order,
        weights=row @ averages,
        residual=residual,
        variance_factor=float(row @ averages @ averages.T @ row),
        degrees_of_freedom=residual.shape[0],
        with_time=order.has_return and not order.days_without_return.size,
        within=residual,
        slope_within=slope,
        slope_removed=residual.shape[0] < order.runs - np.unique(order.block).size,
        assumption=wording.rests_on_stated(order, spare),
        warnings=wording.warnings(order, rigging_stated=spare < FEWEST_BETWEEN),
        spare_blocks=spare,
        drift_weights=_joined_drift(order),
    )


def _joined_drift(order: FlownOrder) -> Floats | None:
    """Weights (n,) of the mean slope of the days that go back, by least squares on the runs; None without one.

    What is taken out of the difference follows from the covariance too, but nothing there moves the mean of this.
    """
    days = np.intersect1d(order.sloped_days, order.days_with_both)
    if not days.size:
        return None
    labels = order.unit if not order.fitted_anew else order.block
    model = order.mean_model(labels, days)[np.searchsorted(np.unique(labels), labels)]
    rows = estimators(model)[-days.size :]
    information = 1.0 / np.square(rows).sum(axis=1)
    return information @ rows / information.sum()


def _nothing(order: FlownOrder) -> Design:
    other = order.configuration == 1
    first = order.configuration == 0
    weights = other / other.sum() - first / first.sum()
    swapped = not order.has_return
    return Design(
        name="single swap" if swapped else _pattern(order),
        estimator="none",
        method=wording.NOTHING,
        replication=order.unit_name,
        order=order,
        weights=weights,
        residual=np.zeros((0, order.runs)),
        variance_factor=float(weights @ weights),
        degrees_of_freedom=0,
        assumption=wording.NOTHING_ASSUMED,
        warnings=wording.warnings(order, plain=True),
    )
