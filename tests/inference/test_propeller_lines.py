"""A point over a line with errors in both variables: by covariances, by an orthogonal fit, by simulated coverage."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, stats

from samesky.inference.propellers.lines import PLACES, Apart, Coordinate, own_variances

RNG = np.random.default_rng(20260901)


def coordinate(levels, sizes, df=np.inf, worst=(0.0, 0.0), bend=(0.0, 0.0)):
    """Of P, i, j with independent standard deviations."""
    p, i, j = np.square(sizes)
    return Coordinate(*levels, variance=(p + i, p + j, i + j), worst=worst, degrees_of_freedom=df,
                      bend=bend[0], bend_known=bend[1])  # fmt: skip


def test_the_variance_of_a_contrast_is_that_of_its_covariance():
    # Any covariance of three levels (numpy's quadratic form), told from the differences alone.
    root = RNG.normal(size=(3, 3))
    covariance = root @ root.T

    def between(a, b):
        return covariance[a, a] + covariance[b, b] - 2.0 * covariance[a, b]

    one = Coordinate(0.0, 0.0, 1.0, (between(0, 1), between(0, 2), between(1, 2)), (0.0, 0.0), np.inf)
    weights = np.stack([np.ones_like(PLACES), PLACES - 1.0, -PLACES], axis=-1)
    expected = np.einsum("ka,ab,kb->k", weights, covariance, weights)
    free = expected > 0.25 * min(one.variance[:2])
    assert free.any()
    assert one.variances(PLACES)[free] == pytest.approx(expected[free])


def test_the_interval_is_that_of_the_profile_of_the_likelihood():
    # scipy's minimiser over the place on the line, for each end of the interval.
    x, y = coordinate((0.4, 0.0, 1.0), (0.10, 0.15, 0.20)), coordinate((0.9, 0.2, 1.0), (0.12, 0.10, 0.15))
    low, high = Apart(x, y).interval(0.95)

    def misfit(d):
        def at(t):
            place = np.array([t])
            over = float(y.residual(place)[0]) - d
            return float(x.residual(place)[0]) ** 2 / x.variances(place)[0] + over**2 / y.variances(place)[0]

        return optimize.minimize_scalar(at, bounds=(0.0, 1.0), method="bounded", options={"xatol": 1e-9}).fun

    for end in (low, high):
        assert misfit(end) == pytest.approx(stats.chi2.ppf(0.95, 1), rel=0.003)


def test_an_abscissa_known_exactly_leaves_the_plain_interval():
    x, y = coordinate((0.25, 0.0, 1.0), (1e-9, 1e-9, 1e-9)), coordinate((1.0, 0.0, 0.4), (0.1, 0.1, 0.1), df=5)
    low, high = Apart(x, y).interval(0.95)
    half = stats.t.ppf(0.975, 5) * 0.1 * np.sqrt(1.0 + 0.75**2 + 0.25**2)
    assert (low, high) == pytest.approx((0.9 - half, 0.9 + half), rel=0.02)


def test_settings_too_near_to_be_told_apart_give_a_wide_interval_and_not_a_wild_one():
    x, y = coordinate((0.005, 0.0, 0.01), (0.01, 0.01, 0.01)), coordinate((0.1, 0.0, 0.4), (0.01, 0.01, 0.01))
    low, high = Apart(x, y).interval(0.95)
    # All of the line is likely: from its one end to its other.
    assert low < 0.1 - 0.4
    assert high > 0.1
    assert high - low < 0.4 + 6.0 * 0.02


def test_beyond_the_settings_flown_nothing_is_told():
    near, far = (Apart(coordinate((x, 0.0, 1.0), (0.05, 0.05, 0.05)), coordinate((0.0, 0.0, 0.0), (0.1,) * 3))
                 for x in (1.1, 1.6))  # fmt: skip
    assert near.overlaps
    assert not far.overlaps
    assert np.isnan(far.interval(0.95)[0])


def test_hidden_drift_widens_by_its_limit_on_both_coordinates():
    y = coordinate((0.5, 0.0, 1.0), (0.02,) * 3, worst=(0.3, 0.3))
    plain = Apart(coordinate((0.5, 0.0, 1.0), (0.001,) * 3), coordinate((0.5, 0.0, 1.0), (0.02,) * 3))
    drifting = Apart(coordinate((0.5, 0.0, 1.0), (0.001,) * 3), y)
    across = Apart(
        coordinate((0.5, 0.0, 1.0), (0.001,) * 3, worst=(0.2, 0.2)), coordinate((0.5, 0.0, 1.0), (0.02,) * 3)
    )
    low, high = plain.interval(0.95)
    assert drifting.interval(0.95) == pytest.approx((low - 0.3, high + 0.3), rel=0.02)
    assert across.interval(0.95) == pytest.approx((low - 0.2, high + 0.2), rel=0.05)


@pytest.mark.parametrize(
    ("place", "gap", "tilt", "shared"), [(0.5, 1.0, 1.0, 0.0), (0.1, 1.0, -2.0, 0.5), (0.5, 0.2, 1.0, 0.0)]
)
def test_the_interval_covers_what_is_true(place, gap, tilt, shared):
    # 3,000 normal draws of three levels in two coordinates, known scatter: coverage within its Monte Carlo error.
    draws, size_x, size_y, true = 3000, 0.05, 0.06, 0.3
    noise = RNG.multivariate_normal([0.0, 0.0], [[1.0, shared], [shared, 1.0]], size=(draws, 3))
    kept = held = 0
    for each in noise:
        x = np.array([place * gap, 0.0, gap]) + size_x * each[:, 0]
        y = np.array([tilt * place * gap + true, 0.0, tilt * gap]) + size_y * each[:, 1]
        apart = Apart(coordinate(tuple(x), (size_x,) * 3), coordinate(tuple(y), (size_y,) * 3), shared)
        low, high = apart.interval(0.95)
        if apart.overlaps:
            kept += 1
            held += low <= true <= high
    band = 3.0 * np.sqrt(0.95 * 0.05 / kept)
    assert kept > 0.9 * draws
    assert held / kept > 0.95 - band
    assert held / kept < (0.95 + band if gap == 1.0 else 1.001)


def test_own_variances_add_up_to_those_of_the_differences():
    own = np.array([0.3, 1.2, 0.7, 2.0])
    variance = own[:, None] + own[None, :]
    np.fill_diagonal(variance, 0.0)
    assert own_variances(variance) == pytest.approx(own)
    assert own_variances(np.array([[0.0, 3.0], [3.0, 0.0]])) == pytest.approx([1.5, 1.5])
