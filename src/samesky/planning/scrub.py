"""In which conditions should a run be scrubbed? Limits that follow from how well the corrections are known.

Each condition is moved away from the common sky, with everything else held there. What a correction then leaves is
what its own doubt makes of the distance: the standard uncertainty of its coefficient, of an instrument that is off by
the same on every run, and the growth of the reading error. The limit is where that exceeds the stated share of the
smallest difference, were every run of one configuration flown there and every run of the other on the common sky: the
worst that chance can do. A correction is moreover never used outside the range in which its measure believes it; that
may leave out the forecast itself.

Gusts have no correction. The mean wind along one run is taken to scatter by a third of the gust spread (assumed: a
gust is about three standard deviations above the mean); as it is new on every run, it averages with their number.

A bound is looked for only as far as anybody flies: winds and spreads of gusts to 12 m/s (Beaufort 6, assumed), and no
further than the slowest airspeed of the measure. Beyond that nothing is set.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from samesky.inference.design import Design
from samesky.instruments.sources import ErrorSource
from samesky.measures.sensitivity import sensitivities
from samesky.measures.shape import Limit, Measure, Runs, Sky

#: How far a condition is moved to either side [SI], by name; airspeeds and weight by a share of themselves.
_REACH = {"oat": 30.0, "pressure": 5000.0, "headwind": 12.0, "gust spread": 12.0}
_REACH_SHARE = 0.30
_STEPS = 601
#: Gust less mean wind, over the standard deviation of the mean wind along a run. Assumed.
PEAK = 3.0
#: Conditions that the weather or the pilot moves from run to run; the others are places.
_MOVING = ("oat", "pressure", "weight", "headwind")


@dataclass(frozen=True, slots=True)
class ScrubLimit:
    """Between ``low`` and ``high`` [SI] what a condition leaves stays below the stated share.

    ``middle`` is the common sky; ``why`` says what sets the limit; ``rule`` is ``"derived"`` (by what is left),
    ``"range"`` (by the range in which a correction is believed), ``"gust"`` or ``"papers"``. A bound that nothing sets
    is infinite. ``reading`` is what reading errors of this condition put into the difference, over the smallest
    difference that matters. ``low`` above ``high`` says that nothing near the common sky will do.
    """

    condition: str
    measure: str
    low: float
    high: float
    middle: float
    rule: str
    why: str
    reading: float = 0.0


def scrub_limits(
    measure: Measure,
    runs: Runs,
    sky: Sky,
    sources: Iterable[ErrorSource],
    design: Design,
    smallest: float,
    share: float,
    conditions: Collection[str] | None = None,
) -> list[ScrubLimit]:
    """The limits of one measure, or of the named conditions alone.

    Parameters
    ----------
    runs, sky : prepared columns of the planned runs and their common sky [SI]
    sources : error sources of the campaign
    smallest : difference that matters, on the scale of the comparison; ``share`` of it that may be left
    """
    sources = tuple(sources)
    one_sky = {name: float(np.mean(value)) for name, value in sky.items()}
    middle = {name: one_sky[name] if name in one_sky else float(np.mean(values)) for name, values in runs.items()}
    averaging = float(np.sqrt(np.square(design.weights).sum()))
    found = []
    for name in _moving(measure, runs, one_sky):
        if conditions is not None and name not in conditions:
            continue
        found.append(_band(measure, middle, one_sky, sources, name, averaging, smallest, share))
    if conditions is None and "headwind" in runs and "headwind" in {column.name for column in measure.columns}:
        gust = _gust(measure, middle, one_sky, averaging, smallest, share)
        found += [gust] if gust is not None else []
    return found


def _moving(measure: Measure, runs: Runs, sky: Sky) -> list[str]:
    airspeeds = [column.name for column in measure.columns if column.name.endswith("airspeed")]
    names = dict.fromkeys([*_MOVING, *airspeeds])
    return [
        name
        for name in names
        if name in runs and np.all(np.isfinite(runs[name])) and (name in measure.conditions or name in airspeeds)
    ]


def _band(
    measure: Measure,
    middle: Mapping[str, float],
    sky: Sky,
    sources: tuple[ErrorSource, ...],
    name: str,
    averaging: float,
    smallest: float,
    share: float,
) -> ScrubLimit:
    centre = middle[name]
    reach = _REACH.get(name, _REACH_SHARE * abs(centre))
    grid = centre + reach * np.linspace(-1.0, 1.0, _STEPS)
    moved = {key: np.full(_STEPS, value) for key, value in middle.items()} | {name: grid}
    with np.errstate(all="ignore"):
        effects = sensitivities(measure, moved, sky, sources)
        ranges = [(limit, _excess(limit, moved, sky)) for limit in measure.limits]
    at = _STEPS // 2
    shared, reading = np.zeros(_STEPS), np.zeros(_STEPS)
    for source, size in effects:
        if source.scope == "run" and source.target == name:
            reading += np.square(size)
        elif source.scope not in ("run", "straight drift", "wandering") and source.target != "result":
            shared += np.square(size - size[at])
    left = np.sqrt(shared + averaging**2 * np.maximum(reading - reading[at], 0.0))
    low, high = _around(grid, left / (share * smallest) - 1.0)
    rule, why = "derived", "what the correction leaves"
    for limit, excess in ranges:
        if excess[at] > 0 and measure.needs.get(limit.correction, (name,))[0] != name:
            # The common sky itself is out of range, for another condition's sake: this one cannot mend it.
            continue
        narrow = _around(grid, excess)
        if narrow[0] > low or narrow[1] < high:
            rule, why = "range", f"the {limit.correction} correction {limit.says}"
        low, high = max(low, narrow[0]), min(high, narrow[1])
    return ScrubLimit(
        condition=name,
        measure=measure.name,
        low=low,
        high=high,
        middle=centre,
        rule=rule,
        why=why,
        reading=averaging * float(np.sqrt(reading[at])) / smallest,
    )


def _excess(limit: Limit, moved: Runs, sky: Sky) -> np.ndarray:
    """How far (steps,) the quantity of a limit is outside its bounds, as a share of its span; below zero inside."""
    quantity = np.broadcast_to(np.asarray(limit.quantity(moved, sky), dtype=float), (_STEPS,))
    if np.isnan(quantity[_STEPS // 2]):
        return np.full(_STEPS, -1.0)
    width = float(np.ptp(quantity[np.isfinite(quantity)])) or 1.0
    above = np.full(_STEPS, -np.inf) if limit.high is None else (quantity - limit.high) / width
    below = np.full(_STEPS, -np.inf) if limit.low is None else (limit.low - quantity) / width
    return np.maximum(above, below)


def _around(grid: np.ndarray, excess: np.ndarray) -> tuple[float, float]:
    """Ends of the unbroken stretch without excess around the middle; infinite where it reaches the end of the grid.

    Where the middle itself is in excess, the one end is where that ceases, and the other is infinite.
    """
    at = len(grid) // 2
    good = excess <= 0
    if not good[at]:
        inside = np.flatnonzero(good)
        if not inside.size:
            return -np.inf, np.inf
        nearest = int(inside[np.abs(inside - at).argmin()])
        edge = _crossing(grid, excess, nearest, nearest + (1 if nearest < at else -1))
        return (-np.inf, edge) if nearest < at else (edge, np.inf)
    bad = np.flatnonzero(~good)
    below, above = bad[bad < at], bad[bad > at]
    low = _crossing(grid, excess, below.max() + 1, below.max()) if below.size else -np.inf
    high = _crossing(grid, excess, above.min() - 1, above.min()) if above.size else np.inf
    return low, high


def _crossing(grid: np.ndarray, excess: np.ndarray, inside: int, outside: int) -> float:
    """Where the excess passes zero between two neighbouring points, taken as straight."""
    if not np.isfinite(excess[outside]):
        return float(grid[inside])
    share = -excess[inside] / (excess[outside] - excess[inside])
    return float(grid[inside] + share * (grid[outside] - grid[inside]))


def gust_scatter(measure: Measure, runs: Runs, sky: Sky, spread: np.ndarray) -> np.ndarray:
    """Standard deviation (n,) on the scale of the comparison that gusts of this spread [m/s] (n,) give to each run.

    Zero where the measure corrects for no wind along the run.
    """
    probe = ErrorSource("wind along the run", "headwind", 0.5, "run", "probe")
    effect = [size for source, size in sensitivities(measure, runs, sky, (probe,)) if source is probe]
    slope = np.abs(effect[0]) / probe.standard_uncertainty if effect else np.zeros(np.shape(spread))
    return slope * np.maximum(spread, 0.0) / PEAK


def _gust(
    measure: Measure, middle: Mapping[str, float], sky: Sky, averaging: float, smallest: float, share: float
) -> ScrubLimit | None:
    """The widest gust spread whose scatter, averaged over the runs planned, stays below the share.

    Infinite where that is wider than anybody flies in.
    """
    runs = {key: np.array([value]) for key, value in middle.items()}
    each = float(gust_scatter(measure, runs, sky, np.ones(1))[0])
    if not each > 0:
        return None
    why = "what gusts do to the mean wind of a run, averaged over the runs planned"
    widest = share * smallest / (each * averaging)
    reach = min([_REACH["gust spread"], *(speed for name, speed in middle.items() if name.endswith("airspeed"))])
    return ScrubLimit("gust spread", measure.name, 0.0, widest if widest <= reach else np.inf, 0.0, "gust", why)
