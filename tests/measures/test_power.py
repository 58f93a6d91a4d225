"""Air and engine: exponents against direct computation by programs that share nothing with the package.

``COMPUTED`` are exponents of density by cause that two independent programs of this project gave for four aeroplanes
(point mass with cubic coefficients; blade elements), with X and y as they were there. The open sets of propellers are
named at the test.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest

from samesky.aeroplane.kinds import ENGINES, LAWS, Known, engine_factor
from samesky.measures import MEASURES, power
from samesky.measures.sensitivity import reduce_runs, sensitivities
from samesky.measures.shape import StatedCoefficient, suited
from samesky.measures.static_pull import ND

KNOT = 1852 / 3600
G = 9.80665
#: Aeroplane: propeller, y, X, and by cause the exponents of density in static pull, roll (sign turned), climb, level.
COMPUTED = {
    "light": ("fixed", 1.28, 1.74, (1.14, 2.55, 1.95, 0.13), (1.30, 2.77, 2.28, 0.20), (0.50, 1.69, 0.66, -0.15)),
    "two-seater": ("fixed", 1.25, 1.68, (1.14, 2.64, 1.90, 0.15), (1.29, 2.87, 2.26, 0.24), (0.51, 1.71, 0.54, -0.19)),
    "four-seater": ("fixed", 1.40, 2.20, (1.15, 2.83, 2.71, 0.22), (1.30, 3.09, 3.22, 0.32), (0.49, 1.77, 0.85, -0.17)),
    "constant speed": (
        "constant-speed", 1.22, 1.58, (1.07, 2.51, 1.76, 0.13), (1.15, 2.65, 1.99, 0.19), (0.75, 1.95, 0.85, -0.13),
    ),
}  # fmt: skip
#: Law of power, A by density or B by pressure and root of temperature, and what was changed: 600 m, or 15 K.
CAUSES = {"A": (-1.14, "either"), "B, height": (-0.50, "height"), "B, temperature": (-0.50, "temperature")}
NAMES = ("static_pull", "takeoff_roll", "timed_climb", "level_speed")


def aeroplane(propeller: str, y: float, x: float) -> Known:
    """An aeroplane whose campaign measures y and X: power and rpm, pull and roll that give just these."""
    rate, weight, speed = 4.0, 520.0, 20.0
    return Known(
        "normally aspirated", propeller, 0.72**-1 * x * weight * G * rate, 45.0, weight, rate, 45.0, 101325.0, 288.15,
        pull=y / 0.87 * weight * speed**2 / 200.0, roll_weight=weight, roll=100.0, lift_off=speed,
    )  # fmt: skip


def of(measure: str, known: Known) -> dict:
    return {one.name: one for one in suited(MEASURES[measure], known).coefficients}


def exponent(found: dict, cause: str, pressure: float, temperature: float) -> tuple[float, float]:
    """d ln(value)/d ln(density) by a cause, and its standard uncertainty where the law of power is known."""
    # Along the standard lapse ln p goes with 1.235, ln T with 0.235 of ln(density).
    by_power = -temperature if cause == "temperature" else 1.235 * pressure + 0.235 * temperature
    d, e = found["density exponent"], found["power exponent"]
    width = np.hypot(d.standard_uncertainty, by_power * e.standard_uncertainty)
    return d.value + e.value * by_power, float(width)


@pytest.mark.parametrize("place", range(4), ids=NAMES)
@pytest.mark.parametrize("cause", CAUSES)
@pytest.mark.parametrize("plane", COMPUTED)
def test_exponents_of_direct_computation(plane, cause, place):
    propeller, y, x, *by_cause = COMPUTED[plane]
    found = of(NAMES[place], aeroplane(propeller, y, x))
    temperature, what = CAUSES[cause]
    ours, width = exponent(found, what, 1.14, temperature)
    computed = by_cause[list(CAUSES).index(cause)][place] * (-1.0 if place == 1 else 1.0)
    assert ours == pytest.approx(computed, abs=min(2.0 * width, 0.35) + 0.01)


@pytest.mark.parametrize("plane", COMPUTED)
def test_widths_where_power_rpm_pull_and_roll_are_entered(plane):
    """By pressure at most 0.2 (0.21 in a climb of excess 2.2); the engine's own part by temperature at most 0.35."""
    propeller, y, x, *_ = COMPUTED[plane]
    for name in NAMES:
        found = of(name, aeroplane(propeller, y, x))
        d, e, p, t = (found[k] for k in (power.DENSITY, power.POWER, power.PRESSURE, power.TEMPERATURE))
        by_pressure = np.sqrt(
            d.standard_uncertainty**2
            + (e.standard_uncertainty * p.value) ** 2
            + (e.value * p.standard_uncertainty) ** 2
        )
        assert by_pressure <= (0.25 if propeller == "constant-speed" else 0.215), name
        assert t.standard_uncertainty <= 0.35


