"""When is each run flown, on which fuel, and how heavy?

Blocks follow one another through the hours of the day: a swap between them, fuel taken on or ballast put in where the
weight or the reserve asks for it. Refuelling and the swap are counted one after the other: nobody works on a propeller
while fuel flows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from samesky.campaign.model.campaign import RunTable
from samesky.campaign.reading.unflown import last_number
from samesky.planning.question import Question, Wanted, clock, part_mass
from samesky.simulator.schedule import RunPlan

#: Slack in sums of hours and kilograms.
_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """One run: ``number`` counts in the measure's file; ``hours`` from the first midnight; masses [kg]."""

    measure: str
    number: int
    configuration: str
    installation: int
    day: int
    hours: float
    fuel: float
    ballast: float


@dataclass(frozen=True, slots=True)
class Block:
    """What is flown in one go, on one card.

    ``configurations`` by key in flown order (one where a part is fitted anew, four where changing is free); ``before``
    says what is done first; ``fuel``, ``fuel_left`` [kg] before the first and after the last run.
    """

    number: int
    day: int
    configurations: tuple[str, ...]
    before: str
    ballast: float
    fuel: float
    fuel_left: float
    end: float
    runs: tuple[PlannedRun, ...]

    @property
    def start(self) -> float:
        """Hours of the first run from the first midnight."""
        return self.runs[0].hours


@dataclass(frozen=True, slots=True)
class Schedule:
    """All blocks in flown order; ``off_weight`` where the weight leaves its band and nothing planned brings it back."""

    blocks: tuple[Block, ...]
    off_weight: bool = False

    @property
    def days(self) -> int:
        """Number of days flown."""
        return self.blocks[-1].day + 1

    def runs_of(self, measure: str) -> list[PlannedRun]:
        """The runs of one measure in flown order."""
        return [run for block in self.blocks for run in block.runs if run.measure == measure]

    def hours_in_the_field(self) -> float:
        """From the first run to the end of the last, summed over the days."""
        spans = 0.0
        for day in range(self.days):
            mine = [block for block in self.blocks if block.day == day]
            spans += mine[-1].end - mine[0].start
        return spans

    def run_plans(self) -> dict[str, RunPlan]:
        """The same as the simulator wants it, by measure."""
        found = {}
        for measure in dict.fromkeys(run.measure for block in self.blocks for run in block.runs):
            runs = self.runs_of(measure)
            found[measure] = RunPlan(
                np.array([run.hours for run in runs]),
                np.array([run.configuration for run in runs], dtype=object),
                np.array([run.installation for run in runs]),
                np.array([run.fuel for run in runs]),
            )
        return found


def laid_out(
    question: Question,
    order: Sequence[Sequence[str]],
    runs: Mapping[str, int],
    band: float = np.inf,
    flown_in: Mapping[str, int] | None = None,
) -> tuple[Schedule | None, str]:
    """The blocks of ``order`` laid into the hours of each day.

    Parameters
    ----------
    order : for each day its blocks, each a word of ``A`` (baseline) and ``B`` (other)
    runs : runs a block of each measure on each letter of the block's word
    band : by how much [kg] the weight may fall below that of the morning
    flown_in : in how many blocks, from the first, a measure is flown; one that is not named, in all

    Returns
    -------
    the schedule and ``""``, or None and the reason that it does not fit
    """
    keys = {"A": question.campaign.baseline, "B": question.other}
    # As in the file: the numbers of a card are those of the rows that it is typed into.
    counts = {name: last_number(question.campaign, name) for name in runs}
    blocks: list[Block] = []
    installation, off_weight = -1, False
    for day, words in enumerate(order):
        time, fuel, ballast, last = question.start, question.fuel, 0.0, ""
        for place, word in enumerate(words):
            flying = [one for one in question.wanted if len(blocks) < (flown_in or {}).get(one.name, len(blocks) + 1)]
            burnt = question.burn * sum(len(word) * runs[one.name] * one.hours for one in flying)
            if question.fuel - burnt < question.lowest_fuel - _SLACK:
                return None, "one block burns more fuel than there is above the reserve"
            if place and word[0] != last:
                time += question.swap_hours
            before, fuel, ballast, wait, lost = _made_up(question, fuel, ballast, burnt, band, bool(place))
            if before is None:
                return None, "there is not enough fuel for the day, and none can be taken on"
            off_weight, time = off_weight or lost, time + wait
            flown: list[PlannedRun] = []
            left = fuel
            for at, letter in enumerate(word):
                if at and letter != word[at - 1]:
                    time += question.swap_hours
                if letter != last or (at == 0 and place == 0):
                    installation += 1
                last = letter
                for wanted in _in_turn(flying, runs):
                    counts[wanted.name] += 1
                    flown.append(
                        PlannedRun(
                            wanted.name,
                            counts[wanted.name],
                            keys[letter],
                            installation,
                            day,
                            24.0 * day + time,
                            left,
                            ballast,
                        )
                    )
                    time += wanted.hours
                    left -= question.burn * wanted.hours
            if time > question.end + _SLACK:
                return None, f"the day's hours end at {clock(question.end)}"
            number = len(blocks) + 1
            configurations = tuple(keys[letter] for letter in word)
            blocks.append(
                Block(number, day, configurations, before, ballast, fuel, left, 24.0 * day + time, tuple(flown))
            )
            fuel = left
    return Schedule(tuple(blocks), off_weight), ""


