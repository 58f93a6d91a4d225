"""The sky, the diary and the schedule: each part does what its size says, and nothing else."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.simulator.diary import Diary
from samesky.simulator.schedule import RunPlan, blocks
from samesky.simulator.sky import QUIET, Course, SkyModel

MANY = 40_000
#: Two days of four runs.
HOURS = np.array([9.0, 10.0, 11.5, 13.0, 33.0, 34.0, 35.5, 37.0])


def draw(course, hours=HOURS):
    return course.draw(np.random.default_rng(11), hours, MANY)


def test_trend_and_curve_begin_anew_each_day():
    value = draw(Course(5.0, rate=2.0, curve=-0.5, since=9.0))[0]
    elapsed = HOURS % 24 - 9.0
    np.testing.assert_allclose(value, 5.0 + 2.0 * elapsed - 0.5 * elapsed**2)


def test_scatter_is_new_each_run_and_grows_after_mid_morning():
    value = draw(Course(scatter=0.3, growth=0.2, growth_from=11.0))
    expected = 0.3 + 0.2 * np.maximum(HOURS % 24 - 11.0, 0)
    np.testing.assert_allclose(value.std(axis=0), expected, rtol=0.02)
    assert abs(np.corrcoef(value[:, 0], value[:, 1])[0, 1]) < 0.02


def test_day_levels_are_shared_within_a_day_only():
    value = draw(Course(day=2.0))
    assert np.ptp(value[:, :4], axis=1).max() == 0.0
    assert value[:, 0].std() == pytest.approx(2.0, rel=0.02)
    assert abs(np.corrcoef(value[:, 0], value[:, 4])[0, 1]) < 0.02


def test_random_walk_grows_with_the_square_root_of_time_and_starts_anew_each_day():
    value = draw(Course(walk=0.5))
    elapsed = np.array([0, 1, 2.5, 4, 0, 1, 2.5, 4])
    np.testing.assert_allclose(value.std(axis=0), 0.5 * np.sqrt(elapsed), rtol=0.02, atol=1e-12)
    steps = np.diff(value[:, :4], axis=1)
    assert abs(np.corrcoef(steps[:, 1], steps[:, 2])[0, 1]) < 0.02


def test_a_step_comes_at_some_hour_of_the_day_and_stays():
    value = draw(Course(step=1.0))
    moved = np.diff(value[:, :4], axis=1) != 0
    assert moved.sum(axis=1).max() == 1
    # Evenly between first and last run: a quarter of the four hours lies in the first gap, three eighths in each other.
    np.testing.assert_allclose(moved.mean(axis=0), [0.25, 0.375, 0.375], atol=0.01)
    assert value[:, 3].std() == pytest.approx(1.0, rel=0.02)


def test_a_trend_may_differ_from_day_to_day():
    value = draw(Course(rate_scatter=0.4, since=9.0))
    np.testing.assert_allclose(value[:, 2].std(), 0.4 * 2.5, rtol=0.02)
    np.testing.assert_allclose(value[:, 3] / value[:, 1], 4.0, rtol=1e-9)
    assert abs(np.corrcoef(value[:, 3], value[:, 7])[0, 1]) < 0.02


def test_a_floor_holds():
    assert draw(Course(scatter=1.0, low=-0.5)).min() == -0.5


def test_runs_in_any_order_share_one_sky():
    sky = SkyModel({"temperature": Course(280.0, rate=1.0, walk=0.3)})
    mixed = np.array([3, 0, 2, 1])
    in_order = sky.draw(np.random.default_rng(3), HOURS[:4], 5)["temperature"]
    shuffled = sky.draw(np.random.default_rng(3), HOURS[:4][mixed], 5)["temperature"]
    np.testing.assert_array_equal(shuffled, in_order[:, mixed])


def test_the_sky_has_every_quantity_and_no_other():
    assert set(SkyModel().draw(np.random.default_rng(1), HOURS, 2)) == set(QUIET)
    with pytest.raises(ValueError, match="no 'weather'"):
        SkyModel({"weather": Course()})


def test_blocks_share_an_installation_with_neighbours_of_the_day_only():
    plans = blocks("ABBA", {"static_pull": 2}, minutes={"static_pull": 5}, swap_minutes=30, blocks_a_day=4)
    plan = plans["static_pull"]
    assert "".join(plan.configuration) == "AABBBBAA"
    np.testing.assert_array_equal(plan.installation, [0, 0, 1, 1, 1, 1, 2, 2])
    np.testing.assert_allclose(np.diff(plan.hours) * 60, [5, 35, 5, 35, 5, 35, 5])
    two_days = blocks("ABBA", {"static_pull": 1}, minutes={"static_pull": 5}, blocks_a_day=2)["static_pull"]
    np.testing.assert_array_equal(two_days.installation, [0, 1, 2, 3])
    np.testing.assert_array_equal(two_days.day, [0, 0, 1, 1])


def test_fuel_goes_down_and_is_filled_up_before_it_runs_short():
    plan = blocks("ABABAB", {"timed_climb": 4}, minutes={"timed_climb": 15}, blocks_a_day=6, least_fuel=20.0)[
        "timed_climb"
    ]
    assert plan.fuel.min() > 20.0 - 12.0
    assert np.all(np.diff(plan.fuel)[[0, 1, 2]] == -3.0)
    assert plan.fuel.max() == 40.0


def test_a_plan_needs_as_much_of_everything():
    with pytest.raises(ValueError, match="as many"):
        RunPlan(np.arange(3.0), np.array(["A", "B"]), np.arange(3), np.arange(3.0))
    with pytest.raises(ValueError, match="needs a run"):
        RunPlan(*(np.array([]) for _ in range(4)))


def test_a_diary_keeps_clock_fuel_and_fittings():
    diary = Diary(np.random.default_rng(5), fuel_density=0.72)
    diary.morning(0, "07:30", 40.0)
    diary.fit("A")
    diary.run("static_pull", 5, 1.0)
    diary.run("static_pull", 5, 1.0)
    diary.wait(30)
    diary.refuel(40.0)
    diary.fit("B")
    diary.run("static_pull", 5, 1.0)
    plan = diary.plans()["static_pull"]
    assert plan.hours[0] == 7.5
    assert 4 / 60 - 1e-9 <= plan.hours[1] - plan.hours[0] <= 6 / 60 + 1e-9
    assert plan.hours[2] - plan.hours[1] >= 33 / 60 - 1e-9
    np.testing.assert_array_equal(plan.installation, [0, 0, 1])
    np.testing.assert_allclose(plan.fuel[[0, 2]], 40 * 0.72)
    assert 0.9 * 0.72 <= plan.fuel[0] - plan.fuel[1] <= 1.1 * 0.72
    assert diary.notes == {("static_pull", 2): "refuelled to 40 L"}
