"""Which few further runs of other measures would tell this one, where its own would take a season?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from samesky.campaign.messages.phrases import figures
from samesky.campaign.messages.words import listed
from samesky.inference import verdict
from samesky.inference.together.seen import Seen, line
from samesky.inference.uncertainty import t_quantile

#: Further runs of each other measure at each fitting that are looked at (chosen: what a morning holds).
FURTHER = (1, 2, 3, 4, 6)
#: Probability with which a real difference as large as the margin is to be found (common practice).
POWER = 0.80


def cheaper(views: Sequence[Seen], told: Seen) -> str:
    """The fewest further runs of the other measures at each fitting after which all measures find the margin.

    Their scatter shrinks as with so many runs more in the same order, fittings and entered errors stay as they are.

    Parameters
    ----------
    views : the measures that see the difference
    told : the measure that is told, one of them

    Returns
    -------
    str
        A sentence; empty where so few runs do not do it, or hidden drift keeps it open.
    """
    others = [one for one in views if one.witness is not None and one.measure != told.measure]
    if not others:
        return ""
    asked = told.scale.asked
    lower, upper = verdict.margins(asked.smallest, asked.smallest_is_fraction, asked.measure.ratio, told.level)
    margin = abs(float(told.force(float(lower) if asked.better == "smaller" else float(upper))))
    for further in FURTHER:
        more = [_with(one, further) if one in others else one for one in views]
        found = line(more, told).at(told.sight.airspeed)
        standard, known = (float(each) for each in found.joined((found.value * told.level_known) ** 2))
        if float(found.worst) > 0:
            return ""
        half = float(t_quantile(0.975, known)) * standard
        if half + float(t_quantile(POWER, known)) * standard <= margin:
            size = told.scale.amount(half / abs(float(told.slope(0.0))))
            each = listed([f"{further} {one.title}{'s' * (further > 1)}" for one in others])
            found_so = f"find a real difference of {asked.smallest_text} {figures(100.0 * POWER, 2)} times in 100"
            return (
                f"Cheaper than more of the {told.title}: {each} more at each fitting. All measures together then tell "
                f"it to ± {size} and {found_so}."
            )
    return ""


def _with(one: Seen, further: int) -> Seen:
    """The measure with so many more runs at each fitting, its scatter as seen."""
    heard = one.own
    order = heard.design.order
    fittings, runs = np.unique(order.installation).size, order.runs
    share = runs / (runs + further * fittings)
    found = heard.estimate
    whole = np.square(found.standard_uncertainty)
    standard = np.sqrt(np.maximum(whole - (1.0 - share) * np.minimum(np.square(found.type_a), whole), 0.0))
    return replace(one, witness=replace(heard, estimate=replace(found, standard_uncertainty=standard)))
