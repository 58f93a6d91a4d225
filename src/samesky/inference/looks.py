"""How far may one look before the flying is over, and stop?

Limits fixed beforehand: Pocock (Biometrika 64 (1977) 191-199), O'Brien and Fleming (Biometrics 35 (1979) 549-556) and
the family of Wang and Tsiatis (Biometrics 43 (1987) 193-199), from the joint distribution of equally spaced looks by
the recursion of Armitage, McPherson and Rowe (J. Royal Statistical Society A 132 (1969) 235-244). A limit on z becomes
a nominal p, which is then used with the t of the degrees of freedom at that look.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.errors import cannot
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.toml.section import FILE
from samesky.inference.uncertainty import t_quantile

if TYPE_CHECKING:
    from samesky.arrays import Floats

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(128)
#: Exponent of the Wang-Tsiatis family: limit at look k of K is ``C * (k / K) ** (exponent - 1/2)``.
SHAPES = {"pocock": 0.5, "obrien-fleming": 0.0}


def crossing_by_look(limits: Floats) -> Floats:
    """Probability (K,), under no difference, of first going beyond the limit |z| (K,) at each equally spaced look.

    Parameters
    ----------
    limits : limits on abs(z) at each look, (K,)

    Returns
    -------
    ndarray
        (K,) [1].
    """
    limits = np.asarray(limits, dtype=float)
    first = np.empty(limits.size)
    grid, mass = np.zeros(1), np.ones(1)
    for look, limit in enumerate(limits):
        edge = limit * np.sqrt(look + 1.0)
        first[look] = mass @ (special.ndtr(grid - edge) + special.ndtr(-grid - edge))
        reach = min(edge, 9.0 * np.sqrt(look + 1.0))
        new = reach * _NODES
        step = np.exp(-0.5 * np.square(new[:, None] - grid[None, :])) / np.sqrt(2.0 * np.pi)
        grid, mass = new, reach * _WEIGHTS * (step @ mass)
    return first


@lru_cache(maxsize=256)
def constant(looks: int, alpha: float = 0.05, exponent: float = 0.5) -> float:
    """The final limit C for K equally spaced looks at an overall two-sided ``alpha``.

    The exponent is 1/2 for Pocock, 0 for O'Brien-Fleming, between them for Wang and Tsiatis.
    Raises ValueError unless there is at least one look and 0 < alpha < 1.

    Parameters
    ----------
    looks : number of looks K
    alpha : overall probability of a false difference, two-sided [1]
    exponent : of the family of limits [1]: 1/2 for Pocock, 0 for O'Brien-Fleming

    Returns
    -------
    float
        [1].
    """
    if looks < 1 or not 0 < alpha < 1:
        raise ValueError("at least one look, and an error rate between 0 and 1, are needed")
    shape = (np.arange(1, looks + 1) / looks) ** (exponent - 0.5)
    low, high = 0.0, 10.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if crossing_by_look(middle * shape).sum() > alpha:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def limits(looks: int, alpha: float = 0.05, exponent: float = 0.5) -> Floats:
    """Limit on |z| (K,) at each look.

    Parameters
    ----------
    looks : number of looks K
    alpha : overall probability of a false difference, two-sided [1]
    exponent : of the family of limits [1]: 1/2 for Pocock, 0 for O'Brien-Fleming

    Returns
    -------
    ndarray
        (K,) [1].
    """
    return constant(looks, alpha, exponent) * (np.arange(1, looks + 1) / looks) ** (exponent - 0.5)


def nominal_p(looks: int, alpha: float = 0.05, exponent: float = 0.5) -> Floats:
    """Two-sided p (K,) that a test has to undercut at each look.

    Parameters
    ----------
    looks : number of looks K
    alpha : overall probability of a false difference, two-sided [1]
    exponent : of the family of limits [1]: 1/2 for Pocock, 0 for O'Brien-Fleming

    Returns
    -------
    ndarray
        (K,) [1].
    """
    return 2.0 * special.ndtr(-limits(looks, alpha, exponent))


def t_limits(looks: int, degrees_of_freedom: Floats, alpha: float = 0.05, exponent: float = 0.5) -> Floats:
    """Limit on |t| (K,) at each look, from the nominal p and the degrees of freedom (K,) at that look.

    Parameters
    ----------
    looks : number of looks K
    degrees_of_freedom : degrees of freedom at each look, (K,)
    alpha : overall probability of a false difference, two-sided [1]
    exponent : of the family of limits [1]: 1/2 for Pocock, 0 for O'Brien-Fleming

    Returns
    -------
    ndarray
        (K,) [1].
    """
    return t_quantile(1.0 - nominal_p(looks, alpha, exponent) / 2.0, degrees_of_freedom)


@dataclass(frozen=True, slots=True)
class Look:
    """Look ``number`` of ``planned``, with the stopping limits (a key of ``SHAPES``) fixed before the first flight."""

    number: int
    planned: int
    shape: str = "obrien-fleming"

    def __post_init__(self) -> None:
        if self.shape not in SHAPES:
            raise ValueError(f"stopping limits {self.shape!r} are none of {', '.join(SHAPES)}")
        if not 1 <= self.number <= self.planned:
            raise ValueError(f"look {self.number} is not one of the {self.planned} planned")

    @property
    def level(self) -> float:
        """Level of the interval that has to clear zero at this look, in place of 0.95."""
        return self._level(0.05)

    @property
    def equivalence_level(self) -> float:
        """Level of the interval that has to lie inside the margins at this look, in place of 0.90."""
        return self._level(0.10)

    def _level(self, alpha: float) -> float:
        return 1.0 - float(nominal_p(self.planned, alpha, SHAPES[self.shape])[self.number - 1])


def planned_look(campaign: Campaign, number: int) -> Look:
    """Look ``number`` of those that ``[plan]`` fixed before flying. Raises CampaignError where it was not planned.

    Parameters
    ----------
    campaign : the campaign
    number : number of the look, from 1
    """
    planned, entry = campaign.plan, "[plan] looks"
    if planned is None or planned.looks < 2:
        raise cannot(FILE, say.LOOKS_NONE_PLANNED(), None, entry)
    if number > planned.looks:
        raise cannot(FILE, say.LOOKS_NO_SUCH_LOOK(number=number, looks=planned.looks), None, entry)
    return Look(number, planned.looks, planned.stopping)
