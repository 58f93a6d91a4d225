"""Which configuration suits which flying: the arithmetic by hand, and the answers that must not be given."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from samesky.mission.trade_off import Gain, judge_mission

SURE = 1e9


def gain(measure, value, u=0.3, df=SURE):
    return {measure: Gain(measure, measure, value, u, df, "")}


def test_the_value_is_the_weighted_gain_with_its_normal_interval():
    # By hand: 0.75 * 4 - 0.25 * 2 = 2.5; u = sqrt((0.75*0.3)^2 + (0.25*0.4)^2); scipy's normal quantile.
    found = gain("timed_climb", 4.0) | gain("level_speed", -2.0, 0.4)
    suited = judge_mission("short strip", {"timed_climb": 3, "level_speed": 1}, found, "A", "B")
    half = stats.norm.ppf(0.975) * math.hypot(0.75 * 0.3, 0.25 * 0.4)
    assert suited.value == pytest.approx(2.5)
    assert suited.interval_95 == pytest.approx((2.5 - half, 2.5 + half), rel=1e-6)
    assert suited.answer == "B"
    assert "B suits it" in suited.sentence()


def test_the_mirror_image_favours_the_baseline():
    found = gain("timed_climb", -4.0) | gain("level_speed", 2.0, 0.4)
    assert judge_mission("short strip", {"timed_climb": 3, "level_speed": 1}, found, "A", "B").answer == "A"


def test_a_win_that_hangs_on_the_exact_weights_stays_open():
    # Ahead with 0.51 : 0.49, but the ranking alone allows 1 : 0 to 1/2 : 1/2 and then the loss of 5 may outweigh it.
    found = gain("timed_climb", -1.0, 0.05) | gain("level_speed", 5.0, 0.05)
    suited = judge_mission("everyday", {"timed_climb": 0.51, "level_speed": 0.49}, found, "A", "B")
    assert suited.interval_95[0] > 0
    assert suited.answer == "open"
    # With x uniform on (1/2, 1): -x + 5 (1 - x) > 0 for x < 5/6, that is two thirds of the draws.
    assert suited.other_ahead == pytest.approx(2 / 3, abs=0.02)


def test_little_on_everything_is_either_and_noise_is_open():
    assert judge_mission("everyday", {"timed_climb": 1}, gain("timed_climb", 0.1, 0.2), "A", "B").answer == "either"
    assert judge_mission("everyday", {"timed_climb": 1}, gain("timed_climb", 0.1, 2.0), "A", "B").answer == "open"


def test_few_degrees_of_freedom_widen_the_interval():
    wide = judge_mission("climb", {"timed_climb": 1}, gain("timed_climb", 3.0, 1.0, 2.0), "A", "B")
    assert wide.interval_95[1] - 3.0 == pytest.approx(stats.t.ppf(0.975, 2.0), rel=1e-6)


def test_a_measure_nobody_flew_is_named_and_nothing_is_claimed():
    suited = judge_mission("cross-country", {"cruise_fuel": 2, "timed_climb": 1}, gain("timed_climb", 9.0), "A", "B")
    assert suited.missing == ("cruise_fuel",)
    assert suited.answer == "open"
    assert np.isnan(suited.value)
    assert (suited.missing, suited.unsure) == (("cruise_fuel",), ())
    assert "cruise fuel has no runs of both A and B that count" in suited.sentence()
    assert "timed climb" not in suited.sentence()
    assert "interval" not in suited.sentence(), "of a measure without runs nothing else is said"


def test_a_measure_that_was_flown_and_has_no_interval_is_not_called_missing():
    found = gain("level_speed", 2.0, math.nan) | gain("timed_climb", 9.0)
    suited = judge_mission("cross-country", {"level_speed": 2, "timed_climb": 1}, found, "A", "B")
    assert (suited.missing, suited.unsure, suited.answer) == ((), ("level_speed",), "open")
    assert np.isnan(suited.value)
    assert suited.sentence() == "cross-country: cannot be said: level speed has no interval."
    both = judge_mission("cross-country", {"level_speed": 2, "static_pull": 1}, found, "A", "B")
    assert (both.missing, both.unsure) == (("static_pull",), ("level_speed",))


def test_the_same_seed_gives_the_same_shares():
    found = gain("timed_climb", 1.0) | gain("level_speed", -1.0)
    first, second = (judge_mission("x", {"timed_climb": 1, "level_speed": 1}, found, "A", "B") for _ in range(2))
    assert first == second
