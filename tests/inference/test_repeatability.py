"""Borrowing a documented repeatability: what it gains, and what it costs when it is wrong."""

import numpy as np
import pytest
from flown import band, order, scatter

from samesky.inference.design import recognise
from samesky.inference.estimate import estimate
from samesky.inference.repeatability import pool

CAMPAIGNS = 20_000


def _covers(found):
    low, high = found.interval()
    return np.mean((low <= 0) & (high >= 0))


def test_pooled_variance_and_degrees_of_freedom():
    flown = order("ABBAAB")
    found = estimate(recognise(flown), np.random.default_rng(1).normal(size=6))
    pooled = pool(found, 1.0, 10)
    assert pooled.estimate.scatter**2 == pytest.approx((10 + 3 * found.scatter**2) / 13)
    assert pooled.estimate.degrees_of_freedom == 13
    assert pooled.ratio == pytest.approx(found.scatter)


@pytest.mark.parametrize("letters", ["ABBAAB", "ABBABAAB"])
def test_a_true_repeatability_drawn_from_its_own_distribution_holds_the_level(letters):
    rng, flown = np.random.default_rng(2), order(letters)
    sd = np.sqrt(10 / rng.chisquare(10, CAMPAIGNS))
    found = estimate(recognise(flown), sd[:, None] * scatter(flown, rng, CAMPAIGNS))
    pooled = pool(found, 1.0, 10)
    low, high = band(CAMPAIGNS, 0.945, 0.965)
    assert low < _covers(pooled.estimate) < high
    assert np.median(pooled.estimate.standard_uncertainty / found.standard_uncertainty) < 1.25
    ends = pooled.estimate.interval()[1] - pooled.estimate.interval()[0]
    assert np.median(ends) < 0.85 * np.median(found.interval()[1] - found.interval()[0])


def test_a_repeatability_of_half_the_truth_is_mostly_refused_and_costs_coverage_where_it_is_not():
    flown = order("ABBABAAB")
    found = estimate(recognise(flown), scatter(flown, np.random.default_rng(3), CAMPAIGNS))
    pooled = pool(found, 0.5, 10)
    assert pooled.accepted.mean() < 0.5
    taken = pooled.accepted
    assert np.allclose(pooled.estimate.standard_uncertainty[~taken], found.standard_uncertainty[~taken])
    assert _covers(pooled.estimate) < 0.94


def test_nonsense_is_refused():
    found = estimate(recognise(order("ABBAAB")), np.arange(6.0))
    with pytest.raises(ValueError, match="documented repeatability"):
        pool(found, 0.0, 10)
