"""How is it said which configuration suits which flying, with its reason and its risk?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from samesky.campaign.derived.hard_limits import hard_limits
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import ANSWERS, Campaign
from samesky.campaign.settings.flying import not_counted
from samesky.inference import verdict
from samesky.inference.result import Comparison
from samesky.inference.several import ranking
from samesky.measures import MEASURES
from samesky.mission.fly_first import MOST, FlyFirst, fly_first
from samesky.mission.trade_off import FIRM, Gain, Suited, correlated, gains, judge_mission, trade_off
from samesky.mission.weights import normalised
from samesky.report import by_all_words, phrases
from samesky.report.adding_up import adding_up
from samesky.report.choice.hard_limits import limit_words
from samesky.report.sections import PageTable

HEADER = ["flying", "answer", "gain (95 %)", "ahead in", "counts"]
#: Name of all kinds of flying together, each by its share of the year.
YEAR = "all your flying"
#: Labels longer than this are not repeated with every answer.
SHORT = 48


@dataclass(frozen=True, slots=True)
class FlyingAnswer:
    """The answer for one kind of flying (``suited`` of one pair), with its share of the year and its sentence."""

    suited: Suited
    share: float | None
    sentence: str
    first: FlyFirst | None = None

    def to_json(self) -> dict[str, object]:
        """The fields promised to machines."""
        return {
            **self.suited.to_json(),
            "share_of_year": self.share,
            "fly_first": None
            if self.first is None
            else {
                "measure": self.first.measure,
                "fittings_of_each": self.first.fittings or None,
                "runs_on_each": self.first.runs or None,
                "return_to_the_first": self.first.back,
            },
            "sentence": self.sentence,
        }


def suited(campaign: Campaign, comparisons: Sequence[Comparison]) -> list[Suited]:
    """Every kind of flying of the campaign for every other configuration, in the order of the campaign file.

    None before the last planned look: a kind of flying is weighed once, at the end.
    """
    weighed = {name.replace("_", " "): weights for name, weights in campaign.missions.items() if weights}
    return [one for pair in _pairs(comparisons) for one in pair.judged(weighed)]


@dataclass(frozen=True, slots=True)
class _Pair:
    """The comparisons of one pair with their gains."""

    comparisons: Sequence[Comparison]
    gains: dict[str, Gain]
    shared: dict[tuple[str, str], float]

    def judged(self, weighed: dict[str, dict[str, float]]) -> list[Suited]:
        """What each kind of flying makes of the gains."""
        first = self.comparisons[0]
        compared = max(one.estimate.compared for one in self.comparisons)
        return [
            judge_mission(name, weights, self.gains, first.baseline, first.other, self.shared, compared)
            for name, weights in weighed.items()
        ]


def _pairs(comparisons: Sequence[Comparison]) -> list[_Pair]:
    if before_the_end(comparisons):
        return []
    found = []
    for pair in dict.fromkeys((one.baseline, one.other) for one in comparisons):
        own = [one for one in comparisons if (one.baseline, one.other) == pair]
        found.append(_Pair(own, gains(own), correlated(own)))
    return found


def answers(campaign: Campaign, comparisons: Sequence[Comparison]) -> list[FlyingAnswer]:
    """The answer for each kind of flying, each with its reason and its risk in one sentence.

    With three configurations or more the sentence of the first pair has the order of all of them; the pairs are in the
    table.
    """
    weighed = {name.replace("_", " "): weights for name, weights in campaign.missions.items() if weights}
    shares = {name.replace("_", " "): share for name, share in campaign.share_of_year.items()}
    pairs = _pairs(comparisons)
    found = []
    for pair in pairs:
        for one in pair.judged(weighed):
            first = fly_first(one, pair.gains, pair.comparisons, pair.shared)
            said = _sentence(campaign, one, pair, first, shares.get(one.mission))
            found.append(FlyingAnswer(one, shares.get(one.mission), said, first))
    if len(pairs) > 1:
        ranked = dict(zip(weighed, _rankings([one.suited for one in found]), strict=False))
        return [FlyingAnswer(one.suited, one.share, ranked[one.suited.mission], one.first) for one in found]
    return found


def sentences(campaign: Campaign, comparisons: Sequence[Comparison]) -> list[str]:
    """What a pilot reads: the answer for each kind of flying, then the one for the year, a sentence each."""
    found = answers(campaign, comparisons)
    said = [one.sentence for one in found]
    return list(dict.fromkeys([*said, *filter(None, [over_the_year(campaign, comparisons)])]))


def over_the_year(campaign: Campaign, comparisons: Sequence[Comparison]) -> str:
    """Which one where several kinds of flying are done: one, either, or both and swap; empty with one kind alone.

    With three configurations or more it is left to their order in each kind of flying.
    """
    weighed = {name: weights for name, weights in campaign.missions.items() if weights}
    pairs = _pairs(comparisons)
    if len(weighed) < 2 or len(pairs) != 1:
        return ""
    each = pairs[0].judged(weighed)
    wanted = {
        key: [one.mission.replace("_", " ") for one in each if one.answer == key]
        for key in (each[0].baseline, each[0].other)
    }
    torn = all(wanted.values())
    whole = _year(campaign, pairs[0], weighed)
    if torn:
        both = "; ".join(f"{key} for {listed(kinds)}" for key, kinds in wanted.items())
        said = f"Keep both and swap{_swap(campaign)}: {both}"
        if whole is None:
            return f"{said}; if only one is to stay on, enter how much of the year is which flying (share_of_year)."
        return f"{said}; if only one is to stay on, over the year {_plainly(whole)}."
    if whole is None:
        return ""
    return f"{phrases.capital(YEAR)}, {_shared_out(campaign)}: {_plainly(whole)}."


def _year(campaign: Campaign, pair: _Pair, weighed: dict[str, dict[str, float]]) -> Suited | None:
    """All kinds of flying by their share of the year; None where a share was not entered."""
    shares = campaign.share_of_year
    if any(name not in shares for name in weighed) or not sum(shares.values()) > 0:
        return None
    whole: dict[str, float] = {}
    for name, weights in weighed.items():
        for measure, weight in zip(weights, normalised(np.array(list(weights.values()))), strict=True):
            whole[measure] = whole.get(measure, 0.0) + shares[name] * float(weight)
    return pair.judged({YEAR: whole})[0]


def _plainly(one: Suited) -> str:
    if one.missing or one.unsure:
        return one.sentence().removeprefix(f"{one.mission}: ").rstrip(".")
    return {"either": "either will do", "open": "neither is ahead for sure"}.get(one.answer, f"{one.answer} is ahead")


def _shared_out(campaign: Campaign) -> str:
    return listed([f"{_hundredths(share)} {name.replace('_', ' ')}" for name, share in campaign.share_of_year.items()])


def _hundredths(share: float) -> str:
    return f"{100.0 * share:.0f}{phrases.NARROW}%"


def _swap(campaign: Campaign) -> str:
    if not campaign.fitted_anew or campaign.swap_hours is None:
        return ""
    return f" ({60.0 * campaign.swap_hours:.0f}{phrases.NARROW}min a change)"


def _sentence(campaign: Campaign, one: Suited, pair: _Pair, first: FlyFirst | None, share: float | None) -> str:
    part = "" if share is None else f" ({_hundredths(share)} of the year)"
    head = f"{phrases.capital(one.mission)}{part}: "
    if one.missing or one.unsure:
        return head + one.sentence().removeprefix(f"{one.mission}: ")
    if one.answer == "either":
        said = f"either; weighed together they differ by less than matters{_costs_of_both(pair)}"
        return f"{head}{said}{_broken(campaign, pair, (one.baseline, one.other))}."
    if one.answer == "open":
        return f"{head}{_open(one, pair, first)}{_broken(campaign, pair, (one.baseline, one.other))}."
    winner = one.answer
    why = listed(_reasons(one, pair, winner))
    return f"{head}{_named(campaign, winner)}, {why}; {_risk(one, pair, winner)}{_broken(campaign, pair, (winner,))}."


def _named(campaign: Campaign, key: str) -> str:
    label = campaign.configurations[key].label
    return f"{key} ({label})" if label and label != key and len(label) <= SHORT else key


def _reasons(one: Suited, pair: _Pair, winner: str) -> list[str]:
    """What the winner gains on the measures that count, at most two, the largest part of the sum first."""
    sign = 1.0 if winner == one.other else -1.0
    by_part = sorted(
        (each for each in pair.comparisons if one.weights.get(each.measure, 0.0) > 0),
        key=lambda each: -sign * one.weights[each.measure] * pair.gains[each.measure].gain,
    )
    sure = [each for each in by_part if by_all_words.decided(each) == winner]
    return [f"{each.title} {favour(each, winner)}" for each in (sure or by_part[:1])[:2]]


def _risk(one: Suited, pair: _Pair, winner: str) -> str:
    """What the winner costs or may cost, on any measure flown; and what its kind of flying asks and nobody flew."""
    loser = one.baseline if winner == one.other else one.other
    lost = [each for each in pair.comparisons if by_all_words.decided(each) == loser]
    unflown = [MEASURES[name].title for name in not_counted(one.mission, one.weights) if name in MEASURES]
    said = []
    if lost:
        said.append(f"costs {listed(f'{each.title}: {favour(each, winner)}' for each in lost)}")
    else:
        open_ones = [(each, _worst(each, winner)) for each in pair.comparisons]
        worst = max(open_ones, key=lambda found: found[1], default=None)
        if worst is not None and worst[1] > 1.0:
            said.append(f"may cost {worst[0].title}: up to {_at_worst(worst[0], winner)} is not ruled out")
        else:
            said.append("no measure flown shows a cost that matters")
    if unflown:
        said.append(f"{listed(unflown)} not flown")
    return "; ".join(said)


def _worst(each: Comparison, winner: str) -> float:
    """How much the winner may lose on an undecided measure, in margins; nothing where it is decided or unknown."""
    if each.deciding_verdict != verdict.WORDS[verdict.NOT_ENOUGH]:
        return 0.0
    end = _bad_end(each, winner)
    return abs(end) / each.smallest_that_matters if math.isfinite(end) and each.smallest_that_matters > 0 else 0.0


def _bad_end(each: Comparison, winner: str) -> float:
    """The end of the deciding 95 % interval that is against the winner [the measure's unit]; NaN where none is."""
    low, high = _decides(each)[2]
    good_is_high = (each.better == "larger") == (winner == each.other)
    end = low if good_is_high else high
    against = end < 0 if good_is_high else end > 0
    return end if against else math.nan


def _at_worst(each: Comparison, winner: str) -> str:
    end = _bad_end(each, winner)
    return phrases.change(each, end if winner == each.other else -end)


def _decides(each: Comparison) -> tuple[float, float, tuple[float, float], tuple[float, float]]:
    """Difference, per cent, and their 95 % intervals, of the answer that decides."""
    told = each.by_all
    if each.answer_from == ANSWERS[0] or told is None:
        return each.difference, each.percent, each.interval_95, each.percent_95
    return told.difference, told.percent, told.interval_95, told.percent_95


def favour(each: Comparison, key: str) -> str:
    """``4.1 % shorter (2.0 to 6.6 %)``: what a measure reads with this configuration against the other of the pair."""
    difference, percent, ends, percent_ends = _decides(each)
    if not each.scale.asked.measure.ratio or not math.isfinite(percent):
        sign = 1.0 if key == each.other else -1.0
        low, high = sorted(sign * end for end in ends)
        unit = phrases.unit_behind(each.unit)
        return _between(each, sign * difference, (low, high), phrases.places(each), unit)
    if key == each.other:
        return _between(each, percent, percent_ends, 1, f"{phrases.NARROW}%")
    # Of the other one: what is 5 % more than it is that much more of it.
    low, high = (_turned(end) for end in reversed(percent_ends))
    return _between(each, _turned(percent), (low, high), 1, f"{phrases.NARROW}%")


def _turned(percent: float) -> float:
    return 100.0 * (1.0 / (1.0 + percent / 100.0) - 1.0)


def _between(each: Comparison, value: float, ends: tuple[float, float], places: int, unit: str) -> str:
    less, more = phrases.less_more(each)

    def said(one: float) -> str:
        return f"{phrases.number(abs(one), places)}{unit} {less if one < 0 else more}"

    low, high = ends
    if not (math.isfinite(low) and math.isfinite(high)):
        return said(value)
    if low * high > 0:
        near, far = sorted((abs(low), abs(high)))
        return f"{said(value)} ({phrases.number(near, places)} to {phrases.number(far, places)}{unit})"
    return f"{said(value)} ({said(low)} to {said(high)})"


def _costs_of_both(pair: _Pair) -> str:
    """Where each of the two is better, for whoever may have either; empty where nothing is traded."""
    said = []
    for each in pair.comparisons:
        better = by_all_words.decided(each)
        if better:
            said.append(f"{better} has {each.title} {favour(each, better)}")
    return f": {listed(said)}" if said else ""


def _open(one: Suited, pair: _Pair, first: FlyFirst | None) -> str:
    if one.hangs_on_weights:
        return f"it hangs on what counts more{_costs_of_both(pair)}; keep both and swap, or say which counts more"
    low, high = one.interval_95
    if len(one.weights) == 1 and (low > 0 or high < 0):
        (each,) = (found for found in pair.comparisons if found.measure in one.weights)
        return (
            f"not settled: {each.title} with {one.other} {favour(each, one.other)}, which is no proof here; fly this "
            f"first: {each.title} again, named as the deciding measure beforehand"
        )
    if first is None:
        return (
            f"not settled, and {MOST} times the flying of one measure would not settle it; keep what is on, or choose "
            "by rpm in hand, limits and wear"
        )
    each = next(found for found in pair.comparisons if found.measure == first.measure)
    now = f"{each.title} with {one.other} {favour(each, one.other)}"
    if first.back:
        return (
            f"fly this first: {first.title} with a return to the configuration that the day began with, for drift "
            f"that this order hides keeps it open; now {now}"
        )
    if first.fittings:
        more = (
            f"{_few(first.fittings)} more {'fitting' if first.fittings == 1 else 'fittings'} of each with "
            f"{_few(first.runs)} {'run' if first.runs == 1 else 'runs'} of {first.title} on it"
        )
    else:
        more = f"{_few(first.runs)} more {'run' if first.runs == 1 else 'runs'} of {first.title} with each"
    return f"fly this first: {more}, which settles it if differences stay as they look; now {now}"


def _few(count: int) -> str:
    return {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}.get(count, str(count))


def _broken(campaign: Campaign, pair: _Pair, keys: tuple[str, ...]) -> str:
    """Limits that a configuration breaks, behind the answer that names it; empty where it breaks none."""
    said = [limit_words(one) for one in hard_limits(campaign) if one.configuration in keys and one.broken]
    over = dict.fromkeys(
        key for each in pair.comparisons for key, rpm in each.rpm.items() if key in keys and rpm.over_limit == "yes"
    )
    said += [f"{key} ran above the rpm limit" for key in over]
    return f"; but outside a limit: {listed(said)}" if said else ""


def firm() -> str:
    """In how many draws a configuration has to be ahead to suit a kind of flying."""
    return f"{100 * FIRM:.0f} of 100 draws"


def before_the_end(comparisons: Sequence[Comparison]) -> bool:
    """Whether planned looks are still to come, or nobody can tell."""
    looks = [one.look for one in comparisons]
    return any(one.withheld for one in comparisons) or any(at is not None and at.number < at.planned for at in looks)


def _rankings(found: Sequence[Suited]) -> list[str]:
    """The order of three configurations or more, a sentence for each kind of flying."""
    said = []
    for name in dict.fromkeys(one.mission for one in found):
        own = [one for one in found if one.mission == name]
        lacking = [one for one in own if one.missing or one.unsure]
        if lacking:
            said.append(phrases.capital(lacking[0].sentence()))
            continue
        first = own[0].baseline
        worth = {first: 0.0} | {one.other: one.value for one in own if one.baseline == first}
        order = ranking(worth, {(one.baseline, one.other): _verdict(one) for one in own})
        said.append(f"{phrases.capital(name)}: {order}.")
    return said


def _verdict(one: Suited) -> str:
    if one.answer in (one.baseline, one.other):
        return f"{one.answer} {verdict.WORDS[verdict.OTHER_BETTER]}"
    return verdict.WORDS[verdict.NO_DIFFERENCE if one.answer == "either" else verdict.NOT_ENOUGH]


def traded(comparisons: Sequence[Comparison]) -> str:
    """Where one configuration gains and another loses, in a sentence; empty where nothing is traded."""
    won = trade_off(comparisons)
    if len(won) < 2:
        return ""
    sides = [f"{key} is better on {listed(list(titles))}" for key, titles in won.items()]
    return f"It is a trade: {'; '.join(sides)}."


def table(found: Sequence[Suited]) -> PageTable:
    """One row a kind of flying."""
    return PageTable(HEADER, [_row(one) for one in found], words=frozenset({0, 1, 4}))


def _row(one: Suited) -> list[str]:
    shares = adding_up([100.0 * share for share in one.weights.values()], 0)
    counts = ", ".join(
        f"{name.replace('_', ' ')} {share:.0f} %" for name, share in zip(one.weights, shares, strict=True)
    )
    said = one.sentence().removeprefix(f"{one.mission}: ").rstrip(".")
    if one.missing or one.unsure:
        return [one.mission, said, "", "", counts]
    low, high = one.interval_95
    value = f"{one.value:+.1f} ({low:+.1f} to {high:+.1f})".replace("-", "\u2212")
    other, baseline = adding_up([100.0 * one.other_ahead, 100.0 * one.baseline_ahead], 0)
    ahead = f"{one.other} {other:.0f} %, {one.baseline} {baseline:.0f} %"
    return [one.mission, said, value, ahead, counts]
