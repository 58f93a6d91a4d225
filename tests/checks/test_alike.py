"""A condition that goes with the configuration is named before any arithmetic, with the right number beside each side.

Every condition of every measure is set apart in turn, in files written here; what is said is held against what was
written into them.
"""

from __future__ import annotations

import re

import numpy as np
import pytest
from sound_campaign import TOML

from samesky.campaign.reading.read import read
from samesky.checks.alike import _lie_apart
from samesky.checks.check import check
from samesky.simulator.examples.catalogue import write_example

#: Column, what is usual in it, what is higher, and what is then said to be apart, with the unit.
AIR = {
    "oat [degC]": (12, 24, "oat"),
    "dew point [degC]": (2, 10, "dew point"),
    "fuel [L]": (50, 90, "weight"),
}
STRIP = {
    "qnh [hPa]": (1015, 1030, "pressure"),
    "headwind [kt]": (3, 7, "headwind"),
    "crosswind [kt]": (1, 5, "crosswind"),
    "gust [kt]": (8, 14, "gust less headwind"),
}
BAND = {"from [ft]": (1000, 2500, "from"), "to [ft]": (3000, 4500, "to"), "airspeed [kt]": (60, 70, "airspeed")}
LEVEL = {"altitude [ft]": (2000, 4000, "altitude")}
MEASURES = {
    "static_pull": (AIR | STRIP, {"pull [N]": 1800}),
    "takeoff_roll": (
        AIR | STRIP | {"slope [%]": (0.2, 1.5, "slope")},
        {"ground roll [m]": 140, "lift-off airspeed [kt]": 45},
    ),
    "landing_roll": (
        AIR | STRIP | {"slope [%]": (0.2, 1.5, "slope")},
        {"ground roll [m]": 140, "touch-down airspeed [kt]": 45},
    ),
    "ground_acceleration": (
        AIR
        | STRIP
        | {
            "slope [%]": (0.2, 1.5, "slope"),
            "first ground speed [kt]": (8, 13, "first ground speed"),
            "second ground speed [kt]": (26, 31, "second ground speed"),
        },
        {"elapsed [s]": 4.2},
    ),
    "level_acceleration": (
        AIR
        | LEVEL
        | {
            "first airspeed [kt]": (60, 65, "first airspeed"),
            "second airspeed [kt]": (78, 83, "second airspeed"),
        },
        {"elapsed [s]": 14},
    ),
    "timed_climb": (AIR | BAND, {"elapsed [s]": 120}),
    "idle_descent": (
        AIR | BAND | {"from [ft]": (3000, 4500, "from"), "to [ft]": (1000, 2500, "to")},
        {"elapsed [s]": 150},
    ),
    "level_speed": (AIR | LEVEL, {"airspeed [kt]": 105}),
    "cruise_fuel": (AIR | LEVEL | {"airspeed [kt]": (85, 95, "airspeed")}, {"fuel flow [L/h]": 18}),
}
CASES = [(measure, column) for measure, (columns, _) in MEASURES.items() for column in columns]
ORDER = "ABBAABBA"


def said(folder):
    return [finding.message for finding in check(read(folder)) if "not flown alike" in finding.message]


def written(measure, columns, runs=ORDER):
    """A file in which each column has, run by run, the numbers given."""
    _, reading = MEASURES[measure]
    columns = {
        **columns,
        **{name: [value + 0.01 * value * (k % 3) for k in range(len(runs))] for name, value in reading.items()},
    }
    lines = [",".join(["run", "date", "clock", "configuration", *columns])]
    for k, key in enumerate(runs):
        clock = f"{7 + k // 4:02d}:{10 * (k % 4):02d}"
        lines.append(
            ",".join([str(k + 1), "2025-06-14", clock, key, *(f"{values[k]:g}" for values in columns.values())])
        )
    return "\n".join(lines) + "\n"


def campaign(sound, measure, columns, runs=ORDER):
    toml = re.sub(r"\[mission\..*", "", re.sub(r"\[limits\].*?\n\n", "", TOML, flags=re.S), flags=re.S)
    toml = toml.replace('slope = "0.5 %"\n', "")
    if measure not in ("takeoff_roll", "timed_climb"):
        toml += f'\n[measure.{measure}]\nsmallest_difference_that_matters = "5 %"\n'
    files = {"takeoff_roll__csv": None, "timed_climb__csv": None, "campaign__toml": toml}
    return sound(**files | {f"{measure}__csv": written(measure, columns, runs)})


