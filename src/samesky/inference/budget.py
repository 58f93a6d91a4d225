"""What do the stated error sources add to the uncertainty of a difference?

Each source has a scope: the runs that share one error (:mod:`samesky.instruments.sources`). With weights ``w`` of the
difference and ``C`` the covariance of the source over the runs, it contributes ``w' C w`` (JCGM 100, 5.2.2). Part of
that may already be in the scatter that the runs show. What the order makes visible there is, in expectation,
``variance_factor * trace(R C R')/df``; only the rest, what the order *hides*, is added. A campaign-wide error is one
single draw and is added in full; a reading error of every run is visible in full, and stands in for a scatter that it
contradicts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NotRequired, TypedDict

import numpy as np

from samesky.inference.design import Design
from samesky.inference.order import FlownOrder

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

#: Degrees of freedom of an entered reading or fitting error where nothing says how well it is known: doubtful by a
#: quarter of its size (JCGM 100:2008, G.4.2). Simulated with sizes half and twice as large as entered.
ENTERED = 8.0
#: Scopes that regression, pairs and days leave to the scatter as far as they are visible in it.
SHARED = ("installation", "day", "straight drift", "wandering")
#: Scope of the worst drift believable: a limit an hour, no scatter. It takes part through the interval alone
#: (:mod:`samesky.inference.believable_drift`).
WORST = "worst drift"


@dataclass(frozen=True, slots=True, eq=False)
class UncertaintyComponent:
    """One stated error source, as it acts on the runs.

    Attributes
    ----------
    name : such as ``"stopwatch"``
    scope : run, installation, day, campaign, straight drift (per hour) or wandering (per root hour)
    sensitivity : (n,) signed standard uncertainty of every run's value on the scale of the comparison; for a
        campaign-wide source also (..., n), when every one of many campaigns has its own
    degrees_of_freedom : how well the uncertainty is known
    level : whether it acts on the result itself (a day's level, rising air), rather than through one reading
    """

    name: str
    scope: str
    sensitivity: Floats
    degrees_of_freedom: float = math.inf
    level: bool = False


class Solved(TypedDict):
    """A difference with its parts, each (...) as the values' leading shape, on the scale of the comparison.

    Attributes
    ----------
    difference : other minus baseline
    scatter : standard deviation of one unit
    type_a : variance of the difference by the scatter seen
    added : (source, variance that it adds)
    stated : share of ``type_a`` that rests on entered reading errors, 0 to 1
    weights : (..., n) of the runs in the difference
    surprise : probability of installations so far apart if what is stated were true
    pooled : degrees of freedom where the scatter between installations and what is entered have become one, or None
    shaping : the sources that have become one with it
    drift_uncertainty : of the straight drift per hour
    """

    difference: Floats
    scatter: Floats
    type_a: Floats
    added: list[tuple[UncertaintyComponent, Floats]]
    stated: Floats
    weights: Floats
    surprise: NotRequired[Numbers]
    pooled: NotRequired[Floats | None]
    shaping: NotRequired[tuple[UncertaintyComponent, ...]]
    drift_uncertainty: NotRequired[Floats]


def covariance(part: UncertaintyComponent, order: FlownOrder) -> Floats:
    """Covariance (n, n) over the runs of one stated source.

    A straight drift has a slope of its own each day; a wandering one is a random walk from the first run of each day;
    the worst drift believable is a limit and has none.
    Raises ValueError for a scope that is not known.

    Parameters
    ----------
    part : one entered error source
    order : the order in which the runs were flown

    Returns
    -------
    ndarray
        (n, n), squares of the scale of the comparison.
    """
    c = np.broadcast_to(np.asarray(part.sensitivity, dtype=float), (order.runs,))
    outer = np.outer(c, c)
    same_day = order.day[:, None] == order.day[None, :]
    match part.scope:
        case "run":
            return np.diag(c * c)
        case "installation":
            same = order.installation[:, None] == order.installation[None, :]
            return outer * same if order.fitted_anew else np.zeros_like(outer)
        case "day":
            return outer * same_day
        case "campaign":
            return outer
        case "straight drift":
            return outer * np.outer(order.time, order.time) * same_day
        case "wandering":
            return outer * np.minimum.outer(order.since_morning, order.since_morning) * same_day
        case "worst drift":
            return np.zeros_like(outer)  # a limit is no scatter
    raise ValueError(f"error source {part.name!r}: unknown scope {part.scope!r}")


def reading_variances(parts: tuple[UncertaintyComponent, ...], runs: int) -> Floats:
    """Variance (n,) of each run from reading errors; what acts on the result itself is scatter, to be seen.

    Parameters
    ----------
    parts : the entered error sources, as they act on the runs
    runs : number of runs

    Returns
    -------
    ndarray
        (n,), squares of the scale of the comparison.
    """
    total = np.zeros(runs)
    for part in _readings(parts):
        total += np.square(np.broadcast_to(part.sensitivity, total.shape))
    return total


def known(part: UncertaintyComponent) -> float:
    """How well an entered reading or fitting error is known: its degrees of freedom.

    Parameters
    ----------
    part : one entered error source

    Returns
    -------
    float
        Degrees of freedom [1].
    """
    return float(part.degrees_of_freedom) if math.isfinite(part.degrees_of_freedom) else ENTERED


def readings_known(parts: tuple[UncertaintyComponent, ...]) -> float:
    """Degrees of freedom of the reading errors together (JCGM 100, G.2b).

    Parameters
    ----------
    parts : the entered error sources, as they act on the runs

    Returns
    -------
    float
        Degrees of freedom [1].
    """
    sizes = [(float(np.mean(np.square(part.sensitivity))), known(part)) for part in _readings(parts)]
    total, doubt = sum(size for size, _ in sizes), sum(size**2 / df for size, df in sizes)
    return total**2 / doubt if doubt > 0 else ENTERED


def largest_reading(parts: tuple[UncertaintyComponent, ...]) -> str:
    """Name of the reading whose error is largest in the runs; empty without one.

    Parameters
    ----------
    parts : the entered error sources, as they act on the runs
    """
    readings = _readings(parts)
    return max(readings, key=lambda part: float(np.mean(np.square(part.sensitivity)))).name if readings else ""


def _readings(parts: tuple[UncertaintyComponent, ...]) -> list[UncertaintyComponent]:
    return [part for part in parts if part.scope == "run" and not part.level]


def reading_floor(parts: tuple[UncertaintyComponent, ...], design: Design) -> float:
    """Mean square that reading errors alone would put into the scatter: the square of the floor under it.

    Parameters
    ----------
    parts : the entered error sources, as they act on the runs
    design : the comparison that the flown order supports

    Returns
    -------
    float
        Square of the scale of the comparison.
    """
    total = reading_variances(parts, design.order.runs)
    return float((np.square(design.residual) @ total).sum() / design.degrees_of_freedom)


def contribution(part: UncertaintyComponent, design: Design, weights: Floats | None = None) -> Floats:
    """Variance ``w' C w`` that a source puts into the difference, seen in the scatter or not.

    An array (...) for a campaign-wide source with a sensitivity (..., n), or weights (..., n). Straight drift counts
    with a slope of its own each day, or with one that comes back daily, whichever is worse for these weights.

    Parameters
    ----------
    part : one entered error source
    design : the comparison that the flown order supports
    weights : weights of the runs (..., n), None for those of the design

    Returns
    -------
    ndarray
        Square of the scale of the comparison, (...).
    """
    w = design.weights if weights is None else weights
    c = np.asarray(part.sensitivity, dtype=float)
    if part.scope == "campaign":
        return np.square((w * c).sum(axis=-1))
    total = np.maximum(0.0, ((w @ covariance(part, design.order)) * w).sum(axis=-1))
    if part.scope == "straight drift":
        total = np.maximum(total, np.square((w * c * _unreturned(design.order)).sum(axis=-1)))
    return total[()]


def hidden_variance_factor(design: Design) -> float:
    """Factor on the variance of runs within blocks that unequal numbers of runs hide from the scatter of units.

    Means of few runs scatter more than means of many; where the former weigh more in the difference than in the
    scatter, the excess is added with the scatter of runs within blocks.

    Parameters
    ----------
    design : the comparison that the flown order supports

    Returns
    -------
    float
        [1].
    """
    if design.within is None or not design.within.shape[0]:
        return 0.0
    seen = design.variance_factor * np.square(design.residual).sum() / design.degrees_of_freedom
    return max(0.0, float(design.weights @ design.weights - seen))


def hidden(part: UncertaintyComponent, design: Design) -> Floats:
    """Variance of the difference from a source that the scatter of this order does not show (contrast and days).

    Parameters
    ----------
    part : one entered error source
    design : the comparison that the flown order supports

    Returns
    -------
    ndarray
        Square of the scale of the comparison, (...).
    """
    if part.scope == "run":
        return np.zeros(())
    full = np.maximum(0.0, contribution(part, design))
    if part.scope == "campaign" or not design.degrees_of_freedom:
        return full
    spread = covariance(part, design.order)
    seen = (
        design.variance_factor
        * np.einsum("ij,jk,ik->", design.residual, spread, design.residual)
        / design.degrees_of_freedom
    )
    if part.scope == "straight drift":
        alike = np.asarray(part.sensitivity) * _unreturned(design.order)
        shown = design.variance_factor * np.square(design.residual @ alike).sum() / design.degrees_of_freedom
        own = float(design.weights @ spread @ design.weights - seen)
        return np.asarray(max(0.0, own, float(np.square(design.weights @ alike) - shown)))
    return np.maximum(0.0, full - float(seen))


def _unreturned(order: FlownOrder) -> Floats:
    """Hours (n,) from the middle of the day on days that do not go back, zero on the others."""
    return np.where(np.isin(order.day, order.days_without_return), order.time, 0.0)
