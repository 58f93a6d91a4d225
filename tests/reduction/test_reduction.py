"""Prepared columns, the common sky, and each run brought to it."""

from __future__ import annotations

import csv
import sys

import numpy as np
import pytest
from sound_campaign import CLIMB, ROLL, TOML

from samesky.campaign.derived.prepare import centre_of_gravity, prepare
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.measures.sensitivity import reduce_runs
from samesky.reduction.csv_file import write_reduction, write_reductions
from samesky.reduction.reduction import reduce_table


def reductions(folder):
    campaign = read(folder)
    assert not [finding.sentence() for finding in campaign.findings if finding.kind == "error"]
    return campaign, {name: reduce_table(campaign, table) for name, table in campaign.tables.items()}


def test_pressure_from_qnh_and_elevation(sound):
    """ISO 2533:1975: p = 1013.25 hPa (1 - 0.0065 H/288.15)^5.25588, shifted by the altimeter setting."""
    campaign = read(sound())
    pressure = prepare(campaign, campaign.tables["takeoff_roll"])["pressure"]
    height = 288.15 / 0.0065 * (1 - (1015 / 1013.25) ** (1 / 5.25588)) + 300 * 0.3048
    assert pressure[0] == pytest.approx(101325 * (1 - 0.0065 * height / 288.15) ** 5.25588, rel=1e-6)


def test_pressure_at_the_middle_of_a_band(sound):
    """ISO 2533:1975, table: 457.2 m (1500 ft) has 95952 Pa."""
    campaign = read(sound())
    pressure = prepare(campaign, campaign.tables["timed_climb"])["pressure"]
    assert pressure == pytest.approx(101325 * (1 - 0.0065 * 457.2 / 288.15) ** 5.25588, rel=1e-6)


def test_pressure_altitude_goes_before_qnh(sound):
    text = ROLL.replace("notes", "notes,pressure altitude [ft]").replace("\n", ",0\n").replace("[ft],0", "[ft]")
    campaign = read(sound(takeoff_roll__csv=text))
    assert prepare(campaign, campaign.tables["takeoff_roll"])["pressure"] == pytest.approx(101325.0)


def test_weight_follows_fuel_and_part(sound):
    campaign = read(sound())
    table = campaign.tables["takeoff_roll"]
    weight = prepare(campaign, table)["weight"]
    assert weight[0] == pytest.approx(330 + 85 + 60 * 0.72)
    # The empty weight has the baseline's part in it: the other one adds what it weighs more.
    assert weight[2] == pytest.approx(330 + 85 + 55 * 0.72 + 0.5)


def test_centre_of_gravity_is_the_moment_sum(sound):
    campaign = read(sound())
    balance = centre_of_gravity(campaign, campaign.tables["takeoff_roll"])
    fuel = 55 * 0.72
    moment = 330 * 1.72 + 85 * 2.0 + fuel * 2.30 + 0.5 * -0.90
    assert balance[2] == pytest.approx(moment / (330 + 85 + fuel + 0.5))


def test_a_part_moved_and_not_changed_in_weight_moves_the_balance(sound):
    toml = TOML.replace('weight = "10.3 kg"\narm = "-0.90 m"', 'weight = "9.8 kg"\narm = "-0.80 m"')
    campaign = read(sound(campaign__toml=toml))
    table = campaign.tables["takeoff_roll"]
    fuel = 55 * 0.72
    moment = 330 * 1.72 + 85 * 2.0 + fuel * 2.30 + 9.8 * 0.10
    assert centre_of_gravity(campaign, table)[2] == pytest.approx(moment / (330 + 85 + fuel))


def test_slope_of_the_runway_named_in_the_row(sound):
    toml = TOML.replace(
        "[measure.takeoff", '[runway.27]\nelevation = "300 ft"\nslope = "-0.5 %"\n\n[measure.takeoff', 1
    )
    lines = ROLL.strip().split("\n")
    text = "\n".join([f"{lines[0]},runway", *(f"{line},{'09' if k % 2 else '27'}" for k, line in enumerate(lines[1:]))])
    campaign = read(sound(campaign__toml=toml, takeoff_roll__csv=text))
    assert prepare(campaign, campaign.tables["takeoff_roll"])["slope"][:2] == pytest.approx([-0.005, 0.005])
    campaign = read(sound(campaign__toml=toml))
    assert "slope" not in prepare(campaign, campaign.tables["takeoff_roll"])
    reduction = reduce_table(campaign, campaign.tables["takeoff_roll"])
    assert "no [runway] in campaign.toml gives it" in reduction.left_out["slope"]