def usual(measure, runs=ORDER):
    """Every column at its usual, with a little scatter that does not go with the configuration."""
    columns, _ = MEASURES[measure]
    return {name: [low + 0.02 * (k % 2) for k in range(len(runs))] for name, (low, _, _) in columns.items()}


@pytest.mark.parametrize(("measure", "column"), CASES)
@pytest.mark.parametrize("higher", "AB")
def test_every_condition_of_every_measure_with_the_number_of_each_side(sound, measure, column, higher):
    low, high, name = MEASURES[measure][0][column]
    columns = usual(measure)
    columns[column] = [high if key == higher else low for key in ORDER]
    if name == "headwind":
        del columns["gust [kt]"]
    (message,) = said(campaign(sound, measure, columns))
    apart = message.partition("alike: ")[2].partition(" on average.")[0].split(" on average; ")
    assert [words.partition(" A ")[0] for words in apart] == [
        "weight beside the part's own" if name == "weight" else name
    ]
    first, second = (float(number) for number in re.findall(r"(?:A|B) (\S+) ", apart[0] + " "))
    assert (first > second) == (higher == "A")
    if name == column.partition(" [")[0]:
        expected = [high if key == higher else low for key in "AB"]
        assert [first, second] == pytest.approx(expected, rel=6e-3)


@pytest.mark.parametrize("measure", MEASURES)
def test_the_same_conditions_are_silent(sound, measure):
    assert not said(campaign(sound, measure, usual(measure)))


@pytest.mark.parametrize("measure", MEASURES)
def test_small_differences_are_silent(sound, measure):
    """Below what is called small (half a knot of headwind, 2 K, 3 kg, 30 m ...), however clearly it parts the sides."""
    columns = usual(measure)
    steps = {"headwind": 0.4, "crosswind": 0.8, "gust": 0.8, "oat": 1.5, "dew": 3, "fuel": 3, "qnh": 3, "slope": 0.1}
    for column in columns:
        step = steps.get(re.match(r"\w+", column)[0], 1.5 if "kt" in column else 80)
        columns[column] = [columns[column][0] + step * (key == "B") for key in ORDER]
    columns.pop("crosswind [kt]", None) if "headwind [kt]" in columns else None
    assert not said(campaign(sound, measure, columns))


def test_whether_a_correction_is_made_for_it_is_told_as_it_is(sound):
    """The wind correction of a roll is made where every run has its wind; for a crosswind there is none."""
    columns = usual("takeoff_roll")
    columns["headwind [kt]"] = [3 + 4 * (key == "B") for key in ORDER]
    columns["gust [kt]"] = [8 + 4 * (key == "B") for key in ORDER]
    (message,) = said(campaign(sound, "takeoff_roll", columns))
    assert "Only the correction for headwind" in message
    assert "Nothing corrects" not in message
    columns["crosswind [kt]"] = [1 + 5 * (key == "B") for key in ORDER]
    (message,) = said(campaign(sound, "takeoff_roll", columns))
    assert "Nothing corrects for crosswind" in message
    # A climb is flown in wind that nobody reads, at an airspeed that no correction brings to one.
    columns = usual("timed_climb") | {"airspeed [kt]": [60 + 8 * (key == "B") for key in ORDER]}
    (message,) = said(campaign(sound, "timed_climb", columns))
    assert "Nothing corrects for airspeed" in message
    assert "Only the correction" not in message
    # Without heights of the strip no density is known, and no correction is made for the warmth.
    columns = usual("static_pull") | {"oat [degC]": [12 + 9 * (key == "B") for key in ORDER]}
    del columns["qnh [hPa]"]
    (message,) = said(campaign(sound, "static_pull", columns))
    assert "Nothing corrects for oat" in message


