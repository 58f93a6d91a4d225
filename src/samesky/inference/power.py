"""Would it have been found? Power of the t test and of two one-sided tests, and what more flying would settle.

Noncentral t for the difference; for equivalence the exact power, integrated over the scatter (Diletti, Hauschke and
Steinijans, International J. Clinical Pharmacology 29 (1991) 1-8), not the noncentral-t approximation that fails when
the scatter is large against the margins.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from samesky.inference.uncertainty import t_quantile

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(200)


def t_power(
    difference: Numbers,
    standard_error: Numbers,
    degrees_of_freedom: Numbers,
    alpha: float = 0.05,
    sides: int = 2,
) -> Floats:
    """Probability (...) that a t test at ``alpha`` finds a true difference (...), given its true standard error (...).

    Difference and standard error in one and the same unit; ``sides`` is 1 or 2. The noncentral t, exact.

    Parameters
    ----------
    difference : true difference
    standard_error : true standard error, in the unit of the difference
    degrees_of_freedom : degrees of freedom [1]
    alpha : probability of a false difference [1]
    sides : 1 or 2

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    df = np.asarray(degrees_of_freedom, dtype=float)
    shift = np.asarray(difference, dtype=float) / np.asarray(standard_error, dtype=float)
    critical = t_quantile(1.0 - alpha / sides, df)
    above = 1.0 - _noncentral(df, np.abs(shift), critical)
    below = _noncentral(df, np.abs(shift), -critical) if sides == 2 else 0.0
    return above + below


def _noncentral(df: Floats, shift: Floats, t: Floats) -> Floats:
    """Distribution of the noncentral t; far out, where the library gives NaN, Abramowitz and Stegun 26.7.10."""
    with np.errstate(all="ignore"):
        exact = special.nctdtr(df, shift, t)
        near = special.ndtr((t * (1.0 - 0.25 / df) - shift) / np.sqrt(1.0 + np.square(t) / (2.0 * df)))
    return np.where(np.isnan(exact), near, exact)


