"""Limits to scrub at, against the closed form of each correction."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import saturday

from samesky.air import airspeed
from samesky.campaign.reading.read import read
from samesky.instruments.sources import ErrorSource
from samesky.planning.plan import plan
from samesky.planning.scrub import scrub_limits

SMALLEST, SHARE = 0.05, 0.06
LEFT = SMALLEST * SHARE


@pytest.fixture(scope="module")
def trial(tmp_path_factory):
    return plan(read(saturday.write(tmp_path_factory.mktemp("scrub")), flown=False)).trials


def limits(trial, name="takeoff_roll", sources=(), smallest=SMALLEST, share=SHARE, measure=None, runs=None):
    one = trial[name]
    measure = measure or one.reduction.table.measure
    found = scrub_limits(measure, runs or one.reduction.runs, one.reduction.sky, sources, one.design, smallest, share)
    return {limit.condition: limit for limit in found}


def coefficient(trial, name, measure="takeoff_roll"):
    return next(c for c in trial[measure].reduction.table.measure.coefficients if c.name == name)


def true_speed(trial):
    sky = trial["takeoff_roll"].reduction.sky
    # The density of moist air is within 0.1 % of dry air's here.
    return float(airspeed.cas_to_tas(sky["lift-off airspeed"], sky["pressure"], sky["oat"])), sky


def test_headwind_where_only_the_exponent_is_in_doubt(trial):
    found = limits(trial)["headwind"]
    speed, sky = true_speed(trial)
    doubt = coefficient(trial, "wind exponent").standard_uncertainty
    # u(n) |ln((V - W)/(V - W0))| = what may be left.
    for end, sign in ((found.high, -1), (found.low, +1)):
        assert end == pytest.approx(speed - (speed - sky["headwind"]) * np.exp(sign * LEFT / doubt), abs=0.03)
    assert found.rule == "derived"
    assert found.low < found.middle < found.high


def test_a_wind_that_is_read_in_the_lee_of_something_narrows_it(trial):
    lee = ErrorSource("lee", "headwind", 0.10, "campaign", "test", relative=True)
    found, without = limits(trial, sources=(lee,))["headwind"], limits(trial)["headwind"]
    speed, sky = true_speed(trial)
    n, doubt = (getattr(coefficient(trial, "wind exponent"), what) for what in ("value", "standard_uncertainty"))

    def left(wind):
        exponent = doubt * np.log((speed - wind) / (speed - sky["headwind"]))
        tenth = [n * 0.5 * np.log((speed - 0.9 * w) / (speed - 1.1 * w)) for w in (wind, sky["headwind"])]
        return np.hypot(exponent, tenth[0] - tenth[1])

    assert without.low < found.low
    assert found.high < without.high
    assert left(found.high) == pytest.approx(LEFT, rel=0.02)
    assert left(found.low) == pytest.approx(LEFT, rel=0.02)


def test_a_reading_error_that_averages_counts_by_its_growth_alone(trial):
    reading = ErrorSource("wind reading", "headwind", 0.4, "run", "test")
    speed, sky = true_speed(trial)
    n = coefficient(trial, "wind exponent").value
    weights = trial["takeoff_roll"].design.weights
    found = limits(trial, sources=(reading,))["headwind"]
    expected = n * 0.4 / (speed - sky["headwind"]) * np.sqrt(weights @ weights) / SMALLEST
    assert found.reading == pytest.approx(expected, rel=0.01)
    # It grows towards the lift-off speed: a little narrower above, nothing lost below.
    assert found.high < limits(trial)["headwind"].high
    assert found.low == pytest.approx(limits(trial)["headwind"].low, abs=0.03)


def test_temperature_by_the_doubt_of_density_and_power(trial):
    found = limits(trial, "static_pull")["oat"]
    names = ("density exponent", "power exponent", "power with temperature")
    density, power, warm = (coefficient(trial, name, "static_pull") for name in names)
    # At constant pressure density goes with 1/T and power with T^b (moisture aside: 0.2 K here).
    doubt = np.sqrt(
        density.standard_uncertainty**2
        + (power.standard_uncertainty * warm.value) ** 2
        + (power.value * warm.standard_uncertainty) ** 2
    )
    middle = trial["static_pull"].reduction.sky["oat"]
    assert found.high == pytest.approx(middle * np.exp(LEFT / doubt), abs=0.6)
    assert found.low == pytest.approx(middle * np.exp(-LEFT / doubt), abs=0.6)


def test_weight_by_the_doubt_of_its_exponent(trial):
    found = limits(trial, "timed_climb")["weight"]
    doubt = coefficient(trial, "weight exponent", "timed_climb").standard_uncertainty
    middle = trial["timed_climb"].reduction.sky["weight"]
    assert found.high == pytest.approx(middle * np.exp(LEFT / doubt), rel=1e-3)
    assert found.low == pytest.approx(middle * np.exp(-LEFT / doubt), rel=1e-3)


def test_gusts_by_the_slope_of_the_roll_with_wind(trial):
    found = limits(trial)["gust spread"]
    speed, sky = true_speed(trial)
    n = coefficient(trial, "wind exponent").value
    weights = trial["takeoff_roll"].design.weights
    slope = n / (speed - sky["headwind"])
    # A gust is three standard deviations above the mean (assumed).
    assert found.high == pytest.approx(3.0 * LEFT / (slope * np.sqrt(weights @ weights)), rel=2e-3)
    assert "gust spread" not in limits(trial, "timed_climb")


@pytest.mark.parametrize(("lift_off", "reach"), [(38.0, 12.0), (20.0, 20 * 1852 / 3600)])
def test_gusts_are_limited_no_further_than_anybody_flies(trial, lift_off, reach):
    """12 m/s lies within Beaufort 6 (WMO: 10.8 to 13.8 m/s); what lifts off at 20 kt stays at home before."""
    one = trial["takeoff_roll"]
    speed = lift_off * 1852 / 3600
    runs, sky = one.reduction.runs | {"lift-off airspeed": np.full(len(one.design.weights), speed)}, one.reduction.sky
    given = (one.reduction.table.measure, runs, dict(sky) | {"lift-off airspeed": speed}, (), one.design, SMALLEST)

    def high(share):
        return next(found.high for found in scrub_limits(*given, share) if found.condition == "gust spread")

    share = SHARE * reach / high(SHARE)
    assert high(0.999 * share) == pytest.approx(0.999 * reach)
    assert high(1.001 * share) == np.inf


def test_no_correction_is_used_beyond_its_range(trial):
    wide = limits(trial, share=0.99, smallest=1.0)
    speed = trial["takeoff_roll"].reduction.sky["lift-off airspeed"]
    assert wide["headwind"].rule == "range"
    assert wide["headwind"].high == pytest.approx(0.10 * speed, abs=0.03)
    assert wide["lift-off airspeed"].high == pytest.approx(1.10 * speed, abs=0.03)
    climb = limits(trial, "timed_climb")["airspeed"]
    assert "hold the airspeed within 5 %" in climb.why
    assert climb.high == pytest.approx(1.05 * trial["timed_climb"].reduction.sky["airspeed"], abs=0.05)


def test_less_left_over_means_narrower_limits(trial):
    narrow, wide = limits(trial, share=0.05), limits(trial, share=0.10)
    for name in ("headwind", "oat", "weight", "lift-off airspeed", "gust spread"):
        assert wide[name].low <= narrow[name].low <= narrow[name].middle <= narrow[name].high <= wide[name].high
    assert narrow["headwind"].high < wide["headwind"].high


def test_twice_the_doubt_of_a_coefficient_halves_the_reach(trial):
    measure = trial["static_pull"].reduction.table.measure
    doubled = replace(
        measure,
        coefficients=tuple(replace(c, standard_uncertainty=2 * c.standard_uncertainty) for c in measure.coefficients),
    )
    once, twice = limits(trial, "static_pull"), limits(trial, "static_pull", measure=doubled)
    assert np.log(twice["oat"].high / twice["oat"].middle) == pytest.approx(
        0.5 * np.log(once["oat"].high / once["oat"].middle), rel=0.03
    )


def test_what_is_not_read_has_no_limit(trial):
    runs = {k: v for k, v in trial["takeoff_roll"].reduction.runs.items() if k != "headwind"}
    found = limits(trial, runs=runs)
    assert "headwind" not in found
    assert "gust spread" not in found


def test_a_forecast_beyond_the_range_is_not_talked_round(tmp_path):
    windy = saturday.write(tmp_path / "windy", ('wind = ["1 kt", "4 kt"]', 'wind = ["4 kt", "5.5 kt"]'))
    trials = plan(read(windy, flown=False)).trials
    found = limits(trials, share=0.5)
    speed = trials["takeoff_roll"].reduction.sky["lift-off airspeed"]
    assert found["headwind"].middle > 0.10 * speed
    assert found["headwind"].high == pytest.approx(0.10 * speed, rel=1e-3)
    # Nobody is told to lift off faster so that the wind becomes a smaller share.
    assert found["lift-off airspeed"].low < speed < found["lift-off airspeed"].high
