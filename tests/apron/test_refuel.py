"""Fuel to add: the sum by hand, the counterpart run, and every limit that stands in the way."""

from __future__ import annotations

import flown_saturday
import pytest
import saturday

from samesky.apron import fuel_to_add, loading_now
from samesky.apron.refuel import ALIKE
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.published.registry import row

LB, GALLON = 0.45359237, 3.785411784e-3


@pytest.fixture(scope="module")
def campaign(tmp_path_factory):
    return read(flown_saturday.write(tmp_path_factory.mktemp("refuel"), flown_saturday.rows("AB", 3)))


def planned(tmp_path, *changes):
    return read(saturday.write(tmp_path / "c", *changes), flown=False)


def test_a_gallon_makes_up_for_six_pounds(tmp_path):
    """Row T7-008: aviation gasoline at 6 lb/US gal."""
    campaign = planned(tmp_path, ('weight_per_volume = "0.72 kg/L"\n', ""))
    now = loading_now(campaign, "A", 100 * LB)
    found = fuel_to_add(campaign, now, aim=now.mass_without_part + 10 * row("T7-008").value * LB)
    assert found.fuel == pytest.approx(60 * LB)
    assert found.volume == pytest.approx(10 * GALLON)
    assert "(10.0 US gal, 27.2 kg)" in found.sentences[1]


def test_the_next_block_begins_as_the_last_one_of_the_other_side_did(campaign):
    """After A B comes A again: its first run is matched with B's first, which began on 60 L."""
    now = loading_now(campaign, "A", 40 * 0.72)
    found = fuel_to_add(campaign, now)
    assert found.volume == pytest.approx(20e-3)
    assert found.aim == pytest.approx(330 + 154 + 60 * 0.72)
    assert found.after.fuel == pytest.approx(60 * 0.72)
    assert "as on run 4 of the take-off roll, with B" in found.sentences[0]


def test_within_a_block_the_run_at_the_same_place_counts(campaign):
    """B is being flown, three runs of it: its fourth is matched with the last of A's three, on 51 L."""
    found = fuel_to_add(campaign, loading_now(campaign, "B", 30 * 0.72))
    assert found.volume == pytest.approx(21e-3)
    assert "as on run 3 of the take-off roll, with A" in found.sentences[0]


def test_the_changed_part_is_not_made_up_for(campaign):
    """B is half a kilogram heavier: that is the change, and both take on the same fuel."""
    for key in "AB":
        now = loading_now(campaign, key, 30 * 0.72)
        assert fuel_to_add(campaign, now, aim=560.0 - 30.0).fuel == pytest.approx(530.0 - (484 + 30 * 0.72))


def test_what_is_exactly_small_is_still_made_up_for(campaign):
    """Below the difference that the check of a campaign calls unlike nothing is added; at it, everything."""
    now = loading_now(campaign, "A", 40 * 0.72)
    for short, added in ((ALIKE * 0.999, 0.0), (ALIKE * 1.001, ALIKE * 1.001)):
        assert fuel_to_add(campaign, now, aim=now.mass_without_part + short).fuel == pytest.approx(added)


def test_reserve_counts_the_fuel_that_is_added(tmp_path):
    campaign = planned(tmp_path)
    now = loading_now(campaign, "A", 15 * 0.72)
    enough = fuel_to_add(campaign, now, aim=484 + 25 * 0.72)
    too_little = fuel_to_add(campaign, now, aim=484 + 15 * 0.72)
    assert not any("less than the reserve" in line for line in enough.sentences)
    assert any("less than the reserve of 20.0 L" in line for line in too_little.sentences)


def test_small_differences_are_left_alone(campaign):
    found = fuel_to_add(campaign, loading_now(campaign, "A", 57 * 0.72))
    assert (found.fuel, found.ballast) == (0.0, 0.0)
    assert found.short == pytest.approx(3 * 0.72)
    assert "add nothing" in found.sentences[1]


def test_never_above_the_maximum(campaign):
    now = loading_now(campaign, "B", 60 * 0.72)
    found = fuel_to_add(campaign, now, aim=600.0)
    assert found.capped
    assert found.after.mass == pytest.approx(560.0)
    assert found.after.holds is True
    assert any("the maximum weight is reached" in line for line in found.sentences)
    full = fuel_to_add(campaign, loading_now(campaign, "B", 80 * 0.72, stations={"crew": 190.0}), aim=600.0)
    assert full.fuel == 0.0
    assert full.capped


def test_never_above_the_campaigns_own_limit_of_fuel(tmp_path):
    campaign = planned(tmp_path, ("\n[plan]\n", '\n[limits]\nfuel = ["0 L", "50 L"]\n\n[plan]\n'), ('"60 L"', '"48 L"'))
    found = fuel_to_add(campaign, loading_now(campaign, "A", 30 * 0.72), aim=540.0)
    assert found.volume == pytest.approx(20e-3)
    assert any("your own limit is reached" in line for line in found.sentences)


def test_too_heavy_is_not_mended_with_fuel(campaign):
    found = fuel_to_add(campaign, loading_now(campaign, "A", 70 * 0.72))
    assert found.fuel == 0.0
    assert found.short == pytest.approx(-10 * 0.72)
    # 10 L at 18 L/h are 33 minutes.
    assert any("33 min" in line for line in found.sentences)


BALLAST = ("refuel = true\n", "ballast = true\n")


def test_ballast_takes_the_place_of_fuel(tmp_path):
    campaign = planned(tmp_path, BALLAST)
    found = fuel_to_add(campaign, loading_now(campaign, "A", 40 * 0.72), ballast_arm=2.0)
    assert found.fuel == 0.0
    assert found.ballast == pytest.approx(20 * 0.72)
    assert found.after.ballast == pytest.approx(20 * 0.72)
    assert found.after.mass_without_part == pytest.approx(found.aim)
    # By hand: empty, crew, fuel and ballast at their arms of campaign.toml, A's part being in the empty weight.
    masses, arms = (330.0, 154.0, 40 * 0.72, 20 * 0.72), (1.72, 2.00, 2.30, 2.0)
    assert found.after.cg == pytest.approx(sum(m * x for m, x in zip(masses, arms, strict=True)) / sum(masses))
    heavy = loading_now(campaign, "A", 60 * 0.72, ballast=20.0, ballast_arm=2.0)
    assert any("Take out ballast" in line for line in fuel_to_add(campaign, heavy).sentences)


def test_below_the_reserve_is_said_whatever_the_weight(campaign):
    found = fuel_to_add(campaign, loading_now(campaign, "A", 10 * 0.72), aim=484 + 10 * 0.72)
    assert any("less than the reserve of 20.0 L" in line for line in found.sentences)


def test_what_the_tank_holds_is_not_known(campaign):
    found = fuel_to_add(campaign, loading_now(campaign, "A", 30 * 0.72))
    assert any("does not know what the tank holds" in line for line in found.sentences)
    assert "Engine stopped" in found.caution


def test_nothing_to_aim_at(tmp_path):
    text = saturday.TOML
    campaign = planned(tmp_path, (text[text.index("[plan]\n") :], ""))
    with pytest.raises(CampaignError) as caught:
        fuel_to_add(campaign, loading_now(campaign, "A", 30.0))
    assert caught.value.finding.column == "weight aimed at"
