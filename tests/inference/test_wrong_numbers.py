"""Cases that tempt to a wrong number: against ordinary least squares and a paired t by hand, and under changes that
must not matter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from flown_campaigns import campaign, table
from scipy import stats

from samesky import units
from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.inference.explain import ALIKE
from samesky.measures import free
from samesky.report import methods, phrases
from samesky.simulator.examples.catalogue import write_example

THING = free("thing", "m", "length", "smaller")
KEYS = "ABBAABBA"
VALUES = 100.0 + np.random.default_rng(5).normal(0.0, 0.3, 8)


def one(values, keys=KEYS, **more):
    (found,) = compare(
        campaign(table(THING, keys, values, fitted_anew=False), fitted_anew=False, smallest=0.01, **more)
    )
    return found


def least_squares(values, keys, hours):
    """Configuration, level and straight drift by scipy: difference, 95 % interval, p."""
    x = np.column_stack([[key == "B" for key in keys], np.ones(len(keys)), hours]).astype(float)
    b = np.linalg.lstsq(x, values, rcond=None)[0]
    df = len(keys) - 3
    u = np.sqrt(np.square(values - x @ b).sum() / df * np.linalg.inv(x.T @ x)[0, 0])
    half = stats.t.ppf(0.975, df) * u
    return b[0], b[0] - half, b[0] + half, 2 * stats.t.sf(abs(b[0] / u), df)


@pytest.mark.parametrize("change", ["as read", "negative", "below zero", "one far out"])
def test_few_runs_are_fitted_by_least_squares(change):
    values = {
        "as read": VALUES,
        "negative": -VALUES,
        "below zero": VALUES - 1000.0,
        "one far out": VALUES + 50.0 * (np.arange(8) == 2),
    }[change]
    found = one(values)
    expected = least_squares(values, KEYS, found.design.order.hours)
    assert (found.difference, *found.interval_95, found.p) == pytest.approx(expected, rel=1e-8)
    # What is said of the way is what was done.
    said = " ".join(methods.of_comparison(found))
    assert "regression on runs" in said.casefold()
    assert "fewer than pairs" not in said


@pytest.mark.parametrize("values", [np.full(8, 100.0), 100.0 - 10.0 * np.array([key == "B" for key in KEYS])])
def test_readings_that_are_all_alike_are_not_sure_for_that(values):
    """Rounding errors of the arithmetic are neither a difference nor a scatter."""
    found = one(values)
    assert found.verdict == "not enough data"
    assert np.isnan(found.interval_95).all()
    assert np.isnan(found.p)
    assert found.assumption == ALIKE
    assert "finer digit" in found.settle
    assert found.difference == (0.0 if np.ptp(values) == 0 else pytest.approx(-10.0))
    if found.difference == 0:
        assert phrases.sentence(found) == "B reads the same in the mean, but no interval can be given."


def test_a_tie_is_exactly_none():
    found = one([100, 101, 99, 100, 101, 100, 100, 99])
    assert (found.difference, found.p) == (0.0, 1.0)
    assert found.interval_95[0] == -found.interval_95[1]


def test_scatter_just_above_the_arithmetic_still_counts():
    values = 100.0 + 1e-9 * (VALUES - 100.0)
    found = one(values)
    assert found.interval_95 == pytest.approx(least_squares(values, KEYS, found.design.order.hours)[1:3], rel=1e-3)


@pytest.mark.parametrize("name", ["finer_pitch", "willing_hands"])
def test_baseline_and_other_changed_turn_every_sign(tmp_path, name):
    """Campaigns whose configurations weigh the same: nothing else hangs on which is called the baseline."""
    there = read(write_example(name, tmp_path / name))
    turned = replace(there, baseline="B")
    for here, back in zip(compare(there), compare(turned), strict=True):
        low, high = (float(end) for end in here.estimate.interval(0.95))
        mirrored = tuple(-float(end) for end in reversed(back.estimate.interval(0.95)))
        assert float(here.estimate.difference) == pytest.approx(-float(back.estimate.difference), rel=1e-9, abs=1e-12)
        assert (low, high) == pytest.approx(mirrored, rel=1e-9, abs=1e-12)
        assert here.verdict == back.verdict


def test_another_unit_is_the_same_answer(tmp_path):
    there = read(write_example("warming_day", tmp_path / "c"))
    (roll,) = [each for each in compare(there) if each.measure == "takeoff_roll"]
    metres = replace(there, asked=there.asked | {"takeoff_roll": replace(there.asked["takeoff_roll"], unit="m")})
    (again,) = [each for each in compare(metres) if each.measure == "takeoff_roll"]
    foot = float(units.from_si(1.0, "ft", "length"))
    assert roll.unit == "ft"
    assert again.difference == pytest.approx(roll.difference / foot, rel=1e-12)
    assert again.interval_95 == pytest.approx(tuple(end / foot for end in roll.interval_95), rel=1e-12)
    assert again.verdict == roll.verdict
