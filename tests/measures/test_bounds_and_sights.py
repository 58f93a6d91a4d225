"""What may be written into a cell without being asked about, what is seen of the excess thrust, and coefficients.

The bounds of the columns are this project's own choice, wide enough for any light aeroplane on any field: the table is
their specification, in the units that people write.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from samesky import units
from samesky.aeroplane.kinds import EXCESS, Known, engine_factor
from samesky.air import airspeed, atmosphere
from samesky.measures import MEASURES, airspeed_calibration, power, speeds, static_pull
from samesky.measures.columns import COMMON
from samesky.measures.level_speed import EFFICIENCY, STEEPNESS
from samesky.measures.sensitivity import reduce_runs
from samesky.measures.shape import Vantage

KNOT, G = 1852 / 3600, 9.80665
#: Lowest and highest that may be written of every measure's column and of the common ones.
BELIEVED = {
    ("", "oat"): ("degC", -50, 55),
    ("", "qnh"): ("hPa", 920, 1080),
    ("", "pressure altitude"): ("m", -600, 8000),
    ("", "dew point"): ("degC", -70, 35),
    ("", "fuel"): ("L", 0, 2000),
    ("", "ballast"): ("kg", 0, 500),
    ("", "rpm"): ("rpm", 0, 9000),
    ("takeoff_roll", "headwind"): ("m/s", -25, 40),
    ("takeoff_roll", "gust"): ("m/s", 0, 50),
    ("takeoff_roll", "crosswind"): ("m/s", -30, 30),
    ("takeoff_roll", "slope"): ("%", -20, 20),
    ("takeoff_roll", "ground roll"): ("m", 5, 5000),
    ("takeoff_roll", "lift-off airspeed"): ("m/s", 5, 120),
    ("landing_roll", "ground roll"): ("m", 5, 5000),
    ("landing_roll", "touch-down airspeed"): ("m/s", 5, 120),
    ("static_pull", "pull"): ("N", 50, 50_000),
    ("timed_climb", "from"): ("m", -600, 8000),
    ("timed_climb", "to"): ("m", -600, 8000),
    ("timed_climb", "elapsed"): ("s", 3, 3600),
    ("timed_climb", "airspeed"): ("m/s", 5, 200),
    ("timed_climb", "entry airspeed"): ("m/s", 5, 200),
    ("timed_climb", "exit airspeed"): ("m/s", 5, 200),
    ("level_speed", "altitude"): ("m", -600, 8000),
    ("level_speed", "airspeed"): ("m/s", 5, 200),
    ("level_speed", "speed 1"): ("m/s", 3, 250),
    ("level_speed", "speed 8"): ("m/s", 3, 250),
    ("level_speed", "track 8"): ("rad", -6.3, 12.6),
    ("cruise_fuel", "fuel flow"): ("L/h", 0.36, 3600),
}


def column_of(measure: str, name: str):
    columns = COMMON if not measure else MEASURES[measure].columns
    return next(one for one in columns if one.name == name)


@pytest.mark.parametrize(("measure", "name"), BELIEVED)
def test_what_may_be_written_without_being_asked_about(measure, name):
    unit, low, high = BELIEVED[measure, name]
    column = column_of(measure, name)
    ends = (units.to_si(float(end), unit, column.dimension) for end in (low, high))
    assert (column.low, column.high) == pytest.approx(tuple(float(end) for end in ends))


def test_every_bound_of_the_common_columns_stands_in_the_table():
    bounded = {column.name for column in COMMON if column.low is not None or column.high is not None}
    assert bounded == {name for measure, name in BELIEVED if not measure}
    for kind in ("timed_climb", "idle_descent"):
        for one in MEASURES[kind].columns:
            told = BELIEVED.get(("timed_climb", one.name))
            if told is not None:
                assert one.low == column_of("timed_climb", one.name).low
                assert one.high == column_of("timed_climb", one.name).high


# -- airspeed of level runs --------------------------------------------------------------------------------------------

STILL = {speeds.EAST: 0.0, speeds.NORTH: 0.0}


def level(*legs, airspeed=None, oat=None):
    """Runs with these legs, (speed, track) each or None where not flown, one tuple of legs a run."""
    runs = {"altitude": np.full(len(legs), 600.0)}
    for k in range(max(map(len, legs))):
        for what, place in (("speed", 0), ("track", 1)):
            runs[f"{what} {k + 1}"] = np.array([one[k][place] if len(one) > k else np.nan for one in legs])
    if airspeed is not None:
        runs["airspeed"] = np.array(airspeed)
    if oat is not None:
        runs["oat"] = np.full(len(legs), oat)
    return runs


BOX = tuple((50.0 + wind, np.radians(track)) for wind, track in ((4, 0), (0.16, 90), (-4, 180), (0.16, 270)))
OUT_AND_BACK = ((53.0, 0.0), (47.0, np.pi))


def test_what_the_panel_showed_is_of_each_run_by_itself():
    runs = level(OUT_AND_BACK, ((60.0, 0.0),), (), airspeed=[40.0, 41.0, 42.0])
    assert speeds.as_shown(runs) == pytest.approx([50.0, 60.0, 42.0])
    del runs["airspeed"]
    assert speeds.as_shown(runs)[:2] == pytest.approx([50.0, 60.0])
    assert np.isnan(speeds.as_shown(runs)[2])
    assert speeds.as_shown({"altitude": np.zeros(2), "airspeed": np.array([1.0, 2.0])}) == pytest.approx([1.0, 2.0])


def test_each_run_takes_its_airspeed_from_its_own_legs_else_from_its_indicator():
    """One run out and back, one with a single leg, one without: the latter two by indicator and air."""
    runs = level(OUT_AND_BACK, ((60.0, 0.0),), (), airspeed=[40.0, 41.0, 42.0], oat=290.0)
    pressure = float(atmosphere.pressure(600.0))
    alone = [float(airspeed.cas_to_tas(one, pressure, 290.0)) for one in (41.0, 42.0)]
    assert speeds.true_of(runs, STILL) == pytest.approx([50.0, *alone], rel=1e-3)
    # One run without either, and there is no airspeed of the whole.
    without = {key: values for key, values in runs.items() if key != "airspeed"}
    assert speeds.true_of(without, STILL) is None
    runs["airspeed"] = np.array([40.0, 41.0, np.nan])
    assert speeds.true_of(runs, STILL) is None
    assert speeds.true_of(level(OUT_AND_BACK, OUT_AND_BACK), STILL) == pytest.approx([50.0, 50.0])


def test_legs_are_up_to_eight_each_a_speed_with_its_track():
    eight = level(BOX + BOX)
    found = speeds.legs_of({**eight, "speed 9": np.array([999.0]), "track 9": np.array([0.0]), "speed 10": np.zeros(1)})
    assert found[0].shape == found[1].shape == (1, 8)
    assert found[0][0] == pytest.approx([speed for speed, _ in BOX + BOX])
    del eight["track 8"]
    assert speeds.legs_of(eight)[0].shape == (1, 7)
    half = level(BOX)
    half["track 2"] = np.array([np.nan])
    assert np.isnan(speeds.legs_of(half)[0]).tolist() == [[False, True, False, False]]
    assert speeds.legs_of({"altitude": np.zeros(1)}) is None


def test_two_legs_are_held_to_be_reciprocal_and_others_are_not_asked():
    turned = level(((50.0, 0.0), (50.0, np.radians(160.0))), BOX, OUT_AND_BACK)
    angle = speeds.two_leg_angle(turned, {})
    assert np.degrees(angle[0]) == pytest.approx(20.0)
    assert np.isnan(angle[1])
    assert angle[2] == pytest.approx(0.0, abs=1e-9)
    assert np.isnan(speeds.two_leg_angle({"altitude": np.zeros(2)}, {})).all()


@pytest.mark.parametrize("lacking", ["legs", "altitude"])
def test_a_position_error_needs_legs_and_an_altitude(lacking):
    runs = {**level(BOX, airspeed=[45.0], oat=288.15)}
    assert np.isfinite(reduce_runs(airspeed_calibration.CALIBRATION, runs, {})[-1].value).all()
    gone = "altitude" if lacking == "altitude" else "speed"
    runs = {key: values for key, values in runs.items() if not key.startswith(gone)}
    with pytest.raises(ValueError, match="needs ground speeds and tracks of legs, and an altitude"):
        reduce_runs(airspeed_calibration.CALIBRATION, runs, {})


# -- what is seen of the excess thrust ---------------------------------------------------------------------------------


def seen(measure, sky, means=None, level=60.0, **known):
    return MEASURES[measure].thrust.see(Vantage(sky, means or {}, level, Known(**known)))


def test_top_speed_sees_thrust_from_power_and_the_steepness_of_its_balance():
    """T = efficiency P f / V; dF = k T dV / V, in the air of the sky or of sea level where it is not known."""
    assert "power of the engine is not entered" in seen("level_speed", {"altitude": 600.0, "oat": 280.0})
    pressure = float(atmosphere.pressure(600.0))
    factor = float(engine_factor(Known().law(), pressure, 280.0))
    thrust = EFFICIENCY * 60_000.0 * factor / 60.0
    found = seen("level_speed", {"altitude": 600.0, "oat": 280.0}, power=60_000.0)
    assert found.factor == pytest.approx(STEEPNESS * thrust / 60.0, rel=1e-9)
    assert found.airspeed == pytest.approx(60.0)
    # Law of ideal gases, dry air.
    assert found.density == pytest.approx(pressure / (287.053 * 280.0), rel=1e-3)
    cold = seen("level_speed", {"altitude": 600.0}, power=60_000.0)
    assert cold.factor == pytest.approx(STEEPNESS * EFFICIENCY * 1000.0 / 60.0)
    assert cold.density is None
    for rpm, share in ((36.0, 0.8), (45.0, 1.0), (60.0, 1.05), (np.nan, 1.0)):
        slow = seen("level_speed", {"altitude": 600.0}, {"rpm": rpm}, power=60_000.0, rated_speed=45.0)
        assert slow.factor == pytest.approx(cold.factor * share)


def test_a_climb_sees_its_excess_power_over_its_true_airspeed():
    sky = {"weight": 520.0, "from": 300.0, "to": 600.0, "oat": 285.0, "airspeed": 31.0}
    pressure = float(atmosphere.pressure(450.0))
    speed = float(airspeed.cas_to_tas(31.0, pressure, 285.0))
    found = seen("timed_climb", sky, level=4.0)
    assert found.airspeed == pytest.approx(speed, rel=1e-4)
    # Thrust less drag is weight times rate over airspeed.
    assert found.factor == pytest.approx(520.0 * G / speed, rel=1e-4)
    assert found.density == pytest.approx(pressure / (287.053 * 285.0), rel=1e-3)
    ends = {key: value for key, value in sky.items() if key != "airspeed"}
    of_ends = seen("timed_climb", ends, {"entry airspeed": 30.0, "exit airspeed": 32.0}, level=4.0)
    assert of_ends.factor == pytest.approx(found.factor)
    assert "airspeed of the climb is not known" in seen("timed_climb", ends, level=4.0)
    unread = seen("timed_climb", {key: value for key, value in sky.items() if key != "oat"}, level=4.0)
    assert (unread.airspeed, unread.density) == (31.0, None)


@pytest.mark.parametrize(("wind", "seen_at"), [({}, 0.0), ({"headwind": 3.0}, 3.0), ({"headwind": -2.0}, 0.0)])
def test_a_pull_is_seen_at_the_airspeed_of_the_wind_from_ahead(wind, seen_at):
    found = seen("static_pull", wind)
    assert (found.airspeed, found.factor, found.density) == (seen_at, 1.0, None)
    warm = seen("static_pull", {**wind, "oat": 290.0, "pressure": 100_000.0})
    assert warm.density == pytest.approx(100_000.0 / (287.053 * 290.0), rel=1e-3)


# -- coefficients ------------------------------------------------------------------------------------------------------


def test_wind_on_a_pull_is_known_better_where_the_propellers_speed_was_read():
    """u of c: 0.25 covers three open sets; a speed taken for granted adds a tenth of c or so: hypot(0.25, 0.12)."""
    read, taken = (static_pull.coefficients(Known(pull_speed_read=read))[0] for read in (True, False))
    assert (read.value, read.standard_uncertainty) == (0.60, 0.25)
    assert taken.standard_uncertainty == pytest.approx(np.hypot(0.25, 0.2 * 0.60), abs=0.005)


@pytest.mark.parametrize("name", ["static_pull", "takeoff_roll", "timed_climb", "level_speed", "level_acceleration"])
def test_without_a_law_density_corrects_nothing_and_all_of_it_is_uncertain(name):
    lawful = {one.name: one for one in MEASURES[name].coefficients_for(Known())}
    lawless = {one.name: one for one in MEASURES[name].coefficients_for(Known(engine="two-stroke"))}
    was, now = lawful[power.DENSITY], lawless[power.DENSITY]
    assert now.value == 0.0
    assert now.standard_uncertainty == pytest.approx(np.hypot(was.value, was.standard_uncertainty))
    stated = {one.name: one for one in MEASURES[name].coefficients_for(Known(engine="two-stroke", law_stated=True))}
    assert stated[power.DENSITY].value == was.value


def test_weight_in_a_climb_by_the_induced_share_of_the_drag():
    """Rate goes with 1/W and induced drag with W squared: -1 - 2 i (X - 1), its doubt from i and X."""
    found = power.climb_weight(Known())
    x, u = EXCESS
    assert found.value == pytest.approx(-1.0 - 2.0 * 0.42 * (x - 1.0))
    assert found.standard_uncertainty == pytest.approx(2.0 * np.hypot(0.08 * (x - 1.0), 0.42 * u))
    assert "0.42 +- 0.08" in found.source
    heavy = replace(Known(power=60_000.0, rated_speed=45.0, climb_weight=520.0, climb_rate=3.0), climb_speed=45.0)
    x, u, _ = heavy.excess()
    assert power.climb_weight(heavy).value == pytest.approx(-1.0 - 0.84 * (x - 1.0))
