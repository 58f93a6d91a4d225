"""What is to be planned, and can it be flown at all?

Takes the campaign's question and its ``[plan]`` together, and refuses what nobody could fly: no daylight, no fuel,
limits that exclude the forecast, more weight than the maximum. Each refusal says how to mend it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.air import wind
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.phrases import spelled
from samesky.campaign.messages.sentences import Said
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign, MeasureSettings, Runway
from samesky.campaign.model.plan_request import PlanRequest
from samesky.campaign.toml.section import FILE
from samesky.planning import catalogue as say

#: Pieces of the window at which a forecast is held against a limit.
_MOMENTS = np.linspace(0.0, 1.0, 25)


@dataclass(frozen=True, slots=True)
class Wanted:
    """One measure to be flown.

    ``hours`` from the start of one run to the next; ``expected`` readings [SI] by column; ``scatter`` the documented
    standard deviation of one run (a fraction where ``scatter_is_fraction``, else [SI]) or None, with its degrees of
    freedom (infinite where not said); ``runs_a_block`` None where the planner chooses.
    """

    asked: MeasureSettings
    hours: float
    expected: Mapping[str, float]
    scatter: float | None
    scatter_is_fraction: bool
    degrees_of_freedom: float
    runs_a_block: int | None

    @property
    def name(self) -> str:
        """Name of the measure."""
        return self.asked.measure.name


@dataclass(frozen=True, slots=True)
class Question:
    """Everything that a plan answers to; masses [kg], clock and spans [h].

    ``wanted`` stands in the order of flying; ``lowest_fuel`` is the reserve, or the campaign's own lower limit of fuel
    where that is higher; ``swap_hours`` is zero where changing is free and takes no time.
    """

    campaign: Campaign
    request: PlanRequest
    other: str
    wanted: tuple[Wanted, ...]
    start: float
    end: float
    swap_hours: float
    fuel: float
    lowest_fuel: float
    burn: float

    @property
    def primary(self) -> Wanted:
        """The measure that decides."""
        return next(one for one in self.wanted if one.asked.primary)

    @property
    def runway(self) -> Runway | None:
        """The strip: as named in the plan, else the campaign's only one."""
        runways = self.campaign.runways
        if self.request.runway:
            return runways[self.request.runway]
        return next(iter(runways.values())) if len(runways) == 1 else None

    def forecast(self, name: str, hours: np.ndarray) -> np.ndarray | None:
        """A condition of the forecast [SI] at clock hours of the day (n,); None where none is given.

        Straight between the start and the end of the hours that it was given for.
        """
        ends = self.request.forecast.get(name)
        if ends is None:
            return None
        return np.interp(np.asarray(hours, dtype=float), [self.start, self.end], ends)

    def wind_on_strip(self, hours: np.ndarray) -> tuple[np.ndarray | None, np.ndarray | None]:
        """Headwind and crosswind [m/s] at clock hours (n,).

        None where not known; without a direction the wind is taken to come down the strip.
        """
        speed = self.forecast("wind", hours)
        if speed is None:
            return None, None
        strip = self.runway
        if self.request.wind_from is None or strip is None or strip.heading is None:
            return speed, None
        headwind, crosswind = wind.components(speed, self.request.wind_from, strip.heading)
        return headwind, np.abs(crosswind)


def refuse(said: Said, entry: str = "[plan]") -> CampaignError:
    """The error for a plan that nobody could fly, ready to raise."""
    return cannot(FILE, said, None, entry)


