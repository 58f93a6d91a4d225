"""Where nothing that fits can settle the question: what would?

One thing is changed at a time: more days, longer days, a better reading, a smaller re-rigging error, a quicker swap,
calmer air. Where no single change is enough, they are put together.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import ANSWERS
from samesky.inference.design import FEWEST_DAYS
from samesky.planning.question import Question
from samesky.planning.search import Candidate, best, laid_out, last_look, order_of
from samesky.planning.trial import Bench

#: Most days that are proposed, and the longest day in the field [h]: tired crews prove nothing (assumed).
MOST_DAYS, LONGEST_DAY = 14, 10.0
#: Calm air: the strongest wind and the widest gust spread [m/s] (3 kt each), and hours that a calm morning lasts
#: (assumed).
CALM, CALM_HOURS = 3.0 * 1852.0 / 3600.0, 5.0
#: Where all measures are to tell the deciding one: runs at each fitting of those that see the thrust, and of the others
#: (with one alone three fittings give no interval), most blocks a day, and hours more a day that are tried (chosen).
TOGETHER, LEAST, MOST_TOGETHER, LATER = (2, 3, 4, 6), 2, 5, 2.0
#: Such a way is told where it is likelier than not, and by so much likelier than the plan (chosen).
LIKELIER, GAINED = 0.5, 0.2
#: A cause of less than this share of the variance is not worth improving alone (assumed).
_WORTH = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Alternative:
    """Something that would settle the primary measure: in words, with days, hours in the field and the power then.

    ``question`` is the question so changed.
    """

    says: str
    days: int
    hours: float
    power: float
    question: Question


def alternatives(bench: Bench, candidate: Candidate, band: float) -> tuple[Alternative, ...]:
    """What would settle the primary measure, or by all measures likelier than not, cheapest first; empty where nothing
    that is tried does.
    """
    question = bench.question
    found = [*_by_all_measures(bench, candidate, band), *_more_days(bench, candidate, band)]
    found += _longer_days(question, band)
    for says, changed in _better(question, candidate):
        found += _if_settled(says, Bench(changed, bench), band, range(1, question.request.days + 1))
    if not any(way.power >= question.request.power for way in found):
        found += _together(question, candidate, band)
    return tuple(sorted(found, key=lambda way: (way.days, way.hours)))


def _by_all_measures(bench: Bench, candidate: Candidate, band: float) -> list[Alternative]:
    """The cheapest way in which all measures together tell the deciding one: few runs of those that see the thrust.

    It need not reach the chance that is asked for, where it is likelier than not: nothing else comes near its price.
    """
    question = bench.question
    primary = question.primary
    others = [one for one in question.wanted if one.asked.measure.thrust is not None and one is not primary]
    if primary.asked.measure.thrust is None or not others or primary.asked.answer_from != ANSWERS[0]:
        return []
    asked = replace(primary.asked, answer_from=ANSWERS[1])
    wanted = tuple(
        replace(one, asked=asked if one is primary else one.asked, runs_a_block=None) for one in question.wanted
    )
    end = max(question.end, min(question.end + LATER, question.start + LONGEST_DAY))
    longer = Bench(replace(question, wanted=wanted, end=end))
    ways = sorted(_together_ways(longer, candidate, band, {one.name for one in others}), key=_cost)
    for enough in (question.request.power, max(LIKELIER, candidate.power.least + GAINED)):
        for way in ways:
            if way.power >= enough:
                return [way]
    return []


def _cost(way: Alternative) -> tuple[int, float]:
    return way.days, way.hours


def _together_ways(bench: Bench, candidate: Candidate, band: float, seeing: set[str]) -> Iterator[Alternative]:
    """What is told by all measures, by order and by runs at each fitting of those that see the thrust."""
    question, refit = bench.question, bench.question.campaign.fitted_anew
    for days in range(1, question.request.days + 1):
        for blocks in range(3 if refit else 1, MOST_TOGETHER + 1):
            order = order_of(question, days, blocks)
            for each in TOGETHER if refit else (1,):
                runs = {one.name: each if one.name in seeing else min(each, LEAST) for one in question.wanted}
                schedule, _ = laid_out(question, order, runs, band)
                if schedule is None:
                    break
                power = bench.deciding(schedule, question.primary, last_look(question)).least
                hours = schedule.hours_in_the_field()
                says = _together_words(question, candidate, order, runs, hours)
                yield Alternative(says, schedule.days, hours, power, question)
                if power >= question.request.power:
                    break


def _together_words(
    question: Question, candidate: Candidate, order: Sequence[Sequence[str]], runs: Mapping[str, int], hours: float
) -> str:
    """``told by all measures, ...``: what is flown at each fitting, and how much longer than the plan it takes."""
    each = listed(
        [f"{runs[one.name]} {one.asked.measure.title}{'s' * (runs[one.name] > 1)}" for one in question.wanted]
    )
    keys = {"A": question.campaign.baseline, "B": question.other}
    flown = " | ".join(" ".join(keys[letter] for word in day for letter in word) for day in order)
    minutes = round(60.0 * (hours - candidate.cost[1]))
    than = "as long as the plan" if minutes == 0 else f"{abs(minutes)} minutes {'more' if minutes > 0 else 'less'}"
    entry = f'answer_from = "all measures" into [measure.{question.primary.name}]'
    at = "at each fitting" if question.campaign.fitted_anew else "in each turn"
    return f"told by all measures, {each} {at} in {flown} ({than}); before the first flight write {entry}"


def _if_settled(says: str, bench: Bench, band: float, days: range) -> list[Alternative]:
    tried, _ = best(bench, band, days)
    if tried is None or tried.power.least < bench.question.request.power:
        return []
    return [Alternative(says, *tried.cost, tried.power.least, bench.question)]


def _with_days(question: Question, days: int) -> Question:
    return replace(question, request=replace(question.request, days=days))


def _more_days(bench: Bench, candidate: Candidate, band: float) -> Iterator[Alternative]:
    """The fewest days that settle it, each flown as the candidate's."""
    question = bench.question
    blocks, now = len(candidate.order[0]), question.request.days
    for days in range(now + 1, MOST_DAYS + 1):
        order = order_of(question, days, blocks)
        schedule, _ = laid_out(question, order, candidate.runs, band, candidate.flown_in)
        if schedule is None:
            return
        power = bench.deciding(schedule, question.primary, last_look(question)).least
        if power >= question.request.power:
            says = f"{days} days of {blocks} blocks instead of {now} ({days * blocks} blocks in all)"
            yield Alternative(says, days, schedule.hours_in_the_field(), power, _with_days(question, days))
            return


