"""Three or four repeats and a documented repeatability: borrow the noise, never the effect.

The scatter seen is pooled with one documented on earlier flights of the same test by the same method:
``s^2 = (nu0 s0^2 + nu s^2) / (nu0 + nu)`` with ``nu0 + nu`` degrees of freedom (the conjugate interval with a flat
prior on the difference; Box and Tiao, Bayesian Inference in Statistical Analysis, section 2.4, from memory). Refused
where the scatter seen is larger than documented with an F probability below 5 %. Always a second line beside the
unpooled interval.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy import special

from samesky.inference.estimate import Estimate
from samesky.inference.uncertainty import join

#: Below this probability the documented repeatability does not fit the flights at hand.
REFUSED = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Pooled:
    """The estimate with the pooled scatter, the ratio of scatter seen to documented, and its F probability.

    Where ``probability`` is below 5 %, pooling is refused and the uncertainty is that of the scatter seen alone.
    """

    estimate: Estimate
    ratio: np.ndarray
    probability: np.ndarray
    accepted: np.ndarray


def pool(estimate: Estimate, scatter: float, degrees_of_freedom: float) -> Pooled:
    """Pool the scatter of an estimate with a documented one.

    ``scatter`` is of one unit of replication: the documented standard deviation of a pair difference over the root of
    two. Raises ValueError unless both numbers are positive.
    """
    if not (scatter > 0 and degrees_of_freedom > 0):
        raise ValueError("a documented repeatability needs a positive scatter and positive degrees of freedom")
    own = estimate.scatter_degrees_of_freedom
    seen = np.square(estimate.scatter)
    probability = special.fdtrc(own, degrees_of_freedom, seen / scatter**2)
    accepted = probability >= REFUSED
    pooled = (degrees_of_freedom * scatter**2 + own * seen) / (degrees_of_freedom + own)
    pooled = np.where(accepted, pooled, seen)
    type_a = np.square(estimate.type_a) * pooled / np.where(seen > 0, seen, 1.0)
    known = np.where(accepted, own + degrees_of_freedom, own)
    stated = np.square(estimate.type_b)
    df = np.stack(np.broadcast_arrays(known, np.full(np.shape(known), np.inf)), axis=-1)
    combined, effective = _join_each(np.stack(np.broadcast_arrays(type_a, stated), axis=-1), df)
    changed = replace(
        estimate,
        standard_uncertainty=combined,
        degrees_of_freedom=effective,
        type_a=np.sqrt(type_a),
        scatter=np.sqrt(pooled),
    )
    return Pooled(changed, np.sqrt(seen) / scatter, probability, accepted)


def _join_each(variances: np.ndarray, df: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Join where the degrees of freedom differ from campaign to campaign: one call for each distinct set."""
    combined, effective = np.empty(variances.shape[:-1]), np.empty(variances.shape[:-1])
    for own in np.unique(df[..., 0]):
        chosen = df[..., 0] == own
        combined[chosen], effective[chosen] = join(variances[chosen], np.array([own, np.inf]))
    return combined, effective
