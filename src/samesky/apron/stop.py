"""One more block, or stop?

What was planned comes first: at a planned look the verdict is read, between them it is not. Then the day: hours, fuel
above the reserve, wind. Only where the plan is flown, or there never was one, does it come to what one more block would
add, and then the price of deciding after having looked is told with it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from samesky.apron import catalogue as say
from samesky.apron.blocks import flown_blocks
from samesky.apron.fields import wrong
from samesky.apron.gain import BlockGain, gain
from samesky.apron.looks import Progress, false_alarm, false_alarm_beyond, progress
from samesky.apron.stop_words import of_the_gain, of_the_plan, of_the_wind
from samesky.apron.today import Today, WindTrend, today, wind_trends
from samesky.apron.wind import WindNow
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.model.campaign import Campaign
from samesky.inference import verdict
from samesky.inference.comparison import compare
from samesky.inference.looks import Look
from samesky.inference.result import Comparison
from samesky.planning import plan as planning
from samesky.planning.output import words
from samesky.planning.plan import Plan

SETTLED = "stop: settled at a planned look"
DAY_ENDS, FUEL_ENDS = "stop: the day ends", "stop: the fuel ends above the reserve"
ONE_MORE = "fly one more block"
NOT_ENOUGH = "one more block would not settle it"
WAIT = "wait: a limit on the wind does not hold now"
UNPLANNED = "settled, but at a look that was not planned"
#: Probability of settling it from which one more block beyond the plan is worth its fuel (chosen: likelier than not).
WORTH_IT = 0.5
CAUTION = (
    "Nothing here is a reason to fly. Tired, hurried, thirsty, or the wind no longer as it was: stop. The pilot "
    "decides, within the papers and the local rules; a block that was not flown costs nothing."
)


@dataclass(frozen=True, slots=True)
class OneMore:
    """The answer, and what it rests on.

    Attributes
    ----------
    answer : one of the module's words; ``says`` the same with its reason
    progress : how far the plan is flown
    verdict : of the comparison, where it may be read; empty between planned looks
    gain : what one more block would add; None where nobody can tell
    settles : probability that one more block settles it, if the difference is as it looks now (read only where the
        verdict may be), else if it is just as large as the smallest that matters, or none; NaN where nobody can tell
    today : hours and fuel
    trends : where the wind is going
    false_alarm : chance of a difference that is not there by looking so; 0.05 where looks were planned
    sentences : ready to read
    """

    answer: str
    says: str
    progress: Progress
    verdict: str
    gain: BlockGain | None
    settles: float
    today: Today
    trends: tuple[WindTrend, ...]
    false_alarm: float
    sentences: tuple[str, ...]
    caution: str = CAUTION


def one_more_or_stop(
    campaign: Campaign,
    clock: float | None = None,
    fuel: float | None = None,
    plan: Plan | None = None,
    other: str | None = None,
    wind: WindNow | None = None,
) -> OneMore:
    """One more block, or stop?

    Parameters
    ----------
    clock : hours of the day now; by default just after the last run
    fuel : on board [kg]; by default what the last run left
    plan : as it stood before flying; where the campaign has ``[plan]`` it is made anew otherwise (some seconds)
    other : the configuration that the baseline is compared with; the first other one by default
    wind : as it blows now; where a limit on it does not hold, nothing is flown

    Raises
    ------
    CampaignError : no measure decides, or the campaign has an error (the first one)
    """
    wrongs = [finding for finding in campaign.findings if finding.kind == "error"]
    if wrongs and campaign.tables:
        raise CampaignError(wrongs[0])
    name = next((key for key, one in campaign.asked.items() if one.primary), None)
    if name is None:
        raise wrong("measure", say.APRON_NO_PRIMARY())
    keys = [key for key in campaign.configurations if key != campaign.baseline]
    other = other or keys[0]
    if other not in keys:
        raise wrong("configuration", say.APRON_NO_OTHER_CONFIGURATION(other=other, keys=", ".join(keys)))
    if plan is None and campaign.plan is not None:
        plan = _planned(campaign, other)
    far = progress(campaign, name, plan)
    day = today(campaign, clock, fuel, plan)
    hours = day.block_hours or 0.0
    trends = wind_trends(campaign, hours)
    comparison = _comparison(campaign, name, other, far) if far.due or _beyond(far) else None
    more = _gain(campaign, name, other, far, plan, hours)
    settled = comparison is not None and comparison.deciding_verdict != verdict.WORDS[verdict.NOT_ENOUGH]
    chance = _chance(more, comparison)
    answer = _answer(far, day, wind, settled, chance, more)
    alarm = 0.05 if answer == SETTLED else _alarm(campaign, far)
    reason = _reason(answer, far, day, comparison, chance, alarm)
    said = [f"{answer[0].upper()}{answer[1:]}: {reason}"]
    said += of_the_plan(campaign, far)
    beyond = [] if wind is None else [limit.says for limit in wind.limits if limit.holds is False]
    if answer != SETTLED:
        said += [*of_the_gain(campaign, name, more), *day.sentences, *of_the_wind(trends, not beyond)]
    said += beyond
    return OneMore(
        answer=answer,
        says=said[0],
        progress=far,
        verdict="" if comparison is None else comparison.deciding_verdict,
        gain=more,
        settles=chance,
        today=day,
        trends=trends,
        false_alarm=alarm,
        sentences=tuple(said),
    )


def _planned(campaign: Campaign, other: str) -> Plan | None:
    try:
        return planning.plan(campaign, other)
    except CampaignError:
        return None


def _beyond(far: Progress) -> bool:
    """Whether there is no plan, or more was flown than it has: a verdict read now was not planned."""
    return far.planned is None or far.flown > far.planned


def _comparison(campaign: Campaign, name: str, other: str, far: Progress) -> Comparison | None:
    if name not in campaign.tables:
        return None
    found = compare(campaign, far.look)
    pair = (name, campaign.baseline, other)
    return next((one for one in found if (one.measure, one.baseline, one.other) == pair and not one.withheld), None)


def _gain(
    campaign: Campaign,
    name: str,
    other: str,
    far: Progress,
    plan: Plan | None,
    hours: float,
) -> BlockGain | None:
    table = campaign.tables.get(name)
    if table is None or not table.included.any():
        return None
    blocks = flown_blocks(campaign)
    last, runs = blocks[-1].configuration, 1
    fly = (other if last == campaign.baseline else campaign.baseline,)
    if plan is not None and far.planned is not None and far.flown < far.planned:
        block = plan.schedule.blocks[far.flown]
        fly = block.configurations
        runs = max(sum(run.measure == name for run in block.runs) // len(fly), 1)
    elif campaign.fitted_anew:
        runs = max(sum(one.measure.name == name for one, _ in blocks[-1].runs), 1)
    else:
        fly = (*fly, last) if last in (campaign.baseline, other) else fly
    as_seen = far.due or _beyond(far)
    return gain(campaign, name, other, fly, runs, max(hours, 0.1), _last_look(campaign, far), as_seen)


def _last_look(campaign: Campaign, far: Progress) -> Look | None:
    """The last of the planned looks, at whose limits a plan is judged; None where only the end is looked at."""
    if far.planned is None or campaign.plan is None or campaign.plan.looks < 2:
        return None
    return Look(campaign.plan.looks, campaign.plan.looks, campaign.plan.stopping)


def _chance(more: BlockGain | None, comparison: Comparison | None) -> float:
    if more is None or more.then is None:
        return math.nan
    if comparison is None:
        return more.then.least
    return more.settles(float(comparison.estimate.difference))


def _alarm(campaign: Campaign, far: Progress) -> float:
    if far.planned is None:
        # After the second block there is something to look at; one more look comes with one more block.
        return false_alarm(max(far.flown, 2))
    if far.flown > far.planned or far.end:
        looks = campaign.plan.looks if campaign.plan is not None else 1
        stopping = campaign.plan.stopping if campaign.plan is not None else "obrien-fleming"
        more = max(far.flown - far.planned, 1)
        return false_alarm(1 + more) if looks < 2 else false_alarm_beyond(looks, stopping, more)
    return 0.05


def _answer(
    far: Progress, day: Today, wind: WindNow | None, settled: bool, chance: float, more: BlockGain | None
) -> str:
    if settled and far.due:
        return SETTLED
    if day.time_fits is False:
        return DAY_ENDS
    if day.fuel_fits is False:
        return FUEL_ENDS
    within_plan = far.planned is not None and far.flown < far.planned
    if settled:
        return UNPLANNED
    if not within_plan and more is not None and more.now is not None and not chance >= WORTH_IT:
        return NOT_ENOUGH
    return WAIT if wind is not None and wind.holds is False else ONE_MORE


def _reason(answer: str, far: Progress, day: Today, comparison: Comparison | None, chance: float, alarm: float) -> str:
    price = (
        "whoever looks after every block, up to one more, and stops at the first difference, claims one that is not "
        f"there in {100 * alarm:.0f} % instead of 5 %"
    )
    if answer == SETTLED:
        return f"{comparison.deciding_verdict}."
    if answer == DAY_ENDS:
        left = "" if far.planned is None or far.flown >= far.planned else " Go on with the plan another day."
        return f"one more block does not fit into it.{left}"
    if answer == FUEL_ENDS:
        return "one more block would burn into the reserve, and the plan has no refuelling."
    if answer == UNPLANNED:
        return (
            f"it reads {comparison.deciding_verdict!r}. Stop if this was to be the last block whatever came of it; "
            f"{price}. Plan the looks before the next flying."
        )
    if answer == NOT_ENOUGH:
        return f"with it the chance is {words.chance(chance)}. {comparison.settle if comparison else ''}".strip()
    if answer == WAIT:
        return "scrub until it does; a limit is not moved for a test."
    if far.begun is not None:
        return f"finish the one begun, of which {far.begun[0]} of {far.begun[1]} runs are flown."
    if far.planned is not None and far.flown < far.planned:
        return f"{far.flown} of the {far.planned} planned are flown."
    if math.isnan(chance):
        return "there is nothing to compare yet: fly both configurations, and go back to the first."
    return f"with it the chance of settling is {words.chance(chance)}, if the difference is as it looks now; {price}."
