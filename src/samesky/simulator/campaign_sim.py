"""What would a thousand campaigns like this one have written down?

Whole campaigns in memory: for every measure the prepared columns, (campaigns, runs) each, as the reduction wants them.
Everything is drawn from one generator, so a seed fixes every figure.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from samesky.air.atmosphere import pressure as standard_pressure
from samesky.air.atmosphere import pressure_altitude
from samesky.air.constants import RHO0
from samesky.measures.shape import Measure, Sky
from samesky.simulator.aeroplane.model import Effect, SimAeroplane
from samesky.simulator.ambient import Ambient
from samesky.simulator.motion.flights import FLIGHTS, Flight
from samesky.simulator.readings import HELD, read
from samesky.simulator.scenario import Scenario
from samesky.simulator.schedule import RunPlan

#: Fall of the dew point with height in air that rises unmixed [K/m] (common practice: about 0.5 degC in 1,000 ft).
DEW_POINT_LAPSE = 0.0018


@dataclass(frozen=True, slots=True)
class Simulated:
    """Simulated campaigns.

    ``columns`` are readings by measure and column, each (campaigns, n), SI; ``truth`` the same without errors of
    reading, with what no reading shows.
    """

    columns: Mapping[str, Mapping[str, np.ndarray]]
    truth: Mapping[str, Mapping[str, np.ndarray]]


def simulate(scenario: Scenario, campaigns: int, rng: np.random.Generator) -> Simulated:
    """Fly ``campaigns`` campaigns of the scenario. Raises ValueError for a measure that the simulator cannot fly."""
    plans = scenario.schedule
    if strange := sorted(set(plans) - set(FLIGHTS)):
        raise ValueError(f"the simulator cannot fly {', '.join(strange)}: it flies {', '.join(FLIGHTS)}")
    sky = scenario.sky.draw(rng, np.concatenate([plan.hours for plan in plans.values()]), campaigns)
    fitted = _fit(scenario, campaigns, rng)
    days = 1 + max(int(np.floor(plan.hours.max() / 24)) for plan in plans.values())
    crew = scenario.crew_scatter * rng.standard_normal((campaigns, days))
    shared: dict[str, np.ndarray] = {}
    columns, truth, first = {}, {}, 0
    for name, plan in plans.items():
        air = {quantity: values[:, first : first + len(plan.hours)] for quantity, values in sky.items()}
        first += len(plan.hours)
        flight, own = FLIGHTS[name], scenario.unseen.get(name)
        if own is not None:
            air[own.handle] = own.moved(rng, air)
        effect = scenario.effect_of(name, fitted, air["power"])
        aeroplane = effect.apply(scenario.aeroplane)
        mass = scenario.ready_mass + effect.mass + plan.fuel + crew[:, np.floor(plan.hours / 24).astype(int)]
        conditions, hidden = _conditions(scenario, name, flight, plan, air, mass, aeroplane, rng)
        held = {column: conditions[column] for column in HELD if column in conditions}
        scopes = scenario.sources_of(name), name, plan.installation, plan.day, shared
        conditions |= read(rng, held, *scopes)
        true = {**conditions, **flight.fly(aeroplane, conditions, hidden)}
        seen = read(rng, {column: value for column, value in true.items() if column not in held}, *scopes) | held
        # Nobody writes down a dew point above the temperature.
        seen["dew point"] = np.minimum(seen["dew point"], seen["oat"])
        if "rpm" in seen:
            # The pilot throttles back by the dial, whatever it hides.
            seen["rpm"] = np.minimum(seen["rpm"], scenario.aeroplane.engine.speed_limit)
        columns[name] = {column: value for column, value in seen.items() if column not in scenario.unread}
        truth[name] = true | hidden
    return Simulated(columns, truth)


def true_results(scenario: Scenario, measure: Measure, sky: Sky) -> dict[str, float]:
    """The measure's result [SI] of every configuration at the common ``sky``, free of all scatter.

    The physics at exactly the conditions of the sky, put through the measure's own reduction, which then has
    nothing to correct: what a perfect campaign would find.
    """
    return {key: result_at(scenario, measure, sky, effect) for key, effect in scenario.effects.items()}


def result_at(
    scenario: Scenario, measure: Measure, sky: Sky, effect: Effect, hidden: Mapping[str, float] | None = None
) -> float:
    """The measure's result [SI] with one effect at the common ``sky``, free of all scatter.

    ``hidden`` holds what no reading shows, such as ``"friction"`` or ``"rising air"``; quiet where it is not named.
    """
    flight, own, trim = FLIGHTS[measure.name], scenario.unseen.get(measure.name), scenario.trim.get(measure.name)
    aeroplane = effect.apply(scenario.aeroplane if trim is None else trim.apply(scenario.aeroplane))
    conditions = _at_sky(scenario, flight, sky, aeroplane)
    unseen = {"friction": _friction(scenario), **(hidden or {})}
    if own is not None and own.handle == "friction":
        unseen["friction"] += own.level
    columns = {**conditions, **flight.fly(aeroplane, conditions, unseen)}
    steps = measure.reduce(columns, sky, measure.coefficient_values())
    return float(np.ravel(steps[-1].value)[0])


def true_difference(scenario: Scenario, measure: Measure, sky: Sky, baseline: str, other: str) -> float:
    """True difference of the other configuration from the baseline: a fraction for a ratio measure, else [SI]."""
    results = true_results(scenario, measure, sky)
    if measure.ratio:
        return results[other] / results[baseline] - 1
    return results[other] - results[baseline]


def _fit(scenario: Scenario, campaigns: int, rng: np.random.Generator) -> dict[str, np.ndarray]:
    """Standard normal values (campaigns, installations) of each fitting, by what it changes."""
    installations = 1 + max(int(plan.installation.max()) for plan in scenario.schedule.values())
    changed = [
        name for name in ("pitch", "thrust", "drag") if any(scenario.fitting_of(m)[name] for m in scenario.schedule)
    ]
    return {name: rng.standard_normal((campaigns, installations)) for name in changed}


def _conditions(
    scenario: Scenario,
    name: str,
    flight: Flight,
    plan: RunPlan,
    air: Mapping[str, np.ndarray],
    mass: np.ndarray,
    aeroplane: SimAeroplane,
    rng: np.random.Generator,
) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray]]:
    """True conditions by the names of the prepared columns, and what no reading shows, each (campaigns, n)."""
    shape = air["temperature"].shape
    place, dew_point = Ambient(air["temperature"], air["pressure"]), air["dew point"]
    conditions = {"fuel": np.broadcast_to(plan.fuel, shape), "weight": np.broadcast_to(mass, shape)}
    own = scenario.unseen.get(name)
    steadiness = 1.0 if own is None else own.steadiness
    hidden = {"rising air": air["rising air"], "wind gradient": air["wind gradient"]}
    conditions |= {column: np.full(shape, value) for column, value in _marks(scenario, flight).items()}
    if flight.aloft:
        base = pressure_altitude(place.pressure)
        place = place.at_pressure_altitude(base, _middle(conditions))
        dew_point = dew_point - DEW_POINT_LAPSE * (_middle(conditions) - base)
    else:
        # A gust of this size may help or hinder the roll; the mast's strongest wind is what the pilot can write down.
        hidden |= {"friction": air["friction"], "gust rise": steadiness * air["gust"] * rng.uniform(-1.0, 1.0, shape)}
        conditions |= {
            "headwind": air["headwind"],
            "crosswind": air["crosswind"],
            "gust": air["headwind"] + air["gust"],
            "slope": np.full(shape, scenario.slope),
        }
    if name == "level_speed" and scenario.tracks:
        conditions |= {f"track {leg}": np.full(shape, track) for leg, track in enumerate(scenario.tracks, start=1)}
        along, across = scenario.wind_aloft * air["headwind"], scenario.wind_aloft * air["crosswind"]
        hidden |= {"wind": np.hypot(along, across), "wind from": scenario.heading + np.arctan2(across, along)}
    if name == "level_acceleration":
        hidden["path"] = steadiness * scenario.path_scatter * rng.standard_normal(shape)
    conditions |= {"oat": np.asarray(place.temperature), "pressure": np.asarray(place.pressure)}
    conditions["dew point"] = np.minimum(dew_point, place.temperature)
    for column, aim in flight.aims.items():
        target = _target(scenario, aim, aeroplane, mass)
        flown = scenario.pilot.fly(rng, target, steadiness * getattr(scenario.pilot, f"{aim}_scatter"), shape)
        conditions[column] = flown
        if "from" in conditions:
            ends = steadiness * scenario.pilot.climb_ends_scatter
            conditions["entry airspeed"] = scenario.pilot.fly(rng, flown, ends, shape)
            conditions["exit airspeed"] = scenario.pilot.fly(rng, flown, ends, shape)
    return conditions, hidden


def _marks(scenario: Scenario, flight: Flight) -> dict[str, float]:
    """What is agreed beforehand to be read [SI], by column: heights, and speeds at which a watch is pressed."""
    found = {}
    for column, (name, place) in flight.marks.items():
        value = getattr(scenario, name)
        found[column] = value if place is None else value[place]
    return found


def _middle(conditions: Mapping[str, np.ndarray]) -> np.ndarray:
    """Pressure altitude [m] at which the run is flown: its own, or the middle of its band."""
    if "altitude" in conditions:
        return conditions["altitude"]
    return 0.5 * (conditions["from"] + conditions["to"])


def _target(scenario: Scenario, aim: str, aeroplane: SimAeroplane, mass) -> np.ndarray | float:
    """Airspeed [m/s, calibrated] that the pilot aims at: set, or the airframe's ratio over its stalling speed."""
    chosen = getattr(scenario.pilot, aim)
    if chosen is not None:
        return chosen
    frame = aeroplane.airframe
    if aim == "lift_off":
        return frame.lift_off_ratio * frame.stalling_speed(mass, frame.most_lift_takeoff, RHO0)
    return frame.touch_down_ratio * frame.stalling_speed(mass, frame.most_lift_landing, RHO0)


def _friction(scenario: Scenario) -> float:
    course = scenario.sky.courses.get("friction")
    return 0.05 if course is None else course.level


def _at_sky(scenario: Scenario, flight: Flight, sky: Sky, aeroplane: SimAeroplane) -> dict[str, np.ndarray]:
    """Conditions (1,) of one run flown exactly at the common sky; what the sky does not name is the scenario's own."""
    conditions = {column: np.atleast_1d(np.asarray(value, dtype=float)) for column, value in sky.items()}
    for column, value in _marks(scenario, flight).items():
        conditions.setdefault(column, np.array([value]))
    if flight.aloft:
        conditions["pressure"] = standard_pressure(_middle(conditions))
    for column, aim in flight.aims.items():
        if column not in conditions:
            conditions[column] = np.atleast_1d(_target(scenario, aim, aeroplane, conditions["weight"]))
    return conditions
