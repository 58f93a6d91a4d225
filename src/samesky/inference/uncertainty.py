"""How do parts of an uncertainty join, and how well is the whole known?

Guide to the expression of uncertainty in measurement (JCGM 100:2008): combination 5.1.2, effective degrees of freedom
G.4.1, equation (G.2b). For the interval of a difference, where a scatter known from two or three degrees of freedom
meets stated parts of like size, it covers too little (simulated: 92 to 94 % for 95 %); the weighted mean of the
parts' t-quantiles (Cochran, Biometrics 20 (1964) 191-195) covers 95 to 97 % and is what the comparison uses.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import special

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers


def welch_satterthwaite(uncertainties: Floats, degrees_of_freedom: Floats) -> tuple[Floats, Floats]:
    """Combined standard uncertainty and effective degrees of freedom over the last axis (JCGM 100, G.2b).

    Parts with infinite degrees of freedom are taken as known exactly; when all are, the result is infinite too.

    Parameters
    ----------
    uncertainties : standard uncertainties of independent parts, last axis the parts
    degrees_of_freedom : degrees of freedom [1]

    Returns
    -------
    tuple[ndarray, ndarray]
        [1], of the leading shape of the values.
    """
    variance = np.square(np.asarray(uncertainties, dtype=float))
    total = variance.sum(axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        doubt = (np.square(variance) / np.asarray(degrees_of_freedom, dtype=float)).sum(axis=-1)
        effective = np.where(doubt > 0, np.square(total) / doubt, np.inf)
    return np.sqrt(total), np.where(np.isnan(total), np.nan, effective)


def join(variances: Floats, degrees_of_freedom: Floats) -> tuple[Floats, Floats]:
    """Combined standard uncertainty and effective degrees of freedom, over the last axis, by Cochran's weighted t.

    ``variances`` (..., k); ``degrees_of_freedom`` (k,) or (..., k). The 95 % multiplier is the mean of the parts'
    t-quantiles weighted by their variances, and the effective degrees of freedom are those of Student's t with that
    quantile. One part alone keeps its own degrees of freedom.

    Parameters
    ----------
    variances : variances within the groups, (..., k)
    degrees_of_freedom : degrees of freedom [1]

    Returns
    -------
    tuple[ndarray, ndarray]
        [1], of the leading shape of the values.
    """
    variances = np.asarray(variances, dtype=float)
    total = variances.sum(axis=-1)
    degrees_of_freedom = np.broadcast_to(np.asarray(degrees_of_freedom, dtype=float), variances.shape)
    quantiles = _quantiles(degrees_of_freedom)
    share = variances / np.where(total > 0, total, 1.0)[..., None]
    multiplier = (share * quantiles).sum(axis=-1)
    own = np.take_along_axis(degrees_of_freedom, np.argmax(share, axis=-1)[..., None], axis=-1)[..., 0]
    alone = share.max(axis=-1) > 1.0 - 1e-9
    known = multiplier < special.ndtri(0.975) + 1e-6
    effective = special.stdtridf(0.975, np.where(known, 2.0, multiplier))
    effective = np.where(alone, own, np.where(known, np.inf, effective))
    return np.sqrt(total), np.where(np.isnan(total), np.nan, effective)


def _quantiles(degrees_of_freedom: Floats) -> Floats:
    """Student's quantiles at 0.975 for (..., k); a part that has the same in all campaigns is looked up once."""
    df = degrees_of_freedom.reshape(-1, degrees_of_freedom.shape[-1])
    same = (df == df[:1]).all(axis=0)
    found = np.empty(df.shape)
    found[:, same] = t_quantile(0.975, df[0, same])
    found[:, ~same] = t_quantile(0.975, df[:, ~same])
    return found.reshape(degrees_of_freedom.shape)


def t_quantile(probability: Numbers, degrees_of_freedom: Numbers) -> Floats:
    """Quantile of Student's t; the normal quantile where the degrees of freedom are infinite.

    Parameters
    ----------
    probability : probability below the quantile [1]
    degrees_of_freedom : degrees of freedom [1]

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    df = np.asarray(degrees_of_freedom, dtype=float)
    large = df > 1e8
    return np.where(large, special.ndtri(probability), special.stdtrit(np.where(large, 1.0, df), probability))


def two_sided_p(t: Floats, degrees_of_freedom: Numbers) -> Floats:
    """Probability of a Student's t at least this far from zero on either side.

    Parameters
    ----------
    t : Student's t [1]
    degrees_of_freedom : degrees of freedom [1]

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    df = np.asarray(degrees_of_freedom, dtype=float)
    large = df > 1e8
    t = -np.abs(np.asarray(t, dtype=float))
    return 2.0 * np.where(large, special.ndtr(t), special.stdtr(np.where(large, 1.0, df), t))


def sd_of_sd(n: int | Floats) -> Floats:
    """Standard deviation of an experimental standard deviation from ``n`` normal readings, relative to its mean.

    Exact form behind JCGM 100 table E.1.

    Parameters
    ----------
    n : number of readings

    Returns
    -------
    ndarray
        [1], of the leading shape of the values.
    """
    n = np.asarray(n, dtype=float)
    c4 = np.sqrt(2.0 / (n - 1.0)) * np.exp(special.gammaln(n / 2.0) - special.gammaln((n - 1.0) / 2.0))
    return np.sqrt(1.0 - c4**2) / c4
