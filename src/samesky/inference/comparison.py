"""Is the difference real, measure by measure? From a campaign to comparisons.

Every run is brought to the common sky, the flown order is recognised, and one set of weights gives the difference, the
part that each correction has in it, and what each error source does to it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np

from samesky import units
from samesky.campaign.derived.rpm_in_hand import rpm_in_hand
from samesky.campaign.model.campaign import ANSWERS, Campaign, RunTable
from samesky.inference import believable_drift, explain, more_flying, verdict
from samesky.inference.borrowed import record
from samesky.inference.borrowed.record import Leaning
from samesky.inference.budget import SHARED, WORST, UncertaintyComponent, contribution
from samesky.inference.conditional import condition
from samesky.inference.design import Design, recognise
from samesky.inference.estimate import Estimate, estimate
from samesky.inference.leave_one_out import hangs_on
from samesky.inference.linear import estimators, indicators
from samesky.inference.look_status import look_status, withheld
from samesky.inference.looks import Look
from samesky.inference.order import FlownOrder
from samesky.inference.randomisation import randomisation_p
from samesky.inference.result import BudgetRow, Comparison, Contribution, Drift, Naive, Scale
from samesky.inference.several import ranking
from samesky.inference.together.told import by_pair
from samesky.inference.uncertainty import t_quantile, welch_satterthwaite
from samesky.instruments.sources import RESULT
from samesky.reduction.reduction import Reduction, reduce_table

if TYPE_CHECKING:
    from samesky.arrays import Flags, Floats

#: Hours between runs that carry no clock: only their order counts then (assumed: four runs an hour).
NO_CLOCK_STEP = 0.25


def compare(campaign: Campaign, look: Look | None = None) -> list[Comparison]:
    """Every measure and every pair of configurations, the baseline's first, in the order of the campaign's tables.

    With a planned ``look`` the limits fixed beforehand replace 95 % and 90 % in the verdict. Where none is asked for
    and the campaign planned several, the one that is due now is taken; between them no result is told
    (:mod:`samesky.inference.look_status`). The verdicts of secondary measures hold after Holm's adjustment; a measure
    without runs of both configurations is left out.

    Parameters
    ----------
    campaign : the campaign
    look : the planned look at which it is read, None for the end
    """
    stand = look_status(campaign) if look is None else None
    if stand is not None:
        look = stand.look
    found = []
    for table in campaign.tables.values():
        reduction = reduce_table(campaign, table)
        flown = set(table.configuration[_countable(reduction)])
        keys = [key for key in campaign.configurations if key in flown]
        keys.sort(key=lambda key: key != campaign.baseline)
        if campaign.baseline in flown or len(keys) > 1:
            pairs = [_compare(campaign, reduction, keys, pair, look) for pair in combinations(keys, 2)]
            found += pairs
    if stand is not None and look is None:
        return [withheld(one, stand.why_not()) for one in found]
    return _ranked(_told_by_all(campaign, _with_holm(found)))


def _told_by_all(campaign: Campaign, found: list[Comparison]) -> list[Comparison]:
    """The comparisons with what all measures together say of each, and what would settle it more cheaply."""
    told = by_pair(campaign, found)
    with_all = [replace(one, by_all=told[one.baseline, one.other].get(one.measure)) for one in found]
    return [replace(one, settle=_settled_more_cheaply(one)) for one in with_all]


def _settled_more_cheaply(one: Comparison) -> str:
    """What would settle a comparison: few runs of other measures give way to nothing, more of the same to them."""
    waiting = one.look is not None and one.look.number < one.look.planned
    told = one.by_all
    if told is None or not told.cheaper or not told.adds or not one.settle or waiting:
        return one.settle
    if one.answer_from != ANSWERS[0]:
        return "" if one.deciding_verdict != verdict.WORDS[verdict.NOT_ENOUGH] else told.cheaper
    return f"{told.cheaper} {more_flying.another_look(one)}"


def _countable(reduction: Reduction) -> Flags:
    with np.errstate(invalid="ignore", divide="ignore"):
        on_scale = reduction.table.measure.to_scale(reduction.value)
    return reduction.table.included & np.isfinite(on_scale)


def _left_out(table: RunTable, used: Flags, keys: tuple[str, str]) -> tuple[tuple[str, str], ...]:
    """The runs of both configurations that are not compared, each with its reason as written."""
    rows = np.flatnonzero(np.isin(table.configuration, keys) & ~used)
    return tuple((table.text["run"][row], table.text["exclude"][row] or "it gives no number") for row in rows)


def flown_order(
    campaign: Campaign, table: RunTable, used: Flags, other: str, baseline: str | None = None
) -> FlownOrder:
    """The order of the runs used (rows,) bool; runs without a clock are spread evenly over their day, in row order.

    Runs of neither ``other`` nor ``baseline`` (the campaign's by default) are those of further configurations.

    Parameters
    ----------
    campaign : the campaign
    table : the runs of one measure
    used : the runs compared, bool (rows,)
    other : key of the other configuration
    baseline : key of the baseline, None for the campaign's own
    """
    hours = np.array(table.hours[used], dtype=float)
    day = table.day[used]
    for one in np.unique(day[~np.isfinite(hours)]):
        rows = np.flatnonzero(day == one)
        hours[rows] = NO_CLOCK_STEP * np.arange(rows.size)
    baseline = campaign.baseline if baseline is None else baseline
    own = table.configuration[used]
    number = {key: k for k, key in enumerate((baseline, other, *sorted(set(own) - {baseline, other})))}
    labels = np.array([number[key] for key in own])
    return FlownOrder(labels, table.installation[used], day, hours, campaign.fitted_anew)


def stated_parts(campaign: Campaign, reduction: Reduction, used: Flags) -> tuple[UncertaintyComponent, ...]:
    """The error sources as they act on the runs used; one that is stated but moves no run counts, with zero.

    Where nothing is corrected the result is the reading, and a run's error of the result is one of reading.

    Parameters
    ----------
    campaign : the campaign
    reduction : the reduced table
    used : the runs compared, bool (rows,)
    """
    measure = reduction.table.measure
    parts = [
        UncertaintyComponent(
            source.name,
            source.scope,
            size[used],
            source.degrees_of_freedom,
            source.target == RESULT and (source.scope != "run" or bool(measure.corrections)),
        )
        for source, size in reduction.contributions
    ]
    present = {part.scope for part in parts}
    for source in (*campaign.sources, *measure.sources):
        if source.scope in SHARED and source.scope not in present and source.applies_to(measure.name):
            level = source.target == RESULT
            parts.append(
                UncertaintyComponent(source.name, source.scope, np.zeros(used.sum()), source.degrees_of_freedom, level)
            )
    typical = float(np.nanmean(np.abs(reduction.value))) if np.isfinite(reduction.value).any() else 0.0
    return (*parts, *believable_drift.ceiling(measure, typical))


def _compare(
    campaign: Campaign, reduction: Reduction, keys: list[str], pair: tuple[str, str], look: Look | None
) -> Comparison:
    baseline, key = pair
    table, measure = reduction.table, reduction.table.measure
    asked = campaign.asked[measure.name]
    used, order = _runs_compared(campaign, reduction, keys, pair)
    steps = [measure.to_scale(step.value[used]) for step in reduction.steps]
    y = steps[-1]
    parts = stated_parts(campaign, reduction, used)
    leaning, scale = _estimated(campaign, table, order, y, parts, len(keys))
    design, result = leaning.design, leaning.estimate
    margins = verdict.margins(asked.smallest, asked.smallest_is_fraction, measure.ratio, scale.level)
    lower, upper = float(margins[0]), float(margins[1])

    def judged(of: Estimate) -> int:
        sure, alike = (look.level, look.equivalence_level) if look else (0.95, 0.90)
        return int(verdict.judge(of.interval(sure), of.equivalence_interval(alike), lower, upper, asked.better))

    code = judged(result)
    hung = hangs_on(design, y, parts, result, judged)
    weights = np.asarray(result.weights)
    raw = float(weights @ steps[0])
    contributions = _contributions(reduction, steps, weights, scale)
    naive = _naive(reduction, used, order, scale, baseline, key)
    drift = _drift(design, result, steps, scale)
    exact_p, exact_test = randomisation_p(design, y)
    comparison = Comparison(
        **_what_was_flown(campaign, table, design, scale, pair, used),
        **_in_the_pilots_unit(result, scale, pair),
        smallest_that_matters=scale.difference(upper),
        verdict=verdict.words(int(code), baseline, key),
        assumption=explain.assumption(design, result, parts, scale, leaning.words),
        warnings=(leaning.void,) if leaning.void else (),
        settle="",
        raw_difference=scale.difference(raw),
        raw_percent=scale.percent(raw),
        contributions=contributions,
        budget=_budget(design, result, parts, scale),
        naive=naive,
        drift=drift,
        p=float(result.p_value),
        p_holm=float("nan"),
        exact_p=float(exact_p),
        exact_test=exact_test,
        used=used,
        weights=weights,
        design=design,
        estimate=result,
        reduction=reduction,
        scale=scale,
        look=look,
    )
    return _in_words(comparison, y, parts, (lower, upper), hung, judged)


def _estimated(
    campaign: Campaign,
    table: RunTable,
    order: FlownOrder,
    y: Floats,
    parts: tuple[UncertaintyComponent, ...],
    compared: int,
) -> tuple[Leaning, Scale]:
    """The design and the estimate, resting on a record where they may, and the scale that the runs are shown on."""
    asked = campaign.asked[table.measure.name]

    def scaled(of: Estimate) -> Scale:
        own = order.configuration < 2
        low = float(y[own].mean() - order.configuration[own].mean() * float(of.difference))
        return Scale(asked, float(np.exp(low)) if table.measure.ratio else low)

    design = recognise(order)
    result = replace(estimate(design, y, parts), compared=compared, pooled=_pooled(design, compared))
    days = sorted(filter(None, table.text.get("date", [])))
    first = date.fromisoformat(days[0]) if days else campaign.first_day
    said = record.documented(campaign, table.measure.name)
    leaning = record.rest_on(said, first, design, result, y, parts, scaled(result))
    return leaning, scaled(leaning.estimate)


def _in_words(
    comparison: Comparison,
    y: Floats,
    parts: tuple[UncertaintyComponent, ...],
    margins: tuple[float, float],
    hung: tuple[int, Estimate] | None,
    judged: Callable[[Estimate], int],
) -> Comparison:
    """The comparison with what is said of it: its condition, the run on which it hangs, warnings, what would settle."""
    design, result, scale = comparison.design, comparison.estimate, comparison.scale
    baseline, other = comparison.baseline, comparison.other
    if comparison.verdict == verdict.WORDS[verdict.NOT_ENOUGH]:
        told = condition(design, y, result, scale, margins, comparison.look, baseline, other)
        comparison = replace(comparison, conditional=told.words, unmet=told.unmet)
        words, hopeless = record.believed(design, y, parts, result, scale, comparison.level)
        if words or hopeless:
            comparison = replace(comparison, conditional=words, unmet=hopeless)
    warned = comparison.warnings
    if hung is not None:
        run, without = hung
        name = comparison.reduction.table.text["run"][np.flatnonzero(comparison.used)[run]]
        words = verdict.words(judged(without), baseline, other)
        comparison = replace(comparison, hangs_on=name)
        warned = (
            *warned,
            explain.hangs_on(name, scale, float(without.difference), words, comparison.verdict),
        )
    warned = (*warned, *explain.warnings(comparison))
    return replace(comparison, warnings=warned, settle=explain.settle(comparison, *margins))


def _in_the_pilots_unit(result: Estimate, scale: Scale, pair: tuple[str, str]) -> dict[str, Any]:
    """The fields of a comparison that say the estimate in the pilot's unit, and in per cent of the baseline."""
    d = float(result.difference)
    low, high = scale.ends(result.interval(0.95))
    inner = scale.ends(result.equivalence_interval(0.90))
    return {
        "difference": scale.difference(d),
        "percent": scale.percent(d),
        "interval_95": (scale.difference(low), scale.difference(high)),
        "interval_90": (scale.difference(inner[0]), scale.difference(inner[1])),
        "percent_95": (scale.percent(low), scale.percent(high)),
        "standard_uncertainty": _size(scale, float(result.standard_uncertainty)),
        "degrees_of_freedom": float(result.degrees_of_freedom),
        "levels": {pair[0]: _level(scale, scale.level), pair[1]: _level(scale, scale.level + scale.si(d))},
    }


def _runs_compared(
    campaign: Campaign, reduction: Reduction, keys: list[str], pair: tuple[str, str]
) -> tuple[Flags, FlownOrder]:
    """The runs (rows,) that tell of a pair, and their order."""
    table, (baseline, key) = reduction.table, pair
    used = _countable(reduction) & np.isin(table.configuration, keys)
    order = flown_order(campaign, table, used, key, baseline)
    if order.further and order.day_confounded:
        # Compared through others on other days it would rest on more than is said: the two alone are judged.
        used &= np.isin(table.configuration, pair)
        order = flown_order(campaign, table, used, key, baseline)
    return used, order


def _what_was_flown(
    campaign: Campaign, table: RunTable, design: Design, scale: Scale, pair: tuple[str, str], used: Flags
) -> dict[str, Any]:
    """The fields of a comparison that no value of a run changes."""
    asked, order = scale.asked, design.order
    names = dict(enumerate(pair))
    return {
        "measure": asked.measure.name,
        "title": asked.measure.title,
        "unit": scale.unit,
        "better": asked.better,
        "primary": asked.primary,
        "baseline": pair[0],
        "other": pair[1],
        "runs": {names[k]: int((order.configuration == k).sum()) for k in names},
        "fittings": {names[k]: order.fittings[k] for k in names},
        "days": int(np.unique(order.day).size),
        "design_name": design.name,
        "method": design.method,
        "replication": design.replication,
        "smallest_text": asked.smallest_text,
        "left_out": _left_out(table, used, pair),
        "rpm": {name: one for name, one in rpm_in_hand(campaign, table).items() if name in pair},
    }


def _pooled(design: Design, compared: int) -> bool:
    """Whether the scatter of all configurations compared is in the estimate of this pair."""
    return compared == 2 or (bool(design.order.further) and design.pooled and design.estimator != "days")


def _size(scale: Scale, on_scale: float) -> float:
    """A small uncertainty on the scale in the pilot's unit."""
    return abs(scale.shown(scale.level * on_scale if scale.asked.measure.ratio else on_scale))


def _level(scale: Scale, value_si: float) -> float:
    return float(units.from_si(value_si, scale.unit, scale.asked.measure.dimension))


def _contributions(
    reduction: Reduction, steps: list[Floats], weights: Floats, scale: Scale
) -> tuple[Contribution, ...]:
    found = []
    reached = float(weights @ steps[0])
    for step, values in zip(reduction.steps[1:], steps[1:], strict=True):
        after = float(weights @ values)
        change = scale.difference(after) - scale.difference(reached)
        percent = scale.percent(after) - scale.percent(reached)
        found.append(Contribution(step.name, after - reached, change, percent))
        reached = after
    return tuple(found)


def _naive(reduction: Reduction, used: Flags, order: FlownOrder, scale: Scale, baseline: str, other: str) -> Naive:
    """Raw means and Welch's t, as a pilot with a pocket calculator would do it."""
    raw = reduction.steps[0].value[used]
    sides = [raw[order.configuration == k] for k in (0, 1)]
    difference = float(sides[1].mean() - sides[0].mean())
    interval = welch_interval(sides[0], sides[1])
    better = other if (difference < 0) == (scale.asked.better == "smaller") else baseline
    clear = interval[0] > 0 or interval[1] < 0
    says = f"{better} is better" if clear else f"{better} looks better" if difference else "both alike"
    percent = 100.0 * difference / float(sides[0].mean()) if sides[0].mean() > 0 else float("nan")
    shown = scale.shown(interval[0]), scale.shown(interval[1])
    return Naive(scale.shown(difference), percent, shown, says)


def welch_interval(first: Floats, second: Floats, level: float = 0.95) -> tuple[float, float]:
    """Welch's interval for the mean of the second less the first; NaN with one reading on a side.

    Parameters
    ----------
    first : readings of one side, (n,)
    second : readings of the other side, (m,), in the same unit
    level : probability that the interval holds [1], 0 to 1

    Returns
    -------
    tuple of float
        Ends in the unit of the readings.
    """
    if min(first.size, second.size) < 2:
        return float("nan"), float("nan")
    variances = np.array([side.var(ddof=1) / side.size for side in (first, second)])
    standard, df = welch_satterthwaite(np.sqrt(variances), np.array([first.size - 1, second.size - 1]))
    half = float(t_quantile(0.5 + level / 2.0, df) * standard)
    difference = float(second.mean() - first.mean())
    return difference - half, difference + half


def _drift(design: Design, result: Estimate, steps: list[Floats], scale: Scale) -> Drift:
    order, y = design.order, steps[-1]
    ratio = scale.asked.measure.ratio
    show = (lambda rate: 100.0 * rate) if ratio else scale.shown
    within, within_u = float("nan"), float("nan")
    if design.slope_within is not None and design.within is not None and design.within.shape[0]:
        scatter = np.sqrt(np.square(design.within @ y).mean())
        within = float(design.slope_within @ y)
        within_u = float(scatter * np.linalg.norm(design.slope_within))
    gap = float(np.asarray(result.weights) @ order.time)
    spread = np.ptp(order.time) > 0
    trend = estimators(np.column_stack([order.time, indicators(order.day)]))[0] if spread else None
    return Drift(
        unit="%/h" if ratio else f"{scale.unit}/h",
        removed=show(float(result.drift)),
        removed_uncertainty=abs(show(float(result.drift_uncertainty))),
        within=show(within),
        within_uncertainty=abs(show(within_u)),
        weather=show(float(trend @ (steps[0] - y))) if trend is not None else float("nan"),
        erases=show(float(result.difference) / gap) if abs(gap) > 1e-9 else float("nan"),
    )


def _budget(
    design: Design, result: Estimate, parts: tuple[UncertaintyComponent, ...], scale: Scale
) -> tuple[BudgetRow, ...]:
    # A limit counts as the rectangular distribution of that half-width: JCGM 100:2008, 4.3.7.
    limit = float(result.worst_drift) / math.sqrt(3.0)
    total = float(np.square(result.type_a) + np.square(result.type_b)) + limit**2
    readings = bool(np.any(result.floor_used))
    name, how = (
        ("reading errors entered", "in place of a smaller scatter seen") if readings else ("scatter seen", "seen")
    )
    if not readings and math.isfinite(design.run_scatter):
        name, how = "scatter of the record", "from the record: these runs show none"
    seen = _size(scale, float(result.type_a))
    rows = [BudgetRow(name, "run", seen, seen, 0.0, how)]
    shares = [float(np.square(result.type_a))]
    weights = np.asarray(result.weights)
    added = {id(part): float(variance) for part, variance in result.added}
    extra = [part for part, variance in result.added if id(part) not in {id(own) for own in parts} and variance > 0]
    for part in (*(part for part in parts if part.scope != WORST), *extra):
        more = added.get(id(part), 0.0)
        whole = more if part in extra else max(more, float(contribution(part, design, weights)))
        shares.append(more)
        note = explain.budget_note(part, design, whole, more, 1e-6 * total, readings)
        if part.scope == "straight drift" and limit > 0 and part not in extra:
            note = "no more than the worst drift believed, below"
        rows.append(BudgetRow(part.name, part.scope, _size(scale, whole**0.5), _size(scale, more**0.5), 0.0, note))
    if limit > 0:
        shares.append(limit**2)
        most = _size(scale, limit)
        rows.append(BudgetRow(*explain.limit_row(result, scale), most, most, 0.0, explain.LIMIT))
    return tuple(
        replace(row, share=share / total if total > 0 else 0.0) for row, share in zip(rows, shares, strict=True)
    )


def _ranked(found: list[Comparison]) -> list[Comparison]:
    """The comparisons with the order of three configurations or more on each measure in words; two need none."""
    words = {}
    for name in dict.fromkeys(one.measure for one in found):
        pairs = [one for one in found if one.measure == name]
        if len(pairs) > 1:
            first, sign = pairs[0].baseline, 1.0 if pairs[0].better == "larger" else -1.0
            worth = {first: 0.0} | {one.other: sign * one.deciding.difference for one in pairs if one.baseline == first}
            words[name] = ranking(worth, {(one.baseline, one.other): one.deciding_verdict for one in pairs})
    return [replace(one, ranking=words.get(one.measure, "")) for one in found]


def _with_holm(found: list[Comparison]) -> list[Comparison]:
    """Holm's adjustment over the secondary comparisons; the primary measure keeps its own p."""
    secondary = [k for k, one in enumerate(found) if not one.primary]
    # Holm's adjustment counts every pair itself, so each enters with the p that it has alone.
    alone = [float(replace(found[k].estimate, compared=2).p_value) for k in secondary]
    adjusted = verdict.holm(np.array(alone))
    for one in range(len(found)):
        found[one] = replace(found[one], p_holm=found[one].p)
    for k, p in zip(secondary, adjusted, strict=True):
        found[k] = explain.after_holm(found[k], float(p))
    return found
