"""Which engine and which propeller, and what does the engine's power owe to the air?

One engine factor f, the power at the same engine speed as a share of that at sea level:

    ln f = a ln(dry pressure) + b ln(absolute temperature)

Of naturally aspirated engines two laws are known, one with density (Gagg and Ferrar: a = 1.14, b = -1.14 near the
ground) and one with pressure and the root of temperature (a = 1.14, b = -0.50); engines lie between them (carburettor,
mixture), so that b is known to some 0.3. Water vapour burns nothing: the pressure is that of the dry air. No engine
was tested for this; what is assumed says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from samesky.air.constants import G0, P0, T0

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

NATURAL, TURBO, TWO_STROKE, ELECTRIC = "normally aspirated", "turbo-normalised", "two-stroke", "electric"
#: Kinds of engine; the first is taken where none is named.
ENGINES = (NATURAL, TURBO, TWO_STROKE, ELECTRIC)
FIXED, GROUND, CONSTANT = "fixed", "ground-adjustable", "constant-speed"
#: Kinds of propeller; the first is taken where none is named.
PROPELLERS = (FIXED, GROUND, CONSTANT)

#: What is said of an engine whose power nobody can bring from one air to another.
NO_LAW = "no correction for power with altitude: keep the heights alike, and the temperatures"


@dataclass(frozen=True, slots=True)
class PowerLaw:
    """ln f = ``pressure`` ln(dry pressure) + ``temperature`` ln T, each with its standard uncertainty, and why."""

    pressure: float
    pressure_uncertainty: float
    temperature: float
    temperature_uncertainty: float
    source: str


#: The law of each kind of engine, with a propeller of fixed pitch.
LAWS = {
    NATURAL: PowerLaw(
        1.14,
        0.02,
        -0.82,
        0.30,
        "between the density law of Gagg and Ferrar (1934; -1.14 in temperature) and a law with the root of "
        "temperature (-0.50); both agree in pressure",
    ),
    TURBO: PowerLaw(
        0.0,
        0.05,
        -0.20,
        0.20,
        "assumed: flat-rated below its critical height, a little less in warm air: 0 to the root of temperature at one "
        "manifold pressure (FAA AC 23-8, Appendix 1, from memory)",
    ),
    TWO_STROKE: PowerLaw(
        0.0,
        1.20,
        0.0,
        1.00,
        f"assumed: a tuned exhaust and its jets follow no one law; {NO_LAW}. What its power may do is in the "
        "uncertainty",
    ),
    # At constant power the torque rises as thinner air lets the propeller turn faster, which is worth 1/3 of density.
    ELECTRIC: PowerLaw(
        0.20,
        0.20,
        -0.20,
        0.20,
        "assumed: a motor does not breathe; held at one torque (0) or at one power, which turns a fixed-pitch "
        "propeller faster in thin air (1/3 of density in the torque)",
    ),
}
#: A motor that turns a constant-speed propeller: one power at one speed.
ELECTRIC_CONSTANT = PowerLaw(0.0, 0.05, 0.0, 0.10, "assumed: a motor does not breathe; the same power in every air")

#: Efficiency of a propeller in the climb, and its standard uncertainty (assumed; 0.66 to 0.78 in own computations).
CLIMB_EFFICIENCY = (0.72, 0.04)
#: Share of the rated power that a fixed-pitch propeller lets the engine give in the climb, where rpm was not read.
CLIMB_SHARE = (0.90, 0.07)
#: Exponent of the engine factor in a fixed-pitch propeller's thrust in the climb, 1 + beta/2 with beta = 0.5 (1.21 to
#: 1.28 in own computations), and its standard uncertainty.
THRUST_BY_POWER, THRUST_BY_POWER_UNCERTAINTY = 1.25, 0.04
#: Thrust power over what climbing takes, where the power is not known, and what is believable of it (assumed).
EXCESS = (1.90, 0.30)
EXCESS_RANGE = (1.2, 4.0)
#: Efficiency of a propeller half of the way from climb to top speed (assumed; 0.72 to 0.77 in own computations), and
#: thrust over what accelerates there, where the power is not known (1.9 to 2.6 in own computations).
LEVEL_EFFICIENCY = (0.745, 0.04)
LEVEL_EXCESS = (2.25, 0.40)
#: Mean thrust over mean net force of a take-off roll (1.18 to 1.54 in own computations), standard uncertainty without
#: and with pull and roll measured, and what is believable of it.
ROLLING = (1.40, 0.16)
ROLLING_MEASURED = 0.08
ROLLING_RANGE = (1.1, 1.8)
#: Mean thrust of the roll over the static pull (assumed).
THRUST_LEFT = 0.87
#: n D [m/s] of a propeller that turns tied down at full throttle, where rpm or diameter is not known (assumed: tips at
#: 215 m/s).
TYPICAL_ND = 68.0
#: Static engine speed over the limit, where it was not read (assumed).
STATIC_SHARE = 0.85


@dataclass(frozen=True, slots=True)
class Known:
    """What a campaign knows of its aeroplane, SI, None where it does not know.

    Attributes
    ----------
    engine, propeller : one of :data:`ENGINES`, :data:`PROPELLERS`; None where the campaign does not say
    power : rated [W] at ``rated_speed`` [rev/s] of the engine
    climb_weight, climb_rate, climb_speed : mean mass [kg], tapeline rate [m/s] and engine speed [rev/s] of the climbs
    climb_pressure, climb_temperature : mean air of the climbs [Pa], [K]
    sky_pressure, sky_temperature : that of the common sky, where the campaign names one
    level_weight, level_acceleration, level_airspeed, level_speed : mean mass [kg], energy-corrected acceleration
        [m/s^2], mean true airspeed [m/s] and engine speed [rev/s] of the accelerations in level flight
    level_pressure, level_temperature : mean air of these [Pa], [K]
    pull : mean static pull [N]
    roll_weight, roll, lift_off : mean mass [kg], take-off roll [m] and lift-off airspeed over the ground [m/s]
    pull_speed_read : whether n D of the static pulls is known run by run
    law_stated : whether the campaign states the engine's law itself
    """

    engine: str | None = None
    propeller: str | None = None
    power: float | None = None
    rated_speed: float | None = None
    climb_weight: float | None = None
    climb_rate: float | None = None
    climb_speed: float | None = None
    climb_pressure: float | None = None
    climb_temperature: float | None = None
    sky_pressure: float | None = None
    sky_temperature: float | None = None
    level_weight: float | None = None
    level_acceleration: float | None = None
    level_airspeed: float | None = None
    level_speed: float | None = None
    level_pressure: float | None = None
    level_temperature: float | None = None
    pull: float | None = None
    roll_weight: float | None = None
    roll: float | None = None
    lift_off: float | None = None
    pull_speed_read: bool = False
    law_stated: bool = False

    @property
    def constant_speed(self) -> bool:
        """Whether the blades turn to hold the engine's speed."""
        return self.propeller == CONSTANT

    def law(self) -> PowerLaw:
        """The engine's law of power."""
        kind = self.engine or ENGINES[0]
        return ELECTRIC_CONSTANT if kind == ELECTRIC and self.constant_speed else LAWS[kind]

    def has_law(self) -> bool:
        """Whether power can be brought from one air to another."""
        return self.engine != TWO_STROKE or self.law_stated

    def excess(self) -> tuple[float, float, str]:
        """X, thrust power over weight times rate of climb, its standard uncertainty, and where it comes from.

        In the air of the common sky; where that is not the mean of the climbs, brought there by
        rate = X (thrust power) - (X - 1) (drag power).

        efficiency x power x engine factor / (weight x rate). A rated power is given at the rated engine speed: with
        torque nearly level, less of it is there at the climb's.

        Returns
        -------
        tuple
            X [1], its standard uncertainty [1], and where it comes from.
        """
        if self.power is None or self.climb_weight is None or self.climb_rate is None or self.climb_rate <= 0.0:
            return (*EXCESS, "assumed, as [engine] power, weight or rate of climb is not known")
        efficiency, spread = CLIMB_EFFICIENCY
        share, doubt = (1.0, 0.05) if self.constant_speed else CLIMB_SHARE
        if self.climb_speed is not None and self.rated_speed is not None:
            share, doubt = min(self.climb_speed / self.rated_speed, 1.05), 0.0
        law = self.law()
        left = float(engine_factor(law, self.climb_pressure or P0, self.climb_temperature or T0))
        found = efficiency * self.power * share * left / (self.climb_weight * G0 * self.climb_rate)
        found = self._in_the_sky(found, left)
        if not EXCESS_RANGE[0] <= found <= EXCESS_RANGE[1]:
            return (
                *EXCESS,
                f"assumed, as [engine] power and the rate of climb give {found:.1f}, which is hard to believe",
            )
        u = found * float(np.hypot(spread / efficiency, doubt / share))
        return found, u, "from the entered power, the weight and the measured rate of climb, propeller efficiency 0.72"

    def level_excess(self) -> tuple[float, float, str]:
        """X of an acceleration in level flight, its standard uncertainty, and where it comes from.

        Thrust over mass times acceleration: efficiency x power x engine factor / (mass x acceleration x airspeed).

        Returns
        -------
        tuple
            X [1], its standard uncertainty [1], and where it comes from.
        """
        power, weight, gain, airspeed = self.power, self.level_weight, self.level_acceleration, self.level_airspeed
        if power is None or weight is None or gain is None or airspeed is None or not gain > 0.0:
            return (*LEVEL_EXCESS, "assumed, as [engine] power, weight or the acceleration is not known")
        efficiency, spread = LEVEL_EFFICIENCY
        share, doubt = (1.0, 0.05) if self.constant_speed else CLIMB_SHARE
        if self.level_speed is not None and self.rated_speed is not None:
            share, doubt = min(self.level_speed / self.rated_speed, 1.05), 0.0
        left = float(engine_factor(self.law(), self.level_pressure or P0, self.level_temperature or T0))
        found = efficiency * power * share * left / (weight * gain * airspeed)
        if not EXCESS_RANGE[0] <= found <= EXCESS_RANGE[1]:
            return (
                *LEVEL_EXCESS,
                f"assumed, as [engine] power and the acceleration give {found:.1f}, which is hard to believe",
            )
        u = found * float(np.hypot(spread / efficiency, doubt / share))
        return found, u, "from the entered power, the weight and the measured acceleration, propeller efficiency 0.745"

    def _in_the_sky(self, excess: float, factor: float) -> float:
        if self.sky_pressure is None or self.sky_temperature is None:
            return excess
        richer = (factor / float(engine_factor(self.law(), self.sky_pressure, self.sky_temperature))) ** THRUST_BY_POWER
        left = richer * (1.0 - excess) + excess
        return excess / left if left > 0.0 else excess

    def rolling(self) -> tuple[float, float, str]:
        """y, mean thrust over mean net force of the roll, its standard uncertainty, and where it comes from.

        Returns
        -------
        tuple
            y [1], its standard uncertainty [1], and where it comes from.
        """
        assumed = (*ROLLING, "assumed: 1.18 to 1.54 in own computations")
        if self.pull is None or self.roll_weight is None or self.roll is None or self.lift_off is None:
            return assumed
        found = THRUST_LEFT * self.pull * 2.0 * self.roll / (self.roll_weight * self.lift_off**2)
        if not ROLLING_RANGE[0] <= found <= ROLLING_RANGE[1]:
            return assumed
        return found, ROLLING_MEASURED, "from the measured pull and roll"


def engine_factor(law: PowerLaw, dry_pressure: Numbers, temperature: Numbers) -> Floats:
    """f at a pressure of the dry air [Pa] and a temperature [K]; 1 in the standard air at sea level.

    Parameters
    ----------
    law : the law of power of this engine
    dry_pressure : pressure of the air without its water vapour [Pa]
    temperature : air temperature [K]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    ratio = np.asarray(dry_pressure, dtype=float) / P0, np.asarray(temperature, dtype=float) / T0
    return ratio[0] ** law.pressure * ratio[1] ** law.temperature
