"""On what condition would a verdict stand that the worst believable drift keeps open?

Where an order hides drift, the runs may be clear and the verdict is open all the same: all that is missing is to know
how fast the air drifted. So the slowest drift that would undo the answer is told: "B better if drift stayed below 5 %
an hour". A condition is no verdict; it is what the pilot has to judge, or to fly a return for.

The runs within the blocks have a word in it: where they drift faster, beyond chance, the condition is not met and is no
longer told as one; where they seem to, the sentence says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from samesky.campaign.messages.phrases import figures
from samesky.inference import several, verdict
from samesky.inference.believable_drift import beyond_chance, survives_up_to, trend
from samesky.inference.design import Design
from samesky.inference.estimate import Estimate
from samesky.inference.looks import Look
from samesky.inference.result import Scale
from samesky.inference.uncertainty import t_quantile

if TYPE_CHECKING:
    from samesky.arrays import Floats


@dataclass(frozen=True, slots=True)
class Condition:
    """The answer with its condition, or why the condition is not met; sentences without and with their stop."""

    words: str = ""
    unmet: str = ""


NONE = Condition()


def condition(
    design: Design,
    y: Floats,
    result: Estimate,
    scale: Scale,
    margins: tuple[float, float],
    look: Look | None,
    baseline: str,
    other: str,
) -> Condition:
    """The answer and the drift below which it would stand, for the values ``y`` (n,) on the scale of the comparison.

    Empty where no drift is hidden, where the answer is open without any drift, and where the runs themselves drift
    faster than is believable: then nobody may assume that they did not. Not met where runs within the blocks drift
    faster, beyond chance.

    Parameters
    ----------
    design : the comparison that the flown order supports
    y : values on the scale of the comparison, (..., n)
    result : the estimate
    scale : from the scale of the comparison to the pilot's unit
    margins : differences that matter, down and up, on the scale of the comparison
    look : the planned look at which it is read, None for the end
    baseline : key of the baseline
    other : key of the other configuration
    """
    if not float(result.reach) > 0 or bool(result.carried) or not math.isfinite(float(result.standard_uncertainty)):
        return NONE
    sure, alike = (look.level, look.equivalence_level) if look else (0.95, 0.90)
    levels = sure, alike
    if result.compared > 2 and not result.pooled:
        sure, alike = (float(several.each_of_pairs(at, result.compared)) for at in (sure, alike))
    d, u, df = (float(x) for x in (result.difference, result.standard_uncertainty, result.degrees_of_freedom))
    if result.compared > 2 and result.pooled:
        clears = abs(d) - float(several.together(sure, result.compared, df)) * u
        inner = float(several.together(alike, result.compared, df)) * u
    else:
        clears, inner = survives_up_to(d, u, df, sure), float(t_quantile(0.5 + alike / 2.0, df)) * u
    inside = min(margins[1] - d, d - margins[0]) - inner
    limit = float(np.nanmax([clears, inside, 0.0]))
    if not limit > 0 or limit >= float(result.worst_drift):
        return NONE
    rate = _rounded_down(100.0 * limit / float(result.reach)) if scale.asked.measure.ratio else math.nan
    if math.isnan(rate):
        rate = _rounded_down(abs(scale.shown(limit / float(result.reach))))
    bounded = replace(result, worst_drift=limit * (1.0 - 1e-6))
    code = int(
        verdict.judge(
            bounded.interval(levels[0]), bounded.equivalence_interval(levels[1]), *margins, scale.asked.better
        )
    )
    if code == verdict.NOT_ENOUGH or not rate > 0:
        return NONE
    each = " on every day" if design.order.days_without_return.size > 1 else ""
    answer, below = verdict.words(code, baseline, other), f"{rate:g} {'%' if scale.asked.measure.ratio else scale.unit}"
    slope, error, sure_of_it = _fastest(design, y)
    if not abs(slope) > limit / float(result.reach):
        return Condition(f"{answer} if drift stayed below {below} an hour{each}")
    seen = _signed(scale, slope)
    if sure_of_it:
        return Condition(
            unmet=f"Runs within blocks drift by {seen} an hour, beyond chance: {answer!r} would ask for drift below "
            f"{below} an hour{each}, so drift alone may have made the result."
        )
    freedom = 0 if design.within is None else len(design.within)
    half = float(t_quantile(0.975, freedom)) * error
    ends = " to ".join(_signed(scale, slope + sign * half) for sign in (-1.0, 1.0))
    return Condition(
        f"{answer} if drift stayed below {below} an hour{each}, but the runs within the blocks drift by {seen} an hour "
        f"(95 % interval {ends})"
    )


def _fastest(design: Design, y: Floats) -> tuple[float, float, bool]:
    """The trend an hour within the blocks of a day that hides its drift, its standard error, and whether it is beyond
    chance: of several days the one that is, or else the fastest; zero where none can be seen.
    """
    found = [(0.0, math.nan, False)]
    for day in design.order.days_without_return:
        slope, error = trend(design, y, day)
        if np.isfinite(slope):
            found.append((float(slope), float(error), bool(beyond_chance(design, slope, error))))
    return max(found, key=lambda one: (one[2], abs(one[0])))


def _signed(scale: Scale, slope: float) -> str:
    """A drift an hour with its sign as a pilot reads it."""
    shown = 100.0 * slope if scale.asked.measure.ratio else scale.shown(slope)
    return f"{figures(shown, 2, '+')} {'%' if scale.asked.measure.ratio else scale.unit}"


def _rounded_down(rate: float) -> float:
    """Two figures, never more than the rate: what is printed has to be true."""
    if not rate > 0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(rate)) - 1)
    return float(f"{math.floor(rate / step * (1.0 + 1e-12)) * step:.2g}")