def _in_turn(wanted: Sequence[Wanted], runs: Mapping[str, int]) -> list[Wanted]:
    """Rounds of one run of each measure, as long as it has runs left: as they come in a circuit."""
    most = max((runs[one.name] for one in wanted), default=0)
    return [one for number in range(most) for one in wanted if number < runs[one.name]]


def _made_up(
    question: Question, fuel: float, ballast: float, burnt: float, band: float, later: bool
) -> tuple[str | None, float, float, float, bool]:
    """What is done before a block, then fuel and ballast on board, hours it takes, and whether the weight is lost."""
    lighter = question.fuel - (fuel - burnt) - ballast
    short = fuel - burnt < question.lowest_fuel - _SLACK
    light = lighter > band + _SLACK
    if not (short or light) or not later:
        return "", fuel, ballast, 0.0, light and not later and burnt > band + _SLACK
    if question.request.refuel:
        return "fill up", question.fuel, 0.0, question.request.refuel_hours, burnt > band + _SLACK
    if short:
        return None, fuel, ballast, 0.0, False
    if question.request.ballast:
        added = float(np.floor(question.fuel - fuel - ballast))
        return f"put in {added:g} kg of ballast", fuel, ballast + added, 0.0, burnt > band + 1.0
    return "", fuel, ballast, 0.0, True


def planned_table(question: Question, wanted: Wanted, runs: Sequence[PlannedRun]) -> RunTable:
    """The planned runs of one measure as if they had been flown and read as expected: same shape, same path."""
    n = len(runs)
    hours = np.array([run.hours for run in runs])
    of_day = hours - 24.0 * np.floor(hours / 24.0)
    own = {column.name for column in wanted.asked.measure.columns}
    headwind, crosswind = question.wind_on_strip(of_day)
    expected = {name: question.forecast(name, of_day) for name in ("oat", "dew point", "qnh")}
    expected |= {"headwind": headwind, "crosswind": crosswind, "gust": question.forecast("gust", of_day)}
    columns = {
        name: values
        for name, values in expected.items()
        if values is not None and (name in own or name not in ("headwind", "crosswind", "gust"))
    }
    columns["fuel"] = np.array([run.fuel for run in runs])
    columns["ballast"] = np.array([run.ballast for run in runs])
    columns |= {name: np.full(n, value) for name, value in wanted.expected.items()}
    strip = question.runway
    return RunTable(
        measure=wanted.asked.measure,
        file=f"{wanted.name}.csv",
        rows=np.arange(2, n + 2),
        columns=columns,
        text={
            "run": [str(run.number) for run in runs],
            "exclude": [""] * n,
            "notes": [""] * n,
            "pilot": [""] * n,
            "runway": ["" if strip is None else strip.name] * n,
        },
        units={},
        configuration=np.array([run.configuration for run in runs], dtype=object),
        installation=np.array([run.installation for run in runs]),
        day=np.array([run.day for run in runs]),
        hours=hours,
    )


def weight_of(question: Question, run: PlannedRun) -> float:
    """Mass [kg] of the aeroplane on one run; NaN where the loading is not known."""
    loading = question.campaign.loading
    if loading is None:
        return float("nan")
    return float(loading.mass_at(run.fuel + run.ballast, part_mass(question.campaign, run.configuration)))
