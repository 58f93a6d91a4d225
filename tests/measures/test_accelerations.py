"""Acceleration on the ground and in level flight: print, closed forms, and the integrated equation of motion."""

from __future__ import annotations

import numpy as np
import pytest
from equations_of_motion import KNOT, Air, drag_at, ground_seconds, level_seconds, thrust_at

from samesky.aeroplane.kinds import LEVEL_EXCESS, Known
from samesky.air.atmosphere import pressure as standard_pressure
from samesky.air.atmosphere import temperature as standard_temperature
from samesky.measures import MEASURES
from samesky.measures.level_acceleration import _on_the_way
from samesky.measures.sensitivity import coefficient_sources, reduce_runs, sensitivities
from samesky.measures.shape import Sight, Vantage, suited
from samesky.published.registry import check, row, rows

GROUND, LEVEL = MEASURES["ground_acceleration"], MEASURES["level_acceleration"]
G, FOOT = 9.80665, 0.3048
FIRST, SECOND = "first ground speed", "second ground speed"
HOME = {
    FIRST: 10 * KNOT, SECOND: 30 * KNOT, "headwind": 4 * KNOT, "slope": 0.0, "weight": 540.0, "oat": 288.15,
    "pressure": 101325.0,
}  # fmt: skip
ALOFT = {
    "first airspeed": 60 * KNOT, "second airspeed": 78 * KNOT, "altitude": 600.0, "weight": 540.0,
    "oat": float(standard_temperature(600.0)),
}  # fmt: skip


def one_run(**values) -> dict:
    return {name: np.array([float(value)]) for name, value in values.items()}


def on_the_run(law="A", **changed) -> tuple[dict, float]:
    """Prepared columns of one run in conditions that differ from home, and its integrated acceleration [m/s2]."""
    at = {**HOME, **changed}
    air = Air(at["oat"], at["pressure"], law)
    elapsed = ground_seconds(at[FIRST], at[SECOND], at["weight"], at["headwind"], at["slope"], air)
    return one_run(**at, elapsed=elapsed), (at[SECOND] - at[FIRST]) / elapsed


def in_level_flight(law="A", path=0.0, **changed) -> tuple[dict, float]:
    at = {**ALOFT, **changed}
    air = Air(at["oat"], float(standard_pressure(at["altitude"])), law)
    elapsed, height = level_seconds(at["first airspeed"], at["second airspeed"], at["weight"], path, air)
    end = at["altitude"] + height * standard_temperature(at["altitude"]) / at["oat"]
    gain = air.true_airspeed(at["second airspeed"]) - air.true_airspeed(at["first airspeed"])
    return one_run(**at, elapsed=elapsed) | {"end altitude": np.array([end])}, gain / elapsed


def stated(measure, runs, sky) -> float:
    """Standard uncertainty that the measure states for its own coefficients."""
    own = {source.name for source in coefficient_sources(measure)}
    found = [size[0] for source, size in sensitivities(measure, runs, sky, []) if source.name in own]
    return float(np.sqrt(np.sum(np.square(found))))


# --- print -------------------------------------------------------------------------------------------------------


def test_constant_acceleration_as_printed():
    """0 to 100 ft/s at a tenth of g, Gorton: 31 s (truncated, see the row), back to 3.2 ft/s^2."""
    runs = one_run(**{FIRST: 0.0, SECOND: 100 * FOOT, "elapsed": 100 / 3.2})
    found = reduce_runs(GROUND, runs, {})[-1].value[0]
    assert found / FOOT == pytest.approx(3.2)
    assert check("T5-042", float(np.floor(100 * FOOT / found))).agrees


def test_rolling_friction_covers_what_is_printed():
    """Every printed coefficient for brakes off lies within two standard uncertainties, and the hard turf within one."""
    friction = next(one for one in GROUND.coefficients if one.name == "rolling friction")
    printed = [
        one.value
        for one in rows("take-off")
        if "rolling friction coefficient" in one.quantity and isinstance(one.value, float)
    ]
    assert len(printed) >= 6
    assert all(abs(one - friction.value) < 2 * friction.standard_uncertainty for one in printed)
    for row_id in ("T5-055", "T5-063"):
        assert abs(row(row_id).value - friction.value) < friction.standard_uncertainty


