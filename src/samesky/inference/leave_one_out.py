"""On which single run does an answer hang?

One run far from its neighbours can make a winner, or hide one by widening the interval. So each run that lies beyond
chance from what the others say of it (deleted residual against the scatter without it, Student's t with Bonferroni's
bound over all runs: Cook and Weisberg, Residuals and Influence in Regression (1982), section 2.2.2) is left out in
thought: where the verdict changes, or the difference moves by more than its uncertainty without the run, the run is
named and its reason asked for. Nothing is left out for it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from samesky.inference.budget import UncertaintyComponent, reading_variances
from samesky.inference.design import Design, recognise
from samesky.inference.estimate import Estimate, estimate
from samesky.inference.linear import complement
from samesky.inference.order import FlownOrder
from samesky.inference.uncertainty import two_sided_p

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: A run is beyond chance where all runs of a sound comparison would reach so far in less than this share (chosen).
BEYOND_CHANCE = 0.01
#: Fewest degrees of freedom left without the run (chosen: with one, nothing is far from anything).
FEWEST_LEFT = 2


def far_runs(design: Design, y: Floats, parts: tuple[UncertaintyComponent, ...]) -> list[int]:
    """The runs, among those compared, that lie beyond chance from what the others say of them, farthest first.

    Parameters
    ----------
    design : the comparison that the flown order supports
    y : values on the scale of the comparison, (..., n)
    parts : the entered error sources, as they act on the runs
    """
    order = design.order
    rows = (
        design.within if order.fitted_anew else complement(order.mean_model(np.arange(order.runs), order.sloped_days))
    )
    if rows is None or rows.shape[0] <= FEWEST_LEFT:
        return []
    weight = np.square(rows).sum(axis=0)
    told = weight > 1e-6
    left = rows.T @ (rows @ y)
    own = np.where(told, np.square(left) / np.where(told, weight, 1.0), 0.0)
    without = np.maximum(np.square(rows @ y).sum() - own, 0.0) / (rows.shape[0] - 1)
    without = np.maximum(without, reading_variances(parts, order.runs))
    with np.errstate(divide="ignore", invalid="ignore"):
        p = np.where(told & (own > 0), two_sided_p(np.sqrt(own / without), rows.shape[0] - 1), 1.0)
    far = np.flatnonzero(p * told.sum() < BEYOND_CHANCE)
    return [int(run) for run in far[np.argsort(p[far])]]


def hangs_on(
    design: Design,
    y: Floats,
    parts: tuple[UncertaintyComponent, ...],
    result: Estimate,
    judged: Callable[[Estimate], int],
) -> tuple[int, Estimate] | None:
    """The run on which the answer hangs, with the estimate without it; None where it hangs on none.

    ``judged`` gives the verdict's code of an estimate.

    Parameters
    ----------
    design : the comparison that the flown order supports
    y : values on the scale of the comparison, (..., n)
    parts : the entered error sources, as they act on the runs
    result : the estimate
    judged : gives the code of the verdict of an estimate
    """
    code = judged(result)
    for run in far_runs(design, y, parts):
        keep = np.arange(design.order.runs) != run
        order = design.order
        shorter = FlownOrder(
            order.configuration[keep], order.installation[keep], order.day[keep], order.hours[keep], order.fitted_anew
        )
        if not np.isin((0, 1), shorter.configuration).all():
            continue
        own = tuple(replace(part, sensitivity=np.broadcast_to(part.sensitivity, (order.runs,))[keep]) for part in parts)
        without = replace(estimate(recognise(shorter), y[keep], own), compared=result.compared, pooled=result.pooled)
        moved = abs(float(without.difference) - float(result.difference))
        if judged(without) != code or moved > float(without.standard_uncertainty):
            return run, without
    return None
