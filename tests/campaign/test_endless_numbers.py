"""Numbers without end, two numbers in one, and signs inside a number that nobody sees."""

from __future__ import annotations

import pytest
from sound_campaign import ROLL, TOML

from samesky import units
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read


@pytest.mark.parametrize("digits", ["0x" + "f" * 100_000, "0o" + "7" * 100_000, "0b" + "1" * 100_000])
@pytest.mark.parametrize("entry", ["gear_ratio = {}", "hours = {}", "list = [1, {}]", '"#x" = {}'])
def test_a_whole_number_without_end_is_refused_with_its_line(sound, digits, entry):
    toml = TOML.replace("gear_ratio = 2.31", entry.format(digits))
    with pytest.raises(CampaignError, match="too many digits") as refused:
        read(sound(campaign__toml=toml))
    assert refused.value.finding.row == 1 + TOML[: TOML.index("gear_ratio")].count("\n")


def test_a_short_hexadecimal_number_and_a_remark_are_none(sound):
    toml = TOML.replace("gear_ratio = 2.31", "gear_ratio = 0x2 # not 0x" + "f" * 50)
    assert read(sound(campaign__toml=toml)).engine.gear_ratio == 2.0


@pytest.mark.parametrize("text", ["4 1 kt", "4\x1c1 kt", "4\x0b12 kt", "75 3kt"])
def test_two_numbers_are_no_speed(text):
    with pytest.raises(units.UnitError):
        units.parse(text, "speed")


def test_one_over_a_minute_is_still_a_unit():
    assert units.parse("2750 1/min", "rotational speed") == units.parse("2750 rpm", "rotational speed")


@pytest.mark.parametrize("sign", ["\x0b", "\x0c", "\x1c", "\x85", "\u2028"])
def test_a_sign_inside_a_number_is_an_error_at_its_cell(sound, sign):
    folder = sound(takeoff_roll__csv=ROLL.replace(",412,,", f",4{sign}12,,"))
    (found,) = [one for one in read(folder).findings if one.kind == "error"]
    assert (found.file, found.row, found.column) == ("takeoff_roll.csv", 2, "ground roll")
    assert found.sentence().isprintable()
