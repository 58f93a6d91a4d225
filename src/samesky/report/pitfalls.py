"""What could have fooled the pilot, in words: the plain average and why it is not the answer, drift, one fitting.

Every sentence is made from the numbers of the comparison; none is said where its number is not there.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from samesky.inference.result import Comparison
from samesky.report import phrases
from samesky.report.adding_up import adding_up
from samesky.report.phrases import NARROW

#: Corrections that are named one by one; the rest is in the figure.
NAMED = 4
#: What becomes of a clear winner of the plain averages that is none.
_LOSES = {
    phrases.Answer.SAME: "At the same sky nothing that matters is left of it.",
    phrases.Answer.SMALL: "At the same sky what is left of it is too small to matter.",
    phrases.Answer.OPEN: "These runs cannot carry that.",
}


def plain_average(comparison: Comparison) -> str:
    """What averaging the readings, side against side, would have said."""
    one, naive = comparison, comparison.naive
    ends = naive.interval_95
    if not all(math.isfinite(end) for end in ends):
        return (
            f"Averaging what was read, side against side, makes {one.other} {phrases.change(one, naive.difference)}. "
            "With one reading on a side nobody can say how sure that is."
        )
    clear = ends[0] * ends[1] > 0
    said = (
        f"Averaging what was read, side against side, makes {one.other} {phrases.change(one, naive.difference)} "
        f"(95{NARROW}% interval by Welch's t: {phrases.changes(one, ends)})"
    )
    if not clear:
        return f"{said}: nothing clear."
    ours = phrases.winner(one)
    if ours is None:
        return f"{said}: “{naive.says}”, a clear winner. {_LOSES[phrases.answer(one)]}"
    leads = one.other if (naive.difference > 0) == (one.better == "larger") else one.baseline
    return f"{said}: “{naive.says}”. " + (
        "This time it points the same way; what follows shows how far it leaned on luck."
        if leads == ours
        else "It crowns the wrong one."
    )


def why_not(comparison: Comparison) -> list[str]:
    """Why the plain average is not the answer here, one paragraph a reason."""
    return [said for said in (_conditions(comparison), _order(comparison)) if said]


def whole_order(comparisons: Iterable[Comparison]) -> list[str]:
    """What the order of flying and the fittings hide, for each order and number of fittings once."""
    said = [said for one in comparisons for said in (_one_swap(one), _few_fittings(one)) if said]
    return list(dict.fromkeys(said))


def _conditions(one: Comparison) -> str:
    decimals = phrases.places(one)
    smallest = 0.5 * 10.0**-decimals
    parts = sorted(one.contributions, key=lambda part: -abs(part.difference))
    large = [part for part in parts if abs(part.difference) >= smallest][:NAMED]
    if not large:
        return ""
    net = one.difference - one.raw_difference
    changes = [(part.name, part.difference) for part in large]
    rest = net - sum(part.difference for part in large)
    if len(large) < len(parts) and abs(rest) >= smallest:
        changes.append(("the rest", rest))
    rounded = adding_up([change for _, change in changes], decimals, round(net, decimals))
    named = phrases.listed(
        f"{name} {phrases.amount(change, one.unit, decimals, sign=True)}"
        for (name, _), change in zip(changes, rounded, strict=True)
    )
    all_in_all = phrases.amount(net, one.unit, decimals, sign=True)
    said = f"The conditions were not the same for both. The corrections to the same sky: {named}"
    if len(changes) == 1:
        return said + "."
    moved = sum(abs(part.difference) for part in one.contributions)
    luck = " Large ones happened to cancel." if moved > 4 * abs(net) and moved > one.smallest_that_matters else ""
    return f"{said}; {all_in_all} in all.{luck}"


def _order(one: Comparison) -> str:
    change = one.raw_difference - one.naive.difference
    if abs(change) < 0.5 * 10.0 ** -phrases.places(one):
        return ""
    size = phrases.amount(change, one.unit, phrases.places(one), sign=True)
    if one.design_name == "single swap":
        return (
            f"Weighing the runs by how much unseen drift each can hold (those next to the swap count most) changes the "
            f"difference by {size}."
        )
    out = "steady drift is taken out, and " if one.design.with_time else ""
    return f"The order of flying makes {size}: {out}unequal numbers of runs are weighed."


def _one_swap(one: Comparison) -> str:
    if one.design_name != "single swap":
        return ""
    between = (
        f"Every {one.baseline} run was flown on one side of the swap and every {one.other} run on the other."
        if one.days == 1
        else "On no day was the configuration that it began with flown again after the other one."
    )
    return (
        f"{between} Whatever changed meanwhile without being read right (wind in a lee, sun on the strip, drying "
        f"grass, the pilot's hand) counts as difference between {one.baseline} and {one.other}, and no average can "
        "take it out. The plain interval looks sharp because it knows the scatter within each block and nothing of the "
        "gap between them."
    )


def _few_fittings(one: Comparison) -> str:
    if not one.design.order.fitted_anew:
        return ""
    runs, fitted = sum(one.runs.values()), sum(one.fittings.values())
    if fitted >= runs:
        return ""
    return (
        f"The plain average takes {runs} runs for {runs} separate samples, but there were {fitted} fittings. How far a "
        "new fitting of the same part would differ shows in no number of runs on one fitting."
    )


def drift(comparison: Comparison) -> list[str]:
    """What is known about drift, one sentence each."""
    found, said = comparison.drift, []
    unit = f"{phrases.unit_behind(found.unit.removesuffix('/h'))} an hour"
    if math.isfinite(found.removed):
        said.append(f"Steady drift found and taken out: {_rate(found.removed, found.removed_uncertainty)}{unit}.")
    if math.isfinite(found.weather) and comparison.contributions:
        said.append(f"Drift that the readings explain, taken out by the corrections: {_rate(found.weather)}{unit}.")
    if math.isfinite(found.within):
        rate = _rate(found.within, found.within_uncertainty)
        said.append(f"Drift that the corrected runs within each block still show: {rate}{unit}.")
    if math.isfinite(found.erases) and comparison.design_name == "single swap":
        said.append(f"Unseen drift that would by itself make this whole difference: {_rate(found.erases)}{unit}.")
        said += _drift_alone(comparison)
    return said


def _drift_alone(one: Comparison) -> list[str]:
    """Whether the drift that the runs within blocks still show could make the whole difference."""
    within, uncertainty, needed = one.drift.within, one.drift.within_uncertainty, one.drift.erases
    if not (math.isfinite(within) and math.isfinite(uncertainty)):
        return []
    along = math.copysign(1.0, needed) * within
    if along - 2.0 * uncertainty > 0 and along >= abs(needed):
        return [
            "The corrected runs within the blocks drift faster than that, the same way: this difference may be nothing "
            "but drift."
        ]
    if along + 2.0 * uncertainty >= abs(needed):
        return ["The runs within the blocks cannot rule out a drift of that size."]
    return []


def _rate(value: float, uncertainty: float = math.nan) -> str:
    known = math.isfinite(uncertainty) and uncertainty > 0
    places = min(3, phrases.places_for(uncertainty if known else abs(value) / 3.0))
    said = phrases.number(value, places, sign=True)
    return f"{said} ± {phrases.number(uncertainty, places)}" if known else said
