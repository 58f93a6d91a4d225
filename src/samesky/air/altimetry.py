"""What is the static pressure, given what the altimeter or the aerodrome says?

QNH is the setting at which an altimeter on the ground reads the elevation: altimeters carry the standard atmosphere in
their works, so all of this is the ICAO Standard Atmosphere shifted (ICAO Doc 7488/3; 14 CFR Part 43 Appendix E uses
the same scale). Elevation counts as geopotential: at 1000 m the difference is 0.16 m.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.air import atmosphere
from samesky.air.limits import within

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

#: Settings [Pa] beyond any weather on record, so surely a slip of the unit.
_SETTINGS = (85000.0, 110000.0)


def pressure_altitude_from_qnh(qnh: Numbers, elevation: Numbers) -> Floats:
    """Pressure altitude [m] of a place with this elevation [m] when the altimeter setting is qnh [Pa].

    Raises ValueError for a setting outside 850 to 1100 hPa. Arrays broadcast.

    Parameters
    ----------
    qnh : altimeter setting [Pa], 85000 to 110000
    elevation : elevation of the place [m]

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.

    Examples
    --------
    >>> round(float(pressure_altitude_from_qnh(101325.0, 300.0)), 6)
    300.0
    """
    qnh = within("altimeter setting", qnh, *_SETTINGS, "Pa")
    return np.asarray(elevation, dtype=float) + atmosphere.pressure_altitude(qnh)


def static_pressure(qnh: Numbers, elevation: Numbers) -> Floats:
    """Static pressure [Pa] at an elevation [m] when the altimeter setting is qnh [Pa].

    Raises ValueError for a setting outside 850 to 1100 hPa, or beyond the atmosphere treated here. Arrays broadcast.

    Parameters
    ----------
    qnh : altimeter setting [Pa], 85000 to 110000
    elevation : elevation of the place [m]

    Returns
    -------
    ndarray
        [Pa], of the shape to which the parameters broadcast.
    """
    return atmosphere.pressure(pressure_altitude_from_qnh(qnh, elevation))


def qnh(pressure: Numbers, elevation: Numbers) -> Floats:
    """Altimeter setting [Pa] that makes an altimeter read the elevation [m] at this static pressure [Pa].

    Parameters
    ----------
    pressure : static pressure [Pa]
    elevation : elevation of the place [m]

    Returns
    -------
    ndarray
        [Pa], of the shape to which the parameters broadcast.
    """
    return atmosphere.pressure(atmosphere.pressure_altitude(pressure) - np.asarray(elevation, dtype=float))
