"""What if the air drifted as fast as anybody could believe, and this order cannot show it?

A day that never goes back to its first configuration cannot tell drift from difference. A normal doubt about such a
drift is no protection: a day that freshens does not average out. So the difference is held against the worst drift that
is believable for the measure (:class:`samesky.measures.shape.WorstDrift`, or twice the standard uncertainty of an
entered one where that is larger), and, where the runs within the blocks drift beyond chance, against that trend carried
on. The interval is then one with a bounded bias: it covers at least as often as it says for every drift up to that size
(Armstrong and Kolesar, Econometrica 86 (2018) 655-683: quantiles of the folded distribution, here of Student's t).

Each day has a drift of its own. On one or two days the worst is that all of them point the same way; over three days
and more the scatter of the days shows drifts of their own, and what stays hidden is one that comes back daily.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from samesky.inference.budget import WORST, UncertaintyComponent
from samesky.inference.design import Design
from samesky.inference.order import FlownOrder
from samesky.inference.uncertainty import t_quantile, two_sided_p
from samesky.measures.shape import Measure

if TYPE_CHECKING:
    from samesky.arrays import Flags, Floats, Numbers

#: Name of the part that a drift seen within blocks adds: how well it is known.
SEEN_WITHIN = "drift seen within blocks"
#: Below this probability (chosen) a trend within the blocks of a day is beyond chance.
BEYOND_CHANCE = 0.02
#: An entered drift is believed up to so many of its standard uncertainties (19 in 20 of a normal one).
ENTERED = 2.0
#: Most of Newton's steps (chosen: eight reach the last digit with one degree of freedom already).
_STEPS = 40
#: A pull of the day's hours smaller than this (h) is a rounding error.
_NO_REACH = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class HiddenDrift:
    """Drift that the flown order cannot tell from a difference; all (...) as the difference, on its scale.

    Attributes
    ----------
    reach : hours through which a drift acts on the difference; zero where every day shows its drift
    worst : largest error of the difference by drift that is reckoned with
    carried : whether a trend within blocks is faster than the believable drift and took its place
    typical : standard uncertainty of the difference by the drift entered, were it a normal one
    added : variance by which the trend carried on is uncertain
    """

    reach: Floats
    worst: Floats
    carried: Flags
    typical: Floats
    added: Floats


def ceiling(measure: Measure, level: float) -> tuple[UncertaintyComponent, ...]:
    """The worst drift believable of a measure as a part, on the scale of the comparison; ``level`` of results [SI].

    Parameters
    ----------
    measure : the measure
    level : typical result [SI]
    """
    worst = measure.worst_drift
    if worst is None:
        return ()
    return (
        UncertaintyComponent(
            "worst believable drift", WORST, np.array(worst.fraction * (1.0 if measure.ratio else abs(level)))
        ),
    )


def fastest(parts: tuple[UncertaintyComponent, ...]) -> tuple[float, float]:
    """Drift an hour as entered, and the fastest that is believed: the limit, or twice what is entered.

    Parameters
    ----------
    parts : the entered error sources, as they act on the runs

    Returns
    -------
    tuple of float
        Drift as entered and fastest believed, on the scale of the comparison [1/h or unit/h].
    """
    entered = np.sqrt(sum(np.mean(np.square(part.sensitivity)) for part in parts if part.scope == "straight drift"))
    limits = (float(np.max(part.sensitivity)) for part in parts if part.scope == WORST)
    return float(entered), max([ENTERED * float(entered), *limits])


def hidden(design: Design, y: Floats, weights: Floats, parts: tuple[UncertaintyComponent, ...]) -> HiddenDrift:
    """The drift that this order hides, for values ``y`` (..., n) and the weights (..., n) of their difference.

    Parameters
    ----------
    design : the comparison that the flown order supports
    y : values on the scale of the comparison, (..., n)
    weights : weights of the runs in the difference, (..., n)
    parts : the entered error sources, as they act on the runs
    """
    order = design.order
    shape = np.broadcast_shapes(y.shape[:-1], np.shape(weights)[:-1])
    nothing = np.zeros(shape)
    days = order.days_without_return
    gaps = [np.where(order.day == day, weights * order.time, 0.0).sum(axis=-1) for day in days]
    if not any(np.any(np.abs(gap) > _NO_REACH) for gap in gaps):
        return HiddenDrift(nothing, nothing, nothing > 0, nothing, nothing)
    entered, believed = fastest(parts)
    rates, added, carried = [], nothing, nothing > 0
    for day, gap in zip(days, gaps, strict=True):
        slope, error = trend(design, y, day)
        seen = beyond_chance(design, slope, error) & (np.abs(slope) > believed)
        rates.append(np.where(seen, np.abs(slope), believed))
        added = added + np.where(seen, np.square(error * gap), 0.0)
        carried = carried | seen
    if design.name == "days":
        reach = np.abs(sum(gaps))
        worst = reach * np.max(rates, axis=0)
    else:
        reach = sum(np.abs(gap) for gap in gaps)
        worst = sum(rate * np.abs(gap) for rate, gap in zip(rates, gaps, strict=True))
    typical = entered * np.sqrt(sum(np.square(gap) for gap in gaps))
    return HiddenDrift(*(np.broadcast_to(one, shape) for one in (reach, worst, carried, typical, added)))


def shown(part: UncertaintyComponent, order: FlownOrder, weights: Floats) -> Floats:
    """Variance (...) of the difference by an entered straight drift on the days that do go back.

    Parameters
    ----------
    part : one entered error source
    order : the order in which the runs were flown
    weights : weights of the runs in the difference, (..., n)

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    effect = weights * order.time * np.broadcast_to(part.sensitivity, (order.runs,))
    days = [day for day in np.unique(order.day) if day not in order.days_without_return]
    nothing = np.zeros(np.shape(effect)[:-1])
    return sum((np.square(np.where(order.day == day, effect, 0.0).sum(axis=-1)) for day in days), nothing)