def _longer_days(question: Question, band: float) -> list[Alternative]:
    """The fewest hours more a day that settle it."""
    now = question.end - question.start
    for more in (1.0, 2.0, 3.0, 4.0, 6.0):
        if now + more > LONGEST_DAY:
            break
        # A forecast is for the hours that were given: what it says of their end is taken to hold from then on.
        longer = replace(question, end=question.end + more)
        says = f"{now + more:.1f} h a day instead of {now:.1f} h"
        found = _if_settled(says, Bench(longer), band, range(1, question.request.days + 1))
        if found:
            return found
    return []


def _better(question: Question, candidate: Candidate) -> Iterator[tuple[str, Question]]:
    """Single changes that may settle it within the days there are."""
    primary = question.primary
    for name, scope, share in candidate.power.shares[:3]:
        if share < _WORTH:
            continue
        if scope == "run" and primary.scatter is not None:
            halved = replace(primary, scatter=0.5 * primary.scatter)
            yield "runs that scatter half as much (calmer air, steadier flying)", _with_primary(question, halved)
        elif scope == "run":
            source = _largest_reading(question, candidate)
            if source:
                yield f"{source} twice as good", _halved(question, source)
        else:
            yield f"{name} half as large", _halved(question, name)
    if question.campaign.fitted_anew and question.swap_hours > 0:
        yield "a swap in half the time", replace(question, swap_hours=0.5 * question.swap_hours)
    if not _is_calm(question):
        yield f"calm air ({_calm_words()})", _calm(question)


def _together(question: Question, candidate: Candidate, band: float) -> list[Alternative]:
    """The fewest days of calm mornings that settle it, then with the worst reading twice as good as well."""
    hours = max(CALM_HOURS, question.end - question.start)
    says = f"mornings of {hours:.0f} h"
    changed = replace(question, end=question.start + hours)
    if not _is_calm(question):
        says, changed = f"calm {says} ({_calm_words()})", _calm(changed)
    source = _largest_reading(question, candidate)
    steps = [(says, changed)]
    if source and question.primary.scatter is None:
        steps.append((f"{says}, with the {source} twice as good", _halved(changed, source)))
    for words, better in steps:
        bench = Bench(better)
        # What the most days do not settle fewer do not, but where days are not yet the samples.
        most = Bench(_with_days(better, MOST_DAYS), bench)
        within = _if_settled(words, most, band, range(MOST_DAYS, MOST_DAYS + 1))
        for days in range(1, MOST_DAYS + 1 if within else FEWEST_DAYS):
            of_days = Bench(_with_days(better, days), bench)
            found = _if_settled(f"{days} {words}", of_days, band, range(days, days + 1))
            if found:
                return found
    return []


def _is_calm(question: Question) -> bool:
    ends = question.request.forecast
    wind, gust = ends.get("wind"), ends.get("gust")
    return wind is None or (max(wind) <= CALM and (gust is None or np.max(np.subtract(gust, wind)) <= CALM))


def _calm_words() -> str:
    calm = f"{CALM * 3600.0 / 1852.0:.0f} kt"
    return f"wind up to {calm}, gusts at most {calm} above it"


def _calm(question: Question) -> Question:
    ends = dict(question.request.forecast)
    spread = np.subtract(ends.get("gust", ends["wind"]), ends["wind"])
    start, end = (min(speed, CALM) for speed in ends["wind"])
    ends["wind"] = start, end
    if "gust" in ends:
        ends["gust"] = start + min(float(spread[0]), CALM), end + min(float(spread[1]), CALM)
    return replace(question, request=replace(question.request, forecast=ends))


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
    contributions = Bench(question).reduced(candidate.schedule, question.primary)[1].contributions
    sizes = {source.name: float(np.mean(np.square(size))) for source, size in contributions if source.scope == "run"}
    return max(sizes, key=lambda name: sizes[name]) if sizes else ""
