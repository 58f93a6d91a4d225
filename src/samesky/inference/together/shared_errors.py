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
from samesky.inference.together.witness import Witness

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

#: Correlation that two measures on the same fittings or days are taken to have before their runs tell (assumed: a
#: pitch error moves most of them by like amounts, a worn tyre or a tired engine only one).
PRIOR = 0.8
#: How many degrees of freedom that is worth (assumed).
PRIOR_WEIGHT = 4.0


def correlations(witnesses: Sequence[Witness]) -> Floats:
    """Correlations (..., k, k) of the gains of measures compared for one pair of configurations.

    Of errors of the gain, larger is better, so that a measure of which less is better has its sign turned. One
    without an interval has no correlation.

    Parameters
    ----------
    witnesses : what each measure says of one pair of configurations

    Returns
    -------
    ndarray
        [1], (..., k, k).
    """
    count = len(witnesses)
    pairs = {(i, j): _correlation(witnesses[i], witnesses[j]) for i in range(count) for j in range(i)}
    found = np.zeros((*np.broadcast_shapes(*map(np.shape, pairs.values())), count, count))
    for (i, j), one in pairs.items():
        found[..., i, j] = found[..., j, i] = one
    # Estimated one by one they may contradict each other: the nearest that do not, by their axes.
    values, axes = np.linalg.eigh(found + np.eye(count))
    found = (axes * np.maximum(values, 1e-9)[..., None, :]) @ np.swapaxes(axes, -1, -2)
    size = np.sqrt(np.diagonal(found, axis1=-2, axis2=-1))
    return found / (size[..., :, None] * size[..., None, :])


def _correlation(one: Witness, two: Witness) -> Numbers:
    variances = [np.square(each.estimate.type_a) + np.square(each.estimate.type_b) for each in (one, two)]
    whole = variances[0] * variances[1]
    known = np.isfinite(whole) & (whole > 0)
    if not np.any(known):
        return 0.0
    sign = 1.0 if one.better == two.better else -1.0
    shared = sign * _campaign_wide(one, two) + _scatter(one, two, sign) + _stated(one, two)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(known, np.clip(shared / np.sqrt(whole), -1.0, 1.0), 0.0)


def _campaign_wide(one: Witness, two: Witness) -> Numbers:
    """Covariance by errors of the whole campaign that both differences hold."""
    return sum((effect * two.wide[key] for key, effect in one.wide.items() if key in two.wide), 0.0)


def _scatter(one: Witness, two: Witness, sign: float) -> Numbers:
    """Covariance by the samples behind both scatters, where these are the same fittings or the same days."""
    left = [samples(each) for each in (one, two)]
    if not all(left):
        return 0.0
    common = [key for key in left[0] if key in left[1]]
    if not common:
        return 0.0
    overlap = len(common) / np.sqrt(len(left[0]) * len(left[1]))
    freedom = float(min(each.estimate.scatter_degrees_of_freedom for each in (one, two)))
    a, b = (np.stack([each[key] for key in common], axis=-1) for each in left)
    length = np.sqrt((a * a).sum(axis=-1) * (b * b).sum(axis=-1))
    with np.errstate(divide="ignore", invalid="ignore"):
        seen = np.where(length > 0, sign * (a * b).sum(axis=-1) / length, PRIOR)
    leaned = (freedom * seen + PRIOR_WEIGHT * PRIOR) / (freedom + PRIOR_WEIGHT)
    return overlap * leaned * one.estimate.type_a * two.estimate.type_a


def samples(one: Witness) -> dict[object, Floats]:
    """What is left of every sample after the fit, by day and fitting; empty where runs are the samples.

    Parameters
    ----------
    one : what the measure says

    Returns
    -------
    dict[object, ndarray]
        [1], of the leading shape of the values.
    """
    # The design that the interval stands on: with fittings to spare and none entered, they are the samples.
    stated = tuple(part for part, _ in one.estimate.added)
    design, y = by_what_is_stated(one.design, stated), one.values
    order = design.order
    if design.estimator not in ("contrast", "days") or design.replication == "run":
        return {}
    if design.replication == "day" and design.day_differences is not None:
        rest = y @ design.day_differences.T
        rest = rest - rest.mean(axis=-1, keepdims=True)
        return {int(day): rest[..., k] for k, day in enumerate(order.days_with_both)}
    averages = order.averages(order.unit)
    rows = design.residual @ np.linalg.pinv(averages)
    rest = (y @ design.residual.T) @ rows
    keys = zip(order.first_of(order.unit, order.day), order.first_of(order.unit, order.installation), strict=True)
    return {(int(day), int(fitted)): rest[..., k] for k, (day, fitted) in enumerate(keys)}


def _stated(one: Witness, two: Witness) -> Numbers:
    """Covariance by fitting errors and drifts that are entered, where both were flown on the same fittings or days."""
    total: Numbers = 0.0
    for scopes, label, share in (
        (("installation",), "installation", 1.0),
        (("straight drift", "wandering", "day"), "day", PRIOR),
    ):
        sizes = [
            sum((np.asarray(v) for part, v in each.estimate.added if part.scope in scopes), np.array(0.0))
            for each in (one, two)
        ]
        flown = [set(getattr(each.design.order, label).tolist()) for each in (one, two)]
        overlap = len(flown[0] & flown[1]) / np.sqrt(len(flown[0]) * len(flown[1]))
        total = total + share * overlap * np.sqrt(sizes[0] * sizes[1])
    return total