def question(campaign: Campaign, other: str | None = None) -> Question:
    """The campaign's question as something to plan. Raises CampaignError where no plan could be flown."""
    request = campaign.plan
    if request is None:
        raise cannot(
            FILE,
            say.PLAN_NONE(),
        )
    start, end = _window(request)
    fuel, lowest, burn = _fuel(campaign, request)
    swap = campaign.swap_hours
    if swap is None and campaign.fitted_anew:
        raise refuse(say.PLAN_SWAP_TIME_MISSING(), "[swap] time")
    found = Question(
        campaign=campaign,
        request=request,
        other=_other(campaign, other),
        wanted=_wanted(campaign, request),
        start=start,
        end=end,
        swap_hours=swap or 0.0,
        fuel=fuel,
        lowest_fuel=lowest,
        burn=burn,
    )
    _weight(found)
    _limits(found)
    return found


def _window(request: PlanRequest) -> tuple[float, float]:
    for name in ("start", "end"):
        if getattr(request, name) is None:
            raise refuse(say.PLAN_HOURS_MISSING(name=name), f"[plan] {name}")
    start, end = float(request.start or 0.0), float(request.end or 0.0)
    if end <= start:
        raise refuse(say.PLAN_NO_DAYLIGHT(end=clock(end), start=clock(start)), "[plan] end")
    return start, end


def _fuel(campaign: Campaign, request: PlanRequest) -> tuple[float, float, float]:
    samples = {"fuel": "60 L", "reserve": "20 L", "burn": "18 L/h"}
    for name, sample in samples.items():
        if getattr(request, name) is None:
            raise refuse(say.PLAN_ENTRY_MISSING(name=name, sample=sample), f"[plan] {name}")
    fuel, burn = float(request.fuel or 0.0), float(request.burn or 0.0)
    low, high = campaign.limits.get("fuel", (None, None))
    lowest = max(request.reserve or 0.0, low or 0.0)
    if high is not None and fuel > high * (1 + 1e-9):
        raise refuse(say.PLAN_FUEL_ABOVE_LIMIT(fuel=_kg(fuel), high=_kg(high)), "[plan] fuel")
    if fuel <= lowest:
        raise refuse(say.PLAN_NO_FUEL(fuel=_kg(fuel), lowest=_kg(lowest)), "[plan] fuel")
    if burn <= 0:
        raise refuse(say.PLAN_NOTHING_BURNT(), "[plan] burn")
    return fuel, lowest, burn


def _other(campaign: Campaign, other: str | None) -> str:
    keys = [key for key in campaign.configurations if key != campaign.baseline]
    if other is None and len(keys) > 1:
        raise refuse(
            say.PLAN_SEVERAL_CONFIGURATIONS(
                count=len(keys), baseline=campaign.baseline, key=keys[0], key2=", ".join(keys[1:])
            ),
            "[configuration]",
        )
    if other is not None and other not in keys:
        raise refuse(
            say.PLAN_NO_SUCH_CONFIGURATION(other=other, baseline=campaign.baseline, keys=listed(keys)),
            "[configuration]",
        )
    return other or keys[0]


def _wanted(campaign: Campaign, request: PlanRequest) -> tuple[Wanted, ...]:
    names = list(request.measures) or [name for name in campaign.asked if name in campaign.tables]
    primary = next((name for name, one in campaign.asked.items() if one.primary), None)
    if primary is not None and primary not in names:
        raise refuse(
            say.PLAN_PRIMARY_NOT_PLANNED(primary=primary),
        )
    return tuple(_one(campaign, request, name) for name in names)


def _one(campaign: Campaign, request: PlanRequest, name: str) -> Wanted:
    asked = campaign.asked[name]
    said = request.measures.get(name)
    expected = _flown_means(campaign, name)
    if said is not None:
        expected |= said.expected
    for column in asked.measure.columns:
        if column.required and column.name not in expected:
            raise missing_reading(asked, column.name)
    if said is None or said.time is None:
        raise refuse(say.PLAN_RUN_TIME_MISSING(), f"[plan.{name}] time")
    return Wanted(
        asked=asked,
        hours=said.time,
        expected=expected,
        scatter=said.scatter,
        scatter_is_fraction=said.scatter_is_fraction,
        degrees_of_freedom=said.degrees_of_freedom or np.inf,
        runs_a_block=said.runs_a_block,
    )


