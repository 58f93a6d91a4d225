"""What do a few campaigns, each with a doubt of its own, say together?

Campaigns differ by more than their own scatter: another aeroplane, another pilot, another strip. The difference is
taken to vary between them about a mean (random effects): variance between campaigns by Paule and Mandel, interval by
Hartung and Knapp with t and one degree of freedom fewer than campaigns (:mod:`samesky.inference.pooling`), which holds
for two to six of them where normal quantiles do not (82 to 95 % in place of 95).

The campaigns' own variances come from a handful of runs each. Taken at their word they give the weight to whichever
campaign scattered least by luck, and the interval holds 90 to 92 %; a plain mean holds 95 to 97 % and gives away up to
half. Weighed halfway between the two, on the logarithm of the variance, it holds 94 to 98 % over two to six campaigns,
alike or unlike, known well or from four degrees of freedom (simulated in ``tests/club/test_random_effects.py``).

Two things do not average out over campaigns, and are kept apart: errors common to all of them (a coefficient of a
correction that all of them use), and a drift that comes back daily where no campaign went back to its baseline.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import special

from samesky.inference.believable_drift import multiplier
from samesky.inference.pooling import hartung_knapp, paule_mandel
from samesky.inference.uncertainty import join, t_quantile


@dataclass(frozen=True, slots=True, eq=False)
class Findings:
    """What k campaigns found, on the scale of the comparison; one set of campaigns, or many at once.

    Attributes
    ----------
    difference, standard_uncertainty : (..., k)
    limit : (..., k) what a hidden drift may do to each difference, signed by the way it acts; zero where none is hidden
    common : (..., m, k) standard uncertainty that each of m errors common to all campaigns puts into each difference,
        signed. It is part of ``standard_uncertainty`` as well
    """

    difference: np.ndarray
    standard_uncertainty: np.ndarray
    limit: np.ndarray
    common: np.ndarray

    def without(self, one: int) -> Findings:
        """The same with one campaign left out."""
        kept = np.arange(self.difference.shape[-1]) != one
        return Findings(*(part[..., kept] for part in self._parts))

    @property
    def _parts(self) -> tuple[np.ndarray, ...]:
        return self.difference, self.standard_uncertainty, self.limit, self.common


@dataclass(frozen=True, slots=True, eq=False)
class Together:
    """The pooled difference; all (...) on the scale of the comparison.

    Attributes
    ----------
    difference, standard_uncertainty, degrees_of_freedom : of the mean over campaigns like these
    weights : (..., k) of the campaigns
    between : standard deviation of true differences from campaign to campaign
    limit : what a drift that no campaign could show may do to the mean
    spread : standard uncertainty of what one further campaign like these would find, less the mean
    q, q_p : Cochran's Q of the campaigns' differences about their mean, and its chi-square probability
    """

    difference: np.ndarray
    standard_uncertainty: np.ndarray
    degrees_of_freedom: np.ndarray
    weights: np.ndarray
    between: np.ndarray
    limit: np.ndarray
    spread: np.ndarray
    q: np.ndarray
    q_p: np.ndarray

    def interval(self, level: float = 0.95) -> tuple[np.ndarray, np.ndarray]:
        """Ends of the interval for the mean, under every hidden drift up to the limit."""
        bias = np.divide(self.limit, self.standard_uncertainty)
        half = multiplier(level, self.degrees_of_freedom, bias) * self.standard_uncertainty
        return self.difference - half, self.difference + half

    def equivalence_interval(self, level: float = 0.90) -> tuple[np.ndarray, np.ndarray]:
        """Ends that two one-sided tests hold against the margins, each bearing the hidden drift by itself."""
        half = t_quantile(0.5 + level / 2.0, self.degrees_of_freedom) * self.standard_uncertainty + self.limit
        return self.difference - half, self.difference + half

    def expected(self, level: float = 0.95) -> tuple[np.ndarray, np.ndarray]:
        """Ends between which the difference of one further aeroplane like these is to be expected.

        The spread is judged by k - 1 degrees of freedom and holds the doubt of a campaign like these, so that it is on
        the safe side for the true difference of the further one.
        """
        k = self.weights.shape[-1]
        half = t_quantile(0.5 + level / 2.0, k - 1.0) * np.sqrt(np.square(self.spread) + self.standard_uncertainty**2)
        return self.difference - half - self.limit, self.difference + half + self.limit


def together(found: Findings) -> Together:
    """Pool the differences of k >= 2 campaigns.

    Raises
    ------
    ValueError
        With fewer than two campaigns, or where a standard uncertainty is not positive.
    """
    d, u = np.asarray(found.difference, dtype=float), np.asarray(found.standard_uncertainty, dtype=float)
    k = d.shape[-1]
    if k < 2:
        raise ValueError("two campaigns are the fewest that can be pooled")
    if not np.all(u > 0):
        raise ValueError("every campaign needs a standard uncertainty above zero")
    # A limit counts as the rectangular distribution of that half-width: JCGM 100:2008, 4.3.7.
    variances = np.square(u) + np.square(found.limit) / 3.0
    q = (np.square(d - _fixed(d, variances)[..., None]) / variances).sum(axis=-1)
    variances = halfway(variances)
    between = paule_mandel(d, variances)
    mean, standard, weights = hartung_knapp(d, variances, between)
    # Campaigns that agree to the last digit would give an interval of nothing: no less scatter is taken than that which
    # one set in a hundred stays below by luck, were the campaigns' own uncertainties all there is.
    usual_mean = 1.0 / np.sqrt((1.0 / (variances + between[..., None])).sum(axis=-1))
    standard = np.maximum(standard, usual_mean * np.sqrt(special.chdtri(k - 1, 0.99) / (k - 1)))
    common = np.square((weights[..., None, :] * found.common).sum(axis=-1)).sum(axis=-1)
    combined, freedom = join(np.stack([np.square(standard), common], axis=-1), np.array([k - 1.0, np.inf]))
    scaled = (np.square(d - mean[..., None]) / (variances + between[..., None])).sum(axis=-1) / (k - 1)
    usual = k / (1.0 / variances).sum(axis=-1)
    return Together(
        difference=mean,
        standard_uncertainty=combined,
        degrees_of_freedom=freedom,
        weights=weights,
        between=np.sqrt(between),
        limit=_limit(weights * found.limit, k),
        spread=np.sqrt(scaled * (between + usual)),
        q=q,
        q_p=special.chdtrc(k - 1, q),
    )


def halfway(variances: np.ndarray) -> np.ndarray:
    """Variances (..., k) halfway to their geometric mean on a logarithmic scale."""
    logarithms = np.log(variances)
    return np.exp(0.5 * (logarithms + logarithms.mean(axis=-1, keepdims=True)))


def _fixed(d: np.ndarray, variances: np.ndarray) -> np.ndarray:
    return (d / variances).sum(axis=-1) / (1.0 / variances).sum(axis=-1)


def _limit(shares: np.ndarray, k: int) -> np.ndarray:
    """Of two campaigns the drifts may point the same way; over more, what stays hidden is one that comes back daily."""
    return np.abs(shares).sum(axis=-1) if k == 2 else np.abs(shares.sum(axis=-1))
