"""When the order cannot show everything: scatter seen (Type A) joined with what is stated (Type B).

Generalised least squares on runs. Mean: day levels, configuration, and between blocks a slope for each day that goes
back to its first configuration; a trend within blocks has a slope of its own, for fuel that burns in every block and is
filled up at every swap looks like a drift there and is none between blocks. Covariance: ``s^2 I + K``, ``s`` the
scatter of runs within their blocks and ``K`` the stated re-rigging and drift. ``K`` is diagonalised once, on the space
that is blind to the nuisance part of the mean, so many campaigns flown in one order cost a few multiplications each.

Statements are not taken on trust where the flights speak: with installations to spare, the scatter between them is
compared with the stated one by F, and the larger is used when they disagree at 5 %. A drift that no return shows shapes
the weights here; what it may do to the difference is a limit (:mod:`samesky.inference.believable_drift`).
"""

from __future__ import annotations

import numpy as np
from scipy import special

from samesky.inference.budget import Part, contribution, covariance, reading_floor
from samesky.inference.design import Design
from samesky.inference.floor import above_readings
from samesky.inference.linear import complement

#: Below this probability (chosen) the scatter seen between installations replaces the stated one.
SURPRISING = 0.05
#: Share of the largest variance below which another is none.
NO_SCATTER = 1e-10


def solve(design: Design, y: np.ndarray, parts: tuple[Part, ...]) -> dict:
    """Difference, its Type A and Type B variances and its weights, for ``y`` (..., n)."""
    order = design.order
    shaping = [part for part in parts if _shapes(part, design)]
    stated = sum((covariance(part, order) for part in shaping), np.zeros((order.runs, order.runs)))
    seen = np.square(y @ design.residual.T).sum(axis=-1) / design.degrees_of_freedom
    scatter, share = above_readings(seen, reading_floor(parts, design), design.degrees_of_freedom)

    mean = mean_of_runs(design, sloped(design, parts))
    blind = complement(mean[:, 1:])
    extra, turn = np.linalg.eigh(blind @ stated @ blind.T)
    rows = turn.T @ blind
    signal = rows @ mean[:, 0]
    spread = scatter[..., None] + np.maximum(extra, 0.0)
    # Runs that do not scatter at all would let the rounding errors of the axes choose the weights.
    precision = signal / np.maximum(spread, NO_SCATTER * spread.max(axis=-1, keepdims=True))
    precision /= (precision * signal).sum(axis=-1, keepdims=True)
    weights = precision @ rows

    added = [(part, contribution(part, design, weights)) for part in parts if part.scope != "run"]
    surprise, widening = _between(design, y, scatter, stated)
    return {
        "difference": (y * weights).sum(axis=-1),
        "scatter": np.sqrt(scatter),
        "type_a": scatter * np.square(weights).sum(axis=-1),
        "added": added,
        "stated": share,
        "weights": weights,
        "surprise": surprise,
        "widening": widening,
        "widened_df": design.spare_blocks,
    }


def sloped(design: Design, parts: tuple[Part, ...]) -> np.ndarray:
    """The days whose own slope is taken out: all of them where some go back and nothing bounds drift on the others."""
    order = design.order
    if order.has_return and not any(part.scope in ("straight drift", "wandering") for part in parts):
        return np.unique(order.day)
    return order.sloped_days


def mean_of_runs(design: Design, days: np.ndarray) -> np.ndarray:
    """Columns (n, p) of the mean of every run: configuration, levels, slopes of ``days`` between blocks, and within.

    Where the change is free and a day goes back, a run is a block of its own.
    """
    order = design.order
    if not order.refit and order.has_return:
        return order.mean_model(np.arange(order.runs), days)
    between = order.mean_model(order.block, days)[np.searchsorted(np.unique(order.block), order.block)]
    if not design.slope_removed:
        return between
    own = order.time - (order.averages(order.block) @ order.time)[np.searchsorted(np.unique(order.block), order.block)]
    return np.column_stack([between, own])


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
    rows = complement(order.mean_model(order.block, order.sloped_days)) @ averages
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
