"""Legs of several runs in one flight: put together where they belong together, asked back where that is open."""

from __future__ import annotations

import numpy as np
import pytest
from made_tracks import Receiver, box_of_legs, flight

from samesky.instruments.tracks import level_legs
from samesky.instruments.tracks.noise import TrackEstimate
from samesky.instruments.tracks.segments.leg_sets import choose_sets, leg_sets, why_not
from samesky.instruments.tracks.segments.segments import Found, Segment


def leg(start, track, height=800.0, length=60.0):
    values = {"ground speed": TrackEstimate(50.0, 0.05), "track": TrackEstimate(np.radians(track), 0.001)}
    return Segment("level leg", start, start + length, values | {"altitude": TrackEstimate(height, 1.0)})


def found(*legs):
    return Found(tuple(legs), tuple(legs), False, "", ())


FIRST = [leg(0, 0), leg(120, 120), leg(240, 240)]
SECOND = [leg(900, 10), leg(1020, 130), leg(1140, 250)]


def test_a_long_pause_and_another_height_begin_a_new_set():
    assert [len(one) for one in leg_sets(FIRST + SECOND)] == [3, 3]
    higher = [leg(360, 0, 900.0), leg(480, 120, 900.0)]
    assert [len(one) for one in leg_sets(FIRST + higher)] == [3, 2]


def test_all_sets_are_taken_only_where_they_are_as_many_as_were_flown():
    sets, said = choose_sets(found(*FIRST, *SECOND), expected=2)
    assert [one[0].start for one in sets] == [0, 900]
    assert said == "2 sets of level legs found (3, 3 legs), as expected"
    sets, said = choose_sets(found(*FIRST, *SECOND), expected=1)
    assert sets == []
    assert "1 expected: give the times" in said


def test_a_leg_on_the_way_is_named_and_not_taken():
    sets, said = choose_sets(found(*FIRST, leg(600, 77, 400.0), *SECOND), expected=2)
    assert len(sets) == 2
    assert said.endswith("1 single leg goes with none")


@pytest.mark.parametrize(
    ("legs", "expected", "wanted", "says"),
    [
        ([*FIRST, leg(360, 300), *SECOND], 2, None, "not the same number each"),
        ([*FIRST, leg(360, 300)], 1, 3, "3 legs each expected"),
        ([leg(0, 0), leg(120, 10), leg(240, 20)], 1, None, "too close together"),
        ([leg(0, 0), leg(120, 90)], 1, None, "reciprocal"),
        ([leg(0, 0)], 1, None, "0 sets"),
        ([leg(120 * k, 40 * k) for k in range(9)], 1, None, "9 legs in a row"),
    ],
)
def test_what_is_open_is_asked(legs, expected, wanted, says):
    sets, said = choose_sets(found(*legs), expected, wanted)
    assert sets == []
    assert says in said


def test_two_reciprocal_legs_are_a_run():
    assert why_not([leg(0, 350), leg(120, 172)]) == ""
    assert why_not([leg(0, 350)]) != ""


def test_a_stretch_that_is_no_leg_is_left_aside_and_named():
    """Gathering speed on the way to the first leg: it stands among the candidates, and in no set."""
    legs = box_of_legs(np.random.default_rng(3), tracks=(0.9, 3.0, 5.0), wind=0.0, airspeed=50.0)
    turn = np.linspace(0.1, 0.9, 800)
    way = np.r_[np.full(4500, 0.1), turn, legs.track]
    speed = np.r_[np.linspace(44.0, 50.0, 4500), np.full(turn.size, 50.0), legs.speed]
    truth = flight(speed, way, np.zeros(speed.size), 800.0)
    found = level_legs(Receiver().fixes(truth, np.random.default_rng(4)))
    assert found.chosen == ()
    assert "1 of 4 is no level leg" in found.reason
    sets, said = choose_sets(found, 1)
    assert [len(one) for one in sets] == [3]
    assert "1 left aside, such as one where the ground speed goes from 44." in said


def rounds(*tracks, pause=60.0):
    return [leg((60.0 + pause) * k, track) for k, track in enumerate(tracks)]


BOX = (5, 95, 185, 275)


@pytest.mark.parametrize(
    ("tracks", "expected", "wanted", "sizes"),
    [
        (BOX * 2, 2, None, [4, 4]),
        (BOX * 2, 2, 4, [4, 4]),
        ((*BOX, *reversed(BOX)), 2, None, [4, 4]),
        ((5, 97, 183, 276, 8, 93, 187, 273), 2, None, [4, 4]),
        ((0, 120, 240) * 2, 2, None, [3, 3]),
        ((80, 260) * 2, 2, None, [2, 2]),
        ((80, 260) * 3, 3, 2, [2, 2, 2]),
        (BOX * 2, 1, 8, [8]),
        (BOX, 1, None, [4]),
        ((0, 45, 90, 135, 180, 225, 270, 315), 1, None, [8]),
    ],
)
def test_sets_flown_one_after_the_other(tracks, expected, wanted, sizes):
    legs = rounds(*tracks)
    sets, said = choose_sets(found(*legs), expected, wanted)
    assert [len(one) for one in sets] == sizes, said
    assert [one for piece in sets for one in piece] == legs
    assert f"{len(sizes)} set" in said


def test_rounds_of_which_one_run_was_asked_for_are_asked_back():
    sets, said = choose_sets(found(*rounds(*BOX * 2)), expected=1)
    assert sets == []
    assert "begin anew after 4: 2 sets of 4, or one of 8" in said


def test_tracks_that_do_not_begin_anew_are_no_rounds():
    sets, said = choose_sets(found(*rounds(0, 45, 90, 135, 180, 225, 270, 315)), expected=2)
    assert sets == []
    assert "2 expected" in said
