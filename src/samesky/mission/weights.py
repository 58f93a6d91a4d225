"""How much does each measure count for a kind of flying?

People rank what matters far more reliably than they weigh it. So a mission's numbers are used twice: as they stand, and
as a mere ranking, over all weights that agree with it. A conclusion that survives the second needs no argument about
the first. Rank-order centroid weights are the mean of all weights that agree with a ranking (Barron and Barrett,
Management Science 42 (1996) 1515-1523).
"""

from __future__ import annotations

import numpy as np


def rank_order_centroid(count: int) -> np.ndarray:
    """Weights (count,) of criteria ranked from most to least important: w_i = (1/n) sum over k >= i of 1/k.

    Raises ValueError for a count below one.
    """
    if count < 1:
        raise ValueError("at least one criterion is needed")
    return np.cumsum(1.0 / np.arange(count, 0, -1))[::-1] / count


def normalised(weights: np.ndarray) -> np.ndarray:
    """Weights (n,) scaled to a sum of one. Raises ValueError where one is negative or all are zero."""
    if (weights < 0).any() or not weights.sum() > 0:
        raise ValueError("weights must be zero or more, and not all zero")
    return weights / weights.sum()


def agreeing(weights: np.ndarray, draws: int, rng: np.random.Generator) -> np.ndarray:
    """Random weights (draws, n), even over all weights that rank the criteria as ``weights`` (n,) do.

    Equal weights may come in either order; a weight of zero stays zero. The idea of judging a choice over all weights
    is Lahdelma and Salminen's (Operations Research 49 (2001) 444-454).
    """
    counted = np.flatnonzero(weights > 0)
    simplex = rng.dirichlet(np.ones(counted.size), size=draws)
    simplex = -np.sort(-simplex, axis=1)
    # Ties are broken anew in each draw, so that neither of two equals is favoured.
    luck = rng.random((draws, counted.size))
    rank = np.lexsort((luck, np.broadcast_to(-weights[counted], luck.shape)))
    drawn = np.zeros((draws, weights.size))
    np.put_along_axis(drawn, counted[rank], simplex, axis=1)
    return drawn
