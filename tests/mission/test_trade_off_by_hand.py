"""Gains, intervals, shares and answers of a mission against the definitions and scipy's distributions."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from samesky.mission.trade_off import DRAWS, FIRM, Gain, _answer, gains, judge_mission, trade_off


def gain(measure, value, u=0.3, df=1e9):
    return {measure: Gain(measure, measure, value, u, df, "")}


def compared(measure, difference, u, smallest, better="larger", df=7.0, verdict="not enough data"):
    one = SimpleNamespace(
        measure=measure,
        title=measure.replace("_", " "),
        difference=difference,
        standard_uncertainty=u,
        smallest_that_matters=smallest,
        better=better,
        degrees_of_freedom=df,
        verdict=verdict,
        deciding_verdict=verdict,
        baseline="A",
        other="B",
        scale=SimpleNamespace(
            level=100.0, asked=SimpleNamespace(measure=SimpleNamespace(ratio=True)), shown=lambda value: value / 2.0
        ),
        estimate=SimpleNamespace(worst_drift=0.06),
    )
    one.deciding = one
    return one


def test_a_gain_counts_smallest_differences_that_matter_in_favour_of_the_other():
    # A roll 30 ft shorter where 20 ft matter: 1.5 gained. A climb 12 ft/min slower where 24 matter: half lost.
    found = gains([compared("takeoff_roll", -30.0, 8.0, 20.0, "smaller"), compared("timed_climb", -12.0, 6.0, 24.0)])
    roll, climb = found["takeoff_roll"], found["timed_climb"]
    assert (roll.gain, roll.standard_uncertainty, roll.degrees_of_freedom) == pytest.approx((1.5, 0.4, 7.0))
    assert (climb.gain, climb.standard_uncertainty) == pytest.approx((-0.5, 0.25))
    # The worst drift, 0.06 of a level of 100, shown in a unit twice as large: 3, of which 20 and 24 matter.
    assert (roll.worst_drift, climb.worst_drift) == pytest.approx((3.0 / 20.0, 3.0 / 24.0))
    # What matters may be less than one of its unit: 0.3 m/s more of 0.5 m/s.
    small = gains([compared("timed_climb", 0.3, 0.1, 0.5)])["timed_climb"]
    assert (small.gain, small.standard_uncertainty, small.worst_drift) == pytest.approx((0.6, 0.2, 6.0))
    assert (roll.title, climb.measure) == ("takeoff roll", "timed_climb")


@pytest.mark.parametrize("df", [2.0, 5.0, 1e9])
@pytest.mark.parametrize("value", [0.8, -1.7])
def test_one_measure_has_its_own_interval_and_students_share(value, df):
    """One measure of weight one: interval and share of draws ahead are those of a shifted, scaled t."""
    u = 1.3
    suited = judge_mission(
        "climb", {"timed_climb": 2.0, "level_speed": 0.0}, gain("timed_climb", value, u, df), "A", "B"
    )
    t = stats.t(df)
    assert suited.weights == {"timed_climb": 1.0}
    assert suited.value == pytest.approx(value)
    for interval, level in ((suited.interval_95, 0.95), (suited.interval_90, 0.90)):
        half = u * t.ppf(0.5 + level / 2)
        assert interval == pytest.approx((value - half, value + half), rel=1e-6)
    # Four standard errors of a share of so many draws.
    room = 4 * 0.5 / math.sqrt(DRAWS)
    assert suited.other_ahead == pytest.approx(t.cdf(value / u), abs=room)
    assert suited.baseline_ahead == pytest.approx(t.cdf(-value / u), abs=room)
    assert suited.other_ahead + suited.baseline_ahead == pytest.approx(1.0)


def test_degrees_of_freedom_join_by_cochrans_weighted_t_and_hidden_drift_is_added_in_full():
    """W. G. Cochran, Biometrics 20 (1964) 191-195: the parts' quantiles weighted by variance, at 95 %. A limit of
    drift is no chance: it widens both ends by its weighted self."""
    found = gain("timed_climb", 4.0, 0.6, 3.0) | gain("level_speed", 1.0, 0.8, 12.0)
    variances = np.square([0.75 * 0.6, 0.25 * 0.8])
    quantile = (variances @ stats.t.ppf(0.975, [3.0, 12.0])) / variances.sum()
    half = quantile * math.sqrt(variances.sum())
    suited = judge_mission("mix", {"timed_climb": 3, "level_speed": 1}, found, "A", "B")
    assert suited.interval_95 == pytest.approx((3.25 - half, 3.25 + half), rel=1e-6)
    assert suited.interval_95[0] < suited.interval_90[0] < suited.interval_90[1] < suited.interval_95[1]
    drifting = {
        "timed_climb": replace(found["timed_climb"], worst_drift=0.4),
        "level_speed": replace(found["level_speed"], worst_drift=0.8),
    }
    wide = judge_mission("mix", {"timed_climb": 3, "level_speed": 1}, drifting, "A", "B")
    more = 0.75 * 0.4 + 0.25 * 0.8
    assert wide.interval_95 == pytest.approx((3.25 - half - more, 3.25 + half + more), rel=1e-6)
    assert wide.other_ahead < suited.other_ahead
    assert wide.baseline_ahead <= suited.baseline_ahead


@pytest.mark.parametrize("compared_together", [3, 4])
def test_of_three_and_more_every_pair_is_held_by_the_studentised_range(compared_together):
    """scipy.stats.studentized_range: half of the interval is its quantile over the root of two, times u."""
    found = gain("timed_climb", 4.0, 0.6, 9.0)
    suited = judge_mission("x", {"timed_climb": 1}, found, "A", "B", compared=compared_together)
    for interval, level in ((suited.interval_95, 0.95), (suited.interval_90, 0.90)):
        half = 0.6 * stats.studentized_range.ppf(level, compared_together, 9.0) / math.sqrt(2)
        assert interval == pytest.approx((4.0 - half, 4.0 + half), rel=1e-4)


def test_what_lacks_is_named_in_the_sentence():
    found = gain("timed_climb", 9.0)
    one = judge_mission("fast", {"timed_climb": 2, "level_speed": 1}, found, "A", "B")
    assert "level speed has no runs of both A and B that count" in one.sentence()
    two = judge_mission("fast", {"timed_climb": 2, "level_speed": 1, "static_pull": 1}, found, "A", "B")
    assert "level speed and static pull have no runs of both A and B" in two.sentence()
    unsure = {**gain("timed_climb", 9.0, math.nan), **gain("static_pull", 9.0, math.nan)}
    assert "timed climb has no interval" in judge_mission("x", {"timed_climb": 1}, unsure, "A", "B").sentence()
    both = judge_mission("x", {"timed_climb": 1, "static_pull": 1}, unsure, "A", "B").sentence()
    assert "timed climb and static pull have no interval" in both
    sure = gain("timed_climb", 9.0, 0.1)
    assert judge_mission("short", {"timed_climb": 1}, sure, "A", "B").sentence() == "short: B suits it."


def test_shares_over_agreeing_weights_keep_each_measure_with_its_own_weight():
    """Sure gains of 2 and -1 with weights x >= 1 - x: 2x - (1 - x) > 0 for every x above a third, so always; turned
    round, x - 2 (1 - x) > 0 for x above two thirds: two thirds of x between a half and one."""
    sure = gain("timed_climb", 2.0, 1e-6) | gain("level_speed", -1.0, 1e-6)
    first = judge_mission("x", {"timed_climb": 2, "level_speed": 1}, sure, "A", "B")
    assert (first.other_ahead, first.baseline_ahead) == (1.0, 0.0)
    turned = judge_mission("x", {"timed_climb": 1, "level_speed": 2}, sure, "A", "B")
    # Now level_speed weighs x: 2 (1 - x) - x > 0 for x below two thirds: a third of the weights.
    assert turned.other_ahead == pytest.approx(1 / 3, abs=0.02)
    assert turned.baseline_ahead == pytest.approx(2 / 3, abs=0.02)


def test_shares_of_gains_that_err_together_by_quadrature():
    """Two equal gains of 1 +- 1, correlated by 0.9, weights x and 1 - x with x even on 0 to 1: the sum is normal with
    variance x^2 + (1 - x)^2 + 1.8 x (1 - x); its share above zero is averaged over x by the midpoint rule."""
    found = gain("timed_climb", 1.0, 1.0) | gain("level_speed", 1.0, 1.0)
    shared = {("timed_climb", "level_speed"): 0.9, ("level_speed", "timed_climb"): 0.9}
    suited = judge_mission("x", {"timed_climb": 1, "level_speed": 1}, found, "A", "B", shared)
    x = (np.arange(1000) + 0.5) / 1000
    expected = stats.norm.cdf(1.0 / np.sqrt(x**2 + (1 - x) ** 2 + 1.8 * x * (1 - x))).mean()
    assert suited.other_ahead == pytest.approx(expected, abs=4 * 0.5 / math.sqrt(DRAWS))


def test_two_that_are_alike_to_the_last_digit_are_ahead_of_each_other_never():
    suited = judge_mission("x", {"timed_climb": 1}, gain("timed_climb", 0.0, 0.0), "A", "B")
    assert (suited.other_ahead, suited.baseline_ahead, suited.answer) == (0.0, 0.0, "either")


@pytest.mark.parametrize(
    ("low", "high", "ahead", "behind", "inner", "answer"),
    [
        (0.1, 3.0, FIRM, 0.05, (0.3, 2.8), "B"),
        (0.1, 3.0, FIRM - 1e-6, 0.05, (0.3, 2.8), "open"),
        (0.0, 3.0, 0.99, 0.0, (0.3, 2.8), "open"),
        (-3.0, -0.1, 0.05, FIRM, (-2.8, -0.3), "A"),
        (-3.0, -0.1, 0.05, FIRM - 1e-6, (-2.8, -0.3), "open"),
        (-3.0, 0.0, 0.0, 0.99, (-2.8, -0.3), "open"),
        (-1.5, 1.5, 0.5, 0.5, (-0.99, 0.99), "either"),
        (-1.5, 1.5, 0.5, 0.5, (-1.0, 0.99), "open"),
        (-1.5, 1.5, 0.5, 0.5, (-0.99, 1.0), "open"),
        (0.1, 0.9, 0.99, 0.0, (0.2, 0.8), "either"),
        (-2.0, 3.0, 0.99, 0.0, (-1.5, 2.5), "open"),
    ],
)
def test_better_needs_interval_and_ranking_and_alike_needs_both_ends_within_what_matters(
    low, high, ahead, behind, inner, answer
):
    assert _answer({0.95: (low, high), 0.90: inner}, ahead, behind, "A", "B") == answer
    assert FIRM == 0.90


def test_who_wins_what():
    found = trade_off([
        compared("timed_climb", 1, 1, 1, verdict="B better"),
        compared("static_pull", 1, 1, 1, verdict="B better"),
        compared("level_speed", 1, 1, 1, verdict="A better"),
        compared("takeoff_roll", 1, 1, 1, verdict="no difference that matters"),
    ])  # fmt: skip
    assert found == {"B": ("timed climb", "static pull"), "A": ("level speed",)}


def test_a_measure_without_interval_leaves_all_open_and_is_named():
    found = gain("timed_climb", 9.0) | gain("level_speed", 1.0, math.nan)
    suited = judge_mission("fast", {"timed_climb": 2, "level_speed": 1}, found, "A", "B")
    assert suited.answer == "open"
    assert math.isnan(suited.value)
    assert all(math.isnan(end) for end in (*suited.interval_95, *suited.interval_90))
    assert math.isnan(suited.other_ahead)
    assert math.isnan(suited.baseline_ahead)
    assert "level speed" in suited.sentence()
    assert "cannot be said" in suited.sentence()
