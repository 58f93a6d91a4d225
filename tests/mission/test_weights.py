"""Weights of a mission against print and against their definition."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.mission.weights import agreeing, normalised, rank_order_centroid
from samesky.published import registry


@pytest.mark.parametrize(("count", "rank"), [(n, i) for n in range(2, 6) for i in range(1, n + 1)])
def test_rank_order_centroid_as_printed(count, rank):
    # Barron and Barrett, Management Science 42 (1996) 1515-1523 (from memory, as the row says).
    check = registry.check(f"ROC-{count}-{rank}", rank_order_centroid(count)[rank - 1])
    assert check.agrees, str(check)


def test_the_mean_of_all_agreeing_weights_is_the_centroid():
    rng = np.random.default_rng(11)
    drawn = agreeing(np.array([0.2, 0.5, 0.3]), 200_000, rng)
    assert drawn.sum(axis=1) == pytest.approx(1.0)
    assert (drawn[:, 1] >= drawn[:, 2]).all()
    assert (drawn[:, 2] >= drawn[:, 0]).all()
    # Monte Carlo error of a mean of 2e5 draws is below 5e-4.
    assert registry.check("SMAA-1", drawn[:, 1].mean()).agrees
    assert drawn.mean(axis=0)[[1, 2, 0]] == pytest.approx(rank_order_centroid(3), abs=2e-3)


def test_equals_share_evenly_and_zero_stays_zero():
    drawn = agreeing(np.array([1.0, 0.0, 1.0]), 50_000, np.random.default_rng(3))
    assert (drawn[:, 1] == 0).all()
    assert drawn.mean(axis=0) == pytest.approx([0.5, 0.0, 0.5], abs=5e-3)


@pytest.mark.parametrize("weights", [[0.0, 0.0], [1.0, -0.5]])
def test_impossible_weights_are_refused(weights):
    with pytest.raises(ValueError, match="weights must be"):
        normalised(np.array(weights))


def test_one_criterion_has_all_the_weight():
    assert rank_order_centroid(1).tolist() == [1.0]


def test_no_criteria_are_refused():
    with pytest.raises(ValueError, match="at least one"):
        rank_order_centroid(0)