def test_ten_feet_are_one_and_a_half_knots_at_eighty():
    """Energy height h + V^2/2g (USNTPS-FTM-108 Eq 7.1): dV = g dh/V, 1.41 kt at 80 kt for 10 ft."""
    runs = one_run(**{"first airspeed": 75 * KNOT, "second airspeed": 85 * KNOT, "elapsed": 10.0, "altitude": 0.0})
    runs["end altitude"] = np.array([10 * FOOT])
    steps = {step.name: step.value[0] for step in reduce_runs(LEVEL, runs, {})}
    worth = (steps["height"] - steps["as flown"]) * 10.0
    # The slow end lasts longer than the fast one: a little more than g dh over the mean speed.
    assert worth / KNOT == pytest.approx(G * 10 * FOOT / (80 * KNOT) / KNOT, rel=0.02)
    assert round(G * 10 * FOOT / (80 * KNOT) / KNOT, 1) == 1.4


# --- the equation of motion --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "changed",
    [
        {"headwind": 10 * KNOT}, {"headwind": -3 * KNOT}, {"slope": 0.012}, {"slope": -0.012}, {"weight": 590.0},
        {"weight": 495.0}, {"pressure": 95000.0}, {"pressure": 95000.0, "oat": 281.0}, {"oat": 303.0}, {"oat": 274.0},
        {FIRST: 11.5 * KNOT, SECOND: 31.5 * KNOT}, {FIRST: 8.5 * KNOT, SECOND: 31.0 * KNOT},
        {"headwind": 9 * KNOT, "slope": -0.005, "weight": 575.0, "pressure": 97000.0, "oat": 297.0},
    ],
)  # fmt: skip
@pytest.mark.parametrize("law", ["A", "B"])
def test_a_take_off_run_comes_home(changed, law):
    sky = dict(HOME)
    _, truth = on_the_run(law)
    runs, raw = on_the_run(law, **changed)
    reduced = reduce_runs(GROUND, runs, sky)[-1].value[0]
    allowed = 2.0 * stated(GROUND, runs, sky) + 0.0015
    assert abs(np.log(reduced / truth)) <= allowed
    if law == "A":
        assert abs(np.log(reduced / truth)) < max(0.5 * abs(np.log(raw / truth)), 0.004)


@pytest.mark.parametrize(
    "changed",
    [
        {"path": 0.005}, {"path": -0.005}, {"weight": 575.0}, {"weight": 505.0}, {"altitude": 900.0, "oat": 282.5},
        {"altitude": 600.0, "oat": 296.0}, {"altitude": 600.0, "oat": 273.0},
        {"first airspeed": 62 * KNOT, "second airspeed": 80 * KNOT}, {"second airspeed": 80 * KNOT},
        {"path": 0.004, "weight": 525.0, "altitude": 750.0, "oat": 290.0},
    ],
)  # fmt: skip
@pytest.mark.parametrize("law", ["A", "B"])
def test_a_level_run_comes_home(changed, law):
    sky = dict(ALOFT)
    home, truth = in_level_flight(law)
    runs, _ = in_level_flight(law, **changed)
    reduced = reduce_runs(LEVEL, runs, sky)[-1].value[0]
    raw = reduce_runs(LEVEL, runs, {})[0].value[0]
    allowed = 2.0 * stated(LEVEL, runs, sky) + 0.0015
    assert abs(np.log(reduced / truth)) <= allowed
    if law == "A":
        assert abs(np.log(reduced / truth)) < max(0.6 * abs(np.log(raw / truth)), 0.004)
    assert reduce_runs(LEVEL, home, sky)[-1].value[0] == pytest.approx(truth, rel=1e-3)


def test_signs():
    """What hinders a run makes it slower as flown, and its correction adds."""

    def corrected(measure, runs, sky, name):
        steps = reduce_runs(measure, runs, sky)
        place = [step.name for step in steps].index(name)
        return steps[place].value[0] - steps[place - 1].value[0]

    for name, change in (("wind", {"headwind": 10 * KNOT}), ("slope", {"slope": 0.01}), ("weight", {"weight": 580.0})):
        assert corrected(GROUND, on_the_run(**change)[0], HOME, name) > 0.0
    assert corrected(GROUND, on_the_run(pressure=96000.0)[0], HOME, "density") > 0.0
    assert corrected(GROUND, on_the_run(**{FIRST: 12 * KNOT, SECOND: 32 * KNOT})[0], HOME, "ground speeds") > 0.0
    assert corrected(LEVEL, in_level_flight(path=0.004)[0], ALOFT, "height") > 0.0
    assert corrected(LEVEL, in_level_flight(weight=560.0)[0], ALOFT, "weight") > 0.0
    assert corrected(LEVEL, in_level_flight(oat=300.0)[0], ALOFT, "density") > 0.0


def test_slope_is_exact():
    """m dV/dt loses m g sin(slope), whatever else acts: 1 in 100 is 0.098 m/s^2."""
    runs, _ = on_the_run(slope=0.01)
    steps = {step.name: step.value[0] for step in reduce_runs(GROUND, runs, HOME)}
    assert steps["slope"] - steps["as flown"] == pytest.approx(G * np.sin(np.arctan(0.01)), rel=1e-9)


