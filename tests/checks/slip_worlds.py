"""Sound campaigns of several invented aeroplanes, as text, drawn from a seed: none shares a number with the simulator.

Each is flown with scatter as real flying has: rolls repeat to 3 to 7 %, climbs to 1.5 to 3.5 %, pulls to 1 to 2 %, top
speeds to about 1 % (common practice); days warm up, the wind wanders, somebody refuels, readings are rounded as people
round them. The laws are the plainest that there are, with exponents of their own.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Craft:
    """An aeroplane in its pilot's units: what it does on a standard day at sea level."""

    name: str
    empty: float  # kg with crew aboard
    power: str
    rpm: tuple[float, float, float]  # static, climb, level
    roll: tuple[float, str]
    lift_off: tuple[float, str]
    climb: tuple[float, float, float]  # m/s, band bottom and top [ft]
    climb_speed: float
    pull: tuple[float, str]
    level: tuple[float, str]
    fuel: tuple[float, float, str, float]  # full, burnt a run, unit, kg a unit
    flow: tuple[float, str]
    elevation: float  # ft


CRAFT = (
    Craft("trainer", 520, "115 hp", (2150, 2300, 2600), (640, "ft"), (52, "kt"), (3.3, 1000, 2000), 66, (245, "kgf"),
          (104, "kt"), (80, 3, "L", 0.72), (23, "L/h"), 420),
    Craft("four-seater", 905, "160 hp", (2230, 2410, 2680), (275, "m"), (104, "km/h"), (3.6, 2000, 3500), 74,
          (2870, "N"), (119, "kt"), (36, 1.2, "US gal", 2.72), (9.4, "US gal/h"), 1180),
    Craft("microlight", 300, "64 hp", (6050, 6200, 6450), (96, "m"), (62, "km/h"), (4.4, 1000, 1800), 55, (128, "kgf"),
          (133, "km/h"), (48, 2, "L", 0.73), (14, "L/h"), 60),
    Craft("tug", 700, "180 hp", (2380, 2500, 2740), (430, "ft"), (46, "kt"), (6.1, 1500, 3500), 62, (760, "lbf"),
          (109, "mph"), (120, 5, "L", 0.72), (38, "L/h"), 2250),
)  # fmt: skip


def drawn(seed: int) -> dict[str, str]:
    """The files of one sound campaign."""
    rng = np.random.default_rng([97, seed])
    craft = CRAFT[rng.integers(len(CRAFT))]
    order, days, repeats = [
        (["A", "B"], 1, 3), (["A", "B", "A"], 1, 2), (["A", "B", "B", "A"], 1, 2), (["A", "B", "A", "B"], 2, 2),
        (["A", "B", "A"], 2, 3), (["A", "B"], 3, 2), (["A", "B", "A", "B", "A"], 1, 1),
        (["A", "B", "A", "B", "A"], 2, 2),
    ][rng.integers(8)]  # fmt: skip
    measures = [name for name in WRITERS if rng.random() < 0.55] or ["takeoff_roll"]
    runs = _flown(rng, craft, order, days, repeats, measures)
    optional = {name: rng.random() < 0.7 for name in ("rpm", "gust", "dew point", "entry", "lift", "fuel", "qnh")}
    scatter = {name: size * rng.uniform(0.7, 1.6) for name, size in SCATTER.items()}
    effect = rng.choice([0.0, 0.0, 1.0]) * rng.uniform(-0.06, 0.09)
    files = {"campaign.toml": _toml(craft, measures)}
    for name in measures:
        rows = [
            WRITERS[name](rng, craft, run, effect, scatter[name], optional) for run in runs if run["measure"] == name
        ]
        out = io.StringIO()
        writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        files[f"{name}.csv"] = out.getvalue()
    return files


#: Standard deviation of one run, as a fraction.
SCATTER = {"takeoff_roll": 0.045, "timed_climb": 0.022, "static_pull": 0.012, "level_speed": 0.009, "cruise_fuel": 0.02}


