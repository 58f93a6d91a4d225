"""How is what was planned said to a pilot? Words and numbers that the page, the cards and the machine share."""

from __future__ import annotations

import math

import numpy as np

from samesky import units
from samesky.aeroplane.loading import AVGAS_DENSITY
from samesky.campaign.messages.phrases import figures
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.messages.words import capital, listed
from samesky.planning.flyable import DOES_NOT_BIND, binds
from samesky.planning.plan import Plan, PlannedLook
from samesky.planning.power import MeasurePower, smallest_found
from samesky.planning.question import Question, Wanted, clock
from samesky.planning.schedule import Block
from samesky.planning.scrub import ScrubLimit
from samesky.planning.search import last_look

#: All measures are told beside the own runs where they make the interval narrower than this share (chosen).
ADDS = 0.9
#: Units in which conditions are shown.
_UNITS = {
    "oat": ("degC", "temperature", 0),
    "pressure": ("hPa", "pressure", 0),
    "weight": ("kg", "mass", 0),
    "headwind": ("kt", "speed", 1),
    "crosswind": ("kt", "speed", 1),
    "gust spread": ("kt", "speed", 1),
}
_AIRSPEED = ("kt", "speed", 1)
#: What a pilot calls a condition.
_NAMES = {"oat": "temperature", "pressure": "QNH", "gust spread": "gust less wind"}


def fuel(question: Question, mass: float) -> str:
    """Fuel in the unit in which the plan has it."""
    unit = question.request.fuel_unit
    if fits(unit, "mass"):
        return units.show(mass, unit, "mass", 0)
    loading = question.campaign.loading
    density = AVGAS_DENSITY if loading is None else loading.fuel_density
    return units.show(mass / density, unit, "volume", 0)


def size(wanted: Wanted, on_scale: float) -> str:
    """A small difference on the scale of the comparison: per cent, or the measure's unit."""
    measure = wanted.asked.measure
    if not math.isfinite(on_scale):
        return "none"
    if measure.ratio:
        return f"{100.0 * math.expm1(on_scale):.1f} %"
    unit = wanted.asked.unit or measure.unit
    shown = float(units.from_si(on_scale, unit, measure.dimension) - units.from_si(0.0, unit, measure.dimension))
    return f"{figures(shown)} {unit}"


def chance(probability: float) -> str:
    """A probability in whole per cent, never a certainty."""
    if not math.isfinite(probability):
        return "none"
    return f"{min(max(round(100.0 * probability), 0), 99)} %"


def count_in_100(probability: float) -> str:
    """A probability as a count of hundred, never a certainty; ``never`` where there is no interval."""
    return f"{min(max(round(100.0 * probability), 0), 99)}" if math.isfinite(probability) else "never"


def times_in_100(probability: float) -> str:
    """A probability as a count, ``41 times in 100``, never a certainty."""
    count = count_in_100(probability)
    return {"never": "never", "1": "once in 100"}.get(count, f"{count} times in 100")


def headline(plan: Plan) -> str:
    """What the plan can settle of the deciding measure, in sentences."""
    primary = plan.question.primary
    found = plan.deciding(primary.name)
    title, margin = primary.asked.measure.title, primary.asked.smallest_text
    wanted = times_in_100(plan.question.request.power)
    if not math.isfinite(found.uncertainty):
        return f"No plan within your hours and fuel gives the {title} an interval at all."
    finds = f"finds a real {margin} difference in the {title} {times_in_100(found.found)}"
    equal = f"if the two are equal, it shows so {times_in_100(found.none)}"
    if plan.answers:
        return f"This plan {finds}; {equal}."
    return (
        f"No plan within your hours and fuel gets an answer {wanted}. The best one, below, {finds}; {equal}. "
        f"To be found {wanted}, the difference must be {reach_words(plan, primary)} or more."
    )


def alternatives(plan: Plan) -> list[str]:
    """What would have the chance of an answer that is asked for, or comes near, cheapest first, a sentence each."""
    return [
        f"{capital(way.says)}: {way.days} day{'s' * (way.days > 1)}, {way.hours:.1f} h in the field; an answer "
        f"{times_in_100(way.power)}{' only' * (way.power < plan.question.request.power)}."
        for way in plan.alternatives
    ]


def by_all(plan: Plan) -> str:
    """What all measures together would say of the deciding one, a sentence; empty where they add nothing to it."""
    wanted = plan.question.primary
    own, told = plan.powers[wanted.name], plan.by_all.get(wanted.name)
    if told is None or told.chances is None or own.chances is None:
        return ""
    half, alone = (one.chances.half_width() for one in (told, own) if one.chances is not None)
    if not half < ADDS * alone:
        return ""
    measures = listed([plan.trials[name].reduction.table.measure.title for name in plan.by_all])
    return (
        f"By all measures together ({measures}) the {wanted.asked.measure.title} would be known to ± "
        f"{size(wanted, half)} in place of ± {size(wanted, alone)}: a real {wanted.asked.smallest_text} difference is "
        f"found {times_in_100(told.found)}; if the two are equal, it is shown {times_in_100(told.none)}."
    )


