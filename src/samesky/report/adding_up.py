"""How are parts rounded so that what is printed adds up?

Each number rounded by itself, a reader who checks the sum finds it one off in the last digit. Here the parts are
rounded so that the printed start and the printed parts give the printed end, by largest remainders (Hamilton's method).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def adding_up(parts: Sequence[float], decimals: int, whole: float | None = None) -> list[float]:
    """The parts, each a multiple of a unit of the last digit, whose sum is the rounded ``whole``.

    Parameters
    ----------
    parts : the numbers to print; where one is not finite they come back as they are
    decimals : places behind the point
    whole : what their sum is printed as, already rounded; by default the rounded sum of the parts
    """
    values = np.asarray(parts, dtype=float) * 10.0**decimals
    if not values.size or not np.isfinite(values).all():
        return [float(part) for part in parts]
    units = round(values.sum()) if whole is None else round(whole * 10.0**decimals)
    # Halves that arithmetic has left a little above or below a whole unit are that whole unit.
    floor = np.floor(values + 1e-9)
    missing = int(units - floor.sum())
    order = np.argsort(-(values - floor), kind="stable")
    for step in range(abs(missing)):
        floor[order[step % order.size] if missing > 0 else order[-1 - step % order.size]] += np.sign(missing)
    return [float(unit) / 10.0**decimals for unit in floor]


def strides_adding_up(
    start: float, parts: Sequence[float], end: float, decimals: int
) -> tuple[float, list[float], float]:
    """Start and end as they round by themselves, and parts between that lead from the one to the other."""
    first, last = (round(value, decimals) + 0.0 if np.isfinite(value) else value for value in (start, end))
    return first, adding_up(parts, decimals, last - first) if np.isfinite(last - first) else list(parts), last
