"""How much pressure altitude is a metre of height worth, in air warmer or colder than standard?

A layer of pressure is thick where the air is warm: dZ = (T/Ts) dHp with the temperature T of the day and Ts of the
standard atmosphere at the same pressure (hydrostatic equation and law of ideal gases). The day's temperature is taken
to keep one deviation d from the standard atmosphere (ICAO Doc 7488/3) at all heights of interest, T = Ts + d, so that

    Z - Z0 = (Hp - Hp0) + (d/L) ln[(T0 - L Hp0)/(T0 - L Hp)],    L = 6.5 K/km.

Height counts as geopotential: at 1000 m the difference is 0.16 m. Dry air; moisture acts through the virtual
temperature, which the caller may give.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.air import atmosphere
from samesky.air.constants import H_TROPOPAUSE, LAPSE_RATE, T0
from samesky.air.limits import within

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

#: Fixed-point steps: each leaves less than a fifth of the error, as no day is 20 % off standard.
_STEPS = 12


def deviation(temperature: Numbers, pressure_altitude: Numbers) -> Floats:
    """Deviation [K] from the standard temperature, from the air's temperature [K] at a pressure altitude [m].

    Parameters
    ----------
    temperature : air temperature [K]
    pressure_altitude : pressure altitude [m]

    Returns
    -------
    ndarray
        [K], of the shape to which the parameters broadcast.
    """
    return np.asarray(temperature, dtype=float) - atmosphere.temperature(pressure_altitude)


def height_between(pressure_altitude: Numbers, from_pressure_altitude: Numbers, deviation: Numbers) -> Floats:
    """Height [m] from one pressure altitude [m] up to another in air of this ``deviation`` [K] from standard.

    Raises ValueError above the tropopause of the standard atmosphere (11 km). Arrays broadcast.

    Parameters
    ----------
    pressure_altitude : pressure altitude [m]
    from_pressure_altitude : pressure altitude from which the height counts [m]
    deviation : temperature of the air less that of the standard atmosphere [K]

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.

    Examples
    --------
    >>> round(float(height_between(1000.0, 0.0, -15.0)), 1)
    947.3
    """
    ends = [
        within("pressure altitude", value, -5000.0, H_TROPOPAUSE, "m")
        for value in (from_pressure_altitude, pressure_altitude)
    ]
    low, high = (T0 - LAPSE_RATE * end for end in ends)
    return ends[1] - ends[0] + np.asarray(deviation, dtype=float) / LAPSE_RATE * np.log(low / high)


def pressure_altitude_at(
    height: Numbers, deviation: Numbers, base_height: Numbers = 0.0, base_pressure_altitude: Numbers = 0.0
) -> Floats:
    """Pressure altitude [m] at a ``height`` [m], when ``base_pressure_altitude`` [m] is that of ``base_height`` [m].

    The inverse of :func:`height_between`, by fixed-point iteration to far below a millimetre. Arrays broadcast.

    Parameters
    ----------
    height : height [m]
    deviation : temperature of the air less that of the standard atmosphere [K]
    base_height : height of the base [m]
    base_pressure_altitude : pressure altitude of the base [m]

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.

    Raises
    ------
    ValueError
        Above the tropopause, or for a deviation beyond 60 K.
    """
    deviation = within("deviation from the standard temperature", deviation, -60.0, 60.0, "K")
    rise = np.asarray(height, dtype=float) - base_height
    found = base_pressure_altitude + rise
    for _ in range(_STEPS):
        found = (
            base_pressure_altitude
            + rise
            - (height_between(found, base_pressure_altitude, deviation) - (found - base_pressure_altitude))
        )
    return found
