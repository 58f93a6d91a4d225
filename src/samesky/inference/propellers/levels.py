"""What level has each configuration, and how well are their differences known? Of a result, and of an engine speed.

An engine speed is no result: nothing is corrected, because full-throttle torque and the torque that a fixed pitch takes
both go with density. It is estimated in the same flown order as the result of its runs, with the reading error of the
tachometer and with what moves the result itself: at one advance ratio airspeed goes with engine speed, pull with its
square. A pitch set a little off moves result and engine speed together along the propeller's own line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from samesky.campaign.derived.rpm_in_hand import RPM
from samesky.campaign.model.campaign import Campaign
from samesky.inference import believable_drift
from samesky.inference.budget import UncertaintyComponent
from samesky.inference.estimate import Estimate, estimate
from samesky.inference.result import Comparison
from samesky.inference.together.shared_errors import samples
from samesky.inference.together.witness import witness
from samesky.instruments.sources import RESULT

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Exponent of engine speed in the result of the runs that show it, at one advance ratio.
EXPONENT = {"level_speed": 1.0, "static_pull": 2.0, "timed_climb": 2.0}
#: Degrees of freedom that no correlation is worth (assumed).
LEANED = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Levels:
    """Levels of configurations as natural logarithms of SI, and what their differences are known by.

    Attributes
    ----------
    keys : of the configurations
    level : (k,)
    variance : of every difference (k, k)
    degrees_of_freedom, worst : of every difference (k, k): limit of the drift that the order hides
    comparisons : behind them, by pair; of the runs that show it where it is an engine speed
    values : natural logarithms of what the runs of each pair showed, (n,)
    """

    keys: tuple[str, ...]
    level: Floats
    variance: Floats
    degrees_of_freedom: Floats
    worst: Floats
    comparisons: tuple[Comparison, ...]
    values: tuple[Floats, ...]

    def at(self, key: str) -> int:
        """Place of a configuration.

        Parameters
        ----------
        key : of the configuration

        Returns
        -------
        int
            From 0.
        """
        return self.keys.index(key)

    def only(self, keys: Sequence[str]) -> Levels | None:
        """The same of some configurations; None where fewer than two are left.

        Parameters
        ----------
        keys : of the configurations that stay
        """
        rows = [k for k, key in enumerate(self.keys) if key in keys]
        if len(rows) < 2:
            return None
        own = np.ix_(rows, rows)
        return Levels(
            tuple(self.keys[k] for k in rows), self.level[rows], self.variance[own], self.degrees_of_freedom[own],
            self.worst[own], self.comparisons, self.values,
        )  # fmt: skip


def of_results(comparisons: Sequence[Comparison]) -> Levels | None:
    """The levels of one measure; None where a pair has no interval.

    Parameters
    ----------
    comparisons : every pair of one measure
    """
    scale = [1.0 if one.scale.asked.measure.ratio else 1.0 / one.scale.level for one in comparisons]
    if not comparisons or not comparisons[0].scale.level > 0:
        return None
    estimates = [one.estimate for one in comparisons]
    values = [np.log(one.reduction.value[one.used]) for one in comparisons]
    return _joined(comparisons, estimates, values, scale, float(np.log(comparisons[0].scale.level)))


def of_engine_speed(campaign: Campaign, comparisons: Sequence[Comparison]) -> Levels | None:
    """The levels of the engine speed in the runs of one measure; None where a run lacks it or a pair has no interval.

    Parameters
    ----------
    campaign : the campaign
    comparisons : every pair of one measure
    """
    estimates: list[Estimate] = []
    values: list[Floats] = []
    start = np.nan
    for one in comparisons:
        speed = one.reduction.table.columns.get(RPM)
        if speed is None or not np.all(speed[one.used] > 0) or one.measure not in EXPONENT:
            return None
        y = np.log(speed[one.used])
        found = estimate(one.design, y, _parts(campaign, one, y))
        order = one.design.order
        own = order.configuration < 2
        if not estimates:
            start = float(y[own].mean() - order.configuration[own].mean() * found.difference)
        estimates.append(found)
        values.append(y)
    return _joined(comparisons, estimates, values, [1.0] * len(estimates), start)


def correlation(one: Levels, two: Levels, pair: set[str]) -> float:
    """Correlation of the errors of two differences of one pair, as what is left of their common samples tells.

    Leaned towards none, which ``LEANED`` degrees of freedom are worth: a blade angle set off moves engine speed and
    result along the propeller's line and helps, other errors do not.

    Parameters
    ----------
    one, two : levels of the two coordinates
    pair : keys of the two configurations

    Returns
    -------
    float
        [1].
    """
    left, freedom = [], np.inf
    for levels in (one, two):
        place = next(k for k, each in enumerate(levels.comparisons) if {each.baseline, each.other} == pair)
        left.append(samples(replace(witness(levels.comparisons[place]), values=levels.values[place])))
        freedom = min(freedom, float(levels.comparisons[place].estimate.scatter_degrees_of_freedom))
    common = [key for key in left[0] if key in left[1]]
    a, b = (np.array([each[key] for key in common]) for each in left)
    length = float(np.sqrt((a @ a) * (b @ b)))
    if not length > 0:
        return 0.0
    overlap = len(common) / float(np.sqrt(len(left[0]) * len(left[1])))
    return overlap * freedom / (freedom + LEANED) * float(a @ b) / length


def _parts(campaign: Campaign, one: Comparison, y: Floats) -> tuple[UncertaintyComponent, ...]:
    """The error sources as they act on ln(engine speed) of the runs used."""
    measure = one.scale.asked.measure
    share = 1.0 / EXPONENT[measure.name] / (1.0 if measure.ratio else one.scale.level)
    parts = [
        UncertaintyComponent(
            source.name, source.scope, share * size[one.used], source.degrees_of_freedom, source.scope != "run"
        )
        for source, size in one.reduction.contributions
        if source.target == RESULT and source.scope != "run"
    ]
    speed = np.exp(y)
    for source in (*campaign.sources, *measure.sources):
        if source.target == RPM and source.applies_to(measure.name):
            size = source.standard_uncertainty * (np.abs(speed - source.about) if source.relative else 1.0) / speed
            parts.append(UncertaintyComponent(source.name, source.scope, size, source.degrees_of_freedom))
    limits = believable_drift.ceiling(measure, 1.0 if measure.ratio else one.scale.level)
    return (
        *parts,
        *(
            UncertaintyComponent(part.name, part.scope, share * part.sensitivity, part.degrees_of_freedom)
            for part in limits
        ),
    )


def _joined(
    comparisons: Sequence[Comparison],
    estimates: Sequence[Estimate],
    values: Sequence[Floats],
    scale: Sequence[float],
    start: float,
) -> Levels | None:
    """Levels from the pairs: the first one's baseline, and what each lies from it."""
    if not estimates:
        return None
    first = comparisons[0].baseline
    keys = tuple(dict.fromkeys([first, *(one.other for one in comparisons if one.baseline == first)]))
    count = len(keys)
    level = np.full(count, start)
    variance, freedom, worst = np.zeros((count, count)), np.full((count, count), np.inf), np.zeros((count, count))
    for one, found, share in zip(comparisons, estimates, scale, strict=True):
        i, j = keys.index(one.baseline), keys.index(one.other)
        if i == 0:
            level[j] = start + share * float(found.difference)
        standard = share * float(found.standard_uncertainty)
        if not (np.isfinite(standard) and standard > 0):
            return None
        variance[i, j] = variance[j, i] = standard**2
        freedom[i, j] = freedom[j, i] = float(found.degrees_of_freedom)
        worst[i, j] = worst[j, i] = share * float(found.worst_drift)
    return Levels(keys, level, variance, freedom, worst, tuple(comparisons), tuple(values))
