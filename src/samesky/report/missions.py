"""How is it said which configuration suits which flying?"""

from __future__ import annotations

from collections.abc import Sequence

from samesky.campaign.model import Campaign
from samesky.campaign.words import listed
from samesky.inference.result import Comparison
from samesky.mission.suits import FIRM, Suited, gains, suits, trade_off
from samesky.report.adding_up import adding_up
from samesky.report.sections import Table

HEADER = ["flying", "answer", "gain (95 %)", "ahead in", "counts"]


def suited(campaign: Campaign, comparisons: Sequence[Comparison]) -> list[Suited]:
    """Every mission of the campaign for every other configuration, in the order of the campaign file.

    None before the last planned look: a mission is weighed once, at the end.
    """
    if before_the_end(comparisons):
        return []
    found = []
    for pair in dict.fromkeys((one.baseline, one.other) for one in comparisons):
        own = gains([one for one in comparisons if (one.baseline, one.other) == pair])
        found += [
            suits(name.replace("_", " "), weights, own, *pair) for name, weights in campaign.missions.items() if weights
        ]
    return found


def firm() -> str:
    """In how many draws a configuration has to be ahead to suit a mission."""
    return f"{100 * FIRM:.0f} of 100 draws"


def before_the_end(comparisons: Sequence[Comparison]) -> bool:
    """Whether planned looks are still to come, or nobody can tell."""
    looks = [one.look for one in comparisons]
    return any(one.withheld for one in comparisons) or any(at is not None and at.number < at.planned for at in looks)


def traded(comparisons: Sequence[Comparison]) -> str:
    """Where one configuration gains and another loses, in a sentence; empty where nothing is traded."""
    won = trade_off(comparisons)
    if len(won) < 2:
        return ""
    sides = [f"{key} is better on {listed(list(titles))}" for key, titles in won.items()]
    return f"It is a trade: {'; '.join(sides)}."


def table(found: Sequence[Suited]) -> Table:
    """One row a mission."""
    return Table(HEADER, [_row(one) for one in found], words=frozenset({0, 1, 4}))


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
