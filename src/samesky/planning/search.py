"""Which order, how many blocks and how many runs: the cheapest plan that settles the deciding measure.

Every number of days and of blocks a day that fits is tried with the fewest runs that settle the primary measure. The
cheapest is the one with the fewest days, then the fewest hours in the field. Other measures then get more runs while
these fit into the same hours and fuel.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from samesky.campaign.model.campaign import ANSWERS
from samesky.inference.looks import Look
from samesky.planning import orders
from samesky.planning.power import MeasurePower
from samesky.planning.question import Question
from samesky.planning.schedule import Schedule, laid_out
from samesky.planning.trial import Bench

#: Most runs of one measure in a block, and blocks in a day, that are tried (chosen: more is more than a crew flies).
MOST_RUNS, MOST_BLOCKS = 12, 10
#: Runs a block that are tried where the most that fit do not settle it.
_FEWER = frozenset((1, 2, 3, 4, 6, 8))
#: Power below which leaving out runs of other measures will not settle the primary one (assumed).
_HOPELESS = 0.3


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way to fly it: blocks of each day, runs a block by measure, the schedule, the primary measure's power.

    ``flown_in`` says in how many blocks, from the first, a measure is flown that is not flown in all.
    """

    order: tuple[tuple[str, ...], ...]
    runs: Mapping[str, int]
    flown_in: Mapping[str, int]
    schedule: Schedule
    power: MeasurePower

    @property
    def cost(self) -> tuple[int, float]:
        """Days, then hours in the field."""
        return self.schedule.days, self.schedule.hours_in_the_field()


def last_look(question: Question) -> Look | None:
    """The last of the planned looks, None where only the end is looked at."""
    looks = question.request.looks
    return Look(looks, looks, question.request.stopping) if looks > 1 else None


def order_of(question: Question, days: int, blocks_a_day: int) -> tuple[tuple[str, ...], ...]:
    """The blocks of each day in letters; see :mod:`samesky.planning.orders`."""
    seed = question.request.seed
    if question.campaign.fitted_anew:
        return tuple(tuple(day) for day in orders.alternating(days, blocks_a_day, seed))
    return orders.fours(days, blocks_a_day, seed)


def most_blocks(question: Question) -> int:
    """Most blocks in a day: one more than the changes of a part that the crew wants to make."""
    swaps = question.request.swaps if question.campaign.fitted_anew else None
    return MOST_BLOCKS if swaps is None else min(MOST_BLOCKS, swaps + 1)


def best(bench: Bench, band: float, days: Sequence[int]) -> tuple[Candidate | None, str]:
    """The cheapest candidate that settles the primary measure, else the likeliest; or None and why nothing fits."""
    power = bench.question.request.power
    chosen, why = _best(bench, band, days, 2)
    if chosen is not None and (chosen.power.least >= power or chosen.power.least < _HOPELESS):
        return chosen, ""
    # One run a block of the others often gives them no interval: only where that gives the primary measure its own.
    second, why_not = _best(bench, band, days, 1)
    if chosen is None or (second is not None and second.power.least >= power):
        return second, why_not
    return chosen, why


def _best(bench: Bench, band: float, days: Sequence[int], least: int) -> tuple[Candidate | None, str]:
    chosen, why = None, ""
    power = bench.question.request.power
    for found, reason in _candidates(bench, band, days, least):
        if found is None:
            why = why or reason
        elif chosen is None or _rank(found, power) < _rank(chosen, power):
            chosen = found
    return chosen, why


def _rank(candidate: Candidate, wanted: float) -> tuple:
    power = candidate.power.least
    return (0, *candidate.cost) if power >= wanted else (1, -power, *candidate.cost)


def _candidates(bench: Bench, band: float, days: Sequence[int], least: int) -> Iterator[tuple[Candidate | None, str]]:
    question = bench.question
    for number in days:
        for blocks in range(2 if question.campaign.fitted_anew else 1, most_blocks(question) + 1):
            found, reason = _fewest_runs(bench, band, order_of(question, number, blocks), least)
            yield found, reason
            if found is None:
                break


