"""Borrowing a documented repeatability: what it gains, and what it costs when it is wrong."""

from dataclasses import replace

import numpy as np
import pytest
from flown import band, order, scatter
from flown_campaigns import ROLL_AS_IT_IS, campaign, stated, table

from samesky.campaign.model.plan_request import MeasurePlan, PlanRequest
from samesky.inference.budget import UncertaintyComponent
from samesky.inference.comparison import compare
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


def test_stated_parts_keep_their_own_degrees_of_freedom():
    """A part as large as the pooled scatter and known from 4: the multiplier is halfway from that of t(13) to t(4)."""
    from samesky.inference.uncertainty import t_quantile

    found = estimate(recognise(order("ABBAAB")), np.random.default_rng(1).normal(size=6))
    part = UncertaintyComponent("a wind reading", "campaign", np.zeros(6), 4.0)
    found = replace(found, added=((part, np.square(found.type_a)),))
    pooled = pool(found, float(found.scatter), 10).estimate
    half = pooled.interval()[1] - pooled.difference
    multiplier = (t_quantile(0.975, 4.0) + t_quantile(0.975, 13.0)) / 2.0
    assert half == pytest.approx(multiplier * pooled.standard_uncertainty)


def _with(documented, letters="ABBAAB", fitted_anew=False, each=1, sd=0.02, **more):
    keys = np.repeat(list(letters), each)
    values = 120.0 * np.exp(sd * np.random.default_rng(4).standard_normal(keys.size) - 0.06 * (keys == "B"))
    runs = table(ROLL_AS_IT_IS, letters, values, fitted_anew=fitted_anew, each=each, **more)
    asked = campaign(runs, fitted_anew=fitted_anew, sources=stated(ROLL_AS_IT_IS.name))
    plan = None if documented is None else PlanRequest(measures={ROLL_AS_IT_IS.name: MeasurePlan(None, *documented)})
    return compare(replace(asked, plan=plan))[0]


def test_the_comparison_says_the_second_interval_and_keeps_the_first():
    plain, borrowed = _with(None), _with((0.02, True, 12.0))
    assert borrowed.interval_95 == plain.interval_95
    assert borrowed.verdict == plain.verdict
    pooled = pool(plain.estimate, 0.02, 12.0).estimate
    low, high = (plain.scale.difference(float(end)) for end in pooled.interval())
    sentence = borrowed.assumption.removeprefix(plain.assumption).strip()
    assert sentence == (
        f"With the documented repeatability of 2 % (12 degrees of freedom) the 95 % interval would be {low:+.3g} to "
        f"{high:+.3g} m; the verdict does not lean on it."
    )
    assert high - low < plain.interval_95[1] - plain.interval_95[0]


def test_a_repeatability_in_the_unit_of_the_measure_is_the_same_one():
    level = _with(None).scale.level
    in_metres = _with((0.02 * level, False, 12.0))
    assert in_metres.assumption == _with((0.02, True, 12.0)).assumption


@pytest.mark.parametrize(
    ("documented", "more", "says"),
    [
        (0.002, {}, "times as far as the documented repeatability"),
        (
            0.02,
            {"letters": "ABABAB", "fitted_anew": True, "each": 3, "swap": 0.75},
            "here fittings are what scatters",
        ),
    ],
)
def test_where_it_is_not_borrowed_the_comparison_says_why(documented, more, says):
    found = _with((documented, True, 12.0), **more)
    assert says in found.assumption
    assert "would be" not in found.assumption


def test_one_run_a_side_may_borrow_beside_the_verdict():
    found = _with((0.02, True, 12.0), letters="AB")
    assert "With the entered scatter of 2 % (12 degrees of freedom) the 95 % interval would be" in found.assumption
    assert found.verdict == _with(None, letters="AB").verdict == "not enough data"


def test_runs_on_one_installation_a_side_may_borrow():
    found = _with((0.02, True, 12.0), letters="AB", fitted_anew=True, each=3, swap=0.75)
    assert "the 95 % interval would be" in found.assumption