def test_the_common_sky_is_the_mean_of_the_runs_that_count(sound):
    _, reduced = reductions(sound())
    roll = reduced["takeoff_roll"]
    counted = [12.0, 12.2, 13.0, 13.1, 14.0, 14.1, 15.0, 15.2]
    assert roll.sky["oat"] == pytest.approx(273.15 + np.mean(counted))
    assert roll.sky["headwind"] == pytest.approx(np.mean([3, 3.5, 2, 2.5, 4, 4.5, 5, 4]) * 1852 / 3600)


def test_a_named_sky_goes_before_the_mean(sound):
    _, reduced = reductions(sound(campaign__toml=TOML + '\n[reference]\noat = "15 °C"\n'))
    assert reduced["takeoff_roll"].sky["oat"] == 288.15
    assert reduced["takeoff_roll"].sky["weight"] != 288.15


def test_steps_are_those_of_the_measure_and_corrections_add_up(sound):
    _, reduced = reductions(sound())
    for reduction in reduced.values():
        counted = reduction.table.included
        some = {name: values[counted] for name, values in reduction.runs.items()}
        expected = reduce_runs(reduction.table.measure, some, reduction.sky)
        assert [step.name for step in reduction.steps] == [step.name for step in expected]
        assert reduction.value[counted] == pytest.approx(expected[-1].value)
        total = reduction.steps[0].value + sum(reduction.corrections.values())
        assert total == pytest.approx(reduction.value, nan_ok=True)


def test_a_run_left_out_without_its_wind_takes_no_correction_from_the_others(sound):
    _, reduced = reductions(sound())
    roll = reduced["takeoff_roll"]
    assert "wind" in roll.corrections
    assert not roll.left_out
    assert np.isnan(roll.value[5])
    assert np.isfinite(np.delete(roll.value, 5)).all()


def test_a_run_left_out_with_all_readings_is_reduced_too(sound):
    text = ROLL.replace("48,,44,,", "48,4,44,400,")
    _, reduced = reductions(sound(takeoff_roll__csv=text))
    assert np.isfinite(reduced["takeoff_roll"].value).all()
    _, before = reductions(sound())
    assert reduced["takeoff_roll"].value[0] == pytest.approx(before["takeoff_roll"].value[0])


@pytest.mark.parametrize(
    ("files", "measure", "correction", "why"),
    [
        (
            {"takeoff_roll__csv": ROLL.replace("headwind [kt]", "breeze [kt]")},
            "takeoff_roll",
            "wind",
            "no column 'headwind'",
        ),
        ({"takeoff_roll__csv": ROLL.replace("fuel [L]", "petrol [L]")}, "takeoff_roll", "weight", "no column 'fuel'"),
        (
            {"takeoff_roll__csv": ROLL.replace("qnh [hPa]", "setting [hPa]")},
            "takeoff_roll",
            "density",
            "neither pressure altitude nor qnh",
        ),
        (
            {"campaign__toml": TOML.replace('elevation = "300 ft"\n', "")},
            "takeoff_roll",
            "density",
            "elevation of the runway is not",
        ),
        (
            {"campaign__toml": TOML[: TOML.index("[aeroplane]")] + TOML[TOML.index("[engine]") :]},
            "takeoff_roll",
            "weight",
            "no [aeroplane] table",
        ),
        ({}, "timed_climb", "energy", "no column 'entry airspeed'"),
    ],
)
def test_why_a_correction_was_left_out(sound, files, measure, correction, why):
    _, reduced = reductions(sound(**files))
    assert correction not in reduced[measure].corrections
    assert why in reduced[measure].left_out[correction]


