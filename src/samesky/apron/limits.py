"""Does a limit hold now, and with how much to spare?"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from samesky.campaign.model.campaign import Campaign
from samesky.planning.flyable import binds
from samesky.planning.plan import Plan
from samesky.planning.scrub import ScrubLimit

#: Share of a bound by which a value may miss it and still be on it: a last digit is no reason to scrub.
_SLACK = 1e-9
#: Whose a limit is, in words.
OWN = "your own limits"
PAPERS = "the crosswind limit of the plan"
#: A condition now [SI], lowest and highest, or None where nobody can tell.
Now = tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class LimitNow:
    """One limit held against the moment.

    Attributes
    ----------
    condition, whose : what is limited, and who set the limit
    low, high : bounds [SI], None where there is none
    now : lowest and highest value to be reckoned with [SI]; None where nobody can tell
    margin : how far inside the nearest bound the worst of them is [SI], negative outside, NaN where nobody can tell
    holds : True, False, or None where nobody can tell
    says : all of that in one sentence
    """

    condition: str
    whose: str
    low: float | None
    high: float | None
    now: Now
    margin: float
    holds: bool | None
    says: str


def held(
    condition: str,
    whose: str,
    bounds: tuple[float | None, float | None],
    now: Now,
    shown: Callable[[float], str],
    why: str = "",
    spare: Callable[[float], str] | None = None,
) -> LimitNow | None:
    """A limit held against the moment; None where nothing bounds it.

    Parameters
    ----------
    shown : writes a value [SI] with its unit; ``spare`` likewise a difference, where that is another thing
    why : why nobody can tell, where ``now`` is None
    """
    low, high = (None if bound is None or not math.isfinite(bound) else float(bound) for bound in bounds)
    if low is None and high is None:
        return None
    spare = spare or shown
    limit = _allowed(low, high, shown)
    if now is None:
        says = f"{_capital(condition)} is allowed {limit}, but {why} ({whose})."
        return LimitNow(condition, whose, low, high, None, math.nan, None, says)
    margin = min(
        math.inf if high is None else high - now[1],
        math.inf if low is None else now[0] - low,
    )
    size = max(abs(bound) for bound in (low, high) if bound is not None)
    holds = margin >= -_SLACK * max(size, 1.0)
    seen = shown(now[0]) if shown(now[0]) == shown(now[1]) else f"{shown(now[0])} to {shown(now[1])}"
    if holds:
        verdict = f"{spare(max(margin, 0.0))} to spare"
    else:
        best = min(math.inf if high is None else high - now[0], math.inf if low is None else now[1] - low)
        only = " at the worst of it" if best >= 0 and now[0] != now[1] else ""
        verdict = f"beyond it{only} by {spare(-margin)}"
    says = f"{_capital(condition)} {seen}, allowed {limit}: {verdict} ({whose})."
    return LimitNow(condition, whose, low, high, now, margin, holds, says)


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _allowed(low: float | None, high: float | None, shown: Callable[[float], str]) -> str:
    if low is None:
        return f"at most {shown(high)}"
    if high is None:
        return f"at least {shown(low)}"
    if low > high:
        return "no usable limit here"
    return f"{shown(low)} to {shown(high)}"


def own(campaign: Campaign, name: str) -> tuple[float | None, float | None]:
    """The campaign's own bounds of a condition [SI]."""
    return campaign.limits.get(name, (None, None))


def scrub_bounds(plan: Plan | None, conditions: Iterable[str]) -> list[tuple[ScrubLimit, str]]:
    """The plan's limits of these conditions that can be met, each with whose it is; not those of the papers."""
    wanted = set(conditions)
    found = [] if plan is None else [limit for limit in plan.limits if limit.condition in wanted]
    return [
        (limit, f"the plan, for the {_title(plan, limit.measure)}: {limit.why}")
        for limit in found
        if limit.rule != "papers" and binds(limit)
    ]


def _title(plan: Plan, measure: str) -> str:
    titles: Mapping[str, str] = {one.name: one.asked.measure.title for one in plan.question.wanted}
    return titles.get(measure, measure.replace("_", " "))


def all_hold(limits: Iterable[LimitNow]) -> bool | None:
    """Whether all hold: False where one does not; None where none fails and one cannot be told, or there is none."""
    answers = [limit.holds for limit in limits]
    return False if False in answers else None if None in answers or not answers else True
