"""The air of the worlds: hydrostatics, gas law, vapour; anew from textbook constants, not from ``samesky.air``."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

GRAVITY = 9.80665
GAS_DRY, GAS_VAPOUR = 287.053, 461.50
P_SEA, T_SEA, RHO_SEA, LAPSE = 101_325.0, 288.15, 1.2250, 0.0065
FOOT, KNOT = 0.3048, 1852.0 / 3600.0


def standard_temperature(pressure_altitude):
    """Temperature [K] of the standard atmosphere at a pressure altitude [m] below the tropopause."""
    return T_SEA - LAPSE * np.asarray(pressure_altitude, dtype=float)


def standard_pressure(pressure_altitude):
    """Static pressure [Pa] at a pressure altitude [m]."""
    return P_SEA * (standard_temperature(pressure_altitude) / T_SEA) ** (GRAVITY / (GAS_DRY * LAPSE))


def pressure_altitude(pressure):
    """Pressure altitude [m] of a static pressure [Pa]."""
    return T_SEA / LAPSE * (1.0 - (np.asarray(pressure, dtype=float) / P_SEA) ** (GAS_DRY * LAPSE / GRAVITY))


def vapour_pressure(dew_point):
    """Partial pressure of vapour [Pa] at a dew point [K]: Bolton, Monthly Weather Review 108 (1980), Eq 10."""
    celsius = np.asarray(dew_point, dtype=float) - 273.15
    return 611.2 * np.exp(17.67 * celsius / (celsius + 243.5))


@dataclass(frozen=True)
class Air:
    """Air at one place: static pressure [Pa], temperature [K], vapour pressure [Pa]."""

    pressure: np.ndarray | float
    temperature: np.ndarray | float
    vapour: np.ndarray | float = 0.0

    @property
    def density(self):
        """Density of the moist air [kg/m3]."""
        dry = (self.pressure - self.vapour) / (GAS_DRY * self.temperature)
        return dry + self.vapour / (GAS_VAPOUR * self.temperature)

    @property
    def dry_pressure(self):
        """What burns: pressure of the dry part [Pa]."""
        return self.pressure - self.vapour

    def true(self, equivalent):
        """True airspeed [m/s] of an equivalent one."""
        return equivalent * np.sqrt(RHO_SEA / self.density)

    def equivalent(self, true):
        """Equivalent airspeed [m/s] of a true one."""
        return true * np.sqrt(self.density / RHO_SEA)


def air_at(height, off_standard=0.0, vapour=0.0) -> Air:
    """Air at a pressure altitude [m], so many kelvin warmer than standard."""
    return Air(standard_pressure(height), standard_temperature(height) + off_standard, vapour)


def calibrated(equivalent, pressure):
    """Calibrated airspeed [m/s] of an equivalent one at a static pressure [Pa]: impact pressure, gamma 1.4."""
    sound2 = 1.4 * P_SEA / RHO_SEA
    impact = pressure * ((1.0 + 0.2 * np.square(equivalent) / (sound2 * pressure / P_SEA)) ** 3.5 - 1.0)
    return np.sqrt(5.0 * sound2 * ((impact / P_SEA + 1.0) ** (1.0 / 3.5) - 1.0))
