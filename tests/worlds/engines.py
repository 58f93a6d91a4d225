"""Engines of the worlds: full-throttle torque against speed, and how it answers to pressure and temperature.

``factor`` is the torque at one speed as a share of that at sea level on a standard dry day. Laws: A, of Gagg and Ferrar
(density: 1.132 sigma - 0.132; SAE Transactions 29, 1934, from memory); B, pressure with the root of temperature (the
same height loss along pressure, charge temperature by the root as in engine test standards; common practice).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.worlds.air import P_SEA, T_SEA, Air

#: Share of the indicated power that friction takes, over the rest: 1.132 - 0.132 = 1.
FRICTION = 0.132


def law_a(air: Air):
    sigma = air.dry_pressure / P_SEA * T_SEA / air.temperature
    return (1.0 + FRICTION) * sigma - FRICTION


def law_b(air: Air):
    return ((1.0 + FRICTION) * air.dry_pressure / P_SEA - FRICTION) * np.sqrt(T_SEA / air.temperature)


def turbo(air: Air, critical=62_000.0):
    """Flat-rated: full manifold pressure down to a critical pressure [Pa], charge a little warmer on a warm day."""
    return np.minimum(1.0, air.dry_pressure / critical) * (T_SEA / air.temperature) ** 0.15


def two_stroke(air: Air):
    """Scavenged by the crankcase, little friction, rich when thin: delta^1.15 theta^-0.75 (assumed)."""
    return (air.dry_pressure / P_SEA) ** 1.15 * (T_SEA / air.temperature) ** 0.75


def electric(air: Air):
    """No air in it: a twentieth of a per cent a kelvin of winding resistance (assumed)."""
    return 1.0 - 5e-4 * (np.asarray(air.temperature) - T_SEA)


LAWS = {"A": law_a, "B": law_b, "turbo": turbo, "two-stroke": two_stroke, "electric": electric}


@dataclass(frozen=True)
class Engine:
    """Torque at the shaft Q = rated torque (1 + rise x - droop x^2), x = speed/rated - 1; gear > 1 slows the propeller.

    ``power`` [W] and ``speed`` [rev/s] rated, of the crankshaft; ``loss`` in the gear.
    """

    law: str
    power: float
    speed: float
    rise: float = -0.25
    droop: float = 0.9
    gear: float = 1.0
    loss: float = 0.0

    def torque(self, propeller_speed):
        """Torque [N m] at the propeller on a standard day at sea level, at a propeller speed [rev/s]."""
        x = propeller_speed * self.gear / self.speed - 1.0
        rated = self.power / (2.0 * np.pi * self.speed) * self.gear * (1.0 - self.loss)
        return rated * np.maximum(1.0 + self.rise * x - self.droop * x * x, 0.02)

    def factor(self, air: Air):
        """Torque at one speed as a share of that of the standard day at sea level."""
        return LAWS[self.law](air)

    def of_law(self, law: str) -> Engine:
        return replace(self, law=law)
