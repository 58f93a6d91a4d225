"""Whole campaigns in memory: fit for the reduction, truth recovered, one path for one and for many, linear in
number."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.instruments.sources import ErrorSource
from samesky.measures import MEASURES
from samesky.measures.sensitivity import sensitivities
from samesky.simulator.aeroplane.model import Effect, SimAeroplane
from samesky.simulator.ambient import standard
from samesky.simulator.campaign_sim import simulate, true_difference, true_results
from samesky.simulator.examples.trainer import TRAINER
from samesky.simulator.motion.flights import FLIGHTS
from samesky.simulator.motion.takeoff import roll
from samesky.simulator.pilot import Pilot
from samesky.simulator.scenario import Fitting, Scenario
from samesky.simulator.schedule import blocks
from samesky.simulator.sky import Course, SkyModel

FOUR = ("static_pull", "takeoff_roll", "timed_climb", "level_speed")
STEADY = Pilot(lift_off_scatter=0.0, climb_scatter=0.0, climb_ends_scatter=0.0)
MINUTES = dict.fromkeys(FLIGHTS, 5.0)


def scenario(measures=FOUR, order="ABBA", **others):
    schedule = blocks(order, dict.fromkeys(measures, 3), minutes=MINUTES, swap_minutes=30)
    return Scenario(**{"effects": {"A": Effect(), "B": Effect(thrust=1.03)}, "schedule": schedule} | others)


def sky_of(measure, columns):
    return {name: float(np.mean(columns[name])) for name in measure.conditions if name in columns}


def test_every_measure_with_physics_can_be_flown():
    assert set(FLIGHTS) == set(MEASURES)


@pytest.mark.parametrize("aeroplane", [SimAeroplane(), TRAINER], ids=["geared", "trainer"])
def test_every_measure_gets_the_columns_that_its_reduction_needs(aeroplane):
    flown = simulate(scenario(tuple(FLIGHTS), aeroplane=aeroplane), 20, np.random.default_rng(1))
    for name, measure in MEASURES.items():
        columns = flown.columns[name]
        assert {column.name for column in measure.columns if column.required} <= set(columns)
        assert all(values.shape == (20, 12) for values in columns.values())
        assert not any(np.isnan(values).any() for values in columns.values())
        steps = measure.reduce(columns, sky_of(measure, columns), measure.coefficient_values())
        made = {step.name for step in steps}
        assert len(made) >= 3 or name == "cruise_fuel"
        low, high = measure.plausible
        assert low < steps[-1].value.min() <= steps[-1].value.max() < high


def test_a_perfect_campaign_in_a_changing_sky_is_brought_to_the_same_sky():
    # No scatter, perfect readings, yet temperature, pressure, wind and fuel change: what the reduction leaves is its
    # own approximation, which must be a part of the changes themselves, and inside what the coefficients state.
    changing = SkyModel(
        {
            "temperature": Course(283.15, rate=1.5),
            "pressure": Course(100500.0, rate=-80.0),
            "headwind": Course(1.0, rate=0.4),
            "dew point": Course(278.15),
        }
    )
    still = scenario(FOUR, effects={"A": Effect(), "B": Effect()}, sky=changing, pilot=STEADY, sources=())
    flown = simulate(still, 1, np.random.default_rng(1))
    for name in FOUR:
        measure, columns = MEASURES[name], flown.columns[name]
        steps = measure.reduce(columns, sky_of(measure, columns), measure.coefficient_values())
        raw, reduced = (np.ptp(step.value) / np.mean(step.value) for step in (steps[0], steps[-1]))
        assert reduced < 0.4 * raw, name
        effects = sensitivities(measure, columns, sky_of(measure, columns), [])
        stated = np.sqrt(sum(np.square(effect) for _, effect in effects))
        value = measure.to_scale(steps[-1].value)
        # The sky is the mean of the runs: one like it stands for the truth.
        middle = value.ravel()[np.argmin(stated)]
        slack = 0.002 * (1.0 if measure.ratio else steps[-1].value)
        assert np.all(np.abs(value - middle) < 2 * (stated + stated.min()) + slack), name


@pytest.mark.parametrize("name", FOUR)
def test_the_known_truth_is_recovered_on_average(name):
    # 400 campaigns A B B A of three runs a block: the mean contrast must be the true difference within its own Monte
    # Carlo error (4 standard errors) and 0.3 % for what the reduction approximates.
    chosen = scenario((name,), fitting=Fitting(pitch=0.003))
    flown = simulate(chosen, 400, np.random.default_rng(9))
    measure, columns = MEASURES[name], flown.columns[name]
    sky = sky_of(measure, columns)
    value = measure.reduce(columns, sky, measure.coefficient_values())[-1].value
    is_b = chosen.schedule[name].configuration == "B"
    contrast = np.log(value[:, is_b]).mean(axis=1) - np.log(value[:, ~is_b]).mean(axis=1)
    results = true_results(chosen, measure, sky)
    allowed = 0.003 + 4 * contrast.std(ddof=1) / 20
    assert contrast.mean() == pytest.approx(np.log(results["B"] / results["A"]), abs=allowed)


def test_true_differences_of_a_better_propeller():
    # 3 % thrust at the same torque, from the prototype's sensitivities (1 % thrust: roll -1.26, pull +1.00, climb time
    # -1.76 so rate +1.8, top speed +0.40), with rounding and curvature.
    chosen = scenario()
    sky = {"oat": 288.15, "pressure": 101325.0, "weight": 540.0, "headwind": 0.0, "slope": 0.0}
    expected = {"static_pull": 0.0300, "takeoff_roll": -0.0367, "timed_climb": 0.053}
    for name, difference in expected.items():
        found = true_difference(chosen, MEASURES[name], sky, "A", "B")
        assert found == pytest.approx(difference, abs=0.0015), name
    gain = true_difference(chosen, MEASURES["level_speed"], sky | {"altitude": 304.8}, "A", "B")
    # At the limit of the engine the pilot throttles back, so a little less than the prototype's +1.2 %.
    assert 0.002 < gain / 50.9 < 0.0122


def test_no_effect_is_no_difference():
    chosen = scenario(effects={"A": Effect(), "B": Effect(mass=-3.0)})
    sky = {"oat": 285.0, "pressure": 99000.0, "weight": 520.0, "headwind": 2.0, "slope": 0.01}
    for name in FOUR:
        assert true_difference(chosen, MEASURES[name], sky, "A", "B") == 0.0


def test_the_changed_part_weighs():
    flown = simulate(scenario(effects={"A": Effect(), "B": Effect(mass=4.0)}, sources=()), 1, np.random.default_rng(1))
    for name, plan in scenario().schedule.items():
        weight = flown.columns[name]["weight"][0]
        np.testing.assert_allclose(weight, 505.0 + plan.fuel + np.where(plan.configuration == "B", 4.0, 0.0))


def test_a_fitting_error_is_shared_by_an_installation_across_measures():
    quiet = SkyModel()
    chosen = scenario(("static_pull", "timed_climb"), sky=quiet, sources=(), fitting=Fitting(pitch=0.02), pilot=STEADY)
    flown = simulate(chosen, 200, np.random.default_rng(4))
    rpm = flown.truth["static_pull"]["rpm"]
    installation = chosen.schedule["static_pull"].installation
    within = np.ptp(rpm[:, installation == 0], axis=1)
    assert within.max() < 1e-9
    between = np.corrcoef(rpm[:, 0], rpm[:, -1])[0, 1]
    assert abs(between) < 0.25
    climb = flown.truth["timed_climb"]["rpm"]
    assert np.corrcoef(rpm[:, 0], climb[:, 0])[0, 1] > 0.95


def test_satellite_legs_replace_the_airspeed():
    chosen = scenario(("level_speed",), tracks=(0.5, 0.5 + np.pi), heading=0.5)
    flown = simulate(chosen, 50, np.random.default_rng(6))
    columns, measure = flown.columns["level_speed"], MEASURES["level_speed"]
    assert "airspeed" not in columns
    steps = measure.reduce(columns, sky_of(measure, columns), measure.coefficient_values())
    results = true_results(chosen, measure, sky_of(measure, columns))
    assert np.mean(steps[-1].value) == pytest.approx(np.mean(list(results.values())), rel=0.01)


def test_one_seed_one_campaign():
    first, second = (simulate(scenario(), 7, np.random.default_rng(3)).columns for _ in range(2))
    for name, columns in first.items():
        for column, values in columns.items():
            np.testing.assert_array_equal(values, second[name][column])


def test_what_is_not_written_down_is_not_there():
    flown = simulate(scenario(unread=frozenset({"lift-off airspeed", "dew point"})), 2, np.random.default_rng(3))
    assert not {"lift-off airspeed", "dew point"} & set(flown.columns["takeoff_roll"])
    assert "lift-off airspeed" in flown.truth["takeoff_roll"]


def test_what_cannot_be_flown_is_refused():
    with pytest.raises(ValueError, match="cannot fly cabin_noise"):
        simulate(scenario(("static_pull",), schedule={"cabin_noise": scenario().schedule["static_pull"]}), 1, None)
    with pytest.raises(ValueError, match="flies B"):
        scenario(effects={"A": Effect()})


def test_the_pilot_keeps_the_needle_at_the_limit_and_the_dew_point_below_the_temperature():
    damp = SkyModel({"dew point": Course(288.1), "temperature": Course(288.15)})
    fine = scenario(("level_speed", "static_pull"), effects={"A": Effect(), "B": Effect(pitch=0.85)}, sky=damp)
    flown = simulate(fine, 200, np.random.default_rng(5)).columns
    assert flown["level_speed"]["rpm"].max() == 5300 / 60
    for columns in flown.values():
        assert np.all(columns["dew point"] <= columns["oat"])


def test_the_altimeter_is_flown_to_the_mark_and_its_error_is_in_the_band():
    source = ErrorSource("altimeter", "from", 12.0, "run", "test")
    flown = simulate(scenario(("timed_climb",), sources=(source,), pilot=STEADY), 2000, np.random.default_rng(5))
    read, true = flown.columns["timed_climb"], flown.truth["timed_climb"]
    assert np.all(read["from"] == 304.8)
    assert true["from"].std() == pytest.approx(12.0, rel=0.02)
    assert np.corrcoef(true["from"][:, 0], read["elapsed"][:, 0])[0, 1] < -0.7


def test_the_wind_that_is_read_is_the_mean_over_the_roll():
    conditions = {
        "oat": np.array([288.15]),
        "pressure": np.array([101325.0]),
        "weight": np.array([540.0]),
        "lift-off airspeed": np.array([19.5]),
        "headwind": np.array([3.0]),
    }
    length = FLIGHTS["takeoff_roll"].fly(SimAeroplane(), conditions, {"gust rise": 2.0})["ground roll"]
    # From 2 m/s at brake release to 4 m/s at lift-off.
    exact, _ = roll(SimAeroplane(), standard(0.0), 540.0, 19.5, headwind=2.0, gust=2.0)
    np.testing.assert_allclose(length, exact, rtol=1e-6)