def verdict_words(plan: Plan, power: MeasurePower) -> str:
    """How likely a measure gets its answer."""
    if not math.isfinite(power.uncertainty):
        return "no interval"
    if power.least >= plan.question.request.power:
        return "likely"
    return "perhaps" if power.least >= 0.5 else "unlikely"


def condition_name(limit: ScrubLimit) -> str:
    """The condition as a pilot calls it."""
    return _NAMES.get(limit.condition, limit.condition)


def within(question: Question, limit: ScrubLimit) -> str:
    """The band of a limit, ``2.5 to 6.1 kt``; in words where nothing that anybody meets bounds it."""
    if not binds(limit):
        return DOES_NOT_BIND
    unit, dimension, digits = _UNITS.get(limit.condition, _AIRSPEED)
    low, high = limit.low, limit.high
    if limit.condition == "pressure":
        qnh = question.forecast("qnh", np.array([0.5 * (question.start + question.end)]))
        if qnh is not None:
            low, high = (float(bound / limit.middle * qnh[0]) for bound in (low, high))
    if limit.condition in ("gust spread", "crosswind"):
        return f"at most {units.show(high, unit, dimension, digits)}"
    if low > high:
        return "no usable limit here"
    if not math.isfinite(low):
        return f"at most {units.show(high, unit, dimension, digits)}"
    if not math.isfinite(high):
        return f"at least {units.show(low, unit, dimension, digits)}"
    start = units.show(low, unit, dimension, digits).removesuffix(f" {unit}")
    return f"{start} to {units.show(high, unit, dimension, digits)}"


def forecast_of(plan: Plan, limit: ScrubLimit) -> tuple[np.ndarray, np.ndarray | None]:
    """Clock hours (n,) of the planned runs that a limit is for, and what is forecast then (n,), None if unknown."""
    question = plan.question
    measure = limit.measure or question.primary.name
    hours = np.array([run.hours for run in plan.schedule.runs_of(measure)])
    of_day = hours - 24.0 * np.floor(hours / 24.0)
    values = None
    if limit.condition == "gust spread":
        gust, mean = question.forecast("gust", of_day), question.forecast("wind", of_day)
        values = None if gust is None or mean is None else gust - mean
    elif limit.condition == "crosswind":
        values = question.wind_on_strip(of_day)[1]
    elif limit.condition in ("oat", "pressure", "weight", "headwind"):
        values = plan.trials[measure].reduction.runs.get(limit.condition)
    return of_day, values


def _out(values: np.ndarray, limit: ScrubLimit) -> np.ndarray:
    return (values < limit.low - 1e-9) | (values > limit.high + 1e-9)


def forecast_says(plan: Plan, limit: ScrubLimit) -> str:
    """Between which clock hours the forecast keeps a limit; ``inside``, or nothing where the pilot holds it."""
    of_day, values = forecast_of(plan, limit)
    if values is None:
        return "" if limit.condition.endswith("airspeed") else "no forecast"
    out = _out(values, limit)
    if not out.any():
        return "inside"
    if out.all():
        return "outside all day"
    good = of_day[~out]
    return f"inside {clock(good.min())} to {clock(good.max())}"


def outside(plan: Plan) -> str:
    """How many runs of the primary measure are planned where the forecast is outside a limit; empty if none."""
    primary = plan.question.primary
    runs = len(plan.schedule.runs_of(primary.name))
    out, named = np.zeros(runs, dtype=bool), []
    for limit in plan.limits:
        # The weight is the plan's own doing, and said elsewhere.
        if limit.measure not in ("", primary.name) or limit.condition == "weight":
            continue
        values = forecast_of(plan, limit)[1]
        if values is not None and _out(values, limit).any():
            out |= _out(values, limit)
            named.append(condition_name(limit))
    if not named:
        return ""
    return (
        f"{out.sum()} of {runs} runs of the {primary.asked.measure.title} fall outside a limit "
        f"({', '.join(named)}): fly earlier, wait for a calmer day, or expect to scrub them."
    )


def order_words(plan: Plan, day: int) -> str:
    """The order of one day in the campaign's own keys, ``A B A`` or ``A B B A | B A A B``."""
    campaign = plan.question.campaign
    keys = {"A": campaign.baseline, "B": plan.question.other}
    blocks = [" ".join(keys[letter] for letter in word) for word in plan.order[day]]
    return (" " if campaign.fitted_anew else " | ").join(blocks)


def runs_words(plan: Plan) -> str:
    """Runs of each measure on each block or turn, and in which blocks where not in all."""
    said = []
    for one in plan.question.wanted:
        blocks = [block.number for block in plan.schedule.blocks if any(run.measure == one.name for run in block.runs)]
        where = "" if len(blocks) == len(plan.schedule.blocks) else f" (up to block {blocks[-1]})"
        said.append(f"{plan.runs_a_block[one.name]} x {one.asked.measure.title}{where}")
    return ", ".join(said)


