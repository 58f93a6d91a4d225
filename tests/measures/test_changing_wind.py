"""A wind that changes while a set of legs is flown: taken out where the legs tell it, in the budget where they do not.

The legs are flown here by vectors: a heading that holds the track in the wind of that leg, and the length of the sum.
"""

from __future__ import annotations

import numpy as np
import pytest

from samesky.air import legs
from samesky.instruments.sources import ErrorSource
from samesky.measures import MEASURES
from samesky.measures.sensitivity import reduce_runs, sensitivities
from samesky.measures.speeds import ASSUMED, EAST, LEG_SCATTER, NORTH, WIND_CHANGE, from_legs

LEVEL = MEASURES["level_speed"]
#: Tracks [deg] in the order flown.
SETS = {
    "two": (70, 250),
    "three": (10, 130, 250),
    "box": (20, 110, 200, 290),
    "five": (0, 144, 288, 72, 216),
    "box and back": (20, 110, 200, 290, 290, 200, 110, 20),
    "two boxes": (20, 110, 200, 290, 20, 110, 200, 290),
}


def ground_speed(airspeed, wind, track):
    """Ground speed [m/s] on each track [rad]: the wind triangle. ``wind`` (..., legs, 2) blows towards east, north."""
    ahead = np.stack([np.sin(track), np.cos(track)], axis=-1)
    right = np.stack([np.cos(track), -np.sin(track)], axis=-1)
    crab = np.arcsin(-(wind * right).sum(axis=-1) / airspeed)
    heading = track + crab
    sum_of_both = airspeed[..., None] * np.stack([np.sin(heading), np.cos(heading)], axis=-1) + wind
    across = (sum_of_both * right).sum(axis=-1)
    assert np.allclose(across, 0.0, atol=1e-9)
    return (sum_of_both * ahead).sum(axis=-1)


def flown(name, change, count=1, seed=1, scatter=0.0):
    """Airspeeds, ground speeds and tracks (count, legs), in a wind to which each leg adds ``change`` (count, 2)."""
    rng = np.random.default_rng(seed)
    track = np.broadcast_to(np.radians(SETS[name]), (count, len(SETS[name])))
    wind = rng.uniform(-6, 6, (count, 1, 2)) + np.arange(track.shape[1])[:, None] * np.reshape(change, (-1, 1, 2))
    if name == "two":
        # Out and back along one line know nothing of a crosswind.
        along = np.stack([np.sin(track[:, :1]), np.cos(track[:, :1])], axis=-1)
        wind = (wind * along).sum(axis=-1, keepdims=True) * along
    airspeed = rng.uniform(40, 60, (count, 1))
    return airspeed[:, 0], ground_speed(airspeed, wind, track) + scatter * rng.standard_normal(track.shape), track


@pytest.mark.parametrize("name", SETS)
def test_in_a_steady_wind_the_airspeed_is_exact(name):
    airspeed, speed, track = flown(name, np.zeros((50, 2)), 50)
    assert from_legs(speed, track) == pytest.approx(airspeed, abs=1e-6)


def test_the_steady_answer_of_three_legs_stays_what_it_was():
    _, speed, track = flown("three", np.full((20, 2), 0.3), 20)
    assert from_legs(speed, track) == pytest.approx(legs.airspeed_from_tracks(speed, track).tas, abs=1e-6)


def test_a_change_that_the_legs_tell_is_taken_out():
    change = np.array([[0.4, -0.3]])
    for name, left in (("two boxes", 0.3), ("five", 0.8)):
        airspeed, speed, track = flown(name, change)
        steady = legs.airspeed_from_tracks(speed, track).tas
        assert abs(from_legs(speed, track) - airspeed) < left * abs(steady - airspeed)
        assert abs(steady - airspeed) > 0.03


def test_a_known_change_is_taken_out_of_any_set():
    for name in SETS:
        airspeed, speed, track = flown(name, np.array([[0.4, -0.3]]))
        assert from_legs(speed, track, (0.4, -0.3)) == pytest.approx(airspeed, abs=2e-3)


def test_out_and_back_in_the_reverse_order_it_cancels():
    airspeed, speed, track = flown("box and back", np.array([[0.4, -0.3]]))
    assert from_legs(speed, track) == pytest.approx(airspeed, abs=0.02)
    box = flown("box", np.array([[0.4, -0.3]]))
    assert abs(from_legs(*box[1:]) - box[0]) > 0.1


def test_a_leg_that_was_not_flown_takes_no_time():
    _, speed, track = flown("five", np.array([[0.4, -0.3]]))
    more = [np.insert(one, 5, np.nan, axis=-1) for one in (speed, track)]
    assert from_legs(*more) == pytest.approx(from_legs(speed, track), abs=1e-9)


def runs_of(speed, track):
    runs = {f"speed {k + 1}": speed[:, k] for k in range(speed.shape[1])}
    runs |= {f"track {k + 1}": track[:, k] for k in range(speed.shape[1])}
    return runs | {"altitude": np.full(len(speed), 600.0)}


