"""The simulator's air against the package's own air, which is held against print."""

from __future__ import annotations

import numpy as np

from samesky.air import airspeed, atmosphere, moisture
from samesky.simulator.ambient import Ambient, calibrated_airspeed, standard, true_airspeed
from samesky.simulator.motion.flights import air_of


def test_moist_density_against_cipm():
    # CIPM-2007 with its compressibility, which the ideal mixture leaves out (0.04 %).
    oat, pressure, dew_point = np.array([283.15, 293.15, 300.15]), 98_000.0, np.array([278.15, 288.15, 295.15])
    air = air_of({"oat": oat, "pressure": pressure, "dew point": dew_point})
    np.testing.assert_allclose(air.density, moisture.density(pressure, oat, dew_point), rtol=6e-4)
    dry = air_of({"oat": oat, "pressure": pressure})
    share = moisture.density(pressure, oat, dew_point) / moisture.density(pressure, oat)
    np.testing.assert_allclose(air.density / dry.density, share, rtol=1e-4)


def test_an_unknown_dew_point_is_dry():
    air = air_of({"oat": np.array([288.15]), "pressure": np.array([101325.0]), "dew point": np.array([np.nan])})
    np.testing.assert_allclose(air.density, 1.225, rtol=1e-6)


def test_standard_air_is_standard_at_any_height():
    heights = np.array([0.0, 500.0, 2000.0])
    np.testing.assert_allclose(standard(heights).density, atmosphere.density(heights), rtol=1e-6)


def test_a_warm_day_is_as_warm_above():
    above = Ambient(298.15, 101325.0, 0.01).at_pressure_altitude(0.0, 1000.0)
    np.testing.assert_allclose(above.temperature, atmosphere.temperature(1000.0) + 10.0)
    np.testing.assert_allclose(above.pressure, atmosphere.pressure(1000.0))
    assert above.vapour == 0.01


def test_airspeeds_against_the_compressible_relation():
    # Calibrated taken as equivalent: within 0.03 % at 100 kt and 2,000 ft, 0.1 % at 120 kt and 5,000 ft.
    calibrated = np.array([20.0, 40.0, 51.4])
    air = standard(609.6)
    exact = airspeed.cas_to_tas(calibrated, air.pressure, air.temperature)
    np.testing.assert_allclose(true_airspeed(calibrated, air.density), exact, rtol=3e-4)
    air = standard(1524.0)
    fast = airspeed.cas_to_tas(61.7, air.pressure, air.temperature)
    np.testing.assert_allclose(true_airspeed(61.7, air.density), fast, rtol=1e-3)
    ours = true_airspeed(calibrated, air.density)
    np.testing.assert_allclose(calibrated_airspeed(ours, air.density), calibrated, rtol=1e-12)
