"""Pressure altitude in air warmer or colder than standard, against the hydrostatic equation and printed corrections."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from samesky.air import atmosphere, warm_column

FOOT = 0.3048


@pytest.mark.parametrize("deviation", [-35.0, -15.0, 0.0, 12.0, 25.0])
def test_against_the_hydrostatic_equation(deviation):
    """dp/dZ = -g p/(R T) integrated by scipy from 300 m of pressure altitude, 250 m above the sea."""

    def fall(height, pressure):
        altitude = atmosphere.pressure_altitude(pressure[0])
        return -9.80665 * pressure / (287.05287 * (atmosphere.temperature(altitude) + deviation))

    heights = np.array([500.0, 1000.0, 3000.0])
    start = float(atmosphere.pressure(300.0))
    found = solve_ivp(fall, (250.0, 3000.0), [start], t_eval=heights, rtol=1e-10, atol=1e-6).y[0]
    ours = warm_column.pressure_altitude_at(heights, deviation, 250.0, 300.0)
    np.testing.assert_allclose(ours, atmosphere.pressure_altitude(found), atol=1e-3)


@pytest.mark.parametrize(
    ("aerodrome", "height", "printed"),
    [
        (0, 500, 30), (0, 1000, 60), (-10, 500, 50), (-10, 1000, 100), (-20, 500, 70), (-20, 1000, 140),
        (-30, 500, 100), (-30, 1000, 190), (-40, 1000, 240),
    ],
)  # fmt: skip
def test_cold_temperature_corrections(aerodrome, height, printed):
    """ICAO Doc 8168 (PANS-OPS) III-1-4, table of corrections [ft] by aerodrome temperature [degC]: from memory.

    The table is rounded up to the next 10 ft.
    """
    reads = warm_column.pressure_altitude_at(height * FOOT, aerodrome - 15.0) / FOOT
    assert math.ceil((reads - height) / 10.0 - 1e-9) * 10 == printed


def test_there_and_back():
    altitude = np.linspace(-200.0, 9000.0, 40)
    height = warm_column.height_between(altitude, 100.0, 20.0)
    np.testing.assert_allclose(warm_column.pressure_altitude_at(height, 20.0, 0.0, 100.0), altitude, atol=1e-6)


def test_one_layer_is_thick_where_the_air_is_warm():
    """dh_pressure = dh_geometric * T_standard / T for a thin layer."""
    thin = np.diff(warm_column.pressure_altitude_at(np.array([1000.0, 1000.1]), 10.0))[0]
    assert thin == pytest.approx(0.1 * (288.15 - 6.46) / (288.15 - 6.46 + 10.0), rel=1e-3)


def test_deviation():
    assert warm_column.deviation(288.15, 0.0) == pytest.approx(0.0)
    assert warm_column.deviation(290.0, 1000.0) == pytest.approx(290.0 - 281.65)


def test_refuses_what_no_day_is():
    with pytest.raises(ValueError, match="deviation"):
        warm_column.pressure_altitude_at(100.0, 90.0)
    with pytest.raises(ValueError, match="pressure altitude"):
        warm_column.height_between(12_000.0, 0.0, 0.0)
