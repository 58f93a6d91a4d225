"""What more flying would take and what would be cheaper is said as it is."""

from __future__ import annotations

import re

import numpy as np
import pytest
from flown import order
from flown_campaigns import ROLL_AS_IT_IS, campaign, stated, table
from scipy import stats

from samesky.inference import exact, more_flying
from samesky.inference.believable_drift import trend
from samesky.inference.comparison import compare
from samesky.inference.design import recognise
from samesky.inference.power import Settling


@pytest.mark.parametrize(("low", "high"), [(1, 1), (1, 2), (2, 2), (3, 3), (2, 5), (12, 40), (7, None), (None, None)])
def test_the_numbers_in_words_are_the_numbers(low, high):
    words = more_flying.times(low, high)
    numbers = {int(text) for text in re.findall(r"\d+", words)}
    # Once the same flying needs no number; that nothing tried is enough is said with the most that was tried.
    assert numbers == (set() if low is None or high == 1 else {low, high} - {None})
    assert ("as much" in words) is (high == 1)
    assert ("more" in words) is (high is None)


def test_another_way_is_called_cheaper_where_both_answers_take_a_season_and_nowhere_else():
    back = "Go back to A after B before the day ends."
    for found, none, much in (
        ((1, 3), (9, 12), False),
        ((9, 12), (2, None), False),
        ((4, 9), (6, 9), False),
        ((5, 9), (6, 9), True),
        ((None, None), (30, None), True),
        ((None, None), (None, None), True),
    ):
        both = Settling(found, none)
        assert more_flying.too_much(both) is much
        told = more_flying._cheaper(both, back, advice=True)
        assert told.startswith("Cheaper: go back" if much else "Go back")
        # Where the doubt comes from is no way to fly, and no cheaper one.
        cause = "Most of the doubt is the scale."
        assert more_flying._cheaper(both, cause, advice=False) == cause
        assert more_flying._cheaper(both, "", advice=False) == ""


def test_equal_sums_stay_equal_in_any_unit():
    """0.1 + 0.2 and 0.3 tie in tenths; so do they in units a billion times smaller or larger."""
    d = np.array([0.1, 0.2, 0.3, -0.3, 0.6, 0.1])
    tenths = stats.permutation_test((np.round(10 * d),), np.sum, permutation_type="samples", n_resamples=np.inf).pvalue
    for unit in (1e-9, 1e-3, 1.0, 1e3, 1e9):
        assert exact.sign_flip_p(d * unit) == pytest.approx(tenths, abs=1e-12)
        pairs = np.stack([np.zeros(6), d * unit], axis=1).ravel()
        within = exact.relabelling_p(pairs, np.tile([0, 1], 6), np.repeat(np.arange(6), 2))
        assert within == pytest.approx(tenths, abs=1e-12)


def test_the_trend_within_blocks_is_least_squares_on_what_is_left_of_their_means():
    """scipy.stats.linregress on times and values less those of their block; many campaigns at once as one by one."""
    flown = order("AB|BA", fitted_anew=True, each=4, swap=0.5)
    design = recognise(flown)
    y = np.random.default_rng(5).normal(size=(3, flown.runs))
    block = np.array([f"{day} {k}" for day, k in zip(flown.day, flown.installation, strict=True)])
    slopes, errors = trend(design, y, 1)
    for one, slope, error in zip(y, slopes, errors, strict=True):
        own = flown.day == 1
        time, value = (
            np.concatenate([x[block == b] - x[block == b].mean() for b in np.unique(block[own])])
            for x in (flown.hours, one)
        )
        assert slope == pytest.approx(stats.linregress(time, value).slope)
        # The scatter of runs within all the blocks flown, one slope taken out, by analysis of covariance.
        model = np.column_stack([*(block == b for b in np.unique(block)), flown.hours]).astype(float)
        rest = one - model @ np.linalg.lstsq(model, one, rcond=None)[0]
        scatter = np.sqrt(rest @ rest / (flown.runs - np.linalg.matrix_rank(model)))
        assert error == pytest.approx(scatter / np.sqrt(time @ time))
        assert float(trend(design, one, 1)[0]) == pytest.approx(float(slope))
    unseen = trend(recognise(order("ABAB", fitted_anew=True)), y[:, :4], 0)
    assert np.shape(unseen) == (2, 3), "one for each campaign"
    assert np.isnan(unseen).all(), "single runs show no trend"


@pytest.mark.parametrize(
    ("sizes", "advice", "not_advised"),
    [
        ({"rigging": 0.09}, "new fittings", "going back"),
        ({"wander": 0.09}, "going back", "new fittings"),
        ({}, "steadier flying or air", "new fittings"),
    ],
)
def test_the_advice_is_that_for_the_cause_of_most_of_the_doubt(sizes, advice, not_advised):
    y = 120.0 * np.exp(0.05 * np.random.default_rng(3).standard_normal(9))
    entered = {"rigging": 1e-4, "straight": 1e-4, "wander": 1e-4, **sizes}
    own = table(ROLL_AS_IT_IS, "ABA", y, each=3)
    (one,) = compare(campaign(own, sources=stated("roll_paced_out", **entered), smallest=0.01))
    assert one.verdict == "not enough data"
    most = max(one.budget, key=lambda row: row.share)
    assert most.share > 0.5
    (told,) = re.findall(r"Most of the doubt is (.+?)(?::|\.)", one.settle) or [""]
    assert most.source in told or most.source == "scatter seen"
    assert advice in one.settle
    assert not_advised not in one.settle.split("Reading the result")[0]


def test_as_many_pairs_are_said_to_hold_together_as_are_compared():
    rng = np.random.default_rng(6)
    for letters, keys in (("ABCCBA", "ABC"), ("ABCDDCBA", "ABCD")):
        values = 120.0 * np.exp(0.01 * rng.standard_normal(2 * len(letters)))
        found = compare(campaign(table(ROLL_AS_IT_IS, letters, values, each=2), keys=keys))
        for one in found:
            assert int(re.search(r"intervals of the (\d+) pairs", one.assumption)[1]) == len(found)
