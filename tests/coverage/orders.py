"""The flown orders of the certification study: how three, four, six or eight runs a side may be flown."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.reading.read import read
from samesky.rehearsal.script import Script

RUNS = (3, 4, 6, 8)
#: Letters of the runs by order and number a side; ``|`` begins a new day.
LETTERS = {
    "pairs": {3: "ABBAAB", 4: "ABBABAAB", 6: "ABBABAABABBA", 8: "ABBABAABABBABAAB"},
    "days": {3: "AB|BA|AB", 4: "AB|BA|AB|BA", 6: "ABBA|BAAB|ABBA", 8: "ABBA|BAAB|ABBA|BAAB"},
    "blocks with a return": {3: "AABBBA", 4: "AABBAABB", 6: "AAABBBAAABBB", 8: "AAAABBBBAAAABBBB"},
    "blocks over days": {3: "AAB|BBA", 4: "AABB|BBAA", 6: "AAABBB|BBBAAA", 8: "AAAABBBB|BBBBAAAA"},
    "swaps turned round": {3: "AAB|BBA", 4: "AABB|BBAA", 6: "AAABBB|BBBAAA", 8: "AAAABBBB|BBBBAAAA"},
    "single swap": {n: "A" * n + "B" * n for n in RUNS},
}
#: Orders in which changing configuration means fitting a part anew.
REFIT = ("blocks with a return", "blocks over days", "single swap")
#: Hours: first run of a day, from one run to the next, and a swap where a part is fitted anew.
START, STEP, SWAP = 9.5, 1 / 6, 0.5

TOML = """\
title = "Certification"
baseline = "A"
[configuration.A]
label = "one"
[configuration.B]
label = "the other"
[swap]
kind = "refit"
time = "30 min"
[measure.takeoff_roll]
primary = true
smallest_difference_that_matters = "10 %"
[measure.timed_climb]
primary = false
smallest_difference_that_matters = "5 %"
[aeroplane]
empty_weight = "325 kg"
[aeroplane.station.crew]
weight = "160 kg"
[aeroplane.fuel]
weight_per_volume = "0.72 kg/L"
[runway.strip]
elevation = "300 ft"
slope = "0 %"
"""
#: Readings expected, by measure and column [SI].
EXPECTED = {
    "takeoff_roll": {
        "oat": 288.15,
        "qnh": 101325.0,
        "dew point": 280.15,
        "headwind": 1.5,
        "fuel": 30.0,
        "ground roll": 70.0,
        "lift-off airspeed": 19.55,
    },
    "timed_climb": {
        "oat": 285.15,
        "dew point": 278.15,
        "fuel": 30.0,
        "from": 304.8,
        "to": 609.6,
        "elapsed": 62.0,
        "entry airspeed": 30.9,
        "exit airspeed": 30.9,
    },
}


def campaign() -> Campaign:
    """The campaign that all orders are flown in, with the shipped error sources."""
    with tempfile.TemporaryDirectory() as place:
        (Path(place) / "campaign.toml").write_text(TOML, encoding="utf-8")
        return read(Path(place), flown=False)


def order_of(letters: str, fitted_anew: bool) -> dict[str, np.ndarray]:
    """Configuration, installation, day and hours (n,) of the runs."""
    rows, fitted = [], -1
    for day, part in enumerate(letters.split("|")):
        clock = START
        for k, letter in enumerate(part):
            if k == 0 or letter != part[k - 1]:
                fitted += 1
                clock += SWAP if fitted_anew and k else 0.0
            rows.append((letter, fitted, day, 24.0 * day + clock))
            clock += STEP
    names = ("configuration", "installation", "day", "hours")
    return {name: np.array(values) for name, values in zip(names, zip(*rows, strict=True), strict=True)}


def script(base: Campaign, order: str, runs: int) -> Script:
    """One order with so many runs a side, of a roll and a climb each time."""
    fitted_anew = order in REFIT
    flown = order_of(LETTERS[order][runs], fitted_anew)
    n = len(flown["hours"])
    tables = {}
    for place, name in enumerate(EXPECTED):
        tables[name] = RunTable(
            measure=base.asked[name].measure,
            file=f"{name}.csv",
            rows=np.arange(2, n + 2),
            columns={column: np.full(n, value) for column, value in EXPECTED[name].items()},
            text={"run": [str(k) for k in range(n)]}
            | {key: [""] * n for key in ("exclude", "notes", "pilot", "runway")},
            units={},
            configuration=flown["configuration"],
            installation=flown["installation"],
            day=flown["day"],
            hours=flown["hours"] + 0.05 * place,
        )
    return Script(replace(base, fitted_anew=fitted_anew), "B", tables)
