"""The three answers and a size."""

import math

import numpy as np
import pytest
from flown import order, scatter
from printed_samples import tost_verdict

from samesky.inference import verdict
from samesky.inference.design import recognise
from samesky.inference.estimate import estimate

CASES = [
    ((0.5, 3.0), (0.8, 2.7), "larger", "B better"),
    ((0.5, 3.0), (0.8, 2.7), "smaller", "A better"),
    ((-3.0, -0.5), (-2.7, -0.8), "smaller", "B better"),
    ((-0.9, 0.9), (-0.7, 0.7), "larger", "no difference that matters"),
    ((0.1, 0.9), (0.2, 0.8), "larger", "real, but too small to matter"),
    ((-0.9, -0.1), (-0.8, -0.2), "larger", "real, but too small to matter"),
    ((-2.0, 3.0), (-1.5, 2.5), "larger", "not enough data"),
    ((-0.2, 1.5), (0.1, 1.2), "larger", "not enough data"),
    ((math.nan, math.nan), (math.nan, math.nan), "larger", "not enough data"),
    ((-math.inf, math.inf), (-math.inf, math.inf), "smaller", "not enough data"),
]


@pytest.mark.parametrize(("wide", "narrow", "better", "words"), CASES)
def test_verdict(wide, narrow, better, words):
    assert verdict.words(verdict.judge(wide, narrow, -1.0, 1.0, better), "A", "B") == words


@pytest.mark.parametrize(
    ("row", "equivalent"), [("TOST-A", False), ("TOST-B", True), ("TOST-C", False), ("TOST-D", True)]
)
def test_printed_equivalence_tests_give_the_printed_answer(row, equivalent):
    """Clinic data, margins of 0.6: p below 5 % is the same as the 90 % interval inside the margins."""
    assert (tost_verdict(row) == verdict.NO_DIFFERENCE) is equivalent


def test_margins():
    assert verdict.margins(0.05, True, True, 400.0) == pytest.approx((math.log(0.95), math.log(1.05)))
    assert verdict.margins(20.0, False, True, 400.0) == pytest.approx((math.log(0.95), math.log(1.05)))
    assert verdict.margins(0.05, True, False, 40.0) == pytest.approx((-2.0, 2.0))
    assert verdict.margins(1.5, False, False, 40.0) == (-1.5, 1.5)


@pytest.mark.parametrize(
    ("smallest", "fraction", "ratio"), [(0.0, True, True), (-1.0, False, False), (1.0, True, True)]
)
def test_margins_that_mean_nothing_are_refused(smallest, fraction, ratio):
    with pytest.raises(ValueError, match="smallest difference"):
        verdict.margins(smallest, fraction, ratio, 10.0)


def test_holm_is_that_of_statsmodels():
    multitest = pytest.importorskip("statsmodels.stats.multitest")
    p = np.array([0.012, 0.04, 0.2, 0.003, 0.04])
    assert np.allclose(verdict.holm(p), multitest.multipletests(p, method="holm")[1])


def test_holm_leaves_out_what_has_no_p():
    assert np.allclose(verdict.holm(np.array([0.02, np.nan, 0.03])), [0.04, np.nan, 0.04], equal_nan=True)
    assert verdict.holm(np.array([])).size == 0


@pytest.mark.parametrize(
    ("letters", "margin", "true", "better", "nothing", "too_small"),
    [
        ("ABBABAABABBABAAB", 2.0, 0.0, 0.01, 0.93, 0.03),
        ("ABBABAABABBABAAB", 2.0, 1.0, 0.93, 0.02, 0.03),
        ("ABBABAABABBA", 1.0, 1.0, 0.34, 0.03, 0.00),
        ("ABBABAABABBA", 2.0, 2.0, 1.00, 0.00, 0.00),
    ],
)
def test_how_often_each_verdict_comes(letters, margin, true, better, nothing, too_small):
    """The operating table of alternating runs, to the whole per cent it is kept in (simulated; seeded)."""
    flown = order(letters)
    y = scatter(flown, np.random.default_rng(7), 20_000) + true * margin * flown.configuration
    found = estimate(recognise(flown), y)
    codes = verdict.judge(found.interval(), found.interval(0.90), -margin, margin, "larger")
    share = [np.mean(codes == code) for code in (verdict.OTHER_BETTER, verdict.NO_DIFFERENCE, verdict.TOO_SMALL)]
    assert share == pytest.approx([better, nothing, too_small], abs=0.015)
