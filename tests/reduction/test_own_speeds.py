"""A change that is meant to be flown at another airspeed keeps that part of its effect."""

from __future__ import annotations

import numpy as np
import pytest
from sound_campaign import ROLL, TOML

from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.reduction.reduction import reduce_table

SLOWER = {
    "A": '[configuration.A]\nlift-off_airspeed = "45 kt"',
    "B": '[configuration.B]\nlift-off_airspeed = "40 kt"',
}
#: B lifts off about 5 kt slower on all its runs.
ROLLS = (
    ROLL.replace(",44,398,", ",40,398,")
    .replace(",43,380,", ",39,380,")
    .replace(",44,371,", ",40,371,")
    .replace(",45,399,", ",40,399,")
)


def with_own(text: str, keys: str) -> str:
    for key in keys:
        text = text.replace(f"[configuration.{key}]", SLOWER[key])
    return text


def roll(folder):
    campaign = read(folder)
    assert not [finding.sentence() for finding in campaign.findings if finding.kind == "error"]
    return reduce_table(campaign, campaign.tables["takeoff_roll"])


def test_each_run_goes_to_its_own_configurations_airspeed(sound):
    own = roll(sound(takeoff_roll__csv=ROLLS, campaign__toml=with_own(TOML, "AB")))
    common = roll(sound(takeoff_roll__csv=ROLLS))
    # At constant acceleration a roll goes with the square of the lift-off speed (closed form), a little more where the
    # acceleration falls: the measure's 2.42; wind adds its part. Own speeds leave B's gain in, one speed takes it out.
    gain = {
        name: np.log(found.value[2:4].mean() / found.value[:2].mean())
        for name, found in (("own", own), ("one", common))
    }
    assert gain["own"] - gain["one"] == pytest.approx(2.42 * np.log(40 / 45), abs=0.02)
    # B was flown on speed and a knot slow: brought to 40 kt, the first run stays and the second grows.
    assert own.corrections["lift-off airspeed"][2] == pytest.approx(0.0, abs=0.05)
    assert own.corrections["lift-off airspeed"][3] > 0


def test_a_speed_for_one_alone_is_refused(sound):
    campaign = read(sound(campaign__toml=with_own(TOML, "B")))
    said = [finding.sentence() for finding in campaign.findings if finding.kind == "error"]
    assert len(said) == 1
    assert "[configuration.A]" in said[0]
    assert "has no lift-off airspeed" in said[0]


def test_another_speed_without_a_word_is_doubtful(sound):
    said = [f.sentence() for f in check(read(sound(takeoff_roll__csv=ROLLS))) if f.column == "lift-off airspeed"]
    assert any("B has another lift-off airspeed than A (-4.75 kt" in one for one in said)
    own = check(read(sound(takeoff_roll__csv=ROLLS, campaign__toml=with_own(TOML, "AB"))))
    assert not any("another lift-off airspeed" in f.sentence() for f in own)
    assert not any("another lift-off airspeed" in f.sentence() for f in check(read(sound())))
