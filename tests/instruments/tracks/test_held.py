"""A log that repeats a position over several rows: the one fix that it is, and a standstill stays one.

The truth is that of made-up flights; what is expected of the rows is counted here by hand.
"""

from __future__ import annotations

import numpy as np
import pytest
from made_tracks import BEGIN, Receiver, box_of_legs, take_off
from whole_flights import as_gpx, as_igc, as_nmea, see, whole_flight

from samesky.instruments.tracks import TrackEstimate, level_legs, read_track, takeoff_roll, timed_climb
from samesky.instruments.tracks.fixes import build
from samesky.instruments.tracks.readers.held import measured


def rows(stays, step=0.1):
    """Times and distances of rows: (rows, metres to the next position) of one stay after the other."""
    distance = np.concatenate([np.r_[np.zeros(count - 1), away] for count, away in stays])[:-1]
    return np.arange(distance.size + 1) * step, distance


def kept(stays, step=0.1, resolution=0.0):
    return np.flatnonzero(measured(*rows(stays, step), resolution)[0]).tolist()


def test_a_position_that_repeats_on_the_move_is_its_first_row():
    time, distance = rows([(10, 50.0)] * 6)
    found, interval = measured(time, distance, 0.0)
    assert np.flatnonzero(found).tolist() == [0, 10, 20, 30, 40, 50]
    assert interval == pytest.approx(1.0)


def test_a_standstill_goes_on_as_often_as_positions_come():
    # 5.3 s at one place, then rolling: the stay counts back from the moment at which it left
    assert kept([(53, 1.5), (10, 6.0), *[(10, 50.0)] * 4]) == [0, 3, 13, 23, 33, 43, 53, 63, 73, 83, 93]


def test_a_clock_that_leaps_makes_no_second_fix():
    time, distance = rows([(10, 50.0)] * 6)
    time[30:] += 3600.35
    assert np.flatnonzero(measured(time, distance, 0.0)[0]).tolist() == [0, 10, 20, 30, 40, 50]


def test_the_last_place_stays_where_the_aeroplane_came_to_rest():
    braking = [(10, 20.0), (10, 12.0), (10, 4.0), (10, 1.0), (30, 0.0)]
    assert kept(braking) == [0, 10, 20, 30, 40, 50, 60]
    # cut off in flight, the receiver lost: nothing more is known than its last fix
    assert kept([(10, 50.0)] * 4 + [(30, 0.0)]) == [0, 10, 20, 30, 40]


def test_a_place_held_in_flight_is_no_standstill():
    assert kept([*[(10, 50.0)] * 3, (30, 150.0), *[(10, 50.0)] * 3]) == [0, 10, 20, 30, 60, 70, 80]
    # one stale row in a sound log
    assert kept([(1, 50.0)] * 5 + [(2, 100.0)] + [(1, 50.0)] * 5, step=1.0) == [0, 1, 2, 3, 4, 5, 7, 8, 9, 10, 11]


def test_places_written_coarsely_are_measured_in_every_row():
    """Ten rows a second at 10 m/s, in steps of 1.85 m: every row was measured, most look like the one before."""
    east = np.round(np.arange(0.0, 600.0, 1.0) / 1.85) * 1.85
    time = np.arange(600) * 0.1
    assert measured(time, np.abs(np.diff(east)), 1.85)[0].all()
    assert kept([(1, 5.0)] * 8) == list(range(8))


def test_a_standing_log_is_left_alone():
    size = 200
    fixes = build(BEGIN + np.arange(size) * 0.1, np.full(size, 0.8), np.full(size, 0.1))
    assert len(fixes) == size


# ---- whole flights, as files ---------------------------------------------------------------------------------------


def held_for(seen, seconds):
    """The same log with each second's first reading in all of its rows."""
    turn = np.floor((seen.clock - seen.clock[0]) / seconds + 1e-6)
    first = np.searchsorted(turn, turn)
    for name in ("latitude", "longitude", "height", "pressure_altitude", "speed", "track"):
        setattr(seen, name, getattr(seen, name)[first])
    return seen


@pytest.fixture(scope="module")
def flown():
    rng = np.random.default_rng(20261125)
    truth = whole_flight(rng, 1)
    return truth, held_for(see(truth, rng, 10.0, dropouts=0, repeats=0, jump=0.0), 1.0)


WAYS = {
    "a.gpx": as_gpx,
    "b.gpx": lambda seen: as_gpx(seen, with_speed=False),
    "a.nmea": as_nmea,
    "a.igc": as_igc,
    "b.igc": lambda seen: as_igc(seen, with_speed=False),
}


@pytest.mark.parametrize("name", WAYS)
def test_every_kind_of_file_gives_its_climb_legs_and_roll(flown, tmp_path, name):
    truth, seen = flown
    (tmp_path / name).write_text(WAYS[name](seen), encoding="utf-8", newline="")
    fixes = read_track(tmp_path / name)
    assert np.median(np.diff(fixes.time)) == pytest.approx(1.0, abs=0.01)
    (said,) = [note for note in fixes.notes if "repeat the position before" in note]
    assert said.endswith("taken as the one fix that it is, and one comes every 1 s")
    legs = level_legs(fixes, expected=3, between=_from_to(truth, fixes)).chosen
    assert len(legs) == 3
    for leg in legs:
        inside = np.linspace(*seen.truly(np.array([leg.start, leg.end])), 100)
        speed = np.mean(truth.at(inside, "speed"))
        assert leg.values["ground speed"].value == pytest.approx(
            speed, abs=4 * leg.values["ground speed"].standard_uncertainty
        )
    assert timed_climb(fixes, between=_climb(truth)).chosen
    (roll,) = takeoff_roll(fixes, lift_off_speed=TrackEstimate(float(truth.at(truth.lifted, "speed")), 0.5)).chosen
    assert roll.values["roll"].value == pytest.approx(truth.roll, abs=4 * roll.values["roll"].standard_uncertainty)


def _from_to(truth, fixes):
    """From the end of the climb on: the speed is that of the legs."""
    fast = truth.time[truth.pressure_altitude > 990.0]
    return fixes.time[0] + fast[0] + 60.0, fixes.time[0] + fast[-1] + 60.0


def _climb(truth):
    high = truth.time[truth.pressure_altitude > 700.0]
    return 1_716_528_600.0 + high[0] - 20.0, 1_716_528_600.0 + high[0] + 200.0


def test_standing_still_and_rolling_is_found_as_without_repeats():
    for seed in range(5):
        made = take_off(np.random.default_rng([7, seed]))
        said = TrackEstimate(made.lift_off_speed, 0.3)
        found = [
            takeoff_roll(Receiver(**receiver).fixes(made.truth, np.random.default_rng([8, seed])), lift_off_speed=said)
            for receiver in ({"rate": 10.0, "held": 1.0}, {"rate": 10.0, "held": 1.0, "position": (0.0, 300.0)})
        ]
        for one in found:
            (roll,) = one.chosen
            assert roll.start == pytest.approx(BEGIN + made.released, abs=1.0)
            value = roll.values["roll"]
            assert value.value == pytest.approx(made.roll, abs=4 * value.standard_uncertainty)


def test_a_box_of_legs_is_not_cut_into_pieces():
    rng = np.random.default_rng(3)
    fixes = Receiver(rate=10.0, held=1.0, writes_speed=False).fixes(box_of_legs(rng), rng)
    assert set(fixes.piece) == {0}
    assert len(level_legs(fixes).chosen) == 4
