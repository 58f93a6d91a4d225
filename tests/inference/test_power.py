"""Power against another library and against the simulated verdicts."""

import numpy as np
import pytest
from flown import order, scatter

from samesky.inference import power
from samesky.inference.design import recognise
from samesky.inference.estimate import estimate


@pytest.mark.parametrize("n", [3, 6, 12, 40])
@pytest.mark.parametrize("effect", [0.1, 0.5, 0.8])
def test_t_power_is_that_of_statsmodels(n, effect):
    theirs = pytest.importorskip("statsmodels.stats.power").TTestPower().power(effect, n, 0.05)
    assert power.t_power(effect, 1 / np.sqrt(n), n - 1) == pytest.approx(theirs, abs=1e-9)


def test_power_far_out_is_one_and_not_nothing():
    assert power.t_power(0.5, np.sqrt(2 / 1000), 1998) == pytest.approx(1.0)


@pytest.mark.parametrize(("true", "margin"), [(0.0, 1.0), (0.5, 1.5), (1.0, 1.0)])
def test_equivalence_power_is_what_happens(true, margin):
    flown, campaigns = order("ABBABAABABBABAAB"), 40_000
    y = scatter(flown, np.random.default_rng(1), campaigns) + true * flown.configuration
    low, high = estimate(recognise(flown), y).interval(0.90)
    share = np.mean((low > -margin) & (high < margin))
    design = recognise(flown)
    told = power.tost_power(true, np.sqrt(design.gain), design.degrees_of_freedom, -margin, margin)
    assert share == pytest.approx(told, abs=3.5 * np.sqrt(max(told * (1 - told), 1e-4) / campaigns))


def test_t_power_is_what_happens():
    flown, campaigns = order("ABBABAABABBA"), 40_000
    y = scatter(flown, np.random.default_rng(2), campaigns) + 1.5 * flown.configuration
    found = estimate(recognise(flown), y)
    design = recognise(flown)
    told = power.t_power(1.5, np.sqrt(design.gain), design.degrees_of_freedom)
    assert np.mean(found.p_value < 0.05) == pytest.approx(told, abs=3.5 * np.sqrt(told * (1 - told) / campaigns))


def test_equivalence_is_wrong_at_the_margin_in_five_per_cent():
    assert power.tost_power(1.0, 0.05, 30, -1.0, 1.0) == pytest.approx(0.05, abs=1e-6)


def test_no_scatter_of_margins_gives_no_equivalence():
    assert power.tost_power(0.0, 50.0, 4, -1.0, 1.0) == pytest.approx(0.0, abs=1e-3)


def test_more_flying_settles_what_scatter_hides_and_not_what_the_whole_campaign_shares():
    factor = power.settling(1.0, 1.0, 4, 0.0, -1.0, 1.0)
    assert 5 <= factor <= 15
    assert power.settling(1.0, 0.5, 4, 0.0, -1.0, 1.0) < factor
    assert power.settling(1.0, 0.5, 4, 1.0, -1.0, 1.0) is None
    assert power.settling(0.0, 0.3, 6, 0.0, -1.0, 1.0) <= 2


def test_fewest_gives_up():
    assert power.fewest(lambda n: 0.0, 0.8, 2, most=50) is None
