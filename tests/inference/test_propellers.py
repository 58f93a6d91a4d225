"""Propeller or pitch, from a campaign's folder to answers: the example's known truth, refusals, one setting each."""

from __future__ import annotations

import json

import numpy as np
import pytest

from samesky.campaign.reading.read import read_texts
from samesky.checks.check import check
from samesky.inference.comparison import compare
from samesky.inference.propellers.told import of_campaign, propellers
from samesky.report.propellers import words as propeller_words
from samesky.simulator.examples.catalogue import example_files
from samesky.simulator.examples.two_pitches import BETTER

FILES = {name: text for name, text in example_files("two_pitches").items() if name != "TRUTH.md"}
TOML = "campaign.toml"


def told(files):
    campaign = read_texts(files)
    return propellers(campaign, compare(campaign))


def changed(file, *changes):
    text = FILES[file]
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    return {**FILES, file: text}


@pytest.fixture(scope="module")
def found():
    return told(FILES)


def of(found, measure, against):
    return next(one for one in found.answers if (one.measure, one.against) == (measure, against))


def test_the_blades_are_told_from_the_setting(found):
    # The example's truth: at one torque the composite blades give so much more thrust.
    pull = of(found, "static_pull", "level_rpm")
    assert pull.deciding
    low, high = pull.percent_95
    assert low < 100.0 * (BETTER - 1.0) < high
    assert pull.verdict == "composite better"
    assert (pull.flown, pull.between) == ("A", ("B", "C"))
    assert 60.0 * pull.value == pytest.approx(5053, abs=40)
    assert {one.configuration for curve in found.curves for one in curve.marks if curve.propeller == "wood"} == {"A"}


def test_as_set_either_answer_can_be_had():
    campaign = read_texts(FILES)
    as_set = {one.other: one for one in compare(campaign) if one.measure == "static_pull" and one.baseline == "A"}
    assert as_set["B"].percent > 1.5 * 100.0 * (BETTER - 1.0)
    assert abs(as_set["C"].percent) < 0.5 * 100.0 * (BETTER - 1.0)


def test_beyond_the_settings_flown_nothing_is_said(found):
    speed = of(found, "static_pull", "level_speed")
    assert "not carried on beyond the settings flown" in speed.refused
    assert not speed.verdict
    assert any("top speed" in said and "fly one in between" in said for said in propeller_words.sentences(found))


def test_machines_get_the_same(found):
    said = json.loads(json.dumps(found.to_json(), allow_nan=False))
    assert said["settings"] == {"wood": ["A"], "composite": ["B", "C"]}
    answer = next(one for one in said["answers"] if one["deciding"])
    assert answer["percent"] == pytest.approx(of(found, "static_pull", "level_rpm").percent, rel=1e-4)
    curve = next(one for one in said["curves"] if one["line"])
    assert len(curve["settings"]) == 2
    assert all(one["y_95"][0] < one["y"] < one["y_95"][1] for one in curve["line"])
    rows = [one for one in said["rpm"] if one["measure"] == "level_speed"]
    assert {one["configuration"] for one in rows} == {"A", "B", "C"}
    assert all(one["in_hand_percent"] == pytest.approx(100.0 * (1.0 - one["rpm"] / 5300.0), abs=0.01) for one in rows)


def test_a_setting_that_was_throttled_back_shows_no_engine_speed_in_level_flight():
    head, *rows = FILES["level_speed.csv"].splitlines()
    at = head.split(",").index("configuration")
    rows = [f"{row},{'yes' if row.split(',')[at] == 'B' else ''}" for row in rows]
    files = {**FILES, "level_speed.csv": "\n".join([f"{head},throttled", *rows]) + "\n"}
    found = told(files)
    why = of(found, "static_pull", "level_rpm").refused
    assert why.startswith("B was throttled back for the rpm limit")
    assert not of(found, "timed_climb", "static_rpm").refused


def test_one_setting_each_says_what_another_could_make():
    files = {
        name: "\n".join(line for line in text.splitlines() if name == TOML or ",C," not in line) + "\n"
        for name, text in FILES.items()
    }
    start, end = files[TOML].index("[configuration.C]"), files[TOML].index("[swap]")
    files[TOML] = files[TOML][:start] + files[TOML][end:]
    found = told(files)
    assert not found.answers
    pull = next(one for one in found.tilted if one.measure == "static_pull")
    assert pull.against == "level_rpm"
    # 5 % less pitch in the simulator: B minus A is +6.9 %, of which 4 % are the blades.
    assert pull.as_set[0] == pytest.approx(6.9, abs=1.0)
    assert min(pull.left[1:]) < 4.0 < max(pull.left[1:])
    assert max(pull.by_setting[1:]) < 0.0
    said = " ".join(propeller_words.sentences(found))
    assert "compared as set, not as propellers" in said
    assert "only another setting flown shows it" in said


def test_without_a_propeller_named_nobody_is_asked():
    files = changed(TOML, ('of = "wood"\n', ""), ('of = "composite"\n', ""))
    assert told(files) is None


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (('"20.9 deg at 75 % radius"', '"coarse"'), "configuration.setting-no-number"),
        (('"20.9 deg at 75 % radius"', '"18.4 deg"'), "configuration.setting-twice"),
        (('"20.9 deg at 75 % radius"', '"3 marks"'), "configuration.setting-unit"),
        (('pitch_setting = "20.9 deg at 75 % radius"\n', ""), "configuration.setting-missing"),
    ],
)
def test_a_setting_without_its_own_number_is_to_mend(change, code):
    campaign = read_texts(changed(TOML, change))
    errors = [one for one in check(campaign) if one.kind == "error"]
    assert [one.code for one in errors] == [code]
    assert errors[0].mend


def test_a_number_may_be_bare_and_with_a_comma():
    bare = changed(TOML, ('"18.4 deg at 75 % radius"', "18.4"), ('"20.9 deg at 75 % radius"', '"20,9"'))
    campaign = read_texts(bare)
    assert [campaign.configurations[key].setting for key in "BC"] == [18.4, 20.9]
    assert of_campaign(campaign) == {"wood": ("A",), "composite": ("B", "C")}
    assert not [one for one in check(campaign) if one.kind == "error"]


def test_a_lone_setting_may_be_called_anything():
    campaign = read_texts(changed(TOML, ('of = "wood"\n', 'of = "wood"\npitch_setting = "as carved"\n')))
    assert campaign.configurations["A"].setting is None
    assert not [one for one in check(campaign) if one.kind == "error"]


def test_the_engine_speed_of_a_joint_order_is_that_of_least_squares(found):
    # numpy's least squares on ln(rpm): configuration, day and slope of the day, mean of each fitting.
    campaign = read_texts(FILES)
    table = campaign.tables["level_speed"]
    y = np.log(table.columns["rpm"])
    keys = sorted(set(table.configuration))
    day = table.day[:, None] == np.unique(table.day)
    inside = table.configuration[:, None] == np.array(keys[1:])
    hours = table.hours - np.array([table.hours[table.day == d].mean() for d in table.day])
    beta = np.linalg.lstsq(np.column_stack([inside, day, day * hours[:, None]]).astype(float), y, rcond=None)[0]
    speed = {one.configuration: one.speed for one in found.turning if one.measure == "level_speed"}
    for key, expected in zip(keys[1:], beta, strict=False):
        assert np.log(speed[key] / speed["A"]) == pytest.approx(expected, abs=0.004)
