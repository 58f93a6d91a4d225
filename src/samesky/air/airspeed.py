"""How fast is the aeroplane through the air, given what its indicator says?

Compressible, subsonic relations between calibrated, equivalent and true airspeed and Mach number (W. Gracey, NASA
RP-1046, 1980, from the definition of calibrated airspeed; NACA Report 1135, 1953). Calibrated airspeed means corrected
for instrument and position error. Plain SI on arrays that broadcast; NaN passes; speeds from zero to the standard speed
of sound, else ValueError.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.air.constants import A0, GAMMA, P0, R_AIR, RHO0
from samesky.air.limits import within

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

# (gamma - 1) / 2 and gamma / (gamma - 1)
_HALF, _POWER = 0.2, 3.5


def _speed(name: str, speed: Numbers) -> Floats:
    return within(name, speed, 0.0, A0, "m/s")


def _mach(mach: Numbers) -> Floats:
    return within("Mach number", mach, 0.0, 1.0, "1")


def _pressure(pressure: Numbers) -> Floats:
    return within("static pressure", pressure, 5000.0, 180000.0, "Pa")


def _temperature(temperature: Numbers) -> Floats:
    return within("temperature", temperature, 150.0, 400.0, "K")


def impact_pressure(cas: Numbers) -> Floats:
    """Impact pressure q_c [Pa] at a calibrated airspeed [m/s]: P0 ((1 + 0.2 (cas/a0)^2)^3.5 - 1).

    W. Gracey, NASA RP-1046 (1980).

    Parameters
    ----------
    cas : calibrated airspeed [m/s], 0 to 340.3

    Returns
    -------
    ndarray
        [Pa], of the shape to which the parameters broadcast.
    """
    cas = _speed("calibrated airspeed", cas)
    return P0 * ((1 + (_HALF / A0**2) * cas * cas) ** _POWER - 1)


def calibrated_airspeed(impact_pressure: Numbers) -> Floats:
    """Calibrated airspeed [m/s] at an impact pressure [Pa], 0 to 90463: the inverse of :func:`impact_pressure`.

    Parameters
    ----------
    impact_pressure : impact pressure [Pa], 0 to 90463

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.
    """
    qc = within("impact pressure", impact_pressure, 0.0, P0 * (1.2**_POWER - 1) * (1 + 1e-12), "Pa")
    return A0 * np.sqrt(((qc / P0 + 1) ** (1 / _POWER) - 1) / _HALF)


def mach_from_impact_pressure(impact_pressure: Numbers, pressure: Numbers) -> Floats:
    """Mach number of an impact pressure [Pa] at a static pressure [Pa]. NACA Report 1135, eq. 44 solved for M.

    Parameters
    ----------
    impact_pressure : impact pressure [Pa]
    pressure : static pressure [Pa]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return np.sqrt(((np.asarray(impact_pressure, dtype=float) / _pressure(pressure) + 1) ** (1 / _POWER) - 1) / _HALF)


def impact_pressure_from_mach(mach: Numbers, pressure: Numbers) -> Floats:
    """Impact pressure [Pa] at a Mach number and a static pressure [Pa]. NACA Report 1135, eq. 44.

    Parameters
    ----------
    mach : Mach number [1], 0 to 1
    pressure : static pressure [Pa]

    Returns
    -------
    ndarray
        [Pa], of the shape to which the parameters broadcast.
    """
    mach = _mach(mach)
    return _pressure(pressure) * ((1 + _HALF * mach * mach) ** _POWER - 1)