def test_known_numbers_come_back():
    assert aeroplane("fixed", 1.3, 1.9).excess()[0] == pytest.approx(1.9)
    assert aeroplane("fixed", 1.3, 1.9).rolling()[0] == pytest.approx(1.3)
    # Half the rpm is half the power: the same climb then takes more of it.
    slow = replace(aeroplane("fixed", 1.3, 1.9), climb_speed=0.9 * 45.0)
    assert slow.excess()[0] == pytest.approx(0.9 * 1.9)
    # Without rpm the share is assumed, and less is known; without power nothing is.
    unread = replace(aeroplane("fixed", 1.3, 1.9), climb_speed=None)
    assert unread.excess()[1] / unread.excess()[0] > slow.excess()[1] / slow.excess()[0]
    assert replace(slow, power=None).excess()[:2] == (1.9, 0.3)
    assert replace(slow, power=1e6).excess()[:2] == (1.9, 0.3), "hard to believe"
    assert replace(slow, pull=None).rolling()[:2] == (1.40, 0.16)
    assert replace(slow, pull=1e5).rolling()[:2] == (1.40, 0.16)


def test_excess_of_the_sky_that_is_named():
    """rate = thrust power - drag power: with thinner air below the engine X is larger; computed from both by hand."""
    known = aeroplane("fixed", 1.3, 1.9)
    high = replace(known, sky_pressure=90000.0, sky_temperature=280.0)
    law = LAWS["normally aspirated"]
    f = float(engine_factor(law, 90000.0, 280.0)) ** 1.25
    # Per unit of rate, drag 0.9 and thrust 1.9 in the air of the climbs; both share the change of true airspeed.
    assert high.excess()[0] == pytest.approx(1.9 * f / (1.9 * f - 0.9), rel=1e-9)


def test_a_climb_is_thrust_less_drag_however_large_the_change():
    """X = 2: at 0.85 of the thrust of a fixed pitch the excess is 2 x 0.85 - 1."""
    climb = suited(MEASURES["timed_climb"], aeroplane("fixed", 1.3, 2.0))
    sky = {"oat": 288.15, "from": 0.0, "to": 0.0}
    low = 101325.0 * (0.85 ** (1 / 1.25)) ** (1 / 1.14)
    from samesky.air.atmosphere import pressure_altitude

    height = float(pressure_altitude(low))
    runs = {"oat": np.array([288.15]), "from": np.array([height]), "to": np.array([height]), "elapsed": np.array([1.0])}
    factor = power.climb_to_the_sky(runs, sky, climb.coefficient_values())
    sigma = low / 101325.0
    assert 1.0 / factor[0] == pytest.approx(sigma**-0.5 * (2.0 * 0.85 - 1.0), rel=2e-3)


def test_vapour_burns_nothing():
    """At 30 degC dew point 42.5 hPa of 1,013.25 are vapour (row of saturation: 4,247 Pa)."""
    pull = MEASURES["static_pull"]
    sky = {"oat": 303.15, "pressure": 101325.0}
    runs = {"pull": np.array([1800.0]), "oat": np.array([303.15]), "pressure": np.array([101325.0])}
    moist = reduce_runs(pull, {**runs, "dew point": np.array([303.15])}, sky)[-1].value[0]
    assert moist / 1800.0 == pytest.approx((1 - 4247 / 101325) ** -1.14, rel=1e-3)


# --- wind on a pull ----------------------------------------------------------------------------------------------


