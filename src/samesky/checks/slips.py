"""Does a reading look like a slip: of the pen, of the watch, of the unit?

Believable bounds (:mod:`samesky.campaign.tables.number_column`) stop what no aeroplane does. Here each reading is held
against its own campaign: against the other runs of its configuration, against the readings before and after it,
against other columns and tables that know the same thing, and against what the engine can give at all. Whatever stands
far out is named as a warning and counts as before: only the pilot knows what happened, and a run that was left out
because its number was not liked makes every answer look better than it is.

A reading counts as far out where it lies outside the range of its neighbours by more than that range and a floor each
column has. The floors are chosen, several times what sound flying scatters by (rolls repeat to 3 to 7 %, climbs to 1.5
to 3.5 %, pulls to 1 to 2 %, top speeds to 1 %: common practice), so that sound campaigns stay without a warning;
``tests/checks/test_slips.py`` draws both sound campaigns and slips, and counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import pairwise

import numpy as np

from samesky import units
from samesky.aeroplane import propeller
from samesky.aeroplane.loading import AVGAS_DENSITY
from samesky.air import constants
from samesky.campaign.derived.prepare import strip_of
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.reading.assemble import in_flown_order
from samesky.campaign.reading.table import columns_of
from samesky.checks import catalogue as say
from samesky.measures.shape import Runs
from samesky.reduction.reduction import steps_of

MEND = (
    "Correct it if it was written down wrong. If it was read so, keep it and say in 'notes' what was special: the run "
    "counts as it stands."
)
UNIT_MEND = (
    "Check the unit in the header, and the readings. If both are right, keep them: the runs count as they stand."
)

#: Columns that are held against the other runs of their configuration: the ratio by which a reading may stand outside
#: their range, as a logarithm.
ALIKE_RATIO = {
    "lift-off airspeed": 0.14,
    "touch-down airspeed": 0.14,
    "airspeed": 0.14,
    "entry airspeed": 0.14,
    "exit airspeed": 0.14,
    "first airspeed": 0.10,
    "second airspeed": 0.10,
    "first ground speed": 0.25,
    "second ground speed": 0.14,
    "rpm": 0.05,
    **{f"speed {leg}": 0.18 for leg in range(1, 9)},
}
#: The same for heights, [m].
ALIKE_PLAIN = {"from": 100.0, "to": 100.0, "altitude": 100.0, "end altitude": 100.0, "pressure altitude": 100.0}
#: Columns that are held against the readings before and after: how far outside them a reading may be [SI], and how much
#: further for each hour between.
IN_TIME = {
    "oat": (5.5, 2.5),
    "dew point": (8.0, 2.0),
    "qnh": (500.0, 150.0),
    "headwind": (5.0, 1.5),
    "crosswind": (6.0, 1.5),
    "gust": (8.0, 1.5),
}
#: Between days weather has no bound of this kind: no less than so far [SI].
ANOTHER_DAY = {"oat": 20.0, "dew point": 20.0, "qnh": 3500.0, "headwind": 12.0, "crosswind": 12.0, "gust": 15.0}
#: How far from the median of the other runs, as a logarithm of the ratio, a result is far out where its measure does
#: not say so itself, and robust standard deviations that any result has to be away besides.
OWN_RESULT, DEVIATIONS = 0.25, 6.0
#: Columns that hold a measure's result, or most of it.
RESULT_COLUMNS = ("ground roll", "elapsed", "pull", "fuel flow", "airspeed", "speed 1")
#: Most of the engine's power that lifts the aeroplane in a climb (an ideal propeller without drag: 1; good climbers:
#: 0.45), and the steepest climb without a known power [m/s] (chosen).
CLIMB_POWER, STEEPEST = 0.6, 15.0
#: Sink with the engine idling as a share of the airspeed: a glide of 2.5 to 1 (chosen).
SINK_SHARE = 0.4
#: Mean acceleration of a take-off roll as a share of what an ideal propeller would give at a standstill without any
#: resistance (chosen; 0.25 to 0.6 in common practice).
ROLL_SHARE = (0.17, 0.75)
#: Fuel [m^3/s] burnt for each watt of rated power: 0.07 to 0.65 L/kWh (chosen: 0.09 at 30 % power, and 0.55 for a
#: two-stroke engine at full throttle, common practice).
FLOW = tuple(litres / 1000 / 3600 / 1000 for litres in (0.07, 0.65))
#: Pairs of airspeeds of which the first is a part of the second: table, column, table, column, least and most.
SPEED_PAIRS = (
    ("takeoff_roll", "lift-off airspeed", "timed_climb", "airspeed", 0.45, 1.15),
    ("level_speed", "airspeed", "timed_climb", "airspeed", 0.9, 4.0),
    ("cruise_fuel", "airspeed", "timed_climb", "airspeed", 0.8, 4.0),
    ("cruise_fuel", "airspeed", "level_speed", "airspeed", 0.4, 1.12),
    ("takeoff_roll", "lift-off airspeed", "level_speed", "airspeed", 0.15, 0.8),
    ("takeoff_roll", "lift-off airspeed", "level_acceleration", "first airspeed", 0.3, 1.1),
    ("level_acceleration", "second airspeed", "level_speed", "airspeed", 0.4, 1.05),
    ("ground_acceleration", "second ground speed", "takeoff_roll", "lift-off airspeed", 0.2, 1.3),
    ("timed_climb", "entry airspeed", "timed_climb", "airspeed", 0.75, 1.33),
    ("timed_climb", "exit airspeed", "timed_climb", "airspeed", 0.75, 1.33),
    ("idle_descent", "entry airspeed", "idle_descent", "airspeed", 0.75, 1.33),
    ("idle_descent", "exit airspeed", "idle_descent", "airspeed", 0.75, 1.33),
)
#: Columns of one instrument in all files, and those of the wind, which are read off one instrument or one report.
TOLD_ALIKE, WINDS = ("oat", "dew point", "qnh", "fuel"), ("headwind", "gust", "crosswind")
#: How far apart [K] two tables' air may be once both are brought to one height by the standard lapse (chosen: beyond
#: any inversion of a morning), and how near in time [h] their runs have to be.
AIR_APART, SAME_HOUR = 14.0, 1.5
#: Times the usual use of fuel, and share of the fullest tank, beyond which fuel falls too fast.
FASTER, MUCH = 5.0, 0.2
#: Hours without any other run after which a run at one end of a day is taken for a slip of the clock (chosen).
ALONE = 4.0
#: Hours after a day's last run within which one more would belong to the same outing (chosen).
ONE_OUTING = 1.5


def slip_findings(campaign: Campaign, prepared: Mapping[str, Runs]) -> list[Finding]:
    """A warning for every reading, column or time that looks like a slip; the campaign's tables have no error.

    ``prepared`` holds the prepared columns of every table by its name.
    """
    found = [*_days(campaign), *_fuel(campaign)]
    for name, table in campaign.tables.items():
        if not np.any(table.included):
            continue
        runs = prepared[name]
        cells = _cells(campaign, table)
        columns = [*_ceilings(campaign, table, runs)]
        seen = {finding.row for finding in (*cells, *columns)}
        found += [*cells, *columns, *(one for one in _results(campaign, table, runs) if one.row not in seen)]
    return [*found, *_air_of_tables(campaign), *_speed_pairs(campaign), *_units_apart(campaign)]


# -- one reading against its neighbours ------------------------------------------------------------------------------


def _cells(campaign: Campaign, table: RunTable) -> list[Finding]:
    found = []
    for name, values in table.columns.items():
        if name in IN_TIME:
            far = _far_in_time(name, values, table)
        elif name in ALIKE_RATIO:
            with np.errstate(divide="ignore", invalid="ignore"):
                logs = np.where(values > 0, np.log(values), np.nan)
            far = _far_from_others(logs, table, ALIKE_RATIO[name])
        elif name in ALIKE_PLAIN:
            far = _far_from_others(values, table, ALIKE_PLAIN[name])
        else:
            continue
        for index, others in far:
            whose = "the runs before and after" if name in IN_TIME else f"the other runs{_of(table, index, others)}"
            found.append(
                Finding(
                    "warning",
                    table.file,
                    say.SLIP_READING_APART(
                        shown=_shown(table, name, [index]), whose=whose, shown2=_shown(table, name, others)
                    ),
                    int(table.rows[index]),
                    name,
                )
            )
    return found


def _of(table: RunTable, index: int, others: Iterable[int]) -> str:
    """Whose runs they are: of one configuration, or of all."""
    key = table.configuration[index]
    return f" of {key}" if all(table.configuration[other] == key for other in others) else ""


def _others(table: RunTable, usable: np.ndarray, index: int) -> np.ndarray:
    """Other usable runs of the same configuration where there are two of them, else of all configurations."""
    same = usable & (table.configuration == table.configuration[index])
    chosen = same if same.sum() - same[index] >= 2 else usable.copy()
    chosen[index] = False
    return np.flatnonzero(chosen)


def _far_from_others(values: np.ndarray, table: RunTable, floor: float) -> list[tuple[int, np.ndarray]]:
    """Counted runs outside the range of the others by more than that range and the floor, each with the others."""
    usable = table.included & np.isfinite(values)
    far = []
    for index in map(int, np.flatnonzero(usable)):
        others = _others(table, usable, index)
        if others.size < 2:
            continue
        low, high = values[others].min(), values[others].max()
        if max(low - values[index], values[index] - high) > floor + (high - low):
            far.append((index, others))
    return far


def _far_in_time(name: str, values: np.ndarray, table: RunTable) -> list[tuple[int, np.ndarray]]:
    """Counted runs outside the range of the two readings before and the two after, by more than weather does."""
    known = np.flatnonzero(np.isfinite(values))
    floor, an_hour = IN_TIME[name]
    far = []
    for place, index in enumerate(known):
        near = np.r_[known[max(place - 2, 0) : place], known[place + 1 : place + 3]]
        near = near[near != index]
        same_day = near[table.day[near] == table.day[index]]
        if not table.included[index] or not near.size:
            continue
        slack = ANOTHER_DAY[name]
        if same_day.size:
            near = same_day
            slack = min(slack, floor + an_hour * float(np.abs(table.hours[near] - table.hours[index]).min()))
        low, high = values[near].min(), values[near].max()
        if max(low - values[index], values[index] - high) > slack + (high - low):
            far.append((int(index), near))
    return far


def _shown(table: RunTable, name: str, indices: Iterable[int]) -> str:
    """The readings of some runs in the unit of their column, from the lowest to the highest."""
    unit = table.units[name]
    dimension = next(column.dimension for column in columns_of(table.measure) if column.name == name)
    values = np.asarray(table.columns[name])[list(indices)]
    return _span(units.from_si(values[np.isfinite(values)], unit, dimension), unit)


def _span(values: np.ndarray, unit: str) -> str:
    """The lowest and the highest of some values as a pilot writes them, with their unit."""
    ends = dict.fromkeys(f"{float(f'{end:.4g}'):.10g}" for end in (np.min(values), np.max(values)))
    return f"{' to '.join(ends)} {unit}".removesuffix(" 1" if unit == "1" else "\0")


# -- the result of a run against the others --------------------------------------------------------------------------


def _results(campaign: Campaign, table: RunTable, runs) -> list[Finding]:
    """Counted runs whose result on the same sky is far from that of the others."""
    measure = table.measure
    try:
        *_, steps = steps_of(campaign, table, runs)
    except ValueError:
        return []
    value = np.asarray(steps[-1].value, dtype=float)
    logs = measure.far_out is not None or measure.ratio
    with np.errstate(divide="ignore", invalid="ignore"):
        scaled = np.where(value > 0, np.log(value), np.nan) if logs else value
    usable = table.included & np.isfinite(scaled)
    floor = OWN_RESULT if measure.far_out is None else measure.far_out
    if not logs and np.any(usable):
        floor *= float(np.median(np.abs(scaled[usable])))
    found = []
    for index in map(int, np.flatnonzero(usable)):
        others = _others(table, usable, index)
        if others.size < 2:
            continue
        # Held against runs of the other configurations, a real difference must not look like a slip.
        mixed = np.any(table.configuration[others] != table.configuration[index])
        away = abs(scaled[index] - np.median(scaled[others]))
        if away > (2.0 if mixed else 1.0) * floor and away > DEVIATIONS * _scatter(table, scaled, usable, index):
            found.append(_odd_result(campaign, table, value, index, others))
    return found


def _scatter(table: RunTable, scaled: np.ndarray, usable: np.ndarray, index: int) -> float:
    """Robust standard deviation of all usable runs but one, each about the median of its configuration."""
    rest = usable.copy()
    rest[index] = False
    away = [
        np.abs(scaled[side] - np.median(scaled[side]))
        for key in set(table.configuration[rest])
        if np.any(side := rest & (table.configuration == key))
    ]
    # The run in the middle of its fellows has no distance from their median: it tells nothing of the scatter.
    told = np.concatenate([one[one > 0] for one in away]) if away else np.array([])
    return 1.4826 * float(np.median(told)) if told.size else 0.0


def _odd_result(campaign: Campaign, table: RunTable, value: np.ndarray, index: int, others: np.ndarray) -> Finding:
    measure = table.measure
    unit = campaign.asked[measure.name].unit or measure.unit
    come = " to ".join(
        dict.fromkeys(
            units.show(float(end), unit, measure.dimension) for end in (value[others].min(), value[others].max())
        )
    )
    column = next((name for name in RESULT_COLUMNS if name in table.columns), None)
    found = f"found {_shown(table, column, [index])}, which" if column else f"run {table.text['run'][index]}"
    return Finding(
        "warning",
        table.file,
        say.SLIP_RESULT_APART(
            found=found,
            value=units.show(float(value[index]), unit, measure.dimension),
            of=_of(table, index, others),
            come=come,
        ),
        int(table.rows[index]),
        column,
    )


# -- what the engine can give ----------------------------------------------------------------------------------------


def _ceilings(campaign: Campaign, table: RunTable, runs) -> list[Finding]:
    """A column whose readings, as a whole or one of them, ask more of the aeroplane than there is."""
    name, power = table.measure.name, campaign.engine.power
    if name == "timed_climb":
        rate = (runs["to"] - runs["from"]) / runs["elapsed"]
        most = np.full(len(rate), STEEPEST)
        if power is not None and "weight" in runs:
            most = CLIMB_POWER * power / (runs["weight"] * constants.G0)
        says = "more than the engine's power can lift" if power is not None else "more than light aeroplanes climb"
        return _beyond(table, "elapsed", rate > most, rate, "speed", "ft/min", says)
    if name == "idle_descent":
        rate = (runs["from"] - runs["to"]) / runs["elapsed"]
        fast = rate > (SINK_SHARE * runs["airspeed"] if "airspeed" in runs else STEEPEST)
        return _beyond(table, "elapsed", fast, rate, "speed", "ft/min", "steeper than aeroplanes glide")
    if name == "cruise_fuel" and power is not None:
        flow = runs["fuel flow"]
        found = _beyond(
            table, "fuel flow", flow > FLOW[1] * power, flow, "volume flow", None, "more than the engine can burn"
        )
        low = flow < FLOW[0] * power
        return found or _beyond(
            table, "fuel flow", low, flow, "volume flow", None, "less than an engine of this power burns in cruise"
        )
    if name == "takeoff_roll":
        return _acceleration(campaign, table, runs)
    if name in ("ground_acceleration", "level_acceleration"):
        return _gain(campaign, table, runs)
    return []


def _gain(campaign: Campaign, table: RunTable, runs) -> list[Finding]:
    """A gain of speed beyond that of an ideal propeller at a standstill without any resistance."""
    diameters = [one.diameter for one in campaign.configurations.values() if one.diameter]
    if campaign.engine.power is None or "weight" not in runs or not diameters:
        return []
    first, second = (
        next(runs[f"{which} {of}"] for of in ("ground speed", "airspeed") if f"{which} {of}" in runs)
        for which in ("first", "second")
    )
    gain = (second - first) / runs["elapsed"]
    ideal = propeller.static_thrust(campaign.engine.power, max(diameters), constants.RHO0) / runs["weight"]
    says = "more than an ideal propeller would give"
    return _beyond(table, "elapsed", gain > ROLL_SHARE[1] * ideal, gain, "acceleration", "kt/s", says)


def _acceleration(campaign: Campaign, table: RunTable, runs) -> list[Finding]:
    """A roll too short or too long for its lift-off speed and the engine's power: most likely a unit."""
    diameters = [one.diameter for one in campaign.configurations.values() if one.diameter]
    if campaign.engine.power is None or "lift-off airspeed" not in runs or "weight" not in runs or not diameters:
        return []
    speed = np.maximum(runs["lift-off airspeed"] - runs.get("headwind", 0.0), 0.0)
    ideal = propeller.static_thrust(campaign.engine.power, max(diameters), constants.RHO0) / runs["weight"]
    share = float(np.nanmedian((np.square(speed) / (2.0 * runs["ground roll"]) / ideal)[table.included]))
    if not math.isfinite(share) or ROLL_SHARE[0] <= share <= ROLL_SHARE[1]:
        return []
    long = "long" if share < 1 else "short"
    return [
        Finding(
            "warning",
            table.file,
            say.SLIP_ROLL_AND_POWER(
                shown=_shown(table, "ground roll", np.flatnonzero(table.included)),
                shown2=_shown(table, "lift-off airspeed", np.flatnonzero(table.included)),
                long=long,
                share=100 * share,
                what=UNIT_MEND.replace("the unit in the header", "the units of both columns"),
            ),
            column="ground roll",
        )
    ]


