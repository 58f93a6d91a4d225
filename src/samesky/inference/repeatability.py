"""Three or four repeats and a documented repeatability: borrow the noise, never the effect.

The scatter seen is pooled with one documented on earlier flights of the same test by the same method:
``s^2 = (nu0 s0^2 + nu s^2) / (nu0 + nu)`` with ``nu0 + nu`` degrees of freedom (the conjugate interval with a flat
prior on the difference; Box and Tiao, Bayesian Inference in Statistical Analysis, section 2.4, from memory). Refused
where the scatter seen is larger than documented with an F probability below 5 %, where installations were seen to
differ more than stated, and where the scatter seen is not that of single runs. A second line beside the unpooled
interval; a verdict leans on it only where it is a record of one's own, named before flying
(:mod:`samesky.inference.borrowed.record`). What a wrong figure costs is simulated in
``tests/inference/test_repeatability.py``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from samesky.campaign.messages.phrases import figures
from samesky.campaign.model.plan_request import MeasurePlan
from samesky.inference.design import Design
from samesky.inference.estimate import Estimate
from samesky.inference.result import Scale
from samesky.inference.uncertainty import join

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Below this probability the documented repeatability does not fit the flights at hand.
REFUSED = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Pooled:
    """The estimate with the pooled scatter, the ratio of scatter seen to documented, and its F probability.

    Where not ``accepted``, the uncertainty is that of the estimate as it was.
    """

    estimate: Estimate
    ratio: Floats
    probability: Floats
    accepted: Floats


def pool(estimate: Estimate, scatter: float, degrees_of_freedom: float) -> Pooled:
    """Pool the scatter of an estimate with a documented one.

    ``scatter`` is of one unit of replication: the documented standard deviation of a pair difference over the root of
    two. Raises ValueError unless both numbers are positive.

    Parameters
    ----------
    estimate : the estimate
    scatter : documented standard deviation of one unit of replication
    degrees_of_freedom : how well it is known [1]
    """
    if not (scatter > 0 and degrees_of_freedom > 0):
        raise ValueError("a documented repeatability needs a positive scatter and positive degrees of freedom")
    own = estimate.scatter_degrees_of_freedom
    seen = np.square(estimate.scatter)
    probability = special.fdtrc(own, degrees_of_freedom, seen / scatter**2)
    accepted = (probability >= REFUSED) & ~np.asarray(estimate.widened, dtype=bool)
    pooled = (degrees_of_freedom * scatter**2 + own * seen) / (degrees_of_freedom + own)
    pooled = np.where(accepted, pooled, seen)
    type_a = np.square(estimate.type_a) * pooled / np.where(seen > 0, seen, 1.0)
    known = np.where(accepted, own + degrees_of_freedom, own)
    stated = [variance for _, variance in estimate.added]
    parts_df = np.array([part.degrees_of_freedom for part, _ in estimate.added], dtype=float)
    combined, effective = _join_each(np.stack(np.broadcast_arrays(type_a, *stated), axis=-1), known, parts_df)
    changed = replace(
        estimate,
        standard_uncertainty=np.where(accepted, combined, estimate.standard_uncertainty),
        degrees_of_freedom=np.where(accepted, effective, estimate.degrees_of_freedom),
        type_a=np.sqrt(type_a),
        scatter=np.sqrt(pooled),
    )
    return Pooled(changed, np.sqrt(seen) / scatter, probability, accepted)


def _join_each(variances: Floats, known: Floats, parts_df: Floats) -> tuple[Floats, Floats]:
    """Join where the degrees of freedom of the scatter differ from campaign to campaign: one call for each value."""
    combined, effective = np.empty(variances.shape[:-1]), np.empty(variances.shape[:-1])
    for own in np.unique(known):
        chosen = known == own
        combined[chosen], effective[chosen] = join(variances[chosen], np.concatenate([[own], parts_df]))
    return combined, effective


def applies(design: Design) -> bool:
    """Whether the scatter of single runs is what the interval has: not where days or fittings are what scatters.

    Parameters
    ----------
    design : the comparison that the flown order supports
    """
    by_fittings = design.order.fitted_anew and (design.estimator != "joined" or design.spare_blocks > 2)
    return design.name != "days" and not by_fittings


def on_scale(documented: MeasurePlan, scale: Scale) -> float:
    """The scatter of one run on the scale of the comparison; NaN where none is entered.

    Parameters
    ----------
    documented : the scatter that earlier flights documented
    scale : from the scale of the comparison to the pilot's unit

    Returns
    -------
    float
        On the scale of the comparison.
    """
    if documented.scatter is None:
        return math.nan
    ratio = scale.asked.measure.ratio
    if documented.scatter_is_fraction:
        return abs(documented.scatter * (1.0 if ratio else scale.level))
    return abs(documented.scatter * (1.0 / scale.level if ratio else 1.0))


def beside(design: Design, result: Estimate, documented: MeasurePlan, scale: Scale) -> str:
    """The interval with the documented repeatability pooled in, or why not, as a sentence for the pilot.

    Parameters
    ----------
    design : the comparison that the flown order supports
    result : the estimate
    documented : the scatter that earlier flights documented, None without
    scale : from the scale of the comparison to the pilot's unit
    """
    df = f"{documented.degrees_of_freedom:g} degrees of freedom"
    if not np.isfinite(float(result.standard_uncertainty)):
        return "The documented repeatability cannot make up for what this order does not show."
    if not applies(design):
        shown = "days" if design.name == "days" else "fittings"
        return f"The documented repeatability of single runs is left aside: here {shown} are what scatters."
    if documented.scatter is None or documented.degrees_of_freedom is None:
        return ""
    scatter = on_scale(documented, scale)
    size = scale.amount(scatter)
    pooled = pool(result, scatter, documented.degrees_of_freedom)
    if float(pooled.probability) < REFUSED:
        return (
            f"The runs scatter {float(pooled.ratio):.2g} times as far as the documented repeatability of {size} "
            f"(F probability {float(pooled.probability):.2g}): it is not borrowed."
        )
    if not bool(pooled.accepted):
        return "The documented repeatability is not borrowed: fittings differ more than entered."
    low, high = (scale.difference(end) for end in scale.ends(pooled.estimate.interval()))
    upper = f"{figures(high, 3, '+')} {scale.unit}" if high < math.inf else "no upper bound"
    lower = figures(low, 3, "+") + ("" if high < math.inf else f" {scale.unit}")
    return (
        f"With the documented repeatability of {size} ({df}) the 95 % interval would be {lower} to {upper}; "
        "the verdict does not lean on it."
    )
