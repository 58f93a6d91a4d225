"""What do a take-off roll and a landing roll share?

Near any one aeroplane, with V the true airspeed at lift-off or touch-down and W the headwind, a ground roll is

    S = C m^a sigma^b V^p (1 - W/V)^n,

and a slope enters through an energy balance. Each correction is one factor of that law, from the run's condition to
the common sky's, so that none is counted twice:

* wind: at the run's own speed V, through zero wind to the sky's headwind;
* slope: 1/S = 1/S_level -+ 2 g sin(slope)/V_g^2 at the ground speed V_g, and back to the sky's slope;
* weight and density: at constant *calibrated* speed V where it was read; the density exponent therefore holds the rise
  of true airspeed in thin air as well; at full throttle the engine's power enters beside it, by the pressure of the dry
  air and by temperature (:mod:`samesky.measures.power`). Where V was not read, a heavier aeroplane is taken to
  fly off (or land) faster, at one lift coefficient, and another exponent of weight applies;
* airspeed: what is then left is the ratio of the calibrated speeds, both made true in the sky's air.

Why the exponents are what they are: for any acceleration a(V) that falls with speed, S = integral of V/a dV gives
p = V^2/(a_end S) >= 2 and n = V t/S <= 2; both are 2 at constant acceleration.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from samesky.air.constants import G0
from samesky.measures import conditions as given
from samesky.measures import power
from samesky.measures.shape import Coefficients, Limit, Runs, Sky, Step, has

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

ROLL = "ground roll"


@dataclass(frozen=True, slots=True)
class RollLaw:
    """A ground roll whose speed at the end (or start) is in column ``airspeed``; ``uphill`` +1 if a hill lengthens it.

    ``full_throttle`` where the engine pulls all the way.
    Coefficients are those named in :meth:`names`.
    """

    airspeed: str
    uphill: float
    full_throttle: bool = False

    def names(self) -> tuple[str, str, str, str, str]:
        """Coefficients: exponents of wind, airspeed, weight with airspeed read and unread, density."""
        return (
            "wind exponent",
            f"{self.airspeed} exponent",
            f"weight exponent, {self.airspeed} read",
            f"weight exponent, {self.airspeed} unread",
            "density exponent",
        )

    def reduce(self, runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
        """Ground roll [m] of every run, step by step, brought to the common sky.

        Parameters
        ----------
        runs : prepared columns of the runs [SI], (..., n)
        sky : the common sky [SI], by column name; broadcasts against the runs
        coefficients : values of the coefficients, by name
        """
        n, p, weight_read, weight_unread, b = (coefficients[name] for name in self.names())
        steps = [Step("as flown", np.asarray(runs[ROLL], dtype=float))]
        read = given.both(runs, sky, self.airspeed)
        air = given.both(runs, sky, "oat", "pressure")
        indicated = self.speed(runs, sky)
        speed = speed_in_sky = None if indicated is None else _true(indicated, runs, air)
        wind: Numbers = runs["headwind"] if has(runs, "headwind") else 0.0
        if speed is not None and given.both(runs, sky, "headwind"):
            given.scaled(steps, "wind", (given.positive(speed - sky["headwind"]) / given.positive(speed - wind)) ** n)
            wind = sky["headwind"]
        if speed is not None and given.both(runs, sky, "slope"):
            rise = self.uphill * (sine(runs["slope"]) - sine(sky["slope"]))
            steps.append(Step("slope", less_slope(steps[-1].value, speed - wind, rise)))
        if given.both(runs, sky, "weight"):
            given.scaled(steps, "weight", (sky["weight"] / runs["weight"]) ** (weight_read if read else weight_unread))
        if air:
            factor = (
                power.to_the_sky(runs, sky, coefficients)
                if self.full_throttle
                else given.density_ratio(runs, sky) ** -b
            )
            if indicated is not None and speed is not None:
                speed_in_sky = _true(indicated, sky, air)
                factor = factor * still_air_share(speed_in_sky, wind, n) / still_air_share(speed, wind, n)
            given.scaled(steps, "density", factor)
        if read and speed_in_sky is not None:
            wanted = _true(np.asarray(sky[self.airspeed], dtype=float), sky, air)
            shares = still_air_share(wanted, wind, n) / still_air_share(speed_in_sky, wind, n)
            given.scaled(steps, self.airspeed, (wanted / speed_in_sky) ** p * shares)
        return steps

    def speed(self, runs: Runs, sky: Sky) -> Floats | None:
        """Calibrated airspeed [m/s]: as read on each run, else that of the common sky for all, else None.

        Parameters
        ----------
        runs : prepared columns of the runs [SI], (..., n)
        sky : the common sky [SI], by column name; broadcasts against the runs

        Returns
        -------
        ndarray or None
            [m/s], (..., n), the last axis the runs.
        """
        for conditions in (runs, sky):
            if has(conditions, self.airspeed):
                return np.asarray(conditions[self.airspeed], dtype=float)
        return None

    def needs(self) -> dict[str, tuple[str, ...]]:
        """Columns without which each correction is left out."""
        return {
            "wind": ("headwind", self.airspeed),
            "slope": ("slope", self.airspeed),
            "weight": ("weight",),
            "density": ("oat", "pressure"),
            self.airspeed: (self.airspeed,),
        }

    def limits(self) -> tuple[Limit, ...]:
        """Where each correction is believed."""
        name = self.airspeed

        def headwind_share(runs: Runs, sky: Sky) -> Floats:
            return given.column_or_nan(runs, "headwind") / self._speed_or_nan(runs, sky)

        def slope_share(runs: Runs, sky: Sky) -> Floats:
            rise = given.column_or_nan(runs, "slope") - given.column_or_nan(sky, "slope")
            ground_speed = self._speed_or_nan(runs, sky) - given.column_or_nan(runs, "headwind")
            return 2.0 * G0 * rise * runs[ROLL] / np.square(ground_speed)

        def airspeed_ratio(runs: Runs, sky: Sky) -> Floats:
            return given.column_or_nan(runs, name) / given.column_or_nan(sky, name)

        return (
            Limit("wind", f"is believed for headwinds up to 10 % of {name}", headwind_share, 0.0, 0.10),
            Limit("slope", "is believed while it changes the roll by less than 20 %", slope_share, -0.20, 0.20),
            Limit("weight", "is believed within 5 % of the common weight", given.weight_ratio, 0.95, 1.05),
            Limit("density", "is believed within 5 % of the common density", given.density_ratio, 0.95, 1.05),
            Limit(name, f"is believed within 10 % of the common {name}", airspeed_ratio, 0.90, 1.10),
        )

    def _speed_or_nan(self, runs: Runs, sky: Sky) -> Floats:
        speed = self.speed(runs, sky)
        return np.asarray(np.nan) if speed is None else speed


def sine(slope: Numbers) -> Floats:
    """Sine of the angle of a slope (fraction): 2 % is 0.02 and 1.15 degrees, not 2 degrees.

    Parameters
    ----------
    slope : slope [1], uphill positive: 0.02 for 2 %

    Returns
    -------
    ndarray
        [1], of the shape of ``slope``.
    """
    return np.sin(np.arctan(np.asarray(slope, dtype=float)))


def less_slope(roll: Numbers, ground_speed: Numbers, rise: Numbers) -> Floats:
    """Roll [m] with a hindering slope of sine ``rise`` taken away: S/(1 + 2 g S rise/V_g^2); NaN if none is left.

    Energy balance at a given ground speed V_g [m/s]; the same form as USNTPS-FTM-108 (1992) sec. 9.3.1.4.2, from
    memory. Holds while the slope's force is small beside the net accelerating force.

    Parameters
    ----------
    roll : ground roll [m], (..., n)
    ground_speed : ground speed at lift-off [m/s]
    rise : sine of the slope that is taken away [1]

    Returns
    -------
    ndarray
        [m], (..., n), the last axis the runs.
    """
    roll = np.asarray(roll, dtype=float)
    return roll / given.positive(1.0 + 2.0 * G0 * roll * np.asarray(rise) / np.square(ground_speed))


def still_air_share(speed: Numbers, headwind: Numbers, exponent: Numbers) -> Floats:
    """Share of the still-air roll that is left in a headwind [m/s] at true airspeed [m/s]: (1 - W/V)^n; NaN if none.

    Parameters
    ----------
    speed : true airspeed [m/s]
    headwind : headwind [m/s]
    exponent : exponent n of the share [1]

    Returns
    -------
    ndarray
        [m/s], (..., n), the last axis the runs.
    """
    return given.positive(1.0 - np.asarray(headwind) / speed) ** exponent


def _true(indicated: Floats, conditions: given.Conditions, air: bool) -> Floats:
    """True airspeed [m/s]; the calibrated one where the air was not written down."""
    return given.true_airspeed(indicated, conditions) if air else indicated
