"""How much does a receiver's reading wander, and how many of its fixes are worth one?

Errors of a satellite receiver are alike from one fix to the next: ten fixes a second are not ten independent readings.
They are taken as a first-order Gauss-Markov process (R. G. Brown and P. Y. C. Hwang, Introduction to Random Signals and
Applied Kalman Filtering: autocorrelation s^2 exp(-|dt|/tau)) plus white noise (rounding of the record). Means, slopes
and curves are fitted by generalised least squares (A. C. Aitken, 1935), whose weights and standard uncertainties
follow from that process at whatever times the fixes came: dropouts and mixed rates need no special care.

The precision matrix of the process is tridiagonal, so the cost grows with the number of fixes, not with its square.

Standard deviations are printed (see each constant); correlation times are assumed, as no printed value was found.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

#: Chance below which scatter beyond the stated noise is believed and widens the uncertainty.
SURPRISE = 0.001

#: Steps in which receivers write heights and speeds [m, m/s]: tenths and hundredths of metre, foot, knot, km/h.
_WRITTEN = {place * unit for place in (1.0, 0.1, 0.01) for unit in (1.0, 0.3048, 1852 / 3600, 1 / 3.6)}
STEPS = tuple(sorted((*_WRITTEN, 0.5, 10.0), reverse=True))


@dataclass(frozen=True, slots=True)
class Noise:
    """Error of one reading of a receiver.

    Attributes
    ----------
    standard_deviation : [unit of the reading] of the correlated part
    correlation_time : [s] after which the correlation has fallen to 1/e
    white : [unit of the reading] standard deviation of the part that is new at every fix
    source : where the numbers come from
    """

    standard_deviation: float
    correlation_time: float
    white: float = 0.0
    source: str = "assumed"

    def with_resolution(self, readings: np.ndarray) -> Noise:
        """The same noise with the rounding of these readings added to the white part (uniform: step / sqrt 12)."""
        return self.with_white(recorded_step(readings) / np.sqrt(12))

    def with_white(self, more: float) -> Noise:
        """The same noise with ``more`` [unit of the reading] in its white part, in quadrature."""
        white = float(np.hypot(self.white, more))
        return Noise(self.standard_deviation, self.correlation_time, white, self.source)


def recorded_step(readings: np.ndarray) -> float:
    """The coarsest usual step [m or m/s] of which all readings are multiples, 0 where there is none.

    Five readings or more; that many would not fit a step they were not rounded to.
    """
    readings = np.asarray(readings, dtype=float)
    if readings.size < 5 or not np.isfinite(readings).all():
        return 0.0
    for step in STEPS:
        multiple = readings / step
        if (np.abs(multiple - np.round(multiple)) < 1e-3).all():
            return step
    return 0.0


def recorded_turn(track: np.ndarray) -> float:
    """The coarsest step [rad] of 1, 0.1 and 0.01 degrees of which all tracks [rad] are multiples, 0 where none is."""
    degrees = np.degrees(np.asarray(track, dtype=float))
    for step in (1.0, 0.1, 0.01):
        multiple = degrees / step
        if degrees.size >= 5 and (np.abs(multiple - np.round(multiple)) < 1e-3).all():
            return float(np.radians(step))
    return 0.0


#: Ground speed along one axis [m/s].
SPEED = Noise(
    0.2 / 1.959964,
    10.0,
    source="0.2 m/s per axis, 95 % (NAVSTAR GPS User Equipment Introduction, 3.7); 10 s assumed",
)
#: Horizontal position along one axis [m]: 8 m radial at 95 % is 8 / 2.448 m per axis.
POSITION = Noise(
    8.0 / 2.448, 300.0, source="8 m horizontal, 95 % (GPS SPS Performance Standard 2020, from memory); 300 s assumed"
)
#: Altitude by satellite [m].
ALTITUDE = Noise(
    13.0 / 1.959964,
    300.0,
    source="13 m vertical, 95 % (GPS SPS Performance Standard 2020, from memory); 300 s assumed",
)
#: Pressure altitude of a logger or telephone [m]: 0.12 hPa relative, 1.3 Pa rms noise, 8.3 m to the hectopascal.
PRESSURE_ALTITUDE = Noise(1.0, 300.0, 0.11, source="0.12 hPa relative, 1.3 Pa rms (sensor data sheet); 300 s assumed")


@dataclass(frozen=True, slots=True)
class TrackEstimate:
    """A value and its standard uncertainty, in the same unit."""

    value: float
    standard_uncertainty: float

    @property
    def interval(self) -> tuple[float, float]:
        """Ends of the interval of about 95 %: coverage factor k = 2 (JCGM 100:2008, 6.3.3)."""
        reach = 2 * self.standard_uncertainty
        return self.value - reach, self.value + reach


@dataclass(frozen=True, slots=True)
class CurveFit:
    """A curve fitted through correlated readings.

    Attributes
    ----------
    coefficients : (..., p)
    covariance : (p, p), of the stated noise
    scatter : (...,) root of chi-square over degrees of freedom: 1 where the readings scatter as stated
    inflation : (...,) factor on the standard uncertainties: the scatter where it is too large for chance, else 1
    """

    coefficients: np.ndarray
    covariance: np.ndarray
    scatter: np.ndarray
    inflation: np.ndarray

    def estimate(self, index: int) -> TrackEstimate:
        """One coefficient of a fit through one row of readings."""
        spread = float(np.sqrt(self.covariance[index, index])) * float(self.inflation)
        return TrackEstimate(float(self.coefficients[..., index]), spread)


def weigh(noise: Noise, time: np.ndarray, columns: np.ndarray) -> np.ndarray:
    """Multiply ``columns`` (n, k) by the inverse covariance matrix of readings at ``time`` (n,) [s], strictly rising.

    With Q the tridiagonal precision of the Gauss-Markov part and r the white variance the inverse of the sum is
    (I + r Q)^-1 Q. Cost proportional to n.
    """
    variance, white = noise.standard_deviation**2, noise.white**2
    if variance == 0 or noise.correlation_time == 0:
        return columns / (variance + white)
    step = np.diff(time) / noise.correlation_time
    decay, fresh = np.exp(-step), -variance * np.expm1(-2 * step)
    diagonal = np.r_[1 / variance, 1 / fresh]
    diagonal[:-1] += decay**2 / fresh
    beside = -decay / fresh
    product = diagonal[:, None] * columns
    product[:-1] += beside[:, None] * columns[1:]
    product[1:] += beside[:, None] * columns[:-1]
    if white == 0:
        return product
    from scipy.linalg import solveh_banded

    return solveh_banded(np.array([np.r_[0.0, white * beside], 1 + white * diagonal]), product)


def fit(noise: Noise, time: np.ndarray, readings: np.ndarray, design: np.ndarray) -> CurveFit:
    """Generalised least squares of ``readings`` (..., n) on the columns of ``design`` (n, p), times (n,) [s].

    Scatter beyond the stated noise, at a chance below :data:`SURPRISE`, multiplies the uncertainty (Birge ratio:
    R. T. Birge, Physical Review 40 (1932) 207); scatter below it never narrows it.
    """
    from scipy.special import chdtrc

    weighed = weigh(noise, time, design)
    covariance = np.linalg.inv(design.T @ weighed)
    coefficients = (readings @ weighed) @ covariance
    residual = readings - coefficients @ design.T
    rows = residual.reshape(-1, residual.shape[-1]).T
    chi_square = (rows * weigh(noise, time, rows)).sum(axis=0).reshape(residual.shape[:-1])
    freedom = design.shape[0] - design.shape[1]
    if freedom < 1:
        return CurveFit(coefficients, covariance, np.full(chi_square.shape, np.nan), np.ones(chi_square.shape))
    scatter = np.sqrt(chi_square / freedom)
    inflation = np.where(chdtrc(freedom, chi_square) < SURPRISE, np.maximum(scatter, 1.0), 1.0)
    return CurveFit(coefficients, covariance, scatter, inflation)


def powers(time: np.ndarray, degree: int) -> np.ndarray:
    """Design matrix (n, degree + 1) of a polynomial about the middle of the interval [s].

    About the middle, the first coefficient of a line is the mean over the interval and the second of a parabola is
    the mean rate over it.
    """
    return np.vander(time - (time[0] + time[-1]) / 2, degree + 1, increasing=True)


def effective_number(noise: Noise, time: np.ndarray) -> float:
    """How many independent readings the readings at ``time`` (n,) [s] are worth, for their mean.

    For many fixes spaced evenly with correlation r from one to the next it tends to n (1 - r)/(1 + r)
    (D. S. Wilks, Statistical Methods in the Atmospheric Sciences, effective sample size: from memory).
    """
    ones = np.ones((time.size, 1))
    return float((noise.standard_deviation**2 + noise.white**2) * (ones.T @ weigh(noise, time, ones))[0, 0])


def integral_variance(noise: Noise, duration: float) -> float:
    """Variance [unit^2 s^2] of the correlated part integrated over ``duration`` [s].

    2 s^2 tau^2 (T/tau - 1 + exp(-T/tau)), the double integral of the autocorrelation.
    """
    ratio = duration / noise.correlation_time
    return 2 * (noise.standard_deviation * noise.correlation_time) ** 2 * (ratio + np.expm1(-ratio))
