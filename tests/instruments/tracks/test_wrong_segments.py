"""What looks like a leg, a climb or a roll and is none is refused, with the reason; the other side of the world is no
trap."""

from __future__ import annotations

import numpy as np
import pytest
from made_tracks import BEGIN, STEP, Receiver, flight, held, take_off

from samesky.instruments.tracks import TrackEstimate, level_legs, takeoff_roll, timed_climb
from samesky.instruments.tracks.fixes import build, path_metres

SATELLITE = {"barometer": False, "height": (13.0 / 1.959964, 300.0, 0.0)}


def stretch(speed=50.0, track=1.0, climb=0.0, seconds=90.0, height=800.0):
    count = int(seconds / STEP)
    rows = [np.array(np.broadcast_to(value, count), dtype=float) for value in (speed, track, climb)]
    return flight(*rows, height)


def line(first, last, seconds=90.0):
    return np.linspace(first, last, int(seconds / STEP))


NO_LEGS = {
    "slowing all the way": (stretch(speed=line(50.0, 46.0)), "not at one airspeed"),
    "still gathering speed": (stretch(speed=line(46.0, 52.0)), "not at one airspeed"),
    "settling after a level-off": (
        stretch(speed=47.5 - 3.5 * np.exp(-np.arange(0, 90, STEP) / 15)),
        "not at one airspeed",
    ),
    "climbing slowly": (stretch(climb=0.5), "not level"),
    "sinking slowly": (stretch(climb=-0.5), "not level"),
    "turning gently": (stretch(track=1.0 + line(0.0, np.radians(7.5))), "a slow turn, no leg"),
    "turning through north": (stretch(track=np.radians(-4.0) + line(0.0, np.radians(8.0))), "a slow turn, no leg"),
}


@pytest.mark.parametrize("receiver", [{}, SATELLITE, {"writes_speed": False, "rate": 2.0}])
@pytest.mark.parametrize("what", NO_LEGS)
def test_what_is_no_level_leg(what, receiver):
    truth, says = NO_LEGS[what]
    found = level_legs(Receiver(**receiver).fixes(truth, np.random.default_rng(1)))
    assert found.chosen == ()
    assert says in found.reason


@pytest.mark.parametrize("receiver", [{}, SATELLITE, {"writes_speed": False, "rate": 2.0}])
def test_a_leg_flown_as_people_fly_is_one(receiver):
    """Half a knot faster at the end, five metres higher, two degrees round: nobody flies better."""
    truth = stretch(speed=line(50.0, 50.4), climb=0.05, track=1.0 + line(0.0, np.radians(2.0)))
    for case in range(20):
        found = level_legs(Receiver(**receiver).fixes(truth, np.random.default_rng([2, case])))
        assert len(found.chosen) == 1
        assert found.chosen[0].values["ground speed"].value == pytest.approx(50.2, abs=0.3)


@pytest.mark.parametrize("band", [{}, {"bottom": 350.0, "top": 600.0}])
@pytest.mark.parametrize("barometer", [True, False])
@pytest.mark.parametrize("pause", [6.0, 8.0, 12.0, 30.0])
def test_a_step_climb_is_no_climb(pause, barometer, band):
    climb = held([(30, 0), (4, 4.0), (50, 4.0), (2, 0), (pause, 0), (2, 4.0), (50, 3.8), (4, 0), (30, 0)])
    truth = flight(np.full(climb.size, 32.0), np.full(climb.size, 1.0), climb, 300.0)
    fixes = Receiver(**({} if barometer else SATELLITE)).fixes(truth, np.random.default_rng(3))
    found = timed_climb(fixes, **band)
    assert found.chosen == ()
    assert any(
        says in found.reason for says in ("not one steady climb", "2 climbs found", "no climb covers the two heights")
    )


def test_a_zoom_is_told():
    """From 55 to 35 m/s on one track: 92 m of height that were speed before."""
    climb = held([(30, 0.0), (4, 4.0), (100, 3.5), (4, 0.0), (30, 0.0)])
    speed = np.interp(np.arange(climb.size) * STEP, [34.0, 134.0], [55.0, 35.0])
    fixes = Receiver().fixes(flight(speed, np.full(climb.size, 1.0), climb, 300.0), np.random.default_rng(1))
    (one,) = timed_climb(fixes).chosen
    assert "give entry and exit airspeed" in one.notes[-1]
    level = Receiver().fixes(
        flight(np.full(climb.size, 35.0), np.full(climb.size, 1.0), climb, 300.0), np.random.default_rng(1)
    )
    assert timed_climb(level).chosen[0].notes == ()