# --- what is known of the aeroplane ------------------------------------------------------------------------------


def test_thrust_over_excess_from_power_and_acceleration():
    """X from entered power and the measured acceleration, held against thrust and drag of the integrated aeroplane."""
    air, speed = Air(), 69 * KNOT
    thrust = thrust_at(speed, air)
    truth = thrust / (thrust - drag_at(speed, 540.0, air))
    _, found = in_level_flight(altitude=0.0, oat=288.15)
    known = Known(power=73.5e3, level_weight=540.0, level_acceleration=found, level_airspeed=speed)
    value, uncertainty, source = known.level_excess()
    assert abs(value - truth) < 2.0 * uncertainty
    assert uncertainty < 0.8 * LEVEL_EXCESS[1]
    assert "measured acceleration" in source
    assert Known(power=73.5e3).level_excess()[:2] == LEVEL_EXCESS
    impossible = Known(power=730e3, level_weight=540.0, level_acceleration=found, level_airspeed=speed).level_excess()
    assert impossible[:2] == LEVEL_EXCESS
    assert "hard to believe" in impossible[2]


@pytest.mark.parametrize("measure", [GROUND, LEVEL], ids=["ground", "level"])
def test_an_engine_without_law_is_not_corrected_for_the_air(measure):
    two_stroke = suited(measure, Known(engine="two-stroke"))
    runs = on_the_run(oat=300.0)[0] if measure is GROUND else in_level_flight(oat=300.0)[0]
    steps = reduce_runs(two_stroke, runs, HOME if measure is GROUND else ALOFT)
    assert steps[-1].value == pytest.approx(steps[-2].value, rel=1e-12)
    assert "density" in two_stroke.not_corrected


# --- the view on the axis of excess thrust -----------------------------------------------------------------------


def test_the_force_seen_on_the_run_is_that_of_a_slope():
    """A slope is a force that is known exactly, m g sin: the difference of two runs shows it."""
    _, found = on_the_run()
    seen = GROUND.thrust.see(Vantage(HOME, {}, found, Known()))
    assert isinstance(seen, Sight)
    assert seen.airspeed == pytest.approx(4 * KNOT + 20 * KNOT)
    assert (seen.exponent, GROUND.thrust.needs) == (1.0, ("weight",))
    _, uphill = on_the_run(slope=0.02)
    assert seen.factor * (found - uphill) == pytest.approx(540.0 * G * np.sin(np.arctan(0.02)), rel=0.02)


def test_the_force_seen_in_level_flight_is_that_of_a_path():
    """So is a path that is not level; where it is seen, thrust less drag is what the mean in time comes to."""
    _, found = in_level_flight()
    seen = LEVEL.thrust.see(Vantage(ALOFT, {}, found, Known()))
    air = Air(ALOFT["oat"], float(standard_pressure(600.0)))
    _, climbing = in_level_flight(path=0.005)
    assert seen.factor * (found - climbing) == pytest.approx(540.0 * G * 0.005, rel=0.02)
    assert air.true_airspeed(69 * KNOT) < seen.airspeed < air.true_airspeed(72 * KNOT)
    excess = thrust_at(seen.airspeed, air) - drag_at(seen.airspeed, 540.0, air)
    assert seen.factor * found == pytest.approx(excess, rel=0.03)
    assert seen.density == pytest.approx(air.density, rel=1e-3)
    assert set(seen.doubts) == {"weight", "airspeed"}


def test_the_air_on_the_run_is_that_of_the_place_or_not_known():
    """Law of ideal gases, dry air of the standard atmosphere at sea level."""
    known = GROUND.thrust.see(Vantage(HOME, {}, 1.0, Known()))
    assert known.density == pytest.approx(1.225, rel=1e-3)
    unread = {name: value for name, value in HOME.items() if name != "oat"}
    assert GROUND.thrust.see(Vantage(unread, {}, 1.0, Known())).density is None


def test_points_on_the_way_lie_between_both_speeds_and_share_it_out():
    marks = {name: np.array([ALOFT[name]]) for name in ("first airspeed", "second airspeed")}
    known = {one.name: np.array([one.value]) for one in LEVEL.coefficients}
    speed, share, _ = _on_the_way(marks, marks, known)
    # Gauss and Legendre: symmetric about the middle, the shares make one, squares are integrated exactly.
    assert share.sum() == pytest.approx(1.0)
    assert (speed * share).sum() == pytest.approx(69 * KNOT)
    first, second = 60 * KNOT, 78 * KNOT
    assert (speed**2 * share).sum() == pytest.approx((second**3 - first**3) / (3.0 * (second - first)))
