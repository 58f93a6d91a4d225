"""What does the interval mean, given the smallest difference that matters?

Three answers and a size. "No difference" is claimed only by two one-sided tests (Schuirmann, J. Pharmacokinetics and
Biopharmaceutics 15 (1987) 657-680): the 90 % interval lies inside the margins. A wide interval never claims it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

BASELINE_BETTER, OTHER_BETTER, NO_DIFFERENCE, TOO_SMALL, NOT_ENOUGH = range(5)
#: What each code is called; the first two are completed with the configuration's key.
WORDS = ("better", "better", "no difference that matters", "real, but too small to matter", "not enough data")
#: What stands in a verdict's place where none is due: between planned looks.
WITHHELD = "no verdict yet"


def margins(smallest: float, as_fraction: bool, ratio: bool, level: Numbers) -> tuple[Numbers, Numbers]:
    """The smallest differences that matter, down and up, on the scale of the comparison.

    ``smallest`` is a fraction of the baseline where ``as_fraction``, else in the unit of the measure; ``level`` is the
    baseline's value, of one campaign or of many. On the logarithmic scale of a ratio measure, less by the fraction D
    is ``log(1 - D)`` and more by it ``log(1 + D)``: what the pilot said, both ways. Raises ValueError for a margin
    that is not positive, or one that is as large as the baseline itself on a ratio measure.

    Parameters
    ----------
    smallest : smallest difference that matters
    as_fraction : whether ``smallest`` is a fraction of the baseline
    ratio : whether the measure is compared by ratio
    level : probability that the interval holds [1], 0 to 1

    Returns
    -------
    tuple[Numbers, Numbers]
        [1], of the leading shape of the values.
    """
    if not smallest > 0:
        raise ValueError("the smallest difference that matters must be more than zero")
    if not ratio:
        size = smallest * np.abs(level) if as_fraction else smallest
        return -size, size
    fraction = smallest if as_fraction else smallest / np.abs(level)
    if not np.all(fraction < 1):
        raise ValueError("the smallest difference that matters must be less than the baseline itself")
    return np.log1p(-fraction), np.log1p(fraction)


def judge(
    interval_95: tuple[Floats, Floats],
    interval_90: tuple[Floats, Floats],
    lower: Numbers,
    upper: Numbers,
    better: str,
) -> Floats:
    """Verdict codes (...) for intervals of other minus baseline; ``better`` is ``"smaller"`` or ``"larger"``.

    An interval that does not exist (NaN) is never more than not enough data.

    Parameters
    ----------
    interval_95 : ends of the interval that has to clear zero
    interval_90 : ends of the interval that has to lie inside the margins
    lower : lower margin, negative
    upper : upper margin
    better : ``"smaller"`` or ``"larger"``

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    low, high = (np.asarray(end, dtype=float) for end in interval_95)
    inside = (np.asarray(interval_90[0]) > lower) & (np.asarray(interval_90[1]) < upper)
    above, below = low > 0, high < 0
    wins = below if better == "smaller" else above
    loses = above if better == "smaller" else below
    return np.select(
        [(wins | loses) & inside, wins, loses, inside],
        [TOO_SMALL, OTHER_BETTER, BASELINE_BETTER, NO_DIFFERENCE],
        default=NOT_ENOUGH,
    )


def words(code: int, baseline: str, other: str) -> str:
    """The verdict as a pilot reads it, with the configuration's key where one is better.

    Parameters
    ----------
    code : code of a verdict
    baseline : key of the baseline, None for the campaign's own
    other : key of the other configuration
    """
    key = {BASELINE_BETTER: f"{baseline} ", OTHER_BETTER: f"{other} "}.get(int(code), "")
    return key + WORDS[int(code)]


def holm(p_values: Floats) -> Floats:
    """Holm-adjusted p-values (k,); NaN are left out of the count (Scandinavian J. of Statistics 6 (1979) 65-70).

    Parameters
    ----------
    p_values : p of each comparison [1], (k,)

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    p = np.asarray(p_values, dtype=float)
    adjusted = np.full(p.shape, np.nan)
    order = np.argsort(p)
    order = order[~np.isnan(p[order])]
    stepped = p[order] * np.arange(order.size, 0, -1)
    adjusted[order] = np.minimum(1.0, np.maximum.accumulate(stepped))
    return adjusted
