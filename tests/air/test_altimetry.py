"""Altimeter settings against 14 CFR Part 43 Appendix E (Tables I and IV), through the printed rows."""

from __future__ import annotations

import numpy as np
import pytest
from printed_rows import FT, INHG, agrees

from samesky.air import altimetry, atmosphere, constants


@pytest.mark.parametrize("id", ["T1-218", "T1-219", "T1-221", "T1-224"])
def test_static_pressure_at_standard_setting(id):
    """At 1013.25 hPa the elevation is the pressure altitude (Table I)."""
    feet = {"T1-218": 500, "T1-219": 1000, "T1-221": 3000, "T1-224": 8000}[id]
    agrees(id, lambda: altimetry.static_pressure(constants.P0, feet * FT) / INHG)


@pytest.mark.parametrize(("id", "setting"), [("T1-236", 28.50), ("T1-240", 30.90), ("T1-241", 30.99)])
def test_pressure_altitude_of_a_sea_level_station(id, setting):
    """Table IV prints the reading; the pressure altitude is minus it."""
    agrees(id, lambda: -altimetry.pressure_altitude_from_qnh(setting * INHG, 0.0) / FT)


def test_worked_pressure_altitude():
    """T5-024: elevation 800 ft, 29.72 inHg, "about 1000 ft"."""
    agrees("T5-024", lambda: altimetry.pressure_altitude_from_qnh(29.72 * INHG, 800 * FT) / FT)


def test_there_and_back():
    settings, elevation = np.meshgrid(np.linspace(95000, 105000, 11), np.linspace(-100, 3000, 32))
    p = altimetry.static_pressure(settings, elevation)
    np.testing.assert_allclose(altimetry.qnh(p, elevation), settings, rtol=1e-12)
    np.testing.assert_allclose(
        atmosphere.pressure_altitude(p), altimetry.pressure_altitude_from_qnh(settings, elevation), atol=1e-6
    )


def test_a_station_at_sea_level_has_its_setting_as_pressure():
    assert altimetry.static_pressure(100300.0, 0.0) == pytest.approx(100300.0, rel=1e-12)


@pytest.mark.parametrize("setting", [1013.25, 29.92, 101.325, 200000.0])
def test_a_setting_in_the_wrong_unit_is_refused(setting):
    with pytest.raises(ValueError, match=r"altimeter setting .* Pa is outside 85000 to 110000 Pa"):
        altimetry.static_pressure(setting, 0.0)
