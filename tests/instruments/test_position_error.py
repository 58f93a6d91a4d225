"""Position error: a printed calibration line, weighted fits, compressible airspeeds, coverage when applied."""

from __future__ import annotations

import math

import numpy as np
import pytest
import statsmodels.api as sm

from samesky.air import airspeed, atmosphere
from samesky.air.legs import airspeed_from_tracks
from samesky.instruments.position_error import (
    PositionErrorError,
    calibrated,
    distinct_speeds,
    fit_position_error,
)
from samesky.published import registry

KNOT, FOOT = 1852 / 3600, 0.3048

# JCGM 100:2008 table H.6: thermometer readings and observed corrections (degrees C): numbers from memory
READINGS = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
CORRECTIONS = -np.array([0.171, 0.169, 0.166, 0.159, 0.164, 0.165, 0.156, 0.157, 0.159, 0.161, 0.160])


def test_the_calibration_line_of_the_guide():
    # JCGM 100:2008, H.3: y1 = -0.1712 (s 0.0029) at 20 degrees, y2 = 0.00218 (s 0.00067), b(30) = -0.1494 (u 0.0041)
    fit = fit_position_error(READINGS, READINGS + CORRECTIONS, 1e-4)
    assert fit.model == "line"
    assert fit.coefficients[1] == pytest.approx(0.00218, abs=5e-6)
    assert math.sqrt(fit.covariance[1, 1]) == pytest.approx(0.00067, abs=5e-6)
    for at, value, spread in ((20.0, -0.1712, 0.0029), (30.0, -0.1494, 0.0041)):
        own, own_spread = fit.correction(at)
        assert own == pytest.approx(value, abs=5e-5)
        assert own_spread == pytest.approx(spread, abs=5e-5)
    assert fit.degrees_of_freedom == 9
    assert any("scatter" in note for note in fit.notes)


def test_weighted_line_against_statsmodels():
    rng = np.random.default_rng(2)
    v, u = np.linspace(25, 60, 9), rng.uniform(0.2, 0.8, 9)
    c = v + 0.5 - 0.03 * (v - 40) + u * rng.normal(size=9)
    fit = fit_position_error(v, c, u)
    other = sm.WLS(c - v, sm.add_constant(v - fit.middle), weights=1 / u**2).fit()
    np.testing.assert_allclose(fit.coefficients, other.params, rtol=1e-9)
    np.testing.assert_allclose(fit.covariance, other.normalized_cov_params, rtol=1e-9, atol=1e-12)
    assert fit.scatter**2 == pytest.approx(other.scale)
    assert fit.degrees_of_freedom == math.inf


def test_constant_is_the_weighted_mean():
    fit = fit_position_error([40.0, 40.2, 39.9], [41.0, 41.5, 40.7], [0.2, 0.4, 0.2])
    assert fit.model == "constant"
    weight = 1 / np.array([0.2, 0.4, 0.2]) ** 2
    assert fit.coefficients[0] == pytest.approx(np.sum(weight * [1.0, 1.3, 0.8]) / weight.sum())
    assert fit.correction(55.0)[1] == pytest.approx(1 / math.sqrt(weight.sum()))


@pytest.mark.parametrize(
    ("speeds", "model"),
    [([40], "constant"), ([40, 50, 50.2], "constant"), ([30, 40, 50], "line"), ([30, 30.3, 50], "constant")],
)
def test_the_model_follows_from_the_speeds_alone(speeds, model):
    readings = np.array(speeds, dtype=float)
    for error in (0.0, 0.2 * (readings - 40)):  # whatever the numbers say
        assert fit_position_error(readings, readings + error, 0.5).model == model


def test_distinct_speeds():
    assert distinct_speeds([30.0, 30.4, 45.0, 45.1]) == 2
    # steps of less than a knot, but five knots from end to end
    assert distinct_speeds(READINGS) > 5


def test_the_printed_flight_data_give_a_calibration():
    """Points 1, 3, 4, 6 of the printed data sheet: IAS and multi-leg TAS at 7 500 ft, standard temperature assumed."""
    legs = {
        "T4-040": (55, [65.6, 58.0, 62.4, 67.0], [246, 348, 107, 171]),
        "T4-048": (70, [80.6, 74.2, 79.8, 85.2], [274, 6, 98, 179]),
        "T4-052": (80, [91.7, 84.9, 88.6, 95.9], [272, 7, 91, 176]),
        "T4-060": (100, [111.0, 108.0, 114.0, 118.0], [93, 4, 274, 178]),
    }
    height = 7500 * FOOT
    pressure, temperature = atmosphere.pressure(height), atmosphere.temperature(height)
    indicated, cas = [], []
    for row, (ias, speeds, tracks) in legs.items():
        tas = airspeed_from_tracks(np.array(speeds) * KNOT, np.radians(tracks)).tas
        assert tas / KNOT == pytest.approx(registry.row(row).value, abs=0.06)
        indicated.append(ias * KNOT)
        cas.append(calibrated(tas, 0.0, pressure, temperature)[0])
    fit = fit_position_error(indicated, cas, 0.5 * KNOT)
    assert fit.model == "line"
    # independent: numpy's polynomial fit to incompressible airspeeds, TAS times root sigma
    sigma = atmosphere.density(height) / 1.225
    simple = np.array([62.5, 80.0, 90.5, 112.9]) * math.sqrt(sigma)
    slope, _ = np.polyfit([55, 70, 80, 100], simple - [55, 70, 80, 100], 1)
    assert fit.coefficients[1] == pytest.approx(slope, abs=0.003)


