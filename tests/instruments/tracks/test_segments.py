"""Finding legs, climbs and take-offs: right where the track is clear, and silent about none where it is not."""

from __future__ import annotations

import numpy as np
import pytest
from made_tracks import BEGIN, STEP, Receiver, box_of_legs, flight, held, level_climb_level, take_off

from samesky.air.legs import airspeed_from_tracks
from samesky.instruments.tracks import TrackError, TrackEstimate, level_legs, takeoff_roll, timed_climb
from samesky.instruments.tracks.fixes import build
from samesky.instruments.tracks.segments.segments import rolling_line, stretches


def joined(*flights):
    """One flight after the other."""
    speed = np.concatenate([part.speed for part in flights])
    climb = np.concatenate([np.gradient(part.height, STEP) for part in flights])
    return flight(speed, np.concatenate([part.track for part in flights]), climb, flights[0].height[0])


def test_rolling_line_against_polyfit():
    rng = np.random.default_rng(1)
    time = np.sort(rng.uniform(0, 100, 80)) + 1.7e9
    values = rng.normal(size=80)
    piece = np.repeat([0, 1], 40)
    mean, slope = rolling_line(time, values, piece, 20.0)
    for at in (5, 20, 38, 39, 40, 60):
        near = (np.abs(time - time[at]) <= 10.0) & (piece == piece[at])
        tilt, level = np.polyfit(time[near] - time[at], values[near], 1)
        assert (slope[at], mean[at]) == pytest.approx((tilt, level), rel=1e-5)


def test_stretches_bridge_lapses_but_never_breaks():
    good = np.array([1, 1, 1, 0, 1, 1, 1, 1, 1, 0, 0, 0, 0, 1], dtype=bool)
    piece = np.array([0] * 7 + [1] * 7)
    assert stretches(good, np.arange(14.0), piece, bridge=2.0) == [(0, 6), (7, 8), (13, 13)]


def test_four_legs_give_airspeed_and_wind():
    rng = np.random.default_rng(2)
    truth = box_of_legs(rng, wind=6.0, airspeed=50.0)
    found = level_legs(Receiver(rate=1.0).fixes(truth, rng), expected=4)
    assert not found.ambiguous
    legs = [leg.values for leg in found.chosen]
    air = airspeed_from_tracks([v["ground speed"].value for v in legs], [v["track"].value for v in legs])
    assert air.tas == pytest.approx(50.0, abs=0.15)
    assert air.wind_speed == pytest.approx(6.0, abs=0.2)
    assert all(abs(v["altitude"].value - 800) < 5 for v in legs)
    assert any("speed noise" in line for line in found.assumptions)


def test_another_number_of_legs_than_expected_is_ambiguous():
    rng = np.random.default_rng(2)
    fixes = Receiver().fixes(box_of_legs(rng), rng)
    found = level_legs(fixes, expected=3)
    assert found.ambiguous
    assert found.chosen == ()
    assert len(found.candidates) == 4
    assert found.reason.startswith("4 level legs found, 3 expected")
    last = found.candidates[1]
    again = level_legs(fixes, expected=2, between=(fixes.time[0], last.end + 5))
    assert not again.ambiguous


def test_legs_at_two_heights_are_two_sets():
    rng = np.random.default_rng(4)
    low, high = box_of_legs(rng, tracks=(0.5, 2.5)), box_of_legs(rng, tracks=(0.5, 2.5))
    size = int(60 / STEP)
    up = flight(np.full(size, 50.0), np.full(size, 2.5), held([(5, 0), (50, 3.0), (5, 0)])[:size])
    fixes = Receiver().fixes(joined(low, up, high), rng)
    found = level_legs(fixes)
    assert found.ambiguous
    assert "more than one set" in found.reason
    assert len(found.candidates) == 4
    assert not level_legs(fixes, between=(0, BEGIN + low.time[-1])).ambiguous


def test_a_slow_turn_is_no_leg():
    track = np.linspace(0, np.radians(0.4 * 120), int(120 / STEP))
    fixes = Receiver().fixes(flight(np.full(track.size, 50.0), track, np.zeros(track.size)), np.random.default_rng(1))
    found = level_legs(fixes, expected=1)
    assert found.ambiguous
    assert "a slow turn, no leg" in found.reason
    assert found.candidates[0].values == {}


def test_more_scatter_than_stated_widens_and_is_said():
    rng = np.random.default_rng(3)
    truth = box_of_legs(rng, tracks=(0.5,), leg=90.0)
    rough = level_legs(Receiver(speed=(0.6, 5.0)).fixes(truth, rng), greatest_change=3.0).chosen[0]
    assert any("scatters" in note for note in rough.notes)
    assert rough.values["ground speed"].standard_uncertainty > 0.05


def test_timed_climb_between_two_heights():
    rng = np.random.default_rng(5)
    climb = held([(30, 0.0), (4, 4.0), (120, 3.2), (4, 0.0), (30, 0.0)])
    truth = flight(np.full(climb.size, 32.0), np.zeros(climb.size), climb, 300.0)
    found = timed_climb(Receiver().fixes(truth, rng), bottom=400.0, top=600.0)
    (segment,) = found.chosen
    crossing = np.interp([400.0, 600.0], truth.height, truth.time)
    assert segment.values["elapsed"].value == pytest.approx(np.diff(crossing)[0], abs=1.5)
    assert segment.values["gain"].value == pytest.approx(200.0, abs=3.0)
    assert segment.values["rate of climb"].value == pytest.approx(200 / np.diff(crossing)[0], abs=0.06)


