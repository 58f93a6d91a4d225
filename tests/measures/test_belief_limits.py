"""Every range in which a correction is believed: what is just inside passes, what is just outside does not.

The quantity that a limit bounds is made from the readings by its definition: a ratio of weights or of airspeeds,
density with one over the temperature (law of ideal gases), a share of a rate by the kinetic energy gained.
"""

from __future__ import annotations

import numpy as np
import pytest

from samesky.air import airspeed
from samesky.instruments.sources import ErrorSource
from samesky.measures import MEASURES
from samesky.measures.sensitivity import sensitivities

G = 9.80665
SKY = {
    "ground roll": 120.0, "headwind": 1.0, "lift-off airspeed": 19.5, "touch-down airspeed": 18.5, "slope": 0.004,
    "weight": 540.0, "oat": 288.0, "pressure": 100_000.0, "from": 300.0, "to": 600.0, "elapsed": 60.0,
    "entry airspeed": 31.0, "exit airspeed": 31.0, "airspeed": 31.0, "altitude": 600.0, "pull": 1800.0,
    "fuel flow": 5e-6, "first ground speed": 5.0, "second ground speed": 15.0, "first airspeed": 31.0,
    "second airspeed": 40.0, "end altitude": 600.0,
}  # fmt: skip
CASES = [(name, limit.correction) for name, measure in MEASURES.items() for limit in measure.limits]


def runs_of(name, **changed):
    values = dict(SKY) | changed
    if name == "ground_acceleration":
        values["elapsed"] = 5.0
    if name == "idle_descent" and "from" not in changed:
        values["from"], values["to"] = values["to"], values["from"]
    return {key: np.array([value, value]) for key, value in values.items()}


def quantity(name, correction, **changed):
    measure = MEASURES[name]
    (limit,) = [one for one in measure.limits if one.correction == correction]
    sky = {key: SKY[key] for key in measure.conditions if key in SKY}
    found = np.broadcast_to(np.asarray(limit.quantity(runs_of(name, **changed), sky), dtype=float), (2,))
    return float(found[0]), limit


def moved(name, correction, size):
    """Readings that put the bounded quantity at ``size``."""
    if (name, correction) == ("level_acceleration", "airspeed"):
        return {one: SKY[one] * size for one in ("first airspeed", "second airspeed")}
    if correction == "second airspeed":
        return {correction: SKY["first airspeed"] * size}
    if correction == "ground speeds":
        return {one: SKY[one] + size for one in ("first ground speed", "second ground speed")}
    if correction == "gain of speed":
        return {"second ground speed": SKY["first ground speed"] + size}
    if correction == "height":
        # V^2/2g gained from 31 to 40 m/s calibrated, both true at 600 m of pressure altitude.
        pressure = 101_325.0 * (1 - 0.0065 * 600 / 288.15) ** 5.25588
        first, second = (float(airspeed.cas_to_tas(v, pressure, SKY["oat"])) for v in (31.0, 40.0))
        return {"end altitude": SKY["altitude"] + size * (second**2 - first**2) / (2 * G)}
    if correction == "weight":
        return {"weight": SKY["weight"] * size}
    if correction in ("lift-off airspeed", "touch-down airspeed", "airspeed"):
        return {correction: SKY[correction] * size}
    if correction == "density":
        return {"oat": SKY["oat"] / size}
    if correction == "wind" and name in ("static_pull", "ground_acceleration"):
        return {"headwind": size}
    if correction == "wind":
        return {"headwind": size * SKY["lift-off airspeed" if name == "takeoff_roll" else "touch-down airspeed"]}
    if correction == "slope" and name == "ground_acceleration":
        return {"slope": SKY["slope"] + size * 2.0 / G}
    if correction == "slope":
        speed = SKY["lift-off airspeed" if name == "takeoff_roll" else "touch-down airspeed"] - SKY["headwind"]
        return {"slope": SKY["slope"] + size * speed**2 / (2 * G * SKY["ground roll"])}
    if correction == "energy":
        # V^2/2g gained over the band, as a share of its height; true airspeeds at 450 m of pressure altitude.
        pressure = 101_325.0 * (1 - 0.0065 * 450 / 288.15) ** 5.25588
        entry = float(airspeed.cas_to_tas(SKY["entry airspeed"], pressure, SKY["oat"]))
        out = np.sqrt(entry**2 + 2 * G * 300.0 * size)
        return {"exit airspeed": SKY["entry airspeed"] * out / entry}
    if correction == "true airspeed":
        return {"speed 1": 50.0, "track 1": 0.5, "speed 2": 52.0, "track 2": 0.5 + np.pi - size}
    raise AssertionError(f"a limit on {correction} that this test does not know")