def _beyond(table: RunTable, column: str, where, rate, dimension: str, unit: str | None, says: str) -> list[Finding]:
    """One warning for the counted runs so marked; about the column where they are most of it."""
    marked = np.flatnonzero(np.asarray(where, dtype=bool) & table.included)
    if not marked.size:
        return []
    unit = unit or table.units[column]
    shown = units.show(float(np.nanmax(np.asarray(rate)[marked])), unit, dimension)
    whole = marked.size > 0.5 * table.included.sum()
    what = f"{_shown(table, column, marked)} would mean {shown}" if column == "elapsed" else shown
    return [
        Finding(
            "warning",
            table.file,
            say.SLIP_POWER_SHOWN(
                what="these readings: " if whole and marked.size > 1 else "found ",
                what2=what,
                says=says,
                unit_mend=UNIT_MEND if whole else MEND,
            ),
            None if whole else int(table.rows[marked[0]]),
            column,
        )
    ]


# -- columns and tables that know the same ---------------------------------------------------------------------------


def _air_of_tables(campaign: Campaign) -> list[Finding]:
    """A table whose temperatures, brought to one height, are far from those of the other tables of the same hours."""
    known = {
        name: (table, table.columns["oat"] + constants.LAPSE_RATE * height)
        for name, table in campaign.tables.items()
        if "oat" in table.columns and (height := _height(campaign, table)) is not None
    }
    apart: dict[str, list[float]] = {name: [] for name in known}
    for name, (table, air) in known.items():
        for other, (there, its_air) in known.items():
            if other == name:
                continue
            nearest = np.abs(there.hours[None, :] - table.hours[:, None])
            close = nearest.min(axis=1) <= SAME_HOUR
            if np.any(close):
                apart[name].append(float(np.nanmedian((air - its_air[nearest.argmin(axis=1)])[close])))
    found = []
    for name, gaps in apart.items():
        # One odd table among three is far from both others, while each of these is far from one.
        if gaps and min(map(abs, gaps)) > AIR_APART:
            table = known[name][0]
            found.append(
                Finding(
                    "warning",
                    table.file,
                    say.SLIP_AIR_APART(
                        shown=_shown(table, "oat", np.flatnonzero(table.included)),
                        gap=abs(gaps[0]),
                        what="above" if gaps[0] > 0 else "below",
                    ),
                    column="oat",
                )
            )
    return found


