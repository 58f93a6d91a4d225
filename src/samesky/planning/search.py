"""Which order, how many blocks and how many runs: the cheapest plan that settles the deciding measure.

Every number of days and of blocks a day that fits is tried with the fewest runs that settle the primary measure. The
cheapest is the one with the fewest days, then the fewest hours in the field. Other measures then get more runs while
these fit into the same hours and fuel.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from samesky.inference.looks import Look
from samesky.planning import orders
from samesky.planning.question import Question
from samesky.planning.schedule import Schedule, laid_out
from samesky.planning.settle import Prospect
from samesky.planning.trial import Bench

#: Most runs of one measure in a block, blocks in a day and days that are tried.
MOST_RUNS, MOST_BLOCKS, MOST_DAYS = 12, 10, 14
#: Longest day in the field that is proposed [h]: tired crews prove nothing.
LONGEST_DAY = 10.0


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way to fly it: blocks of each day, runs a block by measure, the schedule, the primary measure's prospect.

    ``flown_in`` says in how many blocks, from the first, a measure is flown that is not flown in all.
    """

    order: tuple[tuple[str, ...], ...]
    runs: Mapping[str, int]
    flown_in: Mapping[str, int]
    schedule: Schedule
    prospect: Prospect

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
    if question.campaign.refit:
        return tuple(tuple(day) for day in orders.alternating(days, blocks_a_day, seed))
    return orders.fours(days, blocks_a_day, seed)


def best(bench: Bench, band: float, days: Sequence[int]) -> tuple[Candidate | None, str]:
    """The cheapest candidate that settles the primary measure, else the likeliest; or None and why nothing fits."""
    wanted_power = bench.question.request.power
    chosen, why = None, ""
    for found, reason in _candidates(bench, band, days):
        if found is None:
            why = why or reason
        elif chosen is None or _rank(found, wanted_power) < _rank(chosen, wanted_power):
            chosen = found
    return chosen, why


def _rank(candidate: Candidate, wanted: float) -> tuple:
    power = candidate.prospect.least
    return (0, *candidate.cost) if power >= wanted else (1, -power, *candidate.cost)


def _candidates(bench: Bench, band: float, days: Sequence[int]) -> Iterator[tuple[Candidate | None, str]]:
    question = bench.question
    for number in days:
        for blocks in range(2 if question.campaign.refit else 1, MOST_BLOCKS + 1):
            found, reason = _fewest_runs(bench, band, order_of(question, number, blocks))
            yield found, reason
            if found is None:
                break


def _fewest_runs(bench: Bench, band: float, order: tuple[tuple[str, ...], ...]) -> tuple[Candidate | None, str]:
    """The candidate of this order with the fewest runs that settle the primary measure, else with the most that fit.

    More runs are taken to answer better, so that the fewest are found by halving.
    """
    question = bench.question
    primary, settled, others, rarely = question.primary, last_look(question), _fewest(question), _rarely(question)
    counts, fitting, why = _counts(question), {}, ""
    for count in counts:
        fitting[count], reason = laid_out(question, order, {**others, primary.name: count}, band, rarely)
        if fitting[count] is None:
            del fitting[count]
            why = reason
            break
    if not fitting:
        return None, why

    def tried(count: int) -> Candidate:
        schedule = fitting[count]
        found = bench.quick(schedule, primary, settled)
        return Candidate(order, {**others, primary.name: count}, rarely, schedule, found)

    low, high = min(fitting), max(fitting)
    found = tried(high)
    if found.prospect.least < question.request.power:
        return found, ""
    while low < high:
        middle = (low + high) // 2
        half = tried(middle)
        if half.prospect.least >= question.request.power:
            high, found = middle, half
        else:
            low = middle + 1
    return found, ""


def _fewest(question: Question) -> dict[str, int]:
    """Runs a block to begin with: two where blocks are long, as one a block often shows no scatter to judge by."""
    least = 2 if question.campaign.refit else 1
    return {one.name: one.runs_a_block or least for one in question.wanted}


def _rarely(question: Question) -> dict[str, int]:
    """Where changing is free, the other measures are flown in the first block alone, until more are asked for."""
    if question.campaign.refit:
        return {}
    return {one.name: 1 for one in question.wanted if not one.asked.primary}


def _counts(question: Question) -> range:
    """Runs a block of the primary measure that are tried; where changing is free, one on each turn."""
    fixed = question.primary.runs_a_block
    if fixed is not None:
        return range(fixed, fixed + 1)
    return range(1, MOST_RUNS + 1 if question.campaign.refit else 2)


