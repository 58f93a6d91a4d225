"""How is it said where each configuration stands to its limits, and what a lighter nose changes?"""

from __future__ import annotations

import math
from collections.abc import Sequence

from samesky import units
from samesky.campaign.derived.hard_limits import HardLimit, NoseChange, hard_limits, nose_changes
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign
from samesky.inference.result import Comparison
from samesky.report import phrases
from samesky.report.sections import PageTable, TableCell

#: Said where a value or a limit is not there.
NOT_ENTERED = "not entered"
#: Limits that no table of a campaign can hold: nothing to enter.
NO_LIMIT = ("centre of gravity, empty", "tip Mach")
#: Places behind the point by unit; three where it is not named.
_PLACES = {"cm": 0, "mm": 0, "in": 1, "m": 3, "ft": 2, "kg": 0, "lb": 0, "dB": 1, "dB(A)": 1, "1": 2}


def table(campaign: Campaign, comparisons: Sequence[Comparison]) -> PageTable:
    """One row a limit, one column a configuration, and the limit as entered."""
    keys = list(campaign.configurations)
    rows: list[list[str | TableCell]] = [_rpm(campaign, comparisons, keys)]
    found = hard_limits(campaign)
    for name in dict.fromkeys(one.name for one in found):
        own = {one.configuration: one for one in found if one.name == name}
        notes = {one.note for one in own.values()}
        # What holds for all is said once, beside the name.
        alike = notes.pop() if len(notes) == 1 else ""
        cells = [_cell(own[key], noted=not alike) for key in keys]
        rows.append([TableCell(name, alike) if alike else name, *cells, _limit(own[keys[0]])])
    return PageTable(["limit", *keys, "as entered"], rows, words=frozenset({0, len(keys) + 1}))


def _rpm(campaign: Campaign, comparisons: Sequence[Comparison], keys: list[str]) -> list[str | TableCell]:
    """The least rpm in hand of each configuration over all measures."""
    least = {
        key: min(own, key=lambda found: found[0].in_hand)
        for key in keys
        if (own := [(one.rpm[key], one.title) for one in comparisons if key in one.rpm])
    }
    titles = {title for _, title in least.values()}
    alike = titles.pop() if len(titles) == 1 else ""
    cells: list[str | TableCell] = []
    for key in keys:
        if key not in least:
            cells.append(NOT_ENTERED)
            continue
        rpm, title = least[key]
        shown = phrases.percent(100.0 * rpm.in_hand, sign=False)
        cells.append(shown if alike else TableCell(shown, title))
    limit = campaign.engine.speed_limit
    said = NOT_ENTERED if limit is None else f"{60.0 * limit:.0f}{phrases.NARROW}rpm at the most"
    return [TableCell("rpm in hand, at the least", alike) if alike else "rpm in hand, at the least", *cells, said]


def _cell(one: HardLimit, noted: bool) -> str | TableCell:
    if not math.isfinite(one.value):
        return NOT_ENTERED if one.lacks in ("", NOT_ENTERED) else TableCell(NOT_ENTERED, one.lacks)
    shown = f"{_shown(one, one.value)}, outside" if one.broken else _shown(one, one.value)
    return TableCell(shown, one.note) if one.note and noted else shown


def _shown(one: HardLimit, value: float) -> str:
    number = float(units.from_si(value, one.unit, one.dimension))
    return phrases.amount(number, one.unit, _PLACES.get(one.unit, 3))


def _limit(one: HardLimit) -> str:
    if one.name in NO_LIMIT:
        return ""
    if one.least is None and one.most is None:
        return NOT_ENTERED
    if one.least is not None and one.most is not None:
        return f"{_shown(one, one.least)} to {_shown(one, one.most)}"
    if one.least is not None:
        return f"{_shown(one, one.least)} at the least"
    return f"{_shown(one, one.most or 0.0)} at the most"


def limit_words(one: HardLimit) -> str:
    """A limit that is broken, such as ``B: tip clearance 21 cm, at the least 23 cm is asked``."""
    least = one.least is not None and one.value < one.least
    bound = one.least if least else one.most
    end = "at the least" if least else "at the most"
    return f"{one.configuration}: {one.name} {_shown(one, one.value)}, {end} {_shown(one, bound or 0.0)}"


def broken(campaign: Campaign) -> list[str]:
    """Limits that a configuration breaks, a sentence each."""
    return [
        f"{limit_words(one)}. Do not fly it so; the aeroplane's papers and licensed people decide."
        for one in hard_limits(campaign)
        if one.broken
    ]


def not_entered(campaign: Campaign) -> str:
    """What was not entered, so that nothing is said of it, a sentence; empty where all was."""
    found = hard_limits(campaign)
    values = [one.name for one in found if not math.isfinite(one.value)]
    bounds = [
        f"the limit of {one.name}"
        for one in found
        if math.isfinite(one.value) and one.name not in NO_LIMIT and one.least is None and one.most is None
    ]
    lacking = list(dict.fromkeys([*values, *bounds]))
    return f"Not entered, so not judged: {listed(lacking)}." if lacking else ""


def balance(campaign: Campaign) -> list[str]:
    """What another configuration's part does to the balance, a sentence each."""
    return [_nose(campaign, one) for one in nose_changes(campaign)]


def _nose(campaign: Campaign, one: NoseChange) -> str:
    less = "lighter" if one.mass < 0 else "heavier"
    way = "aft" if one.shift > 0 else "forward"
    part = (
        f"{phrases.number(abs(one.mass), 1)}{phrases.NARROW}kg {less} than {campaign.baseline}'s"
        if one.mass
        else "as heavy, elsewhere"
    )
    said = [
        f"{one.configuration}'s part is {part}: loaded, the centre of gravity moves "
        f"{phrases.number(1000.0 * abs(one.shift), 0)}{phrases.NARROW}mm {way}"
    ]
    if math.isfinite(one.tail_load):
        change = "less" if one.tail_load > 0 else "more"
        said.append(f"the tail holds down with {phrases.number(abs(one.tail_load), 0)}{phrases.NARROW}N {change}")
    else:
        said.append("tail load not said (tail_arm not entered)")
    if not math.isfinite(one.ballast):
        said.append("ballast not said (ballast_arm not entered)")
    elif one.ballast > 0:
        said.append(f"it does what {phrases.number(one.ballast, 1)}{phrases.NARROW}kg of ballast would")
    else:
        said.append(
            f"it needs {phrases.number(-one.ballast, 1)}{phrases.NARROW}kg of ballast to balance as {campaign.baseline}"
        )
    return f"{'; '.join(said)}."
