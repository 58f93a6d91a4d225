"""How is it said what all measures tell of one, beside its own answer?"""

from __future__ import annotations

import math
from collections.abc import Sequence

from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import ANSWERS, Campaign
from samesky.inference import verdict
from samesky.inference.result import Comparison
from samesky.inference.together.told import ExcessThrust, disagreement
from samesky.report import phrases


def beside(one: Comparison) -> str:
    """The answer of its own runs and that of all measures, a sentence; empty where the others add nothing."""
    told = one.by_all
    if told is None or one.withheld or not told.adds:
        return ""
    own = _answer(one.percent, one.percent_95)
    by_all = _answer(told.percent, told.percent_95)
    said = f"By its own runs {own}; by all measures {by_all}: {told.verdict}"
    return f"{said}, and on a condition {told.conditional}." if told.conditional else f"{said}."


def not_flown(found: Sequence[ExcessThrust]) -> list[str]:
    """Measures without runs of their own that all others tell at the readings expected, a sentence each."""
    return [
        f"{phrases.capital(one.title)}, not flown, at the readings that the plan expects: by all measures "
        f"{_answer(one.percent, one.percent_95)} ({each.other} against {each.baseline}): {one.verdict}."
        for each in found
        for one in each.predicted.values()
        if not one.flown
    ]


def _answer(percent: float, ends: tuple[float, float]) -> str:
    if any(math.isnan(end) for end in ends):
        return f"{phrases.percent(percent)} (no interval)"
    low, high = (phrases.percent(end).replace(f"{phrases.NARROW}%", "") for end in ends)
    return f"{phrases.percent(percent)} ({low} to {high})"


def fixed(one: Comparison) -> str:
    """Which answer decides and when that was fixed, a sentence; empty where nothing but its own runs tell."""
    told, settings = one.by_all, one.scale.asked
    if settings.answer_from == ANSWERS[0] and (told is None or not told.adds):
        return ""
    if settings.answer_from == ANSWERS[0]:
        decides = "Its own runs decide"
    elif told is None:
        return "All measures were to decide; they cannot tell this measure, so its own runs do."
    else:
        decides = "All measures together decide"
    days = sorted(filter(None, one.reduction.table.text.get("date", [])))
    when = settings.answer_fixed
    if when is None:
        if settings.answer_from == ANSWERS[0]:
            return f"{decides}, as they do where nothing else is entered."
        return f"{decides}; when that was fixed is not entered (answer_fixed), and fixed after flying it proves less."
    if days and when.isoformat() > days[0]:
        return (
            f"{decides}; that was fixed on {when.isoformat()}, after the first run ({days[0]}): results may have been "
            "seen, and the answer proves less than its interval says."
        )
    before = "before the flying" if not days or when.isoformat() < days[0] else "on the first day of flying"
    return f"{decides}, fixed on {when.isoformat()}, {before}."


def headline(one: Comparison) -> str:
    """The verdict of the answer that decides, in a few words."""
    if one.deciding_verdict == one.verdict or one.by_all is None:
        return phrases.headline(one)
    winner = decided(one)
    said = f"{winner} is better" if winner else phrases.capital(one.deciding_verdict)
    return f"{said} (by all measures)"


def decided(one: Comparison) -> str | None:
    """The configuration that the deciding answer calls better, if any."""
    better = {verdict.words(verdict.OTHER_BETTER, key, key): key for key in (one.baseline, one.other)}
    return better.get(one.deciding_verdict)


def first(found: Sequence[ExcessThrust]) -> list[str]:
    """What has to be said before any answer: that measures disagree."""
    return [
        said if len(found) == 1 else f"{one.other} against {one.baseline}: {said}"
        for one in found
        if (said := disagreement(one))
    ]


def rests_on(found: Sequence[ExcessThrust], campaign: Campaign) -> list[str]:
    """What the answers by all measures rest on, or why there is none; empty where no measure sees thrust."""
    said = []
    for one in found:
        if one.refused:
            # Of a campaign with one such measure nobody expects more.
            seen = sum(asked.measure.thrust is not None for asked in campaign.asked.values())
            if seen > 1:
                said.append(f"Nothing is told by all measures together: {one.refused}")
            continue
        blind = [f"{title} ({reason})" for title, reason in one.unseen.items()]
        if blind:
            said.append(f"Not in the answer by all measures: {listed(blind)}.")
    if any(not one.refused for one in found):
        said.append(
            "By all measures: each is a difference of thrust less drag at its own airspeed, and a line through all of "
            "them, which may bend, tells each. That holds for a change of thrust or drag at one weight; a change of "
            "tyres, brakes, technique or lift breaks it."
        )
    return list(dict.fromkeys(said))
