"""Timed climb and idle descent: printed relations, energy and the climb of an integrated aeroplane."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from equations_of_motion import KNOT, Air, climb_rate, drag_at
from scipy.integrate import solve_ivp

from samesky.air import airspeed, atmosphere
from samesky.measures import MEASURES
from samesky.measures.sensitivity import reduce_runs, sensitivities
from samesky.published.registry import check, row

CLIMB, DESCENT = MEASURES["timed_climb"], MEASURES["idle_descent"]
FOOT = 0.3048
G = 9.80665


def agrees(row_id, computed):
    found = check(row_id, float(computed))
    assert found.agrees, found


def columns(**values) -> dict:
    return {name.replace("_", " "): np.atleast_1d(np.asarray(value, dtype=float)) for name, value in values.items()}


def band(**values) -> dict:
    return {"from": np.array([500 * FOOT]), "to": np.array([1500 * FOOT]), **columns(**values)}


def test_tapeline_height():
    runs = {"from": np.array([2500 * FOOT]), "to": np.array([3500 * FOOT])}
    runs |= columns(elapsed=60.0 * 1000 / 700, oat=293.15)
    steps = {step.name: step.value[0] for step in reduce_runs(CLIMB, runs, {"oat": 293.15})}
    assert steps["as flown"] == pytest.approx(700 * FOOT / 60)
    agrees("T6-013", steps["tapeline height"] / FOOT * 60)


def test_tapeline_height_by_integrating_the_hydrostatic_equation():
    """True thickness of the layer between two pressures on a day 12 K warm, moist: integral of -dp/(rho g)."""
    from samesky.air import moisture

    low, high = 500 * FOOT, 1500 * FOOT
    dew = 283.15

    def thickness(p, h):
        altitude = atmosphere.pressure_altitude(p)
        return -1.0 / (moisture.density(p, atmosphere.temperature(altitude) + 12.0, dew) * G)

    ends = atmosphere.pressure(low), atmosphere.pressure(high)
    height = solve_ivp(thickness, ends, [0.0], rtol=1e-8).y[0][-1]
    runs = band(elapsed=60.0, oat=atmosphere.temperature(1000 * FOOT) + 12.0, dew_point=dew)
    step = reduce_runs(CLIMB, runs, {"oat": 288.15})[1]
    assert step.name == "tapeline height"
    # CIPM-2007 air is 0.04 % denser than the perfect gas of the standard atmosphere: cancels in any difference.
    assert step.value[0] == pytest.approx(height / 60.0, rel=6e-4)


def test_acceleration_of_a_constant_airspeed_climb():
    heights = np.array([2990.0, 3010.0]) * FOOT
    speeds = airspeed.cas_to_tas(80 * KNOT, atmosphere.pressure(heights), atmosphere.temperature(heights))
    computed = speeds.mean() / G * np.diff(speeds)[0] / np.diff(heights)[0]
    agrees("T6-014", computed)


def test_energy_of_one_knot_at_eighty():
    runs = band(elapsed=60.0, entry_airspeed=79.5 * KNOT, exit_airspeed=80.5 * KNOT)
    steps = {step.name: step.value[0] for step in reduce_runs(CLIMB, runs, {})}
    gained = (steps["energy"] - steps["as flown"]) * 60.0 / FOOT
    assert gained == pytest.approx(7.1, abs=0.05)  # V dV/g = 80 kt x 1 kt/g in feet, by hand


def test_energy_counts_true_airspeed():
    runs = band(elapsed=60.0, entry_airspeed=50.0, exit_airspeed=52.0, oat=290.0)
    runs |= {"from": np.array([2800.0]), "to": np.array([3200.0])}
    steps = {step.name: step.value[0] for step in reduce_runs(CLIMB, runs, {"oat": 290.0})}
    pressure = float(atmosphere.pressure(3000.0))
    ends = [airspeed.cas_to_tas(speed, pressure, 290.0) for speed in (50.0, 52.0)]
    by_hand = (ends[1] ** 2 - ends[0] ** 2) / (2 * G) / 60.0
    assert steps["energy"] - steps["tapeline height"] == pytest.approx(by_hand, rel=1e-6)


def test_energy_against_integration():
    """Excess power held constant while the pilot lets the speed rise: energy height grows at that rate, height less."""
    excess, start, end, time = 4.7, 58 * KNOT, 62 * KNOT, 60.0

    def motion(t, y):
        gain = (end - start) / time
        return [excess - (start + gain * t) * gain / G]

    height = solve_ivp(motion, (0, time), [0.0], rtol=1e-10).y[0][-1]
    runs = {"from": np.array([0.0]), "to": np.array([height])}
    runs |= columns(elapsed=time, entry_airspeed=start, exit_airspeed=end)
    assert reduce_runs(CLIMB, runs, {})[-1].value[0] == pytest.approx(excess, rel=1e-6)
    assert height / time < excess, "speed gained is height not gained"


SKY = {"oat": 286.17, "weight": 540.0, "from": 500 * FOOT, "to": 1500 * FOOT}
CHANGES = {
    "warm": {"oat": 296.17},
    "cold": {"oat": 278.17},
    "heavy": {"weight": 555.0},
    "light": {"weight": 525.0},
    "both": {"oat": 294.17, "weight": 530.0},
}


def timed(law: str, oat: float, weight: float) -> dict:
    """A climb timed through the band, flown by the integrated aeroplane at the air of the band's middle."""
    pressure = float(atmosphere.pressure(1000 * FOOT))
    rate = climb_rate(weight, air=Air(oat, pressure, law))
    thickness = 1000 * FOOT * oat / float(atmosphere.temperature(1000 * FOOT))
    return band(elapsed=thickness / rate, oat=oat, weight=weight) | {"true rate": np.array([rate])}