def _fewest_runs(
    bench: Bench, band: float, order: tuple[tuple[str, ...], ...], least: int
) -> tuple[Candidate | None, str]:
    """The candidate of this order with the fewest runs that settle the primary measure, else the likeliest.

    ``least`` is the number of runs a block of the other measures. Where the most runs that fit settle it, more are
    taken to answer better, and the fewest are found by halving.
    """
    question = bench.question
    primary, settled, rarely, others = question.primary, last_look(question), _rarely(question), fewest(question, least)
    power = question.request.power
    fitting: dict[int, Schedule] = {}
    why = ""
    for count in _counts(question):
        schedule, why = laid_out(question, order, _runs(question, others, count), band, rarely)
        if schedule is None:
            break
        fitting[count] = schedule
    if not fitting:
        return None, why

    def tried(count: int) -> Candidate:
        schedule = fitting[count]
        found = bench.deciding(schedule, primary, settled)
        return Candidate(order, _runs(question, others, count), rarely, schedule, found)

    low, high = min(fitting), max(fitting)
    found = tried(high)
    if found.power.least < power:
        # Longer blocks drift further: with fewer runs there may be more to say.
        return min((found, *map(tried, _FEWER.intersection(fitting))), key=lambda one: _rank(one, power)), ""
    while low < high:
        middle = (low + high) // 2
        half = tried(middle)
        if half.power.least >= power:
            high, found = middle, half
        else:
            low = middle + 1
    return found, ""


def fewest(question: Question, least: int) -> dict[str, int]:
    """Runs a block to begin with, by measure: ``least`` where blocks are long, one on each turn where they are not."""
    return {one.name: one.runs_a_block or (least if question.campaign.fitted_anew else 1) for one in question.wanted}


def _runs(question: Question, others: Mapping[str, int], count: int) -> dict[str, int]:
    """Runs a block by measure; where all measures decide, those that see the thrust get as many as the deciding one."""
    primary = question.primary
    together = primary.asked.answer_from != ANSWERS[0] and question.campaign.fitted_anew
    seeing = [one.name for one in question.wanted if one.asked.measure.thrust is not None and one.runs_a_block is None]
    return {**others, **(dict.fromkeys(seeing, count) if together else {}), primary.name: count}


def _rarely(question: Question) -> dict[str, int]:
    """Where changing is free, the other measures are flown in the first block alone, until more are asked for."""
    if question.campaign.fitted_anew:
        return {}
    return {one.name: 1 for one in question.wanted if not one.asked.primary}


def _counts(question: Question) -> range:
    """Runs a block of the primary measure that are tried; where changing is free, one on each turn."""
    fixed = question.primary.runs_a_block
    if fixed is not None:
        return range(fixed, fixed + 1)
    return range(1, MOST_RUNS + 1 if question.campaign.fitted_anew else 2)


def filled_up(bench: Bench, candidate: Candidate, band: float) -> Candidate:
    """The candidate with as many runs of the other measures as settle them, while they fit and cost no answer.

    Other runs lengthen the blocks, and so may cost the primary measure a run more; it gets that first.
    """
    question = bench.question
    settles = candidate.power.least >= question.request.power
    for wanted in question.wanted:
        if wanted.asked.primary or (question.campaign.fitted_anew and wanted.runs_a_block is not None):
            continue
        kept = candidate
        for more in _with_more_of(candidate, wanted.name):
            tried = _relaid(bench, more, band, settles)
            if tried is None:
                break
            power = bench.approximate(tried.schedule, wanted, last_look(question)).least
            if power >= question.request.power:
                kept = tried
            if power >= question.request.power:
                break
        candidate = kept
    return candidate


def _with_more_of(candidate: Candidate, measure: str) -> Iterator[Candidate]:
    """The candidate, not yet laid out again, with more and more runs of one measure."""
    if measure in candidate.flown_in:
        blocks = sum(map(len, candidate.order))
        for count in range(candidate.flown_in[measure], blocks + 1):
            yield replace(candidate, flown_in={**candidate.flown_in, measure: count})
    else:
        for count in range(candidate.runs[measure] + 1, MOST_RUNS + 1):
            yield replace(candidate, runs={**candidate.runs, measure: count})


def _relaid(bench: Bench, candidate: Candidate, band: float, settles: bool) -> Candidate | None:
    """The candidate laid out again, with a few more runs of the primary measure where that keeps it settled.

    None where it does not fit, or costs the primary measure its answer.
    """
    question = bench.question
    primary = question.primary
    fixed = primary.runs_a_block is not None or not question.campaign.fitted_anew
    for extra in range(1 if fixed else 3):
        runs = {**candidate.runs, primary.name: candidate.runs[primary.name] + extra}
        schedule, _ = laid_out(question, candidate.order, runs, band, candidate.flown_in)
        if schedule is None or schedule.off_weight > candidate.schedule.off_weight:
            return None
        found = bench.deciding(schedule, primary, last_look(question))
        if not settles or found.least >= question.request.power:
            return replace(candidate, runs=runs, schedule=schedule, power=found)
    return None
