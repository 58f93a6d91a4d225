"""Whole campaigns in memory for the tests of the comparison, without files."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from flown import order

from samesky.campaign.model.campaign import Campaign, Configuration, EngineSettings, MeasureSettings, RunTable
from samesky.instruments.sources import ErrorSource
from samesky.measures import MEASURES, default_sources, free

NOISE = free("cabin_noise", "1", "fraction", "smaller")
ROLL_AS_IT_IS = free("roll_paced_out", "m", "length", "smaller", ratio=True)


def table(
    measure, letters, values, fitted_anew=True, each=1, swap=0.75, clock=True, left_out=(), **columns
) -> RunTable:
    """One measure's runs in the order of ``letters``; ``values`` fill the measure's first own required column."""
    flown = order(letters, fitted_anew, each=each, swap=swap)
    own = next(column.name for column in measure.columns if column.required)
    n = flown.runs
    keys = np.array([key for key in letters.replace("|", "") for _ in range(each)])
    hours = flown.hours + 24.0 * flown.day + 9.0
    return RunTable(
        measure=measure,
        file=f"{measure.name}.csv",
        rows=np.arange(2, n + 2),
        columns={own: np.asarray(values, dtype=float)} | {k: np.broadcast_to(v, n) for k, v in columns.items()},
        text={"exclude": ["a gust" if k in left_out else "" for k in range(n)], "run": [str(k + 1) for k in range(n)]},
        units={},
        configuration=keys,
        installation=flown.installation,
        day=flown.day,
        hours=hours if clock else np.full(n, np.nan),
    )


def campaign(*tables: RunTable, fitted_anew=True, sources=(), smallest=0.05, primary=None, keys="AB") -> Campaign:
    """A campaign of these tables; the first measure is the primary one."""
    names = [one.measure.name for one in tables]
    primary = names[0] if primary is None else primary
    return Campaign(
        folder=Path("somewhere"),
        title="A test",
        question="Which one?",
        baseline="A",
        fitted_anew=fitted_anew,
        swap_hours=None,
        loading=None,
        engine=EngineSettings(),
        runways={},
        configurations={key: Configuration(key, f"the {key} one") for key in keys},
        asked={
            one.measure.name: MeasureSettings(
                one.measure, one.measure.name == primary, smallest, True, one.measure.better, "", f"{smallest:.0%}"
            )
            for one in tables
        },
        sources=tuple(sources),
        limits={},
        reference={},
        missions={},
        tables={one.measure.name: one for one in tables},
    )


def stated(measure: str, rigging=0.005, straight=0.02, wander=0.01, relative=True) -> tuple[ErrorSource, ...]:
    """Sources on the result for a measure that ships none."""
    sizes = (("rigging", rigging, "installation"), ("slope", straight, "straight drift"), ("walk", wander, "wandering"))
    return tuple(
        ErrorSource(name, "result", size, scope, "assumed", relative, measures=(measure,))
        for name, size, scope in sizes
    )


def climbs(letters: str, seconds, fitted_anew: bool, **more) -> Campaign:
    """Climbs through 1,000 ft timed with a stopwatch, with the error sources that the package ships."""
    measure = MEASURES["timed_climb"]
    runs = table(measure, letters, 0.0, fitted_anew, **more) if np.ndim(seconds) == 0 else None
    n = len(seconds) if runs is None else len(runs.rows)
    columns = {"from": np.full(n, 300.0), "to": np.full(n, 604.8), "elapsed": np.asarray(seconds, dtype=float)}
    runs = table(measure, letters, columns["from"], fitted_anew, **columns, **more, oat=np.full(n, 288.0))
    return campaign(runs, fitted_anew=fitted_anew, sources=default_sources(), smallest=0.03)
