"""Loads in a restraint, against scipy's integration of the motion and against statics by vectors."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from samesky.instruments import restraint
from samesky.published import registry


@pytest.mark.parametrize(("slack", "stiffness"), [(0.0, 8e3), (0.3, 8e3), (0.3, 80e3)])
def test_peak_load_against_the_equation_of_motion(slack, stiffness):
    mass, pull = 535.0, 1830.0

    def motion(_, state):
        return [state[1], (pull - stiffness * max(state[0] - slack, 0.0)) / mass]

    seen = solve_ivp(motion, (0.0, 6.0), [0.0, 0.0], max_step=2e-3, rtol=1e-9, atol=1e-9)
    peak = stiffness * (seen.y[0].max() - slack)
    assert restraint.peak_load(pull, stiffness, slack) == pytest.approx(peak, rel=1e-4)


def test_a_line_just_taut_sees_twice_the_pull_however_stiff():
    np.testing.assert_allclose(restraint.peak_load(1000.0, np.array([1e3, 1e5])), 2000.0)


def test_stored_energy_is_the_area_under_the_line():
    stretch = np.linspace(0, 1500.0 / 8e3, 1001)
    assert restraint.stored_energy(1500.0, 8e3) == pytest.approx(np.trapezoid(8e3 * stretch, stretch))


def test_legs_and_slopes_add_up_as_vectors():
    angle = np.radians(25.0)
    legs = restraint.leg_load(1000.0, angle) * np.array(
        [[np.cos(angle), np.sin(angle)], [np.cos(angle), -np.sin(angle)]]
    )
    np.testing.assert_allclose(legs.sum(axis=0), [1000.0, 0.0], atol=1e-9)
    assert restraint.line_load(1000.0, angle, 100.0) * np.cos(angle) + 100.0 == pytest.approx(1000.0)


def test_free_wheels_hold_weight_times_the_printed_friction():
    # rows T5-054 and T5-055: 0.02 on asphalt, 0.04 on hard turf; 535 kg weigh 5246.6 N
    held = restraint.rolling_resistance(535.0, [registry.row("T5-054").value, registry.row("T5-055").value])
    np.testing.assert_allclose(held, [104.93, 209.86], rtol=1e-4)
