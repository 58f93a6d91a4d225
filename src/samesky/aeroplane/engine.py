"""How much power is there in this air, and at what engine speed?

Full-throttle power of a naturally aspirated piston engine at constant engine speed falls a little faster than density,
because friction does not thin with the air. Two laws bracket what a light engine does when the *temperature* changes:
the density law of Gagg and Ferrar, and a law that charges pressure in full but temperature only by its square root.
They agree along the standard atmosphere to a few tenths of a per cent near the ground and part on a hot day.

Rotational speeds are in revolutions per second.

Caution: rpm, manifold-pressure and temperature limits are those of the engine's and propeller's papers.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

#: Slope of Gagg and Ferrar's law (SAE Transactions 29 (1934) 217): P/P0 = 1.132 sigma - 0.132.
GAGG_FERRAR_SLOPE = 1.132


def density_law(density_ratio: Numbers, slope: float = GAGG_FERRAR_SLOPE) -> Floats:
    """Power over sea-level power at density ratio sigma, naturally aspirated, full throttle, one engine speed.

    R. F. Gagg and E. V. Ferrar, SAE Transactions 29 (1934) 217; ``slope`` 1.13 is K. D. Wood's round form (Technical
    Aerodynamics, 3rd ed., 1955). For the troposphere.

    Parameters
    ----------
    density_ratio : density over that of the standard air at sea level [1]
    slope : power lost per density lost [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return slope * np.asarray(density_ratio, dtype=float) - (slope - 1.0)


def drop_off_law(density_ratio: Numbers, drop_off: float = 0.117) -> Floats:
    """The same law written with the share of power that goes with density zero: (sigma - C)/(1 - C).

    C = 0.12 in J. T. Lowry, Performance of Light Aircraft (AIAA, 1999); C = 0.117 gives Gagg and Ferrar.

    Parameters
    ----------
    density_ratio : density over that of the standard air at sea level [1]
    drop_off : share C of the power at sea level that friction takes [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return (np.asarray(density_ratio, dtype=float) - drop_off) / (1.0 - drop_off)


def pressure_law(pressure_ratio: Numbers, temperature_ratio: Numbers) -> Floats:
    """Power over sea-level power at pressure and temperature ratios delta, theta: (1.132 delta - 0.132)/sqrt(theta).

    The square root of temperature is that of airworthiness practice at fixed manifold pressure (FAA AC 23-8, Appendix
    1, from memory); joining it to the pressure term of the density law is an assumption of this project.

    Parameters
    ----------
    pressure_ratio : pressure over that of the standard air at sea level [1]
    temperature_ratio : absolute temperature over 288.15 K [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return density_law(pressure_ratio) / np.sqrt(np.asarray(temperature_ratio, dtype=float))


def cube_law_speed(full_throttle_speed: Numbers, power_fraction: Numbers) -> Floats:
    """Rotational speed [as given] at a fraction of full-throttle power for a fixed-pitch propeller, as power ~ n^3.

    Holds at one advance ratio only: in level flight, where airspeed falls with power, it is an approximation.

    Parameters
    ----------
    full_throttle_speed : rotational speed at full throttle [any unit]
    power_fraction : share of the full-throttle power [1]

    Returns
    -------
    ndarray
        [unit of ``full_throttle_speed``], of the broadcast shape.
    """
    return np.asarray(full_throttle_speed, dtype=float) * np.cbrt(power_fraction)


def speed_margin(rotational_speed: Numbers, limit: Numbers) -> Floats:
    """Fraction of the limit [rev/s] that a rotational speed [rev/s] leaves; negative above the limit.

    Parameters
    ----------
    rotational_speed : rotational speed [rev/s]
    limit : highest rotational speed allowed [rev/s]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return 1.0 - np.asarray(rotational_speed, dtype=float) / limit


def propeller_speed(engine_speed: Numbers, gear_ratio: Numbers = 1.0) -> Floats:
    """Rotational speed [rev/s] of the propeller behind a reduction of ``gear_ratio`` engine turns to one.

    Parameters
    ----------
    engine_speed : rotational speed of the engine [rev/s]
    gear_ratio : engine turns to one turn of the propeller [1]

    Returns
    -------
    ndarray
        [rev/s], of the shape to which the parameters broadcast.
    """
    return np.asarray(engine_speed, dtype=float) / gear_ratio


def specific_consumption(fuel_flow: Numbers, power: Numbers, density: Numbers) -> Floats:
    """Specific fuel consumption [kg/J] of a fuel flow [m^3/s] of this density [kg/m^3] at a shaft power [W].

    Parameters
    ----------
    fuel_flow : fuel flow [m^3/s]
    power : shaft power [W]
    density : density of the fuel [kg/m^3]

    Returns
    -------
    ndarray
        [kg/J], of the shape to which the parameters broadcast.
    """
    return np.asarray(fuel_flow, dtype=float) * density / power
