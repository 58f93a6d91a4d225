"""Take-off and landing rolls: printed relations, and integration of the equation of motion."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from equations_of_motion import KNOT, Air, ground_roll
from scipy.integrate import solve_ivp

from samesky.aeroplane.kinds import Known
from samesky.measures import MEASURES
from samesky.measures.rolls import less_slope, still_air_share
from samesky.measures.sensitivity import coefficient_sources, reduce_runs, sensitivities
from samesky.measures.shape import suited
from samesky.published.registry import check, row

TAKEOFF, LANDING = MEASURES["takeoff_roll"], MEASURES["landing_roll"]
COEFFICIENT = {c.name: c for c in TAKEOFF.coefficients}
LIFT_OFF = "lift-off airspeed"
HOME = {"headwind": 4 * KNOT, "slope": 0.0, "weight": 540.0, "oat": 288.15, "pressure": 101325.0, LIFT_OFF: 38 * KNOT}


def agrees(row_id, computed):
    found = check(row_id, float(computed))
    assert found.agrees, found


def flown(law="A", **changed) -> tuple[dict, float]:
    """Prepared columns of one run in conditions that differ from home, and its integrated roll [m]."""
    at = {**HOME, **changed}
    roll = ground_roll(at["weight"], at[LIFT_OFF], at["headwind"], at["slope"], Air(at["oat"], at["pressure"], law))
    return {name: np.array([value]) for name, value in {**at, "ground roll": roll}.items()}, roll


def coefficient_uncertainty(measure, runs, sky) -> float:
    effects = sensitivities(measure, runs, sky, [])
    assert {source.name for source, _ in effects} <= {source.name for source in coefficient_sources(measure)}
    return float(np.sqrt(np.sum([np.square(effect[0]) for _, effect in effects])))


# --- printed relations -------------------------------------------------------------------------------------------


def test_integration_stands_on_the_printed_baseline():
    # S03, S05 (own prototype) carry the figures printed, not the four that the rows claim.
    assert ground_roll() == pytest.approx(row("S03").value, abs=0.05)


def test_wind_exponent():
    agrees("T5-067", COEFFICIENT["wind exponent"].value)
    agrees("T5-068", 1 / still_air_share(55.0, 5.0, 1.85))
    agrees("T5-009", still_air_share(1.0, -0.10, COEFFICIENT["wind exponent"].value))
    agrees("C07", still_air_share(1.0, -0.10, COEFFICIENT["wind exponent"].value))
    agrees("T5-046", still_air_share(1.0, 0.10, 2.0))
    agrees("T5-047", still_air_share(1.0, -0.10, 2.0))


def test_slope_closed_form():
    agrees("T5-072", less_slope(1000 * 0.3048, 100 * 0.3048, 0.02) / 0.3048)
    # The CAA leaflet's 10 % for 2 % of up-slope, for a roll of this aeroplane's length (a planning figure, to 50 ft).
    uphill = less_slope(76.3, 38 * KNOT, -0.02) / 76.3
    agrees("T5-008", uphill)
    agrees("C06", uphill)


def test_weight_exponents_of_print():
    printed = np.log(row("T5-052").value / row("T5-051").value) / np.log(2700 / 2400)
    free = COEFFICIENT["weight exponent, lift-off airspeed unread"]
    held = COEFFICIENT["weight exponent, lift-off airspeed read"]
    assert abs(printed - free.value) < free.standard_uncertainty
    assert abs((printed - 1.0) - held.value) < held.standard_uncertainty
    assert abs(row("T5-043").value - free.value) < free.standard_uncertainty
    agrees("C01", 1.1**free.value)
    # T5-053 prints the increase on the longer roll: a misprint, and nobody's exponent.
    assert round(100 * (row("T5-052").value / row("T5-051").value - 1)) == 31 != row("T5-053").value


def test_density_exponent_of_print():
    """A constant-speed propeller: the printed exponents, with the power that is left at a height, against ours."""
    of = {c.name: c for c in suited(TAKEOFF, Known(propeller="constant-speed")).coefficients}
    density, power = of["density exponent"], of["power exponent"]
    # Along the standard lapse ln p is 1.235 ln sigma and ln T 0.235 ln sigma.
    by_height = 1.235 * of["power with dry pressure"].value + 0.235 * of["power with temperature"].value
    _, printed, _, of_power = row("T5-071").numbers
    ours = -(density.value + power.value * by_height)
    width = np.hypot(density.standard_uncertainty, power.standard_uncertainty * by_height)
    assert printed + of_power * by_height == pytest.approx(ours, abs=2 * width)
    # +10 degC makes a roll 1.10 times as long (a planning figure): fixed pitch.
    fixed = {name: one.value for name, one in COEFFICIENT.items()}
    by_temperature = -fixed["density exponent"] + fixed["power exponent"] * fixed["power with temperature"]
    agrees("C03", (298.15 / 288.15) ** by_temperature)


# --- against the equation of motion ------------------------------------------------------------------------------

CHANGES = {
    "wind": {"headwind": 2 * KNOT},
    "more wind": {"headwind": 7 * KNOT},
    "slope": {"slope": 0.01},
    "downhill": {"slope": -0.01},
    "weight": {"weight": 555.0},
    "lighter": {"weight": 525.0},
    "warm": {"oat": 298.15},
    "cold": {"oat": 278.15},
    "low pressure": {"pressure": 99325.0},
    "fast": {LIFT_OFF: 40 * KNOT},
    "slow": {LIFT_OFF: 36.5 * KNOT},
    "all at once": {
        "headwind": 2.5 * KNOT,
        "slope": 0.005,
        "weight": 530.0,
        "oat": 296.15,
        "pressure": 100500.0,
        LIFT_OFF: 39.5 * KNOT,
    },
}


@pytest.mark.parametrize("law", ["A", "B"])
@pytest.mark.parametrize("change", CHANGES)
def test_corrected_roll_is_the_roll_at_the_common_sky(change, law):
    runs, raw = flown(law, **CHANGES[change])
    _, truth = flown(law)
    steps = reduce_runs(TAKEOFF, runs, HOME)
    error = abs(np.log(steps[-1].value[0] / truth))
    allowed = 2 * coefficient_uncertainty(TAKEOFF, runs, HOME) + 5e-4
    assert error < allowed, f"{change}: off by {error:.4f}, coefficients allow {allowed:.4f}"
    if change != "all at once":
        assert error < 0.45 * abs(np.log(raw / truth)), "the correction must remove most of the change"
    assert steps[0].value[0] == raw


@pytest.mark.parametrize("law", ["A", "B"])
def test_unread_lift_off_airspeed(law):
    """A heavier aeroplane flown off at one lift coefficient, its airspeed not written down."""
    runs, _ = flown(law, weight=555.0, **{LIFT_OFF: 38 * KNOT * np.sqrt(555 / 540)})
    del runs[LIFT_OFF]
    _, truth = flown(law)
    error = abs(np.log(reduce_runs(TAKEOFF, runs, HOME)[-1].value[0] / truth))
    assert error < coefficient_uncertainty(TAKEOFF, runs, HOME)
    assert error < 0.1 * np.log(runs["ground roll"][0] / truth)
    blind = {name: value for name, value in HOME.items() if name != LIFT_OFF}
    names = [step.name for step in reduce_runs(TAKEOFF, runs, blind)]
    assert names == ["as flown", "weight", "density"], "no airspeed at all: wind and slope cannot be corrected"


def test_signs():
    for change, name, sign in (
        ({"headwind": 6 * KNOT}, "wind", +1),
        ({"headwind": 2 * KNOT}, "wind", -1),
        ({"slope": 0.02}, "slope", -1),
        ({"weight": 560.0}, "weight", -1),
        ({"oat": 300.15}, "density", -1),
        ({"pressure": 99000.0}, "density", -1),
        ({LIFT_OFF: 40 * KNOT}, LIFT_OFF, -1),
    ):
        runs, _ = flown(**change)
        steps = reduce_runs(TAKEOFF, runs, HOME)
        moved = {b.name: b.value[0] - a.value[0] for a, b in pairwise(steps)}
        assert sign * moved[name] > 0, f"{name} corrected the wrong way"
        # Thinner air also changes how much the sky's wind is worth; nothing else moves.
        assert all(abs(size) < 1e-9 for other, size in moved.items() if other not in (name, LIFT_OFF)), moved


def test_nothing_is_corrected_at_the_common_sky():
    runs, raw = flown()
    for step in reduce_runs(TAKEOFF, runs, HOME):
        assert step.value[0] == pytest.approx(raw, rel=1e-12)


def test_a_roll_that_obeys_the_law_is_brought_to_the_sky_exactly():
    """All conditions differ at once; the roll is written down from the law itself, level."""
    value = {coefficient.name: coefficient.value for coefficient in TAKEOFF.coefficients}
    sky = {**HOME, "headwind": 8 * KNOT}
    run = {"headwind": 2 * KNOT, "slope": 0.0, "weight": 600.0, "oat": 308.15, "pressure": 90000.0, LIFT_OFF: 41 * KNOT}

    def law(at):
        air = Air(at["oat"], at["pressure"])
        factor = at["pressure"] ** value["power with dry pressure"] * at["oat"] ** value["power with temperature"]
        thrust = air.density ** value["density exponent"] * factor ** value["power exponent"]
        still = at["weight"] ** 1.2 * thrust * at[LIFT_OFF] ** 2.42
        return still * (1 - at["headwind"] / air.true_airspeed(at[LIFT_OFF])) ** 1.85

    runs = {name: np.array([number]) for name, number in {**run, "ground roll": law(run)}.items()}
    assert reduce_runs(TAKEOFF, runs, sky)[-1].value[0] == pytest.approx(law(sky), rel=5e-4)


def test_moist_air_is_thin_air():
    runs, _ = flown()
    runs["dew point"] = np.array([293.15])
    dry, moist = (reduce_runs(TAKEOFF, {**runs, "dew point": d}, HOME)[-1].value for d in (np.array([np.nan]), 293.15))
    # 0.87 % less dense and 2.3 % less of it air that burns (23.4 hPa of vapour in 1,013) at a dew point of 20 degC.
    power = COEFFICIENT["power exponent"].value * COEFFICIENT["power with dry pressure"].value
    assert (moist / dry)[0] == pytest.approx((1 - 0.0087) * (1 - 23.4 / 1013.25) ** -power, abs=2e-3)


def test_a_headwind_faster_than_lift_off_gives_no_number():
    runs, _ = flown()
    runs["headwind"] = np.array([45 * KNOT])
    assert np.isnan(reduce_runs(TAKEOFF, runs, HOME)[-1].value[0])


def test_vectorised_over_campaigns():
    rng = np.random.default_rng(3)
    runs = {name: value * (1 + 0.01 * rng.standard_normal((50, 6))) for name, value in HOME.items()}
    runs["ground roll"] = 76.0 * (1 + 0.1 * rng.standard_normal((50, 6)))
    sky = {name: value.mean(axis=-1, keepdims=True) for name, value in runs.items()}
    whole = reduce_runs(TAKEOFF, runs, sky)[-1].value
    one = reduce_runs(TAKEOFF, {k: v[7] for k, v in runs.items()}, {k: v[7] for k, v in sky.items()})[-1].value
    assert whole.shape == (50, 6)
    assert whole[7] == pytest.approx(one, rel=1e-12)


def test_limits_name_the_run_outside():
    runs = {name: np.array([value, value]) for name, value in HOME.items()}
    runs["ground roll"] = np.array([76.0, 76.0])
    runs["headwind"] = np.array([3 * KNOT, 6 * KNOT])
    runs["weight"] = np.array([540.0, 600.0])
    outside = {}
    for limit in TAKEOFF.limits:
        quantity = np.broadcast_to(limit.quantity(runs, HOME), (2,))
        outside[limit.correction] = [bool(v < limit.low or v > limit.high) for v in quantity]
    assert outside["wind"] == [False, True]
    assert outside["weight"] == [False, True]
    assert outside["density"] == outside["slope"] == outside[LIFT_OFF] == [False, False]
    bare = {"ground roll": runs["ground roll"]}
    assert all(np.all(np.isnan(limit.quantity(bare, HOME))) for limit in TAKEOFF.limits), "unknown is not outside"


# --- landing roll ------------------------------------------------------------------------------------------------


def landing(mass=540.0, touch_down=36 * KNOT, headwind=0.0, slope=0.0, air=None) -> float:
    """Landing roll [m] with idle propeller drag and a braking coefficient of 0.25, integrated."""
    air = air or Air()
    start = air.true_airspeed(touch_down) - headwind

    def motion(t, y):
        q = 0.5 * air.density * (y[1] + headwind) ** 2 * 12.5
        braking = 0.25 * (mass * 9.80665 - q * 0.3)
        return [y[1], -(q * 0.12 + braking) / mass - 9.80665 * np.sin(np.arctan(slope))]

    def stops(t, y):
        return y[1]

    stops.terminal = True
    return float(solve_ivp(motion, (0, 100), [0.0, start], events=stops, rtol=1e-9).y_events[0][0][0])


@pytest.mark.parametrize(
    "changed",
    [
        {"headwind": 3 * KNOT},
        {"slope": 0.01},
        {"mass": 560.0},
        {"air": Air(298.15)},
        {"touch_down": 38 * KNOT},
        {"headwind": 3 * KNOT, "mass": 530.0, "air": Air(280.15, 99000.0), "touch_down": 35 * KNOT, "slope": -0.01},
    ],
)
def test_landing_roll_against_integration(changed):
    sky = {**{k: v for k, v in HOME.items() if k != LIFT_OFF}, "headwind": 1.0, "touch-down airspeed": 36 * KNOT}
    at = {"mass": 540.0, "touch_down": 36 * KNOT, "headwind": 1.0, "slope": 0.0, "air": Air(), **changed}
    truth, raw = landing(headwind=1.0), landing(**at)
    runs = {
        "ground roll": np.array([raw]),
        "headwind": np.array([at["headwind"]]),
        "slope": np.array([at["slope"]]),
        "weight": np.array([at["mass"]]),
        "oat": np.array([at["air"].temperature]),
        "pressure": np.array([at["air"].pressure]),
        "touch-down airspeed": np.array([at["touch_down"]]),
    }
    error = abs(np.log(reduce_runs(LANDING, runs, sky)[-1].value[0] / truth))
    assert error < 2 * coefficient_uncertainty(LANDING, runs, sky) + 1e-3
    if abs(np.log(raw / truth)) > 0.01:  # where friction brakes, weight hardly matters
        assert error < 0.5 * abs(np.log(raw / truth))


def test_landing_uphill_is_shorter_and_corrected_longer():
    sky = {**HOME, "touch-down airspeed": 36 * KNOT}
    runs = {name: np.array([value]) for name, value in {**sky, "ground roll": 60.0, "slope": 0.02}.items()}
    steps = {step.name: step.value[0] for step in reduce_runs(LANDING, runs, sky)}
    assert steps["slope"] > steps["wind"]
