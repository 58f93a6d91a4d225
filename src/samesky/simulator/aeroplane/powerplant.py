"""At what speed do engine and propeller agree, and with what thrust?

Fixed pitch: the torque of the engine, c0 + c1 n + c2 n^2, equals that of the propeller, C_P(J) rho n^2 D^5/(2 pi). With
the cubic shape of C_P both sides times n make a cubic in n, solved by Newton steps from a guess within two per cent:
four steps reach rounding. Above the engine's limit the pilot throttles back: the speed stays at the limit.

Constant speed: the governor sets the pitch that absorbs the engine's torque at the governed speed; where even the
finest pitch is too much, the propeller stands on its fine stop and turns slower, as one of fixed pitch.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.simulator.aeroplane.engine import Engine
from samesky.simulator.aeroplane.propeller import PITCH_EXPONENTS, POWER_SHAPE, THRUST_SHAPE, Propeller, cubic
from samesky.simulator.values import Value

#: Newton stops where no speed moves by more than this fraction.
TOLERANCE = 1e-11
MOST_STEPS = 60


@dataclass(frozen=True, slots=True)
class Drive:
    """Engine and propeller in one air, ready to be asked at many airspeeds.

    ``torque`` are c0, c1, c2 at the propeller shaft; ``density`` [kg/m^3]; ``speed_limit`` [rev/s] of the propeller.
    """

    propeller: Propeller
    torque: tuple[Value, Value, Value]
    density: Value
    speed_limit: Value

    def at(self, airspeed: Value, guess: Value | None = None) -> tuple[Value, Value]:
        """Thrust [N] and propeller speed [rev/s] at true ``airspeed`` [m/s]; ``guess`` [rev/s] saves steps."""
        propeller = self.propeller
        if propeller.governed_speed is not None:
            return self._governed(airspeed)
        n = np.minimum(_balanced_speed(propeller, self.torque, self.density, airspeed, guess), self.speed_limit)
        return self._thrust(propeller, airspeed, n), n

    def shaft_power(self, airspeed: Value, speed: Value) -> Value:
        """Power [W] that a fixed-pitch propeller absorbs at ``airspeed`` [m/s] and propeller ``speed`` [rev/s]."""
        advance = airspeed / (speed * self.propeller.diameter)
        coefficient = self.propeller.power_coefficient(advance)
        return coefficient * self.density * speed**3 * self.propeller.diameter**5

    def _thrust(self, propeller: Propeller, airspeed: Value, n: Value) -> Value:
        x = airspeed / (n * (propeller.diameter * propeller.zero_thrust_advance_ratio))
        level = propeller.static_thrust_coefficient * self.density * propeller.diameter**4
        return level * np.square(n) * cubic(THRUST_SHAPE, x)

    def _governed(self, airspeed: Value) -> tuple[Value, Value]:
        base, governed = self.propeller, min(self.propeller.governed_speed, np.min(self.speed_limit))
        c0, c1, c2 = self.torque
        wanted = 2 * np.pi * (c0 + (c1 + c2 * governed) * governed) / (self.density * governed**2 * base.diameter**5)
        pitch = _pitch_for(base, wanted, airspeed / (governed * base.diameter))
        fine_stop = base.pitch_range[0]
        n = np.broadcast_to(np.float64(governed), np.shape(pitch))
        if np.any(pitch <= fine_stop):
            stopped = base.repitched(fine_stop)
            slow = _balanced_speed(stopped, self.torque, self.density, airspeed, None)
            n = np.where(pitch <= fine_stop, np.minimum(slow, governed), n)
        return self._thrust(base.repitched(pitch), airspeed, n), n


def drive(engine: Engine, propeller: Propeller, density: Value, air_ratio: Value, throttle: str = "full") -> Drive:
    """Engine and propeller coupled in air of ``density`` [kg/m^3] where the engine gives ``air_ratio`` of its power.

    ``throttle`` is ``"full"`` or ``"idle"``; at idle a governed propeller lies on its fine stop.
    Raises ValueError for any other word.
    """
    if throttle == "full":
        return Drive(propeller, engine.full_throttle(air_ratio), density, engine.speed_limit / engine.gear_ratio)
    if throttle != "idle":
        raise ValueError(f"throttle {throttle!r}: expected 'full' or 'idle'")
    if propeller.governed_speed is not None:
        stopped = propeller.repitched(propeller.pitch_range[0])
        propeller = Propeller(
            stopped.diameter,
            stopped.static_thrust_coefficient,
            stopped.static_power_coefficient,
            stopped.zero_thrust_advance_ratio,
        )
    return Drive(propeller, engine.idling(), density, engine.speed_limit / engine.gear_ratio)


def _balanced_speed(
    propeller: Propeller, torque: tuple[Value, Value, Value], density: Value, airspeed: Value, guess: Value | None
) -> Value:
    """Propeller speed [rev/s] at which engine and propeller torque agree (fixed pitch)."""
    c0, c1, c2 = torque
    k = propeller.static_power_coefficient * density * propeller.diameter**5 / (2 * np.pi)
    u = airspeed / (propeller.diameter * propeller.zero_thrust_advance_ratio)
    _, p1, p2, p3 = POWER_SHAPE
    a3, a2, a1, a0 = c2 - k, c1 - k * p1 * u, c0 - k * p2 * u * u, -k * p3 * u * u * u
    if guess is None:
        static = (c1 + np.sqrt(c1 * c1 - 4 * (c2 - k) * c0)) / (2 * (k - c2))
        r = u / static
        guess = static * (1 + r * (0.09 + 0.16 * r * r))
    n = np.asarray(guess, dtype=float)
    for _ in range(MOST_STEPS):
        value = ((a3 * n + a2) * n + a1) * n + a0
        slope = (3 * a3 * n + 2 * a2) * n + a1
        step = value / slope
        n = n - step
        if np.all(np.abs(step) <= TOLERANCE * n):
            return n
    raise ArithmeticError("engine and propeller find no common speed: the airspeed or the propeller is out of range")


def _pitch_for(base: Propeller, wanted: Value, advance_ratio: Value) -> Value:
    """Pitch ratio at which the propeller's power coefficient is ``wanted`` at ``advance_ratio``, within its stops."""
    low, high = (np.full(np.broadcast_shapes(np.shape(wanted), np.shape(advance_ratio)), q) for q in base.pitch_range)
    _, power_exponent, advance_exponent = PITCH_EXPONENTS
    for _ in range(48):
        q = 0.5 * (low + high)
        x = advance_ratio / (base.zero_thrust_advance_ratio * q**advance_exponent)
        absorbed = base.static_power_coefficient * q**power_exponent * cubic(POWER_SHAPE, x)
        too_fine = absorbed < wanted
        low, high = np.where(too_fine, q, low), np.where(too_fine, high, q)
    # A pitch pressed against the fine stop is reported as the stop itself.
    q = 0.5 * (low + high)
    return np.where(q - base.pitch_range[0] < 1e-9, base.pitch_range[0], q)
