"""How is a pooled answer said, with the same rounding on every page?"""

from __future__ import annotations

import math

from samesky.campaign.messages.phrases import meant
from samesky.campaign.messages.words import listed
from samesky.club.pool import Pool, PooledAnswer
from samesky.report.phrases import amount, capital, number, places_for

#: Below this probability the campaigns are said to differ by more than their own uncertainty.
DIFFER = 0.05


def places(one: PooledAnswer) -> int:
    """Places behind the point that the pooled interval, or the margin, deserves."""
    low, high = one.interval_95
    sizes = [size for size in ((high - low) / 2.0, one.smallest_that_matters) if math.isfinite(size) and size > 0]
    return places_for(min(sizes)) if sizes else 1


def interval(one: PooledAnswer, difference: float, ends: tuple[float, float]) -> str:
    """``-4.1 % (-6.6 to -1.6 %)``: a difference with its interval."""
    decimals = places(one)
    low, high = (number(end, decimals, sign=True) for end in ends[:1]), amount(ends[1], one.unit, decimals, sign=True)
    return f"{amount(difference, one.unit, decimals, sign=True)} ({next(low)} to {high})"


def pair(one: PooledAnswer) -> str:
    """Which is taken from which: ``B minus A``."""
    return f"{one.other} minus {one.baseline}"


def headline(one: PooledAnswer) -> str:
    """The verdict of all campaigns in one sentence."""
    k = len(one.campaigns)
    return f"{capital(one.title)}, {k} campaigns: {one.verdict}."


def mean(one: PooledAnswer) -> str:
    """The pooled difference with its interval, and what it is of."""
    return f"{pair(one)}: {interval(one, one.difference, one.interval_95)}, mean over campaigns like these (95 %)."


def expected(one: PooledAnswer) -> str:
    """What one further aeroplane may expect."""
    low, high = one.expected_95
    decimals = places(one)
    return (
        f"On an aeroplane and a day like these, not yet flown, expect {number(low, decimals, sign=True)} to "
        f"{amount(high, one.unit, decimals, sign=True)} (19 times in 20)."
    )


def homogeneity(one: PooledAnswer) -> str:
    """Do the campaigns differ by more than their own uncertainty?"""
    spread = amount(one.between, one.unit, places(one))
    p = float(one.pooled.q_p)
    if p < DIFFER:
        return (
            f"The campaigns differ by more than their own uncertainties explain (p = {p:.2g}): from one to the next "
            f"the true difference varies by about {spread} (standard deviation). Look for what differs between them."
        )
    if len(one.campaigns) < 4:
        return "So few campaigns cannot show whether the true difference varies from one to the next."
    return f"The campaigns agree within their own uncertainties (p = {p:.2g})."


def hangs(one: PooledAnswer) -> str:
    """On which campaign the verdict hangs; empty where it hangs on none."""
    if not one.without:
        return "With two campaigns the interval rests on one degree of freedom: a third narrows it to about a third."
    if not one.hangs_on:
        return "The verdict stays the same whichever campaign is left out."
    told = [f"{other.campaign} ({other.verdict})" for other in one.without if other.campaign in one.hangs_on]
    return f"The verdict changes when one campaign is left out: without {listed(told)}."


def cautious(one: PooledAnswer) -> list[str]:
    """What limits the answer, a sentence each."""
    said = []
    if float(one.pooled.limit) > 0:
        said.append(
            "Not every campaign went back to its first configuration: the interval allows for the worst believable "
            "drift of those that did not."
        )
    if one.margins_differ:
        size = amount(one.smallest_that_matters, one.unit, places(one))
        said.append(f"The campaigns entered different margins: the smallest, {size}, is used.")
    return said


def to_json(found: Pool) -> dict:
    """The pool for machines; numbers that do not exist are null."""
    return {
        "campaigns": found.campaigns,
        "measures": [_answer_to_json(one) for one in found.answers],
        "not_pooled": [{"campaign": one.campaign, "measure": one.measure, "why": one.why} for one in found.alone]
        + [{"campaign": one.folder, "measure": None, "why": one.why} for one in found.unreadable],
    }


def _answer_to_json(one: PooledAnswer) -> dict:
    pooled = one.pooled
    return {
        "measure": one.measure,
        "unit": one.unit,
        "configurations": {"baseline": one.baseline, "other": one.other},
        "verdict": one.verdict,
        "difference": meant(one.difference),
        "interval_95": [meant(end) for end in one.interval_95],
        "interval_90": [meant(end) for end in one.interval_90],
        "expected_95": [meant(end) for end in one.expected_95],
        "degrees_of_freedom": meant(float(pooled.degrees_of_freedom)),
        "between_campaigns": meant(one.between),
        "q": meant(float(pooled.q)),
        "q_p": meant(float(pooled.q_p)),
        "smallest_that_matters": meant(one.smallest_that_matters),
        "each": [
            {
                "campaign": answer.name,
                "folder": answer.folder,
                "difference": meant(d),
                "interval_95": [meant(low), meant(high)],
                "weight": meant(float(weight), 4),
                "verdict": answer.verdict,
            }
            for answer, (d, low, high), weight in zip(one.campaigns, one.each, pooled.weights, strict=True)
        ],
        "without": [
            {
                "campaign": other.campaign,
                "difference": meant(other.difference),
                "interval_95": [meant(end) for end in other.interval_95],
                "verdict": other.verdict,
            }
            for other in one.without
        ],
        "left_out": [{"campaign": left.campaign, "why": left.why} for left in one.left_out],
    }
