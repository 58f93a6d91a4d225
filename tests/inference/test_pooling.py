"""Days of unequal effort against another library, and that equal effort is the plain t."""

import numpy as np
import pytest
from flown import order, scatter
from printed_models import trials

from samesky.inference import pooling
from samesky.inference.design import recognise
from samesky.inference.estimate import estimate


@pytest.fixture
def meta():
    return pytest.importorskip("statsmodels.stats.meta_analysis")


def _both(meta, d, v):
    ours = pooling.paule_mandel(d, v)
    theirs = meta.combine_effects(d, v, method_re="iterated", use_t=True)
    mean, error, _ = pooling.hartung_knapp(d, v, ours)
    return ours, mean, error, theirs


def test_paule_mandel_and_hartung_knapp_are_those_of_statsmodels_on_thirteen_trials(meta):
    """BCG data of Colditz et al. (1994)."""
    ours, mean, error, theirs = _both(meta, *trials())
    assert ours == pytest.approx(theirs.tau2, rel=1e-6)
    assert mean == pytest.approx(theirs.mean_effect_re, rel=1e-7)
    assert error == pytest.approx(theirs.sd_eff_w_re_hksj, rel=1e-6)
    assert theirs.mean_effect_re == pytest.approx(-0.715, abs=5e-4)


@pytest.mark.parametrize("seed", range(6))
def test_few_groups(meta, seed):
    rng = np.random.default_rng(seed)
    v = rng.uniform(0.1, 2.0, 4)
    d = rng.normal(0, 2.0, 4) + rng.normal(0, np.sqrt(v))
    ours, mean, error, theirs = _both(meta, d, v)
    assert ours == pytest.approx(max(theirs.tau2, 0.0), rel=1e-5, abs=1e-7)
    if ours > 0:
        assert mean == pytest.approx(theirs.mean_effect_re, rel=1e-6)
        assert error == pytest.approx(theirs.sd_eff_w_re_hksj, rel=1e-5)


def test_days_that_agree_have_no_variance_between_them():
    assert pooling.paule_mandel(np.array([1.0, 1.01, 0.99]), np.ones(3)) == 0.0


def test_many_at_once_are_one_by_one():
    rng = np.random.default_rng(9)
    d, v = rng.normal(0, 2, (50, 5)), rng.uniform(0.2, 2, (50, 5))
    assert np.allclose(pooling.paule_mandel(d, v), [pooling.paule_mandel(*one) for one in zip(d, v, strict=True)])


def test_equal_effort_is_the_plain_t_over_days():
    flown = order("ABBA|BAAB|ABBA|BAAB")
    y = scatter(flown, np.random.default_rng(1), 1)[0]
    daily = np.array([[-1, 1, 1, -1], [1, -1, -1, 1]] * 2) / 2
    daily = (daily * y.reshape(4, 4)).sum(axis=1)
    found = estimate(recognise(flown), y)
    assert found.difference == pytest.approx(daily.mean())
    assert found.standard_uncertainty == pytest.approx(daily.std(ddof=1) / 2)
    mean, error, _ = pooling.hartung_knapp(daily, np.ones(4), pooling.paule_mandel(daily, np.ones(4)))
    assert (mean, error) == pytest.approx((found.difference, found.standard_uncertainty))
