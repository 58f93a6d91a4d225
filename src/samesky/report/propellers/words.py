"""How is it said what settings of propellers tell: propeller or pitch?"""

from __future__ import annotations

import math

from samesky.campaign.messages.words import listed
from samesky.inference.propellers.reasons import CALLED
from samesky.inference.propellers.tilt import LEVEL_RPM
from samesky.inference.propellers.told import SHOWN_BY, Answer, Propellers, Tilted, Turning
from samesky.report import phrases
from samesky.report.sections import PageTable

#: What a blade that flattens or winds up with airspeed shows, and what a picture of it needs.
WINDING = (
    "A fixed pitch turns faster the faster the aeroplane flies; a blade that flattens under load gains more rpm than "
    "its neighbour, one that winds up gains less."
)


def sentences(found: Propellers) -> list[str]:
    """All that is said, in order: answers, one setting each, engine speeds, what is not told.

    Parameters
    ----------
    found : what a campaign tells of its propellers
    """
    if found.refused:
        return []
    said = [told(found, one) for one in found.told]
    said += one_setting(found)
    said += not_told(found)
    said += gained(found)
    return said


def short(found: Propellers) -> list[str]:
    """What decides, or why nothing does: the answers first read.

    Parameters
    ----------
    found : what a campaign tells of its propellers
    """
    deciding = [told(found, one) for one in found.told if one.deciding]
    return deciding or one_setting(found) or not_told(found)


def told(found: Propellers, one: Answer) -> str:
    """One answer, a sentence.

    Parameters
    ----------
    found : all of them
    one : an answer that is not refused
    """
    unit = "rpm" if one.against in SHOWN_BY else found.units[one.against]
    at = phrases.amount(found.shown(one.against, math.log(one.value)), unit, 0 if one.against in SHOWN_BY else 1)
    if one.against == LEVEL_RPM and found.limit is not None:
        left = 100.0 * (1.0 - one.value / found.limit)
        at += f" with {phrases.number(left, 1)}{phrases.NARROW}% in hand"
    decides = " (decides)" if one.deciding else ""
    verdict = one.verdict.removesuffix(" better") + " is better" if one.verdict.endswith(" better") else one.verdict
    title = phrases.capital(one.title)
    return (
        f"{title} at the same {CALLED[one.against]}, {at}{decides}: {one.second} minus {one.first} "
        f"{_interval(one.percent, one.percent_95)}: {verdict}. {one.flown} was flown there; the other propeller is "
        f"read from the line between {listed(one.between)}."
    )


def not_told(found: Propellers) -> list[str]:
    """Why propellers are not compared at a value, a sentence a reason."""
    why: dict[str, list[str]] = {}
    for one in found.answers:
        if one.refused and (called := CALLED[one.against]) not in why.setdefault(one.refused, []):
            why[one.refused].append(called)
    return [f"Not compared at the same {listed(called, 'or')}: {reason}" for reason, called in why.items()]


def one_setting(found: Propellers) -> list[str]:
    """What another setting could make of the differences, where each propeller was flown at one; empty where not."""
    said = []
    for pair in dict.fromkeys((one.first, one.second) for one in found.tilted):
        own = [one for one in found.tilted if (one.first, one.second) == pair]
        first, second = pair
        said.append(
            f"{first} and {second} were flown at one setting each ({listed(own[0].configurations)}): they are compared "
            f"as set, not as propellers. What follows sets {second} to the {CALLED[own[0].against]} of {first} by the "
            "simulated tilt of a propeller's line; only another setting flown shows it."
        )
        said += [_tilted(one) for one in own]
    alone = [name for name, keys in found.settings.items() if len(keys) == 1]
    if not said and len(found.settings) > 1 and len(alone) == len(found.settings):
        said.append(
            f"{listed(alone)} were flown at one setting each: they are compared as set, not as propellers. Write down "
            "the rpm of static pulls or full-throttle level runs, and it can be said how much another setting could do."
        )
    return said


def _tilted(one: Tilted) -> str:
    left = _interval(one.left[0], one.left[1:])
    low, high = sorted(one.left[1:])
    rest = (
        f"{left} is left, which another setting does not explain"
        if low > 0.0 or high < 0.0
        else f"{left} is left: the setting alone may be the whole difference"
    )
    as_set, by = (_interval(value[0], value[1:]) for value in (one.as_set, one.by_setting))
    title = phrases.capital(one.title)
    return f"{title}, {one.second} minus {one.first}: as set {as_set}; that setting would change {by}; {rest}."


def gained(found: Propellers) -> list[str]:
    """How much rpm each configuration gains from the slowest to the fastest measure, a sentence; empty where unread."""
    gains = []
    for key in dict.fromkeys(one.configuration for one in found.turning):
        own = sorted((one for one in found.turning if one.configuration == key), key=lambda one: one.airspeed)
        own = [one for one in own if not one.throttled]
        if len(own) > 1:
            more = 100.0 * (own[-1].speed / own[0].speed - 1.0)
            gains.append((own[0].title, own[-1].title, f"{key} {phrases.percent(more)}"))
    said = []
    for start, end in dict.fromkeys((one[0], one[1]) for one in gains):
        own = [words for a, b, words in gains if (a, b) == (start, end)]
        said.append(f"Rpm gained from {start} to {end}: {listed(own)}. {WINDING}")
    return said


def engine_speeds(found: Propellers) -> PageTable:
    """Static, climb and level rpm of every configuration with the rpm in hand."""
    measures = list(dict.fromkeys((one.measure, one.title) for one in found.turning))
    by_place = {(one.configuration, one.measure): one for one in found.turning}
    rows = []
    for name, keys in found.settings.items():
        for key in keys:
            rows.append([key, name, *(_turning(by_place.get((key, measure))) for measure, _ in measures)])
    return PageTable(["config.", "propeller", *(title for _, title in measures)], rows, words=frozenset({0, 1}))


def _turning(one: Turning | None) -> str:
    if one is None:
        return "not read"
    in_hand = "" if math.isnan(one.in_hand) else f", {phrases.number(100.0 * one.in_hand, 1)}{phrases.NARROW}% in hand"
    held = ", throttled back" if one.throttled else ""
    return f"{phrases.number(60.0 * one.speed, 0)}{phrases.NARROW}rpm{in_hand}{held}"


def speeds_in_words(found: Propellers) -> list[str]:
    """The engine speeds as sentences, a configuration each."""
    table = engine_speeds(found)
    return [
        f"{row[0]} ({row[1]}): "
        + "; ".join(f"{title} {cell}" for title, cell in zip(table.header[2:], row[2:], strict=True))
        + "."
        for row in table.rows
        if len(row) > 2
    ]


def _interval(percent: float, ends: tuple[float, ...]) -> str:
    low, high = (phrases.percent(end).replace(f"{phrases.NARROW}%", "") for end in sorted(ends))
    return f"{phrases.percent(percent)} ({low} to {high})"
