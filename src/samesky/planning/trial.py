"""One plan on trial: what would each measure answer if it were flown so?

The planned runs take the way of flown ones: a table, its reduction, the recognised order, the stated sources. While
many plans are tried, the effect of each error source is taken from one reference day, flown full and on the lowest
fuel, and interpolated by the clock and the weight; the plan that is kept is judged on its own runs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from samesky.campaign.model.campaign import ANSWERS
from samesky.inference import verdict
from samesky.inference.budget import UncertaintyComponent
from samesky.inference.comparison import flown_order, stated_parts
from samesky.inference.design import Design, recognise
from samesky.inference.looks import Look
from samesky.inference.order import FlownOrder
from samesky.inference.together.seen import Seen
from samesky.instruments.sources import ErrorSource
from samesky.planning.by_all import Brought, power_by_all, sights
from samesky.planning.power import FEW, MANY, MeasurePower, measure_power, scatter_of
from samesky.planning.question import Question, Wanted
from samesky.planning.schedule import PlannedRun, Schedule, planned_table
from samesky.planning.scrub import gust_scatter
from samesky.reduction.reduction import Reduction, reduce_table

#: Campaigns drawn for what all measures say together: their widths hardly differ, for many variances make each.
FEWER = 100
#: Clock times of the reference day, at each of which it flies full and on the lowest fuel.
_CLOCKS = 9


@dataclass(frozen=True, slots=True)
class Trial:
    """One measure on trial: its recognised design, its reduction and what it can be expected to answer."""

    design: Design
    reduction: Reduction
    power: MeasurePower


class Bench:
    """Where plans for one question are tried; ``like`` another one whose reference day may be the same."""

    def __init__(self, question: Question, like: Bench | None = None):
        self.question = question
        self._like = like if like is not None and _same_reference(question, like.question) else None

    @cached_property
    def _reference(self) -> Mapping[str, Reduction]:
        if self._like is not None:
            return self._like._reference
        asked = self.question
        times = np.linspace(asked.start, asked.end, _CLOCKS)
        flown = [(float(hours), fuel) for fuel in (asked.fuel, asked.lowest_fuel) for hours in times]
        runs = [
            PlannedRun("", k + 1, asked.campaign.baseline, 0, 0, hours, fuel, 0.0)
            for k, (hours, fuel) in enumerate(flown)
        ]
        return {one.name: reduce_table(asked.campaign, planned_table(asked, one, runs)) for one in asked.wanted}

    def lacking(self, wanted: Wanted) -> str | None:
        """The expected reading without which no run of the measure gives a result; empty if no single one mends it.

        None where the result is there.
        """
        if self._gives_result(wanted):
            return None
        for column in wanted.asked.measure.columns:
            if column.name not in wanted.expected and column.low is not None and column.high is not None:
                believable = 0.5 * (column.low + column.high)
                tried = replace(wanted, expected={**wanted.expected, column.name: believable})
                if self._gives_result(tried):
                    return column.name
        return ""

    def _gives_result(self, wanted: Wanted) -> bool:
        asked = self.question
        run = PlannedRun("", 1, asked.campaign.baseline, 0, 0, asked.start, asked.fuel, 0.0)
        with np.errstate(invalid="ignore", divide="ignore"):
            value = reduce_table(asked.campaign, planned_table(asked, wanted, [run])).value
            return bool(np.isfinite(wanted.asked.measure.to_scale(value)).all())

    @cached_property
    def _gusty(self) -> Mapping[str, np.ndarray]:
        if self._like is not None:
            return self._like._gusty
        return {name: self._gust_scatter(base) for name, base in self._reference.items()}

    def _gust_scatter(self, reduction: Reduction) -> np.ndarray:
        """What the forecast gusts do to each run of a reduction (n,), on the scale of the comparison."""
        hours = reduction.table.hours - 24.0 * np.floor(reduction.table.hours / 24.0)
        gust, mean = self.question.forecast("gust", hours), self.question.forecast("wind", hours)
        if gust is None or mean is None or "headwind" not in reduction.runs:
            return np.zeros(hours.shape)
        return gust_scatter(reduction.table.measure, reduction.runs, reduction.sky, gust - mean)

    @staticmethod
    def _gusts(scatter: np.ndarray) -> tuple[UncertaintyComponent, ...]:
        return (UncertaintyComponent("gusts", "run", scatter, level=True),)

    def approximate(self, schedule: Schedule, wanted: Wanted, look: Look | None = None) -> MeasurePower:
        """What the measure would answer by its own runs, by the reference day."""
        design, parts, _ = self._by_reference(schedule, wanted)
        level = float(np.mean(self._reference[wanted.name].value))
        return self._measure_power(design, parts, wanted, level, look, False, FEW)

    def deciding(self, schedule: Schedule, wanted: Wanted, look: Look | None = None) -> MeasurePower:
        """What the measure would answer by its own runs, or by all measures where these were fixed to decide."""
        own = self.approximate(schedule, wanted, look)
        if wanted.asked.answer_from == ANSWERS[0]:
            return own
        return self.by_all(schedule, wanted, own, look) or own

    def by_all(
        self, schedule: Schedule, wanted: Wanted, own: MeasurePower, look: Look | None = None, campaigns: int = FEWER
    ) -> MeasurePower | None:
        """What the measure would answer by all of them, by the reference day; None where they do not tell it."""
        brought: list[Brought] = []
        for one in self.question.wanted:
            if one.name not in self._sights or len({run.configuration for run in schedule.runs_of(one.name)}) < 2:
                continue
            design, parts, effects = self._by_reference(schedule, one)
            scatter = scatter_of(one, parts, float(np.mean(self._reference[one.name].value)))
            brought.append((one, design, parts, scatter, effects))
        level = float(np.mean(self._reference[wanted.name].value))
        return power_by_all(own, wanted, self._sights, brought, margins(wanted, level), look, campaigns)

    @cached_property
    def _sights(self) -> dict[str, Seen]:
        return sights(self.question, dict(self._reference))

    def _by_reference(
        self, schedule: Schedule, wanted: Wanted
    ) -> tuple[Design, tuple[UncertaintyComponent, ...], list[tuple[ErrorSource, np.ndarray]]]:
        """Design, stated parts and effects of the error sources on the planned runs (n,), by the reference day."""
        runs = schedule.runs_of(wanted.name)
        campaign, base = self.question.campaign, self._reference[wanted.name]
        hours = np.array([run.hours for run in runs])
        of_day = hours - 24.0 * np.floor(hours / 24.0)
        design = _recognised(
            tuple(run.configuration == self.question.other for run in runs),
            tuple(run.installation for run in runs),
            tuple(run.day for run in runs),
            tuple(hours),
            campaign.fitted_anew,
        )
        clocks, heavy = base.table.hours[:_CLOCKS], self._heavy(runs)

        def on_the_day(size: np.ndarray) -> np.ndarray:
            full, empty = (np.interp(of_day, clocks, one) for one in (size[:_CLOCKS], size[_CLOCKS:]))
            return empty + heavy * (full - empty)

        between = [(source, on_the_day(size)) for source, size in base.contributions]
        parts = stated_parts(campaign, replace(base, contributions=between), np.ones(len(runs), dtype=bool))
        return design, parts + self._gusts(on_the_day(self._gusty[wanted.name])), between

    def _heavy(self, runs: Sequence[PlannedRun]) -> np.ndarray:
        """Where the weight of each run (n,) lies between the lowest fuel, 0, and that of the morning, 1."""
        span = self.question.fuel - self.question.lowest_fuel
        if not span > 0:
            return np.ones(len(runs))
        return (np.array([run.fuel + run.ballast for run in runs]) - self.question.lowest_fuel) / span

    def reduced(self, schedule: Schedule, wanted: Wanted) -> tuple[Design, Reduction]:
        """The recognised design and the reduction of the planned runs themselves."""
        asked = self.question
        table = planned_table(asked, wanted, schedule.runs_of(wanted.name))
        reduction = reduce_table(asked.campaign, table)
        return recognise(
            flown_order(asked.campaign, table, np.ones(len(table.rows), dtype=bool), asked.other)
        ), reduction

    def exact(self, schedule: Schedule, wanted: Wanted, look: Look | None = None) -> Trial:
        """What the measure would answer, on the planned runs themselves."""
        design, reduction = self.reduced(schedule, wanted)
        parts = stated_parts(self.question.campaign, reduction, np.ones(len(reduction.table.rows), dtype=bool))
        parts += self._gusts(self._gust_scatter(reduction))
        level = float(np.mean(reduction.value))
        return Trial(design, reduction, self._measure_power(design, parts, wanted, level, look, True, MANY))

    def _measure_power(
        self,
        design: Design,
        parts: tuple[UncertaintyComponent, ...],
        wanted: Wanted,
        level: float,
        look: Look | None,
        doubt: bool,
        campaigns: int,
    ) -> MeasurePower:
        return measure_power(design, parts, wanted, level, margins(wanted, level), look, doubt, campaigns)


def margins(wanted: Wanted, level: float) -> tuple[float, float]:
    """The smallest differences that matter, down and up, on the scale of the comparison; ``level`` of results [SI]."""
    asked = wanted.asked
    down, up = verdict.margins(asked.smallest, asked.smallest_is_fraction, asked.measure.ratio, level)
    return float(down), float(up)


def _same_reference(one: Question, other: Question) -> bool:
    """Whether two questions have the same reference day: air, fuel, readings and sources. Days, swaps and the scatter
    of the runs do not count.
    """
    numbers = ("start", "end", "fuel", "lowest_fuel")
    return (
        one.campaign is other.campaign
        and one.runway is other.runway
        and one.request.forecast == other.request.forecast
        and all(getattr(one, name) == getattr(other, name) for name in numbers)
        and len(one.wanted) == len(other.wanted)
        and all(a.asked is b.asked and a.expected is b.expected for a, b in zip(one.wanted, other.wanted, strict=True))
    )


@lru_cache(maxsize=2048)
def _recognised(
    other: tuple[bool, ...],
    installation: tuple[int, ...],
    day: tuple[int, ...],
    hours: tuple[float, ...],
    fitted_anew: bool,
) -> Design:
    """The design of an order; the same orders are tried again and again under other errors."""
    flown = np.array(other, dtype=int), np.array(installation, dtype=int), np.array(day, dtype=int)
    return recognise(FlownOrder(flown[0], flown[1], flown[2], np.array(hours), fitted_anew))