def test_calibrated_airspeed_and_its_uncertainty_against_simulation():
    rng, n = np.random.default_rng(3), 200_000
    tas, p, t = 52.0, 92_000.0, 281.0
    drawn = airspeed.tas_to_cas(
        tas + 0.3 * rng.normal(size=n), p + 80 * rng.normal(size=n), t + 1.0 * rng.normal(size=n)
    )
    value, spread = calibrated(tas, 0.3, p, t, pressure_uncertainty=80.0, temperature_uncertainty=1.0)
    assert value == pytest.approx(drawn.mean(), abs=0.005)
    assert spread == pytest.approx(drawn.std(), rel=0.01)


def test_corrected_readings_hold_the_truth_as_often_as_they_say():
    """A line fitted at four speeds and applied at two others."""
    rng, held = np.random.default_rng(4), []
    v = np.array([28.0, 35.0, 42.0, 50.0])
    for _ in range(2000):
        offset, slope = rng.normal(0, 1.0), rng.normal(0, 0.03)
        c = v + offset + slope * (v - 40) + 0.4 * rng.normal(size=4)
        value, spread = fit_position_error(v, c, 0.4).apply(np.array([31.0, 47.0]))
        true = np.array([31.0, 47.0]) + offset + slope * (np.array([31.0, 47.0]) - 40)
        held.append(np.abs(value - true) < 2 * spread)
    # k = 2: 95.45 %; four standard errors of 2000 cases, and the few that scatter widens
    assert np.abs(np.mean(held, axis=0) - 0.9545).max() < 0.0186 + 0.005


@pytest.mark.parametrize("speeds", [[30.0, 40.0, 50.0], [30.0, 30.1, 30.2]])
def test_the_independent_sources_together_are_the_covariance_at_every_speed(speeds):
    """Perturbing by one source at a time and adding squares must give what the covariance gives (JCGM 100, 5.2)."""
    shared = np.array([[0.3, 0.1, 0.4], [0.2, 0.2, 0.2]])
    fit = fit_position_error(speeds, np.array(speeds) + np.array([0.5, 0.4, 0.1]), [0.4, 0.3, 0.5], shared=shared)
    sources = [source for source in fit.error_sources() if source.target == "lift-off airspeed"]
    assert {source.scope for source in sources} == {"campaign"}
    at = np.array([20.0, 34.0, 60.0])
    corrected, spread = fit.apply(at)
    effects = [
        source.standard_uncertainty * (corrected - source.about if source.relative else np.ones(3))
        for source in sources
    ]
    np.testing.assert_allclose(np.sqrt(np.sum(np.square(effects), axis=0)), spread)
    # between two speeds the errors differ by what the covariance says of their difference
    difference = np.array([0.0, at[2] - at[0]])[: fit.coefficients.size]
    own = sum(
        (source.standard_uncertainty * (corrected[2] - corrected[0])) ** 2 for source in sources if source.relative
    )
    assert own == pytest.approx(float(difference @ fit.covariance @ difference))


def test_readings_and_calibrated_airspeeds_are_each_others_inverse():
    for speeds in ([30.0, 40.0, 50.0], [40.0, 40.1]):
        fit = fit_position_error(speeds, np.array(speeds) * 1.05 - 1.0, 0.4)
        assert fit.indicated(fit.apply(np.array([25.0, 61.0]))[0]) == pytest.approx([25.0, 61.0], rel=1e-12)
    np.testing.assert_array_equal(fit.outside([39.4, 40.2, 55.0]), [True, False, True])


def test_what_runs_share_does_not_average_out():
    """Ten runs with one thermometer: simulated spread of the fitted line against its stated covariance."""
    rng, v = np.random.default_rng(6), np.repeat([30.0, 40.0, 50.0, 60.0, 70.0], 2)
    shared = np.stack([0.01 * v, np.full(10, 0.2)])
    found = []
    for _ in range(3000):
        error = 0.3 * rng.normal(size=10) + rng.normal(size=2) @ shared
        fit = fit_position_error(v, v + 1.0 - 0.02 * (v - 50) + error, 0.3, shared=shared)
        found.append([*fit.coefficients, *fit.correction(np.array([35.0, 80.0]))[0]])
    stated = fit_position_error(v, v + 1.0 - 0.02 * (v - 50), 0.3, shared=shared)
    spread = np.concatenate([np.sqrt(np.diag(stated.covariance)), stated.correction(np.array([35.0, 80.0]))[1]])
    np.testing.assert_allclose(np.std(found, axis=0), spread, rtol=4 / math.sqrt(2 * 3000))
    assert spread[0] > 3 * 0.3 / math.sqrt(10)


@pytest.mark.parametrize(
    ("arguments", "more", "message"),
    [
        (([], [], []), {}, "missing"),
        (([40.0], [math.nan], [0.4]), {}, "missing"),
        (([40.0], [41.0], [0.0]), {}, "not more than zero"),
        (([40.0, 40.1], [41.0, 41.0], 0.4), {"model": "line"}, "a line needs two"),
        (([40.0], [41.0], 0.4), {"model": "spline"}, "'constant' and 'line'"),
    ],
)
def test_runs_that_cannot_answer(arguments, more, message):
    with pytest.raises(PositionErrorError, match=message):
        fit_position_error(*arguments, **more)
