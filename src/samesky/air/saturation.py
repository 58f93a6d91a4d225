"""How much water vapour can air hold?

Saturation vapour pressure over liquid water by several published formulas, and the way back to the dew point. All
take temperature in K and give Pa. Over water also below freezing, as dew points are reported.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.air.limits import within

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

_RANGE = (173.15, 373.15)

#: CIPM-2007 equation A1.1 (Davis 1992): A T^2 + B T + C + D/T.
CIPM = (1.2378847e-5, -1.9121316e-2, 33.93711047, -6.3431645e3)
#: CIPM-2007 equation A1.2: alpha, beta, gamma of the enhancement factor.
ENHANCEMENT = (1.00062, 3.14e-8, 5.6e-7)
#: D. Sonntag, Meteorol. Z. 3 (1994) 51-66, over water, -100 to 100 degC.
SONNTAG = (-6096.9385, 21.2409642, -2.711193e-2, 1.673952e-5, 2.433502)
#: R. W. Hyland, A. Wexler, ASHRAE Trans. 89 (1983) 500-519, over water, 0 to 200 degC.
HYLAND_WEXLER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)
#: US National Weather Service density-altitude sheet (T. Brice, T. Hall): hPa, 1, degC.
NWS = (6.11, 7.5, 237.7)


def _cipm(T: Floats) -> Floats:
    a, b, c, d = CIPM
    return np.exp(T * (a * T + b) + c + d / T)


def _sonntag(T: Floats) -> Floats:
    a, b, c, d, e = SONNTAG
    return 100 * np.exp(a / T + b - np.log(100) + T * (c + d * T) + e * np.log(T))


def _hyland_wexler(T: Floats) -> Floats:
    c8, c9, c10, c11, c12, c13 = HYLAND_WEXLER
    return np.exp(c8 / T + c9 + T * (c10 + T * (c11 + T * c12)) + c13 * np.log(T))


def _buck_1981(T: Floats) -> Floats:
    """A. L. Buck, J. Appl. Meteorol. 20 (1981) 1527-1532."""
    t = T - 273.15
    return 611.21 * np.exp(17.502 * t / (240.97 + t))


def _buck_1996(T: Floats) -> Floats:
    """Buck Research, 1996 revision of the 1981 paper."""
    t = T - 273.15
    return 611.21 * np.exp((18.678 - t / 234.5) * t / (257.14 + t))


def _goff_1957(T: Floats) -> Floats:
    """J. A. Goff 1957, as in the WMO Technical Regulations."""
    x = 273.16 / T
    exponent = (
        10.79574 * (1 - x)
        - 5.02800 * np.log10(1 / x)
        + 1.50475e-4 * (1 - 10 ** (-8.2969 * (1 / x - 1)))
        + 0.42873e-3 * (10 ** (4.76955 * (1 - x)) - 1)
        + 0.78614
    )
    return 100 * 10**exponent


def _nws(T: Floats) -> Floats:
    base, times, shift = NWS
    t = T - 273.15
    return 100 * base * 10 ** (times * t / (shift + t))


#: Formulas by name. Sonntag's is the default: one expression from -100 to 100 degC, and the nearest to CIPM-2007.
FORMULAS = {
    "Sonntag 1994": _sonntag,
    "CIPM-2007": _cipm,
    "Hyland-Wexler 1983": _hyland_wexler,
    "Buck 1981": _buck_1981,
    "Buck 1996": _buck_1996,
    "Goff 1957": _goff_1957,
    "NWS": _nws,
}


def saturation_pressure(temperature: Numbers, formula: str = "Sonntag 1994") -> Floats:
    """Saturation vapour pressure [Pa] over liquid water at a temperature [K], 173.15 to 373.15.

    ``formula`` is a key of :data:`FORMULAS`. Raises ValueError outside the range or for an unknown formula.

    Parameters
    ----------
    temperature : air temperature [K], 173.15 to 373.15
    formula : key of :data:`FORMULAS`

    Returns
    -------
    ndarray
        [Pa], of the shape to which the parameters broadcast.

    Examples
    --------
    >>> round(float(saturation_pressure(293.15)), 1)
    2339.2
    """
    if formula not in FORMULAS:
        raise ValueError(f"no saturation formula {formula!r}; there are: {', '.join(FORMULAS)}")
    return FORMULAS[formula](within("temperature", temperature, *_RANGE, "K"))


def enhancement(pressure: Numbers, temperature: Numbers) -> Floats:
    """Enhancement factor [1] of water vapour in air at pressure [Pa] and temperature [K]. CIPM-2007, equation A1.2.

    Parameters
    ----------
    pressure : static pressure [Pa]
    temperature : air temperature [K]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    alpha, beta, gamma = ENHANCEMENT
    t = np.asarray(temperature, dtype=float) - 273.15
    return alpha + beta * np.asarray(pressure, dtype=float) + gamma * t * t


def dew_point(temperature: Numbers, relative_humidity: Numbers) -> Floats:
    """Dew point [K] of air at a temperature [K] and relative humidity [1], 0.001 to 1.2.

    Newton's iteration on Sonntag's formula from Magnus's closed inverse; exact to 1e-9 K. Raises ValueError outside
    the ranges.

    Parameters
    ----------
    temperature : air temperature [K]
    relative_humidity : relative humidity [1], 0.001 to 1.2

    Returns
    -------
    ndarray
        [K], of the shape to which the parameters broadcast.
    """
    h = within("relative humidity", relative_humidity, 0.001, 1.2, "1")
    target = np.log(h * saturation_pressure(temperature))
    magnus = target - np.log(611.2)
    T = 273.15 + 243.12 * magnus / (17.62 - magnus)
    a, b, c, d, e = SONNTAG
    for _ in range(4):
        T = T - (a / T + b + T * (c + d * T) + e * np.log(T) - target) / (-a / (T * T) + c + 2 * d * T + e / T)
    return T


def relative_humidity(temperature: Numbers, dew_point: Numbers) -> Floats:
    """Relative humidity [1] of air at a temperature [K] with this dew point [K]. Sonntag's formula.

    Parameters
    ----------
    temperature : air temperature [K]
    dew_point : dew point over water [K]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return saturation_pressure(dew_point) / saturation_pressure(temperature)