def test_integration_stands_on_the_printed_baseline():
    assert climb_rate() == pytest.approx(row("S05").value, abs=0.006)  # own prototype, three figures


@pytest.mark.parametrize("law", ["A", "B"])
@pytest.mark.parametrize("change", CHANGES)
def test_corrected_climb_is_the_climb_at_the_common_sky(change, law):
    runs = timed(law, **{"oat": SKY["oat"], "weight": SKY["weight"], **CHANGES[change]})
    truth = timed(law, SKY["oat"], SKY["weight"])["true rate"][0]
    steps = reduce_runs(CLIMB, runs, SKY)
    error = abs(np.log(steps[-1].value[0] / truth))
    effects = sensitivities(CLIMB, runs, SKY, [])
    allowed = 2 * float(np.sqrt(np.sum([np.square(effect[0]) for _, effect in effects]))) + 1e-3
    assert error < allowed
    raw = abs(np.log(steps[0].value[0] / truth))
    if change != "both":  # warm and light nearly cancel
        assert error < 0.6 * raw, "the corrections must remove most of the change"


def test_climb_signs():
    runs = timed("A", 296.17, 555.0) | columns(entry_airspeed=60 * KNOT, exit_airspeed=61 * KNOT)
    steps = reduce_runs(CLIMB, runs, SKY)
    assert [step.name for step in steps] == ["as flown", "tapeline height", "energy", "weight", "density"]
    values = [step.value[0] for step in steps]
    assert all(b > a for a, b in pairwise(values)), "warm, heavy and speeding up: all corrected up"


def test_climb_vectorised():
    runs = {name: np.broadcast_to(value, (40, 5)) for name, value in timed("A", 290.0, 545.0).items()}
    assert reduce_runs(CLIMB, runs, SKY)[-1].value.shape == (40, 5)


# --- idle descent ------------------------------------------------------------------------------------------------

IDLE = {"oat": 286.17, "weight": 540.0, "from": 1500 * FOOT, "to": 500 * FOOT, "airspeed": 60 * KNOT}


def descent(oat=286.17, weight=540.0, airspeed=60 * KNOT, **ends) -> tuple[dict, float]:
    """An idle descent with the propeller counted in the parasite drag (CD0 0.09)."""
    pressure = float(atmosphere.pressure(1000 * FOOT))
    air = Air(oat, pressure)
    speed = air.true_airspeed(airspeed)
    sink = drag_at(speed, weight, air, zero_lift=0.09) * speed / (weight * G)
    thickness = 1000 * FOOT * oat / float(atmosphere.temperature(1000 * FOOT))
    runs = {"from": np.array([1500 * FOOT]), "to": np.array([500 * FOOT])}
    return runs | columns(elapsed=thickness / sink, oat=oat, weight=weight, airspeed=airspeed, **ends), sink


@pytest.mark.parametrize(
    "changed", [{"oat": 296.17}, {"weight": 560.0}, {"airspeed": 62 * KNOT}, {"oat": 280.0, "airspeed": 58.5 * KNOT}]
)
def test_descent_against_drag(changed):
    truth = descent()[1]
    runs, _ = descent(**changed)
    error = abs(np.log(reduce_runs(DESCENT, runs, IDLE)[-1].value[0] / truth))
    effects = sensitivities(DESCENT, runs, IDLE, [])
    assert error < 2 * float(np.sqrt(np.sum([np.square(effect[0]) for _, effect in effects]))) + 1e-3


def test_descent_signs():
    runs, sink = descent(entry_airspeed=60 * KNOT, exit_airspeed=61 * KNOT)
    steps = {step.name: step.value[0] for step in reduce_runs(DESCENT, runs, IDLE)}
    assert steps["as flown"] > 0
    assert steps["tapeline height"] == pytest.approx(sink)
    assert steps["energy"] < steps["tapeline height"], "height went into speed: the sink alone was less"
    fast, _ = descent(airspeed=62 * KNOT)
    steps = {step.name: step.value[0] for step in reduce_runs(DESCENT, fast, IDLE)}
    assert steps["airspeed"] < steps["density"], "flown too fast: sank too much"


def test_common_practice_one_second_in_a_minute():
    # Common practice: climbs of about a minute that differ by 1 s are within scatter.
    runs = {"from": np.array([500.0, 500.0]) * FOOT, "to": np.array([1700.0, 1700.0]) * FOOT}
    runs["elapsed"] = np.array([61.0, 62.0])
    from samesky.measures import default_sources

    effects = sensitivities(CLIMB, runs, {}, default_sources())
    by_run = [effect for source, effect in effects if source.scope == "run"]
    assert np.sqrt(2 * sum(np.square(effect) for effect in by_run))[0] > np.log(62 / 61)
