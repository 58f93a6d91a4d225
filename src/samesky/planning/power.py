"""Would the flying planned settle the question, if the runs scatter as expected?

Campaigns are drawn that scatter and drift just as entered, and go through the same recognised design, the same estimate
and the same stated sources as the comparison: whatever the estimate makes of a scatter that came out small or of
fittings that differ more than entered, the plan knows. Of each campaign the width of its interval counts, and how far
its difference, with its own weights, falls from the truth; chance is averaged over that fall in closed form, so that
few campaigns are enough.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import optimize, special

from samesky.inference.budget import UncertaintyComponent, covariance
from samesky.inference.design import Design
from samesky.inference.estimate import Estimate, estimate, not_stated
from samesky.inference.looks import Look
from samesky.planning.question import Wanted

#: One in five documented scatters is smaller than the truth by more than this quantile says.
_DOUBT = 0.20
#: Campaigns drawn where many plans are tried, and for the plan that is kept (Monte Carlo error below 0.4 %).
FEW, MANY = 400, 8000
_SEED = 20_260_103


@dataclass(frozen=True, slots=True, eq=False)
class Chances:
    """What campaigns flown in one order come to: ``result`` of each (k,), its true difference taken off, and
    ``spread`` (k,), the standard deviation of its difference about the truth.
    """

    result: Estimate
    spread: np.ndarray

    def half_width(self, level: float = 0.95) -> float:
        """Half the interval to be expected; NaN where none has one.

        The median of the campaigns: with few degrees of freedom a mean is that of the few widest, and a further block
        would seem to widen.
        """
        half = np.atleast_1d(_half(self.result.interval(level)))
        half = half[~np.isnan(half)]
        return float(np.median(half)) if half.size else float("nan")

    def found(self, size: float, level: float = 0.95) -> float:
        """Probability that the interval of ``level`` leaves out zero on the right side, the truth being ``size``."""
        return self.finding(level)(size)

    def finding(self, level: float = 0.95) -> Callable[[float], float]:
        """The same as a function of the true difference."""
        half = _half(self.result.interval(level))

        def found(size: float) -> float:
            clear = special.ndtr((abs(size) - half) / self.spread)
            return float(np.mean(np.where(np.isnan(clear), 0.0, clear)))

        return found

    def none(self, margins: tuple[float, float], level: float = 0.90, difference: float = 0.0) -> float:
        """Probability that the interval of ``level`` lies inside the margins, were this the true difference."""
        lower, upper = margins
        half = _half(self.result.equivalence_interval(level))
        inside = special.ndtr((upper - half - difference) / self.spread) - special.ndtr(
            (lower + half - difference) / self.spread
        )
        return float(np.mean(np.where(np.isnan(inside), 0.0, np.maximum(inside, 0.0))))


def _half(ends: tuple[np.ndarray, np.ndarray]) -> np.ndarray:
    return 0.5 * (ends[1] - ends[0])


@dataclass(frozen=True, slots=True)
class MeasurePower:
    """What one measure can be expected to answer.

    ``scatter`` of one run, ``uncertainty`` of the difference, ``smallest`` that matters: on the scale of the
    comparison; ``uncertainty`` is the root mean square of the campaigns drawn. ``found``: probability of finding a true
    difference as large as the smallest that matters; ``none``: of showing that there is none that matters, where there
    is none; ``with_more_scatter``: the smaller of both, were the scatter as large as its documentation allows (one in
    five).
    ``shares`` of the variance of the difference by cause, largest first; ``worst_drift`` the limit of a drift that the
    order hides, beside the uncertainty; ``chances`` of the campaigns drawn. Zero probabilities and NaN uncertainty
    where the order can give no interval.
    """

    design_name: str
    method: str
    assumption: str
    scatter: float
    uncertainty: float
    degrees_of_freedom: float
    smallest: float
    found: float
    none: float
    with_more_scatter: float
    shares: tuple[tuple[str, str, float], ...]
    worst_drift: float = 0.0
    chances: Chances | None = None

    @property
    def combined(self) -> float:
        """Standard uncertainty with the limit of drift as a rectangular distribution (JCGM 100:2008, 4.3.7)."""
        return float(np.hypot(self.uncertainty, self.worst_drift / np.sqrt(3.0)))

    @property
    def least(self) -> float:
        """The smaller of the two probabilities."""
        return min(self.found, self.none)


def scatter_of(wanted: Wanted, parts: tuple[UncertaintyComponent, ...], level: float) -> float:
    """Standard deviation of one run on the scale of the comparison: as documented, else what its sources make.

    ``level`` is the expected result [SI]. Without documentation it is the root sum square of everything that is new on
    each run, the gusts of the forecast among it; a pilot's own scatter is not, so that it is a lower bound.
    """
    if wanted.scatter is None:
        runs = [np.square(part.sensitivity) for part in parts if part.scope == "run"]
        return float(np.sqrt(np.mean(np.sum(runs, axis=0)))) if runs else 0.0
    if wanted.asked.measure.ratio:
        return wanted.scatter if wanted.scatter_is_fraction else wanted.scatter / abs(level)
    return wanted.scatter * abs(level) if wanted.scatter_is_fraction else wanted.scatter


def true_covariance(design: Design, parts: tuple[UncertaintyComponent, ...], scatter: float) -> np.ndarray:
    """Covariance (n, n) of the runs of campaigns that scatter and drift just as entered.

    What is new on each run is in ``scatter``; each day has a slope of its own.
    """
    shared = (covariance(part, design.order) for part in parts if part.scope != "run")
    return sum(shared, scatter**2 * np.eye(design.order.runs))


@lru_cache(maxsize=64)
def _drawn(campaigns: int, runs: int, stream: int = 0) -> np.ndarray:
    """Standard normal values (campaigns, runs), the same for every plan, so that plans differ by no luck."""
    return np.random.default_rng(_SEED + stream).standard_normal((campaigns, runs))


def chances(
    design: Design, parts: tuple[UncertaintyComponent, ...], scatter: float, campaigns: int = MANY
) -> Chances | None:
    """What campaigns of this order come to; None where it can give no interval."""
    drawn = values_drawn(design, parts, scatter, campaigns)
    if drawn is None:
        return None
    result, spread = drawn[0], true_covariance(design, parts, scatter)
    weights = np.broadcast_to(result.weights, (campaigns, len(spread)))
    return Chances(result, np.sqrt(((weights @ spread) * weights).sum(axis=-1)))


def values_drawn(
    design: Design, parts: tuple[UncertaintyComponent, ...], scatter: float, campaigns: int, stream: int = 0
) -> tuple[Estimate, np.ndarray] | None:
    """Estimates of drawn campaigns without a difference, and their values (campaigns, n); None without an interval.

    Each ``stream`` has chances of its own.
    """
    if design.estimator == "none" or not_stated(design, parts):
        return None
    spread = true_covariance(design, parts, scatter)
    # Where nothing but shared errors is left the covariance has no full rank; a share that nobody sees gives it one.
    root = np.linalg.cholesky(spread + 1e-18 * max(np.trace(spread), 1e-300) * np.eye(len(spread)))
    values = _drawn(campaigns, len(spread), stream) @ root.T
    return estimate(design, values, parts), values


def measure_power(
    design: Design,
    parts: tuple[UncertaintyComponent, ...],
    wanted: Wanted,
    level: float,
    margins: tuple[float, float],
    look: Look | None = None,
    doubt: bool = True,
    campaigns: int = MANY,
) -> MeasurePower:
    """What the measure can be expected to answer, flown in the order of ``design``.

    ``margins`` are the smallest differences that matter, down and up, on the scale of the comparison; ``look`` is the
    last of the planned ones. Without ``doubt`` the documentation of the scatter is taken at its word; ``campaigns`` are
    drawn.
    """
    scatter = scatter_of(wanted, parts, level)
    smallest = smallest_of(wanted, margins)
    drawn = chances(design, parts, scatter, campaigns)
    result = None if drawn is None else drawn.result
    found, none = _powers(drawn, smallest, margins, look)
    with_more_scatter = min(found, none)
    if doubt and wanted.scatter is not None and np.isfinite(wanted.degrees_of_freedom):
        df = wanted.degrees_of_freedom
        more = scatter * float(np.sqrt(df / (2.0 * special.gammaincinv(df / 2.0, _DOUBT))))
        with_more_scatter = min(_powers(chances(design, parts, more, campaigns), smallest, margins, look))
    return MeasurePower(
        design_name=design.name,
        method=design.method,
        assumption=design.assumption,
        scatter=scatter,
        uncertainty=float("nan") if result is None else _root_mean_square(result.standard_uncertainty),
        degrees_of_freedom=float("nan") if result is None else float(np.nanmedian(result.degrees_of_freedom)),
        smallest=smallest,
        found=found,
        none=none,
        with_more_scatter=with_more_scatter,
        shares=_shares(drawn),
        worst_drift=0.0 if result is None else _root_mean_square(result.worst_drift),
        chances=drawn,
    )


def smallest_of(wanted: Wanted, margins: tuple[float, float]) -> float:
    """The smallest difference that matters towards the better side, on the scale of the comparison."""
    return -margins[0] if wanted.asked.better == "smaller" else margins[1]


def smallest_found(found: MeasurePower, power: float, look: Look | None = None) -> float:
    """The smallest true difference, on the scale of the comparison, that is found with probability ``power``.

    ``look`` is the last of the planned ones; infinite where the order can give no interval.
    """
    if found.chances is None or not np.isfinite(found.uncertainty):
        return np.inf
    level = look.level if look else 0.95

    finding = found.chances.finding(level)

    def short(size: float) -> float:
        return finding(size) - power

    if short(0.0) >= 0.0:
        return 0.0
    most = found.uncertainty
    while short(most) < 0.0:
        most *= 2.0
    return float(optimize.brentq(short, 0.0, most))


def _powers(
    drawn: Chances | None, smallest: float, margins: tuple[float, float], look: Look | None
) -> tuple[float, float]:
    if drawn is None:
        return 0.0, 0.0
    level, alike = (look.level, look.equivalence_level) if look else (0.95, 0.90)
    return drawn.found(smallest, level), drawn.none(margins, alike)


def _root_mean_square(values: np.ndarray | float) -> float:
    known = np.atleast_1d(np.asarray(values, dtype=float))
    known = known[~np.isnan(known)]
    return float(np.sqrt(np.mean(np.square(known)))) if known.size else float("nan")


def _shares(drawn: Chances | None) -> tuple[tuple[str, str, float], ...]:
    if drawn is None:
        return ()
    result = drawn.result
    rows = [("scatter of the runs", "run", float(np.mean(np.square(result.type_a))))]
    rows += [(part.name, part.scope, float(np.mean(variance))) for part, variance in result.added]
    # A limit counts as the rectangular distribution of that half-width: JCGM 100:2008, 4.3.7.
    rows.append(("worst drift believed", "straight drift", float(np.mean(np.square(result.worst_drift))) / 3.0))
    total = sum(variance for _, _, variance in rows)
    if not total > 0:
        return ()
    rows = [(name, scope, variance / total) for name, scope, variance in rows if variance > 1e-6 * total]
    return tuple(sorted(rows, key=lambda row: -row[2]))
