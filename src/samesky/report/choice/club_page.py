"""What stands on one side of paper for the club: levels and differences, weight, and the cautions that matter."""

from __future__ import annotations

import math
from collections.abc import Sequence

from samesky.campaign.derived.cautions import of_the_change
from samesky.campaign.model.campaign import Campaign
from samesky.inference.result import Comparison
from samesky.report import by_all_words, phrases
from samesky.report.choice import hard_limits
from samesky.report.sections import PageTable, TableCell

#: So many cautions stand there, more where more were found in the runs and limits: those are never folded away.
CAUTIONS = 3
STANDING = (
    "A comparison, not performance data: the aircraft's papers, its approved limits, local rules and licensed people "
    "decide what is fitted and flown. Nothing here promises a field length, a climb or a range."
)


def table(comparisons: Sequence[Comparison], titles: Sequence[str]) -> PageTable:
    """Every measure: level of each, difference, interval, answer."""
    first = comparisons[0]
    one_pair = len({(one.baseline, one.other) for one in comparisons}) == 1
    sides = [first.baseline, first.other] if one_pair else ["baseline", "other"]
    minus = f"{first.other} minus {first.baseline}" if one_pair else "difference"
    header = ["measure", *sides, minus, f"{phrases.level(first.level)} interval", "answer"]
    rows: list[list[str | TableCell]] = []
    for one, title in zip(comparisons, titles, strict=True):
        decimals = phrases.places(one)
        level = one.levels[one.baseline]
        # As printed the second level is the first and the printed difference.
        other = round(level, decimals) + round(one.difference, decimals) if math.isfinite(level) else level
        rows.append(
            [
                phrases.capital(title) + (", decides" if one.primary else ""),
                phrases.amount(level, one.unit, decimals),
                phrases.amount(other, one.unit, decimals),
                TableCell(phrases.difference(one), phrases.percent(one.percent)),
                phrases.interval(one, one.interval),
                TableCell(by_all_words.headline(one), _by_all(one)),
            ]
        )
    return PageTable(header, rows, words=frozenset({0, len(header) - 1}))


def _by_all(one: Comparison) -> str:
    told = one.by_all
    if told is None or one.withheld or not told.adds:
        return ""
    return (
        f"by all measures {phrases.percent(told.percent)} ({phrases.signed(told.percent_95, 1, f'{phrases.NARROW}%')})"
    )


def cautions(campaign: Campaign, comparisons: Sequence[Comparison]) -> list[str]:
    """The cautions that matter: what runs and limits show first, then what the change and its measures bring."""
    shown = [*hard_limits.broken(campaign), *(said for one in comparisons for said in one.cautions)]
    shown = list(dict.fromkeys(shown))
    usual = [*of_the_change(campaign), *(said for one in comparisons for said in one.scale.asked.measure.cautions)]
    more = list(dict.fromkeys(usual))[: max(0, CAUTIONS - 1 - len(shown))]
    return [*shown, *more, STANDING]


def weight(campaign: Campaign) -> str:
    """What the changed parts weigh, a sentence."""
    own = [(key, one.mass) for key, one in campaign.configurations.items() if one.mass]
    if not own:
        return "Weight of the changed part: not entered."
    parts = ", ".join(f"{key} {phrases.significant(mass)}{phrases.NARROW}kg" for key, mass in own)
    return f"Weight of the changed part: {parts}."
