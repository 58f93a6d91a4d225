"""Landing rolls: from the touch-down to a standstill, or the reason why there is none."""

from __future__ import annotations

import numpy as np
import pytest
from made_tracks import BEGIN, STEP, Receiver, flight, held, landing, take_off

from samesky.instruments.tracks import TrackEstimate, landing_roll, takeoff_roll
from samesky.instruments.tracks.segments.landing_segment import turned_round


def found_in(made, rng, said=0.3, **receiver):
    speed = TrackEstimate(made.touch_down_speed, said) if said else None
    return landing_roll(Receiver(**receiver).fixes(made.truth, rng), touch_down_speed=speed)


@pytest.mark.parametrize("rate", [1.0, 10.0])
def test_a_landing_whose_speed_at_touch_down_is_told(rate):
    rng = np.random.default_rng(8)
    made = landing(rng, held_off=2.0, slope=0.0)
    found = found_in(made, rng, rate=rate)
    (one,) = found.chosen
    roll = one.values["roll"]
    assert abs(roll.value - made.roll) < 3 * roll.standard_uncertainty
    assert 1.0 < roll.standard_uncertainty < 20
    assert one.values["touch-down time"].value - BEGIN == pytest.approx(made.touched, abs=1.0)
    assert one.end - BEGIN == pytest.approx(made.stood, abs=0.5)
    assert one.start == one.values["touch-down time"].value
    assert np.degrees(one.values["track"].value) == pytest.approx(np.degrees(2.2), abs=1.0)
    assert any("falls through" in line for line in found.assumptions)


def test_heights_alone_do_not_tell_and_the_pilot_is_told_so():
    rng = np.random.default_rng(9)
    made = landing(rng)
    found = found_in(made, rng, said=None)
    assert found.chosen == ()
    assert "too little to compare; say the ground speed at touch-down" in found.reason
    (one,) = found.candidates
    assert "too little to compare" in one.notes[-1]
    time = one.values["touch-down time"]
    assert time.standard_uncertainty >= 2.0, "how long it was held off shows in no height"
    assert abs(time.value - BEGIN - made.touched) < 3 * time.standard_uncertainty
    assert any("shows in no height" in line for line in found.assumptions)


@pytest.mark.parametrize(
    ("ends", "says"), [("taxying", "no standstill, slowest at"), ("turning", "it left the strip rolling")]
)
@pytest.mark.parametrize("writes_speed", [True, False])
def test_a_landing_that_does_not_end_in_a_standstill_on_the_strip(ends, says, writes_speed):
    for case in range(8):
        rng = np.random.default_rng([4, case])
        found = found_in(landing(rng, ends=ends), rng, rate=2.0, writes_speed=writes_speed)
        assert found.chosen == ()
        assert says in found.reason
        assert says in found.candidates[0].notes[0]


@pytest.mark.parametrize(
    ("after", "says"),
    [
        ([(12, 20.0), (8, 4.0), (20, 4.0), (3, 0.0), (20, 0.0)], "for some seconds before it stood"),
        ([(12, 20.0), (8, 4.0), (120, 4.0), (3, 0.0), (20, 0.0)], "more than 90 s between 15 m/s and standing"),
        ([(12, 20.0), (8, 1.3), (20, 1.3)], "crept on at 1."),
    ],
)
def test_a_roll_that_goes_on_before_it_stands(after, says):
    speed = held([(40, 30.0), *after])
    climb = held([(40, -3.0), (6, 0.0), (speed.size * STEP - 40, 0.0)])[: speed.size]
    fixes = Receiver().fixes(flight(speed, np.full(speed.size, 1.0), climb, 300.0), np.random.default_rng(2))
    found = landing_roll(fixes, touch_down_speed=TrackEstimate(19.0, 0.5))
    assert found.chosen == ()
    assert says in found.reason


def test_a_touch_and_go_is_neither():
    rng = np.random.default_rng(11)
    speed = held([(40, 35.0), (10, 12.0), (8, 32.0), (40, 35.0)])
    climb = held([(30, -2.0), (10, 0.0), (18, 0.0), (4, 3.0), (36, 3.0)])[: speed.size]
    fixes = Receiver().fixes(flight(speed, np.full(speed.size, 1.0), climb, 260.0), rng)
    for find in (landing_roll, takeoff_roll):
        found = find(fixes)
        assert found.chosen == ()
        assert "touch-and-go" in found.reason


def test_fast_taxying_is_no_landing():
    for barometer in (True, False):
        speed = held([(20, 0.0), (12, 20.0), (10, 20.0), (10, 0.0), (20, 0.0)])
        fixes = Receiver(height=(0.3, 300.0, 0.05)).fixes(
            flight(speed, np.full(speed.size, 1.0), np.zeros(speed.size), 120.0), np.random.default_rng(3)
        )
        if not barometer:
            fixes.pressure_altitude[:] = np.nan
        found = landing_roll(fixes, touch_down_speed=TrackEstimate(17.0, 0.5))
        assert found.chosen == ()
        assert "fast taxying" in found.reason


def test_take_off_and_landing_of_one_flight_are_told_apart():
    rng = np.random.default_rng(12)
    up, down = take_off(rng), landing(rng, held_off=1.0)
    ramp = held([(10, up.truth.speed[-1]), (10, down.truth.speed[0])])
    between = flight(ramp, np.full(ramp.size, 2.2), held([(10, 3.0), (10, -3.0)])[: ramp.size])
    parts = (up.truth, between, down.truth)
    climb = np.concatenate([np.gradient(part.height, STEP) for part in parts])
    truth = flight(np.concatenate([p.speed for p in parts]), np.concatenate([p.track for p in parts]), climb, 120.0)
    fixes = Receiver().fixes(truth, rng)
    (roll,) = takeoff_roll(fixes, lift_off_speed=TrackEstimate(up.lift_off_speed, 0.3)).chosen
    (run,) = landing_roll(fixes, touch_down_speed=TrackEstimate(down.touch_down_speed, 0.3)).chosen
    assert roll.end < run.start
    later = up.truth.time[-1] + between.time[-1] + 2 * STEP
    assert run.values["touch-down time"].value - BEGIN - later == pytest.approx(down.touched, abs=1.0)


def test_a_track_turned_round_twice_is_the_same():
    rng = np.random.default_rng(13)
    fixes = Receiver(dropouts=2).fixes(landing(rng).truth, rng)
    fixes.piece[len(fixes) // 2 :] += 1
    again = turned_round(turned_round(fixes))
    for name in ("time", "latitude", "ground_speed", "track", "piece"):
        np.testing.assert_array_equal(getattr(again, name), getattr(fixes, name))
    assert (np.diff(turned_round(fixes).time) > 0).all()


def test_a_landing_uphill_is_no_landing_downhill():
    """A strip that rises by 3 %: half a metre in a second, as much as the end of a flare. Its slope has to be told."""
    told, mistaken = [], []
    for case in range(12):
        rng = np.random.default_rng([14, case])
        made = landing(rng, held_off=2.0, slope=0.03)
        fixes = Receiver(height=(0.1, 300.0, 0.02), rate=2.0).fixes(made.truth, rng)
        for slope, off in ((0.03, told), (-0.03, mistaken)):
            (one,) = landing_roll(fixes, slope=TrackEstimate(slope, 0.002)).candidates
            if one.values:
                off.append(one.values["touch-down time"].value - BEGIN - made.touched)
    assert abs(np.mean(told)) < 0.4
    assert not mistaken or abs(np.mean(mistaken)) > 0.6
