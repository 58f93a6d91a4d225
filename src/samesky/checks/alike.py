"""Were the configurations flown in the same conditions, or does a condition go with the configuration?

A correction is an estimate. Where every run of one side had more wind, more weight, warmer air or another height than
every run of the other, the correction alone stands between the condition and the answer; where nothing corrects for the
condition, what it does counts as difference between the configurations.

Every condition of every measure is looked at: those that its corrections use, those that its file has beside them, who
flew, and from which strip.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.settings.aeroplane import OWN_SPEEDS
from samesky.campaign.settings.conditions import conditions, shown
from samesky.checks import catalogue as say
from samesky.measures.sensitivity import reduce_runs
from samesky.measures.shape import Runs
from samesky.reduction.reduction import common_sky, own_sky, whole_runs

#: Fewest runs a side before "every run of the one above every run of the other" means anything by itself: by chance
#: alone three a side do so once in ten times, four once in thirty-five.
FEWEST = 4
#: Where they are fewer, or overlap, the sides must lie so many times as far apart as is small, and be so many times as
#: far apart as the runs of one side scatter (assumed): heights and bands are set, and not by chance.
FAR, CLEAR = 3.0, 2.0
#: Conditions that any run may have beside those that its measure's corrections use.
BESIDE = ("headwind", "crosswind", "gust", "oat", "dew point", "pressure", "weight", "fuel", "slope")
#: Differences of the means [SI] below which a condition is alike whatever its order (assumed), by condition, else by
#: dimension: half a knot of headwind, one of crosswind and gusts, two of airspeed; 3 kg; 2 K, 4 K of dew point, which
#: hardly thins the air; 4 hPa, or the 30 m of height that make them; a fifth of a per cent of slope.
SMALL = {"weight": 3.0, "headwind": 0.26, "crosswind": 0.52, "gust": 0.52, "dew point": 4.0}
SMALL_OF = {"speed": 1.03, "mass": 3.0, "temperature": 2.0, "pressure": 400.0, "length": 30.0, "fraction": 0.002}
#: Words of a row that can go with the configuration.
WORDS = ("pilot", "runway")


def alike_findings(campaign: Campaign, table: RunTable, runs: Runs) -> list[Finding]:
    """One warning for each two configurations that were flown apart in a condition of the (prepared) runs."""
    flown = [key for key in campaign.configurations if np.any(table.included & (table.configuration == key))]
    found, corrected = [], _corrected(campaign, table, runs)
    for first, other in combinations(sorted(flown, key=lambda key: key != campaign.baseline), 2):
        said = {name: _apart(campaign, table, runs, name, first, other) for name in _names(table, runs)}
        said |= {name: _in_words(table, name, first, other) for name in WORDS}
        said = {name: words for name, words in said.items() if words}
        if not said:
            continue
        leaning = [name for name in said if name in corrected]
        rest = [name for name in said if name not in corrected]
        sentence = say.ALIKE_BOTH if leaning and rest else say.ALIKE_CORRECTED if leaning else say.ALIKE_UNCORRECTED
        facts = {"first": first, "other": other, "apart": "; ".join(said.values())}
        facts |= {"corrected": listed(leaning), "uncorrected": listed(rest)}
        found.append(Finding("warning", table.file, sentence(**facts)))
    return found


def _names(table: RunTable, runs: Runs) -> list[str]:
    """The conditions to look at; airspeeds at lift-off and touch-down are looked at elsewhere, with own advice."""
    # The pressure of a band or of a level run is its height, and fuel is a weight: said once.
    twice = {"pressure": ("from", "altitude"), "fuel": ("weight",)}
    names = dict.fromkeys((*table.measure.conditions, *BESIDE))
    return [
        name
        for name in names
        if name in runs and name not in OWN_SPEEDS and not any(one in runs for one in twice.get(name, ()))
    ]


def _corrected(campaign: Campaign, table: RunTable, runs: Runs) -> set[str]:
    """The conditions that the corrections bring to the same sky: in another sky the results would be others."""
    sky, whole, found = common_sky(campaign, table, runs), whole_runs(table, runs), set()
    some = {name: values[whole] for name, values in runs.items()}
    own = own_sky(campaign, table, sky, whole)
    for name in sky:
        moved = {**own, name: np.asarray(own[name]) + _small(table, name)}
        here, there = (reduce_runs(table.measure, some, one)[-1].value[table.included[whole]] for one in (own, moved))
        if not np.array_equal(here, there, equal_nan=True):
            found.add(name)
    return found


def _small(table: RunTable, name: str) -> float:
    return SMALL.get(name, SMALL_OF.get(conditions([table.measure])[name].dimension, np.inf))


def _apart(campaign: Campaign, table: RunTable, runs: Runs, name: str, first: str, other: str) -> str:
    """A condition with its mean on either side, where these lie apart; blank where they do not."""
    values, label = runs[name], name
    if name == "crosswind":
        values = np.abs(values)
    if name == "gust" and "headwind" in runs:
        values, label = values - np.abs(runs["headwind"]), "gust less headwind"
    sides = [_counted(table, values, key) for key in (first, other)]
    if name == "weight":
        # What the part itself weighs is the change, not a condition of the day.
        sides = [side - campaign.configurations[key].mass for side, key in zip(sides, (first, other), strict=True)]
        sides = [side + campaign.configurations[campaign.baseline].mass for side in sides]
    if not all(side.size for side in sides) or not _lie_apart(sides[0], sides[1], _small(table, name)):
        return ""
    means = [
        f"{key} {shown(campaign, table, name, float(side.mean()))}"
        for key, side in zip((first, other), sides, strict=True)
    ]
    if name == "weight" and campaign.configurations[first].mass != campaign.configurations[other].mass:
        label = "weight beside the part's own"
    return f"{label} {', '.join(means)} on average"


def _lie_apart(one: np.ndarray, other: np.ndarray, small: float) -> bool:
    low, high = sorted((one, other), key=np.mean)
    between, fewest = high.mean() - low.mean(), min(low.size, high.size)
    if between < small:
        return False
    if fewest >= FEWEST and high.min() > low.max():
        return True
    return bool(between >= FAR * small and between >= CLEAR * max(np.ptp(low), np.ptp(high)))


def _in_words(table: RunTable, name: str, first: str, other: str) -> str:
    """Where each side has words of its own and no word of the other; blank where one is missing or shared."""
    counts = table.included
    sides = [
        {table.text[name][row].strip().casefold() for row in np.flatnonzero(counts & (table.configuration == key))}
        for key in (first, other)
    ]
    if "" in sides[0] | sides[1] or sides[0] & sides[1]:
        return ""
    return f"{name} {first} {listed(sorted(sides[0]))}, {other} {listed(sorted(sides[1]))}"


def _counted(table: RunTable, values: np.ndarray, key: str) -> np.ndarray:
    side = values[table.included & (table.configuration == key)]
    return side[np.isfinite(side)]
