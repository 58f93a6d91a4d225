"""In which world is it rehearsed? Aeroplane, sky, pilot and readings that fit the campaign's own words.

The simulated aeroplane is the invented one, brought to the campaign's weight and lift-off airspeed by exact similarity
(:func:`similar`), then measure by measure to the result that is expected or was flown: a roll of 140 m is rehearsed
as 140 m. The sky follows the forecast, or the readings in the files. What no reading shows (drift of the air and the
grass, rigging, moving air) is in every measure as large as the campaign's error sources state of it, so that the
interval rests on what is true; a documented scatter of runs is flown as documented.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any, cast

import numpy as np
from scipy import optimize

from samesky.air import altimetry, atmosphere
from samesky.campaign.derived.prepare import part_change, prepare, strip_of
from samesky.instruments.sources import RESULT, ErrorSource
from samesky.measures.shape import Measure
from samesky.reduction.reduction import common_sky, reduce_table
from samesky.rehearsal.script import Script
from samesky.simulator.aeroplane.model import Effect, SimAeroplane
from samesky.simulator.campaign_sim import result_at
from samesky.simulator.motion.flights import FLIGHTS
from samesky.simulator.pilot import Pilot
from samesky.simulator.scenario import Scenario
from samesky.simulator.schedule import RunPlan
from samesky.simulator.sky import FAIR, Course, SkyModel, Unseen

#: Zero-fuel mass [kg] and lift-off airspeed [m/s] of the invented aeroplane as it stands.
_MASS = cast("float", Scenario.__dataclass_fields__["ready_mass"].default)
_LIFT_OFF = cast("float", Pilot().lift_off)
#: How far an expected airspeed may be from the invented aeroplane's own, after scaling.
_AIRSPEED_BAND = (0.8, 1.25)
#: Mean wind along a run scatters by a third of the gust spread (see :mod:`samesky.planning.scrub`); of that the
#: simulated rise of the wind during the run already makes 0.14.
_GUSTS = 0.30
#: Name of that unread part of the wind.
GUSTS = "gusts along the run"
#: What stands for unseen changes of the air or the ground, by measure: a course of the sky.
HANDLE = {name: flight.handle for name, flight in FLIGHTS.items()}
#: Steps by which responses are found: of friction, rising air [m/s], power, thrust, wind gradient [1/s].
_STEPS = {"friction": 0.002, "rising air": 0.05, "power": 0.005, "thrust": 0.005, "wind gradient": 0.002}


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A script, the world it is flown in, and what the comparison will state.

    ``gusts`` are in the world and in no statement; ``knob`` names what the other configuration changes.
    """

    script: Script
    scenario: Scenario
    knob: str
    skies: Mapping[str, Mapping[str, float]]
    notes: tuple[str, ...] = field(default=())


def similar(aeroplane: SimAeroplane, mass: float, speed: float) -> SimAeroplane:
    """The same aeroplane ``mass`` times as heavy that does everything at ``speed`` times the airspeed.

    Accelerations, angles and propeller tip speeds over airspeed stay the same, so a roll is ``speed`` squared times as
    long and a climb ``speed`` times as fast; the engine turns as before.
    """
    frame, engine, propeller = aeroplane.airframe, aeroplane.engine, aeroplane.propeller
    length = np.sqrt(mass) / speed
    return SimAeroplane(
        replace(
            frame,
            wing_area=frame.wing_area * length**2,
            span=frame.span * length,
            wing_height=frame.wing_height * length,
        ),
        replace(
            engine,
            peak_torque=engine.peak_torque * mass * speed,
            idle_slope=engine.idle_slope * mass * speed,
            gear_ratio=engine.gear_ratio * length / speed,
        ),
        replace(propeller, diameter=propeller.diameter * length),
    )