def stated(speed, track):
    """Reduced airspeeds, and their standard uncertainty from the scatter of the legs and the change of the wind."""
    runs = runs_of(speed, track)
    own = [
        ErrorSource(f"leg {k + 1}", f"speed {k + 1}", LEG_SCATTER, "run", "as simulated") for k in range(speed.shape[1])
    ]
    effects = {source.name: size for source, size in sensitivities(LEVEL, runs, {}, own)}
    return reduce_runs(LEVEL, runs, {})[-1].value, effects


@pytest.mark.parametrize("name", SETS)
def test_the_stated_uncertainty_covers_it(name):
    """Changes and scatter drawn as large as assumed: 95 % of the intervals hold the airspeed, and none is too wide."""
    count = 4000
    change = WIND_CHANGE * np.random.default_rng(7).standard_normal((count, 2))
    airspeed, speed, track = flown(name, change, count, seed=8, scatter=LEG_SCATTER)
    value, effects = stated(speed, track)
    z = (value - airspeed) / np.sqrt(np.sum(np.square(list(effects.values())), axis=0))
    assert np.mean(np.abs(z) <= 1.959964) == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / count))
    assert np.std(z) == pytest.approx(1.0, abs=4 / np.sqrt(2 * count))


def test_eight_legs_are_better_for_it():
    """Mean square error against the answer in a steady wind, changes and scatter as assumed and twice as large."""
    for factor in (1.0, 2.0):
        change = factor * WIND_CHANGE * np.random.default_rng(9).standard_normal((4000, 2))
        airspeed, speed, track = flown("two boxes", change, 4000, seed=10, scatter=LEG_SCATTER)
        ours, steady = from_legs(speed, track), legs.airspeed_from_tracks(speed, track).tas
        assert np.mean((ours - airspeed) ** 2) < np.mean((steady - airspeed) ** 2)


def test_what_is_left_is_in_the_budget():
    """By hand, a box flown north, east, south, west: half a change of either component, in the mean of two pairs."""
    north = np.radians([[0.0, 90.0, 180.0, 270.0]])
    speed = np.full((1, 4), 50.0)
    box = stated(speed, north)[1]
    # Legs two apart differ by twice the change, so a pair's mean is off by it; both pairs count half.
    plain = 0.5 * WIND_CHANGE
    assert 0.5 * plain < abs(box[EAST][0]) <= plain + 1e-6
    assert 0.5 * plain < abs(box[NORTH][0]) <= plain + 1e-6
    there_and_back = stated(np.full((1, 8), 50.0), np.concatenate([north, north[:, ::-1]], axis=-1))[1]
    for name in (EAST, NORTH):
        assert abs(there_and_back.get(name, np.zeros(1))[0]) < 1e-6
    pair = stated(np.full((1, 2), 50.0), np.radians([[0.0, 180.0]]))[1]
    assert abs(pair[NORTH][0]) == pytest.approx(0.5 * WIND_CHANGE)
    assert abs(pair.get(EAST, np.zeros(1))[0]) < 1e-9


def test_a_run_by_the_airspeed_indicator_has_none_of_it():
    runs = {"altitude": np.full(3, 600.0), "airspeed": np.full(3, 50.0), "oat": np.full(3, 285.0)}
    assert not {EAST, NORTH} & {source.name for source, _ in sensitivities(LEVEL, runs, {}, [])}


@pytest.mark.parametrize("turn", [90.0, 120.0])
@pytest.mark.parametrize(("count", "least", "most"), [(3, 0.99, 1.01), (4, 0.99, 1.01), (5, 0.05, 0.9), (8, 0.02, 0.5)])
def test_what_is_said_of_a_changing_wind_is_true_of_the_legs(turn, count, least, most):
    """Ground speeds by the triangle of velocities (law of cosines), a change drawn for each run; the share of its error
    in a steady wind's solution that is left."""
    rng = np.random.default_rng(6)
    track = np.radians(turn) * np.arange(count)
    tau = np.arange(count) - (count - 1) / 2
    change = WIND_CHANGE * rng.standard_normal((300, 2, 1))
    east, north = 2.0 + tau * change[:, 0], 3.0 + tau * change[:, 1]
    along, across = east * np.sin(track) + north * np.cos(track), east * np.cos(track) - north * np.sin(track)
    speed = along + np.sqrt(50.0**2 - across**2)
    tracks = np.broadcast_to(track, speed.shape)
    left = legs.airspeed_in_changing_wind(speed, tracks, WIND_CHANGE, LEG_SCATTER) - 50.0
    whole = legs.airspeed_from_tracks(speed, tracks).tas - 50.0
    assert least < left.std() / whole.std() < most
    (said,) = [text for text in ASSUMED if "changes steadily" in text]
    assert "stays in the result of three and four legs" in said
    assert "taken out in part with five and more" in said
