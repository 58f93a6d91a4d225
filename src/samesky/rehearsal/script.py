"""What is rehearsed? The runs of each measure as planned, or as they stand in the campaign's files.

One shape for both: a table of runs of each measure, with its clock times, configurations, installations and the
readings that are expected, so that a planned campaign and a flown one take the same path. Blocks and days can be added.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from samesky.campaign.messages.errors import cannot
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.inference.comparison import NO_CLOCK_STEP
from samesky.planning.plan import Plan, plan
from samesky.planning.schedule import planned_table
from samesky.reduction.reduction import reduce_table
from samesky.rehearsal import catalogue as say
from samesky.simulator.motion.flights import FLIGHTS

#: Hour at which a day without any clock time begins.
_MORNING = 9.0
#: Runs that count as one block where changing is free: a four, A B B A.
_FOUR = 4
#: Hours from the start of a day's last run to the next block, beyond the swap.
_TURN = 0.15


@dataclass(frozen=True, slots=True, eq=False)
class Script:
    """What is rehearsed.

    Attributes
    ----------
    campaign : with the error sources that the comparison will state
    other : the configuration held against the baseline
    tables : the runs of each measure (all count), with the readings expected; primary measure first
    planned : the plan that they come from, None where they stand in the files
    documented : standard deviation of one run on the scale of the comparison, by measure, that the plan reckons with
    looks_at : shares of the deciding measure's runs after which the planned looks come, more than 1 where the runs do
        not reach them; empty where nothing says so. A longer script keeps the shares
    """

    campaign: Campaign
    other: str
    tables: Mapping[str, RunTable]
    planned: Plan | None = None
    documented: Mapping[str, float] | None = None
    looks_at: tuple[float, ...] = ()

    @property
    def primary(self) -> str:
        """Name of the measure that decides, or of the first where none is primary."""
        return next(iter(self.tables))


def script(campaign: Campaign, other: str | None = None, flown: bool = False) -> Script:
    """The runs of the campaign's ``[plan]``, or with ``flown``, or without a plan, those in its files.

    Raises CampaignError where nothing can be planned, or where no file has runs of both configurations.
    """
    if campaign.plan is not None and not flown:
        planned = plan(campaign, other)
        asked = planned.question
        tables = {one.name: planned_table(asked, one, planned.schedule.runs_of(one.name)) for one in asked.wanted}
        documented = {one.name: planned.powers[one.name].scatter for one in asked.wanted}
        tables = _flyable(campaign, tables)
        return Script(campaign, asked.other, tables, planned, documented, _planned_looks(planned, tables))
    key = _other(campaign, other)
    tables = {}
    looks_at: tuple[float, ...] = ()
    for name, table in campaign.tables.items():
        of_both = np.isin(table.configuration, (campaign.baseline, key))
        chosen = np.flatnonzero(table.included & of_both & _gives_a_number(campaign, table))
        if np.unique(table.configuration[chosen]).size == 2:
            tables[name] = with_clock(rows_of(table, chosen))
            if campaign.asked[name].primary:
                looks_at = _stated_looks(campaign, table, chosen)
    if not tables:
        raise cannot(
            campaign.folder or "campaign",
            say.REHEARSAL_NOTHING_TO_REHEARSE(),
        )
    return Script(campaign, key, _flyable(campaign, tables), looks_at=looks_at)


def _gives_a_number(campaign: Campaign, table: RunTable) -> np.ndarray:
    """The rows (rows,) that the comparison can count: a top speed without legs and airspeed is none."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.isfinite(table.measure.to_scale(reduce_table(campaign, table).value))


def _planned_looks(planned: Plan, tables: Mapping[str, RunTable]) -> tuple[float, ...]:
    name = planned.question.primary.name
    return tuple(look.after_run / len(tables[name].rows) for look in planned.looks) if name in tables else ()


def _stated_looks(campaign: Campaign, table: RunTable, chosen: np.ndarray) -> tuple[float, ...]:
    """The stated looks as shares of the chosen rows (k,): they count the runs of every configuration."""
    after = campaign.plan.looks_after if campaign.plan is not None else ()
    counted = np.flatnonzero(table.included)
    shares = [np.isin(chosen, counted[:runs]).sum() / chosen.size for runs in after]
    return tuple(
        float(share) if runs <= counted.size else runs / counted.size for runs, share in zip(after, shares, strict=True)
    )


