"""Exact tests against a general library and against brute force."""

import numpy as np
import pytest
from scipy import stats

from samesky.inference import exact


@pytest.mark.parametrize("n", [2, 3, 6, 9, 12])
def test_sign_flip_p_is_that_of_scipy(n):
    for seed in range(4):
        d = np.round(np.random.default_rng(seed).normal(0.6, 1, n), 1)
        theirs = stats.permutation_test((d,), np.mean, permutation_type="samples", n_resamples=np.inf)
        assert exact.sign_flip_p(d) == pytest.approx(theirs.pvalue, abs=1e-12)


@pytest.mark.parametrize(("n", "m"), [(3, 3), (4, 4), (3, 5), (6, 6)])
def test_relabelling_p_is_that_of_scipy(n, m):
    for seed in range(4):
        rng = np.random.default_rng(seed)
        a, b = rng.normal(size=n), rng.normal(0.8, 1, m)
        theirs = stats.permutation_test((b, a), lambda x, y: x.mean() - y.mean(), n_resamples=np.inf)
        ours = exact.relabelling_p(np.concatenate([a, b]), np.repeat([0, 1], [n, m]))
        assert ours == pytest.approx(theirs.pvalue, abs=1e-12)


def test_blocks_of_two_are_sign_flips():
    rng = np.random.default_rng(3)
    y = rng.normal(size=(5, 16))
    configuration, blocks = np.tile([0, 1], 8), np.repeat(np.arange(8), 2)
    d = y[:, 1::2] - y[:, ::2]
    assert np.allclose(exact.relabelling_p(y, configuration, blocks), exact.sign_flip_p(d))


def test_relabelling_within_blocks_is_brute_force():
    rng = np.random.default_rng(4)
    y, configuration, blocks = rng.normal(size=8), np.array([0, 1, 1, 0] * 2), np.repeat([0, 1], 4)
    from itertools import combinations, product

    totals = [
        y[list(one)].sum() + y[list(two)].sum()
        for one, two in product(combinations(range(4), 2), combinations(range(4, 8), 2))
    ]
    seen = y[configuration == 1].sum()
    larger, smaller = exact.relabelling_tails(y, configuration, blocks)
    assert larger == pytest.approx(np.mean(np.array(totals) >= seen - 1e-12))
    assert smaller == pytest.approx(np.mean(np.array(totals) <= seen + 1e-12))


def test_many_at_once_are_one_by_one():
    d = np.random.default_rng(5).normal(size=(7, 10))
    assert np.allclose(exact.sign_flip_p(d), [exact.sign_flip_p(one) for one in d])


def test_too_many_are_refused():
    with pytest.raises(exact.TooMany, match="21 pairs"):
        exact.sign_flip_p(np.ones(21))
    with pytest.raises(exact.TooMany, match="200000"):
        exact.relabelling_p(np.arange(22.0), np.repeat([0, 1], 11))
