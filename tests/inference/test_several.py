"""Three configurations and more: the studentised range, the joint fit, and how often anything false is claimed."""

import numpy as np
import pytest
from flown_campaigns import campaign, climbs, table
from scipy import stats
from statsmodels.stats.multicomp import pairwise_tukeyhsd

from samesky.inference import verdict
from samesky.inference.comparison import compare
from samesky.inference.design import recognise
from samesky.inference.estimate import estimate
from samesky.inference.order import FlownOrder
from samesky.inference.several import range_probability, range_quantile, ranking, together, together_p
from samesky.measures import free

NOISE = free("cabin_noise", "1", "fraction", "smaller")


@pytest.mark.parametrize("groups", [3, 4, 6])
@pytest.mark.parametrize("df", [1, 2, 3, 5, 12, 60])
def test_the_studentised_range_is_that_of_scipy(groups, df):
    for q in (1.0, 3.0, 8.0):
        theirs = stats.studentized_range.cdf(q, groups, df)
        assert range_probability(q, groups, df) == pytest.approx(theirs, abs=2e-6)


#: Upper 5 % points, Pearson and Hartley, Biometrika Tables for Statisticians I (1966), table 29 (from memory).
PRINTED = {(3, 2): 8.33, (3, 5): 4.60, (3, 10): 3.88, (3, 20): 3.58, (4, 5): 5.22, (4, 10): 4.33, (5, 20): 4.23}


@pytest.mark.parametrize("at", PRINTED)
def test_the_studentised_range_is_that_of_the_printed_table(at):
    assert round(range_quantile(0.95, *at), 2) == PRINTED[at]


def test_known_scatter_and_two_configurations_are_the_plain_quantiles():
    assert range_quantile(0.95, 3, np.inf) == pytest.approx(3.31, abs=0.005)  # the same table's last row
    assert together(0.95, 2, 7) == pytest.approx(stats.t.ppf(0.975, 7), abs=1e-6)
    assert together_p(2.1, 2, 7) == pytest.approx(2 * stats.t.sf(2.1, 7), abs=1e-6)


def ordered(letters: str, first: str, second: str) -> FlownOrder:
    """Runs of several letters, a quarter of an hour apart, with the pair that is compared."""
    days = [day for day, part in enumerate(letters.split("|")) for _ in part]
    own = letters.replace("|", "")
    labels = {key: k for k, key in enumerate((first, second, *sorted(set(own) - {first, second})))}
    hours = 0.25 * np.arange(len(own))
    return FlownOrder([labels[key] for key in own], np.arange(len(own)), days, hours, False)


def test_the_joint_fit_is_the_regression_of_statsmodels_on_all_runs():
    sm = pytest.importorskip("statsmodels.api")
    letters = "ABCCBABCA"
    y = np.random.default_rng(3).normal(size=9)
    hours = 0.25 * np.arange(9)
    columns = np.column_stack([[key == k for key in letters] for k in "BC"] + [np.ones(9), hours]).astype(float)
    theirs = sm.OLS(y, columns).fit()
    for pair, contrast in (("AB", [1, 0, 0, 0]), ("AC", [0, 1, 0, 0]), ("BC", [-1, 1, 0, 0])):
        found = estimate(recognise(ordered(letters, *pair)), y)
        test = theirs.t_test(contrast)
        assert found.difference == pytest.approx(float(test.effect[0]))
        assert found.standard_uncertainty == pytest.approx(float(test.sd[0, 0]))
        assert found.degrees_of_freedom == theirs.df_resid


def test_without_time_it_is_tukeys_test_of_scipy_and_statsmodels():
    """A pooled scatter, three means: the interval of a pair is that of tukey_hsd."""
    rng = np.random.default_rng(4)
    sides = [rng.normal(size=5) for _ in range(3)]
    theirs = stats.tukey_hsd(*sides)
    ends = theirs.confidence_interval(0.95)
    pooled = np.sqrt(np.mean([np.var(side, ddof=1) for side in sides]) * 2 / 5)
    half = together(0.95, 3, 12) * pooled
    assert half == pytest.approx((ends.high[0, 1] - ends.low[0, 1]) / 2, rel=1e-5)
    t = (sides[0].mean() - sides[1].mean()) / pooled
    assert together_p(t, 3, 12) == pytest.approx(theirs.pvalue[0, 1], abs=1e-5)
    own = pairwise_tukeyhsd(np.concatenate(sides), np.repeat(list("ABC"), 5))
    assert together_p(t, 3, 12) == pytest.approx(own.pvalues[0], abs=1e-4)


