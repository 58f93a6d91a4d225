"""The scatter that readings allow: coverage by integrating the chi-square distribution of scipy.stats, for every share
of the reading errors in the true scatter; what the floor must still refuse is in test_estimate.py."""

import numpy as np
import pytest
from scipy import stats

from samesky.inference.budget import ENTERED
from samesky.inference.floor import above_readings
from samesky.inference.uncertainty import join, t_quantile

#: Middles of equal probability; ten times as many change no coverage by 0.0002.
AT = (np.arange(2_000) + 0.5) / 2_000
SHARES = np.linspace(0.0, 1.0, 11)
DF = [1, 2, 3, 4, 6, 12]


def coverage(df: int, share: float, times: float = 1.0, level: float = 0.95) -> float:
    """Of the interval for a mean whose scatter is 1, of which readings ``times`` as bad as entered make ``share``."""
    seen = stats.chi2.ppf(AT, df) / df
    used, stated = above_readings(seen, (share / times) ** 2, df, ENTERED)
    uncertainty, effective = join(np.stack([(1 - stated) * used, stated * used], axis=-1), np.array([df, ENTERED]))
    half = t_quantile(0.5 + level / 2, effective) * uncertainty
    return float(np.mean(2 * stats.norm.cdf(half) - 1))


@pytest.mark.parametrize("df", DF)
@pytest.mark.parametrize("times", [0.5, 1.0, 2.0])
def test_coverage_whatever_the_readings_make_of_the_scatter_and_however_wrong_they_are_entered(df, times):
    found = [coverage(df, share, times) for share in SHARES]
    assert min(found) > 0.945
    if times >= 1.0:
        assert max(found) < (0.98 if df == 1 else 0.975)


@pytest.mark.parametrize("df", DF)
def test_so_does_the_interval_that_shows_no_difference(df):
    assert min(coverage(df, share, level=0.90) for share in SHARES) > 0.89


@pytest.mark.parametrize("df", DF)
def test_readings_are_said_to_set_the_interval_in_one_of_twenty_sound_campaigns_at_most(df):
    """Where readings make all of the scatter, and are as good as entered."""
    _, stated = above_readings(stats.chi2.ppf(AT, df) / df, 1.0, df, ENTERED)
    assert 0.005 < np.mean(stated > 0) <= 0.053


def test_raising_the_scatter_and_keeping_t_would_waste_flights():
    """A simpler rule, at three degrees of freedom and readings that make all of the scatter."""
    seen = np.maximum(stats.chi2.ppf(AT, 3) / 3, 1.0)
    assert np.mean(2 * stats.norm.cdf(stats.t.ppf(0.975, 3) * np.sqrt(seen)) - 1) > 0.99


def test_without_reading_errors_and_where_they_are_not_contradicted_nothing_changes():
    seen = np.array([0.0, 0.5, 2.0])
    used, stated = above_readings(seen, 0.0, 3, ENTERED)
    assert used == pytest.approx(seen)
    assert stated == pytest.approx(0.0)
    used, stated = above_readings(np.array([4.0, 0.2]), 1.0, 3, ENTERED)
    assert used == pytest.approx([4.0, 0.2])
    assert stated == pytest.approx(0.0)


def test_far_below_them_the_readings_alone_count():
    used, stated = above_readings(np.array([0.0, 0.01]), 1.0, 3, ENTERED)
    assert used == pytest.approx(1.0)
    assert stated == pytest.approx(1.0)
