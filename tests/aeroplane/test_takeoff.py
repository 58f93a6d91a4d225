"""Closed forms of the take-off against worked examples (registry, air topic 5 and propeller topic 6)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from samesky.aeroplane import takeoff
from samesky.published.registry import check, row


def agrees(row_id, computed):
    found = check(row_id, computed)
    assert found.agrees, found


def test_constant_acceleration():
    agrees("T5-042", float(np.floor(takeoff.constant_acceleration_time(100, 3.2))))  # printed truncated: see notes
    agrees("T5-041", float(np.floor(takeoff.constant_acceleration_roll(100, 3.2))))
    agrees("K05", float(takeoff.constant_acceleration_roll(250 / 3.6, 2.0)))


def test_square_drag_against_print_and_integration():
    roll = takeoff.roll_with_square_drag(250 / 3.6, 2.0, 4e-5)
    agrees("K06", float(roll))

    def reaches(t, y):
        return y[1] - 250 / 3.6

    reaches.terminal = True
    flown = solve_ivp(lambda t, y: [y[1], 2.0 - 4e-5 * y[1] ** 2], (0, 100), [0, 0], events=reaches, rtol=1e-10)
    assert flown.y_events[0][0][0] == pytest.approx(roll, rel=1e-7)


@pytest.mark.parametrize(
    ("row_id", "ratio"), [("G005", 0.05), ("G015", 0.15), ("G020", 0.2), ("G030", 0.3), ("G050", 0.5)]
)
def test_ground_effect(row_id, ratio):
    computed = float(takeoff.ground_effect(ratio, 1.0))
    if row_id == "G030":  # 0.9584 recomputed
        assert computed == pytest.approx(row(row_id).value, abs=5e-4)
    agrees(row_id, computed)


def test_ground_effect_of_two_transports():
    agrees("T5-030", float(takeoff.ground_effect(5.6, 75)))
    agrees("K01", float(takeoff.ground_effect(1.83, 16.25)))


def test_square_laws():
    exponent = np.log(float(takeoff.square_law_weight(1.1))) / np.log(1.1)
    agrees("T5-043", exponent)
    assert exponent == pytest.approx(2, rel=1e-12)  # the print is the whole number itself, not a rounded one
    agrees("T5-045", float(takeoff.square_law_weight(1.1)))
    agrees("T5-048", 100 * (float(takeoff.lift_off_speed_ratio(1.1)) - 1))
    agrees("T5-050", 100 * (float(takeoff.square_law_weight(1.1)) - 1))
