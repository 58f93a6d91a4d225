"""Airspeeds against Gracey's water-manometer constants, NACA Report 1135 and worked examples.

Every row of the topic is checked, or listed below with the reason why not.
"""

from __future__ import annotations

import re

import numpy as np
import pytest
from printed_rows import FT, KT, account, agrees, numbers

from samesky.air import airspeed, atmosphere, constants
from samesky.published import registry
from samesky.units import to_si

TOPIC = "airspeed"
#: Water at 20 degC, as Gracey's Table A27 has it (T3-031): 998.207 kg/m^3.
INCH_OF_WATER = 998.207 * constants.G0 * 0.0254
PSF, RANKINE = 47.880258980336, 5 / 9


def manometer(printed: registry.Printed) -> float:
    value, unit = re.search(r"= ([\d.]+) (kt|mph)", printed.inputs).groups()
    qc = float(airspeed.impact_pressure(to_si(float(value), unit, "speed")))
    return qc / INCH_OF_WATER * (25.4 if printed.unit.startswith("mm") else 1)


def total_ratio(printed: registry.Printed) -> float:
    """Static over stagnation pressure, density or speed of sound at the row's Mach number."""
    (mach,) = numbers(printed.inputs)
    pressure = 1e5 / (1e5 + float(airspeed.impact_pressure_from_mach(mach, 1e5)))
    temperature = pressure ** (2 / 7)  # isentropic, gamma 1.4
    if "density" in printed.quantity:
        return pressure / temperature
    return pressure if "pressure" in printed.quantity else temperature**0.5


def true_airspeed(printed: registry.Printed) -> float:
    cas, feet = numbers(printed.inputs)
    H = feet * FT
    return float(airspeed.cas_to_tas(cas * KT, atmosphere.pressure(H), atmosphere.temperature(H))) / KT


def incompressible(density: float) -> float:
    return (2 * (1818 - 1761) * PSF / density) ** 0.5 / FT


WORKED = {
    "T3-029": lambda: constants.A0 / KT,
    "T3-031": lambda: constants.P0 / INCH_OF_WATER,
    # The constants of the lecture notes' formula: (gamma - 1)/2, a0 in kt, and the two exponents.
    "T3-040": lambda: (airspeed._HALF, constants.A0 / KT, airspeed._POWER, 1 / airspeed._POWER),
    "T3-041": lambda: incompressible(1761 * PSF / (constants.R_AIR * 505 * RANKINE)),
    "T3-042": lambda: incompressible(constants.RHO0),
}
KINDS = {"impact pressure": manometer, "ratio": total_ratio, "true airspeed (synthetic": true_airspeed}
BY_KIND = {
    printed.id: (lambda printed=printed, compute=compute: compute(printed))
    for printed in registry.rows(TOPIC)
    for key, compute in KINDS.items()
    if key in printed.quantity
}
CHECKED = {**BY_KIND, **WORKED}
NOT_HERE = {"T3-045": "its inputs are not printed with it ('same' as a row that is not here); from memory"}


def test_every_row_is_accounted_for():
    account(TOPIC, CHECKED, NOT_HERE)


@pytest.mark.parametrize("id", CHECKED)
def test_printed_row(id):
    agrees(id, CHECKED[id])


def test_lecture_formula_of_the_cas_to_mach_relation():
    """T3-040 as printed, with p0/p in front (see its note), gives our Mach number to the print's own rounding."""
    a, b, c, d = registry.row("T3-040").numbers
    delta = 0.7
    theirs = (5 * (((1 / delta) * ((1 + a * (150 / b) ** 2) ** c - 1) + 1) ** d - 1)) ** 0.5
    assert airspeed.cas_to_mach(150 * KT, delta * constants.P0) == pytest.approx(theirs, rel=1e-3)


