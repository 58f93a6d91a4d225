"""Would the flying planned settle the question, if the runs scatter as expected?

The same recognised design, the same estimate and the same stated sources as in the comparison, on a campaign that
scatters exactly as expected; then the power of its t test for a true difference as large as the smallest that matters,
and of two one-sided tests for none at all (:mod:`samesky.inference.power`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy import optimize, special

from samesky.inference.budget import Part, covariance
from samesky.inference.design import Design
from samesky.inference.estimate import Estimate, by_what_is_stated, estimate, not_stated
from samesky.inference.joined import SHAPING, between_axes
from samesky.inference.looks import Look
from samesky.inference.power import Expected, t_power
from samesky.planning.question import Wanted

#: One in five documented scatters is smaller than the truth by more than this quantile says.
_DOUBT = 0.20
#: Middles of equal chance, for what installations may show.
_CHANCES = (np.arange(20) + 0.5) / 20


@dataclass(frozen=True, slots=True)
class Prospect:
    """What one measure can be expected to answer.

    ``scatter`` of one run, ``uncertainty`` of the difference, ``smallest`` that matters: on the scale of the
    comparison. ``found``: probability of finding a true difference as large as the smallest that matters; ``none``: of
    showing that there is none that matters, where there is none; ``careful``: the smaller of both, were the scatter as
    large as its documentation allows (one in five). ``shares`` of the variance of the difference by cause, largest
    first. ``worst_drift`` is the limit of a drift that the order hides, beside the uncertainty, ``typical_drift`` what
    it is likely to do. Zero probabilities and NaN uncertainty where the order can give no interval.
    """

    design: str
    method: str
    assumption: str
    scatter: float
    uncertainty: float
    degrees_of_freedom: float
    smallest: float
    found: float
    none: float
    careful: float
    shares: tuple[tuple[str, str, float], ...]
    worst_drift: float = 0.0
    typical_drift: float = 0.0

    @property
    def expected(self) -> Expected:
        """The interval to be expected."""
        return Expected(self.uncertainty, self.degrees_of_freedom, self.worst_drift, self.typical_drift)

    @property
    def combined(self) -> float:
        """Standard uncertainty with the limit of drift as a rectangular distribution (JCGM 100:2008, 4.3.7)."""
        return float(np.hypot(self.uncertainty, self.worst_drift / np.sqrt(3.0)))

    @property
    def least(self) -> float:
        """The smaller of the two probabilities."""
        return min(self.found, self.none)


def scatter_of(wanted: Wanted, parts: tuple[Part, ...], level: float) -> float:
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


def typical(design: Design, parts: tuple[Part, ...], scatter: float) -> np.ndarray:
    """Values (n,) of a campaign without difference whose residual mean square is just what is to be expected.

    To be expected is the scatter of the runs with what the order shows of every shared source.
    """
    design, order = by_what_is_stated(design, parts), design.order
    spread = scatter**2 * np.eye(order.runs)
    if design.route != "joined":
        spread = spread + sum(
            (covariance(part, order) for part in parts if part.scope not in ("run", "campaign")), np.zeros_like(spread)
        )
    rows = design.residual
    expected = np.einsum("ij,jk,ik->", rows, spread, rows) / design.degrees_of_freedom
    typical = np.linalg.pinv(rows) @ np.full(len(rows), np.sqrt(expected))
    return typical + _between(design, parts, scatter)


def _between(design: Design, parts: tuple[Part, ...], scatter: float) -> np.ndarray:
    """What installations to spare add to the values (n,) of a typical campaign; nothing where none are."""
    if not design.spare_blocks:
        return np.zeros(design.order.runs)
    rows, extra = _axes(design, parts)
    return np.linalg.pinv(rows) @ np.sqrt(scatter**2 + extra)


def _axes(design: Design, parts: tuple[Part, ...]) -> tuple[np.ndarray, np.ndarray]:
    order = design.order
    stated = sum((covariance(part, order) for part in parts if part.scope in SHAPING), np.zeros((order.runs,) * 2))
    return between_axes(design, stated)


def expected_estimate(design: Design, parts: tuple[Part, ...], scatter: float) -> Estimate:
    """The estimate that a campaign with this scatter of runs would typically give; its difference is zero."""
    if design.route == "none" or not_stated(design, parts):
        return estimate(design, np.zeros(design.order.runs), parts)
    y = typical(design, parts, scatter)
    found = estimate(design, y, parts)
    own = by_what_is_stated(design, parts)
    if not own.spare_blocks:
        return found
    # Whether installations contradict what is entered is left to chance: the uncertainty is the one whose t test finds
    # a difference as often as the tests over all that installations may show.
    between = _between(own, parts, scatter)
    # The scatter of the runs, to which installations are held, is seen too: its share decides how well that is known.
    of_runs = scatter**2 * own.spare_blocks / max(float(np.square(_axes(own, parts)[0] @ between).sum()), 1e-300)
    ratio = special.fdtri(own.spare_blocks, own.degrees_of_freedom / max(of_runs, 0.01) ** 2, _CHANCES)
    shown = (np.sqrt(ratio) - 1.0)[:, None] * between
    low, high = estimate(design, y + shown, parts).interval(0.95)
    true, each, df = float(found.standard_uncertainty), 0.5 * (high - low), min(float(found.degrees_of_freedom), 1e6)
    if not true > 0:
        return found
    size = float(np.median(each)) + true
    finds = float(np.mean(special.ndtr((size - each) / true)))
    alike = optimize.brentq(lambda u: float(t_power(size, u, df)) - finds, 0.2 * true, 20.0 * true)
    return replace(found, standard_uncertainty=alike)


def prospect(
    design: Design,
    parts: tuple[Part, ...],
    wanted: Wanted,
    level: float,
    margins: tuple[float, float],
    look: Look | None = None,
    doubt: bool = True,
) -> Prospect:
    """What the measure can be expected to answer, flown in the order of ``design``.

    ``margins`` are the smallest differences that matter, down and up, on the scale of the comparison; ``look`` is the
    last of the planned ones. Without ``doubt`` the documentation of the scatter is taken at its word.
    """
    scatter = scatter_of(wanted, parts, level)
    lower, upper = margins
    smallest = -lower if wanted.asked.better == "smaller" else upper
    result = expected_estimate(design, parts, scatter)
    found, none = _powers(result, smallest, margins, look)
    careful = min(found, none)
    if doubt and wanted.scatter is not None and np.isfinite(wanted.degrees_of_freedom):
        df = wanted.degrees_of_freedom
        more = scatter * float(np.sqrt(df / (2.0 * special.gammaincinv(df / 2.0, _DOUBT))))
        careful = min(_powers(expected_estimate(design, parts, more), smallest, margins, look))
    return Prospect(
        design=design.name,
        method=design.method,
        assumption=design.assumption,
        scatter=scatter,
        uncertainty=float(result.standard_uncertainty),
        degrees_of_freedom=float(result.degrees_of_freedom),
        smallest=smallest,
        found=found,
        none=none,
        careful=careful,
        shares=_shares(result),
        worst_drift=float(result.worst_drift),
        typical_drift=float(result.typical_drift),
    )


def smallest_found(found: Prospect, power: float, look: Look | None = None) -> float:
    """The smallest true difference, on the scale of the comparison, that is found with probability ``power``.

    ``look`` is the last of the planned ones; infinite where the order can give no interval.
    """
    if not np.isfinite(found.uncertainty):
        return np.inf
    expected = found.expected
    alpha = 1.0 - look.level if look else 0.05

    def short(size: float) -> float:
        return expected.finds(size, alpha) - power

    if short(0.0) >= 0.0:
        return 0.0
    most = found.uncertainty
    while short(most) < 0.0:
        most *= 2.0
    return float(optimize.brentq(short, 0.0, most))


def _powers(result: Estimate, smallest: float, margins: tuple[float, float], look: Look | None) -> tuple[float, float]:
    if not np.isfinite(float(result.standard_uncertainty)):
        return 0.0, 0.0
    expected = Expected(
        float(result.standard_uncertainty),
        float(result.degrees_of_freedom),
        float(result.worst_drift),
        float(result.typical_drift),
    )
    alpha, alpha_none = (1.0 - look.level, (1.0 - look.equivalence_level) / 2.0) if look else (0.05, 0.05)
    return expected.finds(smallest, alpha), expected.shows_none(margins, alpha_none)


def _shares(result: Estimate) -> tuple[tuple[str, str, float], ...]:
    rows = [("scatter of the runs", "run", float(np.square(result.type_a)))]
    rows += [(part.name, part.scope, float(variance)) for part, variance in result.added]
    # A limit counts as the rectangular distribution of that half-width: JCGM 100:2008, 4.3.7.
    rows.append(("worst drift believed", "straight drift", float(result.worst_drift) ** 2 / 3.0))
    total = sum(variance for _, _, variance in rows)
    if not total > 0:
        return ()
    rows = [(name, scope, variance / total) for name, scope, variance in rows if variance > 1e-6 * total]
    return tuple(sorted(rows, key=lambda row: -row[2]))