def test_a_go_around_is_no_take_off():
    speed = held([(60, 30.0), (10, 24.0), (10, 30.0), (60, 32.0)])
    climb = held([(10, -3.0), (50, -3.0), (10, 0.0), (4, 3.0), (66, 3.0)])[: speed.size]
    fixes = Receiver().fixes(flight(speed, np.full(speed.size, 1.0), climb, 320.0), np.random.default_rng(1))
    found = takeoff_roll(fixes, lift_off_speed=TrackEstimate(25.0, 0.5))
    assert (found.chosen, found.candidates) == ((), ())
    assert found.reason == "0 take-off rolls found, 1 expected"


NO_ROLLS = {
    "rolled on from taxying": ([(20, 0.0), (4, 5.0), (15, 5.0), (10, 24.0), (40, 32.0)], 0.0, "a running take-off"),
    "crept before the roll": ([(20, 1.25), (10, 24.0), (40, 32.0)], 0.0, "creeping at 1."),
    "turned on to the strip": ([(20, 0.0), (6, 5.0), (10, 24.0), (40, 32.0)], 90.0, "before the line-up"),
}


@pytest.mark.parametrize("writes_speed", [True, False])
@pytest.mark.parametrize("what", NO_ROLLS)
def test_what_is_no_roll_from_a_standstill(what, writes_speed):
    parts, turn, says = NO_ROLLS[what]
    if what == "crept before the roll" and not writes_speed:
        pytest.skip("positions cannot tell creeping from standing, nor does it change the roll by half a metre")
    speed = held(parts)
    fast = int(np.argmax(speed > 22.0))
    climb = np.where(np.arange(speed.size) > fast + 2 / STEP, 3.0, 0.0)
    slow = int(np.argmax(speed > 5.0 - 1e-9))
    track = np.full(speed.size, 2.0)
    track[:slow] -= np.radians(turn) * np.linspace(1.0, 0.0, slow) ** 0.2
    fixes = Receiver(rate=2.0, writes_speed=writes_speed).fixes(
        flight(speed, track, climb, 120.0), np.random.default_rng(5)
    )
    found = takeoff_roll(fixes, lift_off_speed=TrackEstimate(22.0, 0.3))
    assert found.chosen == ()
    assert says in found.reason


def test_a_take_off_broken_off_is_one_without_heights_too():
    speed = held([(20, 0.0), (9, 22.0), (15, 0.0), (20, 0.0)])
    fixes = Receiver().fixes(stretch(speed=speed, seconds=64.0, height=120.0), np.random.default_rng(1))
    fixes.pressure_altitude[:] = np.nan
    found = takeoff_roll(fixes, lift_off_speed=TrackEstimate(20.0, 0.3))
    assert found.chosen == ()
    assert "no heights to tell" in found.reason


#: Places on all sides of the lines that latitudes and longitudes are counted from.
PLACES = {
    "northern and eastern": (46.0, 9.0),
    "southern and western": (-33.9, -70.5),
    "on the equator": (-0.0002, 32.0),
    "over 180 degrees": (-17.7, 179.9995),
    "at 65 degrees north": (65.0, 12.0),
    "at 72 degrees south": (-72.0, -20.0),
    "over Greenwich": (51.5, -0.0004),
}


def at(place, fixes, turn=0.0):
    """The same flight somewhere else: WGS 84 radii computed here on their own, longitudes from -180 to 180."""
    latitude, longitude = np.radians(place)
    a, flat = 6378137.0, 1 / 298.257223563
    e2 = flat * (2 - flat)
    root_46 = np.sqrt(1 - e2 * np.sin(np.radians(46.0)) ** 2)
    north = (fixes.latitude - np.radians(46.0)) * a * (1 - e2) / root_46**3
    east = (fixes.longitude - np.radians(9.0)) * a / root_46 * np.cos(np.radians(46.0))
    # along the surface in small steps, each with the radii of where it is made
    step_north, step_east = np.diff(north, prepend=0.0), np.diff(east, prepend=0.0)
    here, there = np.empty(north.size), np.empty(north.size)
    for k, (up, right) in enumerate(zip(step_north, step_east, strict=True)):
        root = np.sqrt(1 - e2 * np.sin(latitude) ** 2)
        latitude += up / (a * (1 - e2) / root**3)
        longitude += right / (a / root * np.cos(latitude))
        here[k], there[k] = latitude, (longitude + np.pi) % (2 * np.pi) - np.pi
    moving = {} if fixes.computed.any() else {"ground_speed": fixes.ground_speed, "track": fixes.track}
    return build(fixes.time, here, there, fixes.altitude, pressure_altitude=fixes.pressure_altitude, **moving)