def _flown(rng, craft, order, days, repeats, measures):
    """Every run in flown order with its hour, air, wind and fuel."""
    runs = []
    for day in range(days):
        hour, warm = rng.uniform(7.0, 9.5), rng.uniform(2.0, 24.0)
        sun, wind = rng.uniform(0.5, 2.2), rng.uniform(0.0, 6.0)
        qnh, dew, fuel = rng.uniform(1003, 1032), warm - rng.uniform(2.0, 8.0), craft.fuel[0]
        start = hour
        for turn, key in enumerate(order if day % 2 == 0 else order[::-1]):
            for _ in range(repeats):
                note = ""
                for name in measures:
                    wind = abs(wind + rng.normal(0.1, 0.5))
                    qnh += rng.normal(0.0, 0.15)
                    if fuel < 0.35 * craft.fuel[0]:
                        fuel, note = craft.fuel[0], "refuelled"
                    runs.append({
                        "measure": name, "key": key, "day": day, "hour": hour, "oat": warm + sun * (hour - start),
                        "wind": wind, "qnh": qnh, "dew": dew, "fuel": fuel, "note": note, "turn": turn,
                    })  # fmt: skip
                    note = ""
                    fuel -= craft.fuel[1] * rng.uniform(0.6, 1.4)
                    hour += rng.uniform(0.06, 0.2)
            hour += rng.uniform(0.4, 1.0)
    return runs


def _row(run, rng, optional, aloft=0.0):
    minutes = round(60 * run["hour"])
    row = {
        "date": f"2026-0{5 + run['day'] // 3}-{11 + run['day']:02d}",
        "clock": f"{minutes // 60:02d}:{minutes % 60:02d}",
        "configuration": run["key"],
        "oat [degC]": round(run["oat"] - aloft + rng.normal(0.0, 0.5), 1),
    }
    if optional["qnh"] or not aloft:
        row["qnh [hPa]"] = round(run["qnh"])
    if optional["dew point"]:
        row["dew point [degC]"] = round(run["dew"] - aloft + rng.normal(0.0, 0.4))
    return row


def _sigma(run, height_ft):
    """Density ratio, dry, plainly: pressure falls 3.6 % a thousand feet."""
    return run["qnh"] / 1013.25 * (1 - 6.8756e-6 * height_ft) ** 5.2559 * 288.15 / (run["oat"] - 0.002 * 0 + 273.15)


def _mass(craft, run):
    return (craft.empty + run["fuel"] * craft.fuel[3]) / (craft.empty + craft.fuel[0] * craft.fuel[3])


def _wet(craft, run, row, optional):
    if optional["fuel"]:
        row[f"fuel [{craft.fuel[2]}]"] = round(run["fuel"], 1 if craft.fuel[2] != "L" else 0)


def _gain(run, effect):
    return effect if run["key"] == "B" else 0.0


def takeoff_roll(rng, craft, run, effect, scatter, optional):
    row = _row(run, rng, optional)
    _wet(craft, run, row, optional)
    step = 1.0 + rng.normal(0.0, 0.022)
    knots = craft.lift_off[0] / (1.852 if craft.lift_off[1] == "km/h" else 1.0)
    roll = craft.roll[0] * _sigma(run, craft.elevation) ** -2.0 * (1 - run["wind"] / knots) ** 1.9 * step**2.2
    roll *= _mass(craft, run) ** 1.3 * np.exp(rng.normal(0.0, scatter) - _gain(run, effect))
    row["headwind [kt]"] = round(2 * (run["wind"] + rng.normal(0.0, 0.5))) / 2
    if optional["gust"]:
        row["gust [kt]"] = round(run["wind"] + rng.uniform(0.0, 3.0))
    if optional["lift"]:
        row[f"lift-off airspeed [{craft.lift_off[1]}]"] = round(craft.lift_off[0] * step)
    row[f"ground roll [{craft.roll[1]}]"] = round(roll)
    row["notes"] = run["note"]
    return row


def timed_climb(rng, craft, run, effect, scatter, optional):
    row = _row(run, rng, optional, aloft=2.5)
    _wet(craft, run, row, optional)
    rate, low, high = craft.climb
    rate *= _sigma(run, 0.5 * (low + high)) ** 1.6 * _mass(craft, run) ** -1.7
    rate *= np.exp(rng.normal(0.0, scatter) + _gain(run, effect))
    if optional["rpm"]:
        row["rpm [rpm]"] = 10 * round(craft.rpm[1] * (1 + 0.4 * _gain(run, effect) + rng.normal(0.0, 0.004)) / 10)
    row |= {"from [ft]": low, "to [ft]": high, "elapsed [s]": round((high - low) * 0.3048 / rate, 1)}
    row["airspeed [kt]"] = round(craft.climb_speed + rng.normal(0.0, 1.0))
    if optional["entry"]:
        row["entry airspeed [kt]"] = round(craft.climb_speed + rng.normal(0.0, 1.0))
        row["exit airspeed [kt]"] = round(craft.climb_speed + rng.normal(0.0, 1.0))
    row["notes"] = run["note"]
    return row


