"""What is said beside "one more block, or stop": the plan, what a block would add, where the wind is going."""

from __future__ import annotations

import math

from samesky.apron.gain import BlockGain
from samesky.apron.looks import Progress
from samesky.apron.today import WindTrend
from samesky.campaign.messages.phrases import figures
from samesky.campaign.model.campaign import Campaign
from samesky.inference.result import Scale
from samesky.planning.output import words

_POWERS = ("found", "none")


def of_the_plan(campaign: Campaign, far: Progress) -> list[str]:
    """How far the plan is flown, and when the next look is."""
    if far.planned is None and campaign.plan is not None:
        return ["Nothing can be flown by the plan as it stands (the page Plan says why): no look counts as planned."]
    if far.planned is None:
        return [
            "No looks were planned: three looks, say, entered under Plan before the first flight, fix when to look and "
            "what stops the flying."
        ]
    if far.look is not None:
        return [f"This is look {far.look.number} of {far.look.planned}, as planned ({far.look.shape} limits)."]
    if far.next_look is not None:
        return [f"The next look is planned after block {far.next_look}; until then the result is not told."]
    if far.flown > far.planned:
        return ["More is flown than was planned: every verdict from here on is an unplanned look."]
    return ["The plan is flown: this is the look that it was made for."]


def of_the_gain(campaign: Campaign, name: str, more: BlockGain | None) -> list[str]:
    """What one more block would add to the measure of this name."""
    if more is None or more.then is None:
        return []
    scale, block = Scale(campaign.asked[name], more.level), f"One more block ({' '.join(more.fly)})"
    said = []
    if math.isfinite(more.half_width_now) and math.isfinite(more.half_width_then):
        now, then = (scale.amount(one) for one in (more.half_width_now, more.half_width_then))
        said.append(f"{block} would bring the 95 % interval to be expected from ± {now} to ± {then}.")
    elif math.isfinite(more.half_width_then):
        said.append(f"{block} would give an interval, of about ± {scale.amount(more.half_width_then)}.")
    if more.now is not None and more.now.method != more.then.method:
        said.append(f"The method changes with it, to {more.then.method}.")
    before = [] if more.now is None else [more.now]
    found, none = (" to ".join(words.chance(getattr(one, key)) for one in (*before, more.then)) for key in _POWERS)
    word = "goes from" if before else "would be"
    matters = campaign.asked[name].smallest_text
    said.append(f"The chance of finding a true difference of {matters} {word} {found}; of showing none, {none}.")
    said.append(f"Reckoned with a scatter of one run of {scale.amount(more.scatter)}, {more.scatter_from}.")
    return said


def of_the_wind(trends: tuple[WindTrend, ...], holds_now: bool = True) -> list[str]:
    """Which limits the wind is on its way to, if it goes on as it did today; no comfort where one fails already."""
    said = []
    for trend in trends:
        if trend.limit.holds is False:
            word, rate = "rising" if trend.rate > 0 else "falling", abs(trend.rate) * 3600.0 / 1852.0
            says = trend.limit.says.removesuffix(".")
            said.append(f"{says} ({word} by {figures(rate)} kt an hour over {trend.readings} runs of the day).")
    if trends and not said and holds_now:
        said.append("By the straight trend of the day, the limits on the wind still hold at the end of one more block.")
    return said
