"""Reading errors: each scope is shared by whom it says, sizes are right, and nothing is read twice."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.instruments.sources import ErrorSource
from samesky.simulator.motion.legs import ground_speed
from samesky.simulator.readings import checked_readings, read, shipped_readings

MANY = 30_000
INSTALLATION = np.array([0, 0, 1, 1, 2, 2])
DAY = np.array([0, 0, 0, 0, 1, 1])


def errors(*sources, column="oat", level=0.0, measure="takeoff_roll", shared=None):
    truth = {column: np.full((MANY, 6), level)}
    rng = np.random.default_rng(8)
    return read(rng, truth, sources, measure, INSTALLATION, DAY, {} if shared is None else shared)[column]


@pytest.mark.parametrize(
    ("scope", "alike"),
    [
        ("run", np.eye(6)),
        ("installation", INSTALLATION[:, None] == INSTALLATION),
        ("day", DAY[:, None] == DAY),
        ("campaign", np.ones((6, 6))),
    ],
)
def test_an_error_is_shared_by_its_scope(scope, alike):
    error = errors(ErrorSource("one", "oat", 0.7, scope, "test"))
    np.testing.assert_allclose(error.std(axis=0), 0.7, rtol=0.02)
    np.testing.assert_allclose(np.corrcoef(error.T), alike, atol=0.03)


def test_relative_errors_follow_the_value():
    error = errors(ErrorSource("one", "pull", 0.02, "run", "test", relative=True), column="pull", level=500.0)
    assert error.std() == pytest.approx(10.0, rel=0.02)


def test_a_relative_error_counted_from_a_value_of_its_own():
    source = ErrorSource("one", "airspeed", 0.02, "campaign", "test", relative=True, about=40.0)
    shared = {}
    found = {
        level: errors(source, column="airspeed", level=level, shared=shared) - level for level in (30.0, 40.0, 60.0)
    }
    assert np.all(found[40.0] == 0.0)
    assert found[60.0].std() == pytest.approx(0.02 * 20.0, rel=0.02)
    # what reads high above that value reads low below it
    np.testing.assert_allclose(found[30.0], -0.5 * found[60.0], rtol=1e-9)


def test_a_fitting_has_one_error_whatever_is_measured():
    shared = {}
    source = ErrorSource("one", "oat", 1.0, "installation", "test")
    first = errors(source, shared=shared)
    second = errors(source, measure="static_pull", shared=shared)
    np.testing.assert_array_equal(first, second)


def test_later_fittings_extend_what_was_drawn_without_changing_it():
    shared, source = {}, ErrorSource("one", "oat", 1.0, "installation", "test")
    rng = np.random.default_rng(2)
    short = read(rng, {"oat": np.zeros((4, 2))}, [source], "a", np.array([0, 1]), np.zeros(2, int), shared)["oat"]
    longer = read(rng, {"oat": np.zeros((4, 3))}, [source], "b", np.array([1, 3, 0]), np.zeros(3, int), shared)["oat"]
    np.testing.assert_array_equal(longer[:, [2, 0]], short)


def test_other_measures_other_columns_and_results_are_passed_over():
    for source in (
        ErrorSource("one", "oat", 1.0, "run", "test", measures=("static_pull",)),
        ErrorSource("one", "pull", 1.0, "run", "test"),
        ErrorSource("one", "result", 1.0, "run", "test"),
        ErrorSource("one", "oat", 0.0, "run", "test"),
    ):
        assert not errors(source).any()


def test_two_sources_of_one_column_add_in_quadrature():
    error = errors(ErrorSource("a", "oat", 0.3, "run", "test"), ErrorSource("b", "oat", 0.4, "day", "test"))
    assert error.std() == pytest.approx(0.5, rel=0.02)


def test_shipped_sources_are_readings_and_checked_ones_are_smaller_for_the_campaign():
    assert not [source for source in shipped_readings() if source.target == "result"]
    for before, after in zip(shipped_readings(), checked_readings(0.2), strict=True):
        share = 0.2 if before.scope == "campaign" else 1.0
        assert after.standard_uncertainty == pytest.approx(share * before.standard_uncertainty)


def test_ground_speeds_of_two_legs_multiply_to_the_power_of_the_point():
    # GS1 GS2 = V^2 - W^2 on reciprocal tracks (power of a point with respect to the circle of ground vectors).
    track = np.deg2rad(80.0)
    out = ground_speed(52.0, track, 9.0, np.deg2rad(130.0))
    back = ground_speed(52.0, track + np.pi, 9.0, np.deg2rad(130.0))
    assert out * back == pytest.approx(52.0**2 - 9.0**2)
    assert ground_speed(52.0, track, 9.0, track) == pytest.approx(43.0)
    assert np.isnan(ground_speed(5.0, 0.0, 9.0, np.pi / 2))
