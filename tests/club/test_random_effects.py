"""Pooled over campaigns: held against printed values, a general library, and simulated campaigns."""

import numpy as np
import pytest
from scipy import stats

from samesky.club.random_effects import Findings, halfway, together
from samesky.published.registry import dataset

CAMPAIGNS = 8000


def plain(d, u):
    d, u = np.asarray(d, dtype=float), np.asarray(u, dtype=float)
    return Findings(d, u, np.zeros(d.shape), np.zeros((*d.shape[:-1], 1, d.shape[-1])))


def test_q_is_the_printed_one_of_thirteen_trials():
    """BCG data of Colditz et al., JAMA 271 (1994) 698-702: Q = 152.2330 (shared check values, row BCG-Q)."""
    trials = dataset("bcg")
    a, b, c, d = (trials[key].to_numpy(float) for key in ("tpos", "tneg", "cpos", "cneg"))
    difference = np.log(a / (a + b)) - np.log(c / (c + d))
    variance = 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)
    found = together(plain(difference, np.sqrt(variance)))
    assert float(found.q) == pytest.approx(152.2330, abs=5e-5)
    assert float(found.q_p) == pytest.approx(stats.chi2.sf(152.2330, 12), rel=1e-3)


def test_campaigns_known_alike_are_the_plain_t_test_and_its_prediction():
    """scipy.stats.ttest_1samp; interval for one more of the same by t with the root of 1 + 1/k."""
    d = np.array([4.1, 1.2, 3.3, 5.9, 2.0])
    found = together(plain(d, np.full(5, 0.2)))
    told = stats.ttest_1samp(d, 0.0).confidence_interval(0.95)
    assert [float(end) for end in found.interval()] == pytest.approx(list(told), rel=1e-9)
    half = stats.t.ppf(0.975, 4) * d.std(ddof=1) * np.sqrt(1 + 1 / 5)
    assert [float(end) for end in found.expected()] == pytest.approx([d.mean() - half, d.mean() + half], rel=1e-9)


def test_halfway_is_the_root_of_the_ratio():
    assert halfway(np.array([1.0, 16.0])) == pytest.approx([2.0, 8.0])


@pytest.mark.parametrize("freedom", [4, 1000])
@pytest.mark.parametrize("between", [0.0, 0.5, 1.0, 2.0])
@pytest.mark.parametrize("k", [2, 3, 4, 6])
def test_intervals_cover_over_two_to_six_campaigns(k, between, freedom):
    """Campaigns of unlike scatter, judged by few runs or many: 95 % of the means and of one more aeroplane inside."""
    rng = np.random.default_rng([k, int(10 * between), freedom])
    true = np.exp(rng.normal(0.0, 0.5, (CAMPAIGNS, k)))
    d = 1.0 + rng.normal(0.0, between, (CAMPAIGNS, k)) + rng.normal(0.0, true)
    u = true * np.sqrt(rng.chisquare(freedom, (CAMPAIGNS, k)) / freedom)
    found = together(plain(d, u))
    low, high = found.interval()
    band = 3.0 * np.sqrt(0.05 * 0.95 / CAMPAIGNS)
    assert 0.945 - band < np.mean((low <= 1.0) & (high >= 1.0)) < 0.975
    one_more = 1.0 + rng.normal(0.0, between, CAMPAIGNS)
    low, high = found.expected()
    assert np.mean((low <= one_more) & (high >= one_more)) > 0.95 - band


def test_an_error_that_all_campaigns_share_does_not_average_out():
    rng = np.random.default_rng(3)
    shared = rng.normal(0.0, 1.0, (CAMPAIGNS, 1))
    d = shared + rng.normal(0.0, 0.5, (CAMPAIGNS, 4))
    u = np.full(d.shape, np.sqrt(1.25))
    found = together(Findings(d, u, np.zeros(d.shape), np.ones((CAMPAIGNS, 1, 4))))
    low, high = found.interval()
    covered = np.mean((low <= 0.0) & (high >= 0.0))
    assert 0.945 < covered < 0.985
    low, high = together(plain(d, u)).interval()
    assert np.mean((low <= 0.0) & (high >= 0.0)) < 0.75  # what forgetting it would do


def test_a_hidden_drift_is_reckoned_with_until_the_order_is_turned_round():
    d, u = np.array([2.0, 2.2, 1.9]), np.full(3, 0.1)
    nothing = np.zeros((1, 3))
    same_way = together(Findings(d, u, np.array([1.0, 1.0, 1.0]), nothing))
    turned = together(Findings(d, u, np.array([1.0, -1.0, 0.0]), nothing))
    assert float(same_way.limit) == pytest.approx(1.0)
    assert float(turned.limit) < 0.2
    assert np.ptp(same_way.interval()) > np.ptp(turned.interval()) + 1.0


def test_of_two_campaigns_the_drifts_may_point_the_same_way():
    found = together(Findings(np.array([1.0, 2.0]), np.ones(2), np.array([0.5, -0.5]), np.zeros((1, 2))))
    assert float(found.limit) == pytest.approx(0.5)


@pytest.mark.parametrize(("d", "u"), [([1.0], [1.0]), ([1.0, 2.0], [1.0, 0.0])])
def test_what_cannot_be_pooled_is_refused(d, u):
    with pytest.raises(ValueError, match=r"two campaigns|above zero"):
        together(plain(d, u))


def test_campaigns_that_agree_to_the_last_digit_give_no_interval_of_nothing():
    """Of two campaigns alike the scatter is that which one chi-square of a hundred stays below (scipy)."""
    alike = Findings(np.array([0.04, 0.04]), np.array([0.01, 0.01]), np.zeros(2), np.zeros((0, 2)))
    found = together(alike)
    least = 0.01 / np.sqrt(2.0) * np.sqrt(stats.chi2(1).ppf(0.01))
    low, high = found.interval()
    assert float(found.standard_uncertainty) == pytest.approx(least, rel=1e-9)
    assert (float(high) - float(low)) / 2 == pytest.approx(least * stats.t(1).ppf(0.975), rel=1e-6)
