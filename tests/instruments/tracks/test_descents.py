"""Descents at idle: right where the pilot says when, and never a powered approach in silence."""

from __future__ import annotations

import numpy as np
import pytest
from made_tracks import BEGIN, STEP, Receiver, flight, held

from samesky.instruments.tracks import TrackError, idle_descent

#: Level, down at 5 m/s, level: the descent is from 30 s to 108 s, through 400 m.
DOWN = [(30, 0.0), (4, -5.0), (70, -5.0), (4, 0.0), (30, 0.0)]


def seen(parts, rng=None, speed=40.0, **receiver):
    climb = held(parts)
    truth = flight(np.full(climb.size, speed), np.full(climb.size, 0.7), climb, 1000.0)
    return truth, Receiver(**receiver).fixes(truth, np.random.default_rng(1) if rng is None else rng)


def times(first, last):
    return BEGIN + first, BEGIN + last


def test_between_times_told_it_is_chosen():
    truth, fixes = seen(DOWN)
    found = idle_descent(fixes, between=times(25, 115))
    (one,) = found.chosen
    assert one.kind == "descent"
    first, last = one.start - BEGIN, one.end - BEGIN
    way = truth.at(first, "height") - truth.at(last, "height")
    assert one.values["rate of descent"].value == pytest.approx(way / (last - first), abs=0.05)
    assert one.values["loss"].value == pytest.approx(way, abs=3.0)
    assert one.values["from"].value > one.values["to"].value
    assert any("no track shows the throttle" in line for line in found.assumptions)


def test_between_two_heights():
    truth, fixes = seen(DOWN)
    (one,) = idle_descent(fixes, top=900.0, bottom=700.0, between=times(25, 115)).chosen
    crossing = np.interp([-900.0, -700.0], -truth.height, truth.time)
    assert one.values["elapsed"].value == pytest.approx(np.diff(crossing)[0], abs=1.5)
    assert [one.values[end].value for end in ("from", "to")] == pytest.approx([900.0, 700.0], abs=3.0)
    none = idle_descent(fixes, top=900.0, bottom=300.0, between=times(25, 115))
    assert none.chosen == ()
    assert "no descent covers the two heights; there are descents from 1000 to 631 m" in none.reason


def test_without_times_nothing_is_chosen_and_what_to_say_is_said():
    found = idle_descent(seen(DOWN)[1])
    assert found.ambiguous
    assert found.chosen == ()
    assert len(found.candidates) == 1
    assert "a powered approach looks the same: say between which times the throttle was closed" in found.reason


def test_a_powered_approach_in_wide_times_is_not_taken():
    """The pilot names the whole hour; what is in it is an approach with power, and no descent at idle."""
    _, fixes = seen([(900, 0.0), (4, -2.5), (150, -2.5), (4, 0.0), (900, 0.0)])
    found = idle_descent(fixes, between=(fixes.time[0], fixes.time[-1]))
    assert found.chosen == ()
    assert "minutes beside: too many to tell a descent at idle from a powered one" in found.reason
    assert len(idle_descent(fixes, between=times(880, 1080)).chosen) == 1


def test_idle_and_power_among_those_counted_are_told_apart_by_their_sink():
    _, fixes = seen([*DOWN, (4, -2.5), (130, -2.5), (4, 0.0), (30, 0.0)])
    found = idle_descent(fixes, expected=2, between=(fixes.time[0], fixes.time[-1]))
    assert found.chosen == ()
    assert "at one idle setting they should sink alike" in found.reason
    alike = seen(DOWN + DOWN[1:])[1]
    assert len(idle_descent(alike, expected=2, between=(alike.time[0], alike.time[-1])).chosen) == 2


@pytest.mark.parametrize("barometer", [True, False])
def test_a_level_off_or_power_on_the_way_is_no_steady_descent(barometer):
    noise = {} if barometer else {"barometer": False, "height": (13.0 / 1.959964, 300.0, 0.0)}
    for pause in ([(2, 0.0), (6, 0.0), (2, -5.0)], [(2, -1.5), (20, -1.5), (2, -5.0)]):
        parts = [(30, 0.0), (4, -5.0), (50, -5.0), *pause, (50, -5.0), (4, 0.0), (30, 0.0)]
        fixes = seen(parts, np.random.default_rng(3), **noise)[1]
        found = idle_descent(fixes, between=(fixes.time[0], fixes.time[-1]))
        assert found.chosen == ()
        assert "not one steady descent" in found.reason
        assert found.candidates[0].values == {}


def test_height_made_of_speed_is_told():
    climb = held(DOWN)
    speed = np.interp(np.arange(climb.size) * STEP, [30.0, 108.0], [50.0, 35.0])
    truth = flight(speed, np.full(climb.size, 0.7), climb, 1000.0)
    fixes = Receiver().fixes(truth, np.random.default_rng(1))
    (one,) = idle_descent(fixes, between=times(25, 115)).chosen
    assert any("give entry and exit airspeed" in note for note in one.notes)


def test_the_mirrored_climb_gives_the_same_numbers():
    """One track turned upside down: the climb finder has to find the same rate in it."""
    from dataclasses import replace

    from samesky.instruments.tracks import timed_climb

    _, fixes = seen(DOWN)
    (down,) = idle_descent(fixes, between=times(0, 200)).chosen
    (up,) = timed_climb(replace(fixes, pressure_altitude=-fixes.pressure_altitude)).chosen
    assert (up.start, up.end) == (down.start, down.end)
    assert up.values["rate of climb"] == down.values["rate of descent"]
    assert up.values["gain"] == down.values["loss"]


def test_a_descent_needs_heights_and_sense():
    _, fixes = seen(DOWN)
    with pytest.raises(TrackError, match="Give both"):
        idle_descent(fixes, top=500.0)
    with pytest.raises(TrackError, match="Give both"):
        idle_descent(fixes, top=500.0, bottom=600.0)
    fixes.pressure_altitude[3] = np.nan
    with pytest.raises(TrackError, match="A descent needs the height"):
        idle_descent(fixes)
