"""Written files read back as what was simulated: the in-memory columns and the prepared columns are the same."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from samesky.campaign.derived.prepare import prepare
from samesky.campaign.reading.read import read
from samesky.campaign.tables.write import write_campaign
from samesky.simulator.aeroplane.model import Effect
from samesky.simulator.campaign_sim import simulate
from samesky.simulator.scenario import Scenario
from samesky.simulator.schedule import blocks
from samesky.simulator.writing import Hand, Remark, Written, campaign_tables

MEASURES = ("static_pull", "takeoff_roll", "timed_climb", "level_speed", "idle_descent", "landing_roll", "cruise_fuel")

TOML = """
title = "t"
question = "q"
[configuration.A]
label = "a"
weight = "5 kg"
arm = "-1 m"
[configuration.B]
label = "b"
weight = "8 kg"
arm = "-1 m"
[aeroplane]
empty_weight = "505 kg"
[aeroplane.fuel]
weight_per_volume = "0.72 kg/L"
[runway.x]
elevation = "100 m"
slope = "1 %"
""" + "".join(
    f'[measure.{name}]\nprimary = {str(name == "timed_climb").lower()}\nsmallest_difference_that_matters = "3 %"\n'
    for name in MEASURES
)

FINE = {
    "oat": Written("degF", 1e-6),
    "qnh": Written("inHg", 1e-8),
    "dew point": Written("degC", 1e-6),
    "fuel": Written("L", 1e-6),
    "rpm": Written("rpm", 1e-6),
    "pull": Written("lbf", 1e-6),
    "ground roll": Written("ft", 1e-6),
    "headwind": Written("kt", 1e-6),
    "gust": Written("mph", 1e-6),
    "crosswind": Written("km/h", 1e-6),
    "lift-off airspeed": Written("kt", 1e-6),
    "touch-down airspeed": Written("kt", 1e-6),
    "from": Written("ft", 1e-6),
    "to": Written("ft", 1e-6),
    "altitude": Written("ft", 1e-6),
    "elapsed": Written("s", 1e-6),
    "airspeed": Written("mph", 1e-6),
    "entry airspeed": Written("kt", 1e-6),
    "exit airspeed": Written("kt", 1e-6),
    "fuel flow": Written("US gal/h", 1e-6),
}


@pytest.fixture(scope="module")
def scenario():
    schedule = blocks("AB", dict.fromkeys(MEASURES, 2), minutes=dict.fromkeys(MEASURES, 6.0))
    return Scenario({"A": Effect(), "B": Effect(mass=3.0)}, schedule, sources=(), slope=0.01)


@pytest.fixture(scope="module")
def hand():
    return Hand(FINE, elevation=100.0, first_day=date(2026, 5, 1), fuel_density=720.0 / 1000)


def test_files_read_back_as_what_was_simulated(scenario, hand, tmp_path):
    tables = campaign_tables(scenario, hand, np.random.default_rng(2))
    campaign = read(write_campaign(tmp_path / "c", TOML, tables))
    assert [finding.sentence() for finding in campaign.findings if finding.kind == "error"] == []
    flown = simulate(scenario, 1, np.random.default_rng(2))
    for name in MEASURES:
        prepared, columns = prepare(campaign, campaign.tables[name]), flown.columns[name]
        for column, values in columns.items():
            np.testing.assert_allclose(prepared[column], values[0], rtol=2e-6, atol=1e-6, err_msg=f"{name} {column}")


def test_a_written_order_is_read_again(scenario, hand, tmp_path):
    tables = campaign_tables(scenario, hand, np.random.default_rng(2), {("static_pull", 1): Remark(exclude="gust")})
    campaign = read(write_campaign(tmp_path / "c", TOML, tables))
    table, original = campaign.tables["static_pull"], scenario.schedule["static_pull"]
    counted = table.included
    np.testing.assert_allclose(table.hours[counted], original.hours[[0, 2, 3]], atol=1 / 119)
    np.testing.assert_array_equal(table.configuration[counted], ["A", "B", "B"])
    np.testing.assert_allclose(table.columns["fuel"][counted], original.fuel[[0, 2, 3]], rtol=1e-6)
    assert len(set(table.installation[counted])) == 2


def test_remarks_reasons_and_slips_stand_in_their_rows(scenario, hand):
    remarks = {("takeoff_roll", 2): Remark("calm", "tailwind", {"ground roll": 2.0})}
    plain = campaign_tables(scenario, hand, np.random.default_rng(2))["takeoff_roll"]
    header, rows = campaign_tables(scenario, hand, np.random.default_rng(2), remarks)["takeoff_roll"]
    place = header.index("ground roll [ft]")
    assert float(rows[2][place]) == pytest.approx(2 * float(plain[1][2][place]))
    assert rows[2][-2:] == ["tailwind", "calm"]
    assert [row[0] for row in rows] == [1, 2, 3, 4]


def test_readings_are_rounded_to_the_step_of_the_dial(scenario, hand):
    columns = {"oat": Written("degC", 0.5), "rpm": Written("rpm", 50), "pull": Written("kgf", 1)}
    coarse = Hand(columns, 100.0, hand.first_day, 0.72)
    rng = np.random.default_rng(2)
    header, rows = campaign_tables(scenario, coarse, rng, with_installation=True)["static_pull"]
    common = ["run", "date", "clock", "configuration", "installation"]
    assert header == [*common, "oat [degC]", "rpm [rpm]", "pull [kgf]", "exclude", "notes"]
    for row in rows:
        assert float(row[5]) % 0.5 == 0
        assert int(row[6]) % 50 == 0
        assert "." not in row[7]
    assert rows[0][1:5] == ["2026-05-01", "09:00", "A", 1]
