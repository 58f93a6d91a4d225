"""The scatter that readings allow: coverage by integrating the chi-square distribution of scipy.stats, for every share
of the reading errors in the true scatter; what the floor must still refuse is in test_estimate.py."""

import numpy as np
import pytest
from scipy import stats

from samesky.inference.floor import above_readings
from samesky.inference.uncertainty import join, t_quantile

#: Middles of equal probability.
AT = (np.arange(20_000) + 0.5) / 20_000
SHARES = np.linspace(0.0, 1.0, 21)


def coverage(df: int, share: float, level: float = 0.95) -> float:
    """Of the interval for a mean whose scatter is 1, of which the readings make ``share``."""
    seen = stats.chi2.ppf(AT, df) / df
    used, stated = above_readings(seen, share**2, df)
    uncertainty, effective = join(np.stack([(1 - stated) * used, stated * used], axis=-1), np.array([df, np.inf]))
    half = t_quantile(0.5 + level / 2, effective) * uncertainty
    return float(np.mean(2 * stats.norm.cdf(half) - 1))


@pytest.mark.parametrize(
    ("df", "low", "high"),
    [(1, 0.943, 0.988), (2, 0.94, 0.977), (3, 0.94, 0.972), (4, 0.945, 0.972), (6, 0.947, 0.971), (12, 0.949, 0.967)],
)
def test_coverage_whatever_the_readings_make_of_the_scatter(df, low, high):
    found = [coverage(df, share) for share in SHARES]
    assert min(found) > low
    assert max(found) < high


@pytest.mark.parametrize("df", [2, 3, 4, 8])
def test_so_does_the_interval_that_shows_no_difference(df):
    assert min(coverage(df, share, 0.90) for share in SHARES) > 0.89


def test_raising_the_scatter_and_keeping_t_would_waste_flights():
    """The rule that this one replaced, at three degrees of freedom and readings that make all of the scatter."""
    seen = np.maximum(stats.chi2.ppf(AT, 3) / 3, 1.0)
    assert np.mean(2 * stats.norm.cdf(stats.t.ppf(0.975, 3) * np.sqrt(seen)) - 1) > 0.99


def test_without_reading_errors_and_far_above_them_nothing_changes():
    seen = np.array([0.0, 0.5, 2.0])
    used, stated = above_readings(seen, 0.0, 3)
    assert used == pytest.approx(seen)
    assert stated == pytest.approx(0.0)
    used, stated = above_readings(np.array([4.0]), 1.0, 3)
    assert (float(used[0]), float(stated[0])) == pytest.approx((4.0, 0.0))


def test_far_below_them_the_readings_alone_count():
    used, stated = above_readings(np.array([0.0, 0.1]), 1.0, 3)
    assert used == pytest.approx(1.0)
    assert stated == pytest.approx(1.0)
