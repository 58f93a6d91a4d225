"""Engine power with density and rotational speeds (registry, air topic 8 and propeller topic 3)."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.aeroplane import engine
from samesky.air import atmosphere
from samesky.published.registry import check, row

FOOT = 0.3048
SIGMA = {"E01": 0.9711, "E02": 0.9428, "E05": 0.8617, "E08": 0.786, "E15": 0.6292}


def agrees(row_id, computed):
    found = check(row_id, computed)
    assert found.agrees, found


@pytest.mark.parametrize("row_id", SIGMA)
def test_three_forms_of_the_density_law(row_id):
    # The printed ratios were worked from unrounded densities of the standard atmosphere.
    feet = {"E01": 1000, "E02": 2000, "E05": 5000, "E08": 8000, "E15": 15000}[row_id]
    sigma = atmosphere.density(feet * FOOT) / 1.225
    assert round(float(sigma), 4) == SIGMA[row_id]
    forms = (engine.density_law(sigma), engine.drop_off_law(sigma), engine.drop_off_law(sigma, 0.12))
    agrees(row_id, tuple(float(form) for form in forms))


def test_gagg_and_ferrar():
    agrees("T8-003", float(engine.density_law(atmosphere.density(5_000 * FOOT) / 1.225)))
    agrees("T8-004", float(engine.density_law(atmosphere.density(10_000 * FOOT) / 1.225)))
    agrees("T8-005", float(1.0 - engine.density_law(0.0)))


def test_coefficients_as_printed():
    wood, gagg = row("T8-001").numbers, row("T8-002").numbers
    assert wood == pytest.approx((engine.density_law(1.0, wood[0]) + wood[1], -engine.density_law(0.0, wood[0])))
    assert gagg[:2] == pytest.approx((engine.GAGG_FERRAR_SLOPE, -engine.density_law(0.0)))
    assert 0.5 - 0.5 / gagg[2] == pytest.approx(engine.density_law(0.5), abs=3e-4)


def test_laws_agree_in_standard_air_and_part_on_a_hot_day():
    height = np.array([0.0, 500.0, 1000.0])
    delta, theta = atmosphere.pressure(height) / 101325.0, atmosphere.temperature(height) / 288.15
    assert engine.pressure_law(delta, theta) == pytest.approx(engine.density_law(delta / theta), rel=0.015)
    hot = 308.15 / 288.15
    assert engine.pressure_law(1.0, hot) > engine.density_law(1.0 / hot) + 0.03
    # Common practice: at one manifold pressure the power of a piston engine goes with 1/sqrt(T).
    assert engine.pressure_law(1.0, hot) == pytest.approx(np.sqrt(288.15 / 308.15))


def test_cube_law_and_margins():
    # E20 is read off a graph to the line's width: 2 451 for 2 453.
    assert engine.cube_law_speed(2700, 0.75) == pytest.approx(row("E20").value, abs=3)
    agrees("E24", 5262 / 4433)
    assert engine.speed_margin(5000 / 60, 5300 / 60) == pytest.approx(300 / 5300)
    assert engine.speed_margin(100.0, 96.0) < 0
    assert engine.propeller_speed(4433, 2.22) == pytest.approx(1997, abs=1)  # row T04


def test_common_practice_static_against_level_rpm():
    # Common practice: a direct-drive light engine turns about 2 300 rpm static and 2 700 in level flight.
    low, high = 1 / 1.19, 1 / 1.14
    assert low < 2300 / 2700 < high


def test_specific_consumption():
    # 18 L/h at 45 kW, a common figure for a geared engine of 75 kW: about 285 g/kWh.
    rate = engine.specific_consumption(18e-3 / 3600, 45e3, 719.0)
    assert rate * 3.6e9 == pytest.approx(287.6, abs=0.5)