def _height(campaign: Campaign, table: RunTable) -> np.ndarray | None:
    columns = table.columns
    if "from" in columns and "to" in columns:
        return 0.5 * (columns["from"] + columns["to"])
    for name in ("altitude", "pressure altitude"):
        if name in columns:
            return columns[name]
    strips = [strip_of(campaign, table, index) for index in range(len(table.rows))]
    heights = [None if strip is None else strip.elevation for strip in strips]
    return None if None in heights else np.array(heights, dtype=float)


def _speed_pairs(campaign: Campaign) -> list[Finding]:
    """Airspeed columns whose medians cannot both be right: one of them is in another unit, most likely."""
    found = []
    for name, column, other, its_column, least, most in SPEED_PAIRS:
        table, there = campaign.tables.get(name), campaign.tables.get(other)
        if table is None or there is None or column not in table.columns or its_column not in there.columns:
            continue
        medians = [
            float(np.nanmedian(one.columns[which][one.included])) if np.any(one.included) else math.nan
            for one, which in ((table, column), (there, its_column))
        ]
        if not np.isfinite(medians).all() or least <= medians[0] / medians[1] <= most:
            continue
        found.append(
            Finding(
                "warning",
                table.file,
                say.SLIP_RATIO(
                    shown=_shown(table, column, np.flatnonzero(table.included)),
                    title=there.measure.title + " has " if there is not table else "",
                    its_column=its_column,
                    shown2=_shown(there, its_column, np.flatnonzero(there.included)),
                    least=least,
                    most=most,
                    what=UNIT_MEND.replace("the unit in the header", "the units of both columns"),
                ),
                column=column,
            )
        )
    return found