def drift_words(plan: Plan) -> str:
    """What unseen drift leaves in the difference of the primary measure."""
    straight, curved = plan.drift
    if max(abs(straight), abs(curved)) < 0.005:
        return "in this order steady and curved drift both cancel out"
    return (
        f"of a steady drift of 1 % an hour this order leaves {abs(straight):.2f} % in the difference, "
        f"of a curved one of 1 %/h² {abs(curved):.2f} %"
    )


def weight_words(plan: Plan, block: Block) -> str:
    """The aeroplane's weight in a block, heaviest run first."""
    light, heavy = plan.weights(block)
    return "not known" if math.isnan(light) else f"{heavy:.0f} to {light:.0f} kg"


def in_all(plan: Plan) -> str:
    """Hours in the field, hours of flying, fuel."""
    burnt = sum(block.fuel - block.fuel_left for block in plan.schedule.blocks)
    hours = plan.schedule.hours_in_the_field()
    flying = burnt / plan.question.burn
    return f"{hours:.1f} h in the field, {flying:.1f} h of flying, {fuel(plan.question, burnt)} of fuel"


def look_words(look: PlannedLook) -> str:
    """When a look comes, and what the absolute t has to pass."""
    limit = "no interval yet" if look.t_limit is None else f"by the {100 * look.level:.4g} % interval"
    return f"after block {look.after_block} (run {look.after_run}) {limit}"


def looks_to_state(plan: Plan) -> str:
    """What has to be written into ``[plan]`` before the first flight so that the looks stay; empty where it is."""
    if not plan.looks or plan.question.request.looks_after:
        return ""
    runs = looks_proposed(plan)
    return (
        f"Before the first flight, write looks_after_runs = [{runs}] into [plan]: runs of the "
        f"{plan.question.primary.asked.measure.title}. Between them no verdict is told."
    )


def looks_proposed(plan: Plan) -> str:
    """After which runs of the deciding measure the plan puts its looks, as they are typed: ``10, 20``."""
    return ", ".join(str(look.after_run) for look in plan.looks)


def reach_words(plan: Plan, wanted: Wanted) -> str:
    """The smallest true difference that a measure would find with the wanted probability; ``none`` without interval."""
    found = plan.deciding(wanted.name)
    smallest = smallest_found(found, plan.question.request.power, last_look(plan.question))
    # A smaller value is better by a fall: 5 % less is a logarithm of -0.0513, not of 0.0488.
    return size(wanted, -smallest if wanted.asked.better == "smaller" else smallest).removeprefix("-")


def limits_by_measure(plan: Plan) -> list[tuple[str, list[str]]]:
    """The limits of each measure as words, ``headwind 0.0 to 3.0 kt (forecast inside 06:23 to 09:19)``."""
    titles = {wanted.name: capital(wanted.asked.measure.title) for wanted in plan.question.wanted}
    found: dict[str, list[str]] = {}
    for limit in worth_saying(plan):
        if not binds(limit):
            continue
        forecast = forecast_says(plan, limit)
        beside = f" (forecast {forecast})" if forecast not in ("", "inside", "no forecast") else ""
        name = "gusts over the wind" if limit.condition == "gust spread" else condition_name(limit)
        found.setdefault(titles.get(limit.measure, "All"), []).append(f"{name} {within(plan.question, limit)}{beside}")
    return list(found.items())


def limits_set_by(plan: Plan) -> list[tuple[str, str, str, str]]:
    """Of each limit: measure, condition, share of the margin that reading errors make, and what sets the limit."""
    titles = {wanted.name: capital(wanted.asked.measure.title) for wanted in plan.question.wanted}
    rules = {"derived": "what is left", "gust": "what is left", "papers": "papers", "range": "range of the correction"}
    return [
        (
            titles.get(limit.measure, "All"),
            condition_name(limit),
            f"{100 * limit.reading:.0f} %" if limit.reading >= 0.005 else "",
            rules[limit.rule] if binds(limit) else DOES_NOT_BIND,
        )
        for limit in worth_saying(plan)
    ]


def worth_saying(plan: Plan) -> list[ScrubLimit]:
    """The limits of the primary measure, and of each other one where it is tighter.

    One that binds nobody is named for the primary measure alone, and for gusts where no other measure minds them.
    """
    primary = plan.question.primary.name
    gusts = [limit for limit in plan.limits if limit.condition == "gust spread"]
    calm = [] if any(binds(limit) for limit in gusts) else gusts[:1]
    held: dict[str, tuple[float, float]] = {}
    said = []
    for limit in plan.limits:
        bounded = binds(limit) or limit.measure == primary or limit in calm
        replaced = limit.condition in ("entry airspeed", "exit airspeed") and any(
            one.condition == "airspeed" and one.measure == limit.measure for one in plan.limits
        )
        low, high = held.get(limit.condition, (-math.inf, math.inf))
        tighter = limit.measure == primary or limit in calm or limit.low > low + 1e-9 or limit.high < high - 1e-9
        if bounded and not replaced and tighter:
            said.append(limit)
            held[limit.condition] = (max(low, limit.low), min(high, limit.high))
    return said
