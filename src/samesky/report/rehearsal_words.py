"""What does a rehearsal say? Sentences and tables that the terminal and the page share."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import ANSWERS
from samesky.inference import verdict
from samesky.rehearsal.rehearse import TRUTHS, ChangedWorld, Rehearsal, Tally
from samesky.report import phrases

#: Power from which a plan is said to find the difference, and below which it cannot.
ENOUGH, TOO_LITTLE = 0.80, 0.50
#: How certain an interval is that holds what is printed beside it.
LEVEL = 0.95
#: Verdicts in the order in which they are stacked and listed.
STACK = (
    verdict.OTHER_BETTER,
    verdict.TOO_SMALL,
    verdict.NO_DIFFERENCE,
    verdict.NOT_ENOUGH,
    verdict.BASELINE_BETTER,
)
CAUTION = (
    "A rehearsal flies an invented aeroplane in an invented sky; it is no permission and no promise. "
    "The aircraft's papers, the local rules and licensed people come first."
)


@dataclass(frozen=True, slots=True)
class RehearsalTable:
    """A table of words and numbers: header, rows, and which columns hold words."""

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: frozenset[int] = frozenset({0})


def share(value: float) -> str:
    """A share of campaigns in whole per cent; ``none`` where there is none, and never a certainty."""
    if not math.isfinite(value):
        return "none"
    if 0 < value < 0.005:
        return f"<{phrases.NARROW}1{phrases.NARROW}%"
    return f"{round(100 * value)}{phrases.NARROW}%"


def of_hundred(value: float) -> str:
    """A share as people count: so many of 100 campaigns."""
    return f"{round(100 * value)} of 100 campaigns"


def title(found: Rehearsal, name: str) -> str:
    """What a pilot calls the measure."""
    return found.script.tables[name].measure.title


def verdict_name(found: Rehearsal, code: int) -> str:
    """The verdict as `samesky compare` says it."""
    return verdict.words(code, found.script.campaign.baseline, found.script.other)


def size(found: Rehearsal, name: str, on_scale: float) -> str:
    """A difference on the scale of the comparison, in per cent or in the pilot's unit; without its sign."""
    measure = found.script.tables[name].measure
    if not math.isfinite(on_scale):
        return "none"
    if measure.ratio:
        value = 100 * abs(math.expm1(on_scale))
        return f"{value:.{0 if value >= 9.5 else 1}f}{phrases.NARROW}%"
    unit = found.script.campaign.asked[name].unit or measure.unit
    zero = units.from_si(0.0, unit, measure.dimension)
    shown = abs(float(units.from_si(on_scale, unit, measure.dimension) - zero))
    return f"{shown:.2g}{phrases.NARROW}{unit}"


def half_width(found: Rehearsal, name: str, on_scale: float) -> str:
    """Half an interval's width; of a ratio, the mean of what it reaches up and down."""
    measure = found.script.tables[name].measure
    return size(found, name, math.log1p(math.sinh(on_scale)) if measure.ratio else on_scale)


def difference(found: Rehearsal, name: str, truth: float) -> str:
    """A true difference, ``none`` where there is none."""
    return size(found, name, truth) if abs(truth) > 1e-9 else "none"


def decides(found: Rehearsal, name: str, tally: Tally) -> Tally:
    """The tally of the answer that decides: of the measure's own runs, or of all measures where that was fixed."""
    all_measures = found.script.campaign.asked[name].answer_from != ANSWERS[0]
    return tally.by_all if all_measures and tally.by_all is not None else tally


def power(found: Rehearsal, name: str) -> float:
    """Share of campaigns that find a difference as large as the smallest that matters in the primary measure."""
    return decides(found, name, found.at(1.0)[name]).better


def by_all(found: Rehearsal, name: str) -> str:
    """What the answer by all measures would do beside the measure's own, one sentence; empty where there is none."""
    there, none = found.at(1.0)[name], found.at(0.0)[name]
    if there.by_all is None or none.by_all is None:
        return ""
    wrong = none.by_all.share(verdict.OTHER_BETTER, verdict.BASELINE_BETTER)
    tallies = [one[name].by_all for one in found.curve if one[name].by_all is not None]
    held = sum(one.covered for one in tallies) / max(sum(one.intervals for one in tallies), 1)
    own, told = half_width(found, name, there.half), half_width(found, name, there.by_all.half)
    return (
        f"The {title(found, name)} by all measures together: the interval is {told} to either side (by its own runs "
        f"{own}); a real {found.script.campaign.asked[name].smallest_text} is found {round(100 * there.by_all.better)} "
        f"times in 100 (by its own runs {round(100 * there.better)}); if the two are equal, a false winner is named "
        f"{round(100 * wrong)} times in 100. {100 * held:.1f}{phrases.NARROW}% of these 95 % intervals contain the "
        "true difference."
    )


