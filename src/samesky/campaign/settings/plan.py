"""What does the pilot want planned? The table ``[plan]``: days, daylight, fuel, forecast, and what a run is expected
to read.

Read before anything is flown. Once the runs are compared, three things are taken from here: the looks that were
planned, a documented scatter, for the second interval that borrows it, and the record of one's own repeats, on which a
verdict may rest.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

from samesky import units
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.phrases import spelled, unit_of
from samesky.campaign.messages.words import briefly, plain_name, quoted
from samesky.campaign.model.campaign import MeasureSettings
from samesky.campaign.model.plan_request import STOPPING, MeasurePlan, PlanRequest
from samesky.campaign.settings.aeroplane import one_day
from samesky.campaign.settings.measures import kind_of_size
from samesky.campaign.settings.record import record
from samesky.campaign.tables import cells
from samesky.campaign.toml.section import Section
from samesky.measures.columns import COMMON
from samesky.measures.shape import Measure

#: Conditions that a forecast may name, with their dimension.
FORECAST = {
    "oat": "temperature",
    "dew point": "temperature",
    "qnh": "pressure",
    "wind": "speed",
    "gust": "speed",
}
#: Most looks on the way.
MOST_LOOKS = 12
#: Entries of ``[plan.NAME]`` that are no column of the measure.
_OWN = ("time", "scatter", "degrees of freedom", "runs a block")


def plan_request(
    top: Section,
    asked: Mapping[str, MeasureSettings],
    runways: Mapping[str, object],
    fuel_density: float,
    records: Mapping[str, str | None],
    findings: list[Finding],
) -> PlanRequest | None:
    """What ``[plan]`` says, None where it is absent; what is wrong goes to the findings, those of the section.

    ``records`` are the texts of records of earlier repeats, by name of their file.
    """
    if "plan" not in top:
        return None
    section = top.section("plan")
    by_plain = {plain_name(name): name for name in asked}
    mass = ("mass", 0.0, 2000.0)
    flow = section.quantity("burn", "volume flow", 1e-8, 1e-3)
    refuel_seconds = section.quantity("refuelling time", "time", 0.0, 86400.0)
    looks, looks_after = _looks(section)
    named = record(section, records, asked, _scatter, findings)
    found = PlanRequest(
        days=_whole(section, "days", 1, 60) or 1,
        first_date=one_day(section, "first date"),
        start=_clock(section, "start"),
        end=_clock(section, "end"),
        fuel=section.quantity("fuel", *mass, density=fuel_density),
        fuel_unit=unit_of(fuel) if isinstance(fuel := section.raw("fuel"), str) else "L",
        reserve=section.quantity("reserve", *mass, density=fuel_density),
        burn=None if flow is None else flow * fuel_density * 3600.0,
        refuel=bool(section.flag("refuel")),
        refuel_hours=0.25 if refuel_seconds is None else refuel_seconds / 3600.0,
        ballast=bool(section.flag("ballast")),
        swaps=_whole(section, "swaps", 1, 20),
        runway=_runway(section, runways),
        forecast={name: ends for name, dim in FORECAST.items() if (ends := _two_ends(section, name, dim)) is not None},
        wind_from=section.quantity("wind from", "angle", -7.0, 14.0),
        crosswind_limit=section.quantity("crosswind limit", "speed", 0.0, 50.0),
        looks=looks,
        looks_after=looks_after,
        stopping=section.choice("stopping limits", STOPPING, STOPPING[0]),
        left_over=_share(section, "left over", 0.25),
        power=_share(section, "power", 0.80),
        seed=_whole(section, "seed", 0, 2**32 - 1) or (0 if section.raw("seed") == 0 else 1),
        # In the file's own order: that is the order in which the measures are flown.
        measures={
            by_plain[plain_name(name)]: _with_record(
                _measure(section.section(plain_name(name)), asked[by_plain[plain_name(name)]]),
                named.measures.get(by_plain[plain_name(name)]) if named is not None else None,
            )
            for name in section.names()
            if plain_name(name) in by_plain
        },
        record=named,
    )
    section.report_unknown(by_plain)
    return found


def _measure(section: Section, asked: MeasureSettings) -> MeasurePlan:
    measure = asked.measure
    seconds = section.quantity("time", "time", 1.0, 86400.0)
    scatter, is_fraction = _scatter(section, measure)
    freedom = section.number("degrees of freedom", low=1.0)
    runs = _whole(section, "runs a block", 1, 50)
    columns = {column.name: column for column in (*COMMON, *measure.columns) if column.dimension != "text"}
    expected = {}
    for name in map(plain_name, section.names()):
        if name in columns and name not in _OWN:
            column = columns[name]
            value = section.quantity(name, column.dimension, column.low, column.high)
            if value is not None:
                expected[name] = value
    section.report_unknown(columns)
    return MeasurePlan(None if seconds is None else seconds / 3600.0, scatter, is_fraction, freedom, runs, expected)


def _with_record(one: MeasurePlan, recorded: MeasurePlan | None) -> MeasurePlan:
    """What is planned, with the scatter of the record where none is entered."""
    if recorded is None or one.scatter is not None:
        return one
    return replace(
        one,
        scatter=recorded.scatter,
        scatter_is_fraction=recorded.scatter_is_fraction,
        degrees_of_freedom=recorded.degrees_of_freedom,
        from_record=True,
    )


def _scatter(section: Section, measure: Measure) -> tuple[float | None, bool]:
    value = section.raw("scatter")
    if value is None:
        return None, True
    is_fraction, dimension = kind_of_size(str(value).strip(), measure)
    found = section.quantity("scatter", dimension)
    if found is not None and (found <= 0 or (is_fraction and found >= 1)):
        section.error("scatter", say.PLAN_SCATTER(value=quoted(value)))
        return None, is_fraction
    return found, is_fraction


def _whole(section: Section, name: str, low: int, high: int) -> int | None:
    value = section.number(name, low, high)
    if value is None:
        return None
    if value != int(value):
        section.error(name, say.PLAN_NOT_WHOLE(value=value))
        return None
    return int(value)


def _looks(section: Section) -> tuple[int, tuple[int, ...]]:
    """How many looks, and after how many runs of the deciding measure each comes; () where that is not said."""
    looks, name = _whole(section, "looks", 1, MOST_LOOKS), "looks after runs"
    value = section.raw(name)
    if value is None:
        return looks or 1, ()
    if not isinstance(value, list) or not all(isinstance(one, int) and not isinstance(one, bool) for one in value):
        section.error(name, say.PLAN_LOOKS_UNREADABLE(value=quoted(value)))
    elif not 1 <= len(value) <= MOST_LOOKS or value[0] < 1 or any(b <= a for a, b in pairwise(value)):
        section.error(name, say.PLAN_LOOKS_NOT_RISING(value=quoted(value), most_looks=MOST_LOOKS))
    elif looks is not None and looks != len(value):
        section.error(name, say.PLAN_LOOKS_COUNT(count=len(value), looks=looks))
    else:
        return len(value), tuple(value)
    return looks or 1, ()


def _share(section: Section, name: str, default: float) -> float:
    value = section.quantity(name, "fraction")
    if value is None:
        return default
    if not 0 < value < 1:
        section.error(name, say.PLAN_NO_SHARE(value=value, default=100 * default))
        return default
    return value


def _clock(section: Section, name: str) -> float | None:
    text = section.text(name)
    if not text:
        return None
    try:
        return cells.clock_hours(text)
    except cells.CellError as error:
        section.error(name, say.PLAN_DATE_UNREADABLE(text=quoted(text), wrong=error.wrong, mend=error.mend))
        return None


def _runway(section: Section, runways: Mapping[str, object]) -> str:
    name = section.text("runway")
    by_plain = {plain_name(key): key for key in runways}
    if not name or plain_name(name) in by_plain:
        return by_plain.get(plain_name(name), "")
    section.error(
        "runway",
        say.PLAN_NO_SUCH_RUNWAY(
            name=quoted(name),
            what=f"Write one of {', '.join(runways)}." if runways else f"Describe it in [runway.{name}].",
        ),
    )
    return ""


def _two_ends(section: Section, name: str, dimension: str) -> tuple[float, float] | None:
    """``"8 kt"``, or ``["4 kt", "9 kt"]`` at the start and at the end of the window."""
    value = section.raw(name)
    if value is None:
        return None
    ends = value if isinstance(value, list) else [value, value]
    if len(ends) != 2 or not all(isinstance(end, str) for end in ends):
        section.error(name, say.PLAN_FORECAST_NO_VALUE(value=quoted(value), name=spelled(name)))
        return None
    try:
        start, end = (units.parse(str(end), dimension) for end in ends)
    except units.UnitError as error:
        section.error(name, say.PLAN_FORECAST_UNIT(value=quoted(value), error=briefly(error), name=spelled(name)))
        return None
    low, high = {"temperature": (223.15, 328.15), "pressure": (92e3, 108e3), "speed": (0.0, 40.0)}[dimension]
    if not (low <= start <= high and low <= end <= high):
        section.error(name, say.PLAN_FORECAST_NOT_BELIEVABLE(value=quoted(value)))
        return None
    return start, end
