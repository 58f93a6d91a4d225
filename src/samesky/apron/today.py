"""What is left of the day: hours, fuel above the reserve, and where the wind is going?"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from samesky import units
from samesky.apron.blocks import FlownBlock, flown_blocks
from samesky.apron.fields import bounded, fuel_words, unit_of
from samesky.apron.limits import OWN, PAPERS, LimitNow, held, own
from samesky.campaign.model.campaign import Campaign
from samesky.planning.plan import Plan
from samesky.planning.question import clock as clock_words

#: Fewest readings of a day for which a trend is told (chosen: two make a straight line whatever they are).
FEWEST = 3


@dataclass(frozen=True, slots=True)
class Today:
    """What one more block takes, and what there is.

    Attributes
    ----------
    clock, end : hours of the day now, and at which flying ends; None where not known
    block_hours, block_fuel : one more block takes [h, kg], changing over and refuelling counted; None where not known
    fuel, reserve : on board, and never to be touched [kg]; None where not known
    refuel : whether fuel has to be taken on first
    time_fits, fuel_fits : whether they last for one more block; None where nobody can tell
    sentences : ready to read
    """

    clock: float | None
    end: float | None
    block_hours: float | None
    block_fuel: float | None
    fuel: float | None
    reserve: float | None
    refuel: bool
    time_fits: bool | None
    fuel_fits: bool | None
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WindTrend:
    """Where a component of the wind is going: ``now`` by the straight line through the day's readings [m/s], its
    ``rate`` [m/s per hour], ``then`` at the end of one more block, and the limit held against the worse of them.
    """

    condition: str
    readings: int
    now: float
    rate: float
    then: float
    limit: LimitNow


def today(campaign: Campaign, clock: float | None = None, fuel: float | None = None, plan: Plan | None = None) -> Today:
    """Whether hours and fuel last for one more block.

    Parameters
    ----------
    clock : hours of the day now; by default just after the last run
    fuel : on board [kg]; by default what the last run left

    Raises
    ------
    CampaignError : a clock that is no time of the day, or fuel beyond belief
    """
    if clock is not None:
        bounded("clock", clock * 3600.0, 0.0, 24 * 3600.0, "s", "time")
    if fuel is not None:
        bounded("fuel", fuel, 0.0, 2_000.0, "kg", "mass")
    request, blocks = campaign.plan, flown_blocks(campaign)
    flying = _flying_hours(campaign, blocks, plan)
    burn = None if request is None else request.burn
    end = None if request is None else request.end
    reserve = _reserve(campaign)
    guessed = []
    if blocks:
        table, index = blocks[-1].runs[-1]
        each = _run_hours(campaign, table.measure.name) or (flying or 0.0) / len(blocks[-1].runs)
        started = float(table.hours[index])
        if clock is None and math.isfinite(started):
            clock = started % 24.0 + each
            guessed.append(f"{clock_words(clock)}, when the last run should have ended")
        read = float(table.columns["fuel"][index]) if "fuel" in table.columns else math.nan
        if fuel is None and math.isfinite(read) and burn is not None:
            fuel = max(read - burn * each, 0.0)
            guessed.append(f"{fuel_words(campaign, fuel)} of fuel, what the last run should have left")
    elif fuel is None and request is not None and request.fuel is not None:
        fuel = request.fuel
        guessed.append(f"{fuel_words(campaign, fuel)} of fuel, which the plan has on board in the morning")
    need = None if flying is None or burn is None else burn * flying
    above = None if fuel is None or need is None or reserve is None else fuel - need - reserve
    refuel = above is not None and above < -1e-9
    may = request is not None and request.refuel
    hours = (
        None
        if flying is None
        else flying + (_between(campaign) if blocks else 0.0) + (request.refuel_hours if refuel and may else 0.0)
    )
    time_fits = None if hours is None or clock is None or end is None else clock + hours <= end + 1e-9
    fuel_fits = None if above is None else not refuel or may
    found = Today(clock, end, hours, need, fuel, reserve, refuel, time_fits, fuel_fits, ())
    said = [f"Taken: {' and '.join(guessed)}."] if guessed else []
    return _with_words(campaign, found, said)


def _with_words(campaign: Campaign, found: Today, said: list[str]) -> Today:
    if found.block_hours is None:
        said.append("How long one more block takes is not known: nothing is flown, and no plan says it.")
    elif found.clock is not None and found.end is not None:
        fits = "fits into" if found.time_fits else "does not fit into"
        left = max(found.end - found.clock, 0.0)
        said.append(
            f"One more block takes about {60 * found.block_hours:.0f} min, which {fits} the {60 * left:.0f} min until "
            f"{clock_words(found.end)}."
        )
    else:
        said.append(f"One more block takes about {60 * found.block_hours:.0f} min.")
    if found.fuel is not None and found.block_fuel is not None and found.reserve is not None:
        left, need, reserve = (fuel_words(campaign, one) for one in (found.fuel, found.block_fuel, found.reserve))
        verdict = "which lasts" if not found.refuel else "refuel first" if found.fuel_fits else "which does not last"
        said.append(f"It burns about {need} of the {left} on board, with {reserve} to stay: {verdict}.")
    else:
        said.append("Whether the fuel lasts is not known: fuel on board, burn and reserve have to be known.")
    return replace(found, sentences=tuple(said))


def _reserve(campaign: Campaign) -> float | None:
    low = own(campaign, "fuel")[0]
    said = None if campaign.plan is None else campaign.plan.reserve
    known = [one for one in (low, said) if one is not None]
    return max(known) if known else None


def _run_hours(campaign: Campaign, measure: str) -> float | None:
    said = None if campaign.plan is None else campaign.plan.measures.get(measure)
    return None if said is None else said.time


def _flying_hours(campaign: Campaign, blocks: list[FlownBlock], plan: Plan | None) -> float | None:
    """Hours in which one more block is flown: as planned, else as the last full one was flown."""
    if plan is not None:
        number = min(len(blocks), len(plan.schedule.blocks) - 1)
        block = plan.schedule.blocks[number]
        return block.end - block.start
    if not blocks:
        return None
    block = max(blocks[-2:], key=lambda one: len(one.runs))
    said = [_run_hours(campaign, table.measure.name) for table, _ in block.runs]
    if None not in said:
        return float(sum(said))
    hours = block.hours()
    if hours.size < 2 or not np.isfinite(hours).all():
        return None
    return float(np.ptp(hours)) * hours.size / (hours.size - 1)


def _between(campaign: Campaign) -> float:
    return (campaign.swap_hours or 0.0) if campaign.fitted_anew else 0.0


def wind_trends(campaign: Campaign, ahead: float) -> tuple[WindTrend, ...]:
    """Where the wind of the last day's runs is going, against the limits, ``ahead`` hours after the last of them."""
    blocks = flown_blocks(campaign)
    if not blocks:
        return ()
    runs = [run for block in blocks if block.day == blocks[-1].day for run in block.runs]
    unit = unit_of(campaign, ("headwind", "gust", "crosswind"), "speed", "kt")
    papers = None if campaign.plan is None else campaign.plan.crosswind_limit
    wanted = [(name, OWN, own(campaign, name)) for name in ("headwind", "tailwind", "crosswind", "gust")]
    wanted.append(("crosswind", PAPERS, (None, papers)))
    found = [_trend(runs, name, whose, bounds, ahead, unit) for name, whose, bounds in wanted]
    return tuple(trend for trend in found if trend is not None)


def _trend(runs, name: str, whose: str, bounds: tuple, ahead: float, unit: str) -> WindTrend | None:
    column = "headwind" if name == "tailwind" else name
    read = [
        (float(table.hours[index]), float(table.columns[column][index]))
        for table, index in runs
        if column in table.columns
    ]
    hours, values = np.array([one for one in read if np.isfinite(one).all()]).reshape(-1, 2).T
    if hours.size < FEWEST or not np.ptp(hours) > 0:
        return None
    values = -values if name == "tailwind" else np.abs(values) if name == "crosswind" else values
    rate, now = np.polyfit(hours - hours.max(), values, 1)
    then = float(now + rate * ahead)
    ends = (min(float(now), then), max(float(now), then))
    limit = held(f"{name} by the end of one more block", whose, bounds, ends, lambda x: units.show(x, unit, "speed", 1))
    return None if limit is None else WindTrend(name, hours.size, float(now), float(rate), then, limit)
