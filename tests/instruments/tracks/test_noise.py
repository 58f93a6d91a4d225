"""Means, slopes and effective numbers under correlated noise."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from made_tracks import markov
from scipy.integrate import dblquad

from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.noise import Noise, TrackEstimate
from samesky.published import registry

IRREGULAR = np.array([0.0, 1.0, 2.0, 3.0, 7.0, 8.0, 8.2, 8.4, 15.0, 30.0])


def covariance(noise, time):
    """Dense covariance matrix by its definition."""
    apart = np.abs(time[:, None] - time)
    dense = noise.standard_deviation**2 * np.exp(-apart / noise.correlation_time) if noise.correlation_time else 0
    return dense + noise.white**2 * np.eye(time.size)


@pytest.mark.parametrize("noise", [Noise(0.7, 4.0), Noise(0.7, 4.0, 0.3), Noise(2.0, 300.0, 0.1), Noise(0.0, 4.0, 0.5)])
def test_fit_agrees_with_statsmodels_generalised_least_squares(noise):
    # reference: statsmodels GLS with the dense covariance matrix
    readings = np.random.default_rng(3).normal(size=IRREGULAR.size) + 0.3 * IRREGULAR
    design = noises.powers(IRREGULAR, 2)
    own = noises.fit(noise, IRREGULAR, readings, design)
    other = sm.GLS(readings, design, sigma=covariance(noise, IRREGULAR)).fit(cov_type="nonrobust")
    np.testing.assert_allclose(own.coefficients, other.params, rtol=1e-9)
    np.testing.assert_allclose(own.covariance, other.normalized_cov_params, rtol=1e-9)
    assert own.scatter**2 == pytest.approx(other.scale, rel=1e-9)


def test_many_rows_of_readings_take_one_call():
    readings = np.random.default_rng(3).normal(size=(4, 2, IRREGULAR.size))
    design, noise = noises.powers(IRREGULAR, 1), Noise(1.0, 5.0)
    together = noises.fit(noise, IRREGULAR, readings, design)
    assert together.coefficients.shape == (4, 2, 2)
    alone = noises.fit(noise, IRREGULAR, readings[2, 1], design)
    np.testing.assert_allclose(together.coefficients[2, 1], alone.coefficients, rtol=1e-12)
    assert together.scatter[2, 1] == pytest.approx(float(alone.scatter))


def test_effective_number_tends_to_the_printed_form():
    # n (1 - r)/(1 + r) for evenly spaced fixes (Wilks: from memory); exact value from the dense matrix
    noise, time = Noise(0.4, 10.0), np.arange(0.0, 4000.0, 1.0)
    r = np.exp(-1 / 10.0)
    assert noises.effective_number(noise, time) == pytest.approx(time.size * (1 - r) / (1 + r), rel=0.01)
    short = time[:40]
    exact = noise.standard_deviation**2 * np.linalg.inv(covariance(noise, short)).sum()
    assert noises.effective_number(noise, short) == pytest.approx(exact, rel=1e-10)


def test_ten_fixes_a_second_are_hardly_worth_more_than_one():
    slow, fast = np.arange(0.0, 60.5, 1.0), np.arange(0.0, 60.05, 0.1)
    assert noises.effective_number(noises.SPEED, fast) < 1.02 * noises.effective_number(noises.SPEED, slow)


def test_variance_of_an_integral_agrees_with_numerical_quadrature():
    noise, duration = Noise(0.3, 7.0), 11.0
    double, _ = dblquad(lambda a, b: noise.standard_deviation**2 * np.exp(-abs(a - b) / 7.0), 0, duration, 0, duration)
    assert noises.integral_variance(noise, duration) == pytest.approx(double, rel=1e-4)


def test_scatter_as_stated_leaves_the_uncertainty_and_more_scatter_widens_it():
    rng, time = np.random.default_rng(11), np.arange(0.0, 60.0)
    noise, design = Noise(0.5, 5.0), noises.powers(time, 1)
    rows = np.array([markov(rng, time, 0.5, 5.0) for _ in range(2000)])
    widened = noises.fit(noise, time, rows, design).inflation > 1
    # SURPRISE is the chance of a false alarm: binomial with n = 2000, p = 0.001 stays below 9 in 99.99 %
    assert widened.sum() < 9
    thrice = noises.fit(noise, time, 3 * rows, design)
    assert np.median(thrice.inflation) == pytest.approx(3.0, rel=0.05)
    assert (thrice.inflation > 1).all()


def test_slope_and_mean_cover_their_truth_as_often_as_they_say():
    rng, time, noise = (
        np.random.default_rng(5),
        np.delete(np.arange(0.0, 90.0, 0.5), np.s_[40:52]),
        Noise(1.2, 20.0, 0.3),
    )
    rows = np.array([markov(rng, time, 1.2, 20.0) for _ in range(3000)]) + 0.3 * rng.standard_normal((3000, time.size))
    fit = noises.fit(noise, time, rows, noises.powers(time, 2))
    share = np.mean(np.abs(fit.coefficients) < 2 * np.sqrt(np.diag(fit.covariance)), axis=0)
    # k = 2 holds 95.45 %; Monte Carlo error of 3000 cases 0.38 %, four of them
    np.testing.assert_allclose(share, 0.9545, atol=0.0153)


@pytest.mark.parametrize("step", [1.0, 0.1, 0.3048, 1852 / 3600, 0.1852 / 3.6, 0.01, 10.0])
def test_rounding_of_the_record_is_seen(step):
    readings = np.round(np.random.default_rng(2).uniform(20, 900, 60) / step) * step
    assert noises.recorded_step(readings) == pytest.approx(step)
    recorded = Noise(0.1, 10.0, 0.05).with_resolution(readings)
    assert recorded.white == pytest.approx(np.hypot(0.05, step / np.sqrt(12)))


def test_unrounded_readings_have_no_step():
    rng = np.random.default_rng(2)
    assert all(noises.recorded_step(400 + 3 * np.arange(30) + rng.normal(size=30)) == 0 for _ in range(200))
    assert noises.recorded_step(np.array([1.0, 2.0])) == 0


def test_default_speed_noise_is_the_printed_accuracy():
    # row I07: 0.2 m/s per axis at 95 %
    printed = registry.row("I07")
    assert 1.959964 * noises.SPEED.standard_deviation == pytest.approx(printed.value, abs=0.005)
    # row I09: ten-second means of a standing receiver err by less than 0.05 m/s in 99.9 %: the default is cautious
    ten = np.arange(0.0, 10.0)
    spread = noises.SPEED.standard_deviation / np.sqrt(noises.effective_number(noises.SPEED, ten))
    assert 3.29 * spread > 0.05


def test_default_pressure_altitude_noise_is_the_printed_sensor():
    # row I11: 0.12 hPa relative "(1 m)", 1.3 Pa rms; 8.3 m to the hectopascal near sea level
    assert "0.12 hPa (1 m)" in registry.row("I11").printed
    assert noises.PRESSURE_ALTITUDE.standard_deviation == pytest.approx(0.12 * 8.3, abs=0.05)
    assert noises.PRESSURE_ALTITUDE.white == pytest.approx(0.013 * 8.3, abs=0.005)


def test_interval_uses_k_2():
    assert TrackEstimate(10.0, 0.5).interval == (9.0, 11.0)
