"""How is a number, an interval or a verdict said to a pilot?

One place for all words that the terminal and the page share, so that both say the same with the same rounding.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import Enum

from samesky.campaign.derived.rpm_in_hand import RpmInHand, in_short, in_words
from samesky.campaign.messages.phrases import figures
from samesky.campaign.messages.words import capital, listed
from samesky.inference import verdict
from samesky.inference.result import Comparison

#: Between a number and its unit, so that a line never breaks there.
NARROW = "\u00a0"
MINUS = "\u2212"

#: What is said in place of an end that is no bound.
UNBOUNDED = "no upper bound"

#: How less and more are said, by dimension of the result; everything else is less or more.
_LESS_MORE = {"length": ("shorter", "longer"), "time": ("shorter", "longer")}


class Answer(Enum):
    """What a comparison comes to."""

    OTHER = "other is better"
    BASELINE = "baseline is better"
    SAME = "no difference that matters"
    SMALL = "real, but too small to matter"
    OPEN = "not enough data"
    WITHHELD = verdict.WITHHELD


def answer(comparison: Comparison) -> Answer:
    """Which of the answers the verdict is."""
    named = {
        verdict.words(verdict.OTHER_BETTER, comparison.baseline, comparison.other): Answer.OTHER,
        verdict.words(verdict.BASELINE_BETTER, comparison.baseline, comparison.other): Answer.BASELINE,
        verdict.WORDS[verdict.NO_DIFFERENCE]: Answer.SAME,
        verdict.WORDS[verdict.TOO_SMALL]: Answer.SMALL,
        verdict.WITHHELD: Answer.WITHHELD,
    }
    return named.get(comparison.verdict, Answer.OPEN)


def small(text: str) -> str:
    """The text with its first letter small, the rest untouched."""
    return text[:1].lower() + text[1:]


def places(comparison: Comparison) -> int:
    """Places behind the point: as many as the interval, or the smallest difference that matters, deserves.

    One more where an end of an interval would else read like the smallest difference that matters.
    """
    low, high = comparison.interval_95
    smallest = comparison.smallest_that_matters
    sizes = [size for size in ((high - low) / 2.0, smallest) if math.isfinite(size) and size > 0]
    if not sizes:
        return 1
    decimals = places_for(min(sizes))
    ends = [abs(end) for end in (*comparison.interval_95, *comparison.interval_90) if math.isfinite(end)]
    alike = any(round(end, decimals) == round(smallest, decimals) for end in ends)
    return decimals + 1 if alike else decimals


def places_for(size: float) -> int:
    """Places behind the point that show ``size`` with one digit, or two where it begins with 1."""
    if not (math.isfinite(size) and size > 0):
        return 0
    power = math.floor(math.log10(size))
    return max(0, -power + (1 if size / 10.0**power < 2.0 else 0))


def number(value: float, decimals: int, sign: bool = False) -> str:
    """A number with a true minus sign and no minus zero; ``?`` where there is none."""
    if not math.isfinite(value):
        return "?"
    text = f"{abs(value):,.{decimals}f}".replace(",", "\u202f")
    if not any(digit in "123456789" for digit in text):
        return text
    return (MINUS if value < 0 else "+" if sign else "") + text


def significant(value: float) -> str:
    """A number to four figures, written out, with a true minus sign."""
    return figures(value, 4).replace("-", MINUS)


def amount(value: float, unit: str, decimals: int, sign: bool = False) -> str:
    """A number and its unit."""
    return f"{number(value, decimals, sign)}{unit_behind(unit)}"


def unit_behind(unit: str) -> str:
    """The unit as it stands behind a number, with its blank; nothing for plain numbers."""
    return "" if unit in ("", "1") else NARROW + {"degC": "°C", "degF": "°F"}.get(unit, unit)


def unit_in_brackets(unit: str) -> str:
    """The unit as it stands behind a name on an axis or in a header, with its blank; nothing for plain numbers."""
    behind = unit_behind(unit)
    return f" [{behind[1:]}]" if behind else ""


def level(share: float) -> str:
    """The level of an interval, ``95 %``, with as many places as a planned look needs."""
    return f"{100.0 * share:.4g}{NARROW}%"


def difference(comparison: Comparison) -> str:
    """The difference with its sign and unit: other less baseline."""
    return amount(comparison.difference, comparison.unit, places(comparison), sign=True)


def interval(comparison: Comparison, ends: tuple[float, float]) -> str:
    """An interval of the difference, with signs and the unit."""
    return signed(ends, places(comparison), unit_behind(comparison.unit))


def signed(ends: tuple[float, float], decimals: int, unit: str = "") -> str:
    """Two ends with signs, the unit (with its blank) behind the last number."""
    low, high = (number(end, decimals, sign=True) for end in ends)
    return f"{low}{unit} to {UNBOUNDED}" if ends[1] == math.inf else f"{low} to {high}{unit}"


def percent(value: float, sign: bool = True) -> str:
    """Per cent with one place."""
    return UNBOUNDED if value == math.inf else f"{number(value, 1, sign)}{NARROW}%"


def p_value(p: float) -> str:
    """A p-value with as many digits as it deserves."""
    if not math.isfinite(p):
        return "none"
    return "below 0.001" if p < 0.001 else f"{p:.3f}" if p < 0.1 else f"{p:.2f}"


def change(comparison: Comparison, value: float, decimals: int | None = None) -> str:
    """``21 ft shorter``, ``3 kt more``: a difference without signs; ``0 ft`` is ``no different``."""
    shown = number(abs(value), places(comparison) if decimals is None else decimals)
    if not math.isfinite(value):
        return "an unknown amount"
    if not any(digit in "123456789" for digit in shown):
        return "no different"
    less, more = less_more(comparison)
    return f"{shown}{unit_behind(comparison.unit)} {less if value < 0 else more}"


def changes(comparison: Comparison, ends: tuple[float, float]) -> str:
    """``9 to 33 ft shorter``, ``46 ft shorter to 7 ft longer``."""
    decimals = places(comparison)
    low, high = ends
    if high == math.inf:
        return f"{change(comparison, low)} to {UNBOUNDED}"
    if low * high > 0:
        near, far = sorted(ends, key=abs)
        return f"{number(abs(near), decimals)} to {change(comparison, far)}"
    return f"{change(comparison, low)} to {change(comparison, high)}"


def less_more(comparison: Comparison) -> tuple[str, str]:
    """How less and more of a measure are said: shorter and longer, or less and more."""
    return _LESS_MORE.get(comparison.scale.asked.measure.dimension, ("less", "more"))


def _verb(comparison: Comparison) -> str:
    return "is" if comparison.scale.asked.measure.dimension in _LESS_MORE else "gives"


def matters(comparison: Comparison) -> str:
    """The smallest difference that matters, as written and in the unit of the answer."""
    shown = amount(comparison.smallest_that_matters, comparison.unit, places(comparison))
    written = comparison.smallest_text.strip()
    return f"{shown} ({written})" if written and _plain(written) != _plain(shown) else shown


def _plain(text: str) -> str:
    number, _, unit = text.replace(NARROW, " ").partition(" ")
    try:
        return f"{float(number):g} {unit.strip()}"
    except ValueError:
        return text


def winner(comparison: Comparison) -> str | None:
    """The configuration that the verdict calls better, if any."""
    return {Answer.OTHER: comparison.other, Answer.BASELINE: comparison.baseline}.get(answer(comparison))


def headline(comparison: Comparison) -> str:
    """The verdict in a few words, with the label where one configuration is better."""
    better = winner(comparison)
    return f"{better} is better" if better else capital(answer(comparison).value)


def sentence(comparison: Comparison) -> str:
    """What the runs say, in one plain sentence; the measure's title is left to the caller."""
    kind = answer(comparison)
    if kind is Answer.WITHHELD:
        return comparison.withheld
    other, smallest = comparison.other, matters(comparison)
    if any(math.isnan(end) for end in comparison.interval_95):
        if comparison.difference == 0:
            return f"{other} reads the same in the mean, but no interval can be given."
        said = f"{other} {_verb(comparison)} {change(comparison, comparison.difference)}, but no interval can be given."
        return f"{said} {capital(comparison.conditional)}." if comparison.conditional else said
    said = f"{other} {_verb(comparison)} {change(comparison, comparison.difference)}"
    inside = f"{level(comparison.level)} interval {changes(comparison, comparison.interval)}"
    if kind in (Answer.OTHER, Answer.BASELINE):
        nearest = min(abs(end) for end in comparison.interval)
        if nearest >= comparison.smallest_that_matters:
            return f"{said} ({inside}): more than your margin of {smallest}."
        return f"{said} ({inside}). Whether the difference reaches your margin of {smallest} is still open."
    if kind is Answer.SMALL:
        return f"{said} ({inside}): real, but less than your margin of {smallest}."
    if kind is Answer.SAME:
        inner = changes(comparison, comparison.equivalence_interval)
        within = f"{level(comparison.equivalence_level)} interval {inner}"
        return f"Any difference is smaller than your margin of {smallest} ({within})."
    low, high = comparison.interval
    if comparison.conditional:
        return f"{said} ({inside}). {capital(comparison.conditional)}."
    if low * high > 0:
        return f"{said} ({inside}), which by itself is no proof here: see the warnings."
    if high == math.inf:
        lowest = change(comparison, low)
        return f"The runs allow anything from {lowest} up for {other}, with no upper bound from this order."
    return (
        f"{said} by these runs, but the {level(comparison.level)} interval goes from {change(comparison, low)} "
        f"to {change(comparison, high)}; your margin is {smallest}."
    )