def trend(design: Design, y: Floats, day: int) -> tuple[Floats, Floats]:
    """Slope an hour (...) that runs within the blocks of one day show, and its standard error; NaN where none can.

    Parameters
    ----------
    design : the comparison that the flown order supports
    y : values on the scale of the comparison, (..., n)
    day : number of the day

    Returns
    -------
    tuple of ndarray
        Slope and its standard error [1/h or unit/h], (...).
    """
    order, nothing = design.order, np.full(y.shape[:-1], np.nan)
    if design.within is None or not design.within.shape[0]:
        return nothing, nothing
    own = order.time - (order.averages(order.block) @ order.time)[np.searchsorted(np.unique(order.block), order.block)]
    own = np.where(order.day == day, own, 0.0)
    size = own @ own
    if not size > 1e-12:
        return nothing, nothing
    scatter = np.sqrt(np.square(y @ design.within.T).mean(axis=-1))
    return y @ own / size, scatter / np.sqrt(size)


def beyond_chance(design: Design, slope: Floats, error: Floats) -> Flags:
    """Whether a slope (...) within blocks is more than the scatter of their runs gives.

    Parameters
    ----------
    design : the comparison that the flown order supports
    slope : slope on the scale of the comparison [1/h], (...)
    error : its standard error [1/h], (...)

    Returns
    -------
    ndarray of bool
        [1], of the leading shape of the values.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        p = two_sided_p(slope / error, 0 if design.within is None else max(1, len(design.within)))
    return np.isfinite(p) & (p < BEYOND_CHANCE)


def multiplier(level: Numbers, degrees_of_freedom: Floats, bias: Floats) -> Floats:
    """Half an interval in standard uncertainties (...) that covers at ``level`` under every bias up to ``bias``.

    ``bias`` in standard uncertainties. The quantile of ``|T + bias|``, T of Student's t: that of t itself where there
    is none, and ``bias`` plus the one-sided quantile where it is large.

    Parameters
    ----------
    level : probability that the interval holds [1], 0 to 1
    degrees_of_freedom : degrees of freedom [1]
    bias : largest bias, in standard uncertainties [1]

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    bias = np.asarray(bias, dtype=float)
    if not np.any(bias > 0):
        return t_quantile(0.5 + np.asarray(level) / 2.0, degrees_of_freedom)
    level, df, bias = np.broadcast_arrays(*(np.asarray(a, dtype=float) for a in (level, degrees_of_freedom, bias)))
    if not np.all(bias > 0):
        found, some = np.array(t_quantile(0.5 + level / 2.0, df)), bias > 0
        found[some] = multiplier(level[some], df[some], bias[some])
        return found
    # Newton's method on a rising function that is concave above ``bias``: from below it climbs without overshooting.
    found = bias + np.maximum(t_quantile(level, df), 0.0)
    for _ in range(_STEPS):
        step = (level - between(found, df, bias)) / (_density(found - bias, df) + _density(found + bias, df))
        found = found + np.where(np.isfinite(step), step, 0.0)
        if np.all(~(np.abs(step) > 1e-12 * found)):
            break
    return np.where(np.isnan(df) | np.isnan(bias), np.nan, found)


