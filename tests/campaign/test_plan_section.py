"""The table [plan] as read, and ballast in the weight of a run."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
import saturday

from samesky.campaign.derived.prepare import centre_of_gravity, prepare
from samesky.campaign.reading.read import read
from samesky.checks.check import check


def test_everything_comes_in_si(tmp_path):
    plan = read(saturday.write(tmp_path), flown=False).plan
    assert (plan.days, plan.first_date, plan.start, plan.end) == (2, date(2026, 5, 9), 6.0, 11.5)
    # 60 L, 20 L and 18 L/h of 0.72 kg/L.
    assert (plan.fuel, plan.reserve, plan.burn) == pytest.approx((43.2, 14.4, 12.96))
    assert plan.fuel_unit == "L"
    assert plan.refuel_hours == pytest.approx(1 / 6)
    assert plan.forecast["oat"] == pytest.approx((281.15, 289.15))
    assert plan.forecast["dew point"] == pytest.approx((278.15, 278.15))
    assert plan.forecast["wind"] == pytest.approx((1852 / 3600, 4 * 1852 / 3600))
    assert plan.wind_from == pytest.approx(np.radians(290))
    assert (plan.left_over, plan.power, plan.looks, plan.stopping, plan.seed) == (0.25, 0.8, 1, "obrien-fleming", 11)
    # In the order of the file, which is the order of flying.
    assert list(plan.measures) == ["static_pull", "takeoff_roll", "timed_climb"]
    roll = plan.measures["takeoff_roll"]
    assert (roll.time, roll.scatter, roll.scatter_is_fraction, roll.degrees_of_freedom) == (0.05, 0.06, True, 12)
    assert roll.expected == pytest.approx({"ground roll": 76.2, "lift-off airspeed": 38 * 1852 / 3600})


def test_scatter_and_fuel_in_other_units(tmp_path):
    folder = saturday.write(tmp_path, ('scatter = "6 %"', 'scatter = "15 ft"'), ('fuel = "60 L"', 'fuel = "95 lb"'))
    plan = read(folder, flown=False).plan
    roll = plan.measures["takeoff_roll"]
    assert (roll.scatter, roll.scatter_is_fraction) == (pytest.approx(15 * 0.3048), False)
    assert (plan.fuel, plan.fuel_unit) == (pytest.approx(95 * 0.45359237), "lb")


def test_without_the_table_there_is_no_plan(tmp_path):
    (tmp_path / "campaign.toml").write_text(saturday.TOML.partition("[plan]")[0], encoding="utf-8")
    assert read(tmp_path, flown=False).plan is None


def test_a_campaign_still_to_be_flown_is_no_fault_when_planned(tmp_path):
    folder = saturday.write(tmp_path)
    assert check(read(folder, flown=False)) == []
    assert any("nothing flown yet" in finding.message for finding in check(read(folder)))


def test_a_name_that_nobody_knows_is_offered_the_nearest(tmp_path):
    folder = saturday.write(tmp_path, ('reserve = "20 L"', 'reserv = "20 L"'))
    (finding,) = read(folder, flown=False).findings
    assert "Did you mean 'reserve'?" in finding.sentence()


def test_after_which_runs_the_looks_come(tmp_path):
    plan = read(saturday.write(tmp_path, ("seed = 11", "seed = 11\nlooks_after_runs = [8, 16, 24]")), flown=False).plan
    assert (plan.looks, plan.looks_after) == (3, (8, 16, 24))


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ("looks_after_runs = 8", "whole numbers in brackets"),
        ('looks_after_runs = ["8", "16"]', "whole numbers in brackets"),
        ("looks_after_runs = [8, true]", "whole numbers in brackets"),
        ("looks_after_runs = []", "numbers that rise"),
        ("looks_after_runs = [0, 8]", "numbers that rise"),
        ("looks_after_runs = [8, 8]", "numbers that rise"),
        ("looks = 3\nlooks_after_runs = [8, 16]", "found 2, but looks = 3"),
    ],
)
def test_looks_that_cannot_be_are_one_message(tmp_path, written, message):
    found = read(saturday.write(tmp_path, ("seed = 11", f"seed = 11\n{written}")), flown=False)
    (finding,) = found.findings
    assert message in finding.sentence()
    assert found.plan.looks_after == ()


def test_ballast_weighs(tmp_path):
    folder = saturday.write(tmp_path)
    (folder / "takeoff_roll.csv").write_text(
        "run,date,clock,configuration,fuel [L],ballast [lb],ground roll [ft]\n"
        "1,2026-05-09,06:00,A,50,0,251\n2,2026-05-09,06:10,A,45,8,248\n3,2026-05-09,07:00,B,40,16,240\n",
        encoding="utf-8",
    )
    campaign = read(folder)
    table = campaign.tables["takeoff_roll"]
    # 484 kg without fuel, 0.72 kg/L, 0.45359237 kg/lb, and half a kilogram more in B.
    expected = [484 + 36.0, 484 + 32.4 + 8 * 0.45359237, 484 + 28.8 + 16 * 0.45359237 + 0.5]
    assert prepare(campaign, table)["weight"] == pytest.approx(expected)
    # Where the ballast sits is not written down, and so is the balance of a run that carries it.
    assert list(np.isnan(centre_of_gravity(campaign, table))) == [False, True, True]