def _units_apart(campaign: Campaign) -> list[Finding]:
    """One reading in one unit here and in another there: the same instrument seldom changes its scale."""
    told: dict[str, list[tuple[RunTable, str, str]]] = {}
    for table in campaign.tables.values():
        for name, unit in table.units.items():
            if name in TOLD_ALIKE or name in WINDS:
                told.setdefault("wind" if name in WINDS else name, []).append((table, name, unit))
    found = []
    for columns in told.values():
        # The unit that most of them have is taken for the one that was meant.
        usual = max(columns, key=lambda one: sum(_same_unit(one[2], other[2]) for other in columns))
        for table, name, unit in columns:
            if not _same_unit(unit, usual[2]):
                found.append(
                    Finding(
                        "warning",
                        table.file,
                        say.SLIP_UNITS_DIFFER(
                            name=name, unit=unit, the_file=usual[0].file, usual=usual[1], usual2=usual[2]
                        ),
                        column=name,
                    )
                )
    for table in campaign.tables.values():
        ends = [table.units[name] for name in ("from", "to") if name in table.units]
        if len(ends) == 2 and not _same_unit(*ends):
            found.append(Finding("warning", table.file, say.SLIP_BAND_UNITS(end=ends[0], end2=ends[1]), column="to"))
    return found


