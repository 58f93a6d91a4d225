"""What truly comes out of one run of each measure?

One function a measure: from the aeroplane, the true conditions of the runs by the names of the prepared columns, and
what no reading shows, to the columns that the run fills in. The simulator's own list, so that a simulated run and the
truth at the common sky go through the same physics.

Conditions: ``"oat"`` [K] and ``"pressure"`` [Pa] belong together: the air there; air at other heights follows from
them by the standard lapse. ``"weight"`` [kg]; airspeeds are calibrated [m/s]. Hidden: ``"friction"``, ``"rising
air"`` [m/s], ``"path"`` (height over way), ``"wind gradient"`` [1/s], ``"gust rise"`` [m/s], ``"wind"`` [m/s] and
``"wind from"`` [rad] aloft.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from samesky.air.atmosphere import pressure_altitude
from samesky.air.atmosphere import temperature as standard_temperature
from samesky.air.constants import G0
from samesky.air.saturation import saturation_pressure
from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.ambient import Ambient, calibrated_airspeed, true_airspeed
from samesky.simulator.motion.climb import time_through_band
from samesky.simulator.motion.cruise import cruise_fuel
from samesky.simulator.motion.equations import distance_and_time
from samesky.simulator.motion.landing import landing_roll
from samesky.simulator.motion.legs import ground_speed
from samesky.simulator.motion.level import acceleration, top_speed
from samesky.simulator.motion.static import static_pull
from samesky.simulator.motion.takeoff import roll, roll_acceleration
from samesky.simulator.values import Value

Columns = Mapping[str, Value]


@dataclass(frozen=True, slots=True)
class Flight:
    """How a measure is flown: ``fly(aeroplane, conditions, hidden)`` gives the columns that it fills in.

    ``aims`` maps each airspeed that the pilot holds
    to the pilot's setting of the same subject; ``aloft`` is true where the air of the run is that of its height, not
    of the strip. ``marks`` maps each reading that is agreed beforehand (ends of a band, speeds at which a watch is
    pressed) to the scenario's field that holds it, and its place there where there are two. ``handle`` is what stands
    for unseen changes of the air or the ground (a course of the sky); ``level_by`` what brings the simulated aeroplane
    to an expected result, and within which reach; ``changed`` what a configuration is taken to change.
    """

    fly: Callable[[SimAeroplane, Columns, Columns], dict[str, np.ndarray]]
    aims: Mapping[str, str]
    handle: str
    aloft: bool = False
    marks: Mapping[str, tuple[str, int | None]] = field(default_factory=dict)
    level_by: tuple[str, tuple[float, float]] = ("thrust", (0.3, 4.0))
    changed: str = "thrust"


def air_of(conditions: Columns) -> Ambient:
    """The air that the conditions name: temperature, pressure and, where known, dew point."""
    dew_point = conditions.get("dew point")
    vapour: Value = 0.0
    if dew_point is not None:
        vapour = np.nan_to_num(saturation_pressure(dew_point) / conditions["pressure"])
    return Ambient(conditions["oat"], conditions["pressure"], vapour)


def _static(aeroplane, conditions, hidden):
    pull, speed = static_pull(aeroplane, air_of(conditions), conditions.get("headwind", 0.0))
    return {"pull": pull, "rpm": speed}


def _roll(aeroplane, conditions, hidden):
    rise = hidden.get("gust rise", 0.0)
    length, _ = roll(
        aeroplane,
        air_of(conditions),
        conditions["weight"],
        conditions["lift-off airspeed"],
        # The reading is the mean over the roll: half of the rise lies below it.
        conditions.get("headwind", 0.0) - 0.5 * rise,
        rise,
        conditions.get("slope", 0.0),
        hidden.get("friction", 0.05),
        points=6 if aeroplane.propeller.governed_speed is None else 40,
    )
    return {"ground roll": length}


def _landing(aeroplane, conditions, hidden):
    length, _ = landing_roll(
        aeroplane,
        air_of(conditions),
        conditions["weight"],
        conditions["touch-down airspeed"],
        conditions.get("headwind", 0.0),
        conditions.get("slope", 0.0),
        hidden.get("friction", 0.05),
    )
    return {"ground roll": length}


def _band(throttle: str):
    def fly(aeroplane, conditions, hidden):
        air = air_of(conditions)
        entry, exit = conditions.get("entry airspeed"), conditions.get("exit airspeed")
        mean = conditions.get("airspeed", 0.5 * (entry + exit) if entry is not None and exit is not None else None)
        elapsed, speed = time_through_band(
            aeroplane,
            air,
            pressure_altitude(air.pressure),
            conditions["from"],
            conditions["to"],
            conditions["weight"],
            mean,
            entry,
            exit,
            hidden.get("rising air", 0.0),
            hidden.get("wind gradient", 0.0),
            throttle,
        )
        return {"elapsed": elapsed, "rpm": speed}

    return fly


def _level(aeroplane, conditions, hidden):
    air = air_of(conditions)
    speed, engine_speed = top_speed(aeroplane, air, conditions["weight"], hidden.get("rising air", 0.0))
    filled = {"rpm": engine_speed}
    for leg in range(1, 9):
        if f"track {leg}" in conditions:
            wind = hidden["wind"], hidden["wind from"]
            filled[f"speed {leg}"] = ground_speed(speed, conditions[f"track {leg}"], *wind)
    return filled if len(filled) > 1 else filled | {"airspeed": calibrated_airspeed(speed, air.density)}


def _cruise(aeroplane, conditions, hidden):
    flow, speed = cruise_fuel(
        aeroplane,
        air_of(conditions),
        conditions["weight"],
        conditions["airspeed"],
        rising_air=hidden.get("rising air", 0.0),
    )
    return {"fuel flow": flow, "rpm": speed}


def _ground(aeroplane, conditions, hidden):
    air, rise = air_of(conditions), hidden.get("gust rise", 0.0)
    first, second = conditions["first ground speed"], conditions["second ground speed"]
    gain = roll_acceleration(
        aeroplane,
        air,
        conditions["weight"],
        # The reading is the mean over the run: half of the rise lies below the middle of the two speeds.
        conditions.get("headwind", 0.0) - 0.5 * rise,
        rise,
        first + second,
        conditions.get("slope", 0.0),
        hidden.get("friction", 0.05),
    )
    _, elapsed = distance_and_time(gain, first, second, 6 if aeroplane.propeller.governed_speed is None else 40)
    _, speed = aeroplane.drive(air).at(0.5 * (first + second) + conditions.get("headwind", 0.0))
    return {"elapsed": elapsed, "rpm": speed * aeroplane.engine.gear_ratio}


def _speeding_up(aeroplane, conditions, hidden):
    air, path = air_of(conditions), hidden.get("path", 0.0)
    ends = [true_airspeed(conditions[f"{which} airspeed"], air.density) for which in ("first", "second")]
    level = acceleration(aeroplane, air, conditions["weight"], hidden.get("rising air", 0.0))
    distance, elapsed = distance_and_time(lambda airspeed: level(airspeed) - G0 * path, ends[0], ends[1], points=16)
    _, speed = aeroplane.drive(air).at(0.5 * (ends[0] + ends[1]))
    # A path that is not quite level lends or borrows height; the altimeter counts pressure.
    stretch = air.temperature / standard_temperature(conditions["altitude"])
    end = conditions["altitude"] + path * distance / stretch
    return {"elapsed": elapsed, "end altitude": end, "rpm": speed * aeroplane.engine.gear_ratio}


_DRAG = ("drag", (0.1, 6.0))
_LEVEL: dict[str, tuple[str, int | None]] = {"altitude": ("altitude", None)}
_CLIMB, _DESCENT = ({"from": (field_, 0), "to": (field_, 1)} for field_ in ("climb", "descent"))
_GROUND = {f"{which} ground speed": ("ground_speeds", k) for k, which in enumerate(("first", "second"))}
_SPEEDS = {f"{which} airspeed": ("level_speeds", k) for k, which in enumerate(("first", "second"))}

#: How each measure is flown, by the measure's name.
FLIGHTS = {
    "static_pull": Flight(_static, {}, "power"),
    "takeoff_roll": Flight(_roll, {"lift-off airspeed": "lift_off"}, "friction"),
    "ground_acceleration": Flight(_ground, {}, "friction", marks=_GROUND),
    "timed_climb": Flight(_band("full"), {"airspeed": "climb"}, "rising air", True, _CLIMB),
    "level_speed": Flight(_level, {}, "rising air", True, _LEVEL),
    "level_acceleration": Flight(_speeding_up, {}, "rising air", True, _LEVEL | _SPEEDS),
    "idle_descent": Flight(_band("idle"), {"airspeed": "descent"}, "rising air", True, _DESCENT, _DRAG, "drag"),
    "landing_roll": Flight(
        _landing,
        {"touch-down airspeed": "touch_down"},
        "friction",
        level_by=("grip", (-0.28, 0.7)),
        changed="drag",
    ),
    "cruise_fuel": Flight(_cruise, {"airspeed": "cruise"}, "rising air", True, _LEVEL, _DRAG),
}
