"""Weight and balance on the day: the handbook's worked examples, and the loading of the campaign's own runs."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import saturday

from samesky.apron import loading_now
from samesky.campaign.derived.prepare import centre_of_gravity, prepare
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.planning.plan import plan
from samesky.published.registry import check

LB, INCH, GALLON = 0.45359237, 0.0254, 3.785411784e-3
DATA = Path(__file__).resolve().parents[2] / "data_synthetic"

#: FAA-H-8083-25, weight and balance, computational method: empty, seats, fuel 75 gal at 6 lb/gal, baggage [lb, in].
HANDBOOK = """\
[aeroplane]
empty_weight = "2100 lb"
empty_arm = "78.3 in"
maximum_weight = "3400 lb"
cg_forward = "78 in"
cg_aft = "87 in"
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
weight_per_volume = "6 lb/gal"

[engine]
"""
FUEL = 75 * 6 * LB


def handbook(tmp_path, *changes):
    old = saturday.TOML[saturday.TOML.index("[aeroplane]") : saturday.TOML.index("[engine]\n") + len("[engine]\n")]
    parts = (('weight = "9.8 kg"', 'weight = "0 kg"'), ('weight = "10.3 kg"', 'weight = "0 kg"'))
    return read(saturday.write(tmp_path / "c", (old, HANDBOOK), *parts, *changes), flown=False)


@pytest.fixture(scope="module")
def campaign(tmp_path_factory):
    return read(saturday.write(tmp_path_factory.mktemp("loading")), flown=False)


def limit(found, condition):
    return next(one for one in found.limits if one.condition.startswith(condition))


def test_the_handbooks_sum(tmp_path):
    """Rows T7-005 to T7-007."""
    found = loading_now(handbook(tmp_path), "A", FUEL)
    assert check("T7-005", found.mass / LB).agrees
    assert check("T7-006", found.cg / INCH).agrees
    assert check("T7-007", sum(item.moment for item in found.items) / LB / INCH).agrees
    assert "3320.0 lb" in found.sentences[0]
    assert "84.8 in" in found.sentences[1]
    assert limit(found, "weight").margin / LB == pytest.approx(80)
    assert found.holds is True


def test_equipment_taken_off_and_fitted(tmp_path):
    """T7-020: 1 500 lb at 30.0 in; 30 lb off and 20 lb on at -40 in: 30.47 in."""
    changes = (
        ('empty_weight = "2100 lb"\nempty_arm = "78.3 in"', 'empty_weight = "1500 lb"\nempty_arm = "30.0 in"'),
        ('weight = "0 kg"\narm = "-0.90 m"', 'weight = "30 lb"\narm = "-40 in"'),
        ('weight = "0 kg"\narm = "-0.90 m"', 'weight = "20 lb"\narm = "-40 in"'),
        ('"340 lb"', '"0 lb"'),
        ('"350 lb"', '"0 lb"'),
        ('"80 lb"', '"0 lb"'),
    )
    found = loading_now(handbook(tmp_path, *changes), "B", 0.0)
    assert check("T7-020", found.cg / INCH).agrees
    assert found.mass / LB == pytest.approx(1490)
    assert found.part_mass / LB == pytest.approx(-10)
    assert found.mass_without_part / LB == pytest.approx(1500)
    assert "10.0 lb lighter" in found.sentences[2]


def test_as_the_campaigns_own_runs_are_weighed():
    """The same weight and balance as every flown run has on its way to the comparison."""
    campaign = read(DATA / "warming_day")
    table = campaign.tables["takeoff_roll"]
    weight, balance = prepare(campaign, table)["weight"], centre_of_gravity(campaign, table)
    for k, key in enumerate(table.configuration):
        found = loading_now(campaign, key, float(table.columns["fuel"][k]))
        assert found.mass == pytest.approx(weight[k], abs=1e-9)
        assert found.cg == pytest.approx(balance[k], abs=1e-12)
    assert set(table.configuration) == {"A", "B"}


def test_the_balance_is_held_until_the_tank_is_dry(tmp_path):
    """Fuel ahead of the balance: burning it moves the balance aft, here beyond the limit."""
    found = loading_now(handbook(tmp_path, ('cg_aft = "87 in"', 'cg_aft = "85 in"')), "A", FUEL)
    dry = (found.mass * found.cg - FUEL * 75 * INCH) / (found.mass - FUEL)
    assert found.cg_dry == pytest.approx(dry)
    assert found.cg / INCH < 85 < found.cg_dry / INCH
    balance = limit(found, "centre of gravity")
    assert balance.holds is False
    assert balance.margin == pytest.approx(85 * INCH - dry)
    assert found.holds is False


def test_other_people_and_ballast(campaign):
    plain = loading_now(campaign, "A", 30.0)
    changed = loading_now(campaign, "A", 30.0, ballast=10.0, stations={"crew": 80.0}, ballast_arm=2.5)
    assert changed.mass - plain.mass == pytest.approx(80 - 154 + 10)
    moment = plain.mass * plain.cg + (80 - 154) * 2.0 + 10 * 2.5
    assert changed.cg == pytest.approx(moment / changed.mass)
    somewhere = loading_now(campaign, "A", 30.0, ballast=10.0)
    assert math.isnan(somewhere.cg)
    assert "not known" in somewhere.sentences[1]


def test_too_heavy(campaign):
    found = loading_now(campaign, "B", 80.0)
    assert limit(found, "weight").holds is False
    assert limit(found, "weight").margin == pytest.approx(560 - (330 + 154 + 80 + 0.5))
    assert "beyond it by 4.5 kg (the aeroplane's own papers" in limit(found, "weight").says
    assert found.holds is False


def test_the_plans_limits(campaign):
    planned = plan(campaign)
    theirs = [one for one in planned.limits if one.condition == "weight"]
    found = loading_now(campaign, "A", 30.0, plan=planned)
    mine = [one for one in found.limits if "the plan, for" in one.whose]
    assert [(one.low, one.high) for one in mine] == [(one.low, one.high) for one in theirs if np.isfinite(one.low)]
    assert limit(found, "fuel").low == pytest.approx(20 * 0.72)


WRONG = {
    "no such configuration": ({"configuration": "C"}, "configuration"),
    "no number": ({"fuel": float("nan")}, "fuel"),
    "fuel below none": ({"fuel": -1.0}, "fuel"),
    "no such station": ({"stations": {"crw": 80.0}}, "station crw"),
    "a station below none": ({"stations": {"crew": -80.0}}, "station crew"),
    "ballast in grams": ({"ballast": 9000.0}, "ballast"),
    "an arm in inches": ({"ballast": 9.0, "ballast_arm": 90.0}, "ballast arm"),
}


@pytest.mark.parametrize("name", WRONG)
def test_bad_readings_are_refused_at_their_field(campaign, name):
    given, field = WRONG[name]
    with pytest.raises(CampaignError) as caught:
        loading_now(campaign, **{"configuration": "A", "fuel": 30.0, **given})
    assert caught.value.finding.column == field


def test_without_the_aeroplane(tmp_path):
    old = saturday.TOML[saturday.TOML.index("[aeroplane]") : saturday.TOML.index("[engine]")]
    with pytest.raises(CampaignError, match="weighs empty is not entered"):
        loading_now(read(saturday.write(tmp_path / "c", (old, "")), flown=False), "A", 30.0)