@pytest.mark.parametrize("feet", [0.0, 3000.0, 10000.0, 40000.0])
def test_there_and_back(feet):
    cas = np.linspace(0.0, 120.0, 241)
    p, T = atmosphere.pressure(feet * FT), atmosphere.temperature(feet * FT)
    rho = p / (constants.R_AIR * T)
    np.testing.assert_allclose(airspeed.calibrated_airspeed(airspeed.impact_pressure(cas)), cas, atol=1e-6)
    np.testing.assert_allclose(airspeed.tas_to_cas(airspeed.cas_to_tas(cas, p, T), p, T), cas, atol=1e-6)
    np.testing.assert_allclose(airspeed.eas_to_cas(airspeed.cas_to_eas(cas, p), p), cas, atol=1e-6)
    np.testing.assert_allclose(airspeed.mach_to_cas(airspeed.cas_to_mach(cas, p), p), cas, atol=1e-6)
    by_eas = airspeed.eas_to_tas(airspeed.cas_to_eas(cas, p), rho)
    np.testing.assert_allclose(by_eas, airspeed.cas_to_tas(cas, p, T), rtol=2e-8)
    np.testing.assert_allclose(airspeed.tas_to_eas(by_eas, rho), airspeed.cas_to_eas(cas, p), rtol=1e-12)


def test_all_airspeeds_are_one_at_sea_level():
    cas = np.linspace(1.0, 300.0, 300)
    np.testing.assert_allclose(airspeed.cas_to_tas(cas, constants.P0, constants.T0), cas, rtol=1e-9)
    np.testing.assert_allclose(airspeed.cas_to_eas(cas, constants.P0), cas, rtol=1e-9)


def test_slow_airspeeds_approach_half_rho_v_squared():
    """Bernoulli (definition): within M^2/4 of it."""
    cas = np.array([5.0, 20.0, 40.0])
    q = constants.RHO0 * cas**2 / 2
    np.testing.assert_allclose(airspeed.impact_pressure(cas) / q - 1, (cas / constants.A0) ** 2 / 4, rtol=0.05)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: airspeed.cas_to_tas(-1.0, 1e5, 288.0), "calibrated airspeed -1 m/s is outside 0 to 340.294 m/s"),
        (lambda: airspeed.cas_to_tas(50.0, 1013.25, 288.0), "static pressure 1013.25 Pa is outside"),
        (lambda: airspeed.cas_to_tas(50.0, 1e5, 15.0), "temperature 15 K is outside"),
        (lambda: airspeed.calibrated_airspeed(1e5), "impact pressure 100000 Pa is outside 0 to"),
        (lambda: airspeed.mach_to_cas(1.2, 1e5), "Mach number 1.2 1 is outside 0 to 1"),
        (lambda: airspeed.cas_to_tas(50.0, 1e5, 401.0), "temperature 401 K is outside 150 to 400 K"),
        (lambda: airspeed.cas_to_tas(50.0, 180_001.0, 288.0), "static pressure 180001 Pa is outside 5000 to 180000 Pa"),
        (lambda: airspeed.eas_to_cas([50.0, -1.0], 1e5), "equivalent airspeed -1 m/s is outside 0 to 340.294 m/s"),
        (lambda: airspeed.eas_to_tas(341.0, 1.2), "equivalent airspeed 341 m/s is outside 0 to 340.294 m/s"),
        (lambda: airspeed.eas_to_tas(50.0, 0.04), "density 0.04 kg/m.3 is outside 0.05 to 2 kg"),
        (lambda: airspeed.tas_to_eas(50.0, 2.1), "density 2.1 kg/m.3 is outside 0.05 to 2 kg"),
        (lambda: airspeed.tas_to_eas(501.0, 1.2), "true airspeed 501 m/s is outside 0 to 500 m/s"),
        (lambda: airspeed.tas_to_mach(-1.0, 288.0), "true airspeed -1 m/s is outside 0 to 500 m/s"),
        (lambda: airspeed.mach_to_cas(-0.1, 1e5), "Mach number -0.1 1 is outside 0 to 1"),
        (lambda: airspeed.cas_to_tas(50.0, 1e5, 149.0), "temperature 149 K is outside 150 to 400 K"),
    ],
)
def test_out_of_range_names_the_range(call, words):
    with pytest.raises(ValueError, match=words):
        call()
