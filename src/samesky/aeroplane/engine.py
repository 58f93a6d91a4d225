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
    """
    return slope * np.asarray(density_ratio, dtype=float) - (slope - 1.0)


def drop_off_law(density_ratio: Numbers, drop_off: float = 0.117) -> Floats:
    """The same law written with the share of power that goes with density zero: (sigma - C)/(1 - C).

    C = 0.12 in J. T. Lowry, Performance of Light Aircraft (AIAA, 1999); C = 0.117 gives Gagg and Ferrar.
    """
    return (np.asarray(density_ratio, dtype=float) - drop_off) / (1.0 - drop_off)


def pressure_law(pressure_ratio: Numbers, temperature_ratio: Numbers) -> Floats:
    """Power over sea-level power at pressure and temperature ratios delta, theta: (1.132 delta - 0.132)/sqrt(theta).

    The square root of temperature is that of airworthiness practice at fixed manifold pressure (FAA AC 23-8, Appendix
    1, from memory); joining it to the pressure term of the density law is an assumption of this project.
    """
    return density_law(pressure_ratio) / np.sqrt(np.asarray(temperature_ratio, dtype=float))


def at_manifold_pressure(standard_temperature: Numbers, temperature: Numbers) -> Floats:
    """Power over standard power at fixed manifold pressure and engine speed: sqrt(Ts/T), temperatures [K].

    FAA AC 23-8, Appendix 1 (from memory).
    """
    return np.sqrt(np.asarray(standard_temperature, dtype=float) / temperature)


def power_from_torque(torque: Numbers, rotational_speed: Numbers) -> Floats:
    """Power [W] of a torque [N m] at a rotational speed [rev/s]: 2 pi n Q."""
    return 2.0 * np.pi * np.asarray(rotational_speed, dtype=float) * torque


def torque_from_power(power: Numbers, rotational_speed: Numbers) -> Floats:
    """Torque [N m] of a power [W] at a rotational speed [rev/s]."""
    return np.asarray(power, dtype=float) / (2.0 * np.pi * np.asarray(rotational_speed, dtype=float))


def cube_law_speed(full_throttle_speed: Numbers, power_fraction: Numbers) -> Floats:
    """Rotational speed [as given] at a fraction of full-throttle power for a fixed-pitch propeller, as power ~ n^3.

    Holds at one advance ratio only: in level flight, where airspeed falls with power, it is an approximation.
    """
    return np.asarray(full_throttle_speed, dtype=float) * np.cbrt(power_fraction)


def speed_margin(rotational_speed: Numbers, limit: Numbers) -> Floats:
    """Fraction of the limit [rev/s] that a rotational speed [rev/s] leaves; negative above the limit."""
    return 1.0 - np.asarray(rotational_speed, dtype=float) / limit


def propeller_speed(engine_speed: Numbers, gear_ratio: Numbers = 1.0) -> Floats:
    """Rotational speed [rev/s] of the propeller behind a reduction of ``gear_ratio`` engine turns to one."""
    return np.asarray(engine_speed, dtype=float) / gear_ratio


def specific_consumption(fuel_flow: Numbers, power: Numbers, density: Numbers) -> Floats:
    """Specific fuel consumption [kg/J] of a fuel flow [m^3/s] of this density [kg/m^3] at a shaft power [W]."""
    return np.asarray(fuel_flow, dtype=float) * density / power
