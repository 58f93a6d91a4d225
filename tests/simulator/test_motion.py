"""Distance and time to a speed: closed forms from print, and scipy's solver."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from samesky.published import registry
from samesky.simulator.motion.equations import distance_and_time, speed_after

KMH = 1 / 3.6


def test_constant_acceleration_of_a_textbook_runway():
    # Meriam and Kraige, Engineering Mechanics: Dynamics (exercise): a = 2 m/s^2 to 250 km/h.
    distance, time = distance_and_time(lambda v: 2.0, 0.0, 250 * KMH)
    assert registry.check("K05", distance).agrees
    np.testing.assert_allclose(distance, (250 * KMH) ** 2 / 4, rtol=1e-14)
    np.testing.assert_allclose(time, 250 * KMH / 2, rtol=1e-14)


def test_drag_lengthens_the_textbook_runway():
    # Same exercise with a = 2 - 0.00004 v^2; closed form s = ln(a0/(a0 - k v^2))/(2k) = 1267.806 m.
    distance, time = distance_and_time(lambda v: 2.0 - 4e-5 * v * v, 0.0, 250 * KMH)
    assert registry.check("K06", distance).agrees
    exact = np.log(2 / (2 - 4e-5 * (250 * KMH) ** 2)) / (2 * 4e-5)
    np.testing.assert_allclose(distance, exact, rtol=1e-10)
    root = np.sqrt(4e-5 / 2)
    np.testing.assert_allclose(time, np.arctanh(250 * KMH * root) / (2 * root), rtol=1e-10)


@pytest.mark.parametrize(("identity", "wind"), [("T5-046", 0.10), ("T5-047", -0.10)])
def test_wind_at_constant_acceleration_shortens_with_the_square(identity, wind):
    # Hurt, Aerodynamics for Naval Aviators (1965), from memory: 0.81 and 1.21 for 10 % of take-off speed.
    still, _ = distance_and_time(lambda v: 1.7, 0.0, 25.0)
    windy, _ = distance_and_time(lambda v: 1.7, 0.0, 25.0 * (1 - wind))
    assert registry.check(identity, windy / still).agrees


def test_constant_acceleration_of_a_tenth_of_g():
    # H. C. Gorton, Departure Facts: 100 ft/s at 3.2 ft/s^2; the article truncates 1562.5 ft and 31.25 s.
    distance, time = distance_and_time(lambda v: 3.2, 0.0, 100.0)
    assert np.floor(distance + 1e-9) == registry.row("T5-041").value
    assert np.floor(time) == registry.row("T5-042").value


def test_agrees_with_a_step_by_step_solver_and_slows_down_too():
    def braking(v):
        return -3.0 - 0.002 * v * v

    distance, time = distance_and_time(braking, 30.0, 0.0)
    stop = lambda t, y: y[1]  # noqa: E731
    stop.terminal = True
    solution = solve_ivp(lambda t, y: (y[1], braking(y[1])), (0, 60), (0.0, 30.0), events=stop, rtol=1e-10, atol=1e-12)
    np.testing.assert_allclose(distance, solution.y[0, -1], rtol=1e-8)
    np.testing.assert_allclose(time, solution.t[-1], rtol=1e-8)


def test_a_speed_that_is_never_reached_is_not_a_number():
    distance, time = distance_and_time(lambda v: 2.0 - v * np.ones(2), 0.0, np.array([1.5, 3.0]))
    np.testing.assert_array_equal(np.isnan(distance), [False, True])
    np.testing.assert_array_equal(np.isnan(time), [False, True])


def test_speed_after_a_time_with_drag():
    a, k = 2.0, 4e-5
    expected = np.sqrt(a / k) * np.tanh(np.sqrt(a * k) * 20.0)
    np.testing.assert_allclose(speed_after(lambda v: a - k * v * v, 0.0, 20.0), expected, rtol=1e-9)