def cas_to_mach(cas: Numbers, pressure: Numbers) -> Floats:
    """Mach number at a calibrated airspeed [m/s] and a static pressure [Pa].

    Parameters
    ----------
    cas : calibrated airspeed [m/s], 0 to 340.3
    pressure : static pressure [Pa]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return mach_from_impact_pressure(impact_pressure(cas), pressure)


def mach_to_cas(mach: Numbers, pressure: Numbers) -> Floats:
    """Calibrated airspeed [m/s] at a Mach number and a static pressure [Pa].

    Parameters
    ----------
    mach : Mach number [1], 0 to 1
    pressure : static pressure [Pa]

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.
    """
    return calibrated_airspeed(impact_pressure_from_mach(mach, pressure))


def cas_to_eas(cas: Numbers, pressure: Numbers) -> Floats:
    """Equivalent airspeed [m/s] at a calibrated airspeed [m/s] and a static pressure [Pa]: a0 M sqrt(p/P0).

    Parameters
    ----------
    cas : calibrated airspeed [m/s], 0 to 340.3
    pressure : static pressure [Pa]

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.
    """
    return A0 * cas_to_mach(cas, pressure) * np.sqrt(np.asarray(pressure, dtype=float) / P0)


def eas_to_cas(eas: Numbers, pressure: Numbers) -> Floats:
    """Calibrated airspeed [m/s] at an equivalent airspeed [m/s] and a static pressure [Pa].

    Parameters
    ----------
    eas : equivalent airspeed [m/s], 0 to 340.3
    pressure : static pressure [Pa]

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.
    """
    eas = _speed("equivalent airspeed", eas)
    return mach_to_cas(eas / (A0 * np.sqrt(_pressure(pressure) / P0)), pressure)


def cas_to_tas(cas: Numbers, pressure: Numbers, temperature: Numbers) -> Floats:
    """True airspeed [m/s] at a calibrated airspeed [m/s], static pressure [Pa] and air temperature [K]: a M.

    Parameters
    ----------
    cas : calibrated airspeed [m/s], 0 to 340.3
    pressure : static pressure [Pa]
    temperature : air temperature [K]

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.

    Examples
    --------
    >>> from samesky.air import atmosphere
    >>> H = 5000 * 0.3048
    >>> kt = 1852 / 3600
    >>> round(float(cas_to_tas(60 * kt, atmosphere.pressure(H), atmosphere.temperature(H)) / kt), 2)
    64.62
    """
    return cas_to_mach(cas, pressure) * np.sqrt((GAMMA * R_AIR) * _temperature(temperature))


def tas_to_cas(tas: Numbers, pressure: Numbers, temperature: Numbers) -> Floats:
    """Calibrated airspeed [m/s] at a true airspeed [m/s], static pressure [Pa] and air temperature [K].

    Parameters
    ----------
    tas : true airspeed [m/s]
    pressure : static pressure [Pa]
    temperature : air temperature [K]

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.
    """
    return mach_to_cas(tas_to_mach(tas, temperature), pressure)


def tas_to_mach(tas: Numbers, temperature: Numbers) -> Floats:
    """Mach number at a true airspeed [m/s] and air temperature [K].

    Parameters
    ----------
    tas : true airspeed [m/s]
    temperature : air temperature [K]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    tas = within("true airspeed", tas, 0.0, 500.0, "m/s")
    return tas / np.sqrt((GAMMA * R_AIR) * _temperature(temperature))


def eas_to_tas(eas: Numbers, density: Numbers) -> Floats:
    """True airspeed [m/s] at an equivalent airspeed [m/s] and air density [kg/m^3]: eas sqrt(rho0/rho).

    Parameters
    ----------
    eas : equivalent airspeed [m/s], 0 to 340.3
    density : air density [kg/m^3], 0.05 to 2

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.
    """
    return _speed("equivalent airspeed", eas) * np.sqrt(RHO0 / within("density", density, 0.05, 2.0, "kg/m^3"))


def tas_to_eas(tas: Numbers, density: Numbers) -> Floats:
    """Equivalent airspeed [m/s] at a true airspeed [m/s] and air density [kg/m^3]: tas sqrt(rho/rho0).

    Parameters
    ----------
    tas : true airspeed [m/s]
    density : air density [kg/m^3], 0.05 to 2

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.
    """
    tas = within("true airspeed", tas, 0.0, 500.0, "m/s")
    return tas * np.sqrt(within("density", density, 0.05, 2.0, "kg/m^3") / RHO0)
