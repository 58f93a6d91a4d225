"""How does the page say a plan? Rows of its tables and its sentences, in the words that the command line uses too."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta

from samesky.campaign.derived.cautions import of_the_change
from samesky.campaign.messages.words import capital
from samesky.planning.flyable import binds
from samesky.planning.output import words
from samesky.planning.plan import Plan
from samesky.planning.question import clock
from samesky.planning.schedule import Block

#: What sets a limit, by its rule.
SET_BY = {
    "derived": "what the correction leaves",
    "gust": "what gusts leave",
    "papers": "the papers, or your own limit",
    "range": "how far the correction is believed",
}
#: Smallest share of the doubt that is named.
_NAMED = 0.05


@dataclass(frozen=True, slots=True)
class PowerInWords:
    """What the plan can settle of one measure, in words."""

    title: str
    decides: bool
    says: str
    settles: bool
    cells: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class BlockInWords:
    """One block in words; ``runs`` hold the clock and the run."""

    number: int
    times: str
    configurations: str
    runs: tuple[tuple[str, str], ...]
    fuel: str
    weight: str
    before: str


def power_in_words(plan: Plan) -> list[PowerInWords]:
    """Every measure, the one that decides first."""
    power = words.chance(plan.question.request.power)
    found = []
    for wanted in sorted(plan.question.wanted, key=lambda one: not one.asked.primary):
        one = plan.deciding(wanted.name)
        noisier = words.chance(one.with_more_scatter) if math.isfinite(wanted.degrees_of_freedom) else "not known"
        cells = (
            ("runs", str(len(plan.schedule.runs_of(wanted.name)))),
            ("margin", wanted.asked.smallest_text),
            ("finds it", words.chance(one.found)),
            ("shows equal", words.chance(one.none)),
            (f"smallest it finds with {power}", words.reach_words(plan, wanted)),
            ("expected ±", words.size(wanted, one.combined)),
            ("if it scatters more", noisier),
        )
        said = words.verdict_words(plan, one)
        found.append(
            PowerInWords(
                capital(wanted.asked.measure.title), wanted.asked.primary, said, plan.settles(wanted.name), cells
            )
        )
    return found


def cannot_settle(plan: Plan) -> list[str]:
    """A sentence for every measure that is likelier than not to stay open."""
    power = words.times_in_100(plan.question.request.power)
    said = []
    for wanted in sorted(plan.question.wanted, key=lambda one: not one.asked.primary):
        one = plan.deciding(wanted.name)
        title, matters = capital(wanted.asked.measure.title), wanted.asked.smallest_text
        if not math.isfinite(one.uncertainty):
            said.append(f"{title}: this order gives it no interval at all. {one.assumption}")
        elif one.least < 0.5:
            said.append(
                f"{title}: finds a real {matters} difference {words.times_in_100(one.found)}; if the two are equal, it "
                f"shows so {words.times_in_100(one.none)}. To be found {power}, the difference must be "
                f"{words.reach_words(plan, wanted)} or more."
            )
    return said


def stopping(plan: Plan) -> str:
    """Whose limits the looks have."""
    return {"pocock": "Pocock", "obrien-fleming": "O'Brien-Fleming"}[plan.question.request.stopping]


def causes(plan: Plan) -> str:
    """Where the doubt of the measure that decides comes from, largest first; shares of the variance."""
    primary = plan.question.primary
    shares = plan.powers[primary.name].shares
    named = [f"{name} {100 * share:.0f} %" for name, _, share in shares if share >= _NAMED]
    return ", ".join(named)


def days(plan: Plan) -> list[tuple[str, str, list[BlockInWords]]]:
    """Every day: its name, its order, its blocks as flown."""
    return [
        (
            _day(plan, day),
            words.order_words(plan, day),
            [_flown(plan, block) for block in plan.schedule.blocks if block.day == day],
        )
        for day in range(plan.schedule.days)
    ]


def fuel(plan: Plan) -> str:
    """What is on board each morning, what stays, and what is burnt in all."""
    question = plan.question
    morning, kept = words.fuel(question, question.fuel), words.fuel(question, question.lowest_fuel)
    return f"{morning} each morning, {kept} never touched; in all {words.in_all(plan)}"


def limits(plan: Plan) -> list[tuple[str, str, str, str, str]]:
    """Condition, band, what the forecast says, for which measure, set by what."""
    titles = {wanted.name: wanted.asked.measure.title for wanted in plan.question.wanted}
    return [
        (
            words.condition_name(limit),
            words.within(plan.question, limit),
            words.forecast_says(plan, limit),
            titles.get(limit.measure, "all"),
            SET_BY[limit.rule] if binds(limit) else "",
        )
        for limit in words.worth_saying(plan)
    ]


def cautions(plan: Plan) -> list[tuple[str, tuple[str, ...]]]:
    """Title and cautions of what is compared and of every measure planned."""
    change = of_the_change(plan.question.campaign)
    measures = [wanted.asked.measure for wanted in plan.question.wanted]
    own = [(capital(measure.title), measure.cautions) for measure in measures if measure.cautions]
    return [("What is compared", change), *own] if change else own


def _day(plan: Plan, day: int) -> str:
    first = plan.question.request.first_date
    return f"Day {day + 1}" + (f" ({first + timedelta(days=day)})" if first else "")


def _flown(plan: Plan, block: Block) -> BlockInWords:
    return BlockInWords(
        number=block.number,
        times=f"{clock(block.start)} to {clock(block.end)}",
        configurations=" ".join(block.configurations),
        runs=_runs(block),
        fuel=f"{words.fuel(plan.question, block.fuel)} to {words.fuel(plan.question, block.fuel_left)}",
        weight=words.weight_words(plan, block),
        before=_before(plan, block),
    )


def _runs(block: Block) -> tuple[tuple[str, str], ...]:
    changes = len(set(block.configurations)) > 1
    return tuple(
        (
            clock(run.hours),
            f"{run.measure.replace('_', ' ')} {run.number}" + (f" {run.configuration}" if changes else ""),
        )
        for run in block.runs
    )


def _before(plan: Plan, block: Block) -> str:
    """What is done before a block: fit the other, fill up, ballast."""
    said, place = [], plan.schedule.blocks.index(block)
    earlier = plan.schedule.blocks[place - 1] if place else None
    fitted = earlier is None or earlier.runs[-1].installation != block.runs[0].installation
    if plan.question.campaign.fitted_anew and fitted:
        said.append(f"fit {block.configurations[0]}")
    return ", ".join([*said, *([block.before] if block.before else [])])
