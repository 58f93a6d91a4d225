"""A line of the difference of excess thrust over airspeed, by generalised least squares, and how far it may bend.

Over the roll ds = m V dV / F, so a roll is told by the difference dF at two thirds of its lift-off speed, which lies
between the static pull and the climb. There dF is nearly straight in airspeed, and not quite: in own computations with
point masses and with blade elements a line from pull to climb missed the roll by 13 % of the difference on average, and
by more where the ends have opposite signs. So the line may bend, as an error of the model common to the campaign:

* between standstill and the slowest measure seen in flight, as a parabola that is zero at both and has a standard
  uncertainty of ``BEND`` times the larger of the two differences; a measure between them shows the bend by itself, but
  for ``REST``, by which a curve is no parabola;
* beyond that, towards top speed, as a kink of a size of its own.

Best linear unbiased prediction: mean of a line, covariance of the measures' errors plus that of the bend (Searle,
Casella and McCulloch, Variance components (1992), chapter 7). Every prediction is one weight a measure, and hidden
drifts go through the same weights.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from samesky.inference.uncertainty import join

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

#: Standard uncertainty of the bend between standstill and climb, of what is no parabola in it, and of the kink beyond,
#: as shares of the larger difference of standstill and climb; the kink at twice the climb's airspeed. A hundred pairs
#: of propellers of four aeroplanes that share nothing with this package missed by 0.30 to 0.36 (4 to 12 of 100 by more
#: than twice 0.25), 0.09 to 0.19 and 0.8 to 1.3, root mean square.
BEND, REST, KINK = 0.25, 0.10, 1.0
#: Degrees of freedom of these shares: entered sizes, doubtful by a quarter.
KNOWN = 8.0
#: How far the variances of several measures count as wrong together, over the share that uncertain weights add (chosen:
#: of two to five measures with 2 to 20 degrees of freedom 94.4 to 96.6 of 100 simulated intervals hold).
FREE = 2.0
#: Airspeed of the upper end of the bend where nothing was seen in flight, over the highest one seen (chosen).
BEYOND_ROLL = 2.4
#: Measures must see airspeeds this far apart for a line [m/s], and below this they are at one and the same (chosen).
LEAST_APART, ALIKE = 2.0, 0.01
#: Share of the largest variance that is added to every measure's own, so that errors in step leave a solvable system.
RIDGE = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """The line through k measures; arrays (..., k), (..., k, k) where the campaigns are many.

    Attributes
    ----------
    airspeed : (k,) [m/s]
    force : difference seen by each measure [N]
    covariance : of the measures' errors, without bend and hidden drift
    degrees_of_freedom : of each measure's own variance
    worst : limit of what hidden drift may do to each force [N]
    climb : airspeed at which the bend ends
    larger : the larger of the differences at standstill and in the climb [N], which sizes the bend
    """

    airspeed: Floats
    force: Floats
    covariance: Floats
    degrees_of_freedom: Floats
    worst: Floats
    climb: float
    larger: Floats

    def weights(self, airspeed: float) -> Floats:
        """Weights (..., k) of the measures in the difference at an airspeed [m/s], of least variance among those that
        reproduce every line.

        Parameters
        ----------
        airspeed : true airspeed [m/s]

        Returns
        -------
        ndarray
            (..., k) [1].
        """
        columns, column = _columns(self.airspeed, self.climb), _columns(airspeed, self.climb)
        shared = self._model(self.airspeed, airspeed)
        inverse = np.linalg.inv(self._whole())
        normal = columns.T @ inverse @ columns
        short = column - (columns.T @ inverse @ shared[..., None])[..., 0]
        by_line = (inverse @ columns @ np.linalg.solve(normal, short[..., None]))[..., 0]
        return (inverse @ shared[..., None])[..., 0] + by_line

    def at(self, airspeed: float) -> Told:
        """The difference at an airspeed [m/s] by all measures.

        Parameters
        ----------
        airspeed : true airspeed [m/s]
        """
        return self.told(self.weights(airspeed), airspeed)

    def told(self, weights: Floats, airspeed: float) -> Told:
        """What these weights (..., k) make of the measures as a value of the difference at an airspeed.

        Parameters
        ----------
        weights : weights of the measures, (..., k)
        airspeed : true airspeed [m/s]
        """
        own = np.square(weights) * np.diagonal(self.covariance, axis1=-2, axis2=-1)
        whole = np.einsum("...i,...ij,...j->...", weights, self.covariance, weights)
        among = self._model(self.airspeed[:, None], self.airspeed)
        across = (weights * self._model(self.airspeed, airspeed)).sum(axis=-1)
        alone = self._model(np.array(airspeed), np.array(airspeed))
        bent = np.einsum("...i,...ij,...j->...", weights, among, weights) - 2.0 * across + alone
        added = self._of_weights(weights)
        return Told(
            value=(weights * self.force).sum(axis=-1),
            variance=np.maximum(whole, 0.0) + added,
            of_weights=added,
            model=np.maximum(bent, 0.0),
            of_measures=own / np.maximum(own.sum(axis=-1, keepdims=True), np.finfo(float).tiny),
            degrees_of_freedom=self.degrees_of_freedom,
            worst=(np.abs(weights) * self.worst).sum(axis=-1),
            weights=weights,
        )

    def _of_weights(self, weights: Floats) -> Floats:
        """What weights add to the variance (...) that were themselves found from estimated scatter.

        They favour the measure whose scatter came out small by chance: that widens what is told, and narrows by as much
        what is claimed of it. Twice the first-order term of M. G. Kenward, J. H. Roger, Biometrics 53 (1997) 983-997;
        nothing where no measure is to spare, for then the weights follow from the airspeeds alone.
        """
        inverse = np.linalg.inv(self._whole())
        columns = _columns(self.airspeed, self.climb)
        solved = inverse @ columns
        free = inverse - solved @ np.linalg.inv(columns.T @ solved) @ np.swapaxes(solved, -1, -2)
        own = np.square(np.diagonal(self.covariance, axis1=-2, axis2=-1) * weights)
        spare = np.maximum(np.diagonal(free, axis1=-2, axis2=-1), 0.0)
        return (4.0 / self.degrees_of_freedom * own * spare).sum(axis=-1)

    def agreement(self) -> Floats:
        """Probability (...) of measures so far from one line by chance; NaN where no measure is to spare.

        F of the generalised sum of squares. Scatter is itself estimated: as many degrees of freedom in the denominator
        as the contrast in which the measures disagree has. Hidden drift counts as an error of the size of its limit.

        Returns
        -------
        ndarray
            (...) [1].
        """
        columns, spare = _columns(self.airspeed, self.climb), self.airspeed.size - 2
        if spare < 1:
            return np.full(self.force.shape[:-1], np.nan)
        inverse = np.linalg.inv(self._whole())
        normal = columns.T @ inverse @ columns
        fitted = np.linalg.solve(normal, columns.T @ inverse @ self.force[..., None])[..., 0]
        left = self.force - fitted @ columns.T
        pull = (inverse @ left[..., None])[..., 0]
        square = (left * pull).sum(axis=-1)
        among = self._model(self.airspeed[:, None], self.airspeed)
        own = np.square(pull) * np.diagonal(self.covariance, axis1=-2, axis2=-1)
        limit = (np.square(pull) * np.square(self.worst)).sum(axis=-1, keepdims=True)
        bent = np.einsum("...i,...ij,...j->...", pull, among, pull)[..., None]
        known = [np.broadcast_to(self.degrees_of_freedom, own.shape), np.full(limit.shape, np.inf)]
        df = join(
            np.concatenate([own, limit, bent], axis=-1), np.concatenate([*known, np.full(bent.shape, KNOWN)], axis=-1)
        )[1]
        return special.fdtrc(spare, np.minimum(df, 1e8), square / spare)

    def _whole(self) -> Floats:
        limit = np.square(self.worst)[..., None] * np.eye(self.airspeed.size)
        return self.covariance + limit + self._model(self.airspeed[:, None], self.airspeed)

    def _model(self, one: Numbers, other: Numbers) -> Floats:
        """Covariance of the departures from the line at two airspeeds, (...) and then their shape."""
        one, other = np.broadcast_arrays(one, other)
        larger = np.reshape(self.larger, (*np.shape(self.larger), *[1] * one.ndim))
        (bend, kink), (other_bend, other_kink) = (_shapes(speed, self.climb) for speed in (one, other))
        alike = np.abs(one - other) < ALIKE
        shape = (BEND**2 + REST**2 * alike) * bend * other_bend + KINK**2 * kink * other_kink
        return np.square(larger) * shape


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """A difference of force told by all measures, arrays (...): value [N], variance of the measures' errors, what of it
    uncertain weights add, variance of the model, share of each measure's own variance (..., k) with its degrees of
    freedom, limit of hidden drift, weights.
    """

    value: Floats
    variance: Floats
    of_weights: Floats
    model: Floats
    of_measures: Floats
    degrees_of_freedom: Floats
    worst: Floats
    weights: Floats

    def joined(self, further: Floats | float = 0.0) -> tuple[Floats, Floats]:
        """Standard uncertainty and effective degrees of freedom, with a ``further`` variance that is known.

        Parameters
        ----------
        further : further variance that is known

        Returns
        -------
        tuple of ndarray
            Standard uncertainty in the unit of the difference, (...), and degrees of freedom [1], (...).
        """
        parts = self.of_measures * self.variance[..., None]
        more = np.stack(np.broadcast_arrays(self.model, further), axis=-1)
        known = np.broadcast_to([KNOWN, np.inf], more.shape)
        df = np.concatenate([np.broadcast_to(self.degrees_of_freedom, parts.shape), known], axis=-1)
        whole = np.concatenate([parts, more], axis=-1)
        total = whole.sum(axis=-1)
        free = self.of_weights / np.maximum(total - self.of_weights, np.finfo(float).tiny)
        return np.sqrt(total), known_together(whole, df, free)


def known_together(shares: Floats, degrees_of_freedom: Floats, free: Numbers = 0.0) -> Floats:
    """Degrees of freedom (...) of a variance that is the sum of those of several measures, and of the model.

    Each variance is known by itself, a measure's from its own runs, so that their sum is known better than any of them
    (Welch and Satterthwaite: JCGM 100:2008, G.4.1). Where the weights lean on the same estimates that is too little,
    and variances count as wrong together, as within one measure; between both the reciprocals are weighed.

    Parameters
    ----------
    shares : of each measure in the sum [1], (..., k)
    degrees_of_freedom : of each measure [1], (k,) or (..., k)
    free : what uncertain weights add, as a share of the variance without it [1], (...)

    Returns
    -------
    ndarray
        [1], (...).
    """
    df = np.broadcast_to(degrees_of_freedom, shares.shape)
    part = shares / np.maximum(shares.sum(axis=-1, keepdims=True), np.finfo(float).tiny)
    apart = (np.square(part) / df).sum(axis=-1)
    trusted = np.maximum(0.0, 1.0 - FREE * np.asarray(free))
    with np.errstate(divide="ignore"):
        return 1.0 / (trusted * apart + (1.0 - trusted) / join(part, df)[1])


def fit(
    airspeed: Floats,
    force: Floats,
    covariance: Floats,
    degrees_of_freedom: Floats,
    worst: Floats,
    aloft: Floats,
) -> Line:
    """The line through measures at ``airspeed`` (k,), of which those marked ``aloft`` (k,) were seen in flight.

    Raises ValueError where the measures do not see two airspeeds.

    Parameters
    ----------
    airspeed : true airspeed of each measure [m/s], (k,)
    force : difference that each measure tells [N, or share], (..., k)
    covariance : covariance of the measures, (..., k, k)
    degrees_of_freedom : degrees of freedom of each measure [1], (..., k)
    worst : worst drift of each measure, in the unit of the differences, (..., k)
    aloft : whether each was seen in flight, (k,)
    """
    airspeed, force = np.asarray(airspeed, dtype=float), np.asarray(force, dtype=float)
    if np.ptp(airspeed) < LEAST_APART:
        raise ValueError("a line needs measures at two airspeeds")
    climb = float(airspeed[aloft].min() if np.any(aloft) else BEYOND_ROLL * airspeed.max())
    variance = np.diagonal(covariance, axis1=-2, axis2=-1)
    covariance = covariance + RIDGE * variance.max(axis=-1)[..., None, None] * np.eye(airspeed.size)
    given = (airspeed, force, covariance, np.asarray(degrees_of_freedom, dtype=float), np.asarray(worst), climb)
    straight = Line(*given, larger=np.zeros(force.shape[:-1]))
    return Line(*given, larger=np.maximum(*(np.abs(straight.at(speed).value) for speed in (0.0, climb))))


def _columns(airspeed: Numbers, climb: float) -> Floats:
    """Columns (..., 2) of the line at airspeeds [m/s]."""
    x = np.asarray(airspeed, dtype=float) / climb
    return np.stack([np.ones_like(x), x], axis=-1)


def _shapes(airspeed: Numbers, climb: float) -> tuple[Floats, Floats]:
    """Shapes of bend and kink (...) at airspeeds [m/s]."""
    x = np.asarray(airspeed, dtype=float) / climb
    return np.where((x > 0.0) & (x < 1.0), 4.0 * x * (1.0 - x), 0.0), np.maximum(x - 1.0, 0.0)
