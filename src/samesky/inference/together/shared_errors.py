"""What do two measures get wrong together?

Roll, pull and climb are flown with the same fittings, on the same days, with the same scales and thermometer. Their
differences err together, and a sum of gains errs more than independent ones would. What they share:

- an error of the whole campaign (a scale, an altimeter, a coefficient that both use): one and the same draw, with the
  sign that it has in each difference;
- fittings or days as the samples behind the scatter: their correlation is estimated from what is left of them after
  the fit, and leaned towards ``PRIOR`` with ``PRIOR_WEIGHT`` degrees of freedom, for three samples tell little;
- a fitting error that is entered, not seen: taken as wholly shared, the sign that hurts, since one pitch moves all;
- drift and random drift of the air that the order hides: shared by ``PRIOR``.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from samesky.inference.estimate import by_what_is_stated
from samesky.inference.result import Comparison

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Correlation that two measures on the same fittings or days are taken to have before their runs tell (assumed: a
#: pitch error moves most of them by like amounts, a worn tyre or a tired engine only one).
PRIOR = 0.8
#: How many degrees of freedom that is worth (assumed).
PRIOR_WEIGHT = 4.0


def correlations(comparisons: Sequence[Comparison]) -> Floats:
    """Correlations (k, k) of the gains of measures compared for one pair of configurations.

    Of errors of the gain, larger is better, so that a measure of which less is better has its sign turned. One
    comparison without an interval has no correlation.

    Parameters
    ----------
    comparisons : comparisons of one pair of configurations, one a measure

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    count = len(comparisons)
    found = np.eye(count)
    for i in range(count):
        for j in range(i):
            found[i, j] = found[j, i] = _correlation(comparisons[i], comparisons[j])
    # Estimated one by one they may contradict each other: the nearest that do not, by their axes.
    values, axes = np.linalg.eigh(found)
    found = (axes * np.maximum(values, 1e-9)) @ axes.T
    size = np.sqrt(np.diag(found))
    return found / np.outer(size, size)


def _correlation(one: Comparison, two: Comparison) -> float:
    whole = [float(np.square(each.estimate.type_a) + np.square(each.estimate.type_b)) for each in (one, two)]
    if not all(np.isfinite(size) and size > 0 for size in whole):
        return 0.0
    sign = 1.0 if one.better == two.better else -1.0
    shared = sign * _campaign_wide(one, two) + _scatter(one, two, sign) + _stated(one, two)
    return float(np.clip(shared / np.sqrt(whole[0] * whole[1]), -1.0, 1.0))


def _campaign_wide(one: Comparison, two: Comparison) -> float:
    """Covariance by errors of the whole campaign that both differences hold."""
    effects = []
    for each in (one, two):
        own: dict[tuple[str, str], float] = {}
        for source, size in each.reduction.contributions:
            if source.scope == "campaign":
                rows = np.broadcast_to(size, each.used.shape)[each.used]
                key = (source.name, source.target)
                own[key] = own.get(key, 0.0) + float(np.asarray(each.weights) @ rows)
        effects.append(own)
    return sum(effect * effects[1][key] for key, effect in effects[0].items() if key in effects[1])


def _scatter(one: Comparison, two: Comparison, sign: float) -> float:
    """Covariance by the samples behind both scatters, where these are the same fittings or the same days."""
    left = [samples(each) for each in (one, two)]
    if not all(left):
        return 0.0
    common = [key for key in left[0] if key in left[1]]
    if not common:
        return 0.0
    overlap = len(common) / np.sqrt(len(left[0]) * len(left[1]))
    freedom = float(min(each.estimate.scatter_degrees_of_freedom for each in (one, two)))
    a, b = (np.array([each[key] for key in common]) for each in left)
    length = float(np.sqrt((a @ a) * (b @ b)))
    seen = sign * float(a @ b) / length if length > 0 else PRIOR
    leaned = (freedom * seen + PRIOR_WEIGHT * PRIOR) / (freedom + PRIOR_WEIGHT)
    return overlap * leaned * float(one.estimate.type_a) * float(two.estimate.type_a)


def samples(comparison: Comparison) -> dict[object, float]:
    """What is left of every sample after the fit, by day and fitting; empty where runs are the samples.

    Parameters
    ----------
    comparison : the comparison

    Returns
    -------
    dict[object, float]
        [1], of the leading shape of the values.
    """
    # The design that the interval stands on: with fittings to spare and none entered, they are the samples.
    stated = tuple(part for part, _ in comparison.estimate.added)
    design = by_what_is_stated(comparison.design, stated)
    y = comparison.scale.asked.measure.to_scale(comparison.reduction.value[comparison.used])
    order = design.order
    if design.estimator not in ("contrast", "days") or design.replication == "run":
        return {}
    if design.replication == "day" and design.day_differences is not None:
        rest = design.day_differences @ y
        rest = rest - rest.mean()
        return dict(zip((int(day) for day in order.days_with_both), rest, strict=True))
    averages = order.averages(order.unit)
    rows = design.residual @ np.linalg.pinv(averages)
    rest = rows.T @ (design.residual @ y)
    keys = zip(order.first_of(order.unit, order.day), order.first_of(order.unit, order.installation), strict=True)
    return {(int(day), int(fitted)): float(value) for (day, fitted), value in zip(keys, rest, strict=True)}


def _stated(one: Comparison, two: Comparison) -> float:
    """Covariance by fitting errors and drifts that are entered, where both were flown on the same fittings or days."""
    total = 0.0
    for scopes, label, share in (
        (("installation",), "installation", 1.0),
        (("straight drift", "wandering", "day"), "day", PRIOR),
    ):
        sizes = [
            sum((float(variance) for part, variance in each.estimate.added if part.scope in scopes), 0.0)
            for each in (one, two)
        ]
        flown = [set(getattr(each.design.order, label).tolist()) for each in (one, two)]
        overlap = len(flown[0] & flown[1]) / np.sqrt(len(flown[0]) * len(flown[1]))
        total += share * overlap * np.sqrt(sizes[0] * sizes[1])
    return total
