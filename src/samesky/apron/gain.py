"""What would one more block add? Interval and power, by the same estimate as the comparison.

The flown runs, and these with one more block at their mean readings, take the way of a comparison: reduction,
recognised order, stated sources; then the interval that a campaign of this scatter would typically give
(:mod:`samesky.planning.power`) and the power of its tests (:mod:`samesky.inference.power`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from samesky.apron.blocks import flown_blocks
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.inference import verdict
from samesky.inference.comparison import flown_order, stated_parts
from samesky.inference.design import recognise
from samesky.inference.looks import Look
from samesky.planning.power import MeasurePower, measure_power
from samesky.planning.question import Wanted
from samesky.reduction.reduction import Reduction, reduce_table

#: Fewest degrees of freedom by which a scatter is taken from the runs (chosen: with two, the true one may be six times
#: as large).
FEWEST_SEEN = 3


@dataclass(frozen=True, slots=True)
class BlockGain:
    """The flying so far, and with one more block, on the scale of the comparison.

    Attributes
    ----------
    fly : configurations of that block, in order; ``runs`` how many on each
    scatter, scatter_from : standard deviation of one run, and where it is from
    now, then : what the order can be expected to answer; ``now`` is None with one configuration only
    half_width_now, half_width_then : of the 95 % interval to be expected; NaN without one
    level : of the result [SI]
    margins : the smallest differences that matter, down and up
    """

    fly: tuple[str, ...]
    runs: int
    scatter: float
    scatter_from: str
    now: MeasurePower | None
    then: MeasurePower | None
    half_width_now: float
    half_width_then: float
    level: float
    margins: tuple[float, float]

    def settles(self, difference: float) -> float:
        """Probability that one more block settles it, were the true difference this one (on the scale)."""
        if self.then is None or not math.isfinite(self.then.uncertainty):
            return 0.0
        chances = self.then.chances
        return max(chances.found(difference), chances.none(self.margins, difference=difference))


def gain(
    campaign: Campaign,
    measure: str,
    other: str,
    fly: tuple[str, ...],
    runs: int,
    block_hours: float,
    look: Look | None = None,
    as_seen: bool = False,
) -> BlockGain:
    """What one more block would add to one measure.

    Parameters
    ----------
    fly : configurations of the block, in order; ``runs`` of the measure on each
    block_hours : from the last run to the end of the block [h]
    look : the planned look that comes after it, None for the end
    as_seen : take the scatter that the runs show before a documented one
    """
    table = campaign.tables[measure]
    reduction = reduce_table(campaign, table)
    level = float(np.mean(reduction.value[table.included]))
    scatter, source = scatter_now(campaign, reduction, other, as_seen)
    longer = replace(campaign, tables={**campaign.tables, measure: _longer(campaign, table, fly, runs, block_hours)})
    now, then = (_measure_power(one, measure, other, scatter, level, look) for one in (campaign, longer))
    asked = campaign.asked[measure]
    margins = verdict.margins(asked.smallest, asked.smallest_is_fraction, asked.measure.ratio, level)
    return BlockGain(fly, runs, scatter, source, now, then, half_width(now), half_width(then), level, margins)


def half_width(found: MeasurePower | None) -> float:
    """Half the 95 % interval to be expected, on the scale of the comparison; NaN without one."""
    if found is None or not math.isfinite(found.uncertainty):
        return math.nan
    return found.chances.half_width()


def scatter_now(campaign: Campaign, reduction: Reduction, other: str, as_seen: bool = False) -> tuple[float, str]:
    """Standard deviation of one run on the scale of the comparison, and where it is from.

    As ``[plan]`` documents it, else as runs within blocks show it (the other way round where ``as_seen``), else what
    the stated reading errors make.
    """
    ways = [_documented(campaign, reduction), _seen(campaign, reduction, other)]
    found = next((way for way in (reversed(ways) if as_seen else ways) if way is not None), None)
    if found is not None:
        return found
    squares = [np.square(size) for source, size in reduction.contributions if source.scope == "run"]
    return float(np.sqrt(np.nanmean(np.sum(squares, axis=0)))) if squares else 0.0, "of the reading errors alone"


def _documented(campaign: Campaign, reduction: Reduction) -> tuple[float, str] | None:
    measure = reduction.table.measure
    said = None if campaign.plan is None else campaign.plan.measures.get(measure.name)
    if said is None or said.scatter is None:
        return None
    level = abs(float(np.mean(reduction.value[reduction.table.included])))
    scatter = said.scatter
    if measure.ratio != said.scatter_is_fraction:
        scatter = scatter / level if measure.ratio else scatter * level
    return scatter, f"documented in [plan.{measure.name}]"


def _seen(campaign: Campaign, reduction: Reduction, other: str) -> tuple[float, str] | None:
    """Pooled between runs of one block; where every block is one run, about what the order explains."""
    table = reduction.table
    used = _used(campaign, reduction, other)
    if np.unique(table.configuration[used]).size < 2:
        return None
    design = recognise(flown_order(campaign, table, used, other))
    rows = design.within if design.within is not None and len(design.within) else design.residual
    if len(rows) < FEWEST_SEEN:
        return None
    y = table.measure.to_scale(reduction.value[used])
    return float(np.sqrt(np.square(rows @ y).mean())), "as the runs of one block show it"


def _used(campaign: Campaign, reduction: Reduction, other: str) -> np.ndarray:
    table = reduction.table
    with np.errstate(invalid="ignore", divide="ignore"):
        scaled = table.measure.to_scale(reduction.value)
    return table.included & np.isfinite(scaled) & np.isin(table.configuration, (campaign.baseline, other))


def _measure_power(
    campaign: Campaign, measure: str, other: str, scatter: float, level: float, look: Look | None
) -> MeasurePower | None:
    table, asked = campaign.tables[measure], campaign.asked[measure]
    reduction = reduce_table(campaign, table)
    used = _used(campaign, reduction, other)
    if np.unique(table.configuration[used]).size < 2:
        return None
    design = recognise(flown_order(campaign, table, used, other))
    wanted = Wanted(asked, 0.0, {}, scatter, asked.measure.ratio, np.inf, None)
    margins = verdict.margins(asked.smallest, asked.smallest_is_fraction, asked.measure.ratio, level)
    return measure_power(design, stated_parts(campaign, reduction, used), wanted, level, margins, look, doubt=False)


def _longer(campaign: Campaign, table: RunTable, fly: tuple[str, ...], runs: int, block_hours: float) -> RunTable:
    """The table with one more block, its readings the means of the counted runs."""
    blocks = flown_blocks(campaign)
    last = blocks[-1]
    n = runs * len(fly)
    keys = np.repeat(np.array(fly, dtype=object), runs)
    changed = np.concatenate([[keys[0] != last.configuration or campaign.fitted_anew], keys[1:] != keys[:-1]])
    started = np.nanmax(last.hours()) if np.isfinite(last.hours()).any() else math.nan
    counted = table.included
    with np.errstate(all="ignore"):
        means = {name: float(np.nanmean(values[counted])) for name, values in table.columns.items()}
    return RunTable(
        measure=table.measure,
        file=table.file,
        rows=np.concatenate([table.rows, table.rows[-1] + 1 + np.arange(n)]),
        columns={name: np.concatenate([values, np.full(n, means[name])]) for name, values in table.columns.items()},
        text={
            name: [
                *words,
                *[(words[-1] if name == "runway" else f"next {k + 1}" if name == "run" else "") for k in range(n)],
            ]
            for name, words in table.text.items()
        },
        units=table.units,
        configuration=np.concatenate([table.configuration, keys]),
        installation=np.concatenate([table.installation, last.installation + np.cumsum(changed)]),
        day=np.concatenate([table.day, np.full(n, last.day)]),
        hours=np.concatenate([table.hours, started + block_hours * (np.arange(n) + 1.0) / n]),
    )
