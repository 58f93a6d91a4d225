"""One reading a side: what would have to be believed of its repeats, and what does a record of one's own say of them?

A single pull with each propeller shows no scatter. The difference is then told with the largest scatter of a repeat
under which it would still be beyond its interval: the interval is that of the joined estimate, with the scatter put in
as known, fitting error, drift and reading errors as entered (:mod:`samesky.inference.joined`).

Where the scatter was measured in earlier campaigns (``samesky record``), and the campaign named that record before it
was flown, the verdict rests on it: with no repeats of its own by Student's t on the record's degrees of freedom, with
some by pooling (:mod:`samesky.inference.repeatability`). What the runs show may void it, in one sound campaign of
twenty: repeats that scatter more than recorded (F test), or a return that lies farther from the first than recorded
scatter, fitting error and the worst drift believed give (F test of the readings blind to configuration and day).
Coverage and false winners are simulated in ``tests/inference/test_record.py``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from samesky.campaign.messages.phrases import figures
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.model.plan_request import MeasurePlan, Record
from samesky.inference import repeatability
from samesky.inference.believable_drift import fastest
from samesky.inference.budget import UncertaintyComponent, covariance, reading_variances
from samesky.inference.design import Design, by_record
from samesky.inference.estimate import Estimate, estimate, not_stated
from samesky.inference.linear import complement, indicators
from samesky.inference.repeatability import REFUSED
from samesky.inference.result import Scale

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Degrees of freedom of a scatter that is taken as known (chosen: Student's quantile is the normal one to six figures).
KNOWN = 1e6
#: Halvings of the range in which the scatter is looked for (chosen: beyond the last figure that is printed).
_HALVINGS = 50


@dataclass(frozen=True, slots=True, eq=False)
class Leaning:
    """Design and estimate that the verdict has, and what is said of the record: ``words`` beside the assumption,
    ``void`` as a warning. ``leans`` where the verdict rests on the record.
    """

    design: Design
    estimate: Estimate
    words: str = ""
    void: str = ""
    leans: bool = False


def believed_scatter(
    design: Design, y: Floats, parts: tuple[UncertaintyComponent, ...], result: Estimate, level: float = 0.95
) -> float:
    """The standard deviation of one run below which the difference would be beyond its interval; zero where no scatter
    is small enough, NaN where something has to be entered first.

    Parameters
    ----------
    design : the comparison that the flown order supports
    y : values on the scale of the comparison, (n,)
    parts : the entered error sources, as they act on the runs
    result : the estimate; says how many configurations are compared together
    level : of the interval [1], 0 to 1

    Returns
    -------
    float
        On the scale of the comparison.
    """
    if not_stated(by_record(design.order, 1.0, KNOWN), parts):
        return math.nan

    def beyond(scatter: float) -> bool:
        found = estimate(by_record(design.order, scatter, KNOWN), y, parts)
        low, high = replace(found, compared=result.compared, pooled=result.pooled).interval(level)
        return bool(low > 0 or high < 0)

    # Repeats never scatter less than their readings err.
    low = max(float(reading_variances(parts, design.order.runs).mean()) ** 0.5, 1e-9 * abs(float(result.difference)))
    if not low > 0 or not beyond(low):
        return 0.0
    high = 10.0 * max(low, abs(float(result.difference)))
    if beyond(high):
        return 0.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if beyond(middle) else (low, middle)
    return low


def believed(
    design: Design,
    y: Floats,
    parts: tuple[UncertaintyComponent, ...],
    result: Estimate,
    scale: Scale,
    level: float = 0.95,
) -> tuple[str, str]:
    """What would have to be believed, or why nothing would help; a sentence without and one with its stop, one blank.

    Parameters
    ----------
    design : the comparison that the flown order supports
    y : values on the scale of the comparison, (n,)
    parts : the entered error sources, as they act on the runs
    result : the estimate
    scale : from the scale of the comparison to the pilot's unit
    level : of the interval [1], 0 to 1
    """
    alone = by_record(design.order, 1.0, KNOWN)
    # With fittings to spare the readings themselves say how far they scatter: no single figure has to be believed.
    if design.estimator != "none" or alone.spare_blocks or float(result.difference) == 0.0:
        return "", ""
    ratio = scale.asked.measure.ratio
    difference = scale.percent(float(result.difference)) if ratio else scale.difference(float(result.difference))
    unit = "%" if ratio else scale.unit
    seen = f"{figures(difference, 3, '+')} {unit}".strip()
    scatter = believed_scatter(design, y, parts, result, level)
    if math.isnan(scatter):
        missing = " and ".join(not_stated(alone, parts))
        return "", f"Nothing can be said of {seen} before you enter {missing}."
    shown = _rounded_down(100.0 * scatter if ratio else abs(scale.shown(scatter)))
    if not shown > 0:
        return "", (
            f"No repeat, however steady, would make {seen} a proof: fitting error, drift and reading errors alone "
            "allow as much. Go back to the first configuration, fit both more than once, or read more finely."
        )
    title = scale.asked.measure.title.casefold()
    return (
        f"{seen}: real if a repeat of the same {title} scatters by less than {shown:g} {unit} (standard deviation; "
        "fitting error, drift and reading errors are allowed for)"
    ), ""


def _rounded_down(size: float) -> float:
    """Two figures, never more than the size."""
    if not size > 0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(size)) - 1)
    return float(f"{math.floor(size / step * (1.0 + 1e-12)) * step:.2g}")


def contradiction(design: Design, y: Floats, parts: tuple[UncertaintyComponent, ...]) -> Floats:
    """Probability (...) of readings of the same configuration so far apart, were the record true; NaN without two.

    The readings blind to configuration and day, against recorded scatter, fitting error, entered drift and conditions,
    and the worst drift believed as if it were a standard uncertainty: F on their number and the record's degrees of
    freedom.

    Parameters
    ----------
    design : a design by record
    y : values on the scale of the comparison, (..., n)
    parts : the entered error sources, as they act on the runs

    Returns
    -------
    ndarray
        Probability [1], (...).
    """
    order = design.order
    levels = np.column_stack([indicators(order.configuration), indicators(order.day)])
    rows = complement(levels)
    if not rows.shape[0]:
        return np.full(y.shape[:-1], np.nan)
    of_run = max(design.run_scatter**2, float(reading_variances(parts, order.runs).mean()))
    expected = of_run * np.eye(order.runs)
    for part in parts:
        if part.scope != "run":
            expected = expected + covariance(part, order)
    same_day = order.day[:, None] == order.day[None, :]
    expected = expected + fastest(parts)[1] ** 2 * np.outer(order.time, order.time) * same_day
    white = np.linalg.solve(np.linalg.cholesky(rows @ expected @ rows.T), rows)
    ratio = np.square(y @ white.T).mean(axis=-1)
    return special.fdtrc(rows.shape[0], design.degrees_of_freedom, ratio)


def documented(campaign: Campaign, name: str) -> tuple[MeasurePlan | None, Record | None]:
    """The scatter of one run that the campaign enters, and the record it is from; one entered by hand goes first.

    Parameters
    ----------
    campaign : the campaign
    name : of the measure
    """
    plan = campaign.plan
    if plan is None:
        return None, None
    own = plan.measures.get(name)
    if own is not None and own.scatter is not None and not own.from_record:
        return (own if own.degrees_of_freedom is not None else None), None
    found = plan.record.measures.get(name) if plan.record is not None else None
    return found, plan.record if found is not None else None


def rest_on(
    said: tuple[MeasurePlan | None, Record | None],
    first: date | None,
    design: Design,
    result: Estimate,
    y: Floats,
    parts: tuple[UncertaintyComponent, ...],
    scale: Scale,
) -> Leaning:
    """Design and estimate with the record, where the verdict may rest on it; as they were where it may not.

    Parameters
    ----------
    said : what :func:`documented` gives
    first : day of the first run, None where no run has a date
    design : the comparison that the flown order supports
    result : the estimate
    y : values on the scale of the comparison, (n,)
    parts : the entered error sources, as they act on the runs
    scale : from the scale of the comparison to the pilot's unit
    """
    entered, record = said
    plain = Leaning(design, result)
    if entered is None or entered.degrees_of_freedom is None:
        return plain
    size = repeatability.on_scale(entered, scale)
    why = "" if record is None else _not_before(record, first)
    if design.estimator != "none":
        beside = repeatability.beside(design, result, entered, scale)
        if record is None or why or not repeatability.applies(design):
            return replace(plain, words=" ".join(filter(None, (beside, why))))
        pooled = repeatability.pool(result, size, entered.degrees_of_freedom)
        if not bool(pooled.accepted):
            return replace(plain, void=f"The record {record.file} is void here. {beside}")
        return Leaning(design, pooled.estimate, _leans(record, entered, scale, size, first, pooled=True), leans=True)
    alone = by_record(design.order, size, entered.degrees_of_freedom)
    found = replace(estimate(alone, y, parts), compared=result.compared, pooled=result.pooled)
    if found.missing or not np.isfinite(float(found.standard_uncertainty)):
        return replace(plain, words=why)
    p = float(contradiction(alone, y, parts))
    if p < REFUSED:
        whose = "the scatter entered" if record is None else f"the record {record.file}"
        return replace(
            plain,
            void=f"Readings of the same configuration lie farther apart than {whose} and the worst drift believed "
            f"allow (F probability {p:.2g}, below {REFUSED:g}): it is void here, and nothing rests on it.",
        )
    if record is None or why:
        low, high = (scale.difference(end) for end in scale.ends(found.interval()))
        ends = f"{figures(low, 3, '+')} to {figures(high, 3, '+')} {scale.unit}".strip()
        would = (
            f"With the entered scatter of {scale.amount(size)} ({entered.degrees_of_freedom:g} degrees of freedom) the "
            f"95 % interval would be {ends}; the verdict does not lean on it."
        )
        return replace(plain, words=" ".join(filter(None, (would, why))))
    words = _leans(record, entered, scale, size, first, pooled=False)
    tested = "" if not math.isnan(p) else " No reading here could contradict it: go back to the first configuration."
    return Leaning(alone, found, words + tested, leans=True)


def _not_before(record: Record, first: date | None) -> str:
    """Why the verdict may not rest on the record, a sentence; empty where it may."""
    if record.named is None:
        return f"Nothing rests on the record {record.file}: when it was named is not entered (record_named)."
    if first is None:
        return f"Nothing rests on the record {record.file}: no run has a date to hold against {record.named}."
    if record.named > first:
        return (
            f"Nothing rests on the record {record.file}: it was named on {record.named}, after the first run "
            f"({first}), when results may have been seen."
        )
    if record.until is None or record.until >= first:
        until = "its last run has no date" if record.until is None else f"it holds runs of {record.until}"
        return f"Nothing rests on the record {record.file}: {until}, and it has to end before the first run ({first})."
    return ""


def _leans(record: Record, entered: MeasurePlan, scale: Scale, size: float, first: date | None, pooled: bool) -> str:
    when = "before the flying" if first is None or record.named is None or record.named < first else "on its first day"
    how = "pooled with the scatter of these runs" if pooled else "for these runs show none"
    return (
        f"The verdict rests on the record {record.file}: repeats scatter by {scale.amount(size)} "
        f"({entered.degrees_of_freedom:g} degrees of freedom), {how}. It was named on {record.named}, {when}."
    )
