"""Does a run stand out among its like, and what may be made of that?

The run is held against the other counted runs of its configuration, all at the common sky, by the prediction interval
of one more reading: t = (y - mean) / (s sqrt(1 + 1/n)) with n - 1 degrees of freedom, the externally studentised
residual of a mean (R. D. Cook, S. Weisberg, Residuals and Influence in Regression, 1982, ch. 2).

That a run stands out is never a reason to leave it out: runs chosen by their result make any difference look real.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.inference.uncertainty import two_sided_p

#: Fewest other runs for which anything is said (chosen: three give two degrees of freedom).
FEWEST = 3
#: Probability below which a run is said to stand out (chosen: one run in a hundred does so by chance).
RARE = 0.01


@dataclass(frozen=True, slots=True)
class OutlierCheck:
    """One run among its like, on the scale of the comparison (logarithm for a ratio measure).

    ``others`` how many; their ``mean`` and standard deviation ``scatter``; ``t`` of the run with ``others - 1`` degrees
    of freedom and ``p``, the probability of one more run so far away, both NaN where the others do not scatter.
    """

    others: int
    mean: float
    scatter: float
    t: float
    p: float

    @property
    def stands_out(self) -> bool:
        """Whether one more run of the same would seldom be so far away."""
        return bool(self.p < RARE)


def outlier_check(value: float, others: np.ndarray) -> OutlierCheck | None:
    """How a run's value stands among others (n,), all on the scale of the comparison; None with fewer than three."""
    others = np.asarray(others, dtype=float)
    others = others[np.isfinite(others)]
    n = others.size
    if n < FEWEST or not np.isfinite(value):
        return None
    mean, scatter = float(others.mean()), float(others.std(ddof=1))
    t = (value - mean) / (scatter * np.sqrt(1.0 + 1.0 / n)) if scatter > 0 else np.nan
    return OutlierCheck(n, mean, scatter, float(t), float(two_sided_p(np.abs(t), n - 1)))