def scene(script: Script) -> Scene:
    """The world for a script; the other configuration changes nothing yet."""
    campaign = script.campaign
    mass = _MASS if campaign.loading is None else float(campaign.loading.mass_at(0.0))
    lift_off = _expected(script, ("lift-off airspeed",))
    speed = 1.0 if lift_off is None else float(np.clip(lift_off / _LIFT_OFF, 0.6, 2.5))
    marks = _marks(script)
    slope = _mean(_prepared(script, name).get("slope") for name in script.tables)
    tracks = [_expected(script, (f"track {leg}",)) for leg in range(1, 9)]
    part = {key: 0.0 for key in (campaign.baseline, script.other)}
    for table in script.tables.values():
        part |= dict(zip(table.configuration, part_change(campaign, table)[0], strict=True))
    base = Scenario(
        effects={key: Effect(mass=float(part[key])) for key in part},
        schedule={name: _plan(table) for name, table in script.tables.items()},
        aeroplane=similar(SimAeroplane(), mass / _MASS, speed),
        sky=SkyModel(_courses(script)),
        pilot=_pilot(script, speed),
        sources=tuple(one for one in campaign.sources if one.target != RESULT) + _gusts(script),
        ready_mass=mass,
        slope=0.0 if slope is None else slope,
        tracks=tuple(track for track in tracks if track is not None),
        **marks,
    )
    # An aeroplane flies in some air even where none was written down: that of the scene then.
    air = {"weight": mass, "oat": base.sky.courses["temperature"].level, "pressure": base.sky.courses["pressure"].level}
    skies = {name: air | common_sky(campaign, table, _prepared(script, name)) for name, table in script.tables.items()}
    knob = FLIGHTS[script.primary].changed if script.primary in FLIGHTS else "thrust"
    return _as_stated(_at_level(Scene(script, base, knob, skies)))


def _marks(script: Script) -> dict[str, Any]:
    """What is agreed to be read, by the scenario's field: heights, and speeds at which a watch is pressed."""
    read: dict[tuple[str, int | None], list[np.ndarray | None]] = {}
    for name in script.tables:
        for column, where in FLIGHTS[name].marks.items():
            read.setdefault(where, []).append(_prepared(script, name).get(column))
    found = {where: _mean(values) for where, values in read.items()}
    single = {which: value for (which, place), value in found.items() if place is None and value is not None}
    pairs = {which: (found[which, 0], found[which, 1]) for which, place in found if place == 0}
    return single | {which: ends for which, ends in pairs.items() if None not in ends}


def _plan(table) -> RunPlan:
    fuel = np.nan_to_num(table.columns.get("fuel", np.full(len(table.rows), 30.0)), nan=30.0)
    extra = np.nan_to_num(table.columns.get("ballast", np.zeros(len(table.rows))))
    return RunPlan(table.hours, np.asarray(table.configuration), table.installation, fuel + extra)


def _prepared(script: Script, name: str) -> Mapping[str, np.ndarray]:
    return prepare(script.campaign, script.tables[name])


def _mean(values: Iterable[np.ndarray | None]) -> float | None:
    known = [one[np.isfinite(one)] for one in values if one is not None]
    joined = np.concatenate(known) if known else np.zeros(0)
    return float(joined.mean()) if joined.size else None


def _expected(script: Script, columns: tuple[str, ...], measure: str | None = None) -> float | None:
    """Mean of the readings that are expected in any of the columns, airspeeds calibrated."""
    names = [measure] if measure else script.tables
    return _mean(_prepared(script, name).get(column) for name in names for column in columns)


def _pilot(script: Script, speed: float) -> Pilot:
    """The usual pilot at the scaled airspeeds, or at those expected where they are near them."""
    usual = Pilot()
    scaled = {one.name: getattr(usual, one.name) for one in fields(Pilot)}
    scaled = {
        name: value if value is None or name == "braking_scatter" else value * speed for name, value in scaled.items()
    }
    found = {
        "climb": ("timed_climb", ("airspeed", "entry airspeed", "exit airspeed")),
        "descent": ("idle_descent", ("airspeed", "entry airspeed", "exit airspeed")),
        "cruise": ("cruise_fuel", ("airspeed",)),
    }
    for name, (measure, columns) in found.items():
        wanted = _expected(script, columns, measure) if measure in script.tables else None
        if wanted is not None:
            scaled[name] = float(np.clip(wanted, *(scaled[name] * np.array(_AIRSPEED_BAND))))
    own = {key: one.own_speeds.get("lift-off airspeed") for key, one in script.campaign.configurations.items()}
    if "takeoff_roll" in script.tables and any(own.values()):
        keys = script.tables["takeoff_roll"].configuration
        scaled["lift_off"] = np.array([own[key] or scaled["lift_off"] for key in keys])
    return Pilot(**scaled)


