"""What does the standard atmosphere say at an altitude, and at which altitude does it say so?

ICAO Standard Atmosphere (Doc 7488/3, 1993; ISO 2533:1975) from -5 km to 20 km of *geopotential* altitude H, the
altitude that altimeters speak. Printed tables are indexed by geopotential or by geometric altitude;
:func:`geopotential` and :func:`geometric` take one to the other. Plain SI on arrays of any shape; NaN passes through.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.air.constants import (
    EARTH_RADIUS,
    EXPONENT,
    G0,
    GAMMA,
    H_HIGHEST,
    H_LOWEST,
    H_TROPOPAUSE,
    LAPSE_RATE,
    P0,
    P_TROPOPAUSE,
    R_AIR,
    RHO0,
    SUTHERLAND_BETA,
    SUTHERLAND_S,
    T0,
    T_TROPOPAUSE,
)
from samesky.air.limits import within

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

#: Scale height of the isothermal layer [m].
_SCALE = R_AIR * T_TROPOPAUSE / G0
_RHO_TROPOPAUSE = RHO0 * (T_TROPOPAUSE / T0) ** (EXPONENT - 1)


def _altitude(H: Numbers) -> Floats:
    return within("geopotential altitude", H, H_LOWEST, H_HIGHEST, "m")


def temperature(H: Numbers) -> Floats:
    """Standard temperature [K] at geopotential altitude H [m], -5000 to 20000.

    Raises ValueError outside the range. ICAO Doc 7488/3, eq. for the temperature layers.

    Parameters
    ----------
    H : geopotential altitude [m], -5000 to 20000

    Returns
    -------
    ndarray
        [K], of the shape to which the parameters broadcast.

    Examples
    --------
    >>> round(float(temperature(11000)), 6)
    216.65
    """
    return T0 - LAPSE_RATE * np.minimum(_altitude(H), H_TROPOPAUSE)


def _layers(H: Floats, sea_level: float, exponent: float, tropopause: float) -> Floats:
    """A power law of temperature below the tropopause, an exponential above."""
    highest = np.fmax.reduce(H, axis=None) if H.size else 0.0
    below = sea_level * (1 - (LAPSE_RATE / T0) * np.minimum(H, H_TROPOPAUSE)) ** exponent
    if highest > H_TROPOPAUSE:
        return np.where(H > H_TROPOPAUSE, tropopause * np.exp((H_TROPOPAUSE - H) / _SCALE), below)
    return below


def pressure(H: Numbers) -> Floats:
    """Standard pressure [Pa] at geopotential altitude H [m], -5000 to 20000.

    Raises ValueError outside the range. ICAO Doc 7488/3; p/p0 = (T/T0)^5.25588 to 11 km, exponential above.

    Parameters
    ----------
    H : geopotential altitude [m], -5000 to 20000

    Returns
    -------
    ndarray
        [Pa], of the shape to which the parameters broadcast.
    """
    return _layers(_altitude(H), P0, EXPONENT, P_TROPOPAUSE)


def density(H: Numbers) -> Floats:
    """Standard density [kg/m^3] at geopotential altitude H [m], -5000 to 20000.

    Raises ValueError outside the range. ICAO Doc 7488/3; rho/rho0 = (T/T0)^4.25588 to 11 km, exponential above.

    Parameters
    ----------
    H : geopotential altitude [m], -5000 to 20000

    Returns
    -------
    ndarray
        [kg/m^3], of the shape to which the parameters broadcast.
    """
    return _layers(_altitude(H), RHO0, EXPONENT - 1, _RHO_TROPOPAUSE)


_P_RANGE = (float(pressure(H_HIGHEST)), float(pressure(H_LOWEST)))
_RHO_RANGE = (float(density(H_HIGHEST)), float(density(H_LOWEST)))


def _inverse(ratio: Floats, exponent: float, at_tropopause: float) -> Floats:
    """Geopotential altitude [m] at which :func:`_layers` gives this ratio to the sea-level value."""
    below = (T0 / LAPSE_RATE) * (1 - ratio ** (1 / exponent))
    if ratio.size and np.fmin.reduce(ratio, axis=None) < at_tropopause:
        return np.where(ratio < at_tropopause, H_TROPOPAUSE - _SCALE * np.log(ratio / at_tropopause), below)
    return below


def pressure_altitude(p: Numbers) -> Floats:
    """Geopotential altitude [m] at which the standard atmosphere has the pressure p [Pa], 5475 to 177687.

    Raises ValueError outside the range. The inverse of :func:`pressure`.

    Parameters
    ----------
    p : pressure [Pa], 5475 to 177687

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.
    """
    p = within("pressure", p, *_P_RANGE, "Pa")
    return _inverse(p / P0, EXPONENT, P_TROPOPAUSE / P0)


def density_altitude(rho: Numbers) -> Floats:
    """Geopotential altitude [m] at which the standard atmosphere has the density rho [kg/m^3], 0.088 to 1.931.

    The air's density may come from dry air, p/(R T), or from :func:`samesky.air.moisture.density`.
    Raises ValueError outside the range. The inverse of :func:`density`.

    Parameters
    ----------
    rho : air density [kg/m^3], 0.088 to 1.931

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.
    """
    rho = within("density", rho, *_RHO_RANGE, "kg/m^3")
    return _inverse(rho / RHO0, EXPONENT - 1, _RHO_TROPOPAUSE / RHO0)


def geopotential(Z: Numbers) -> Floats:
    """Geopotential altitude H [m] of geometric altitude Z [m]: H = r Z / (r + Z). ICAO Doc 7488/3.

    Raises ValueError outside the range of the atmosphere treated here.

    Parameters
    ----------
    Z : geometric altitude [m], -5000 to 20063

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.
    """
    Z = within("geometric altitude", Z, H_LOWEST, 20063.2, "m")
    return EARTH_RADIUS * Z / (EARTH_RADIUS + Z)


def geometric(H: Numbers) -> Floats:
    """Geometric altitude Z [m] of geopotential altitude H [m]: Z = r H / (r - H). ICAO Doc 7488/3.

    Parameters
    ----------
    H : geopotential altitude [m], -5000 to 20000

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.
    """
    H = _altitude(H)
    return EARTH_RADIUS * H / (EARTH_RADIUS - H)


def speed_of_sound(T: Numbers) -> Floats:
    """Speed of sound [m/s] in dry air at temperature T [K]: sqrt(gamma R T). ICAO Doc 7488/3.

    Raises ValueError outside 150 to 400 K.

    Parameters
    ----------
    T : air temperature [K], 150 to 400

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.
    """
    return np.sqrt((GAMMA * R_AIR) * within("temperature", T, 150.0, 400.0, "K"))


def viscosity(T: Numbers) -> Floats:
    """Dynamic viscosity [Pa s] of air at temperature T [K], Sutherland's formula. ICAO Doc 7488/3.

    Raises ValueError outside 150 to 400 K.

    Parameters
    ----------
    T : air temperature [K], 150 to 400

    Returns
    -------
    ndarray
        [Pa s], of the shape to which the parameters broadcast.
    """
    T = within("temperature", T, 150.0, 400.0, "K")
    return SUTHERLAND_BETA * T * np.sqrt(T) / (T + SUTHERLAND_S)