@pytest.mark.parametrize("writes_speed", [True, False])
@pytest.mark.parametrize("place", PLACES)
def test_the_same_numbers_all_over_the_world(place, writes_speed):
    rng = np.random.default_rng(6)
    made = take_off(rng, rotation=3.0, slope=0.0)
    home = Receiver(rate=2.0, writes_speed=writes_speed).fixes(made.truth, rng)
    away = at(PLACES[place], home)
    assert np.unique(away.piece).size == 1
    said = TrackEstimate(made.lift_off_speed, 0.3)
    (here,), (there,) = (takeoff_roll(fixes, lift_off_speed=said).chosen for fixes in (home, away))
    for name in here.values:
        assert there.values[name].value == pytest.approx(here.values[name].value, rel=2e-3, abs=2e-3)
    assert abs(there.values["roll"].value - made.roll) < 3 * there.values["roll"].standard_uncertainty


@pytest.mark.parametrize("place", PLACES)
def test_legs_from_positions_far_from_the_first_fix(place):
    """Speeds worked out 60 km away from where the track began: no convergence of meridians is mistaken for speed."""
    out = stretch(track=np.radians(45.0), seconds=1800.0)
    leg = stretch(track=np.radians(100.0), seconds=120.0)
    track = np.concatenate([out.track, np.radians(np.linspace(45, 100, int(20 / STEP))), leg.track])
    truth = flight(np.full(track.size, 50.0), track, np.zeros(track.size), 800.0)
    clean = Receiver(position=(0.001, 300.0), writes_speed=False).fixes(truth, np.random.default_rng(1))
    fixes = at(PLACES[place], clean)
    last = fixes.time > fixes.time[-1] - 100.0
    np.testing.assert_allclose(fixes.ground_speed[last], 50.0, rtol=1e-3)
    np.testing.assert_allclose(np.degrees(fixes.track[last]), 100.0, atol=0.05)


def test_a_path_keeps_its_length_wherever_it_leads():
    """Reference: geodesics on WGS 84, geographiclib (C. F. F. Karney, Journal of Geodesy 87 (2013) 43)."""
    geodesic = pytest.importorskip("geographiclib.geodesic").Geodesic.WGS84
    points = [(65.0, 179.0)]
    for _ in range(200):
        there = geodesic.Direct(*points[-1], 70.0, 500.0)
        points.append((there["lat2"], there["lon2"]))
    east, north = path_metres(*np.radians(np.array(points).T))
    np.testing.assert_allclose(np.hypot(np.diff(east), np.diff(north)), 500.0, rtol=1e-5)
    # a place that steps from one pole's side of a parallel: the step is taken at its own middle latitude
    np.testing.assert_allclose(np.degrees(np.arctan2(np.diff(east), np.diff(north))), 70.0, atol=0.01)


@pytest.mark.parametrize("height", [-400.0, 0.0])
def test_below_the_sea(height):
    climb = held([(30, 0.0), (4, 3.0), (120, 3.0), (4, 0.0), (30, 0.0)])
    truth = flight(np.full(climb.size, 32.0), np.full(climb.size, 1.0), climb, height)
    fixes = Receiver(height_step=1.0).fixes(truth, np.random.default_rng(7))
    (one,) = timed_climb(fixes, bottom=height + 100.0, top=height + 300.0).chosen
    first, last = one.start - BEGIN, one.end - BEGIN
    rate = (truth.at(last, "height") - truth.at(first, "height")) / (last - first)
    assert abs(one.values["rate of climb"].value - rate) < 3 * one.values["rate of climb"].standard_uncertainty
    assert one.values["from"].value == pytest.approx(height + 100.0, abs=3.0)
