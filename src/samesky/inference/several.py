"""Three propellers or more: every pair is compared in one joint fit, and all claims together hold their level.

The runs of all configurations share days, drift and scatter, so each pair is estimated from one model with all of them,
and its scatter is pooled. With k configurations there are k (k - 1) / 2 pairs, each a chance to be fooled: intervals
and p-values are those of the studentised range (Tukey; Kramer, Biometrics 12 (1956) 307-310, for unequal numbers,
conservative: Hayter, Annals of Statistics 12 (1984) 61-75). They hold for all pairs of a measure together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from samesky.inference import verdict

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(96)
#: Reach of the normal distribution in the integral over one mean; beyond lies less than 1e-15.
_REACH = 8.0
#: Above these degrees of freedom a scatter counts as known.
_KNOWN = 1e5


def range_probability(q: Numbers, groups: int, degrees_of_freedom: float) -> Floats:
    """Probability (...) that the studentised range of ``groups`` means stays below ``q`` (...).

    The double integral over one of the means and over the scatter seen, by Gauss and Legendre's rule.

    Parameters
    ----------
    q : width of the range in standard deviations [1]
    groups : number of configurations compared together
    degrees_of_freedom : degrees of freedom [1]

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    q = np.asarray(q, dtype=float)
    if degrees_of_freedom > _KNOWN:
        return _of_known_scatter(q, groups)
    half = degrees_of_freedom / 2.0
    low, high = (np.sqrt(end(half, 1e-14) / half) for end in (special.gammaincinv, special.gammainccinv))
    x = low + (high - low) * (_NODES + 1.0) / 2.0
    log_density = np.log(2.0) + half * np.log(half) - special.gammaln(half) + (2 * half - 1) * np.log(x) - half * x * x
    mass = np.exp(log_density) * _WEIGHTS * (high - low) / 2.0
    return (_of_known_scatter(q[..., None] * x, groups) * mass).sum(axis=-1)


def _of_known_scatter(width: Floats, groups: int) -> Floats:
    z = _REACH * _NODES
    density = groups * np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi) * _WEIGHTS * _REACH
    inside = np.maximum(special.ndtr(z) - special.ndtr(z - np.maximum(width, 0.0)[..., None]), 0.0)
    return (inside ** (groups - 1) * density).sum(axis=-1)


@lru_cache(maxsize=1024)
def range_quantile(level: float, groups: int, degrees_of_freedom: float) -> float:
    """The studentised range of ``groups`` means that is exceeded with probability ``1 - level``.

    Parameters
    ----------
    level : probability that the interval holds [1], 0 to 1
    groups : number of configurations compared together
    degrees_of_freedom : degrees of freedom [1]

    Returns
    -------
    float
        [1].
    """
    low, high = 0.0, 4.0
    while float(range_probability(high, groups, degrees_of_freedom)) < level:
        high *= 2.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if float(range_probability(middle, groups, degrees_of_freedom)) < level:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def each_of_pairs(level: Numbers, groups: int) -> Floats:
    """Level of a single pair's interval so that those of all pairs hold ``level`` together, by Bonferroni's bound.

    Parameters
    ----------
    level : probability that the interval holds [1], 0 to 1
    groups : number of configurations compared together

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    return 1.0 - (1.0 - np.asarray(level)) / (groups * (groups - 1) / 2.0)


def together(level: Numbers, groups: int, degrees_of_freedom: Numbers) -> Floats:
    """Half an interval of a difference in its standard uncertainties (...), for all pairs of ``groups`` together.

    Parameters
    ----------
    level : probability that the interval holds [1], 0 to 1
    groups : number of configurations compared together
    degrees_of_freedom : degrees of freedom [1]

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    levels, df = np.broadcast_arrays(np.asarray(level, dtype=float), np.asarray(degrees_of_freedom, dtype=float))
    found = [
        range_quantile(float(a), groups, float(b)) / np.sqrt(2.0) if b > 0 else np.nan
        for a, b in zip(levels.ravel(), df.ravel(), strict=True)
    ]
    return np.array(found).reshape(levels.shape)[()]


def together_p(t: Numbers, groups: int, degrees_of_freedom: Numbers) -> Floats:
    """Probability (...) that any pair of ``groups`` equal configurations lies so many standard uncertainties apart.

    Parameters
    ----------
    t : Student's t [1]
    groups : number of configurations compared together
    degrees_of_freedom : degrees of freedom [1]

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    apart, df = np.broadcast_arrays(np.abs(np.asarray(t, dtype=float)), np.asarray(degrees_of_freedom, dtype=float))
    found = [
        1.0 - float(range_probability(np.sqrt(2.0) * a, groups, float(b))) if np.isfinite(a) and b > 0 else np.nan
        for a, b in zip(apart.ravel(), df.ravel(), strict=True)
    ]
    return np.clip(np.array(found), 0.0, 1.0).reshape(apart.shape)[()]


def ranking(worth: Mapping[str, float], verdicts: Mapping[tuple[str, str], str]) -> str:
    """The order of the configurations in words: ``"C first, then A and B not told apart"``.

    Parameters
    ----------
    worth : by configuration, larger is better
    verdicts : of each pair (baseline, other), as :func:`samesky.inference.verdict.words` says them
    """
    keys = sorted(worth, key=lambda key: -worth[key])
    better = {(a, b): _winner(verdicts, a, b) == a for a in keys for b in keys if a != b}
    groups: list[list[str]] = []
    for key in keys:
        if groups and not any(better[own, key] for own in groups[-1]):
            groups[-1].append(key)
        else:
            groups.append([key])
    whole = all(better[a, b] for one, after in pairwise(groups) for a in one for b in after)
    if not whole or any(better[a, b] for one in groups for a in one for b in one if a != b):
        return _claims(keys, better)
    said = [_group(one, verdicts) for one in groups]
    if len(groups) == 1:
        return said[0]
    first = f"{said[0]} first" if len(groups[0]) == 1 else f"{said[0]}, both first" if len(groups[0]) == 2 else said[0]
    return ", then ".join([first, *said[1:]])


def _winner(verdicts: Mapping[tuple[str, str], str], a: str, b: str) -> str:
    said = verdicts.get((a, b), verdicts.get((b, a), ""))
    return next((key for key in (a, b) if said == f"{key} {verdict.WORDS[verdict.OTHER_BETTER]}"), "")


def _group(keys: Sequence[str], verdicts: Mapping[tuple[str, str], str]) -> str:
    if len(keys) == 1:
        return keys[0]
    none = (verdict.WORDS[verdict.NO_DIFFERENCE], verdict.WORDS[verdict.TOO_SMALL])
    pairs = [verdicts.get((a, b), verdicts.get((b, a))) for k, a in enumerate(keys) for b in keys[k + 1 :]]
    alike = all(said in none for said in pairs)
    names = _listed(sorted(keys))
    return f"{names} without a difference that matters" if alike else f"{names} not told apart"


def _claims(keys: Sequence[str], better: Mapping[tuple[str, str], bool]) -> str:
    """Where the pairs make no ranking: what is told apart, one by one."""
    told = [f"{a} before {b}" for a in keys for b in keys if a != b and better[a, b]]
    return f"{_listed(told)}; the other pairs are not told apart"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
