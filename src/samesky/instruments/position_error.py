"""By how much does the airspeed system lie at each speed, and how well is that known?

At several speeds the true airspeed is found over the ground from three or more legs (:mod:`samesky.air.legs`), turned
into calibrated airspeed (:mod:`samesky.air.airspeed`) and compared with the reading. The correction, calibrated minus
indicated, is fitted by a constant or a straight line in the reading, by weighted least squares. Which of the two is
fixed by the number of distinct speeds *before* the numbers are looked at: a line from three speeds on, else a constant.

One airspeed system serves the whole campaign: the error of the fit is common to all runs and cancels in a difference
at one speed, but not between two speeds. A correction found at one weight and flap setting holds for these.
W. Gracey, NASA RP-1046 (1980), chapters on position error; uncertainties after JCGM 100:2008, 5.1 and H.3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from samesky.air import airspeed
from samesky.instruments.airspeed_indicator import INDICATED
from samesky.instruments.sources import ErrorSource

#: Names of the error sources of a fit.
NAME, SLOPE = "position error", "position error, change with speed"
#: From so many distinct speeds on a line is fitted.
SPEEDS_FOR_A_LINE = 3
#: Two readings nearer than this are one speed [m/s]: a knot.
ONE_SPEED = 1852 / 3600
#: Chance below which scatter beyond the stated uncertainties is believed and widens the result.
SURPRISE = 0.05


class PositionErrorError(ValueError):
    """Runs that cannot give a position error: what was found, and what is needed."""


@dataclass(frozen=True, slots=True, eq=False)
class PositionError:
    """The fitted correction, calibrated minus indicated airspeed, c_0 + c_1 (V_i - V_0).

    Attributes
    ----------
    model : ``"constant"`` or ``"line"``
    middle : V_0 [m/s], weighted mean of the readings
    coefficients : (p,) c_0 [m/s], c_1 [1]
    covariance : (p, p)
    degrees_of_freedom : of the scatter; infinite where the stated uncertainties alone were used
    low, high : [m/s] readings between which it was found
    scatter : root of chi-square over degrees of freedom, NaN where none are left
    notes : sentences
    """

    model: str
    middle: float
    coefficients: np.ndarray
    covariance: np.ndarray
    degrees_of_freedom: float
    low: float
    high: float
    scatter: float
    notes: tuple[str, ...]

    def correction(self, indicated) -> tuple[np.ndarray, np.ndarray]:
        """Correction to add to readings [m/s] of any shape, and its standard uncertainty [m/s]."""
        indicated = np.asarray(indicated, dtype=float)
        design = np.stack([(indicated - self.middle) ** k for k in range(self.coefficients.size)], axis=-1)
        return design @ self.coefficients, np.sqrt(np.einsum("...i,ij,...j->...", design, self.covariance, design))

    def apply(self, indicated) -> tuple[np.ndarray, np.ndarray]:
        """Calibrated airspeed [m/s] of readings of any shape, and the standard uncertainty [m/s] of the correction.

        Readings outside :attr:`low` to :attr:`high` are extrapolated: :meth:`outside` tells which.
        """
        correction, spread = self.correction(indicated)
        return np.asarray(indicated, dtype=float) + correction, spread

    def outside(self, indicated) -> np.ndarray:
        """Whether readings [m/s] lie outside the speeds flown, by more than a knot."""
        indicated = np.asarray(indicated, dtype=float)
        return (indicated < self.low - ONE_SPEED) | (indicated > self.high + ONE_SPEED)

    def indicated(self, calibrated) -> np.ndarray:
        """Readings [m/s] of any shape at these calibrated airspeeds: the inverse of :meth:`apply`."""
        offset, slope = self._offset_and_slope()
        return (np.asarray(calibrated, dtype=float) - offset) / (1 + slope)

    def error_sources(self) -> tuple[ErrorSource, ...]:
        """The error of the fit, as independent sources that act on every *corrected* airspeed.

        Of a line: an offset, and an error that grows from the speed at which the two are uncorrelated. Campaign scope:
        one airspeed system and one fit serve all runs, so that both cancel in a difference at one speed, and the second
        does not between two speeds.
        """
        why = f"{self.model} fitted to true airspeeds over the ground at {self.low:.1f} to {self.high:.1f} m/s"
        freedom = self.degrees_of_freedom
        if self.coefficients.size == 1:
            sizes = {NAME: (math.sqrt(self.covariance[0, 0]), False, 0.0)}
        else:
            slope_variance, together = self.covariance[1, 1], self.covariance[0, 1]
            pivot = self.middle - together / slope_variance
            offset = math.sqrt(self.covariance[0, 0] - together**2 / slope_variance)
            # In terms of the corrected airspeed, of which V_i - pivot is the share 1/(1 + c_1).
            share = math.sqrt(slope_variance) / (1 + float(self.coefficients[1]))
            sizes = {NAME: (offset, False, 0.0), SLOPE: (share, True, float(self.apply(pivot)[0]))}
        return tuple(
            ErrorSource(name, column, size, "campaign", why, relative, freedom, about=about)
            for name, (size, relative, about) in sizes.items()
            for column in INDICATED
        )

    def _offset_and_slope(self) -> tuple[float, float]:
        """The correction as offset + slope x reading [m/s, 1]."""
        slope = float(self.coefficients[1]) if self.coefficients.size > 1 else 0.0
        return float(self.coefficients[0]) - slope * self.middle, slope


def calibrated(tas, tas_uncertainty, pressure, temperature, *, pressure_uncertainty=0.0, temperature_uncertainty=0.0):
    """Calibrated airspeed [m/s] from true airspeed [m/s], static pressure [Pa] and temperature [K], all (n,).

    Returns its value and its standard uncertainty, from the three standard uncertainties given.
    """
    inputs = [np.asarray(x, dtype=float) for x in (tas, pressure, temperature)]
    spreads = [np.asarray(x, dtype=float) for x in (tas_uncertainty, pressure_uncertainty, temperature_uncertainty)]
    variance = np.zeros(np.broadcast_shapes(*(x.shape for x in (*inputs, *spreads))))
    for k, spread in enumerate(spreads):
        up, down = ([*inputs[:k], inputs[k] + side * spread, *inputs[k + 1 :]] for side in (1, -1))
        half = (airspeed.tas_to_cas(up[0], up[1], up[2]) - airspeed.tas_to_cas(down[0], down[1], down[2])) / 2
        variance = variance + half**2
    return airspeed.tas_to_cas(inputs[0], inputs[1], inputs[2]), np.sqrt(variance)


def fit_position_error(indicated, calibrated, uncertainty, *, model: str | None = None, shared=()) -> PositionError:
    """Fit the correction of an airspeed system.

    Parameters
    ----------
    indicated : (n,) readings [m/s], corrected for instrument error if that is known
    calibrated : (n,) calibrated airspeeds [m/s] of the same runs
    uncertainty : (n,) standard uncertainty [m/s] of calibrated minus indicated, new at each run: legs, reading
    model : ``"constant"`` or ``"line"``, if decided before flying; None decides by the number of distinct speeds
    shared : (k, n) errors [m/s] that several runs have in common (one thermometer), one standard error a row, with
        sign; they are no scatter, and no fit averages them out

    Returns
    -------
    PositionError
        Where the points scatter beyond their stated uncertainties (chance below 5 %), these are widened by that
        scatter, with its degrees of freedom.

    Raises
    ------
    PositionErrorError
        no runs, an uncertainty that is not more than zero, readings missing, or a line through fewer than two speeds
    """
    v, c, u = (np.atleast_1d(np.asarray(x, dtype=float)) for x in (indicated, calibrated, uncertainty))
    v, c, u = np.broadcast_arrays(v, c, u)
    if not v.size or not np.isfinite([v, c, u]).all():
        raise PositionErrorError("a reading, an airspeed or an uncertainty is missing; each run needs all three")
    if (u <= 0).any():
        raise PositionErrorError("an uncertainty is not more than zero; state what the legs and the reading allow")
    speeds = distinct_speeds(v)
    how = "chosen beforehand" if model else f"chosen by the number of distinct speeds ({speeds})"
    model = model or ("line" if speeds >= SPEEDS_FOR_A_LINE else "constant")
    count = {"constant": 1, "line": 2}.get(model)
    if count is None:
        raise PositionErrorError(f"model {model!r}; there are 'constant' and 'line'")
    if speeds < count:
        raise PositionErrorError(f"{speeds} distinct speed; a line needs two at least, better three")
    weight = 1 / u**2
    middle = float(np.sum(weight * v) / weight.sum())
    design = np.vander(v - middle, count, increasing=True)
    covariance = np.linalg.inv(design.T @ (weight[:, None] * design))
    coefficients = covariance @ (design.T @ (weight * (c - v)))
    chi_square = float(np.sum(weight * (c - v - design @ coefficients) ** 2))
    gain = covariance @ (design.T * weight)
    covariance, freedom, scatter, notes = _widened(covariance, chi_square, v.size - count)
    common = gain @ np.reshape(np.asarray(shared, dtype=float), (-1, v.size)).T
    covariance = covariance + common @ common.T
    notes += (f"{model} {how}",)
    return PositionError(
        model, middle, coefficients, covariance, freedom, float(v.min()), float(v.max()), scatter, notes
    )  # fmt: skip


def distinct_speeds(indicated) -> int:
    """Number of groups of readings [m/s] no wider than a knot each."""
    count, begin = 0, -math.inf
    for reading in np.sort(np.ravel(np.asarray(indicated, dtype=float))):
        if reading - begin > ONE_SPEED:
            count, begin = count + 1, reading
    return count


def _widened(covariance, chi_square: float, left: int):
    from scipy.special import chdtrc

    if left < 1:
        return covariance, math.inf, math.nan, ("no run is left over to check the fit",)
    scatter = math.sqrt(chi_square / left)
    if chdtrc(left, chi_square) >= SURPRISE:
        return covariance, math.inf, scatter, ()
    note = f"the points scatter {scatter:.1f} times as much as stated: uncertainty widened by that"
    return covariance * scatter**2, float(left), scatter, (note,)