def middle_of(limit):
    """One for a ratio about one, zero for a share or a wind, else halfway between the bounds."""
    if not (limit.low and limit.high and limit.low > 0):
        return 0.0
    return 1.0 if limit.low < 1.0 < limit.high else 0.5 * (limit.low + limit.high)


@pytest.mark.parametrize(("name", "correction"), CASES)
def test_the_bounded_quantity_is_what_its_definition_says(name, correction):
    """At the bound within a hundredth of the way: true height, moisture and compressibility are all there is else."""
    _, limit = quantity(name, correction)
    middle = middle_of(limit)
    for bound in (limit.low, limit.high):
        if bound is None or bound == 0.0:
            continue
        found, _ = quantity(name, correction, **moved(name, correction, bound))
        sign = -1.0 if name == "idle_descent" and correction == "energy" else 1.0
        room = (0.06 if correction in ("energy", "height") else 0.012) * abs(bound - middle)
        assert min(abs(found - bound), abs(sign * found - bound)) <= room, (found, bound)


@pytest.mark.parametrize(("name", "correction"), CASES)
def test_just_inside_is_believed_and_just_outside_is_not(name, correction):
    """Nine and eleven tenths of the way from the middle to each bound."""
    _, limit = quantity(name, correction)
    middle = middle_of(limit)
    for bound in (limit.low, limit.high):
        if bound is None or bound == 0.0:
            continue
        for way, believed in ((0.9, True), (1.1, False)):
            found, _ = quantity(name, correction, **moved(name, correction, middle + way * (bound - middle)))
            assert (limit.low <= found <= limit.high) == believed, (found, bound, way)


def test_what_is_not_read_is_neither_inside_nor_outside():
    for name, correction in CASES:
        measure = MEASURES[name]
        (limit,) = [one for one in measure.limits if one.correction == correction]
        own = {column.name for column in measure.columns if column.required} | {"altitude"}
        bare = {key: values for key, values in runs_of(name).items() if key in own}
        found = np.asarray(limit.quantity(bare, {}), dtype=float)
        assert np.all(np.isnan(found)) or np.all((limit.low <= found) & (found <= limit.high)), (name, correction)


def test_a_source_that_moves_only_some_runs_stays_in_the_budget():
    """A tenth of the wind is nothing on a run in a calm, and something on the next."""
    measure = MEASURES["takeoff_roll"]
    runs = runs_of("takeoff_roll")
    runs["headwind"] = np.array([0.0, 2.0])
    sky = {key: SKY[key] for key in measure.conditions if key in SKY}
    tenth = ErrorSource("tenth", "headwind", 0.1, "campaign", "a test", relative=True)
    (effect,) = [size for source, size in sensitivities(measure, runs, sky, [tenth]) if source is tenth]
    assert effect[0] == 0.0
    # d ln S = -n dW/(V - W), by the measure's own exponent.
    n = measure.coefficient_values()["wind exponent"]
    speed = float(airspeed.cas_to_tas(SKY["lift-off airspeed"], SKY["pressure"], SKY["oat"]))
    assert abs(effect[1]) == pytest.approx(n * 0.2 / (speed - 2.0), rel=0.02)
    nothing = ErrorSource("nothing", "pull", 0.1, "campaign", "a test")
    assert nothing not in [source for source, _ in sensitivities(measure, runs, sky, [nothing])]
