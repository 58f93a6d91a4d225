"""Which flying first, where a kind of flying is still open: how many more fittings or runs of which measure?

Growing one measure shrinks what repeats scatter by, not what all runs share. Asked is the least flying of one measure
after which the weighted gain, if it stays as it looks now, is sure or shown not to matter.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from samesky.inference.explain import shrinks_and_stays
from samesky.inference.result import Comparison
from samesky.inference.uncertainty import join, t_quantile
from samesky.mission.trade_off import Gain, Suited

#: Beyond so many times the flying of one measure nobody is sent (chosen).
MOST = 4


@dataclass(frozen=True, slots=True)
class FlyFirst:
    """What to fly: ``fittings`` more of each configuration with ``runs`` of the measure on each.

    Where nothing is fitted anew ``fittings`` is 0 and ``runs`` counts the runs of each. ``back``: that alone the day is
    gone back to its first configuration settles it, and no number of runs does.
    """

    measure: str
    title: str
    fittings: int
    runs: int
    back: bool = False


def fly_first(
    suited: Suited,
    found: Mapping[str, Gain],
    comparisons: Sequence[Comparison],
    shared: Mapping[tuple[str, str], float],
) -> FlyFirst | None:
    """The least flying of one measure that settles an open kind of flying; None where none of up to four times does.

    ``comparisons`` are those of the pair, ``found`` its gains and ``shared`` their correlations.
    """
    by_name = {one.measure: one for one in comparisons}
    if suited.answer != "open" or suited.missing or suited.unsure:
        return None
    names = list(suited.weights)
    weighed = np.array([suited.weights[name] * found[name].standard_uncertainty for name in names])
    df = np.array([found[name].degrees_of_freedom for name in names])
    limits = np.array([suited.weights[name] * found[name].worst_drift for name in names])
    own = np.array([[1.0 if a == b else shared.get((a, b), 0.0) for b in names] for a in names])
    if limits.sum() > 0 and _settled(suited.value, weighed, df, own, 0.0):
        largest = names[int(np.argmax(limits))]
        return FlyFirst(largest, found[largest].title, 0, 0, back=True)
    best: tuple[float, FlyFirst] | None = None
    for place, name in enumerate(names):
        one = by_name[name]
        seen, stays = shrinks_and_stays(one)
        part = seen**2 / (seen**2 + stays**2)
        for more, growth in _steps(one):
            less, freer = weighed.copy(), df.copy()
            less[place] *= math.sqrt(1.0 - part * (1.0 - 1.0 / growth))
            freer[place] *= growth
            if _settled(suited.value, less, freer, own, float(limits.sum())):
                if best is None or growth < best[0]:
                    best = growth, FlyFirst(name, one.title, *more)
                break
    return None if best is None else best[1]


def _steps(one: Comparison) -> list[tuple[tuple[int, int], float]]:
    """(fittings and runs more, how many times the flying that makes), the least first."""
    runs = min(one.runs.values())
    if not one.design.order.fitted_anew:
        return [((0, more), 1.0 + more / runs) for more in range(1, (MOST - 1) * runs + 1)]
    fittings = min(one.fittings.values())
    each = max(1, round(runs / fittings))
    return [((more, each), 1.0 + more / fittings) for more in range(1, (MOST - 1) * fittings + 1)]


def _settled(value: float, weighed: np.ndarray, df: np.ndarray, own: np.ndarray, limit: float) -> bool:
    """Whether the interval clears zero, or lies within one margin either way."""
    variance = max(float(weighed @ own @ weighed), float(np.square(weighed).sum()))
    _, effective = join(np.square(weighed), df)
    half = {
        level: float(t_quantile(0.5 + level / 2.0, float(effective))) * math.sqrt(variance) + limit
        for level in (0.95, 0.90)
    }
    return abs(value) > half[0.95] or abs(value) + half[0.90] < 1.0
