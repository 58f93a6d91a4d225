"""What flying do you do: known kinds bring what they ask, weights of one's own take their place."""

from __future__ import annotations

import pytest
from sound_campaign import TOML

from samesky.campaign.reading.read import read_texts
from samesky.campaign.settings.flying import not_counted

PLAIN = TOML[: TOML.index("[mission.short_strip]")]


def campaign(tables: str):
    return read_texts({"campaign.toml": PLAIN + tables}, flown=False)


def errors(found, kind="error"):
    return [one.sentence() for one in found.findings if one.kind == kind]


def test_a_known_kind_counts_what_it_asks_among_what_is_flown():
    found = campaign('[mission.short_strip]\nshare_of_year = "40 %"\n[mission.climb]\n')
    assert found.missions == {
        "short_strip": {"takeoff_roll": 3.0, "timed_climb": 2.0},
        "climb": {"timed_climb": 1.0},
    }
    assert found.share_of_year == {"short_strip": pytest.approx(0.4)}
    assert errors(found) == []


def test_what_a_kind_cannot_do_without_counts_also_where_nobody_flies_it():
    # Speed is what a cross-country flight asks first; fuel beside it.
    found = campaign("[mission.cross_country]\n[mission.Economy]\n")
    assert found.missions["cross_country"] == {"level_speed": 2.0}
    assert found.missions["Economy"] == {"cruise_fuel": 1.0}
    assert not_counted("cross_country", found.missions["cross_country"]) == ("cruise_fuel",)
    assert not_counted("touring", {"level_speed": 1.0, "cruise_fuel": 1.0}) == ()
    assert not_counted("towing", {}) == ()


def test_weights_of_one_s_own_take_the_place_of_what_a_kind_asks():
    found = campaign("[mission.short_strip]\ntimed_climb = 1\n")
    assert found.missions == {"short_strip": {"timed_climb": 1.0}}


def test_noise_counts_every_measure_that_is_a_sound_level():
    free = '[measure.cabin]\nunit = "dB(A)"\nbetter = "smaller"\nsmallest_difference_that_matters = "2 dB(A)"\n'
    assert campaign(free + "[mission.noise]\n").missions == {"noise": {"cabin": 1.0}}


def test_a_kind_of_one_s_own_without_weights_is_asked_about():
    found = campaign("[mission.towing]\n")
    assert errors(found) == []
    (warning,) = [one for one in found.findings if one.code == "mission.asks-nothing"]
    assert "short strip" in warning.sentence()
    assert campaign("[mission.towing]\ntimed_climb = 1\n").findings == campaign("").findings


@pytest.mark.parametrize(("shares", "wrong"), [((60, 40), False), ((60, 41), True), ((10, 20), False)])
def test_a_year_has_a_hundred_per_cent(shares, wrong):
    text = "".join(
        f'[mission.{name}]\nshare_of_year = "{share} %"\n'
        for name, share in zip(("climb", "short_strip"), shares, strict=True)
    )
    said = errors(campaign(text))
    assert bool(said) is wrong
    assert not wrong or "101 %" in said[0]
