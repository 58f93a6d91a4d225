"""What does the simulated propeller do with the air it meets?

Thrust and power coefficients against advance ratio, C_T(J) and C_P(J). The *shape* of both curves is a cubic fitted to
open wind-tunnel data of a two-blade 9 x 6.75 in research model near 5,000 rpm (Deters, Ananda and Selig, "Reynolds
Number Effects on the Performance of Small-Scale Propellers", AIAA 2014-2151, 2014). The *levels* are this project's
own: a small model runs at a Reynolds number where the static thrust coefficient still moves by a fifth, so its levels
say nothing about a full-size propeller.

The effect of pitch follows two and three open models of different pitch (Brandt and Selig, AIAA 2011-1255, 2011):
C_T0 ~ q^0.33, C_P0 ~ q^0.78, J_0 ~ q^0.75 with q the pitch over the pitch of the baseline. It is weak
evidence, meant for changes of a few per cent; the constant-speed propeller stretches it to half and double.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from samesky.simulator.values import Value

#: Cubics of x = J/J_0, constant term first: C_T/C_T0 and C_P/C_P0.
THRUST_SHAPE = (1.0, -0.2402, -0.9789, 0.2183)
POWER_SHAPE = (1.0, -0.2280, 0.3435, -0.9578)

#: Exponents of the pitch ratio in C_T0, C_P0 and J_0.
PITCH_EXPONENTS = (0.33, 0.78, 0.75)


@dataclass(frozen=True, slots=True)
class Propeller:
    """A propeller, or an array of propellers.

    Attributes
    ----------
    diameter : [m]
    static_thrust_coefficient, static_power_coefficient : C_T0, C_P0 at J = 0
    zero_thrust_advance_ratio : J_0, where the thrust vanishes
    governed_speed : [rev/s] of the propeller where a governor holds it; None for fixed pitch
    pitch_range : smallest and largest pitch ratio q that a governor can set
    """

    diameter: Value = 1.75
    static_thrust_coefficient: Value = 0.142
    static_power_coefficient: Value = 0.086
    zero_thrust_advance_ratio: Value = 1.05
    governed_speed: float | None = None
    pitch_range: tuple[float, float] = (0.6, 2.5)

    def thrust_coefficient(self, advance_ratio: Value) -> Value:
        """C_T at advance ratio J."""
        return self.static_thrust_coefficient * cubic(THRUST_SHAPE, advance_ratio / self.zero_thrust_advance_ratio)

    def power_coefficient(self, advance_ratio: Value) -> Value:
        """C_P at advance ratio J."""
        return self.static_power_coefficient * cubic(POWER_SHAPE, advance_ratio / self.zero_thrust_advance_ratio)

    def efficiency(self, advance_ratio: Value) -> Value:
        """Useful power over shaft power, J C_T / C_P."""
        return advance_ratio * self.thrust_coefficient(advance_ratio) / self.power_coefficient(advance_ratio)

    def repitched(self, ratio: Value) -> Propeller:
        """The same propeller with its pitch multiplied by ``ratio``."""
        thrust, power, advance = PITCH_EXPONENTS
        return replace(
            self,
            static_thrust_coefficient=self.static_thrust_coefficient * ratio**thrust,
            static_power_coefficient=self.static_power_coefficient * ratio**power,
            zero_thrust_advance_ratio=self.zero_thrust_advance_ratio * ratio**advance,
        )

    def with_thrust(self, factor: Value) -> Propeller:
        """The same propeller giving ``factor`` times the thrust for the same torque."""
        return replace(self, static_thrust_coefficient=self.static_thrust_coefficient * factor)

    def resized(self, factor: Value) -> Propeller:
        """The same propeller with its diameter multiplied by ``factor``, blade angles kept."""
        return replace(self, diameter=self.diameter * factor)


def cubic(coefficients: tuple[float, float, float, float], x: Value) -> Value:
    """A cubic polynomial of x, constant term first."""
    c0, c1, c2, c3 = coefficients
    return ((c3 * x + c2) * x + c1) * x + c0


def ideal_efficiency(thrust: Value, speed: Value, diameter: Value, density: Value) -> Value:
    """Ideal (actuator-disc) efficiency of a propeller that gives ``thrust`` [N] at ``speed`` [m/s].

    2 / (1 + sqrt(1 + T / (rho A V^2 / 2))), Rankine-Froude momentum theory; an upper bound for any propeller.
    """
    disc_area = np.pi * np.square(diameter) / 4
    loading = thrust / (0.5 * density * disc_area * np.square(speed))
    return 2 / (1 + np.sqrt(1 + loading))
