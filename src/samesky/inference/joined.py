"""When the order cannot show everything: scatter seen (Type A) joined with what is stated (Type B).

Generalised least squares on runs. Mean: day levels, configuration, and between blocks a slope for each day that goes
back to its first configuration; a trend within blocks has a slope of its own, for fuel that burns in every block and is
filled up at every swap looks like a drift there and is none between blocks. Covariance: ``s^2 I + K``, ``s`` the
scatter of runs within their blocks and ``K`` the stated re-rigging and drift. ``K`` is diagonalised once, on the space
that is blind to the nuisance part of the mean, so many campaigns flown in one order cost a few multiplications each.

Statements are not taken on trust where the flights speak. With installations to spare, the scatter seen between them is
pooled with the one to be expected, ``(nu0 V0 + nu V) / (nu0 + nu)`` on ``nu0 + nu`` degrees of freedom, ``nu0`` never
more than :data:`ENTERED`; where the two contradict each other by F the scatter seen stands alone. So a further block
never widens the interval by a change of method, and what is entered is forgotten as installations speak. Coverage, with
run scatter and fittings of like size: 94 to 96 % where fittings differ as entered or less, 92 % with four installations
more than unknowns where they differ twice as far as entered (``tests/inference/test_more_runs.py``).
A drift that no return shows shapes the weights here; what it may do to the difference is a limit
(:mod:`samesky.inference.believable_drift`).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from samesky.inference.budget import (
    ENTERED,
    UncertaintyComponent,
    contribution,
    covariance,
    reading_floor,
    reading_variances,
    readings_known,
)
from samesky.inference.design import Design
from samesky.inference.floor import above_readings
from samesky.inference.linear import complement

if TYPE_CHECKING:
    from samesky.arrays import Floats
    from samesky.inference.budget import Solved

#: Below this probability (chosen) installations are said to differ more than entered.
SURPRISING = 0.05
#: Below these probabilities the scatter seen between installations stands alone, by its degrees of freedom (three and
#: more as the last): with one, Student's t on what was seen is next to no answer.
STANDS_ALONE = (0.05, 0.10, 0.20)
#: Below this probability installations agree so much better than entered that what is entered is left out.
AGREES = 0.02
#: Scopes that shape the weights of the runs.
SHAPING = ("installation", "straight drift", "wandering")
#: Share of the largest variance below which another is none.
NO_SCATTER = 1e-10


def solve(design: Design, y: Floats, parts: tuple[UncertaintyComponent, ...], believed: float = 0.0) -> Solved:
    """Difference, its Type A and Type B variances and its weights, for ``y`` (..., n).

    Parameters
    ----------
    design : the comparison that the flown order supports
    y : values on the scale of the comparison, (..., n)
    parts : the entered error sources, as they act on the runs
    believed : fastest drift an hour that is believed, on the scale of the comparison [1/h]
    """
    order = design.order
    shaping = [part for part in parts if _shapes(part, design)]
    stated = sum((covariance(part, order) for part in shaping), np.zeros((order.runs, order.runs)))
    run_variance, share, floor = _of_runs(design, y, parts)

    mean = mean_of_runs(design, sloped(design, parts))
    blind = complement(mean[:, 1:])
    extra, turn = np.linalg.eigh(blind @ (stated + _weighed_down(design, parts, believed)) @ blind.T)
    rows = turn.T @ blind
    signal = rows @ mean[:, 0]
    variances = run_variance[..., None] + np.maximum(extra, 0.0)
    # Runs that do not scatter at all would let the rounding errors of the axes choose the weights.
    precision = signal / np.maximum(variances, NO_SCATTER * variances.max(axis=-1, keepdims=True))
    precision /= (precision * signal).sum(axis=-1, keepdims=True)
    weights = precision @ rows

    added = [(part, contribution(part, design, weights)) for part in parts if part.scope != "run"]
    surprise, factor, between = _between(design, y, run_variance, stated, floor, parts)
    shaped = [factor if any(part is own for own in shaping) else 1.0 for part, _ in added]
    added = [(part, variance * by) for (part, variance), by in zip(added, shaped, strict=True)]
    return {
        "difference": (y * weights).sum(axis=-1),
        "scatter": np.sqrt(run_variance),
        "type_a": factor * run_variance * np.square(weights).sum(axis=-1),
        "added": added,
        "stated": share,
        "weights": weights,
        "surprise": surprise,
        "pooled": between if design.spare_blocks else None,
        "shaping": tuple(shaping),
        "drift_uncertainty": _of_drift(design, parts, run_variance, factor),
    }


def _of_runs(design: Design, y: Floats, parts: tuple[UncertaintyComponent, ...]) -> tuple[Floats, Floats, float]:
    """Variance (...) of one run, the share of it that rests on the reading errors, and what these alone would make.

    A scatter from elsewhere holds the reading errors already: where those entered are larger, they take its place.
    """
    if math.isfinite(design.run_scatter):
        floor = float(reading_variances(parts, design.order.runs).mean())
        shape = y.shape[:-1]
        larger = np.full(shape, float(floor > design.run_scatter**2))
        return np.full(shape, max(design.run_scatter**2, floor)), larger, floor
    seen = np.square(y @ design.residual.T).sum(axis=-1) / design.degrees_of_freedom
    floor = reading_floor(parts, design)
    return *above_readings(seen, floor, design.degrees_of_freedom, readings_known(parts)), floor


def _weighed_down(design: Design, parts: tuple[UncertaintyComponent, ...], believed: float) -> Floats:
    """What is added to the covariance (n, n) that the weights answer to, on days that hide their drift beside days that
    show it.

    A drift up to a limit widens an interval of 95 % and more by no more than a normal one of that standard uncertainty
    would: the quantile of ``|T + b|`` is at most ``sqrt(1 + b^2)`` times that of ``|T|``, T of Student's t. So a day so
    weighed never does more harm than good. Limits of several days may all point the same way.
    """
    order = design.order
    days = order.days_without_return
    added = np.zeros((order.runs, order.runs))
    if not order.has_return or not days.size:
        return added
    entered = sum(np.mean(np.square(part.sensitivity)) for part in parts if part.scope == "straight drift")
    for day in days:
        hours = np.where(order.day == day, order.time, 0.0)
        added += max(0.0, days.size * believed**2 - entered) * np.outer(hours, hours)
    return added


def _of_drift(design: Design, parts: tuple[UncertaintyComponent, ...], run_variance: Floats, factor: Floats) -> Floats:
    """Standard uncertainty (...) of the drift told: the same sources as the difference, but for drift itself."""
    slope = design.drift_weights
    if slope is None:
        return np.full(np.shape(run_variance), np.nan)
    others = [part for part in parts if part.scope not in ("run", "straight drift")]
    # In two sums: what the fittings flown have widened or narrowed, and the rest.
    own = run_variance * (slope @ slope) + sum(
        contribution(part, design, slope) for part in others if _shapes(part, design)
    )
    rest = sum(contribution(part, design, slope) for part in others if not _shapes(part, design))
    return np.sqrt(factor * own + rest)


def sloped(design: Design, parts: tuple[UncertaintyComponent, ...]) -> Floats:
    """The days whose own slope is taken out: all of them where some go back and nothing bounds drift on the others.

    Parameters
    ----------
    design : the comparison that the flown order supports
    parts : the entered error sources, as they act on the runs

    Returns
    -------
    ndarray
        Numbers of the days [1], (days,).
    """
    order = design.order
    if order.has_return and not any(part.scope in ("straight drift", "wandering") for part in parts):
        return np.unique(order.day)
    return order.sloped_days


def mean_of_runs(design: Design, days: Floats) -> Floats:
    """Columns (n, p) of the mean of every run: configuration, levels, slopes of ``days`` between blocks, and within.

    Where the change is free and a day goes back, a run is a block of its own.

    Parameters
    ----------
    design : the comparison that the flown order supports
    days : days whose own slope is a column

    Returns
    -------
    ndarray
        (n, p) [1], slopes in [h].
    """
    order = design.order
    if not order.fitted_anew and order.has_return:
        return order.mean_model(np.arange(order.runs), days)
    between = order.mean_model(order.block, days)[np.searchsorted(np.unique(order.block), order.block)]
    if not design.slope_removed:
        return between
    own = order.time - (order.averages(order.block) @ order.time)[np.searchsorted(np.unique(order.block), order.block)]
    return np.column_stack([between, own])


def _shapes(part: UncertaintyComponent, design: Design) -> bool:
    """Whether the source belongs into the covariance that the weights answer to."""
    if part.scope == "day":
        return design.order.day_confounded
    return part.scope in SHAPING


def between_axes(design: Design, stated: Floats) -> tuple[Floats, Floats]:
    """Rows (nu, n) that see the scatter between installations, blind to the mean, and what is stated adds to each.

    Scatter of runs alone gives each row its mean square.

    Parameters
    ----------
    design : the comparison that the flown order supports
    stated : covariance (n, n) of what is entered

    Returns
    -------
    tuple of ndarray
        Rows (nu, n) [1] and the variances (nu,) that what is entered adds.
    """
    order = design.order
    rows = complement(order.mean_model(order.block, order.sloped_days)) @ order.averages(order.block)
    # Whiten the scatter of runs, then turn to the axes of the stated covariance: one eigenproblem for all campaigns.
    rows = np.linalg.solve(np.linalg.cholesky(rows @ rows.T), rows)
    extra, turn = np.linalg.eigh(rows @ stated @ rows.T)
    return turn.T @ rows, np.maximum(extra, 0.0)


def seen_in_part(part: UncertaintyComponent, design: Design) -> bool:
    """Whether the order shows something of a source that is entered: between its fittings, or where the change is free
    between its runs.

    Parameters
    ----------
    part : one entered error source
    design : the comparison that the flown order supports
    """
    if design.spare_blocks:
        rows, _ = between_axes(design, np.zeros((design.order.runs, design.order.runs)))
    elif not design.order.fitted_anew and design.order.has_return:
        rows = design.residual
    else:
        return False
    shown = np.einsum("ij,jk,ik->", rows, covariance(part, design.order), rows)
    return bool(shown > NO_SCATTER * np.square(part.sensitivity).sum())


def _between(
    design: Design,
    y: Floats,
    run_variance: Floats,
    stated: Floats,
    floor: float,
    parts: tuple[UncertaintyComponent, ...],
) -> tuple[Floats, Floats, Floats]:
    """Probability of the scatter seen between blocks if the stated one were true; the factor on the variance that the
    two together make; and its degrees of freedom.

    An error of the whole campaign that conditions make differ from block to block looks like fittings that differ: it
    excuses an excess of the scatter seen, as it is added by itself, and never makes it less than expected.
    """
    nu, nothing = design.spare_blocks, np.full(np.shape(run_variance), np.nan)
    if not nu:
        return nothing, np.ones(np.shape(run_variance)), nothing
    rows, extra = between_axes(design, stated)
    variances = run_variance[..., None] + extra
    tiny = np.finfo(float).tiny
    square = np.square(y @ rows.T)
    ratio = (square / np.maximum(variances, tiny)).mean(axis=-1)
    # Spread over all axes alike: where variances are equal the axes are any of their space, and which ones are found
    # depends on the processor.
    wide: Floats = np.zeros(1)
    for part in parts:
        if part.scope == "campaign":
            wide = wide + np.square(np.asarray(part.sensitivity) @ rows.T).mean(axis=-1, keepdims=True)
    excused = (square / np.maximum(variances + wide, tiny)).mean(axis=-1)
    ratio = np.where(ratio > 1.0, np.maximum(excused, 1.0), ratio)
    entered = extra.mean() / np.maximum(run_variance + extra.mean(), tiny)
    known = np.minimum(
        ENTERED, 1.0 / (np.square(1.0 - entered) / design.degrees_of_freedom + np.square(entered) / ENTERED)
    )
    surprise = special.fdtrc(nu, known, ratio)
    alone = (surprise < STANDS_ALONE[min(nu, len(STANDS_ALONE)) - 1]) | (special.fdtr(nu, known, ratio) < AGREES)
    factor = np.where(alone, ratio, (known + nu * ratio) / (known + nu))
    # Never less than the readings alone make.
    factor = np.maximum(factor, floor / np.maximum(run_variance + extra.mean(), tiny))
    return surprise, factor, np.where(alone, nu, known + nu)