def _same_unit(one: str, other: str) -> bool:
    """Whether two spellings mean one unit."""
    for dimension in units.DIMENSIONS:
        if fits(one, dimension) and fits(other, dimension):
            return math.isclose(units.to_si(1.0, one, dimension), units.to_si(1.0, other, dimension), rel_tol=1e-9)
    return False


# -- days, clocks, fuel ----------------------------------------------------------------------------------------------


def _days(campaign: Campaign) -> list[Finding]:
    """A run that is the only one of its day, and one that stands hours away from all others of its day."""
    runs = in_flown_order(campaign.tables)
    days: dict[int, list[tuple[RunTable, int]]] = {}
    for table, index in runs:
        days.setdefault(int(table.day[index]), []).append((table, index))
    ordered = [days[day] for day in sorted(days)]
    found = []
    for before, flown in pairwise(ordered):
        (table, index), hours = flown[0], [other.hours[at] for other, at in before]
        # A day less in its date, and the run would stand behind those of its file on the day before.
        back = table.hours[index] - 24.0
        own = [other.hours[at] for other, at in before if other is table]
        if len(flown) == 1 and len(before) >= 3 and own and max(own) < back <= max(hours) + ONE_OUTING:
            found.append(
                Finding(
                    "warning",
                    table.file,
                    say.SLIP_DAY_ALONE(cell=_cell(table, "date", index), text=table.text["run"][index]),
                    int(table.rows[index]),
                    "date",
                )
            )
    for flown in days.values():
        hours = [table.hours[index] for table, index in flown]
        for (table, index), gap in (
            (flown[0], hours[1] - hours[0] if len(flown) > 3 else 0.0),
            (flown[-1], hours[-1] - hours[-2] if len(flown) > 3 else 0.0),
        ):
            if gap > ALONE:
                found.append(
                    Finding(
                        "warning",
                        table.file,
                        say.SLIP_CLOCK_ALONE(cell=_cell(table, "clock", index), gap=gap),
                        int(table.rows[index]),
                        "clock",
                    )
                )
    return found


