"""What should be said beside the number: what it rests on, what could have fooled, what would settle it?"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from samesky.campaign.derived.rpm_in_hand import held_back
from samesky.campaign.messages.phrases import figures
from samesky.inference import more_flying, verdict
from samesky.inference.believable_drift import SEEN_WITHIN
from samesky.inference.budget import UncertaintyComponent, largest_reading
from samesky.inference.design import Design
from samesky.inference.estimate import NO_DAY, NO_DRIFT, NO_FITTING, Estimate
from samesky.inference.joined import seen_in_part
from samesky.inference.result import BudgetRow, Comparison, Scale

#: How the size of a source is read, by scope.
_PER = {
    "run": "a run",
    "installation": "a fitting",
    "day": "a day",
    "straight drift": "an hour",
    "wandering": "in the first hour",
}
#: The scope under which a campaign states what an order cannot show.
_STATED_AS = {NO_FITTING: "installation", NO_DAY: "day", NO_DRIFT: "straight drift"}
#: A source below this share of the variance of the difference is not worth a word.
WORTH_SAYING = 0.01


#: Where nothing scatters and nothing is stated.
ALIKE = (
    "No interval: repeats of the same thing read exactly alike, and no reading error is entered. A reading is never "
    "surer than its last digit."
)


#: What is said beside the way back where the scatter alone keeps an answer open.
OPEN_WITHOUT_DRIFT = (
    "Even without drift these runs leave the answer open: fly more of both as well, every day with its return."
)

#: What the budget says of the worst drift believable.
LIMIT = "added as a limit either way, not as a scatter: this order does not show it"


def limit_row(result: Estimate, scale: Scale) -> tuple[str, str]:
    """Name and scope of the limit of drift in the budget.

    Parameters
    ----------
    result : the estimate
    scale : from the scale of the comparison to the pilot's unit
    """
    rate = scale.amount(float(result.worst_drift) / float(result.reach))
    what = "trend within the blocks, carried on" if bool(result.carried) else "worst drift believed"
    return f"{what} ({rate} an hour)", "straight drift"


def hidden_drift(result: Estimate, scale: Scale) -> str:
    """How the drift that the order cannot show is reckoned with, a sentence; empty where it hides none.

    Parameters
    ----------
    result : the estimate
    scale : from the scale of the comparison to the pilot's unit
    """
    if not float(result.reach) > 0:
        return ""
    rate = scale.amount(float(result.worst_drift) / float(result.reach))
    size = scale.amount(float(result.worst_drift))
    if bool(result.carried):
        return f"The trend within the blocks ({rate} an hour) is carried on through the swap: {size} either way."
    if not float(result.worst_drift) > 0:
        return ""
    return f"Drift up to {rate} an hour, the worst believed of this measure, is allowed for: {size} either way."


def no_scatter(result: Estimate) -> bool:
    """Whether an interval is missing for want of any scatter, seen or stated.

    Parameters
    ----------
    result : the estimate
    """
    return not np.isfinite(float(result.standard_uncertainty)) and bool(np.isfinite(float(result.type_a)))


def assumption(
    design: Design,
    result: Estimate,
    parts: tuple[UncertaintyComponent, ...],
    scale: Scale,
    record: str = "",
) -> str:
    """What the interval rests on, with the sizes of what had to be stated, and what a documented scatter changes.

    Parameters
    ----------
    design : the comparison that the flown order supports
    result : the estimate
    parts : the entered error sources, as they act on the runs
    scale : from the scale of the comparison to the pilot's unit
    record : what a scatter of earlier flights says, sentences; may be empty
    """
    said = [design.assumption]
    if result.missing:
        said = [f"No interval: nothing entered says {' or '.join(result.missing)}, and this order cannot show it."]
    elif no_scatter(result):
        said = [ALIKE]
    elif hidden_drift(result, scale):
        said.append(hidden_drift(result, scale))
    least = WORTH_SAYING * float(np.square(result.type_a) + np.square(result.type_b))
    leaning = [
        part
        for part, variance in result.added
        if part.scope != "campaign" and float(variance) > least and any(part is own for own in parts)
    ]
    shown = {id(part): seen_in_part(part, design) for part in leaning}
    for seen, how in ((True, "and these runs show part of it"), (False, "because these runs cannot show it")):
        sizes = ", ".join(
            f"{part.name} {scale.amount(float(np.sqrt(np.mean(np.square(part.sensitivity)))))} {_PER[part.scope]}"
            for part in leaning
            if shown[id(part)] is seen
        )
        said += [f"Taken from your entries, {how}: {sizes}."] if sizes else []
    if bool(np.any(result.floor_used)):
        said.append(
            "These runs agree more closely than the instruments can be read, so the reading errors set the interval. "
            f"Largest: {largest_reading(parts)}."
        )
    if result.compared > 2:
        pairs = result.compared * (result.compared - 1) // 2
        said.append(f"The intervals of the {pairs} pairs hold together: each is wider than one pair's alone.")
    return " ".join(filter(None, (*said, record)))


def hangs_on(run: str, scale: Scale, difference: float, words: str, now: str) -> str:
    """The run on which the answer hangs, what it would be without it, and what to do, a sentence for the pilot.

    Parameters
    ----------
    run : name of the run
    scale : from the scale of the comparison to the pilot's unit
    difference : difference without the run, on the scale of the comparison
    words : the answer without the run
    now : the answer with it
    """
    value = f"{figures(scale.difference(difference), 3, '+')} {scale.unit}".strip()
    same = "and the verdict the same" if words == now else f"and the verdict {words!r}"
    return (
        f"The answer hangs on run {run}, which lies far from its neighbours: without it the difference would be "
        f"{value} {same}. Look for its reason (a gust, a slip of the pen, another technique); nothing was left out."
    )


def before_results(comparison: Comparison) -> list[str]:
    """What a reader should be told of how it was flown, whatever the results are.

    Parameters
    ----------
    comparison : the comparison
    """
    said = list(comparison.design.warnings)
    table = comparison.reduction.table
    timeless = np.unique(table.day[comparison.used & np.isnan(table.hours)]).size
    if timeless:
        days = "that day's" if timeless == 1 else f"those {timeless} days'"
        said.append(f"Some runs carry no clock: {days} runs are taken as evenly spaced, in their order.")
    keys = (comparison.baseline, comparison.other)
    said += held_back(table, keys, comparison.rpm)
    missing = comparison.estimate.missing
    if missing:
        entries = " and ".join(f'"{_STATED_AS[what]}"' for what in missing)
        said.append(
            f"Enter {' and '.join(missing)} as an error source of the result, in campaign.toml under "
            f"[instrument.NAME] with the scope {entries}; or fly an order that shows it."
        )
    return said


def warnings(comparison: Comparison) -> tuple[str, ...]:
    """What a reader should be told, from the order and from the results.

    Parameters
    ----------
    comparison : the comparison
    """
    result, look, said = comparison.estimate, comparison.look, before_results(comparison)
    if bool(result.widened):
        said.append(
            "Fittings differ more than entered (probability "
            f"{float(result.surprise):.2g} if the entry were true): the wider scatter seen is used."
        )
    if bool(result.carried):
        seen = f"{figures(comparison.drift.within, 2, '+')} {comparison.drift.unit}"
        said.append(
            f"Runs within blocks drift by {seen}, beyond chance and faster than is believed of this measure: "
            "a drift of that size is reckoned with between the blocks too."
        )
    if comparison.unmet:
        said.append(comparison.unmet)
    if comparison.no_upper_bound:
        said.append(comparison.no_upper_bound)
    changed = comparison.difference - comparison.raw_difference
    if comparison.contributions and abs(changed) > max(abs(comparison.difference), 1e-12):
        largest = max(comparison.contributions, key=lambda one: math.copysign(1.0, changed) * one.difference)
        whose = "mostly" if abs(largest.difference) > 0.5 * abs(changed) else "most of all"
        said.append(
            f"Conditions mattered more than the change: as flown {figures(comparison.raw_difference, 3, '+')} "
            f"{comparison.unit}, of it {figures(-changed, 3, '+')} {comparison.unit} by conditions, {whose} "
            f"{largest.name}."
        )
    if look is not None:
        said.append(
            f"Look {look.number} of {look.planned} ({look.shape} limits): the verdict asks for {100 * look.level:.4g} %"
            f" in place of 95 %, and {100 * look.equivalence_level:.4g} % in place of 90 %, as the intervals shown."
        )
    return (*said, *(doubt.sentence() for doubt in comparison.reduction.doubts))


def after_holm(comparison: Comparison, p: float) -> Comparison:
    """The secondary comparison with its adjusted p; a "better" that does not survive it becomes not enough data.

    What it has to survive is the limit of the look: 0.05 where only the end is looked at.

    Parameters
    ----------
    comparison : the comparison
    p : the adjusted p [1]
    """
    claims = comparison.verdict.endswith(f" {verdict.WORDS[verdict.OTHER_BETTER]}")
    if not claims or p <= 1.0 - comparison.level or math.isnan(p):
        return replace(comparison, p_holm=p)
    warning = (
        f"Its own interval excludes zero, but of several measures that do not decide, one does so by chance: no proof "
        f"(p {comparison.p:.2g}, {p:.2g} after Holm; below {1.0 - comparison.level:.2g} is asked for)."
    )
    return replace(
        comparison,
        p_holm=p,
        verdict=verdict.WORDS[verdict.NOT_ENOUGH],
        warnings=(*comparison.warnings, warning),
        settle="Name it the deciding measure before flying again, or fly more of the same.",
    )


def budget_note(
    part: UncertaintyComponent, design: Design, whole: float, added: float, least: float, floor_used: bool = False
) -> str:
    """Why a source is added, or not; variances below ``least`` count as nothing.

    Parameters
    ----------
    part : one entered error source
    design : the comparison that the flown order supports
    whole : variance that the source puts into the difference
    added : variance that is added to the scatter
    least : variance that counts as nothing
    floor_used : whether reading errors took the place of the scatter
    """
    if part.name == SEEN_WITHIN:
        return "added: how well the trend within the blocks is known"
    if part.scope == "run":
        if added > 0:
            return "added: few runs weigh more than many"
        return (
            "in the scatter seen" if part.level or not floor_used else "sets the scatter: the runs agree more closely"
        )
    if part.scope == "installation" and not design.order.fitted_anew:
        return "nothing is fitted anew"
    if whole <= least:
        return "cancels: the same for both configurations"
    if added <= least:
        return "in the scatter seen"
    if part.scope == "campaign":
        return "added: the two were flown in different conditions"
    # Over days and fittings the scatter seen holds what it shows of a source; only the rest is added.
    if seen_in_part(part, design) if design.estimator == "joined" else whole - added > least:
        return "added: this order shows part of it"
    return "added: this order does not show it"


def settle(comparison: Comparison, lower: float, upper: float) -> str:
    """What more flying would settle the question; empty where it is settled.

    Parameters
    ----------
    comparison : the comparison
    lower : lower margin on the scale of the comparison
    upper : upper margin
    """
    if comparison.verdict != verdict.WORDS[verdict.NOT_ENOUGH]:
        return ""
    if comparison.look is not None and comparison.look.number < comparison.look.planned:
        return f"Fly on as planned, to look {comparison.look.number + 1}; nothing is settled by guessing on the way."
    result = comparison.estimate
    if result.missing:
        return "An order that shows it: go back to the first configuration, and fit both more than once."
    if no_scatter(result):
        return "Read to a finer digit, or enter the reading error under [instrument.NAME] in campaign.toml."
    if not np.isfinite(float(result.standard_uncertainty)):
        return "Repeats: three or more runs of each configuration, with a return to the first."
    if float(result.worst_drift) > 0:
        beside = OPEN_WITHOUT_DRIFT if _open_without_drift(comparison, lower, upper) else ""
        return " ".join(filter(None, (_hint(comparison)[0], beside, more_flying.another_look(comparison))))
    df = min(float(result.degrees_of_freedom), 1e6)
    seen, fixed = shrinks_and_stays(comparison)
    return more_flying.said(comparison, seen, df, fixed, (lower, upper), *_hint(comparison))


def shrinks_and_stays(comparison: Comparison) -> tuple[float, float]:
    """What more of the same shrinks, and what it cannot shrink.

    The latter are campaign-wide errors, and straight drift where no day returns.

    Parameters
    ----------
    comparison : the comparison

    Returns
    -------
    tuple of float
        Two standard uncertainties on the scale of the comparison [1].
    """
    result, design = comparison.estimate, comparison.design
    stays = {"campaign"} if design.with_time or design.name == "days" else {"campaign", "straight drift"}
    fixed = sum(float(variance) for part, variance in result.added if part.scope in stays)
    seen = float(np.square(result.standard_uncertainty)) - fixed
    return max(seen, 1e-300) ** 0.5, fixed**0.5


def _open_without_drift(comparison: Comparison, lower: float, upper: float) -> bool:
    """Whether the answer would be open though nothing had drifted: then a return alone settles nothing."""
    calm = replace(comparison.estimate, worst_drift=0.0)
    ends = calm.interval(comparison.level), calm.equivalence_interval(comparison.equivalence_level)
    return int(verdict.judge(*ends, lower, upper, comparison.better)) == verdict.NOT_ENOUGH


def _hint(comparison: Comparison) -> tuple[str, bool]:
    """Where the uncertainty comes from, and what would shrink it fastest; and whether it is advice, ready to follow."""
    if comparison.design_name == "single swap" or float(comparison.estimate.worst_drift) > 0:
        order = comparison.design.order
        keys = (comparison.baseline, comparison.other)
        began = {int(order.configuration[order.day == day][0]) for day in order.days_with_both}
        first = began.pop() if len(began) == 1 else len(keys)
        if first < len(keys):
            back = f"Go back to {keys[first]} after {keys[1 - first]}"
        else:
            back = "Go back to the configuration that a day began with"
        return f"{back} before the day ends: that takes the drift out. More runs in this order do not.", True
    rows = [row for row in comparison.budget if row.share > 0.5]
    return ("" if not rows else _largest(rows[0])), False


def _largest(row: BudgetRow) -> str:
    """What the largest source of doubt is, and what shrinks it."""
    scope, name = row.scope, row.source
    if scope == "installation":
        return f"Most of the doubt is {name}: new fittings shrink it, more runs on the same ones do not."
    if scope in ("straight drift", "wandering"):
        return f"Most of the doubt is {name}: going back to the first configuration shrinks it, more runs do not."
    if scope == "campaign":
        return f"Most of the doubt is {name}: fly both in the same conditions, or measure it better."
    if scope == "run" and name == "scatter seen":
        return "Most of the doubt is the scatter of repeats: steadier flying or air counts as much as more runs."
    return ""
