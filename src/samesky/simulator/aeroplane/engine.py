"""How hard does the simulated engine turn?

Torque is a quadratic in engine speed, scaled with the air. Two density laws, because handbooks do not agree and a pilot
cannot know: A, Gagg and Ferrar (SAE Transactions 29, 1934), 1.132 sigma - 0.132; B, the same line in the pressure
ratio with the square root of temperature (as in propeller-aeroplane power charts: at fixed manifold pressure P ~
T^-1/2, from memory), (1.132 delta - 0.132)/sqrt(theta). At idle the throttle is nearly shut and the torque is a
falling straight line through zero at the idling speed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.air.constants import P0, RHO0, T0
from samesky.simulator.values import Value


@dataclass(frozen=True, slots=True)
class Engine:
    """A normally aspirated piston engine with a reduction gear (ratio 1 for direct drive).

    Attributes
    ----------
    peak_torque : [N m] at ``peak_torque_speed`` [rev/s of the engine] in the standard atmosphere at sea level
    torque_droop : loss of torque, as a fraction, at one rev/s away from the peak, growing with the square [s^2]
    speed_limit : [rev/s]; the pilot throttles back to it
    gear_ratio, gear_efficiency : engine speed over propeller speed, power out over power in
    density_law : ``"A"`` or ``"B"``, see the module
    power_factor : this engine's power over the type's
    idle_speed : [rev/s] at which the engine idles with no load
    idle_slope : [N m s] torque lost per rev/s above the idling speed
    specific_consumption : [kg/J] of shaft energy
    """

    peak_torque: Value = 140.11
    peak_torque_speed: Value = 4476.5 / 60
    torque_droop: float = 0.0659 / (1000.0 / 60) ** 2
    speed_limit: float = 5300.0 / 60
    gear_ratio: float = 2.22
    gear_efficiency: float = 0.98
    density_law: str = "A"
    power_factor: Value = 1.0
    idle_speed: float = 1736.0 / 60
    idle_slope: float = 1.078
    specific_consumption: float = 0.285 / 3.6e6

    def torque(self, speed: Value) -> Value:
        """Full-throttle torque [N m] at engine ``speed`` [rev/s], standard atmosphere, sea level."""
        droop = self.torque_droop * np.square(speed - self.peak_torque_speed)
        return self.power_factor * self.peak_torque * (1 - droop)

    def power(self, speed: Value) -> Value:
        """Full-throttle shaft power [W] at engine ``speed`` [rev/s], standard atmosphere, sea level."""
        return 2 * np.pi * speed * self.torque(speed)

    def full_throttle(self, air_ratio: Value) -> tuple[Value, Value, Value]:
        """Torque at the propeller shaft [N m] as c0 + c1 n + c2 n^2 of propeller speed n [rev/s]."""
        peak, droop, gear = self.peak_torque_speed, self.torque_droop, self.gear_ratio
        level = self.power_factor * self.peak_torque * air_ratio * (gear * self.gear_efficiency)
        return level * (1 - droop * peak**2), level * (2 * droop * peak * gear), level * (-droop * gear**2)

    def idling(self) -> tuple[Value, Value, Value]:
        """Torque at the propeller shaft [N m], throttle shut, as c0 + c1 n + c2 n^2."""
        gear = self.gear_ratio
        return self.idle_slope * self.idle_speed * gear, -self.idle_slope * gear**2, 0.0


def power_ratio(density_law: str, temperature: Value, pressure: Value, density: Value) -> Value:
    """Full-throttle power over that in the standard atmosphere at sea level, at the same engine speed.

    Parameters: ``density_law`` "A" or "B"; ``temperature`` [K]; static ``pressure`` [Pa]; ``density`` [kg/m^3].
    Raises ValueError for another law.
    """
    if density_law == "A":
        return 1.132 * (density / RHO0) - 0.132
    if density_law == "B":
        return (1.132 * (pressure / P0) - 0.132) * np.sqrt(T0 / temperature)
    raise ValueError(f"density law {density_law!r}: expected 'A' or 'B'")
