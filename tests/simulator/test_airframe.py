"""Drag, ground effect and friction against printed tables and textbook aeroplanes."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.air.constants import RHO0
from samesky.published import registry
from samesky.simulator.aeroplane.airframe import ROLLING_FRICTION, Airframe, ground_effect

FOOT, POUND = 0.3048, 4.4482216152605


@pytest.mark.parametrize(
    ("identity", "height_over_span"),
    [("G005", 0.05), ("G015", 0.15), ("G020", 0.20), ("G030", 0.30), ("G050", 0.50), ("K01", 1.83 / 16.25)],
)
def test_ground_effect_factor(identity, height_over_span):
    assert registry.check(identity, ground_effect(height_over_span)).agrees


def test_ground_effect_of_a_business_jet():
    # J. D. Anderson, Aircraft Performance and Design (1999), Example 6.6: h = 5.6 ft, b = 75 ft.
    assert registry.check("T5-030", ground_effect(5.6 / 75)).agrees


def test_best_glide_of_a_textbook_aeroplane():
    # J. D. Anderson, Introduction to Flight, ch. 6, CP-1: (L/D)max = 13.62 from CD0 0.025, e 0.8, b 10.912 m, S
    # 16.165 m^2.
    frame = Airframe(wing_area=16.165, span=10.912, oswald=0.8, zero_lift_drag=0.025)
    speeds = np.linspace(20, 80, 20001)
    best = np.max(13127.5 / frame.drag(RHO0, speeds, 13127.5))
    # The book reads both off graphs; the polar itself gives 13.61 and 12.79.
    assert best == pytest.approx(registry.row("A02").value, abs=0.02)
    # (CL^1.5/CD)max is where the power for level flight is least: P = W sqrt(2 W/(rho S)) / that.
    least_power = np.min(speeds * frame.drag(RHO0, speeds, 13127.5))
    most = 13127.5 * np.sqrt(2 * 13127.5 / (RHO0 * 16.165)) / least_power
    assert most == pytest.approx(registry.row("A03").value, abs=0.02)


def test_drag_polar_of_a_four_seat_textbook_aeroplane():
    # J. T. Lowry, composites G and H: G = rho S CD0/2, H = 2 W^2/(rho S pi e A), sea level, 2,400 lbf.
    area = 174 * FOOT**2
    frame = Airframe(wing_area=area, span=np.sqrt(7.38 * area), oswald=0.72, zero_lift_drag=0.037)
    speed = 60.0
    both = frame.drag(RHO0, speed, 2400 * POUND)
    parasite = 0.5 * RHO0 * speed**2 * area * 0.037
    assert parasite / speed**2 / POUND * FOOT**2 == pytest.approx(registry.row("L_Gc").value, rel=2e-4)
    induced = (both - parasite) * speed**2 / POUND / FOOT**2
    assert induced == pytest.approx(registry.row("L_Hc").value, rel=2e-4)


def test_rolling_friction_lies_in_the_printed_range():
    # McCormick, ch. 7: 0.02 (hard, dry) to 0.1 (moderately tall grass), row K10; Mason's table, row K11.
    assert min(ROLLING_FRICTION.values()) == 0.02
    assert max(ROLLING_FRICTION.values()) == 0.10
    assert ROLLING_FRICTION["short dry grass"] == 0.05
    assert ROLLING_FRICTION["hard turf"] == 0.04


def test_stalling_speed_of_the_baseline():
    # 36.1 kt at 540 kg from the lift equation by hand: sqrt(2 * 540 * 9.80665/(1.225 * 12.5 * 2.0)) = 18.6 m/s.
    assert Airframe().stalling_speed(540.0, 2.0, RHO0) == pytest.approx(18.596, abs=1e-3)
