"""What the pilot wants planned, as plain data in SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

#: Kinds of stopping limits (see :mod:`samesky.inference.looks`); the first is used where none is named.
STOPPING = ("obrien-fleming", "pocock")


@dataclass(frozen=True, slots=True)
class MeasurePlan:
    """What is expected of one measure.

    Attributes
    ----------
    time : hours that one run takes, from the start of one to the start of the next; None where not said
    scatter : documented standard deviation of one run, a fraction where ``scatter_is_fraction``, else [SI]
    degrees_of_freedom : of that scatter
    runs_a_block : as wished, None where the planner may choose
    expected : readings expected on a run [SI], by column
    from_record : whether the scatter is that of the record, and not entered for this measure
    """

    time: float | None = None
    scatter: float | None = None
    scatter_is_fraction: bool = True
    degrees_of_freedom: float | None = None
    runs_a_block: int | None = None
    expected: Mapping[str, float] = field(default_factory=dict)
    from_record: bool = False


@dataclass(frozen=True, slots=True)
class Record:
    """The scatter of one's own repeats, as ``samesky record`` wrote it into a file beside the campaign's.

    Attributes
    ----------
    file : its name
    named : when the campaign named it, None where that is not entered
    until : day of the last run in it
    measures : scatter with its degrees of freedom, by name of the measure
    """

    file: str
    named: date | None = None
    until: date | None = None
    measures: Mapping[str, MeasurePlan] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """What ``[plan]`` says.

    Attributes
    ----------
    days, first_date : how many days there are, and the date of the first
    start, end : clock hours between which runs are flown
    fuel, reserve : mass [kg] on board each morning, and the mass that is never touched; ``fuel_unit`` as written
    burn : [kg/h] while flying
    refuel, refuel_hours : whether fuel can be filled up between blocks, and how long that takes
    ballast : whether ballast can take the place of burnt fuel
    swaps : most changes of the configuration in a day where a part is fitted anew, None where the planner may choose
    runway : name of the strip
    forecast : (at the start, at the end) of the window [SI], by condition
    wind_from : direction that the wind comes from [rad]
    crosswind_limit : of the aircraft's papers, or the pilot's own [m/s]
    looks, stopping : planned looks, and the kind of their limits
    looks_after : runs of the deciding measure after which they come; empty where not said
    left_over : share of the smallest difference that conditions may leave
    power : wanted probability of a settled answer
    seed : of the draw of what comes first
    measures : by name of the measure
    record : the record that the campaign names, None where it names none
    """

    days: int = 1
    first_date: date | None = None
    start: float | None = None
    end: float | None = None
    fuel: float | None = None
    reserve: float | None = None
    fuel_unit: str = "L"
    burn: float | None = None
    refuel: bool = False
    refuel_hours: float = 0.25
    ballast: bool = False
    swaps: int | None = None
    runway: str = ""
    forecast: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    wind_from: float | None = None
    crosswind_limit: float | None = None
    looks: int = 1
    looks_after: tuple[int, ...] = ()
    stopping: str = STOPPING[0]
    left_over: float = 0.25
    power: float = 0.80
    seed: int = 1
    measures: Mapping[str, MeasurePlan] = field(default_factory=dict)
    record: Record | None = None
