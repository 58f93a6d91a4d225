"""How often would relabelling alone give so large a difference? Exact, without any distribution.

Sign flips for pairs, relabelling within blocks (one block: two samples; blocks of two: pairs again; one value an
installation: relabelling installations).
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from samesky.arrays import Counts, Floats

#: Most pairs for which all sign patterns are formed, and most relabellings of blocks.
MOST_PAIRS, MOST_RELABELLINGS = 20, 200_000
#: Two sums count as equal when they differ by less than this fraction of the sum of absolute values.
TIE = 1e-12


class TooMany(ValueError):
    """More relabellings than can be listed."""


@lru_cache(maxsize=32)
def _subsets(n: int) -> Floats:
    """All subsets of n things as a 0/1 matrix (n, 2**n)."""
    return ((np.arange(2**n)[None, :] >> np.arange(n)[:, None]) & 1).astype(float)


def _subset_sums(d: Floats) -> Floats:
    """Sum (..., 2**n) of every subset of the differences (..., n), the empty one first."""
    n = d.shape[-1]
    if not 1 <= n <= MOST_PAIRS:
        raise TooMany(f"{n} pairs: exact sign flips are listed for 1 to {MOST_PAIRS}")
    half = (n + 1) // 2 if n > 8 else n
    sums: Floats = d[..., :half] @ _subsets(half)
    if half < n:
        sums = (sums[..., :, None] + (d[..., half:] @ _subsets(n - half))[..., None, :]).reshape(*d.shape[:-1], -1)
    return sums


def sign_flip_p(differences: Floats) -> Floats:
    """Two-sided p (...) of pair differences (..., n): share of the 2**n sign patterns with a mean as far from zero.

    Parameters
    ----------
    differences : differences of pairs, (..., n)

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    at_least, _, total = sign_flip_counts(differences)
    return at_least / total


def sign_flip_counts(differences: Floats) -> tuple[Floats, Floats, int]:
    """Number (...) of sign patterns with a sum as far from zero as seen, number exactly as far, and number of all.

    A pattern's sum is the whole sum less twice that of the flipped subset. Raises TooMany above ``MOST_PAIRS`` pairs.

    Parameters
    ----------
    differences : differences of pairs, (..., n)

    Returns
    -------
    tuple
        Two numbers of patterns (...) [1], and the number of all.
    """
    d = np.asarray(differences, dtype=float)
    sums = _subset_sums(d)
    whole = d.sum(axis=-1, keepdims=True)
    patterns = np.abs(whole - 2.0 * sums)
    slack = TIE * np.abs(d).sum(axis=-1, keepdims=True)
    at_least = (patterns >= np.abs(whole) - slack).sum(axis=-1)
    more = (patterns > np.abs(whole) + slack).sum(axis=-1)
    return at_least, at_least - more, sums.shape[-1]


def relabellings(configuration: Counts, blocks: Counts) -> int:
    """Number of ways to give the labels (n,) 0 or 1 out anew within the blocks (n,).

    Parameters
    ----------
    configuration : labels of the runs, 0 for the baseline and 1 for the other, (n,)
    blocks : labels of the blocks within which labels are exchanged, (n,); None for one block
    """
    labels, where = np.asarray(configuration), np.asarray(blocks)
    return math.prod(math.comb(int((where == b).sum()), int(labels[where == b].sum())) for b in np.unique(where))


# Few are kept: the longest lists fill some 40 MB each.
@lru_cache(maxsize=4)
def _relabellings(labels: tuple[int, ...], blocks: tuple[int, ...]) -> Floats:
    """Relabellings within blocks: columns (n, m) of -1 leaving B, +1 entering B.

    The first column is the labelling as flown (nothing swapped).
    """
    flown = np.asarray(labels)
    members = [np.flatnonzero(np.asarray(blocks) == block) for block in dict.fromkeys(blocks)]
    count = relabellings(flown, np.asarray(blocks))
    if count > MOST_RELABELLINGS:
        raise TooMany(f"{count} relabellings: at most {MOST_RELABELLINGS} are listed")
    choices = []
    for rows in members:
        own = rows[flown[rows] == 1]
        listed = [own, *(np.array(c, dtype=int) for c in combinations(rows, own.size) if not np.array_equal(c, own))]
        block = np.zeros((flown.size, len(listed)))
        for column, chosen in enumerate(listed):
            block[chosen, column] += 1.0
            block[own, column] -= 1.0
        choices.append(block)
    moves = choices[0]
    for block in choices[1:]:
        moves = (moves[:, :, None] + block[:, None, :]).reshape(flown.size, -1)
    return np.ascontiguousarray(moves)


def _gained(y: Floats, configuration: Counts, blocks: Counts | None) -> Floats:
    """What the sum of B's values gains (..., m) under each relabelling."""
    labels = tuple(int(label) for label in configuration)
    where = tuple(0 for _ in labels) if blocks is None else tuple(int(block) for block in blocks)
    gained: Floats = np.asarray(y, dtype=float) @ _relabellings(labels, where)
    return gained


def relabelling_tails(y: Floats, configuration: Counts, blocks: Counts | None = None) -> tuple[Floats, Floats]:
    """One-sided p (...), (...) that B is so much larger, and so much smaller, than relabelling within blocks gives.

    ``y`` (..., n); ``configuration`` (n,) 0 or 1; ``blocks`` (n,) or None for one block. Raises TooMany.

    Parameters
    ----------
    y : values on the scale of the comparison, (..., n)
    configuration : labels of the runs, 0 for the baseline and 1 for the other, (n,)
    blocks : labels of the blocks within which labels are exchanged, (n,); None for one block

    Returns
    -------
    tuple of ndarray
        One-sided p, larger and smaller [1], (...).
    """
    gained = _gained(y, configuration, blocks)
    slack = TIE * np.abs(np.asarray(y, dtype=float)).sum(axis=-1, keepdims=True)
    return (gained >= -slack).mean(axis=-1), (gained <= slack).mean(axis=-1)


def relabelling_p(y: Floats, configuration: Counts, blocks: Counts | None = None) -> Floats:
    """Two-sided p (...): twice the smaller tail, at most one.

    Parameters
    ----------
    y : values on the scale of the comparison, (..., n)
    configuration : labels of the runs, 0 for the baseline and 1 for the other, (n,)
    blocks : labels of the blocks within which labels are exchanged, (n,); None for one block

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    larger, smaller = relabelling_tails(y, configuration, blocks)
    return np.minimum(1.0, 2.0 * np.minimum(larger, smaller))