def tost_power(
    difference: Numbers,
    standard_error: Numbers,
    degrees_of_freedom: Numbers,
    lower: Numbers,
    upper: Numbers,
    alpha: float = 0.05,
) -> Floats:
    """Probability that the 1 - 2 alpha interval falls inside the margins, given the true standard error.

    All arguments broadcast. Integrates over ``x``, the ratio of the scatter seen to the true one, whose square is
    chi-squared over its degrees of freedom: the estimate must fall within the margins less ``t x standard_error``.

    Parameters
    ----------
    difference : true difference
    standard_error : true standard error, in the unit of the difference
    degrees_of_freedom : degrees of freedom [1]
    lower : lower margin, negative
    upper : upper margin
    alpha : probability of each one-sided test [1]

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    difference, error, df, lower, upper = np.broadcast_arrays(
        *(np.asarray(a, dtype=float) for a in (difference, standard_error, degrees_of_freedom, lower, upper))
    )
    t = t_quantile(1.0 - alpha, df)
    # Beyond ``most`` the shrunk margins have crossed; beyond the quantiles nothing of the scatter is left to add.
    most = (upper - lower) / (2.0 * t * error)
    low = np.sqrt(2.0 * special.gammaincinv(df / 2.0, 1e-15) / df)
    high = np.minimum(most, np.sqrt(2.0 * special.gammainccinv(df / 2.0, 1e-15) / df))
    span = np.maximum(high - low, 0.0)
    x = low[..., None] + span[..., None] * (_NODES + 1.0) / 2.0
    half = df[..., None] / 2.0
    density = np.exp(
        np.log(2.0) + half * np.log(half) - special.gammaln(half) + (2.0 * half - 1.0) * np.log(x) - half * np.square(x)
    )
    shrink = t[..., None] * x
    inside = special.ndtr(((upper - difference) / error)[..., None] - shrink) - special.ndtr(
        ((lower - difference) / error)[..., None] + shrink
    )
    return (np.maximum(inside, 0.0) * density * _WEIGHTS).sum(axis=-1) * span / 2.0


def fewest(
    power_of: Callable[[int], float], wanted: float, start: int, step: int = 1, most: int = 100_000
) -> int | None:
    """Smallest number, from ``start`` in steps, whose power reaches the wanted one; None above ``most``.

    Parameters
    ----------
    power_of : gives the power [1] of a number
    wanted : power that is wanted [1]
    start : smallest number tried
    step : step from one number to the next
    most : largest number tried
    """
    for number in range(start, most + 1, step):
        if power_of(number) >= wanted:
            return number
    return None


def crossover_equivalence_runs(
    scatter: float, difference: float, lower: float, upper: float, wanted: float = 0.8, alpha: float = 0.05
) -> int | None:
    """Number of neighbouring pairs, half in each order, for two one-sided tests to reach the wanted power.

    ``scatter`` is the standard deviation of one run; with n pairs the standard error is ``scatter * sqrt(2 / n)`` on
    n - 2 degrees of freedom. On a logarithmic scale everything is a logarithm.

    Parameters
    ----------
    scatter : standard deviation of one run
    difference : true difference
    lower : lower margin, negative
    upper : upper margin
    wanted : power that is wanted [1]
    alpha : probability of each one-sided test [1]
    """
    return fewest(
        lambda n: float(tost_power(difference, scatter * np.sqrt(2.0 / n), n - 2, lower, upper, alpha)), wanted, 4, 2
    )


#: Times the flying done so far that are tried: every whole number up to sixty, then steps of a twentieth (chosen).
_FACTORS = np.unique(np.concatenate([np.arange(1.0, 61.0), np.round(np.geomspace(60.0, 1000.0, 58))]))


@dataclass(frozen=True, slots=True)
class Settling:
    """How many times the flying done so far would settle it: lowest and highest, None where none that is tried does.

    ``found``: a true difference as large as the smallest that matters would be found; ``none``: that none matters would
    be shown, where there is none.
    """

    found: tuple[int | None, int | None]
    none: tuple[int | None, int | None]


def settling(
    size: float,
    seen: float,
    degrees_of_freedom: float,
    fixed: float,
    lower: float,
    upper: float,
    wanted: float = 0.8,
    held: float = 0.8,
) -> Settling:
    """How many times the flying done so far would settle the question, as a range.

    The scatter is known from few runs, so the number is not known: each range holds the true one with probability
    ``held`` (limits of a normal scatter by chi-squared). What the difference looks like now does not enter: whoever
    plans by it plans by luck.

    Parameters
    ----------
    size, lower, upper : the smallest difference that matters, and the margins down and up, on the scale
    seen : standard uncertainty that shrinks with the root of the flying (scatter, new installations, new days)
    degrees_of_freedom : of that scatter now; they grow in proportion, with the unknowns of the mean already paid for
    fixed : standard uncertainty that more of the same does not shrink (campaign-wide sources)
    wanted : probability of the answer
    held : probability that the range of multiples holds the true one
    """
    df = min(float(degrees_of_freedom), 1e6)
    tails = np.array([(1.0 - held) / 2.0, (1.0 + held) / 2.0])
    # A scatter that came out small is the truth of a larger one: the lower limit of chi-squared gives the upper end.
    low, high = seen * np.sqrt(df / (2.0 * special.gammainccinv(df / 2.0, tails)))
    known = np.minimum(df * _FACTORS + 2.0 * (_FACTORS - 1.0), 1e6)

    def needed(scatter: float, power: Callable[[Floats, Floats], Floats]) -> int | None:
        enough = np.flatnonzero(power(np.sqrt(scatter**2 / _FACTORS + fixed**2), known) >= wanted)
        return int(_FACTORS[enough[0]]) if enough.size else None

    def find(error: Floats, df: Floats) -> Floats:
        return t_power(size, error, df)

    def show_none(error: Floats, df: Floats) -> Floats:
        return tost_power(0.0, error, df, lower, upper)

    return Settling((needed(low, find), needed(high, find)), (needed(low, show_none), needed(high, show_none)))