def _cell(table: RunTable, name: str, index: int) -> str:
    words = table.text.get(name)
    return f"'{words[index]}'" if words and words[index] else f"this {name}"


def _fuel(campaign: Campaign) -> list[Finding]:
    """Fuel that falls several times faster than between the other runs; a rise is found by :mod:`~.check`."""
    runs = [
        (table, index)
        for table, index in in_flown_order(campaign.tables)
        if "fuel" in table.columns and np.isfinite(table.columns["fuel"][index])
    ]
    if len(runs) < 4:
        return []
    fuel = np.array([table.columns["fuel"][index] for table, index in runs])
    hours = np.array([table.hours[index] for table, index in runs])
    day = np.array([table.day[index] for table, index in runs])
    drop, span = -np.diff(fuel), np.diff(hours)
    within = (day[1:] == day[:-1]) & (drop > 0) & (span > 0)
    if within.sum() < 3:
        return []
    usual = float(np.median(drop[within] / span[within]))
    found = []
    for place in np.flatnonzero(within & (drop > FASTER * usual * np.maximum(span, 0.1)) & (drop > MUCH * fuel.max())):
        table, index = runs[place + 1]
        before, at = runs[place]
        found.append(
            Finding(
                "warning",
                table.file,
                say.SLIP_FUEL_USE(
                    fuel_shown=_fuel_shown(campaign, table, index),
                    fuel_shown2=_fuel_shown(campaign, before, at),
                    drop=drop[place] / span[place] / usual,
                ),
                int(table.rows[index]),
                "fuel",
            )
        )
    return found


def _fuel_shown(campaign: Campaign, table: RunTable, index: int) -> str:
    """Fuel in the unit of its column, which may be one of volume."""
    mass, unit = float(table.columns["fuel"][index]), table.units["fuel"]
    if fits(unit, "mass"):
        return _span(units.from_si(np.array([mass]), unit, "mass"), unit)
    density = AVGAS_DENSITY if campaign.loading is None else campaign.loading.fuel_density
    return _span(units.from_si(np.array([mass / density]), unit, "volume"), unit)
