"""Balance, tips and noise against print and by hand; what was not entered is not judged."""

from __future__ import annotations

import json
import math

import pytest
from sound_campaign import CLIMB, TOML

from samesky.campaign.derived.hard_limits import hard_limits, nose_changes
from samesky.campaign.reading.read import read, read_texts
from samesky.report.choice import hard_limits as said

INCH, POUND = 0.0254, 0.45359237

#: The loading of FAA-H-8083-25, weight and balance, computational method (registry T7-005, T7-006).
PRINTED = """
[measure.timed_climb]
smallest_difference_that_matters = "2 %"
[configuration.A]
[configuration.B]
[aeroplane]
empty_weight = "2100 lb"
empty_arm = "78.3 in"
maximum_weight = "3400 lb"
cg_forward = "78 in"
cg_aft = "86 in"
[aeroplane.station.front]
weight = "340 lb"
arm = "85 in"
[aeroplane.station.rear]
weight = "350 lb"
arm = "121 in"
[aeroplane.station.baggage]
weight = "80 lb"
arm = "150 in"
[aeroplane.fuel]
arm = "75 in"
weight_per_volume = "6 lb/US gal"
[plan]
fuel = "75 US gal"
"""


def of(text: str, name: str, key: str = "A"):
    found = hard_limits(read_texts({"campaign.toml": text}, flown=False))
    return next(one for one in found if one.name == name and one.configuration == key)


def test_loaded_balance_is_the_printed_one():
    full = of(PRINTED, "centre of gravity, loaded, most fuel")
    # Printed: 3 320 lb and 84.8 in.
    assert round(full.value / INCH, 1) == 84.8
    assert of(PRINTED, "weight, loaded").value / POUND == pytest.approx(3320, abs=0.5)
    assert not full.broken
    assert (full.least / INCH, full.most / INCH) == pytest.approx((78.0, 86.0))
    assert of(PRINTED, "centre of gravity, empty").value / INCH == pytest.approx(78.3)


@pytest.mark.parametrize(("aft", "outside"), [("84.9 in", False), ("84.7 in", True)])
def test_outside_is_said_where_it_is_and_nowhere_else(aft, outside):
    text = PRINTED.replace('cg_aft = "86 in"', f'cg_aft = "{aft}"')
    campaign = read_texts({"campaign.toml": text}, flown=False)
    words = " ".join(said.broken(campaign))
    assert ("centre of gravity, loaded" in words) is outside
    assert of(text, "centre of gravity, loaded, most fuel").broken is outside


PROPELLERS = (
    PRINTED[: PRINTED.index("[aeroplane.station.front]")].replace("2100", "1500").replace("78.3", "30")
    + """
tail_arm = "200 in"
ballast_arm = "190 in"
"""
)
PROPELLERS = PROPELLERS.replace(
    "[configuration.A]\n[configuration.B]\n",
    '[configuration.A]\nweight = "30 lb"\narm = "-40 in"\n[configuration.B]\nweight = "20 lb"\narm = "-40 in"\n',
)


def test_a_lighter_propeller_moves_the_balance_as_its_moments_do():
    # T7-020: 1 500 lb at 30.0 in; remove 30 lb and fit 20 lb at -40 in: 30.47 in.
    assert round(of(PROPELLERS, "centre of gravity, empty", "B").value / INCH, 2) == 30.47
    (nose,) = nose_changes(read_texts({"campaign.toml": PROPELLERS}, flown=False))
    assert nose.mass / POUND == pytest.approx(-10.0)
    assert nose.shift / INCH == pytest.approx(700 / 1490, rel=1e-9)
    # By hand: moments about 30 in, of 10 lb at 70 in ahead, carried 170 in behind; 1 lbf = 4.4482216 N.
    assert nose.tail_load == pytest.approx(4.4482216152605 * 10 * 70 / 170, rel=1e-6)
    # The ballast brings the heavier one to the same balance, by the sum of moments.
    ballast = nose.ballast / POUND
    assert (1500 * 30 + ballast * 190) / (1500 + ballast) == pytest.approx(30 + 700 / 1490, rel=1e-9)


def test_a_heavier_propeller_is_told_the_other_way_round():
    swapped = PROPELLERS.replace('"30 lb"', '"x"').replace('"20 lb"', '"30 lb"').replace('"x"', '"20 lb"')
    campaign = read_texts({"campaign.toml": swapped}, flown=False)
    (nose,) = nose_changes(campaign)
    assert nose.mass > 0 > nose.shift
    assert nose.tail_load < 0
    ballast, after = -nose.ballast / POUND, (1500 * 30 - 400) / 1510
    assert (1510 * after + ballast * 190) / (1510 + ballast) == pytest.approx(30.0, rel=1e-9)
    assert "heavier" in said.balance(campaign)[0]
    assert "N more" in said.balance(campaign)[0]
    assert "to balance as A" in said.balance(campaign)[0]
    lighter = said.balance(read_texts({"campaign.toml": PROPELLERS}, flown=False))[0]
    assert "lighter" in lighter
    assert "aft" in lighter
    assert "N less" in lighter


