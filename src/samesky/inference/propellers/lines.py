"""How far does one setting lie from the line of another propeller, when every coordinate is uncertain?

Between two settings i and j of a propeller its line is x_i + t (x_j - x_i), y_i + t (y_j - y_i), 0 <= t <= 1, with a
bend. A point P lies d above it when for some t both x_P = x(t) and y_P - d = y(t). For each t the two residuals are
normal with a covariance that t gives; the interval of d holds every d that some t makes likely enough (errors in both
variables, the profile over t: as the line of York, Earth and Planetary Science Letters 5 (1968) 320-324, and as the
ratio of Fieller, Journal of the Royal Statistical Society B 16 (1954) 175-185). Settings that lie too near each other
to be told apart give a wide interval by themselves, and no t beyond 0 to 1 is asked.

Variances come from those of the pairwise differences u_ij^2 alone, which hold every error that the comparison knows:
of a sum with weights c that add up to zero it is -1/2 sum c_i c_j u_ij^2. So the covariance that two differences have
through a common configuration is in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from samesky.inference.uncertainty import join, t_quantile

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Places on the line that are tried (chosen: a quarter of a per cent of its length apart).
PLACES = np.linspace(0.0, 1.0, 401)
#: A contrast is never known better than this share of the smaller of its two differences (chosen): estimates of pairs
#: that are weighed each for itself may contradict each other.
LEAST = 0.25


@dataclass(frozen=True, slots=True, eq=False)
class Coordinate:
    """One coordinate of a point P and of two settings i and j, natural logarithms.

    Attributes
    ----------
    point, start, end : the levels of P, i and j
    variance : of the differences P-i, P-j and i-j
    worst : limits of hidden drift of P-i and P-j
    degrees_of_freedom : of the three differences, the least
    bend, bend_known : how far the line lies from its chord in the middle, and its standard uncertainty
    """

    point: float
    start: float
    end: float
    variance: tuple[float, float, float]
    worst: tuple[float, float]
    degrees_of_freedom: float
    bend: float = 0.0
    bend_known: float = 0.0

    def residual(self, place: Floats) -> Floats:
        """P less the line at these places (k,).

        Parameters
        ----------
        place : places on the line [1], 0 to 1

        Returns
        -------
        ndarray
            (k,) [1], natural logarithm.
        """
        on_line = self.start + place * (self.end - self.start) + 4.0 * place * (1.0 - place) * self.bend
        return self.point - on_line

    def variances(self, place: Floats) -> Floats:
        """Variance of the residual at these places (k,).

        Parameters
        ----------
        place : places on the line [1], 0 to 1

        Returns
        -------
        ndarray
                (k,) [1], natural logarithm squared.
        """
        first, second, between = self.variance
        seen = (1.0 - place) * first + place * second - place * (1.0 - place) * between
        return np.maximum(seen, LEAST * min(first, second)) + (4.0 * place * (1.0 - place) * self.bend_known) ** 2

    def limits(self, place: Floats) -> Floats:
        """What drift that the order hides may do to the residual at these places (k,), at most.

        Parameters
        ----------
        place : places on the line [1], 0 to 1

        Returns
        -------
        ndarray
            (k,) [1], natural logarithm.
        """
        return (1.0 - place) * self.worst[0] + place * self.worst[1]


@dataclass(frozen=True, slots=True, eq=False)
class Apart:
    """A point over a line: ``x`` and ``y`` coordinates, and the correlation of their errors."""

    x: Coordinate
    y: Coordinate
    correlation: float = 0.0

    @property
    def place(self) -> float:
        """Where on the line the point stands [1]: the nearest place, an end where it lies beyond."""
        return float(PLACES[np.argmin(np.abs(self.x.residual(PLACES)))])

    @property
    def overlaps(self) -> bool:
        """Whether the point lies between the two settings on x, or cannot be told from one of them."""
        return self.beyond <= 0.0

    @property
    def beyond(self) -> float:
        """How far the point lies outside the two settings, less what its error may be; negative inside."""
        place = np.array([self.place])
        standard = float(np.sqrt(self.x.variances(place))[0])
        reach = float(t_quantile(0.975, self.x.degrees_of_freedom)) * standard + float(self.x.limits(place)[0])
        step = abs(self.x.end - self.x.start) / (PLACES.size - 1)
        return abs(float(self.x.residual(place)[0])) - reach - step

    @property
    def difference(self) -> float:
        """The point less the line, at the point's own x."""
        return float(self.y.residual(np.array([self.place]))[0])

    @property
    def degrees_of_freedom(self) -> float:
        """Effective ones, of both coordinates as they enter the difference."""
        place = np.array([self.place])
        run = self.x.end - self.x.start
        slope = (self.y.end - self.y.start) / run if run else 0.0
        parts = np.array([float(self.y.variances(place)[0]), slope**2 * float(self.x.variances(place)[0])])
        return float(join(parts, np.array([self.y.degrees_of_freedom, self.x.degrees_of_freedom]))[1])

    def interval(self, level: float) -> tuple[float, float]:
        """Ends of the interval of the difference; NaN where no place on the line is likely enough.

        Parameters
        ----------
        level : probability that the interval holds [1], 0 to 1

        Returns
        -------
        tuple of float
            [1], natural logarithm.
        """
        wide = float(t_quantile(0.5 + level / 2.0, self.degrees_of_freedom))
        correlation = self.correlation
        of_x, of_y = self.x.variances(PLACES), self.y.variances(PLACES)
        off = self.x.residual(PLACES)
        limit_x, limit_y = self.x.limits(PLACES), self.y.limits(PLACES)
        # Drift that the order hides moves the point along x as far as it may.
        left = np.sign(off) * np.maximum(np.abs(off) - limit_x, 0.0)
        likely = np.square(left) <= wide**2 * of_x
        if not likely.any():
            return np.nan, np.nan
        share = correlation * np.sqrt(of_y / of_x)
        centre = self.y.residual(PLACES) - share * left
        room = np.sqrt(np.maximum(wide**2 - np.square(left) / of_x, 0.0) * of_y * (1.0 - correlation**2))
        half = room + limit_y + np.abs(share) * np.minimum(limit_x, np.abs(off) + limit_x)
        return float((centre - half)[likely].min()), float((centre + half)[likely].max())


def own_variances(variance: Floats) -> Floats:
    """A variance for each configuration (k,) whose sums come nearest to those of the differences (k, k).

    For drawing alone: two marks then differ by more than chance where their bars, joined as a root of squares, say so
    (quasi-variances; Firth and de Menezes, Biometrika 91 (2004) 65-80, here by least squares).

    Parameters
    ----------
    variance : of every difference, (k, k), zeros on the diagonal

    Returns
    -------
    ndarray
        (k,), in the square of the unit of the differences.
    """
    count = len(variance)
    if count == 2:
        return np.full(2, 0.5 * variance[0, 1])
    sums = variance.sum(axis=1)
    whole = sums.sum() / (2.0 * count - 2.0)
    return np.maximum((sums - whole) / (count - 2.0), 0.0)
