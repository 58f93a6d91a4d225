"""Computed values for the printed rows on power, equivalence sample sizes and early looks, by row name."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
from scipy import special
from scipy.optimize import brentq

from samesky.inference import looks, power
from samesky.inference.uncertainty import t_quantile
from samesky.published.registry import row, rows


def group_size(effect: float, wanted: float, sides: int = 2) -> int:
    """Readings a group, not whole, at which the power is reached, to the nearest whole number as Cohen prints it."""
    short = lambda n: float(power.t_power(effect, np.sqrt(2 / n), 2 * n - 2, sides=sides)) - wanted  # noqa: E731
    return round(brentq(short, 2.0, 1000.0))


COMPUTED: dict = {
    "COH-1": lambda: power.t_power(2 / 2.8, np.sqrt(2 / 30), 58),
    "COH-2": lambda: power.t_power(8 / (16 * np.sqrt(2 * (1 - 0.6))), 1 / np.sqrt(40), 39),
    "COH-3": lambda: power.t_power(0.2, 1 / np.sqrt(60), 59, alpha=0.10),
    "COH-4": lambda: group_size(0.3, 0.75, sides=1),
    "PT-1": lambda: power.tost_power(np.log(0.95), np.sqrt(np.log1p(0.30**2) * 2 / 40), 38, np.log(0.80), np.log(1.25)),
    "NSS-1": lambda: (2 * t_quantile(0.95, np.inf)) ** 2,
}
for _d in ("0.2", "0.5", "0.8", "1.0", "1.2", "1.4"):
    COMPUTED[f"COHT-{_d}"] = lambda d=float(_d): group_size(d, 0.80)


def _by_iteration() -> int:
    """Smallest n with n >= (t(.95, n - 1) + t(.95, n - 1)) squared."""
    return next(n for n in range(2, 100) if n >= (2 * t_quantile(0.95, n - 1)) ** 2)


COMPUTED["NSS-2"] = _by_iteration


@cache
def _equivalence(id_: str) -> int:
    wanted, scatter, true, low, high = (
        float(number) for number in re.findall(r"-?\d+\.?\d*", row(id_).inputs.replace("..", " "))
    )
    if id_.startswith("CT5_4"):
        return power.crossover_equivalence_runs(scatter, true, low, high, wanted)
    high = 4 / 3 if high == 1.333 else high
    sd = np.sqrt(np.log1p(scatter**2))
    return power.crossover_equivalence_runs(sd, np.log(true), np.log(low), np.log(high), wanted)


for _row in rows(table="statistics"):
    if _row.id.startswith("CT5_"):
        COMPUTED[_row.id] = lambda id_=_row.id: _equivalence(id_)

for _alpha in (0.01, 0.05):
    for _k in range(2, 11):
        COMPUTED[f"POC-{_alpha}-{_k}"] = lambda a=_alpha, k=_k: looks.constant(k, a, 0.5)
        COMPUTED[f"OBF-{_alpha}-{_k}"] = lambda a=_alpha, k=_k: looks.constant(k, a, 0.0)
for _delta, _k in ((0.1, 9), (0.25, 6), (0.4, 7)):
    COMPUTED[f"WT-{_delta}-{_k}"] = lambda d=_delta, k=_k: looks.constant(k, 0.05, d)
for _k in (1, 2, 3, 4, 5, 10, 20):
    COMPUTED[f"PEEK-{_k}"] = lambda k=_k: looks.crossing_by_look(np.full(k, 1.959964)).sum()


@cache
def spending(kind: str) -> np.ndarray:
    """Limits that spend the error as Lan and DeMets (1983) do: checks the recursion at unequal limits."""
    share = np.arange(1, 6) / 5
    spent = (
        4 * special.ndtr(special.ndtri(0.0125) / np.sqrt(share))
        if kind == "OF"
        else 0.05 * np.log1p((np.e - 1) * share)
    )
    found = np.empty(5)
    for look, target in enumerate(spent):
        low, high = 0.0, 12.0
        for _ in range(50):
            found[look] = (low + high) / 2
            low, high = (
                (found[look], high) if looks.crossing_by_look(found[: look + 1]).sum() > target else (low, found[look])
            )
    return found


for _k in range(5):
    COMPUTED[f"LDOF-{_k + 1}"] = lambda k=_k: spending("OF")[k]
    COMPUTED[f"LDPO-{_k + 1}"] = lambda k=_k: spending("PO")[k]