def test_without_arms_nothing_is_made_up():
    text = PROPELLERS.replace('tail_arm = "200 in"\nballast_arm = "190 in"\n', "")
    campaign = read_texts({"campaign.toml": text}, flown=False)
    (sentence,) = said.balance(campaign)
    assert "tail_arm not entered" in sentence
    assert "ballast_arm not entered" in sentence
    no_arm = text.replace('empty_arm = "30 in"\n', "")
    empty = of(no_arm, "centre of gravity, empty")
    assert math.isnan(empty.value)
    assert empty.lacks == "empty_arm"
    assert nose_changes(read_texts({"campaign.toml": no_arm}, flown=False)) == []


@pytest.mark.parametrize(
    ("oat", "sound"),
    # Speed of sound of the standard atmosphere: 340.294 m/s at 15 degC (T1-011, ICAO Doc 7488/3), 331.3 m/s at 0 degC
    # (from memory, common tables).
    [("15", 340.294), ("0", 331.3)],
)
def test_tip_mach_follows_from_diameter_rpm_gear_and_air(oat, sound, tmp_path):
    (tmp_path / "campaign.toml").write_text(TOML)
    lines = CLIMB.strip().splitlines()
    rows = [",".join([*row.split(",")[:4], oat, *row.split(",")[5:]]) for row in lines[1:]]
    (tmp_path / "timed_climb.csv").write_text("\n".join([lines[0], *rows]) + "\n")
    found = hard_limits(read(tmp_path))
    b = next(one for one in found if one.name == "tip Mach" and one.configuration == "B")
    # By hand: 5350 rpm through a gear of 2.31, 1.70 m across; the file has no airspeed.
    assert b.value == pytest.approx(math.pi * 1.70 * 5350 / 60 / 2.31 / sound, rel=2e-4)
    assert b.note.startswith("5350 rpm")
    assert not b.broken
    assert b.least is b.most is None


def test_without_engine_speeds_the_tips_are_those_at_the_limit(tmp_path):
    found = hard_limits(read_texts({"campaign.toml": TOML}, flown=False))
    a = next(one for one in found if one.name == "tip Mach")
    assert a.value == pytest.approx(math.pi * 1.70 * 5800 / 60 / 2.31 / 340.294, rel=1e-4)
    assert "rpm limit" in a.note
    lacking = hard_limits(read_texts({"campaign.toml": TOML.replace('diameter = "1.70 m"\n', "")}, flown=False))
    assert {one.lacks for one in lacking if one.name == "tip Mach"} == {"diameter"}


@pytest.mark.parametrize(
    ("measured", "asked", "outside"), [("22 cm", "23 cm", True), ("23 cm", "23 cm", False), ("9.5 in", "23 cm", False)]
)
def test_tip_clearance_is_held_against_the_papers_figure_as_entered(measured, asked, outside):
    text = PRINTED.replace("[configuration.B]\n", f'[configuration.B]\ntip_clearance = "{measured}"\n')
    text += f'[papers]\ntip_clearance = "{asked}"\n'
    campaign = read_texts({"campaign.toml": text}, flown=False)
    assert any("tip clearance" in one for one in said.broken(campaign)) is outside
    row = next(row for row in said.table(campaign, []).rows if row[0] == "tip clearance")
    assert row[1] == "not entered"
    assert ("outside" in str(row[2])) is outside
    assert row[3] == "23\u00a0cm at the least"


def test_noise_is_held_against_the_limit_as_entered_and_silence_is_not_judged():
    quiet = PRINTED.replace("[configuration.B]\n", '[configuration.B]\nnoise = "69 dB(A)"\n')
    assert not of(quiet, "noise", "B").judged
    campaign = read_texts({"campaign.toml": quiet}, flown=False)
    assert said.broken(campaign) == []
    loud = quiet + '[papers]\nnoise = "68 dB(A)"\n'
    assert of(loud, "noise", "B").broken
    assert of(loud, "noise", "A").to_json()["broken"] is None
    assert json.dumps(of(loud, "noise", "B").to_json())
    assert "noise" in said.not_entered(campaign)


def test_what_was_entered_is_not_called_missing():
    entered = PRINTED.replace("[configuration.A]\n", '[configuration.A]\ntip_clearance = "30 cm"\n').replace(
        "[configuration.B]\n", '[configuration.B]\ntip_clearance = "29 cm"\n'
    )
    words = said.not_entered(read_texts({"campaign.toml": entered}, flown=False))
    assert "the limit of tip clearance" in words
    whole = said.not_entered(
        read_texts({"campaign.toml": entered + '[papers]\ntip_clearance = "23 cm"\n'}, flown=False)
    )
    assert "tip clearance" not in whole
