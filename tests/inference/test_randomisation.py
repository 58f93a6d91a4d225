"""The exact p beside the interval: which test the order allows, what it gives, and that drift does not fool it."""

import numpy as np
import pytest
from flown import order
from scipy import stats

from samesky.inference.design import recognise
from samesky.inference.randomisation import LEVEL, randomisation_p


def test_eight_runs_of_one_day_are_scipys_two_samples():
    design = recognise(order("ABBABAAB"))
    for seed in range(4):
        y = np.random.default_rng(seed).normal(size=8) + 0.9 * design.order.configuration
        a, b = y[design.order.configuration == 0], y[design.order.configuration == 1]
        theirs = stats.permutation_test((b, a), lambda x, y: x.mean() - y.mean(), n_resamples=np.inf)
        p, test = randomisation_p(design, y)
        assert p == pytest.approx(theirs.pvalue, abs=1e-12)
        assert test == "relabelling of runs within their day"


def test_six_pairs_are_scipys_sign_flips():
    design = recognise(order("ABBABAABABBA"))
    y = np.random.default_rng(2).normal(size=12) + 0.9 * design.order.configuration
    signs = [1 if "ABBABAABABBA"[k] == "A" else -1 for k in range(0, 12, 2)]
    d = np.array([s * (y[2 * k + 1] - y[2 * k]) for k, s in enumerate(signs)])
    theirs = stats.permutation_test((d,), np.mean, permutation_type="samples", n_resamples=np.inf)
    p, test = randomisation_p(design, y)
    assert p == pytest.approx(theirs.pvalue, abs=1e-12)
    assert test == "sign flips of 6 pairs"


def test_installations_are_relabelled_not_their_runs():
    """Three days of two installations a side: 6^3 relabellings of means, by brute force."""
    from itertools import combinations, product

    design = recognise(order("ABBA|BAAB|ABBA", fitted_anew=True, each=3, swap=0.75))
    y = np.random.default_rng(6).normal(size=36) + 0.8 * design.order.configuration
    means = y.reshape(3, 4, 3).mean(axis=2)
    seen = sum(means[day][[k for k in range(4) if "ABBABAABABBA"[4 * day + k] == "B"]].sum() for day in range(3))
    pairs = list(combinations(range(4), 2))
    totals = np.array(
        [sum(means[day][list(one)].sum() for day, one in enumerate(way)) for way in product(pairs, repeat=3)]
    )
    brute = min(1.0, 2 * min(np.mean(totals >= seen - 1e-12), np.mean(totals <= seen + 1e-12)))
    p, test = randomisation_p(design, y)
    assert p == pytest.approx(brute)
    assert test == "relabelling of fittings within their day"


@pytest.mark.parametrize(
    ("letters", "more", "why"),
    [
        ("AAAABBBB", {}, "a single swap: drift goes with the labels"),
        ("ABBAAB", {}, "twenty relabellings cannot reach 5 %"),
        ("ABA", {"fitted_anew": True, "each": 6, "swap": 0.5}, "three installations cannot reach 5 %"),
        ("AAAABBBBBA", {}, "one late return: drift still goes with the labels"),
    ],
)
def test_none_is_printed_where_the_order_allows_none(letters, more, why):
    design = recognise(order(letters, **more))
    p, test = randomisation_p(design, np.random.default_rng(1).normal(size=design.order.runs))
    assert np.isnan(p), why
    assert test == ""


def test_unequal_numbers_of_runs_are_not_exchanged():
    whole = order("ABBA|BAAB|ABBA", fitted_anew=True, each=2, swap=0.75)
    keep = np.arange(whole.runs) != 3
    cut = type(whole)(whole.configuration[keep], whole.installation[keep], whole.day[keep], whole.hours[keep], True)
    p, _ = randomisation_p(recognise(cut), np.random.default_rng(1).normal(size=cut.runs))
    assert np.isnan(p)


@pytest.mark.parametrize("letters", ["ABBABAAB", "ABABABAB", "ABBA|BAAB"])
@pytest.mark.parametrize("drift", [0.0, 0.3, 1.0, 3.0])
def test_drift_never_makes_it_reject_too_often(letters, drift):
    """No difference, straight drift in standard deviations a run: 5 % at most, within the Monte Carlo error."""
    design = recognise(order(letters, gap=1.0))
    campaigns = 6000
    y = np.random.default_rng(8).normal(size=(campaigns, design.order.runs)) + drift * design.order.time
    p, _ = randomisation_p(design, y)
    assert (p <= LEVEL).mean() <= LEVEL + 3 * np.sqrt(LEVEL * (1 - LEVEL) / campaigns)