def test_heights_that_are_set_need_no_four_runs(sound):
    """Two climbs from 1,000 ft and two from 2,500 ft: no chance of a reading puts them there."""
    columns = usual("timed_climb", "ABAB")
    columns["from [ft]"] = [1000, 2500, 1000, 2500]
    columns["to [ft]"] = [3000, 4500, 3000, 4500]
    (message,) = said(campaign(sound, "timed_climb", columns, "ABAB"))
    assert "from A 1,000 ft, B 2,500 ft" in message.replace("\u202f", ",") or "from A 1000 ft, B 2500 ft" in message


def test_who_flew_and_from_where(sound):
    text = written("takeoff_roll", usual("takeoff_roll")).splitlines()
    toml = (campaign(sound, "takeoff_roll", usual("takeoff_roll")) / "campaign.toml").read_text()

    def judged(pilots):
        rows = [f"{text[0]},pilot", *(f"{row},{who}" for row, who in zip(text[1:], pilots, strict=True))]
        return said(sound(takeoff_roll__csv="\n".join(rows) + "\n", timed_climb__csv=None, campaign__toml=toml))

    (message,) = judged(["MM" if key == "A" else "ZZ" for key in ORDER])
    assert "pilot A mm, B zz" in message
    assert not judged(["MM", "ZZ"] * 4)
    assert not judged(["MM" if key == "A" else "" for key in ORDER])


def test_every_two_of_three_configurations(sound):
    runs = "ABCCBAABCCBA"
    warm = {"A": 12.0, "B": 12.0, "C": 20.0}
    columns = usual("takeoff_roll", runs) | {"oat [degC]": [warm[key] for key in runs]}
    folder = campaign(sound, "takeoff_roll", columns, runs.replace("C", "B"))
    toml = (
        folder / "campaign.toml"
    ).read_text() + '\n[configuration.C]\nlabel = "third"\nweight = "10 kg"\narm = "-0.9 m"\n'
    messages = said(
        sound(campaign__toml=toml, takeoff_roll__csv=written("takeoff_roll", columns, runs), timed_climb__csv=None)
    )
    assert [message[:7] for message in messages] == ["A and C", "B and C"]
    assert all("12.0 degC, C 20.0 degC" in message or "12 degC, C 20 degC" in message for message in messages)


def test_chance_seldom_parts_the_sides():
    """Drawn alike for both: with four runs a side one condition in 35 is parted by chance (2 of 70 orders)."""
    rng = np.random.default_rng(5)
    for count, least, most in ((4, 0.020, 0.037), (3, 0.0, 0.01), (2, 0.0, 0.08)):
        drawn = rng.normal(0.0, 100.0, (4000, 2, count))
        share = np.mean([_lie_apart(one, other, 1e-6) for one, other in drawn])
        assert least <= share <= most, (count, share)


def test_wind_and_warmth_that_go_with_the_propeller(tmp_path):
    """The warming, freshening day: known truth is that wind and temperature rose from block to block (its TRUTH.md)."""
    (roll, climb) = sorted(
        said(write_example("warming_day", tmp_path / "day")), key=lambda text: "headwind" not in text
    )
    for text, names in ((roll, ("oat", "headwind")), (climb, ("oat",))):
        for name in names:
            first, second = re.search(rf"{name} A (\S+) \S+, B (\S+)", text).groups()
            assert float(second) > float(first)
    assert "headwind" not in climb


@pytest.mark.parametrize("name", ["finer_pitch", "wheel_fairings"])
def test_a_balanced_order_is_silent(name, tmp_path):
    """The fairings weigh 5 kg themselves: that is the change, and no condition that goes with it."""
    assert not said(write_example(name, tmp_path / name))


@pytest.mark.parametrize(("winds", "warned"), [((1, 2, 1, 2, 3, 4, 3, 4), True), ((1, 2, 1, 4, 3, 4, 3, 4), False)])
def test_one_run_that_overlaps_is_enough(sound, winds, warned):
    head = "run,date,clock,configuration,oat [°C],fuel [L],headwind [kt],lift-off airspeed [kt],ground roll [ft]\n"
    rows = "".join(
        f"{k + 1},2025-06-14,0{7 + k // 4}:{10 * (k % 4):02d},{'AAAABBBB'[k]},12,50,{wind},44,{400 + k}\n"
        for k, wind in enumerate(winds)
    )
    assert bool(said(sound(takeoff_roll__csv=head + rows))) is warned
