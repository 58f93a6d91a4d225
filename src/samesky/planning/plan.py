"""What should I fly on Saturday? The plan: order, runs, hours, fuel, limits, looks, and what it can settle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from samesky.campaign.model.campaign import ANSWERS, Campaign
from samesky.inference.design import Design
from samesky.inference.looks import Look, t_limits
from samesky.planning import catalogue as say
from samesky.planning import orders, search
from samesky.planning.alternatives import Alternative, alternatives
from samesky.planning.flyable import flyable
from samesky.planning.power import MeasurePower, smallest_of
from samesky.planning.question import Question, Wanted, missing_reading, question, refuse
from samesky.planning.schedule import Block, Schedule, laid_out, weight_of
from samesky.planning.scrub import ScrubLimit, scrub_limits
from samesky.planning.search import Candidate
from samesky.planning.trial import Bench, Trial, margins
from samesky.reduction.reduction import Reduction
from samesky.simulator.schedule import RunPlan


@dataclass(frozen=True, slots=True)
class PlannedLook:
    """Look ``number``; the absolute t has to pass ``t_limit`` (None: no interval yet).

    It comes after ``after_run`` runs of the deciding measure, in or at the end of ``after_block``.
    """

    number: int
    after_block: int
    after_run: int
    level: float
    degrees_of_freedom: float
    t_limit: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """A plan for one question.

    Attributes
    ----------
    question : what it answers to
    order : blocks of each day, ``A`` the baseline and ``B`` the other
    runs_a_block : by measure (on each letter of a block's word)
    schedule : every block and run with its clock time, fuel and ballast
    powers : what each measure can be expected to answer by its own runs, by name, in flown order
    designs : the comparison that the order of each measure supports, by name
    limits : to scrub at; the primary measure's first
    drift : (straight, curved) hours and hours squared that unseen drift is multiplied by, of the primary measure
    looks : planned looks; empty where only the end is looked at
    alternatives : where the primary measure cannot be settled, what would settle it, cheapest first
    notes : what the reader should know of the plan
    by_all : what each measure can be expected to answer by all of them, by name; those that they do not tell are absent
    """

    question: Question
    order: tuple[tuple[str, ...], ...]
    runs_a_block: Mapping[str, int]
    schedule: Schedule
    powers: Mapping[str, MeasurePower]
    trials: Mapping[str, Trial]
    limits: tuple[ScrubLimit, ...]
    drift: tuple[float, float]
    looks: tuple[PlannedLook, ...]
    alternatives: tuple[Alternative, ...]
    notes: tuple[str, ...]
    by_all: Mapping[str, MeasurePower] = field(default_factory=dict)

    def deciding(self, measure: str) -> MeasurePower:
        """What a measure can be expected to answer by what was fixed to decide: its own runs, or all measures."""
        own = self.powers[measure]
        asked = next(one.asked for one in self.question.wanted if one.name == measure)
        return own if asked.answer_from == ANSWERS[0] else self.by_all.get(measure, own)

    def settles(self, measure: str) -> bool:
        """Whether the plan settles a measure with the wanted probability, whichever way the truth is."""
        return self.deciding(measure).least >= self.question.request.power

    @property
    def answers(self) -> bool:
        """Whether the plan settles the primary measure."""
        return self.settles(self.question.primary.name)

    def run_plans(self) -> dict[str, RunPlan]:
        """The planned runs as the simulator wants them, by measure."""
        return self.schedule.run_plans()

    def weights(self, block: Block) -> tuple[float, float]:
        """Lightest and heaviest run of a block [kg]; NaN without loading."""
        masses = [weight_of(self.question, run) for run in block.runs]
        return min(masses), max(masses)


def plan(campaign: Campaign, other: str | None = None) -> Plan:
    """The plan for a campaign that has a ``[plan]``. Raises CampaignError where nothing can be flown."""
    return plan_for(question(campaign, other))


def plan_for(asked: Question) -> Plan:
    """The plan for a question. Raises CampaignError where nothing can be flown."""
    bench = Bench(asked)
    for wanted in asked.wanted:
        lacking = bench.lacking(wanted)
        if lacking is not None:
            raise missing_reading(wanted.asked, lacking, "Without it no run gives a result; roughly will do.")
    days = range(1, asked.request.days + 1)
    # The weight's band follows from what its correction leaves, which depends on the plan only through the gusts'
    # averaging: a first plan without the band gives it.
    first, why = search.best(bench, np.inf, days)
    if first is None:
        raise _nothing_fits(asked, why)
    band = _weight_band(bench, first)
    chosen = first
    if band < asked.fuel - asked.lowest_fuel:
        chosen = search.best(bench, band, days)[0] or first
    chosen = search.filled_up(bench, chosen, band)
    trials = {one.name: bench.exact(chosen.schedule, one, search.last_look(asked)) for one in asked.wanted}
    powers = {name: trial.power for name, trial in trials.items()}
    look = search.last_look(asked)
    told = {one.name: bench.by_all(chosen.schedule, one, powers[one.name], look) for one in asked.wanted}
    by_all = {name: one for name, one in told.items() if one is not None}
    deciding = powers if asked.primary.asked.answer_from == ANSWERS[0] else {**powers, **by_all}
    settled = deciding[asked.primary.name].least >= asked.request.power
    return Plan(
        question=asked,
        order=chosen.order,
        runs_a_block=chosen.runs,
        schedule=chosen.schedule,
        powers=powers,
        trials=trials,
        limits=_limits(asked, trials),
        drift=orders.left_by_drift(trials[asked.primary.name].design),
        looks=_looks(asked, chosen, bench),
        alternatives=() if settled else alternatives(bench, chosen, band),
        notes=_notes(asked, chosen, trials),
        by_all=by_all,
    )


def _nothing_fits(asked: Question, why: str):
    runs = search.fewest(asked, 1)
    order = search.order_of(asked, 1, 2 if asked.campaign.fitted_anew else 1)
    schedule, other_reason = laid_out(replace(asked, end=1e6), order, runs)
    if schedule is None:
        return refuse(say.PLAN_NOTHING_FLOWN(other_reason=other_reason))
    hours = schedule.hours_in_the_field()
    return refuse(
        say.PLAN_TOO_SHORT(why=why, hours=hours),
    )


def _weight_band(bench: Bench, candidate: Candidate) -> float:
    """By how much [kg] the weight may fall: the narrowest width of any measure's limits."""
    widths = []
    for wanted in bench.question.wanted:
        design, reduction = bench.reduced(candidate.schedule, wanted)
        limits = _of_measure(bench.question, wanted, design, reduction, ("weight",))
        widths += [limit.high - limit.low for limit in limits]
    return min(widths, default=np.inf)


def _of_measure(
    asked: Question, wanted: Wanted, design: Design, reduction: Reduction, conditions: tuple[str, ...] | None = None
) -> list[ScrubLimit]:
    return scrub_limits(
        wanted.asked.measure,
        reduction.runs,
        reduction.sky,
        asked.campaign.sources,
        design,
        smallest_of(wanted, margins(wanted, float(np.mean(reduction.value)))),
        asked.request.left_over,
        conditions,
    )


def _limits(asked: Question, trials: Mapping[str, Trial]) -> tuple[ScrubLimit, ...]:
    """Limits of every measure, the primary's first, with the crosswind of the papers."""
    ordered = sorted(asked.wanted, key=lambda one: not one.asked.primary)
    found = [
        flyable(asked, limit)
        for wanted in ordered
        for limit in _of_measure(asked, wanted, trials[wanted.name].design, trials[wanted.name].reduction)
    ]
    papers = asked.request.crosswind_limit
    own = asked.campaign.limits.get("crosswind", (None, None))[1]
    most = min((bound for bound in (papers, own) if bound is not None), default=None)
    if most is not None:
        why = "the papers, or your own limit; nothing corrects for a crosswind"
        found.append(ScrubLimit("crosswind", "", 0.0, most, 0.0, "papers", why))
    return tuple(found)


def _looks(asked: Question, chosen: Candidate, bench: Bench) -> tuple[PlannedLook, ...]:
    count, blocks = asked.request.looks, chosen.schedule.blocks
    if count < 2:
        return ()
    if count > len(blocks):
        raise refuse(
            say.PLAN_MORE_LOOKS_THAN_BLOCKS(count=count, count2=len(blocks)),
            "[plan] looks",
        )
    name = asked.primary.name
    flown = np.cumsum([sum(run.measure == name for run in block.runs) for block in blocks])
    stated, found = asked.request.looks_after, []
    if stated and stated[-1] > flown[-1]:
        raise refuse(
            say.PLAN_LOOK_BEYOND_RUNS(
                count=count, stated=stated[-1], flown=flown[-1], title=asked.primary.asked.measure.title
            ),
            "[plan] looks after runs",
        )
    for number in range(1, count + 1):
        after = round(len(blocks) * number / count)
        if stated:
            after = int(np.searchsorted(flown, stated[number - 1])) + 1
        runs = stated[number - 1] if stated else int(flown[after - 1])
        look = Look(number, count, asked.request.stopping)
        part = Schedule(blocks[:after])
        df: float = 0
        limit = None
        if len({run.configuration for run in part.runs_of(asked.primary.name)}) == 2:
            seen = bench.approximate(part, asked.primary, look)
            if np.isfinite(seen.uncertainty):
                df = seen.degrees_of_freedom
                exponent = {"pocock": 0.5, "obrien-fleming": 0.0}[asked.request.stopping]
                limit = float(t_limits(count, np.full(count, df), 0.05, exponent)[number - 1])
        found.append(PlannedLook(number, after, runs, look.level, df, limit))
    return tuple(found)


def _notes(asked: Question, chosen: Candidate, trials: Mapping[str, Trial]) -> tuple[str, ...]:
    said = []
    unknown = [one.asked.measure.title for one in asked.wanted if one.scatter is None]
    if unknown:
        said.append(
            f"No scatter is documented for {', '.join(unknown)}: that of the readings and the stated air is used, to "
            "which a pilot adds. Fly a few repeats and write it down."
        )
    for name, trial in trials.items():
        for correction, why in trial.reduction.left_out.items():
            said.append(f"{name}: no {correction} correction, {why}.")
    if chosen.schedule.off_weight:
        mend = (
            "it is alike for both, as each block begins on the same fuel; fewer runs a block would be better"
            if asked.request.refuel
            else "take on fuel between blocks, or ballast, if the papers allow it"
        )
        said.append(f"The weight falls further than its correction is trusted: {mend}.")
    if not asked.campaign.fitted_anew and asked.swap_hours > 0.25:
        said.append('Changing takes long for something that is free; if a part is fitted anew, say kind = "refit".')
    return tuple(said)
