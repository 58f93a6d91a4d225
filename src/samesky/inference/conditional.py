"""On what condition would a verdict stand that the worst believable drift keeps open?

Where an order hides drift, the runs may be clear and the verdict is open all the same: all that is missing is to know
how fast the air drifted. So the slowest drift that would undo the answer is told: "B better if drift stayed below 5 %
an hour". A condition is no verdict; it is what the pilot has to judge, or to fly a return for.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from samesky.inference import several, verdict
from samesky.inference.believable_drift import survives_up_to
from samesky.inference.estimate import Estimate
from samesky.inference.looks import Look
from samesky.inference.result import Scale
from samesky.inference.uncertainty import t_quantile


def condition(
    result: Estimate,
    scale: Scale,
    margins: tuple[float, float],
    look: Look | None,
    baseline: str,
    other: str,
    days: int,
) -> str:
    """The answer and the drift below which it would stand, as a sentence without its stop; empty where there is none.

    None where no drift is hidden, where the answer is open without any drift, and where the runs themselves drift
    faster than is believable: then nobody may assume that they did not.
    """
    if not float(result.reach) > 0 or bool(result.carried) or not math.isfinite(float(result.standard_uncertainty)):
        return ""
    sure, alike = (look.level, look.equivalence_level) if look else (0.95, 0.90)
    levels = sure, alike
    if result.compared > 2 and not result.pooled:
        sure, alike = (float(several.each_of_pairs(at, result.compared)) for at in (sure, alike))
    d, u, df = (float(x) for x in (result.difference, result.standard_uncertainty, result.degrees_of_freedom))
    if result.compared > 2 and result.pooled:
        clears, inner = (
            abs(d) - several.together(sure, result.compared, df) * u,
            several.together(alike, result.compared, df) * u,
        )
    else:
        clears, inner = survives_up_to(d, u, df, sure), float(t_quantile(0.5 + alike / 2.0, df)) * u
    inside = min(margins[1] - d, d - margins[0]) - inner
    limit = np.nanmax([clears, inside, 0.0])
    if not limit > 0 or limit >= float(result.worst_drift):
        return ""
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
        return ""
    unit = "%" if scale.asked.measure.ratio else scale.unit
    each = " on every day" if days > 1 else ""
    return f"{verdict.words(code, baseline, other)} if drift stayed below {rate:g} {unit} an hour{each}"


def _rounded_down(rate: float) -> float:
    """Two figures, never more than the rate: what is printed has to be true."""
    if not rate > 0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(rate)) - 1)
    return float(f"{math.floor(rate / step * (1.0 + 1e-12)) * step:.2g}")