def counted(count: int, thing: str) -> str:
    """``1 run``, ``3 runs``."""
    return f"{count}{NARROW}{thing}{'' if count == 1 else 's'}"


def rests_on(comparison: Comparison) -> str:
    """Runs, installations, days and the flown order, shortly."""
    runs = sum(comparison.runs.values())
    sides = listed(f"{count} {key}" for key, count in comparison.runs.items())
    if comparison.left_out:
        parts = [f"{runs} of {counted(runs + len(comparison.left_out), 'run')} ({sides}; {left_out(comparison)})"]
    else:
        parts = [f"{counted(runs, 'run')} ({sides})"]
    if comparison.design.order.fitted_anew:
        fitted = listed(f"{key} {times(count)}" for key, count in comparison.fittings.items())
        parts.append(f"fitted: {fitted}")
    parts.append(counted(comparison.days, "day"))
    parts.append({"days": "each day one sample"}.get(comparison.design_name, comparison.design_name))
    return ", ".join(parts)


def left_out(comparison: Comparison) -> str:
    """The runs left out and why, ``left out: run 4 (gust on the roll)``; empty where every run counts."""
    by_reason: dict[str, list[str]] = {}
    for run, why in comparison.left_out:
        by_reason.setdefault(why, []).append(run)
    named = [f"run{'' if len(runs) == 1 else 's'}{NARROW}{listed(runs)} ({why})" for why, runs in by_reason.items()]
    return f"left out: {listed(named)}" if named else ""


def rpm_in_hand(comparison: Comparison) -> str:
    """The rpm in hand of both configurations, with the reading error; empty where none or no limit is known."""
    return in_words(comparison.rpm, (comparison.baseline, comparison.other)).replace(" %", f"{NARROW}%")


def rpm_in_hand_by_measure(comparisons: Sequence[Comparison]) -> dict[str, str]:
    """``A 10.3 %, B 5.2 %``, and which runs were throttled back, by the title of each measure whose rpm was read."""
    found: dict[str, dict[str, RpmInHand]] = {}
    keys: dict[str, list[str]] = {}
    for one in comparisons:
        found.setdefault(one.title, {}).update(one.rpm)
        keys.setdefault(one.title, []).extend((one.baseline, one.other))
    said = {name: in_short(rpm, tuple(dict.fromkeys(keys[name]))) for name, rpm in found.items()}
    return {name: words.replace(" %", f"{NARROW}%") for name, words in said.items() if words}


def times(count: int) -> str:
    """``once``, ``twice``, ``3 times``."""
    return {1: "once", 2: "twice"}.get(count, f"{count} times")
