"""What a pilot of the worlds writes down: conditions and results of many campaigns at once, and a folder of files.

Conditions are arrays (campaigns, runs). :func:`columns` flies them without any error; :class:`Errors` then adds those
of reading, fitting and drift. Sizes are the worlds' own (assumed), as large as a campaign takes by itself where it says
nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from tests.worlds.aeroplanes import Aeroplane
from tests.worlds.air import FOOT, KNOT, Air, calibrated, standard_pressure, standard_temperature

#: The units in which the files are written, by column: plain SI but where nobody has such an instrument.
UNITS = {
    "oat": "degC", "pressure altitude": "m", "dew point": "degC", "fuel": "kg", "rpm": "rpm", "headwind": "m/s",
    "pull": "N", "ground roll": "m", "lift-off airspeed": "m/s", "from": "m", "to": "m", "elapsed": "s",
    "airspeed": "m/s", "entry airspeed": "m/s", "exit airspeed": "m/s", "altitude": "m", "end altitude": "m",
    "first ground speed": "m/s", "second ground speed": "m/s", "first airspeed": "m/s", "second airspeed": "m/s",
    "slope": "1",
}  # fmt: skip
MEASURES = ("static_pull", "takeoff_roll", "timed_climb", "level_speed")
ACCELERATIONS = ("ground_acceleration", "level_acceleration")
#: Share of the mass that is no fuel, so that fuel carries any weight that is asked for.
WITHOUT_FUEL = 0.6


@dataclass(frozen=True)
class Kind:
    """Words that a campaign uses of its engine and propeller, None where it says nothing."""

    engine: str | None = None
    propeller: str | None = None


SILENT = Kind()


@dataclass
class Conditions:
    """What was, not what was read: arrays that broadcast to (campaigns, runs) [SI].

    ``slope`` of the strip; ``marks`` and ``level_marks``: ground speeds, and equivalent airspeeds, between which an
    acceleration is timed; ``path``: height over way of a level run that is not quite level.
    ``height`` pressure altitude of the place, of the middle of the climb's band (``band`` thick), of the level run;
    ``oat`` there; ``mass``; ``wind`` from ahead at the wing; ``lift_off`` and ``climb`` equivalent airspeeds; ``power``
    and ``friction`` factors; ``rising`` air [m/s].
    """

    height: np.ndarray | float
    oat: np.ndarray | float
    mass: np.ndarray | float
    vapour: np.ndarray | float = 0.0
    wind: np.ndarray | float = 0.0
    lift_off: np.ndarray | float | None = None
    climb: np.ndarray | float | None = None
    power: np.ndarray | float = 1.0
    friction: np.ndarray | float = 1.0
    rising: np.ndarray | float = 0.0
    band: float = 1000.0 * FOOT
    slope: np.ndarray | float = 0.0
    marks: tuple | None = None
    level_marks: tuple | None = None
    path: np.ndarray | float = 0.0

    @property
    def air(self) -> Air:
        return Air(standard_pressure(self.height), self.oat, self.vapour)


def result(plane: Aeroplane, measure: str, c: Conditions) -> np.ndarray:
    """What the measure comes to [SI]: pull, roll, tapeline rate over the band, true airspeed."""
    match measure:
        case "static_pull":
            return plane.static_pull(c.air, c.wind, c.power)
        case "takeoff_roll":
            friction = plane.friction * np.asarray(c.friction, dtype=float)
            return plane.takeoff_roll(c.air, c.mass, c.wind, c.lift_off, power=c.power, friction=friction)
        case "timed_climb":
            return c.band * _stretch(c) / seconds(plane, c)
        case "level_speed":
            return plane.level_speed(c.air, c.mass, c.power)
        case "ground_acceleration":
            friction = plane.friction * np.asarray(c.friction, dtype=float)
            return plane.ground_acceleration(c.air, c.mass, *ground_marks(plane, c), c.wind, c.slope, c.power, friction)
        case "level_acceleration":
            first, second = level_marks(plane, c)
            return (c.air.true(second) - c.air.true(first)) / plane.level_run(c.air, c.mass, first, second, c.power)[0]
    raise ValueError(measure)


def ground_marks(plane: Aeroplane, c: Conditions) -> tuple:
    """Ground speeds [m/s] between which it is timed: a third and three quarters of the lift-off speed."""
    return c.marks if c.marks is not None else (0.33 * plane.lift_off, 0.75 * plane.lift_off)


def level_marks(plane: Aeroplane, c: Conditions) -> tuple:
    """Equivalent airspeeds [m/s] between which it is timed: from the climbing speed on."""
    return c.level_marks if c.level_marks is not None else (plane.climb, 1.32 * plane.climb)


def _stretch(c: Conditions):
    virtual = c.oat / (1.0 - 0.378 * np.asarray(c.vapour) / standard_pressure(c.height))
    return virtual / standard_temperature(c.height)


def seconds(plane: Aeroplane, c: Conditions) -> np.ndarray:
    """Of the climb through the band."""
    low, high = np.asarray(c.height) - 0.5 * c.band, np.asarray(c.height) + 0.5 * c.band
    return plane.climb_seconds(low, high, c.oat, c.mass, c.climb, c.power, c.vapour, rising=c.rising)


def columns(plane: Aeroplane, measure: str, c: Conditions) -> dict[str, np.ndarray]:
    """The columns [SI] that a pilot without any error of reading writes, (campaigns, runs)."""
    air = c.air
    celsius = np.log(np.maximum(np.asarray(c.vapour, dtype=float), 1.0) / 611.2)
    dew = 273.15 + 243.5 * celsius / (17.67 - celsius)
    found = {"oat": c.oat, "fuel": np.asarray(c.mass) - WITHOUT_FUEL * plane.mass}
    if np.any(np.asarray(c.vapour) > 1.0):
        found["dew point"] = dew
    gear = plane.machine.engine.gear
    climb = plane.climb if c.climb is None else c.climb
    lift_off = plane.lift_off if c.lift_off is None else c.lift_off
    match measure:
        case "static_pull":
            found |= {"pressure altitude": c.height, "headwind": c.wind, "pull": result(plane, measure, c)}
            at = c.wind
        case "takeoff_roll":
            found |= {"pressure altitude": c.height, "headwind": c.wind, "ground roll": result(plane, measure, c)}
            found["lift-off airspeed"] = calibrated(lift_off, air.pressure)
            at = 0.7 * air.true(lift_off)
        case "timed_climb":
            found |= {"from": np.asarray(c.height) - 0.5 * c.band, "to": np.asarray(c.height) + 0.5 * c.band}
            held = calibrated(climb, air.pressure)
            found |= {"elapsed": seconds(plane, c), "airspeed": held, "entry airspeed": held, "exit airspeed": held}
            at = air.true(climb)
        case "level_speed":
            speed = result(plane, measure, c)
            found |= {"altitude": c.height, "airspeed": calibrated(air.equivalent(speed), air.pressure)}
            at = speed
        case "ground_acceleration":
            first, second = ground_marks(plane, c)
            found |= {"pressure altitude": c.height, "headwind": c.wind, "slope": c.slope}
            found |= {"first ground speed": first, "second ground speed": second}
            found["elapsed"] = (np.asarray(second) - first) / result(plane, measure, c)
            at = c.wind + 0.5 * (np.asarray(first) + second)
        case "level_acceleration":
            first, second = level_marks(plane, c)
            elapsed, way = plane.level_run(air, c.mass, first, second, c.power, c.path)
            found |= {"altitude": c.height, "end altitude": np.asarray(c.height) + c.path * way / _stretch(c)}
            found |= {"first airspeed": calibrated(first, air.pressure), "elapsed": elapsed}
            found["second airspeed"] = calibrated(second, air.pressure)
            at = 0.5 * (air.true(first) + air.true(second))
    found["rpm"] = plane.machine.speed(at, air, c.power) * gear
    shape = np.broadcast_shapes(*(np.shape(one) for one in found.values()))
    return {name: np.broadcast_to(np.asarray(values, dtype=float), shape).copy() for name, values in found.items()}


@dataclass(frozen=True)
class Errors:
    """How wrong a reading is [SI], standard deviations: new each run, each day, each campaign.

    ``fitting`` by measure, a share of the result, new each installation. ``readings`` multiplies all but the fitting.
    """

    run: Mapping[str, float] = field(
        default_factory=lambda: {
            "oat": 0.58, "headwind": 0.8 * KNOT, "lift-off airspeed": 0.8 * KNOT, "fuel": 2.0, "ground roll": 1.5,
            "elapsed": 0.14, "from": 10.0 * FOOT, "to": 10.0 * FOOT, "entry airspeed": 0.5 * KNOT,
            "exit airspeed": 0.5 * KNOT, "airspeed": 0.5 * KNOT, "pressure altitude": 2.4, "rpm": 0.2,
            "first ground speed": 0.1, "second ground speed": 0.1, "first airspeed": 0.5 * KNOT,
            "second airspeed": 0.5 * KNOT,
        }
    )  # fmt: skip
    share: Mapping[str, float] = field(default_factory=lambda: {"pull": 0.005})
    day: Mapping[str, float] = field(default_factory=lambda: {"oat": 0.87, "pressure altitude": 4.8})
    campaign: Mapping[str, float] = field(default_factory=lambda: {"oat": 1.15, "fuel": 5.0})
    fitting: Mapping[str, float] = field(
        default_factory=lambda: {
            "takeoff_roll": 0.005,
            "static_pull": 0.005,
            "timed_climb": 0.005,
            "level_speed": 0.001,
            "ground_acceleration": 0.005,
            "level_acceleration": 0.005,
        }
    )
    wandering: Mapping[str, float] = field(
        default_factory=lambda: {
            "takeoff_roll": 0.01, "static_pull": 0.003, "timed_climb": 0.01, "level_speed": 0.003,
            "ground_acceleration": 0.005, "level_acceleration": 0.01,
        }
    )  # fmt: skip
    rising: float = 0.15
    readings: float = 1.0

    def times(self, factor: float) -> Errors:
        return replace(self, readings=factor)

    def read(self, true: Mapping[str, np.ndarray], day: np.ndarray, rng: np.random.Generator) -> dict[str, np.ndarray]:
        """The columns (campaigns, runs) as read."""
        campaigns, runs = next(iter(true.values())).shape
        days = np.unique(day, return_inverse=True)[1]
        found = {}
        for name, values in true.items():
            wrong = self.run.get(name, 0.0) * rng.standard_normal((campaigns, runs))
            wrong += (self.day.get(name, 0.0) * rng.standard_normal((campaigns, days.max() + 1)))[:, days]
            wrong += self.campaign.get(name, 0.0) * rng.standard_normal((campaigns, 1))
            share = self.share.get(name, 0.0) * rng.standard_normal((campaigns, runs))
            found[name] = values * (1.0 + self.readings * share) + self.readings * wrong
        return found


@dataclass(frozen=True)
class Order:
    """Configuration (letters), day and hours (n,) of the runs in the order flown; ``fitted_anew`` as in a campaign."""

    letters: str
    day: np.ndarray
    hours: np.ndarray
    fitted_anew: bool = True

    @property
    def configuration(self) -> np.ndarray:
        return np.array(list(self.letters))

    @property
    def block(self) -> np.ndarray:
        """Counts up with every change of configuration or, where a part is fitted, only then."""
        letters = self.configuration
        new = letters[1:] != letters[:-1]
        return np.concatenate([[0], np.cumsum(new)])


def order(letters: str, fitted_anew: bool = True, step: float = 0.17, swap: float = 0.6, start: float = 8.0) -> Order:
    """Letters of the runs, ``|`` between days, as hours on the clock."""
    day, hours, flown = [], [], ""
    for number, part in enumerate(letters.split("|")):
        clock = start
        for k, letter in enumerate(part):
            if k and letter != part[k - 1] and fitted_anew:
                clock += swap
            day.append(number)
            hours.append(clock)
            flown += letter
            clock += step
    return Order(flown, np.array(day), np.array(hours), fitted_anew)


def write(
    place: Path, plane: Aeroplane, flown: Order, tables: Mapping[str, Mapping[str, np.ndarray]],
    kind: Kind = SILENT, extra: str = "", margin: str = "1 %", primary: str | None = None,
) -> Path:  # fmt: skip
    """A campaign folder of these tables, column by column (runs,) [SI]."""
    place.mkdir(parents=True, exist_ok=True)
    primary = primary or next(iter(tables))
    engine, propeller = plane.machine.engine, plane.machine.propeller
    said = [
        'title = "Another world"', 'baseline = "A"',
        *(
            f'[configuration.{key}]\nlabel = "{key}"\ndiameter = "{propeller.diameter:.3f} m"'
            for key in sorted(set(flown.letters))
        ),
        f'[swap]\nkind = "{"refit" if flown.fitted_anew else "free"}"\ntime = "30 min"',
        *(
            f'[measure.{name}]\nprimary = {"true" if name == primary else "false"}\n'
            f'smallest_difference_that_matters = "{margin}"'
            for name in tables
        ),
        f'[aeroplane]\nempty_weight = "{WITHOUT_FUEL * plane.mass:.3f} kg"',
        '[aeroplane.fuel]\nweight_per_volume = "0.72 kg/L"',
        f'[engine]\npower = "{engine.power / 1e3:.1f} kW"\ngear_ratio = {engine.gear}',
        f'rated_rpm = "{60 * engine.speed:.0f} rpm"',
        f'kind = "{kind.engine}"' if kind.engine else "",
        f'[propeller]\nkind = "{kind.propeller}"' if kind.propeller else "",
        "[runway.strip]\nslope = \"0 %\"",
        extra,
    ]  # fmt: skip
    (place / "campaign.toml").write_text("\n".join(one for one in said if one) + "\n", encoding="utf-8")
    for name, columns_ in tables.items():
        written = {column: _in_unit(column, values) for column, values in columns_.items()}
        head = ["run", "date", "clock", "configuration", *(f"{one} [{UNITS[one]}]" for one in written)]
        rows = [",".join(head)]
        for k, letter in enumerate(flown.letters):
            minutes = round(60 * (flown.hours[k] + 0.05 * list(tables).index(name)))
            cells = [f"{k + 1}", f"2025-05-{10 + flown.day[k]:02d}", f"{minutes // 60:02d}:{minutes % 60:02d}", letter]
            rows.append(",".join(cells + [f"{values[k]:.10g}" for values in written.values()]))
        (place / f"{name}.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return place


def _in_unit(column: str, values: np.ndarray) -> np.ndarray:
    unit = UNITS[column]
    return values - 273.15 if unit == "degC" else 60.0 * values if unit == "rpm" else values