def headline(found: Rehearsal) -> str:
    """The answer in one sentence."""
    name, one = found.script.primary, power(found, found.script.primary)
    matters = found.script.campaign.asked[name].smallest_text
    tally = found.at(1.0)[name]
    how = "" if decides(found, name, tally) is tally else ", told by all measures"
    flown = "as planned" if found.script.planned is not None else "in this order"
    measure = title(found, name)
    return f"Of 100 campaigns flown {flown}, {round(100 * one)} find a real {matters} difference in the {measure}{how}."


def none_there(found: Rehearsal) -> str:
    """What happens where there is no difference."""
    tally = decides(found, found.script.primary, found.at(0.0)[found.script.primary])
    shown = tally.share(verdict.NO_DIFFERENCE, verdict.TOO_SMALL)
    wrong = tally.share(verdict.OTHER_BETTER, verdict.BASELINE_BETTER)
    return (
        f"If the two are equal, {round(100 * shown)} show that no difference matters and {round(100 * wrong)} call one "
        "better; the others end in not enough data."
    )


def covered(found: Rehearsal) -> str:
    """How often the interval holds the truth."""
    tallies = [decides(found, found.script.primary, one[found.script.primary]) for one in found.curve]
    intervals = sum(one.intervals for one in tallies)
    if not intervals:
        return "No interval is possible: something that this order hides is not stated."
    held = sum(one.covered for one in tallies) / intervals
    ended = ", as they stand at the look that ends the flying" if found.ready[found.script.primary].earlier else ""
    return f"{100 * held:.1f}{phrases.NARROW}% of the 95{phrases.NARROW}% intervals contain the true difference{ended}."


def looks(found: Rehearsal) -> list[str]:
    """How the planned looks were rehearsed, and what they save; empty where only the end is looked at."""
    name = found.script.primary
    ready, last = found.ready[name], found.ready[name].look
    if last is None:
        return []
    ways = [*(one for one in ready.earlier if one is not None), ready]
    if len(ways) == 1:
        return [f"Judged at the end alone, by the limits of look {last.number} of the {last.planned} planned."]
    there, none = found.at(1.0)[name], found.at(0.0)[name]
    after = listed([str(one.rows.size) for one in ways])
    early = [
        f"{share(count / there.campaigns)} at look {one.look.number}"
        for one, count in zip(ways[:-1], there.ended, strict=False)
    ]
    said = [
        f"Judged as planned, after {after} runs of the {title(found, name)}, each look by its own limits; the flying "
        "ends at the first that decides.",
        f"If the difference is as large as the margin, the flying ends early in {listed(early)}, and takes "
        f"{there.runs:.1f} of {ready.rows.size} runs on average; if the two are equal, {none.runs:.1f}.",
    ]
    if last.number < last.planned:
        said.append(f"Look {last.number} of {last.planned} is the last that these runs reach.")
    return said


def averaged(found: Rehearsal) -> str:
    """What plain averages would have said."""
    name = found.script.primary
    none, there = found.at(0.0)[name], found.at(1.0)[name]
    other, base = found.script.other, found.script.campaign.baseline
    lean = none.average_for_other / none.campaigns
    leans = f"favour {other if lean >= 0.5 else base} {round(100 * max(lean, 1 - lean))} times in 100"
    sure = (none.naive[1] + none.naive[2]) / none.campaigns
    missed = 1 - there.average_for_other / there.campaigns
    return (
        f"Plain averages of the raw results {leans} although {base} and {other} are equal, and a t test of them is "
        f"sure of a winner {round(100 * sure)} times in 100. If {other} is better by the margin, they favour {base} "
        f"{round(100 * missed)} times in 100."
    )


def other_measures(found: Rehearsal) -> list[str]:
    """What the same true difference does in the other measures."""
    said = []
    for name in list(found.script.tables)[1:]:
        tally = found.at(1.0)[name]
        asked = found.script.campaign.asked[name]
        said.append(
            f"{phrases.capital(title(found, name))}: the same change makes {size(found, name, tally.truth)} there, "
            f"{of_hundred(tally.better)} find it ({asked.smallest_text} matters)."
        )
    return said


def costs(found: Rehearsal) -> list[ChangedWorld]:
    """Disturbances by what they cost the primary measure, dearest first."""
    return sorted(found.without, key=lambda one: _half(found, one))


def helps(found: Rehearsal) -> list[ChangedWorld]:
    """Gains by what they help the primary measure, best first."""
    return sorted(found.gains, key=lambda one: (-one.tallies[found.script.primary].better, _half(found, one)))


def _half(found: Rehearsal, one: ChangedWorld) -> float:
    half = one.tallies[found.script.primary].half
    return half if math.isfinite(half) else math.inf


