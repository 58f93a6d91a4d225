"""How heavy is the air, moisture included?

Inside 600 to 1100 hPa and 15 to 27 degC: CIPM-2007 (A. Picard, R. S. Davis, M. Glaser, K. Fujii, Metrologia 45 (2008)
149-155, equations 1 and A1), carbon dioxide at its 400 ppm. Outside: the same mixture of gases, its compressibility and
enhancement factors frozen at the nearest edge of that range. So there is no step at the edges: a run at 14.9 degC and
one at 15.1 degC differ by their temperature only. Freezing the factors, rather than carrying the formula on beyond its
range, changes the density by less than 0.1 % from -30 to 45 degC; the paper's saturation formula, carried on over the
same temperatures, by less than 5e-6. The tests hold all three.

A perfect gas with the constant of the standard atmosphere, p/(R T), is 0.04 % lighter than CIPM-2007 says: that cancels
in every comparison. Plain SI on arrays that broadcast.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.air.constants import R_AIR
from samesky.air.limits import within
from samesky.air.saturation import enhancement, saturation_pressure

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

R_MOLAR = 8.314472  #: molar gas constant that the paper uses (CODATA 2006) [J/(mol K)]
M_AIR = 0.02896546  #: molar mass of dry air with 400 ppm of carbon dioxide [kg/mol]
M_WATER = 0.01801528  #: molar mass of water [kg/mol]
#: Compressibility factor, equation A1.4: a0 to a2, b0, b1, c0, c1, d, e.
COMPRESSIBILITY = (1.58123e-6, -2.9331e-8, 1.1043e-10, 5.707e-6, -2.051e-8, 1.9898e-4, -2.376e-6, 1.83e-11, -7.65e-9)
#: Where CIPM-2007 holds: pressure [Pa] and temperature [K].
CIPM_PRESSURE = (60000.0, 110000.0)
CIPM_TEMPERATURE = (288.15, 300.15)

_PRESSURE = (1000.0, 200000.0)
_TEMPERATURE = (193.15, 373.15)


def compressibility(pressure: Numbers, temperature: Numbers, water_fraction: Numbers) -> Floats:
    """Compressibility factor Z [1] of moist air. CIPM-2007, equation A1.4.

    ``pressure`` [Pa], ``temperature`` [K], ``water_fraction`` mole fraction of water vapour [1]; arrays broadcast.

    Parameters
    ----------
    pressure : static pressure [Pa]
    temperature : air temperature [K]
    water_fraction : mole fraction of water vapour [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    a0, a1, a2, b0, b1, c0, c1, d, e = COMPRESSIBILITY
    t = np.asarray(temperature, dtype=float) - 273.15
    x = np.asarray(water_fraction, dtype=float)
    first = np.asarray(pressure, dtype=float) / temperature
    return (
        1 - first * (a0 + t * (a1 + a2 * t) + x * (b0 + b1 * t + x * (c0 + c1 * t))) + first * first * (d + e * x * x)
    )


def density_from_fraction(pressure: Numbers, temperature: Numbers, water_fraction: Numbers) -> Floats:
    """Density [kg/m^3] of moist air with a known mole fraction of water vapour [1]. CIPM-2007, equation 1.

    Outside the formula's range the compressibility is that of the range's nearest edge (see the module).

    Parameters
    ----------
    pressure : static pressure [Pa]
    temperature : air temperature [K]
    water_fraction : mole fraction of water vapour [1]

    Returns
    -------
    ndarray
        [kg/m^3], of the shape to which the parameters broadcast.
    """
    p = within("pressure", pressure, *_PRESSURE, "Pa")
    T = within("temperature", temperature, *_TEMPERATURE, "K")
    z = compressibility(np.clip(p, *CIPM_PRESSURE), np.clip(T, *CIPM_TEMPERATURE), water_fraction)
    return p * (M_AIR / R_MOLAR) / (z * T) * (1 - (1 - M_WATER / M_AIR) * water_fraction)


def water_fraction(pressure: Numbers, dew_point: Numbers) -> Floats:
    """Mole fraction of water vapour [1] in air at a pressure [Pa] with this dew point [K]; NaN counts as dry.

    f(p, t_d) p_sv(t_d) / p, CIPM-2007 equation A1.3, the enhancement factor taken between 0 and 27 degC.

    Parameters
    ----------
    pressure : static pressure [Pa]
    dew_point : dew point over water [K]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    p = within("pressure", pressure, *_PRESSURE, "Pa")
    td = within("dew point", dew_point, *_TEMPERATURE, "K")
    factor = enhancement(np.clip(p, *CIPM_PRESSURE), np.clip(td, 273.15, CIPM_TEMPERATURE[1]))
    fraction = factor * saturation_pressure(td, "CIPM-2007") / p
    dry = np.isnan(td)
    return np.where(dry, 0.0, fraction) if dry.any() else fraction


def density(pressure: Numbers, temperature: Numbers, dew_point: Numbers | None = None) -> Floats:
    """Density [kg/m^3] of air.

    Parameters
    ----------
    pressure : static pressure [Pa], 1000 to 200000
    temperature : air temperature [K], 193.15 to 373.15
    dew_point : dew point over water [K]; None, or NaN where nothing was written, counts as dry air

    Returns
    -------
    ndarray or float
        [kg/m^3], of the shape to which the parameters broadcast. NaN where pressure or temperature is NaN.

    Raises
    ------
    ValueError
        Naming the argument that is out of range.

    Notes
    -----
    CIPM-2007 in its range, its frozen edge outside (see the module). Dew point missing: at 30 degC air dry against
    saturated is 1.6 % of density.

    Examples
    --------
    >>> round(float(density(101325.0, 293.15)), 6)
    1.204557
    """
    x = 0.0 if dew_point is None else water_fraction(pressure, dew_point)
    return density_from_fraction(pressure, temperature, x)


def virtual_temperature(temperature: Numbers, pressure: Numbers, vapour_pressure: Numbers) -> Floats:
    """Temperature [K] at which dry air would be as light as this moist air: T / (1 - (e/p) (1 - 0.622)).

    ``temperature`` [K], ``pressure`` and ``vapour_pressure`` [Pa]. US National Weather Service density-altitude sheet
    (T. Brice, T. Hall); a perfect gas mixture, so p/(R T_v) is the density by hand.

    Parameters
    ----------
    temperature : air temperature [K]
    pressure : static pressure [Pa]
    vapour_pressure : partial pressure of water vapour [Pa]

    Returns
    -------
    ndarray
        [K], of the shape to which the parameters broadcast.
    """
    ratio = np.asarray(vapour_pressure, dtype=float) / np.asarray(pressure, dtype=float)
    return np.asarray(temperature, dtype=float) / (1 - ratio * (1 - 0.622))


def density_by_hand(pressure: Numbers, temperature: Numbers, vapour_pressure: Numbers = 0.0) -> Floats:
    """Density [kg/m^3] of a perfect gas mixture, p/(R T_v): the hand calculation, 0.04 % below :func:`density`.

    Parameters
    ----------
    pressure : static pressure [Pa]
    temperature : air temperature [K]
    vapour_pressure : partial pressure of water vapour [Pa]

    Returns
    -------
    ndarray
        [kg/m^3], of the shape to which the parameters broadcast.
    """
    return np.asarray(pressure, dtype=float) / (R_AIR * virtual_temperature(temperature, pressure, vapour_pressure))
