"""How is it said which configuration suits which flying?"""

from __future__ import annotations

from collections.abc import Sequence

from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign
from samesky.inference import verdict
from samesky.inference.result import Comparison
from samesky.inference.several import ranking
from samesky.mission.trade_off import FIRM, Suited, correlated, gains, judge_mission, trade_off
from samesky.report.adding_up import adding_up
from samesky.report.sections import PageTable

HEADER = ["flying", "answer", "gain (95 %)", "ahead in", "counts"]


def suited(campaign: Campaign, comparisons: Sequence[Comparison]) -> list[Suited]:
    """Every mission of the campaign for every other configuration, in the order of the campaign file.

    None before the last planned look: a mission is weighed once, at the end.
    """
    if before_the_end(comparisons):
        return []
    found = []
    for pair in dict.fromkeys((one.baseline, one.other) for one in comparisons):
        of_pair = [one for one in comparisons if (one.baseline, one.other) == pair]
        own, shared, compared = gains(of_pair), correlated(of_pair), max(one.estimate.compared for one in of_pair)
        found += [
            judge_mission(name.replace("_", " "), weights, own, *pair, shared, compared)
            for name, weights in campaign.missions.items()
            if weights
        ]
    return found


def firm() -> str:
    """In how many draws a configuration has to be ahead to suit a mission."""
    return f"{100 * FIRM:.0f} of 100 draws"


def before_the_end(comparisons: Sequence[Comparison]) -> bool:
    """Whether planned looks are still to come, or nobody can tell."""
    looks = [one.look for one in comparisons]
    return any(one.withheld for one in comparisons) or any(at is not None and at.number < at.planned for at in looks)


def sentences(found: Sequence[Suited]) -> list[str]:
    """The answers, one a mission: with three configurations or more their order, the pairs are in the table."""
    said = []
    for name in dict.fromkeys(one.mission for one in found):
        own = [one for one in found if one.mission == name]
        if len(own) == 1 or any(one.missing or one.unsure for one in own):
            said += [one.sentence() for one in own]
            continue
        first = own[0].baseline
        worth = {first: 0.0} | {one.other: one.value for one in own if one.baseline == first}
        said.append(f"{name}: {ranking(worth, {(one.baseline, one.other): _verdict(one) for one in own})}.")
    return said


def _verdict(one: Suited) -> str:
    if one.answer in (one.baseline, one.other):
        return f"{one.answer} {verdict.WORDS[verdict.OTHER_BETTER]}"
    return verdict.WORDS[verdict.NO_DIFFERENCE if one.answer == "either" else verdict.NOT_ENOUGH]


def traded(comparisons: Sequence[Comparison]) -> str:
    """Where one configuration gains and another loses, in a sentence; empty where nothing is traded."""
    won = trade_off(comparisons)
    if len(won) < 2:
        return ""
    sides = [f"{key} is better on {listed(list(titles))}" for key, titles in won.items()]
    return f"It is a trade: {'; '.join(sides)}."


def table(found: Sequence[Suited]) -> PageTable:
    """One row a mission."""
    return PageTable(HEADER, [_row(one) for one in found], words=frozenset({0, 1, 4}))


def _row(one: Suited) -> list[str]:
    shares = adding_up([100.0 * share for share in one.weights.values()], 0)
    counts = ", ".join(
        f"{name.replace('_', ' ')} {share:.0f} %" for name, share in zip(one.weights, shares, strict=True)
    )
    said = one.sentence().removeprefix(f"{one.mission}: ").rstrip(".")
    if one.missing or one.unsure:
        return [one.mission, said, "", "", counts]
    low, high = one.interval_95
    value = f"{one.value:+.1f} ({low:+.1f} to {high:+.1f})".replace("-", "\u2212")
    other, baseline = adding_up([100.0 * one.other_ahead, 100.0 * one.baseline_ahead], 0)
    ahead = f"{one.other} {other:.0f} %, {one.baseline} {baseline:.0f} %"
    return [one.mission, said, value, ahead, counts]