def _density(t: np.ndarray, degrees_of_freedom: np.ndarray) -> np.ndarray:
    """Probability density (...) of Student's t, the normal one where the degrees of freedom are infinite."""
    large = degrees_of_freedom > 1e8
    df = np.where(large, 1.0, degrees_of_freedom)
    scale = np.exp(special.gammaln(0.5 * (df + 1.0)) - special.gammaln(0.5 * df)) / np.sqrt(np.pi * df)
    student = scale * np.exp(-0.5 * (df + 1.0) * np.log1p(np.square(t) / df))
    return np.where(large, np.exp(-0.5 * np.square(t)) / np.sqrt(2.0 * np.pi), student)


def between(limit: Floats, degrees_of_freedom: Floats, bias: Floats) -> Floats:
    """Probability (...) that Student's t plus ``bias`` lies within plus and minus ``limit``.

    Parameters
    ----------
    limit : limit, in standard uncertainties [1]
    degrees_of_freedom : degrees of freedom [1]
    bias : largest bias, in standard uncertainties [1]

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    return cumulative(limit - bias, degrees_of_freedom) - cumulative(-limit - bias, degrees_of_freedom)


def cumulative(t: Floats, degrees_of_freedom: Floats) -> Floats:
    """Distribution (...) of Student's t, the normal one where the degrees of freedom are infinite.

    Parameters
    ----------
    t : Student's t [1]
    degrees_of_freedom : degrees of freedom [1]

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    df = np.asarray(degrees_of_freedom, dtype=float)
    large = df > 1e8
    return np.where(large, special.ndtr(t), special.stdtr(np.where(large, 1.0, df), t))


def survives_up_to(distance: float, standard_uncertainty: float, degrees_of_freedom: float, level: float) -> float:
    """The largest bias under which a difference so far from zero still clears it at ``level``; NaN where none.

    ``distance`` on the scale of ``standard_uncertainty``, as the bias.

    Parameters
    ----------
    distance : distance of the difference from zero, on the scale of ``standard_uncertainty``
    standard_uncertainty : standard uncertainty, on the same scale
    degrees_of_freedom : degrees of freedom [1]
    level : probability that the interval holds [1], 0 to 1

    Returns
    -------
    float
        [1].
    """
    t = abs(distance) / standard_uncertainty
    if not between(np.array(t), np.array(degrees_of_freedom), np.array(0.0)) > level:
        return float("nan")
    low, high = 0.0, t
    for _ in range(60):
        middle = 0.5 * (low + high)
        clear = between(np.array(t), np.array(degrees_of_freedom), np.array(middle)) > level
        low, high = (middle, high) if clear else (low, middle)
    return low * standard_uncertainty