def filled_up(bench: Bench, candidate: Candidate, band: float) -> Candidate:
    """The candidate with as many runs of the other measures as settle them, while they fit and cost no answer.

    Other runs lengthen the blocks, and so may cost the primary measure a run more; it gets that first.
    """
    question = bench.question
    settles = candidate.prospect.least >= question.request.power
    for wanted in question.wanted:
        if wanted.asked.primary or (question.campaign.refit and wanted.runs_a_block is not None):
            continue
        kept = candidate
        for more in _with_more_of(candidate, wanted.name):
            tried = _relaid(bench, more, band, settles)
            if tried is None:
                break
            power = bench.quick(tried.schedule, wanted, last_look(question)).least
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
    fixed = primary.runs_a_block is not None or not question.campaign.refit
    for extra in range(1 if fixed else 3):
        runs = {**candidate.runs, primary.name: candidate.runs[primary.name] + extra}
        schedule, _ = laid_out(question, candidate.order, runs, band, candidate.flown_in)
        if schedule is None or schedule.off_weight > candidate.schedule.off_weight:
            return None
        found = bench.quick(schedule, primary, last_look(question))
        if not settles or found.least >= question.request.power:
            return replace(candidate, runs=runs, schedule=schedule, prospect=found)
    return None


@dataclass(frozen=True, slots=True)
class Way:
    """Something that would settle the primary measure where the plan cannot: in words, with days and hours."""

    says: str
    days: int
    hours: float
    power: float


def ways(question: Question, candidate: Candidate, band: float) -> tuple[Way, ...]:
    """What would settle the primary measure, cheapest first; empty where nothing that is tried does."""
    found = [*_more_days(question, candidate, band), *_longer_days(question, band)]
    for says, changed in _better(question, candidate):
        tried, _ = best(Bench(changed), band, range(1, question.request.days + 1))
        if tried is not None and tried.prospect.least >= question.request.power:
            found.append(Way(says, *tried.cost, tried.prospect.least))
    return tuple(sorted(found, key=lambda way: (way.days, way.hours)))


def _more_days(question: Question, candidate: Candidate, band: float) -> Iterator[Way]:
    """The fewest days that settle it, each flown as the candidate's."""
    bench, blocks = Bench(question), len(candidate.order[0])
    for days in range(question.request.days + 1, MOST_DAYS + 1):
        order = order_of(question, days, blocks)
        schedule, _ = laid_out(question, order, candidate.runs, band, candidate.flown_in)
        if schedule is None:
            return
        found = bench.quick(schedule, question.primary, last_look(question))
        if found.least >= question.request.power:
            count = days * blocks
            yield Way(
                f"{days} days of {blocks} blocks instead of {question.request.days} ({count} blocks in all)",
                days,
                schedule.hours_in_the_field(),
                found.least,
            )
            return


def _longer_days(question: Question, band: float) -> Iterator[Way]:
    """The fewest hours more a day that settle it."""
    now = question.end - question.start
    for more in (1.0, 2.0, 3.0, 4.0, 6.0):
        if now + more > LONGEST_DAY:
            return
        # A forecast is for the hours that were given: what it says of their end is taken to hold from then on.
        longer = replace(question, end=question.end + more)
        tried, _ = best(Bench(longer), band, range(1, question.request.days + 1))
        if tried is not None and tried.prospect.least >= question.request.power:
            yield Way(f"{now + more:.1f} h a day instead of {now:.1f} h", *tried.cost, tried.prospect.least)
            return


def _better(question: Question, candidate: Candidate) -> Iterator[tuple[str, Question]]:
    """Changes of the question that may settle it within the days there are."""
    primary = question.primary
    for name, scope, share in candidate.prospect.shares[:3]:
        if share < 0.1:
            continue
        if scope == "run" and primary.scatter is not None:
            yield (
                f"runs that scatter half as much ({name}: calmer air, steadier flying)",
                _with_primary(question, replace(primary, scatter=0.5 * primary.scatter)),
            )
        elif scope == "run":
            source = _largest_reading(question, candidate)
            if source:
                yield f"{source} twice as good", _halved(question, source)
        else:
            yield f"{name} half as large", _halved(question, name)
    if question.campaign.refit and question.swap_hours > 0:
        yield "a swap in half the time", replace(question, swap_hours=0.5 * question.swap_hours)


def _with_primary(question: Question, changed) -> Question:
    return replace(question, wanted=tuple(changed if one.asked.primary else one for one in question.wanted))


def _halved(question: Question, name: str) -> Question:
    sources = tuple(
        replace(source, standard_uncertainty=0.5 * source.standard_uncertainty) if source.name == name else source
        for source in question.campaign.sources
    )
    return replace(question, campaign=replace(question.campaign, sources=sources))


def _largest_reading(question: Question, candidate: Candidate) -> str:
    """Name of the source that scatters the primary measure's runs most."""
    contributions = Bench(question).careful(candidate.schedule, question.primary).reduction.contributions
    sizes = {source.name: float(np.mean(np.square(size))) for source, size in contributions if source.scope == "run"}
    return max(sizes, key=sizes.get) if sizes else ""