ORDERS = ["ABCCBAABC", "ABCCBABCAACB", "ABCCBA|BCAACB", "ABCCBA|BCAACB|CABBAC"]


@pytest.mark.parametrize("letters", ORDERS)
@pytest.mark.parametrize("c", [0.0, 1.0])
def test_anything_false_is_claimed_in_five_of_a_hundred_campaigns(letters, c):
    """A equals B; C equals them, or differs by just what matters: then "no difference that matters" is false as well.

    Unadjusted intervals claim something false in 8 to 12 of 100.
    """
    rng, many = np.random.default_rng(11), 6000
    own = np.array(list(letters.replace("|", "")))
    margin = 4.0
    truth = {"A": 0.0, "B": 0.0, "C": c * margin}
    flown = {pair: ordered(letters, *pair) for pair in ("AB", "AC", "BC")}
    y = rng.normal(size=(many, own.size)) + np.array([truth[key] for key in own])
    y += 0.8 * rng.normal(size=(many, 1)) * flown["AB"].time
    false, plain = np.zeros(many, dtype=bool), np.zeros(many, dtype=bool)
    for pair, order in flown.items():
        found = estimate(recognise(order), y)
        gap = truth[pair[1]] - truth[pair[0]]
        df = float(np.unique(found.degrees_of_freedom)[0])
        for k, wrong in ((together(0.95, 3, df), false), (stats.t.ppf(0.975, df), plain)):
            low, high = (found.difference + sign * k * found.standard_uncertainty for sign in (-1, 1))
            if gap == 0:
                wrong |= (low > 0) | (high < 0)
            else:
                wrong |= ((low > -margin) & (high < margin)) | (high < 0)
    assert false.mean() <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / many)
    if c == 0:
        assert plain.mean() > 0.08


def test_compare_tells_every_pair_and_the_ranking():
    rng = np.random.default_rng(5)
    letters = "ABCCBAABCCBA"
    level = {"A": 100.0, "B": 100.0, "C": 90.0}
    values = np.array([level[key] for key in letters]) + 0.4 * rng.normal(size=12)
    own = campaign(table(NOISE, letters, values, fitted_anew=False), fitted_anew=False, keys="ABC")
    found = compare(own)
    assert [(one.baseline, one.other) for one in found] == [("A", "B"), ("A", "C"), ("B", "C")]
    assert {one.ranking for one in found} == {found[0].ranking}
    assert found[0].ranking.startswith("C first, then A and B")
    assert found[0].to_json()["ranking"] == found[0].ranking
    assert found[1].difference - found[0].difference == pytest.approx(found[2].difference)
    assert np.ptp([float(one.estimate.scatter) for one in found]) < 1e-9
    assert found[2].runs == {"B": 4, "C": 4}


def test_two_configurations_stay_as_they_were():
    found = compare(climbs("ABBAAB", [62, 61, 61.2, 62.3, 62.1, 61.4], fitted_anew=False))
    assert len(found) == 1
    assert found[0].ranking == ""
    assert found[0].to_json()["ranking"] is None
    assert found[0].estimate.compared == 2


SAME, OPEN = verdict.WORDS[verdict.NO_DIFFERENCE], verdict.WORDS[verdict.NOT_ENOUGH]


@pytest.mark.parametrize(
    ("verdicts", "said"),
    [
        (("C better", "C better", OPEN), "C first, then A and B not told apart"),
        (("C better", "C better", SAME), "C first, then A and B without a difference that matters"),
        ((OPEN, OPEN, OPEN), "A, B and C not told apart"),
        (("C better", OPEN, OPEN), "C before A; the other pairs are not told apart"),
        (("C better", "C better", "B better"), "C first, then B, then A"),
        (("C better", OPEN, "B better"), "B and C not told apart, both first, then A"),
    ],
)
def test_the_ranking_in_words(verdicts, said):
    worth = {"A": 0.0, "B": 1.0, "C": 3.0}
    pairs = dict(zip((("A", "C"), ("B", "C"), ("A", "B")), verdicts, strict=True))
    assert ranking(worth, pairs) == said
