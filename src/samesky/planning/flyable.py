"""Which limits could anybody ever meet? A number at which nobody flies is no limit, and is not printed as one.

Gusts are cut off where their limit is found (:mod:`samesky.planning.scrub`). Here the aeroplane and its instruments
speak: no run is heavier than its maximum weight, or lighter than on empty tanks; and an altimeter's subscale reads from
28.1 to 31.0 inHg (common practice), beyond which nobody goes flying.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from samesky.planning.question import Question, part_mass
from samesky.planning.scrub import ScrubLimit

#: Ends of an altimeter's subscale [Pa]: 28.1 and 31.0 inHg. Common practice.
SUBSCALE = (95_158.0, 104_978.0)
#: How it is said that a limit is out of reach.
DOES_NOT_BIND = "does not bind"
#: Conditions that are never below zero: there, zero is no lower limit.
NEVER_NEGATIVE = ("gust spread", "crosswind")


def binds(limit: ScrubLimit) -> bool:
    """Whether a limit can be met at one end at least."""
    from_below = math.isfinite(limit.low) and limit.condition not in NEVER_NEGATIVE
    return from_below or math.isfinite(limit.high)


def flyable(question: Question, limit: ScrubLimit) -> ScrubLimit:
    """The limit, with an end that nobody could meet taken off: infinite."""
    lowest, highest = _met(question, limit)
    if limit.low > limit.high:
        return limit
    return replace(
        limit,
        low=limit.low if limit.low > lowest else -math.inf,
        high=limit.high if limit.high < highest else math.inf,
    )


def _met(question: Question, limit: ScrubLimit) -> tuple[float, float]:
    """The lowest and the highest value [SI] that anybody could meet; infinite where nothing says."""
    loading = question.campaign.loading
    if limit.condition == "weight" and loading is not None:
        parts = [part_mass(question.campaign, key) for key in (question.campaign.baseline, question.other)]
        return float(loading.mass_at(0.0, min(parts))), math.inf if loading.max_mass is None else loading.max_mass
    if limit.condition == "pressure":
        qnh = question.forecast("qnh", np.array([0.5 * (question.start + question.end)]))
        if qnh is not None:
            low, high = (end * limit.middle / float(qnh[0]) for end in SUBSCALE)
            return low, high
    return -math.inf, math.inf