def test_two_climbs_through_the_same_heights_are_ambiguous():
    rng = np.random.default_rng(6)
    once = [(20, 0.0), (3, 3.0), (90, 3.0), (3, 0.0), (20, 0.0), (3, -4.0), (66, -4.0), (3, 0.0)]
    climb = held(once + once)
    truth = flight(np.full(climb.size, 35.0), np.zeros(climb.size), climb, 300.0)
    fixes = Receiver().fixes(truth, rng)
    found = timed_climb(fixes, bottom=350.0, top=500.0)
    assert found.ambiguous
    assert found.chosen == ()
    assert len(found.candidates) == 2
    assert len(timed_climb(fixes, bottom=350.0, top=500.0, expected=2).chosen) == 2
    assert len(timed_climb(fixes, bottom=350.0, top=500.0, between=(0, BEGIN + truth.time[-1] / 2)).chosen) == 1
    none = timed_climb(fixes, bottom=350.0, top=900.0)
    assert none.ambiguous
    assert "no climb covers the two heights" in none.reason


def test_climb_by_satellite_says_that_heights_are_geometric():
    rng = np.random.default_rng(7)
    found = timed_climb(Receiver(barometer=False).fixes(level_climb_level(rng), rng))
    assert any("geometric" in line for line in found.assumptions)


def test_climb_needs_heights_and_sense():
    rng = np.random.default_rng(7)
    fixes = Receiver().fixes(level_climb_level(rng), rng)
    with pytest.raises(TrackError, match="Give both"):
        timed_climb(fixes, bottom=500.0)
    fixes.pressure_altitude[3] = np.nan
    with pytest.raises(TrackError, match="without a height"):
        timed_climb(fixes)


@pytest.mark.parametrize("rate", [1.0, 10.0])
@pytest.mark.parametrize("stated", [True, False])
def test_take_off_roll(rate, stated):
    rng = np.random.default_rng(8)
    made = take_off(rng, rotation=3.0, slope=0.0)
    speed = TrackEstimate(made.lift_off_speed, 0.3) if stated else None
    # It rises from where the wheels leave.
    at_once = TrackEstimate(0.0, 0.0)
    found = takeoff_roll(Receiver(rate=rate).fixes(made.truth, rng), lift_off_speed=speed, held_low=at_once)
    (segment,) = found.chosen
    roll = segment.values["roll"]
    assert abs(roll.value - made.roll) < 3 * roll.standard_uncertainty
    assert 0.5 < roll.standard_uncertainty < 20
    assert np.degrees(segment.values["track"].value) == pytest.approx(np.degrees(2.2), abs=1.0)
    assert segment.start - BEGIN == pytest.approx(made.released, abs=0.3)


def test_a_take_off_broken_off_is_listed_not_chosen():
    rng = np.random.default_rng(9)
    size = int(60 / STEP)
    aborted = flight(
        held([(20, 0.0), (9, 20.0), (15, 0.0), (16, 0.0)])[:size], np.full(size, 2.2), np.zeros(size), 120.0
    )
    made = take_off(rng)
    fixes = Receiver(height=(0.3, 300.0, 0.05)).fixes(joined(aborted, made.truth), rng)
    found = takeoff_roll(fixes, lift_off_speed=TrackEstimate(made.lift_off_speed, 0.5))
    assert len(found.chosen) == 1
    assert len(found.candidates) == 2
    assert "broken off" in found.candidates[0].notes[0]
    assert found.chosen[0].start - BEGIN == pytest.approx(60 + made.released, abs=0.5)


def test_two_take_offs_are_ambiguous_unless_expected():
    rng = np.random.default_rng(10)
    one, two = take_off(rng), take_off(rng)
    down = held([(10, 30.0), (20, 20.0), (20, 0.0), (10, 0.0)])
    climb = held([(10, -3.0), (20, -3.0), (20, 0.0), (10, 0.0)])
    landing = flight(down, np.full(down.size, 2.2), climb[: down.size])
    fixes = Receiver().fixes(joined(one.truth, landing, two.truth), rng)
    found = takeoff_roll(fixes)
    assert found.ambiguous
    assert found.chosen == ()
    assert len(takeoff_roll(fixes, expected=2, lift_off_speed=TrackEstimate(19.0, 0.5)).chosen) == 2


def test_a_touch_and_go_has_no_roll():
    rng = np.random.default_rng(11)
    speed = held([(20, 35.0), (10, 12.0), (8, 32.0), (40, 35.0)])
    climb = held([(10, -2.0), (10, 0.0), (18, 0.0), (4, 3.0), (36, 3.0)])[: speed.size]
    fixes = Receiver().fixes(flight(speed, np.full(speed.size, 1.0), climb, 160.0), rng)
    found = takeoff_roll(fixes)
    assert found.ambiguous
    assert "touch-and-go" in found.candidates[0].notes[0]


def test_without_heights_the_lift_off_speed_is_asked_for():
    rng = np.random.default_rng(12)
    fixes = Receiver().fixes(take_off(rng).truth, rng)
    fixes.pressure_altitude[:] = np.nan
    found = takeoff_roll(fixes)
    assert found.ambiguous
    assert "give the lift-off speed" in found.reason
    assert not takeoff_roll(fixes, lift_off_speed=TrackEstimate(20.0, 0.5)).ambiguous


def test_positions_that_contradict_the_speeds_are_told():
    rng = np.random.default_rng(13)
    made = take_off(rng)
    clock, latitude, longitude, height, speed, track = Receiver().see(made.truth, rng)
    # speeds half as high again as the positions say
    fixes = build(clock, latitude, longitude, pressure_altitude=height, ground_speed=1.5 * speed, track=track)
    found = takeoff_roll(fixes, lift_off_speed=TrackEstimate(1.5 * made.lift_off_speed, 0.5))
    assert any("one of them is wrong" in note for note in found.candidates[0].notes)