def _courses(script: Script) -> dict[str, Course]:
    """Courses of the sky: level and trend of what is forecast or read, the scatter of fair weather."""
    fair = FAIR.courses
    strip = {name: table for name, table in script.tables.items() if not FLIGHTS[name].aloft} or script.tables
    flown = script.planned is None
    since = float(np.mean(np.concatenate([t.hours % 24.0 for t in script.tables.values()])))
    read: dict[str, list[tuple[np.ndarray, np.ndarray]]] = {}
    for name, table in strip.items():
        runs, hours = _prepared(script, name), table.hours % 24.0
        values = dict(runs)
        if "gust" in runs and "headwind" in runs:
            values["gust"] = np.maximum(runs["gust"] - np.maximum(runs["headwind"], 0.0), 0.0)
        if FLIGHTS[name].aloft and flown and "oat" in runs and "pressure" in runs:
            height = atmosphere.pressure_altitude(runs["pressure"]) - (_elevation(script, table) or 0.0)
            values["oat"] = runs["oat"] + 0.0065 * height
        if FLIGHTS[name].aloft:
            values.pop("pressure", None)
        for key in ("oat", "pressure", "dew point", "headwind", "gust", "crosswind"):
            if key in values:
                read.setdefault(key, []).append((hours, np.broadcast_to(values[key], hours.shape)))
    made = {}
    for key, name in (("oat", "temperature"), ("pressure", "pressure"), ("dew point", "dew point")):
        made[name] = _trend(read.get(key), since, fair[name], keep_day=flown)
    for name in ("headwind", "gust", "crosswind"):
        made[name] = _trend(read.get(name), since, replace(fair[name], level=0.0) if name == "headwind" else fair[name])
    if "pressure" not in read:
        level = atmosphere.pressure(_elevation(script, next(iter(strip.values()))) or 0.0)
        made["pressure"] = replace(made["pressure"], level=float(level))
    # Moving air from run to run is as large as stated of each measure.
    made["rising air"] = replace(fair["rising air"], scatter=0.0, since=since)
    made["wind gradient"] = fair["wind gradient"]
    made |= {
        "unseen slope": Course(rate_scatter=1.0, since=since),
        "unseen walk": Course(walk=1.0),
        "unseen day": Course(day=1.0),
    }
    made["friction"] = Course(0.05, scatter=0.002, low=0.01, since=since)
    made["power"] = Course(1.0, since=since)
    return made


def _trend(read, since: float, fair: Course, keep_day: bool = False) -> Course:
    """A straight trend through what is expected, with the random parts of fair weather."""
    if not read:
        return replace(fair, since=since)
    hours = np.concatenate([one for one, _ in read])
    values = np.concatenate([one for _, one in read])
    known = np.isfinite(values)
    if not known.any():
        return replace(fair, since=since)
    hours, values = hours[known] - since, values[known]
    rate = 0.0
    if np.ptp(hours) > 0.25:
        rate, level = np.polyfit(hours, values, 1)
    else:
        level = values.mean()
    return replace(fair, level=float(level), rate=float(rate), curve=0.0, since=since)


def _elevation(script: Script, table) -> float | None:
    strip = strip_of(script.campaign, table, 0)
    return None if strip is None else strip.elevation


def qnh_of(script: Script, name: str, pressure: np.ndarray) -> np.ndarray:
    """The altimeter setting [Pa] that a pilot on the strip reads at this static pressure."""
    return altimetry.qnh(pressure, _elevation(script, script.tables[name]) or 0.0)


def _gusts(script: Script) -> tuple[ErrorSource, ...]:
    course = _courses(script)["gust"]
    if "headwind" not in {column for table in script.tables.values() for column in table.columns} or course.level <= 0:
        return ()
    size = _GUSTS * course.level
    return (ErrorSource(GUSTS, "headwind", size, "run", "a third of the gust spread, assumed"),)


def responses(scenario: Scenario, measure: Measure, sky: Mapping[str, float]) -> dict[str, float]:
    """Change of the measure's result on the scale of the comparison, by unit of each thing that no reading shows."""
    found = {}
    for name, step in _STEPS.items():
        ends = []
        for sign in (1.0, -1.0):
            effect = Effect(**{name: 1.0 + sign * step}) if name in ("power", "thrust") else Effect()
            hidden = {} if name in ("power", "thrust") else {name: sign * step}
            if name == "friction":
                hidden[name] += 0.05
            ends.append(measure.to_scale(np.array(result_at(scenario, measure, sky, effect, hidden))))
        found[name] = float((ends[0] - ends[1]) / (2.0 * step))
    return found