def static_pull(rng, craft, run, effect, scatter, optional):
    row = _row(run, rng, optional)
    if optional["rpm"]:
        row["rpm [rpm]"] = 10 * round(craft.rpm[0] * (1 + 0.5 * _gain(run, effect) + rng.normal(0.0, 0.004)) / 10)
    row["headwind [kt]"] = round(2 * (run["wind"] + rng.normal(0.0, 0.5))) / 2
    pull = craft.pull[0] * _sigma(run, craft.elevation) ** 0.9 * (1 - 0.003 * run["wind"])
    digits = 1 if craft.pull[1] == "kgf" else 0
    row[f"pull [{craft.pull[1]}]"] = round(pull * np.exp(rng.normal(0.0, scatter) + _gain(run, effect)), digits)
    row["notes"] = run["note"]
    return row


def level_speed(rng, craft, run, effect, scatter, optional):
    row = _row(run, rng, optional, aloft=3.0)
    _wet(craft, run, row, optional)
    speed = craft.level[0] * np.exp(rng.normal(0.0, scatter) + 0.4 * _gain(run, effect))
    if optional["rpm"]:
        row["rpm [rpm]"] = 10 * round(craft.rpm[2] * (1 + 0.4 * _gain(run, effect) + rng.normal(0.0, 0.004)) / 10)
    row["altitude [ft]"] = 2000 + 10 * round(rng.normal(0.0, 2.0)) if optional["gust"] else 2000
    if optional["lift"]:
        aloft = {"kt": 1.0, "km/h": 1.852, "mph": 1.151}[craft.level[1]] * run["wind"] * 1.6
        across = aloft * rng.uniform(-0.5, 0.5)
        for leg, (track, along) in enumerate(((75, -aloft), (255, aloft)), start=1):
            row[f"speed {leg} [{craft.level[1]}]"] = round(np.sqrt(max(speed**2 - across**2, 1.0)) + along, 1)
            row[f"track {leg} [deg]"] = track + round(rng.normal(0.0, 0.8))
    else:
        row[f"airspeed [{craft.level[1]}]"] = round(speed * _sigma(run, 2000) ** 0.5)
    row["notes"] = run["note"]
    return row


def cruise_fuel(rng, craft, run, effect, scatter, optional):
    row = _row(run, rng, optional, aloft=3.0)
    _wet(craft, run, row, optional)
    # People set the throttle about, and the flow goes with the cube of the speed.
    step = 1.0 + rng.normal(0.0, 0.01)
    row["rpm [rpm]"] = 25 * round(0.9 * craft.rpm[2] * step / 25)
    row["altitude [ft]"] = 2500
    row[f"airspeed [{craft.level[1]}]"] = round(0.85 * craft.level[0] * step)
    flow = 0.8 * craft.flow[0] * step**3 * np.exp(rng.normal(0.0, scatter) - _gain(run, effect))
    row[f"fuel flow [{craft.flow[1]}]"] = round(flow, 1)
    row["notes"] = run["note"]
    return row


WRITERS = {one.__name__: one for one in (takeoff_roll, timed_climb, static_pull, level_speed, cruise_fuel)}


def _toml(craft: Craft, measures) -> str:
    asked = "".join(
        f"[measure.{name}]\nprimary = {'true' if name == measures[0] else 'false'}\n"
        f'smallest_difference_that_matters = "{2 if name == "static_pull" else 5} %"\n\n'
        if name != "level_speed"
        else f"[measure.level_speed]\nprimary = {'true' if name == measures[0] else 'false'}\n"
        'smallest_difference_that_matters = "2 kt"\n\n'
        for name in measures
    )
    return f"""\
title = "{craft.name}"
question = "Which of the two?"
baseline = "A"

[configuration.A]
label = "as it was"
diameter = "1.80 m"

[configuration.B]
label = "other pitch"
diameter = "1.80 m"

[swap]
kind = "refit"
time = "30 min"

{asked}[aeroplane]
empty_weight = "{craft.empty} kg"

[aeroplane.fuel]
weight_per_volume = "0.72 kg/L"

[engine]
power = "{craft.power}"

[runway.strip]
elevation = "{craft.elevation} ft"
slope = "0.2 %"
"""
