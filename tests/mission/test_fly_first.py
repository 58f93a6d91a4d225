"""How much of which measure settles an open kind of flying: against the closed form for known scatter."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from samesky.mission.fly_first import MOST, fly_first
from samesky.mission.trade_off import Gain, judge_mission

SURE = 1e9


def flown(measure, u, fittings=2, runs=6, fitted_anew=True, stays=0.0):
    part = SimpleNamespace(scope="campaign")
    return SimpleNamespace(
        measure=measure,
        title=measure.replace("_", " "),
        runs={"A": runs, "B": runs},
        fittings={"A": fittings, "B": fittings},
        estimate=SimpleNamespace(standard_uncertainty=u, added=[(part, stays**2)], degrees_of_freedom=SURE),
        design=SimpleNamespace(with_time=True, name="paired", order=SimpleNamespace(fitted_anew=fitted_anew)),
    )


def asked(values, weights, worst=0.0, **more):
    gains = {name: Gain(name, name, value, u, SURE, "", worst) for name, (value, u) in values.items()}
    suited = judge_mission("climb", weights, gains, "A", "B")
    return suited, fly_first(suited, gains, [flown(name, u, **more) for name, (_, u) in values.items()], {})


@pytest.mark.parametrize("value", [1.30, 1.50, 1.80])
@pytest.mark.parametrize("fittings", [2, 5])
def test_the_least_number_of_fittings_by_the_normal_quantile(value, fittings):
    u = 1.0
    suited, first = asked({"timed_climb": (value, u)}, {"timed_climb": 1}, fittings=fittings, runs=3 * fittings)
    assert suited.answer == "open"
    # By hand: growth g with value > z u / sqrt(g), in whole fittings.
    growth = (stats.norm.ppf(0.975) * u / value) ** 2
    assert first.fittings == max(1, math.ceil(fittings * (growth - 1.0)))
    assert first.runs == 3
    assert not first.back


def test_where_nothing_is_fitted_anew_runs_are_counted():
    _, first = asked({"timed_climb": (1.3, 1.0)}, {"timed_climb": 1}, fitted_anew=False, runs=6)
    growth = (stats.norm.ppf(0.975) / 1.3) ** 2
    assert (first.fittings, first.runs) == (0, math.ceil(6 * (growth - 1.0)))


def test_the_measure_with_the_largest_part_of_the_doubt_is_sent_for():
    values = {"takeoff_roll": (1.2, 1.5), "timed_climb": (1.2, 0.3)}
    suited, first = asked(values, {"takeoff_roll": 1, "timed_climb": 1})
    assert suited.answer == "open"
    assert first.measure == "takeoff_roll"


def test_nobody_is_sent_for_what_cannot_be_had():
    assert asked({"timed_climb": (0.5, 1.5)}, {"timed_climb": 1})[1] is None
    # What all runs share does not shrink: 1.96 * 0.9 is more than 1.5.
    assert asked({"timed_climb": (1.5, 1.0)}, {"timed_climb": 1}, stays=0.9)[1] is None
    assert asked({"timed_climb": (1.5, 1.0)}, {"timed_climb": 1}, stays=0.3)[1] is not None
    assert MOST > 1


def test_a_drift_that_the_order_hides_asks_for_a_return():
    _, first = asked({"timed_climb": (2.5, 1.0)}, {"timed_climb": 1}, worst=1.0)
    assert first.back
    _, none = asked({"timed_climb": (2.5, 1.0)}, {"timed_climb": 1}, worst=0.4)
    assert none is None  # sure already


def test_what_is_settled_asks_for_nothing():
    suited, first = asked({"timed_climb": (3.0, 1.0)}, {"timed_climb": 1})
    assert suited.answer == "B"
    assert first is None
    assert np.isfinite(suited.value)
