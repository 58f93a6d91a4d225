"""What air does the simulated aeroplane fly in?

Moist air as an ideal-gas mixture, rho = p (1 - 0.378 x_v)/(R T), with the mole fraction of vapour x_v kept constant
with height; against CIPM-2007 the compressibility (0.04 %) is left out, which cancels in every ratio. Airspeeds:
calibrated is taken as equivalent (0.08 % apart at
120 kt and 5,000 ft, 0.03 % at 100 kt and 2,000 ft, alike in all runs).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.air.atmosphere import pressure as standard_pressure
from samesky.air.atmosphere import temperature as standard_temperature
from samesky.air.constants import R_AIR, RHO0
from samesky.simulator.values import Value


@dataclass(frozen=True, slots=True)
class Ambient:
    """Air at one place: ``temperature`` [K], static ``pressure`` [Pa], mole fraction of water ``vapour``."""

    temperature: Value
    pressure: Value
    vapour: Value = 0.0

    @property
    def density(self) -> Value:
        """[kg/m^3]."""
        return self.pressure * (1 - 0.378 * self.vapour) / (R_AIR * self.temperature)

    def at_pressure_altitude(self, base: Value, altitude: Value) -> Ambient:
        """The air of the same mass at pressure ``altitude`` [m], when this is the air at ``base`` [m].

        Deviation from the standard temperature and vapour fraction stay constant with height.
        """
        deviation = self.temperature - standard_temperature(base)
        return Ambient(standard_temperature(altitude) + deviation, standard_pressure(altitude), self.vapour)


def standard(pressure_altitude: Value = 0.0) -> Ambient:
    """Dry standard air at a pressure altitude [m]."""
    return Ambient(standard_temperature(pressure_altitude), standard_pressure(pressure_altitude))


def true_airspeed(calibrated: Value, density: Value) -> Value:
    """True airspeed [m/s] from calibrated airspeed [m/s] in air of ``density`` [kg/m^3]."""
    return calibrated * np.sqrt(RHO0 / density)


def calibrated_airspeed(true: Value, density: Value) -> Value:
    """Calibrated airspeed [m/s] from true airspeed [m/s] in air of ``density`` [kg/m^3]."""
    return true * np.sqrt(density / RHO0)