def _other(campaign: Campaign, other: str | None) -> str:
    keys = [key for key in campaign.configurations if key != campaign.baseline]
    if other is None and len(keys) == 1:
        return keys[0]
    if other in keys:
        return other
    found = f"{other!r} is no configuration beside {campaign.baseline}" if other else "there are several configurations"
    raise cannot("campaign.toml", say.REHEARSAL_WHICH_CONFIGURATION(found=found, key=keys[0] if keys else "B"))


def _flyable(campaign: Campaign, tables: Mapping[str, RunTable]) -> dict[str, RunTable]:
    """The tables that the simulator can fly, primary measure first."""
    known = {name: table for name, table in tables.items() if name in FLIGHTS}
    if not known:
        raise cannot(
            "campaign.toml",
            say.REHEARSAL_NOT_SIMULATED(tables=", ".join(tables), flights=", ".join(FLIGHTS)),
        )
    return dict(sorted(known.items(), key=lambda item: not campaign.asked[item[0]].primary))


def rows_of(table: RunTable, chosen: np.ndarray) -> RunTable:
    """The chosen rows (k,) of a table, in that order."""
    return replace(
        table,
        rows=np.arange(2, len(chosen) + 2),
        columns={name: np.asarray(values)[chosen] for name, values in table.columns.items()},
        text={name: [values[k] for k in chosen] for name, values in table.text.items()},
        configuration=np.asarray(table.configuration)[chosen],
        installation=table.installation[chosen],
        day=table.day[chosen],
        hours=table.hours[chosen],
    )


def with_clock(table: RunTable) -> RunTable:
    """The table with a time for every run: those without are spread evenly over their day, as the comparison does."""
    hours = np.array(table.hours, dtype=float)
    for day in np.unique(table.day[~np.isfinite(hours)]):
        rows = np.flatnonzero(table.day == day)
        hours[rows] = 24.0 * day + _MORNING + NO_CLOCK_STEP * np.arange(rows.size)
    return replace(table, hours=hours)


def with_block(found: Script) -> Script:
    """The same with one more block: the last one flown again in the other configuration, after another swap.

    Where changing is free a block is the last four runs of each measure, with the two configurations exchanged.
    """
    last = max(table.hours.max() for table in found.tables.values())
    if found.campaign.fitted_anew:
        newest = max(table.installation.max() for table in found.tables.values())
        chosen = {name: np.flatnonzero(t.installation == newest) for name, t in found.tables.items()}
    else:
        chosen = {name: np.argsort(t.hours, kind="stable")[-_FOUR:] for name, t in found.tables.items()}
    first = min(found.tables[name].hours[rows].min() for name, rows in chosen.items() if rows.size)
    shift = last - first + _TURN + (found.campaign.swap_hours or 0.0)
    return _with_more(found, chosen, shift, 0)


def with_day(found: Script) -> Script:
    """The same with one more day: the last day flown again at the same hours, the configurations exchanged."""
    last = max(table.day.max() for table in found.tables.values())
    chosen = {name: np.flatnonzero(table.day == last) for name, table in found.tables.items()}
    return _with_more(found, chosen, 24.0, 1)


def _with_more(found: Script, chosen: Mapping[str, np.ndarray], shift: float, days: int) -> Script:
    base, step = found.campaign.baseline, 1 + max(t.installation.max() for t in found.tables.values())
    first = min(found.tables[name].installation[rows].min() for name, rows in chosen.items() if rows.size)
    tables = {}
    for name, table in found.tables.items():
        rows = np.concatenate([np.arange(len(table.rows)), chosen[name]])
        longer, new = rows_of(table, rows), np.arange(len(rows)) >= len(table.rows)
        swapped = np.where(longer.configuration == base, found.other, base)
        tables[name] = replace(
            longer,
            configuration=np.where(new, swapped, longer.configuration),
            installation=np.where(new, longer.installation - first + step, longer.installation),
            hours=np.where(new, longer.hours + shift, longer.hours),
            day=np.where(new, longer.day + days, longer.day),
        )
    return replace(found, tables=tables)
