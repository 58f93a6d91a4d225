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
    told = power.tost_power(true, np.sqrt(design.variance_factor), design.degrees_of_freedom, -margin, margin)
    assert share == pytest.approx(told, abs=3.5 * np.sqrt(max(told * (1 - told), 1e-4) / campaigns))


def test_t_power_is_what_happens():
    flown, campaigns = order("ABBABAABABBA"), 40_000
    y = scatter(flown, np.random.default_rng(2), campaigns) + 1.5 * flown.configuration
    found = estimate(recognise(flown), y)
    design = recognise(flown)
    told = power.t_power(1.5, np.sqrt(design.variance_factor), design.degrees_of_freedom)
    assert np.mean(found.p_value < 0.05) == pytest.approx(told, abs=3.5 * np.sqrt(told * (1 - told) / campaigns))


def test_equivalence_is_wrong_at_the_margin_in_five_per_cent():
    assert power.tost_power(1.0, 0.05, 30, -1.0, 1.0) == pytest.approx(0.05, abs=1e-6)


def test_no_scatter_of_margins_gives_no_equivalence():
    assert power.tost_power(0.0, 50.0, 4, -1.0, 1.0) == pytest.approx(0.0, abs=1e-3)


def test_more_flying_settles_what_scatter_hides_and_not_what_the_whole_campaign_shares():
    one = power.settling(1.0, 1.0, 4, 0.0, -1.0, 1.0)
    finer = power.settling(1.0, 0.5, 4, 0.0, -1.0, 1.0)
    assert finer.found[0] < one.found[0] < one.found[1]
    assert finer.none[0] < one.none[0] < one.none[1]
    hidden = power.settling(1.0, 0.5, 4, 1.0, -1.0, 1.0)
    assert hidden.found == hidden.none == (None, None)


def pairs(fours: int):
    """Fours of neighbouring runs, A B B A and B A A B in turn, every run a sample of its own."""
    return order(("ABBABAAB" * fours)[: 4 * fours])


@pytest.mark.parametrize(("what", "margin"), [("found", 0.9), ("none", 0.9)])
def test_the_range_of_more_flying_holds_the_true_number_in_eighty_of_a_hundred_campaigns(what, margin):
    """Eight runs are flown; the true number is the least at which campaigns of so many times eight runs, flown and
    judged, settle it 80 times in 100."""
    flown, campaigns = pairs(2), 4000
    design = recognise(flown)
    seen = estimate(design, scatter(flown, np.random.default_rng(5), campaigns))

    def settled(times: int) -> float:
        longer = pairs(2 * times)
        y = (
            scatter(longer, np.random.default_rng(6), 8000)
            + (margin if what == "found" else 0.0) * longer.configuration
        )
        found = estimate(recognise(longer), y)
        low, high = found.interval(0.95 if what == "found" else 0.90)
        return float(np.mean((low > 0) | (high < 0) if what == "found" else (low > -margin) & (high < margin)))

    true = next(times for times in range(1, 40) if settled(times) >= 0.8)
    assert true > 3
    df = float(seen.degrees_of_freedom[0])
    held = []
    for error in seen.standard_uncertainty[:600]:
        low, high = getattr(power.settling(margin, float(error), df, 0.0, -margin, margin), what)
        held.append((low or np.inf) <= true <= (high or np.inf))
    # Three Monte Carlo errors; whole numbers round the range outwards, the true number is good to one in it.
    assert 0.80 - 3 * 0.4 / np.sqrt(len(held)) <= np.mean(held) <= 0.88


def test_fewest_gives_up():
    assert power.fewest(lambda n: 0.0, 0.8, 2, most=50) is None
