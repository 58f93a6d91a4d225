"""When the order cannot show everything: scatter seen (Type A) joined with what is stated (Type B).

Generalised least squares on runs. Mean: day levels, configuration, and straight time where the order has a return.
Covariance: ``s^2 I + K`` with ``s`` the scatter of runs within their blocks and ``K`` the stated re-rigging and drift.
``K`` is diagonalised once, on the space that is blind to the nuisance part of the mean, so many campaigns flown in one
order cost a few multiplications each. Where installations are to spare, the scatter between them is compared with
the stated one by F, and the larger is used when they disagree at 5 %.
"""

from __future__ import annotations

import numpy as np
from scipy import special

from samesky.inference.budget import Part, covariance, reading_floor
from samesky.inference.design import Design
from samesky.inference.linear import complement

#: Below this probability the scatter seen between installations replaces the stated one.
SURPRISING = 0.05


def solve(design: Design, y: np.ndarray, parts: tuple[Part, ...]) -> dict:
    """Difference, its Type A and Type B variances and its weights, for ``y`` (..., n)."""
    order = design.order
    shaping = [part for part in parts if _shapes(part, design)]
    spreads = {id(part): covariance(part, order, slopes_by_day=order.has_return) for part in parts}
    stated = sum((spreads[id(part)] for part in shaping), np.zeros((order.runs, order.runs)))
    seen = np.square(y @ design.residual.T).sum(axis=-1) / design.degrees_of_freedom
    floor = reading_floor(parts, design)
    scatter = np.maximum(seen, floor)

    mean = order.mean_model(np.arange(order.runs), with_time=order.has_return)
    blind = complement(mean[:, 1:])
    extra, turn = np.linalg.eigh(blind @ stated @ blind.T)
    rows = turn.T @ blind
    signal = rows @ mean[:, 0]
    precision = signal / (scatter[..., None] + np.maximum(extra, 0.0))
    precision /= (precision * signal).sum(axis=-1, keepdims=True)
    weights = precision @ rows

    added = []
    for part in parts:
        if part.scope != "run":
            variance = ((weights @ spreads[id(part)]) * weights).sum(axis=-1)
            added.append((part, np.maximum(variance, 0.0)))
    surprise, widening = _between(design, y, scatter, stated)
    return {
        "difference": (y * weights).sum(axis=-1),
        "scatter": np.sqrt(scatter),
        "type_a": scatter * np.square(weights).sum(axis=-1),
        "added": added,
        "floor_used": seen < floor,
        "weights": weights,
        "surprise": surprise,
        "widening": widening,
        "widened_df": design.spare_blocks,
    }


def _shapes(part: Part, design: Design) -> bool:
    """Whether the source belongs into the covariance that the weights answer to."""
    if part.scope == "day":
        return design.order.day_confounded
    return part.scope in ("installation", "straight drift", "wandering")


def _between(design: Design, y: np.ndarray, scatter: np.ndarray, stated: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Probability of the scatter seen between blocks if the stated one were true, and the factor on the variance."""
    if not design.spare_blocks:
        return np.full(np.shape(scatter), np.nan), np.ones(np.shape(scatter))
    order = design.order
    averages = order.averages(order.block)
    rows = complement(order.mean_model(order.block, with_time=order.has_return)) @ averages
    # Whiten the scatter of runs, then turn to the axes of the stated covariance: one eigenproblem for all campaigns.
    root = np.linalg.cholesky(rows @ rows.T)
    rows = np.linalg.solve(root, rows)
    extra, turn = np.linalg.eigh(rows @ stated @ rows.T)
    extra = np.maximum(extra, 0.0)
    spread = np.square(y @ (turn.T @ rows).T) / (scatter[..., None] + extra)
    ratio = spread.mean(axis=-1)
    known = design.degrees_of_freedom * np.square(1.0 + extra.mean() / np.where(scatter > 0, scatter, np.inf))
    surprise = special.fdtrc(design.spare_blocks, known, ratio)
    return surprise, np.where(surprise < SURPRISING, np.maximum(ratio, 1.0), 1.0)