def _as_stated(found: Scene) -> Scene:
    """The scene whose every measure fits, drifts and meets moving air as much as the error sources state of it."""
    unseen = {}
    for name, table in found.script.tables.items():
        answer, handle = responses(found.scenario, table.measure, found.skies[name]), HANDLE[name]
        by = abs(answer[handle])
        own = found.scenario.unseen[name]
        unseen[name] = replace(
            own,
            scatter=_stated(found, name, "run") / by,
            slope=_stated(found, name, "straight drift") / by,
            walk=_stated(found, name, "wandering") / by,
            day=_stated(found, name, "day") / by,
            fitting=_stated(found, name, "installation") / abs(answer["thrust"])
            if found.script.campaign.fitted_anew
            else 0.0,
        )
    return replace(found, scenario=replace(found.scenario, unseen=unseen))


def _at_level(found: Scene) -> Scene:
    """The scene whose aeroplane does, in the baseline's configuration, what is expected of it or was flown.

    By its thrust, for the measures that drag decides by its drag, for a landing roll by the grip of the ground.
    """
    script, notes = found.script, list(found.notes)
    scenario = replace(found.scenario, unseen={name: Unseen(HANDLE[name]) for name in script.tables})
    for name, table in script.tables.items():
        measure, sky = table.measure, found.skies[name]
        wanted = _expected_result(script, name)
        knob, reach = FLIGHTS[name].level_by

        def tuned(value: float, scenario=scenario, name=name, knob=knob) -> Scenario:
            if knob == "grip":
                return replace(scenario, unseen={**scenario.unseen, name: Unseen(HANDLE[name], level=value)})
            return replace(scenario, trim={**scenario.trim, name: Effect(**{knob: value})})

        def short(value: float, measure=measure, sky=sky, wanted=wanted, tuned=tuned) -> float:
            with np.errstate(invalid="ignore"):
                reached = result_at(tuned(value), measure, sky, Effect())
            return np.nan if not reached > 0 else float(np.log(reached / wanted))

        ends = _bracket(short, np.linspace(*reach, 25)) if wanted > 0 else None
        if ends is None:
            reached = result_at(scenario, measure, sky, Effect())
            notes.append(
                f"{measure.title}: the simulated aeroplane cannot be brought to the result that is expected; what was "
                f"rehearsed is {100.0 * (reached / wanted - 1.0):+.0f} % off it."
            )
            continue
        scenario = tuned(optimize.brentq(short, *ends, xtol=1e-9))
    return replace(found, scenario=scenario, notes=tuple(notes))


def _bracket(short: Callable[[float], float], tried: np.ndarray) -> tuple[float, float] | None:
    """Two neighbours among the values tried between which the sign changes, nearest to one; None without any."""
    values = [short(float(value)) for value in tried]
    pairs = [
        (float(low), float(high))
        for low, high, first, second in zip(tried[:-1], tried[1:], values[:-1], values[1:], strict=True)
        if first * second <= 0
    ]
    return min(pairs, key=lambda ends: abs(sum(ends) / 2.0 - 1.0), default=None)


def _expected_result(script: Script, name: str) -> float:
    """The baseline's mean result at the common sky, as flown or expected [SI]."""
    table = script.tables[name]
    value = reduce_table(script.campaign, table).value
    return float(np.mean(value[(table.configuration == script.campaign.baseline) & np.isfinite(value)]))


def _stated(found: Scene, name: str, scope: str) -> float:
    """What the campaign states of the result itself in this scope, on the scale of the comparison."""
    measure = found.script.tables[name].measure
    level = result_at(found.scenario, measure, found.skies[name], Effect())
    squares = 0.0
    for source in (*found.script.campaign.sources, *measure.sources):
        if source.target == RESULT and source.scope == scope and source.applies_to(name):
            size = source.standard_uncertainty
            on_scale = size if source.relative == measure.ratio else size / level if measure.ratio else size * level
            squares += on_scale**2
    return float(np.sqrt(squares))
