"""Which comparison an order supports, and that its arithmetic is the textbook's."""

import numpy as np
import pytest
from flown import order, scatter

from samesky.inference.design import recognise
from samesky.inference.estimate import estimate
from samesky.inference.order import FlownOrder

RECOGNISED = [
    # letters, fitted anew, runs a letter, design, estimator, degrees of freedom
    ("ABBAAB", False, 1, "pairs", "contrast", 3),
    ("ABBABAAB", False, 1, "pairs", "contrast", 5),
    ("ABBABAABABBA", False, 1, "pairs", "contrast", 9),
    ("ABABABABABAB", False, 1, "pairs", "contrast", 9),
    ("ABBAABB", False, 1, "irregular", "contrast", 4),
    ("AAABBBAAA", False, 1, "blocks with a return", "contrast", 6),
    ("AAABBB", False, 1, "single swap", "joined", 3),
    ("AB", True, 3, "single swap", "joined", 3),
    ("AB", True, 2, "single swap", "joined", 2),
    ("ABA", True, 3, "blocks with a return", "joined", 5),
    ("ABBA", True, 2, "blocks with a return", "joined", 3),
    ("ABABAB", True, 3, "blocks with a return", "joined", 11),
    ("ABABAB", True, 1, "blocks with a return", "contrast", 3),
    ("AB|BA", True, 3, "single swap", "joined", 7),
    ("AAAABBBB|BBBBAAAA", False, 1, "single swap", "joined", 11),
    ("ABBA|BAAB", False, 1, "pairs", "contrast", 3),
    ("ABBABAAB|AB", False, 1, "pairs", "joined", 5),
    ("ABA|BA", True, 2, "blocks with a return", "joined", 4),
    ("AB|AB", True, 3, "single swap", "joined", 7),
    ("AB|BA|AB", True, 2, "days", "contrast", 2),
    ("ABBA|ABBA|BAAB", False, 1, "days", "contrast", 2),
    ("ABBA|AB|BAAB|BA", False, 1, "days", "days", 3),
    ("A|B", True, 3, "single swap", "joined", 3),
    ("AB", False, 1, "single swap", "none", 0),
    ("ABA", True, 1, "blocks with a return", "none", 0),
]


@pytest.mark.parametrize(("letters", "fitted_anew", "each", "design", "estimator", "df"), RECOGNISED)
def test_recognised(letters, fitted_anew, each, design, estimator, df):
    found = recognise(order(letters, fitted_anew, each=each, swap=0.75))
    assert (found.name, found.estimator, found.degrees_of_freedom) == (design, estimator, df)


@pytest.mark.parametrize(("letters", "fitted_anew", "each"), [case[:3] for case in RECOGNISED if case[0] != "A|B"])
def test_weights_are_one_of_each_and_blind_to_day_levels(letters, fitted_anew, each):
    flown = order(letters, fitted_anew, each=each, swap=0.75)
    weights = recognise(flown).weights
    assert weights @ (flown.configuration == 1) == pytest.approx(1)
    assert weights @ (flown.configuration == 0) == pytest.approx(-1)
    for day in np.unique(flown.day):
        assert weights @ (flown.day == day) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("letters", ["ABBAAB", "ABBABAAB", "ABBABAABABBA", "AAABBBAAA", "ABBAABB"])
def test_straight_drift_leaves_neither_a_trace_in_the_difference_nor_in_the_scatter(letters):
    flown = order(letters)
    y = scatter(flown, np.random.default_rng(1), 5)
    plain, drifting = (estimate(recognise(flown), values) for values in (y, y + 7.0 * flown.hours))
    assert np.allclose(plain.difference, drifting.difference)
    assert np.allclose(plain.standard_uncertainty, drifting.standard_uncertainty)
    assert np.allclose(drifting.drift - plain.drift, 7.0)


@pytest.mark.parametrize("letters", ["ABBAAB", "ABBAABB", "ABBA|BAAB", "AAABBBAAA"])
def test_regression_is_that_of_statsmodels(letters):
    statsmodels = pytest.importorskip("statsmodels.api")
    flown = order(letters)
    y = np.random.default_rng(3).normal(size=flown.runs)
    columns = np.column_stack(
        [
            flown.configuration,
            *(flown.day == day for day in np.unique(flown.day)),
            *(flown.time * (flown.day == day) for day in np.unique(flown.day)),
        ]
    ).astype(float)
    theirs = statsmodels.OLS(y, columns).fit()
    ours = estimate(recognise(flown), y)
    assert ours.difference == pytest.approx(theirs.params[0])
    assert ours.standard_uncertainty == pytest.approx(theirs.bse[0])
    assert ours.interval() == pytest.approx(tuple(theirs.conf_int()[0]))
    assert ours.p_value == pytest.approx(theirs.pvalues[0])
    if np.unique(flown.day).size == 1:
        assert ours.drift == pytest.approx(theirs.params[-1])
        assert ours.drift_uncertainty == pytest.approx(theirs.bse[-1])
    else:
        # Two days alike in shape: the drift told is the mean of their slopes.
        assert ours.drift == pytest.approx(theirs.params[-2:].mean())