def missing_reading(
    asked: MeasureSettings, column: str, why: str = "Roughly will do: the limits follow from it."
) -> CampaignError:
    """The error for a reading of which nobody says what to expect, ready to raise; ``column`` empty if several lack."""
    entry = f"[plan.{asked.measure.name}]"
    if not column:
        names = ", ".join(repr(one.name) for one in asked.measure.columns)
        return refuse(say.PLAN_NO_RESULT(names=names), entry)
    dimension = next(one.dimension for one in asked.measure.columns if one.name == column)
    return refuse(
        say.PLAN_READING_MISSING(
            the_column=column, why=why, the_column2=spelled(column), asked=_unit(asked, dimension)
        ),
        f"{entry} {spelled(column)}",
    )


def _unit(asked: MeasureSettings, dimension: str) -> str:
    return asked.measure.unit if dimension == asked.measure.dimension else units.DIMENSIONS[dimension].examples[0]


def _flown_means(campaign: Campaign, name: str) -> dict[str, float]:
    """Mean readings of runs that were flown already, of the measure's own columns."""
    table = campaign.tables.get(name)
    if table is None or not table.included.any():
        return {}
    own = {column.name for column in table.measure.columns}
    means = {key: float(np.mean(values[table.included])) for key, values in table.columns.items() if key in own}
    return {key: mean for key, mean in means.items() if np.isfinite(mean)}


def part_mass(campaign: Campaign, key: str) -> float:
    """By how much [kg] the changed part of a configuration is heavier than the baseline's."""
    return campaign.configurations[key].mass - campaign.configurations[campaign.baseline].mass


def _weight(asked: Question) -> None:
    loading = asked.campaign.loading
    if loading is None or loading.max_mass is None:
        return
    for key in (asked.campaign.baseline, asked.other):
        mass = float(loading.mass_at(asked.fuel, part_mass(asked.campaign, key)))
        if mass > loading.max_mass * (1 + 1e-9):
            raise refuse(
                say.PLAN_TOO_HEAVY(
                    fuel=_kg(asked.fuel),
                    key=key,
                    mass=_kg(mass),
                    max_mass=_kg(loading.max_mass),
                    mass2=_kg(mass - loading.max_mass),
                ),
                "[plan] fuel",
            )


def _limits(asked: Question) -> None:
    """Refuse a forecast, or expected readings, that the limits exclude from the first hour to the last."""
    hours = asked.start + (asked.end - asked.start) * _MOMENTS
    headwind, crosswind = asked.wind_on_strip(hours)
    known = {
        "headwind": headwind,
        "tailwind": None if headwind is None else -headwind,
        "crosswind": crosswind,
        "gust": asked.forecast("gust", hours),
        "oat": asked.forecast("oat", hours),
    }
    for wanted in asked.wanted:
        known |= {name: np.array([value]) for name, value in wanted.expected.items() if name in asked.campaign.limits}
    bounds = dict(asked.campaign.limits)
    own = asked.request.crosswind_limit
    if own is not None:
        low, high = bounds.get("crosswind", (None, None))
        bounds["crosswind"] = (low, own if high is None else min(high, own))
    for name, (low, high) in bounds.items():
        values = known.get(name)
        if values is None:
            continue
        above, below = high is not None and np.all(values > high), low is not None and np.all(values < low)
        if above or below:
            word = "above" if above else "below"
            raise refuse(
                say.PLAN_LIMIT_CONTRADICTED(name=name, word=word),
                "[limits]" if name in asked.campaign.limits else "[plan] crosswind limit",
            )


def clock(hours: float) -> str:
    """Clock time of hours from any midnight, to the minute."""
    minutes = round(60.0 * (hours % 24.0))
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def _kg(mass: float) -> str:
    return units.show(mass, "kg", "mass", 1)