def test_standard_uncertainty_joins_the_sources_in_quadrature_without_drifts(sound):
    more = '\n[instrument.lasso]\ntarget = "ground roll"\nstandard_uncertainty = "10 %"\nmeasures = ["takeoff_roll"]\n'
    drift = '\n[instrument.creep]\ntarget = "result"\nscope = "straight drift"\nstandard_uncertainty = "50 %/h"\n'
    _, plain = reductions(sound())
    _, reduced = reductions(sound(campaign__toml=TOML + more + drift))
    before, after = (one["takeoff_roll"].standard_uncertainty / one["takeoff_roll"].value for one in (plain, reduced))
    # The roll is compared by ratio: 10 % of the reading are about 0.1 on the logarithm, whatever the slope does.
    assert np.sqrt(after**2 - before**2)[0] == pytest.approx(0.1, rel=0.02)
    names = [source.name for source, _ in reduced["takeoff_roll"].contributions]
    assert "creep" in names
    assert "lasso" in names


def test_runs_outside_a_correction_s_range_are_named(sound):
    text = ROLL.replace(",3.0,44,", ",7.0,44,").replace(",3.5,45,", ",7.0,45,")
    _, reduced = reductions(sound(takeoff_roll__csv=text))
    doubts = [doubt.sentence() for doubt in reduced["takeoff_roll"].doubts]
    assert any(
        "row 2: runs 1, 2, 7" not in doubt and "row 2: runs 1, 2" in doubt and "wind correction" in doubt
        for doubt in doubts
    )


def test_a_result_beyond_belief_is_named(sound):
    text = CLIMB.replace("1000,2000,62.1", "1000,9000,62.1")
    _, reduced = reductions(sound(timed_climb__csv=text.replace("9000", "26000")))
    assert any("hard to believe" in doubt.message for doubt in reduced["timed_climb"].doubts)


def test_the_file_of_a_reduction(sound, tmp_path):
    _, reduced = reductions(sound())
    reduction = reduced["takeoff_roll"]
    path = write_reduction(reduction, "ft", tmp_path / "out")
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert path.name == "takeoff_roll.csv"
    assert [row["run"] for row in rows] == [str(number) for number in range(1, 10)]
    assert rows[5]["exclude"] == "baulked by a dog"
    assert rows[5]["reduced [ft]"] == ""
    assert float(rows[0]["reduced [ft]"]) == pytest.approx(reduction.value[0] / 0.3048, abs=5e-4)
    parts = [
        float(rows[0][name])
        for name in rows[0]
        if name.endswith("[ft]") and not name.startswith(("reduced", "standard"))
    ]
    assert sum(parts) == pytest.approx(float(rows[0]["reduced [ft]"]), abs=2e-3)
    assert [row["installation"] for row in rows] == list("112233344")


def test_a_check_prepares_each_table_once(sound, monkeypatch):
    campaign, prepared = read(sound()), []

    def counted(campaign, table):
        prepared.append(table.measure.name)
        return prepare(campaign, table)

    modules = [module for name, module in sys.modules.items() if name.startswith("samesky.")]
    for module in modules:
        if getattr(module, "prepare", None) is prepare:
            monkeypatch.setattr(module, "prepare", counted)
    check(campaign)
    assert sorted(prepared) == sorted(campaign.tables)


def test_reduced_files_are_written_all_or_none(sound, tmp_path):
    """A folder in the place of the second file: the first is as it was, or not there."""
    out = tmp_path / "out"
    (out / "timed_climb.csv").mkdir(parents=True)
    (out / "takeoff_roll.csv").write_text("as it was", encoding="utf-8")
    campaign = read(sound())
    reductions = [(reduce_table(campaign, table), campaign.asked[name].unit) for name, table in campaign.tables.items()]
    for order in (reductions, reductions[::-1]):
        with pytest.raises(CampaignError, match="timed_climb"):
            write_reductions(order, out)
        assert sorted(path.name for path in out.iterdir()) == ["takeoff_roll.csv", "timed_climb.csv"]
        assert (out / "takeoff_roll.csv").read_text("utf-8") == "as it was"