def dearest(found: Rehearsal) -> str:
    """Which condition costs the most."""
    name, first = found.script.primary, costs(found)[0]
    now, then = found.at(1.0)[name], first.tallies[name]
    if not math.isfinite(now.half):
        return "Without an interval nothing can be said of what costs the most."
    without, with_it = half_width(found, name, then.half), half_width(found, name, now.half)
    return (
        f"What costs most: {first.name}. Without it the interval would reach {without} to either side instead of "
        f"{with_it}, and {round(100 * then.better)} of 100 campaigns would find the difference."
    )


def best_help(found: Rehearsal) -> str:
    """What would help most."""
    name = found.script.primary
    ranked = helps(found)
    first, now = ranked[0], power(found, name)
    if first.tallies[name].better < now + 0.03:
        return "Nothing that was tried helps much: ask another measure, or fly on other days."
    rest = [f"{one.name} {share(one.tallies[name].better)}" for one in ranked[1:4]]
    return (
        f"{phrases.capital(first.name)} ({first.says}) helps most: {share(first.tallies[name].better)} in place of "
        f"{share(now)}; then {listed(rest)}."
    )


def would_settle(found: Rehearsal) -> list[str]:
    """What would answer the question: measures that find the same change, and ways that the plan knows."""
    said = [
        f"The {title(found, name)} finds the same change in {of_hundred(power(found, name))}, flown as it is."
        for name in list(found.script.tables)[1:]
        if power(found, name) >= max(TOO_LITTLE, power(found, found.script.primary))
    ]
    planned = found.script.planned
    for way in planned.alternatives if planned is not None else ():
        days = f"{way.days} day{'s' * (way.days > 1)}"
        said.append(f"By the plan: {way.says} ({days}, {way.hours:.1f}{phrases.NARROW}h, {share(way.power)}).")
    good = [one for one in helps(found) if one.tallies[found.script.primary].better >= ENOUGH]
    if power(found, found.script.primary) < ENOUGH:
        said += [f"{phrases.capital(one.name)}: {one.says}." for one in good]
    return said


def order_of(found: Rehearsal, name: str) -> str:
    """The flown order of one measure, ``A A A B B B | B B B``; long ones by the block, ``9 A, 9 B``."""
    table = found.script.tables[name]
    sequence = np.lexsort((table.hours, table.day))
    pieces = []
    for day in np.unique(table.day):
        keys = [str(table.configuration[k]) for k in sequence if table.day[k] == day]
        starts = [k for k in range(len(keys)) if k == 0 or keys[k] != keys[k - 1]]
        counts = np.diff([*starts, len(keys)])
        single = len(keys) <= 12 and len(np.unique(table.day)) <= 2
        pieces.append(
            " ".join(keys) if single else ", ".join(f"{n} {keys[k]}" for n, k in zip(counts, starts, strict=True))
        )
    return " | ".join(pieces)


def verdict_table(found: Rehearsal, name: str) -> RehearsalTable:
    """How often each verdict comes, by true difference."""
    shown = [k for k, multiple in enumerate(TRUTHS) if multiple in (0.0, 0.5, 1.0, 1.5, 2.0)]
    tallies = [found.curve[k][name] for k in shown]
    header = ("true difference", *(difference(found, name, one.truth) for one in tallies))
    rows = [(verdict_name(found, code), *(share(one.share(code)) for one in tallies)) for code in STACK]
    rows.append(("interval holds the truth", *(share(one.coverage) for one in tallies)))
    if found.ready[name].earlier:
        rows.append(("runs flown on average", *(f"{one.runs:.1f}" for one in tallies)))
    return RehearsalTable(header, tuple(rows))


def change_table(found: Rehearsal, changes: list[ChangedWorld]) -> RehearsalTable:
    """The changes, with power and half width of the primary measure before and after."""
    name = found.script.primary
    now = found.at(1.0)[name]
    rows = [("as it is", "", share(now.better), half_width(found, name, now.half))]
    for one in changes:
        tally = one.tallies[name]
        rows.append(
            (phrases.capital(one.name), said_of(found, one), share(tally.better), half_width(found, name, tally.half))
        )
    return RehearsalTable(("", "", "found", "interval ±"), tuple(rows), frozenset({0, 1}))


def said_of(found: Rehearsal, one: ChangedWorld) -> str:
    """What was changed, and whether the order is then judged by another method."""
    name = found.script.primary
    design, before = one.designs[name], found.ready[name].design
    if (design.name, design.estimator) == (before.name, before.estimator):
        return one.says
    if design.estimator == "contrast" and before.estimator == "joined":
        return f"{one.says}; then judged by what the blocks show, not by what is stated"
    return f"{one.says}; then judged by another method ({design.name})"