def test_the_method_does_not_depend_on_the_rows_being_sorted():
    flown = order("ABBABAAB")
    y = np.random.default_rng(4).normal(size=8)
    mixed = np.random.default_rng(5).permutation(8)
    names = ("configuration", "installation", "day", "hours")
    again = FlownOrder(*(getattr(flown, name)[mixed] for name in names), flown.fitted_anew)
    one, two = estimate(recognise(flown), y), estimate(recognise(again), y[mixed])
    assert recognise(again).name == "pairs"
    assert one.difference == pytest.approx(two.difference)
    assert one.standard_uncertainty == pytest.approx(two.standard_uncertainty)


def test_runs_on_one_installation_are_one_look():
    """Six installations of three runs: the same as the regression on the six means."""
    flown = order("ABABAB", fitted_anew=True, each=3, swap=0.75)
    y = np.random.default_rng(6).normal(size=18)
    means = y.reshape(6, 3).mean(axis=1)
    single = FlownOrder(flown.configuration[::3], range(6), np.zeros(6), flown.hours.reshape(6, 3).mean(axis=1), True)
    many, few = estimate(recognise(flown), y), estimate(recognise(single), means)
    assert many.difference == pytest.approx(few.difference)
    assert many.standard_uncertainty == pytest.approx(few.standard_uncertainty)
    assert many.degrees_of_freedom == few.degrees_of_freedom == 3


WARNED = [
    ("AB", True, "cannot be told apart"),
    ("AAABBB", False, "cannot be told apart"),
    ("A|B", True, "No day holds both"),
    ("AB|AB", True, "cannot be told apart"),
    ("AB|AB|AB", True, "cannot be told apart"),
    ("ABA", True, "fitted only once"),
    ("ABAB", True, "fitted only twice"),
    ("ABABABABABAB", False, "same order"),
    ("ABBA|B", False, "on a day with one configuration only"),
]


@pytest.mark.parametrize(("letters", "fitted_anew", "words"), WARNED)
def test_an_order_that_cannot_tell_says_so(letters, fitted_anew, words):
    found = recognise(order(letters, fitted_anew, each=3 if fitted_anew else 1))
    assert any(words in said for said in found.warnings), found.warnings


def test_a_good_order_is_not_warned_about():
    assert recognise(order("ABBABAABABBABAAB")).warnings == ()
    assert recognise(order("ABABAB", fitted_anew=True, each=2)).warnings == (
        "Every pair was flown in the same order: turn every second pair round next time.",
    )


def test_neighbours_on_two_days_are_no_pair():
    """A | B A | B would pair over night: such units are left to regression."""
    flown = order("A|BABBABAABB|A", days=None)
    assert flown.pairs is None
    assert order("ABBA|BAAB").pairs.tolist() == [[0, 1], [2, 3], [4, 5], [6, 7]]


def test_one_installation_over_night_is_noticed():
    flown = order("AB|BA", fitted_anew=True, each=3)
    installation = np.array([0] * 3 + [1] * 6 + [2] * 3)
    found = recognise(FlownOrder(flown.configuration, installation, flown.day, flown.hours, True))
    assert any("more than one day" in said for said in found.warnings)


BROKEN = [
    (dict(configuration=[0, 1, -1]), "must be 0"),
    (dict(configuration=[0, 1]), "one value a run"),
    (dict(hours=[0.0, np.nan, 1.0]), "clock"),
    (dict(installation=[0, 0, 1]), "two configurations"),
]


@pytest.mark.parametrize(("changed", "words"), BROKEN)
def test_a_broken_order_is_refused(changed, words):
    good = dict(configuration=[0, 1, 0], installation=[0, 1, 2], day=[0, 0, 0], hours=[0.0, 1.0, 2.0], fitted_anew=True)
    with pytest.raises(ValueError, match=words):
        FlownOrder(**{**good, **changed})


def test_one_configuration_is_refused():
    with pytest.raises(ValueError, match="both configurations"):
        recognise(order("AAAA"))


def test_values_of_another_length_are_refused():
    with pytest.raises(ValueError, match="6 runs expected"):
        estimate(recognise(order("ABBAAB")), np.zeros(5))
