"""Which coefficients has *this* aeroplane? What the campaign enters and has flown, brought to its corrections.

Exponents of the air and of weight follow from the kind of engine and propeller, from power, rpm and rate of climb, from
pull and roll (:mod:`samesky.measures.power`); a coefficient that the campaign states itself takes the place of any of
them. From here on every measure of the campaign carries them: reduction, budget, plan and rehearsal see the same ones.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from samesky.aeroplane.kinds import Known
from samesky.air import constants
from samesky.campaign.derived.air_reading import said
from samesky.campaign.derived.prepare import prepare
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.measures import conditions as given
from samesky.measures import level_acceleration, speeds
from samesky.measures.power import PRESSURE, TEMPERATURE
from samesky.measures.shape import Measure, Runs, suited
from samesky.measures.static_pull import ND

CLIMB, ROLL, PULL, LEVEL = "timed_climb", "takeoff_roll", "static_pull", "level_acceleration"


def with_coefficients(campaign: Campaign) -> Campaign:
    """The campaign, its measures with the coefficients of its own aeroplane."""
    known = known_of(campaign)

    def own(measure: Measure) -> Measure:
        stated = campaign.coefficients.get(measure.name, {})
        lawful = PRESSURE in stated and TEMPERATURE in stated
        found = suited(measure, replace(known, law_stated=lawful), stated)
        return replace(found, assumptions=found.assumptions + said(campaign.air_reading, measure.name))

    asked = {name: replace(one, measure=own(one.measure)) for name, one in campaign.asked.items()}
    tables = {
        name: replace(table, measure=asked[name].measure) if name in asked else table
        for name, table in campaign.tables.items()
    }
    return replace(campaign, asked=asked, tables=tables)


def known_of(campaign: Campaign) -> Known:
    """What the campaign knows of its aeroplane: as flown where it flew, as expected in its plan where it did not."""
    engine = campaign.engine
    found: dict[str, Any] = {  # fields of Known, of several kinds
        "engine": engine.kind,
        "propeller": campaign.propeller_kind,
        "power": engine.power,
        "rated_speed": engine.rated_speed or engine.speed_limit,
    }
    for name, of in ((CLIMB, _climb), (ROLL, _roll), (PULL, _pull), (LEVEL, _level)):
        means = _flown(campaign, name) or _expected(campaign, name)
        if means:
            found |= of(means)
    sky = campaign.reference
    if {"from", "to", "oat"} <= sky.keys():
        found |= {"sky_pressure": float(given.middle_pressure(sky)), "sky_temperature": sky["oat"]}
    if PULL in campaign.tables:
        runs = prepare(campaign, campaign.tables[PULL])
        speed = runs.get(ND)
        found["pull_speed_read"] = speed is not None and not np.isnan(speed[campaign.tables[PULL].included]).any()
    return Known(**{name: value for name, value in found.items() if value is None or value == value})


def _flown(campaign: Campaign, name: str) -> dict[str, float]:
    """Mean of every prepared column of the runs that count [SI]; empty where nothing was flown."""
    table = campaign.tables.get(name)
    if table is None or not table.included.any():
        return {}
    return _means(prepare(campaign, table), table)


def _means(runs: Runs, table: RunTable) -> dict[str, float]:
    found = {}
    for column, values in runs.items():
        values = values[table.included]
        values = values[np.isfinite(values)]
        if values.size:
            found[column] = float(values.mean())
    return found


def _expected(campaign: Campaign, name: str) -> dict[str, float]:
    """Readings that the plan expects of a measure [SI], with the weight in the morning; empty where it says none."""
    plan = campaign.plan
    one = None if plan is None else plan.measures.get(name)
    if plan is None or one is None or not one.expected:
        return {}
    found = dict(one.expected)
    if campaign.loading is not None and plan.fuel is not None:
        found["weight"] = float(campaign.loading.mass_at(plan.fuel))
    if "oat" in plan.forecast:
        found["oat"] = float(np.mean(plan.forecast["oat"]))
    return found


def _climb(means: dict[str, float]) -> dict[str, float | None]:
    found: dict[str, float | None] = {"climb_weight": means.get("weight"), "climb_speed": means.get("rpm")}
    if {"from", "to", "elapsed"} <= means.keys():
        rate = (means["to"] - means["from"]) / means["elapsed"]
        found["climb_pressure"] = float(given.middle_pressure(means))
        if "oat" in means:
            rate *= float(given.tapeline_ratio(means))
            found["climb_temperature"] = means["oat"]
        found["climb_rate"] = rate
    return found


def _roll(means: dict[str, float]) -> dict[str, float | None]:
    found: dict[str, float | None] = {"roll_weight": means.get("weight"), "roll": means.get("ground roll")}
    speed = means.get("lift-off airspeed")
    if speed is not None:
        # The wheels roll up to the true airspeed less the wind: in thin air 5 to 15 % more than the calibrated one.
        if {"oat", "pressure"} <= means.keys():
            speed = float(given.true_airspeed(speed, means))
        found["lift_off"] = speed - means.get("headwind", 0.0)
    return found


def _pull(means: dict[str, float]) -> dict[str, float | None]:
    return {"pull": means.get("pull")}


def _level(means: dict[str, float]) -> dict[str, float | None]:
    found: dict[str, float | None] = {"level_weight": means.get("weight"), "level_speed": means.get("rpm")}
    if {"first airspeed", "second airspeed", "elapsed"} <= means.keys():
        first, second = level_acceleration.true_speeds(means)
        airspeed, gain = 0.5 * float(first + second), float(second - first) / means["elapsed"]
        if {"altitude", "oat"} <= means.keys():
            found["level_pressure"] = float(speeds.pressure_of(means))
            found["level_temperature"] = means["oat"]
        if {"altitude", "end altitude"} <= means.keys():
            lent = constants.G0 * float(level_acceleration.height_gained(means))
            gain += lent / (airspeed * means["elapsed"])
        found |= {"level_airspeed": airspeed, "level_acceleration": gain}
    return found