def loss(name: str) -> float:
    """c of (1 - c J), J with the static propeller speed, at constant torque, up to 0.2, from one open set."""
    text = (files("samesky.published") / "data" / "datasets" / name).read_text(encoding="utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    static = [row for row in rows if row["kind"] == "static"]
    flown = [row for row in rows if row["kind"] != "static"]
    speed = float(flown[0]["rpm"])
    still = min(static, key=lambda row: abs(float(row["rpm"]) - speed))
    j, ct, cp = (np.array([float(row[k]) for row in flown]) for k in ("J", "CT", "CP"))
    # At constant torque n^2 goes with 1/CP: thrust with CT/CP, and J of the static speed with J/sqrt(CP).
    thrust = ct / cp / (float(still["CT"]) / float(still["CP"]))
    at = j * np.sqrt(float(still["CP"]) / cp)
    near = at < 0.2
    return float(np.sum(at[near] * (1 - thrust[near])) / np.sum(at[near] ** 2))


def test_wind_loss_covers_the_open_propeller_sets():
    """AIAA 2014-2151 and AIAA 2011-1255: three two-blade model propellers (published/data/datasets)."""
    sets = ("model1_9x6.75_two_blade.csv", "model2_10x4.7_two_blade.csv", "model3_11x4.7_two_blade.csv")
    found = np.array([loss(name) for name in sets])
    stated = next(c for c in suited(MEASURES["static_pull"], Known(pull_speed_read=True)).coefficients)
    assert stated.name == "wind loss"
    assert np.all(np.abs(found - stated.value) < 2 * stated.standard_uncertainty)
    assert abs(found.mean() - stated.value) < stated.standard_uncertainty
    assert found.std(ddof=1) > 0.1, "they do not agree: no narrow width would be true"
    assert all(f"{one:.2f}" in stated.source for one in found), "the report names what the sets give"


def test_wind_goes_with_the_advance_ratio_of_each_run():
    """5 kt at n D of 68 m/s: 0.6 x 2.57/68 = 2.3 %, and 0.6 m^2 x 4.05 Pa of push; half of the loss at twice n D."""
    pull, sky = MEASURES["static_pull"], {"headwind": 0.0}
    runs = {"pull": np.array([1800.0, 1800.0, 1800.0]), "headwind": np.array([5.0, 5.0, -3.0]) * KNOT}
    runs[ND] = np.array([68.0, 136.0, 68.0])
    calm = reduce_runs(pull, runs, sky)[-1].value
    push = 0.6 * 0.5 * 1.225 * (5 * KNOT) ** 2
    assert calm[0] == pytest.approx((1800 + push) / (1 - 0.6 * 5 * KNOT / 68), rel=1e-9)
    assert calm[1] == pytest.approx((1800 + push) / (1 - 0.6 * 5 * KNOT / 136), rel=1e-9)
    assert 1.019 < calm[0] / 1800 < 1.028
    behind = 0.6 * 0.5 * 1.225 * (3 * KNOT) ** 2
    assert calm[2] == pytest.approx((1800 - behind) / (1 + 0.6 * 3 * KNOT / 68), rel=1e-9), "it helps the scale"
    del runs[ND]
    assert reduce_runs(pull, runs, sky)[-1].value[1] == pytest.approx(calm[0], rel=1e-9)


# --- kinds -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("engine", ENGINES)
def test_each_engine_gets_its_own(engine):
    """Against factors that another program uses: turbo theta^-0.15, two-stroke delta^1.15 theta^-0.75, motor 5e-4/K."""
    truth = {"turbo-normalised": (0.0, -0.15), "two-stroke": (1.15, -0.75), "electric": (0.0, -0.144)}
    found = of("static_pull", Known(engine))
    for name, true in zip((power.PRESSURE, power.TEMPERATURE), truth.get(engine, (1.14, -0.82)), strict=True):
        assert abs(found[name].value - true) <= 1.05 * found[name].standard_uncertainty + 1e-9


def test_a_two_stroke_is_not_corrected_and_its_width_says_so():
    """What a two-stroke of another program does lies inside: pull by (T ratio)^-0.75 at 10 K."""
    pull = suited(MEASURES["static_pull"], Known("two-stroke"))
    sky = {"oat": 288.15, "pressure": 101325.0}
    runs = {"pull": np.array([1800.0]), "oat": np.array([298.15]), "pressure": np.array([98000.0])}
    assert reduce_runs(pull, runs, sky)[-1].value[0] == pytest.approx(1800.0)
    change = np.log((98000 / 101325) ** 1.15 * (288.15 / 298.15) ** 0.75)
    stated = np.sqrt(sum(effect[0] ** 2 for _, effect in sensitivities(pull, runs, sky, [])))
    assert abs(change) < 2 * stated
    assert "keep the heights alike" in pull.not_corrected["density"]
    limit = next(one for one in pull.limits if one.correction == "density")
    assert limit.quantity(runs, sky)[0] < limit.low
    # A law that the pilot states is used.
    stated = {power.PRESSURE: StatedCoefficient(1.1, 0.1, "x"), power.TEMPERATURE: StatedCoefficient(-0.7, 0.1, "x")}
    lawful = suited(MEASURES["static_pull"], replace(Known("two-stroke"), law_stated=True), stated)
    assert not lawful.not_corrected
    assert reduce_runs(lawful, runs, sky)[-1].value[0] > 1850.0


def test_what_is_taken_is_said():
    silent = suited(MEASURES["level_speed"], Known()).assumptions
    assert any(
        "normally aspirated" in one and "[engine] kind and [propeller] kind are not entered" in one for one in silent
    )
    told = suited(MEASURES["level_speed"], Known("electric", "constant-speed")).assumptions
    assert any("Engine electric, propeller constant-speed." in one for one in told)
    assert not any("not entered" in one for one in told)
