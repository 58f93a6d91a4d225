"""Rolls out of a film: closed forms, a camera worked out another way, the uncertainties package, simulated coverage."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import uncertainties
from filmed import films, moment

from samesky.instruments import roll_film
from samesky.instruments.roll_film import FilmSetup, RollFrames

#: Everything known: no tolerance but that of the frame itself, which no film is without.
EXACT = {
    "readout": 0.0, "passage_tolerance": 0.0, "lift_off_tolerance": 0.0, "marker_tolerance": 0.0,
    "camera_tolerance": 0.0, "line_tolerance": 0.0, "start_tolerance": 0.0, "frame_rate_tolerance": 0.0,
}  # fmt: skip
USUAL = FilmSetup(
    frame_rate=60.0, markers=np.array([90.0, 115.0, 140.0, 165.0]), marker_offset=6.0, camera=120.0,
    camera_distance=35.0, readout=0.02, lift_off_tolerance=2.0,
)  # fmt: skip


def steady(setup: FilmSetup, roll: float, gain: float, places) -> RollFrames:
    """Frames, not rounded, of a roll that gains ``gain`` [m/s2] throughout: t = sqrt(2 x / a)."""
    times = lambda x: np.sqrt(2.0 * np.asarray(x, dtype=float) / gain) * setup.frame_rate  # noqa: E731
    return RollFrames(times(places)[None], np.zeros(1), times([roll]), np.array([np.nan]))


@pytest.mark.parametrize("roll", [95.0, 118.3, 152.0, 170.0])
def test_a_steady_roll_is_found_exactly_with_three_markers(roll):
    setup = FilmSetup(frame_rate=50.0, markers=np.array([90.0, 115.0, 140.0, 165.0]), **EXACT)
    found = roll_film.ground_roll(setup, steady(setup, roll, 1.7, setup.markers))
    # x = a t^2 / 2 is the parabola through any three of its points
    assert found.value[0] == pytest.approx(roll, abs=1e-9)
    assert roll_film.acceleration_seen(setup, steady(setup, roll, 1.7, setup.markers))[0] == pytest.approx(1.7)


def test_two_markers_are_exact_for_the_assumed_gain_and_off_by_the_printed_bend_for_another():
    setup = FilmSetup(frame_rate=50.0, markers=np.array([100.0, 140.0]), **EXACT)
    assumed = roll_film.ACCELERATION[0]
    assert roll_film.ground_roll(setup, steady(setup, 120.0, assumed, setup.markers)).value[0] == pytest.approx(120.0)
    frames = steady(setup, 120.0, 1.5, setup.markers)
    t1, t2, t = (x / 50.0 for x in (*frames.passages[0], frames.lift_off[0]))
    found = roll_film.ground_roll(setup, frames)
    assert found.value[0] - 120.0 == pytest.approx((assumed - 1.5) * (t - t1) * (t - t2) / 2)
    # and the stated standard uncertainty knows of it: 0.75/root 3 of that bend, beside the frames themselves
    bend = 0.75 / math.sqrt(3) * (t - t1) * (t2 - t) / 2
    assert np.abs(found.shared).max() == pytest.approx(bend, rel=1e-6)


def test_lift_off_between_frames_costs_its_speed_times_the_frame_over_root_twelve():
    # closed form (JCGM 100:2008, 4.3.7): with the markers far away in time the frame of lift-off is all there is
    setup = FilmSetup(frame_rate=30.0, markers=np.array([10.0, 60.0, 110.0]), **(EXACT | {"lift_off_tolerance": 4.0}))
    frames = steady(setup, 60.0, 2.0, setup.markers)
    speed = math.sqrt(2 * 2.0 * 60.0)
    expected = speed / 30.0 * math.sqrt(1 / 12 + 16 / 3 + 1 / 12)
    # lift-off at the marker itself: its own frame enters besides, those of the others not at all
    assert roll_film.ground_roll(setup, frames).own[0] == pytest.approx(expected, rel=2e-3)
    said = dataclasses.replace(frames, uncertain=np.array([0.0]))
    assert roll_film.ground_roll(setup, said).own[0] == pytest.approx(speed / 30.0 * math.sqrt(2 / 12), rel=2e-3)


def test_parallax_is_taken_off_on_either_side():
    for offset in (-7.0, 0.0, 9.0):
        setup = FilmSetup(
            frame_rate=60.0, markers=np.array([80.0, 110.0, 140.0]), marker_offset=offset, camera=100.0,
            camera_distance=30.0, **EXACT,
        )  # fmt: skip
        # the wheels are in line with a marker where the line from the camera over it crosses theirs (two lines)
        crossing = []
        for marker in setup.markers:
            camera, stone = np.array([100.0, -30.0]), np.array([marker, offset])
            share = np.linalg.solve(np.column_stack([stone - camera, [-1.0, 0.0]]), -camera)
            crossing.append(share[1])
        found = roll_film.ground_roll(setup, steady(setup, 121.0, 1.9, crossing))
        assert found.value[0] == pytest.approx(121.0, abs=1e-9)


def test_uncertainty_against_the_uncertainties_package():
    setup = USUAL
    frames = steady(setup, 121.0, 1.9, [95.0, 116.0, 137.0, 158.0])
    found = roll_film.ground_roll(setup, frames)
    tell = lambda value, tolerance: uncertainties.ufloat(value, tolerance / math.sqrt(3))  # noqa: E731
    markers = [tell(x, setup.marker_tolerance) for x in setup.markers]
    offset, line = tell(setup.marker_offset, setup.marker_tolerance), tell(0.0, setup.line_tolerance)
    camera, away = (tell(x, setup.camera_tolerance) for x in (setup.camera, setup.camera_distance))
    stretch, start = tell(1.0, setup.frame_rate_tolerance), tell(0.0, setup.start_tolerance)

    def moment(frame, tolerance):
        spread = math.sqrt((1 / 12 + tolerance**2 / 3) / 60.0**2 + setup.readout**2 / 12)
        return uncertainties.ufloat(frame / 60.0 + setup.readout / 2, spread) * stretch

    # 121 m lies between the passages of the second and the third; the first is the nearest of the others in time
    x = [camera + (markers[k] - camera) * (away + line) / (away + offset) for k in (1, 2, 3)]
    t = [moment(frames.passages[0][k], setup.passage_tolerance) for k in (1, 2, 3)]
    lift = moment(frames.lift_off[0], setup.lift_off_tolerance)
    nearest = min((0, 3), key=lambda k: abs(frames.passages[0][k] - frames.lift_off[0]))
    if nearest == 0:
        x[2] = camera + (markers[0] - camera) * (away + line) / (away + offset)
        t[2] = moment(frames.passages[0][0], setup.passage_tolerance)
    # Lagrange's form of the parabola through three points: another way to the same number
    other = (
        sum(
            x[i] * (lift - t[j]) * (lift - t[k]) / ((t[i] - t[j]) * (t[i] - t[k]))
            for i, j, k in ((0, 1, 2), (1, 0, 2), (2, 0, 1))
        )
        - start
    )
    assert found.value[0] == pytest.approx(other.nominal_value)
    assert found.standard_uncertainty[0] == pytest.approx(other.std_dev, rel=3e-3)


def test_time_and_speed_in_closed_form():
    setup = FilmSetup(frame_rate=25.0, markers=np.array([50.0, 80.0, 130.0]), **EXACT)
    frames = RollFrames(
        np.array([[100.0, np.nan, 200.0], [100.0, np.nan, np.nan]]), np.array([10.0, np.nan]),
        np.array([260.0, 260.0]), np.full(2, np.nan),
    )  # fmt: skip
    time = roll_film.time_to_lift_off(setup, frames)
    assert time.value[0] == 10.0
    assert np.isnan(time.value[1])
    # two frames of a twenty-fifth, each even: T/root 6 (JCGM 100:2008, 4.3.7)
    assert time.standard_uncertainty[0] == pytest.approx(1 / 25 / math.sqrt(6))
    speed = roll_film.speed_between_markers(setup, frames)
    assert speed.value[0] == pytest.approx(20.0)
    assert np.isnan(speed.value[1])
    assert speed.standard_uncertainty[0] == pytest.approx(20.0 * (1 / 25 / math.sqrt(6)) / 4.0, rel=1e-4)
    slow = dataclasses.replace(setup, frame_rate_tolerance=0.01)
    # a clock that is off by 1 % at most makes both off by as much, alike in every run
    assert roll_film.time_to_lift_off(slow, frames).shared[0, 0] == pytest.approx(10.0 * 0.01 / math.sqrt(3))
    assert roll_film.speed_between_markers(slow, frames).shared[0, 0] == pytest.approx(-0.2 / math.sqrt(3), rel=1e-3)


def test_what_is_not_seen_gives_nothing_and_disturbs_nobody():
    frames = steady(USUAL, 121.0, 1.9, [95.0, 116.0, 137.0, 158.0])
    alone = roll_film.ground_roll(USUAL, frames)
    nan = np.full((1, 4), np.nan)
    both = RollFrames(
        np.vstack([frames.passages, nan, np.where([True, False, False, False], frames.passages, np.nan)]),
        np.zeros(3), np.r_[frames.lift_off, 500.0, 500.0], np.full(3, np.nan),
    )  # fmt: skip
    found = roll_film.ground_roll(USUAL, both)
    assert found.value[0] == alone.value[0]
    assert found.standard_uncertainty[0] == pytest.approx(alone.standard_uncertainty[0])
    assert np.isnan(found.value[1:]).all()


def test_lift_off_far_beyond_the_last_marker_is_told():
    passages = np.array([[100.0, 160.0, 210.0]] * 3)
    frames = RollFrames(passages, np.zeros(3), np.array([205.0, 255.0, 265.0]), np.full(3, np.nan))
    assert roll_film.too_far_beyond(frames).tolist() == [False, False, True]


SETUPS = {
    "four markers": USUAL,
    "two markers": dataclasses.replace(USUAL, markers=np.array([100.0, 150.0])),
    "markers on the camera's side, sloppily": dataclasses.replace(
        USUAL, marker_offset=-6.0, marker_tolerance=1.0, camera_tolerance=2.0
    ),
    "slow motion": dataclasses.replace(USUAL, frame_rate=240.0, lift_off_tolerance=8.0, passage_tolerance=4.0),
}


@pytest.mark.parametrize("name", SETUPS)
def test_the_stated_interval_holds_lift_off_in_about_95_of_100_films(name):
    """1,000 films of rolls that gain less and less, each with markers, camera, line, start and frames off by chance.

    Where one even tolerance outweighs the rest, twice the standard uncertainty holds more: 96.6 of 100 with lift-off
    within 3 frames, nearly all with 10. It never holds less.
    """
    rng, setup = np.random.default_rng(20), SETUPS[name]
    rolls = rng.uniform(108.0, 148.0, 1000)
    found = roll_film.ground_roll(setup, films(rng, setup, rolls))
    score = (found.value - rolls) / found.standard_uncertainty
    assert 0.94 <= np.mean(np.abs(score) < 2.0) <= 0.97
    assert np.std(score) == pytest.approx(1.0, abs=0.07)


def test_time_to_lift_off_is_held_as_often():
    rng, n = np.random.default_rng(21), 1000
    true = moment(rng.uniform(108.0, 148.0, n), rng.normal(2.9, 0.1, n), rng.uniform(0.04, 0.07, n))
    rate = 60.0 * (1 + rng.uniform(-1, 1, n) * USUAL.frame_rate_tolerance)

    def frame(t, tolerance):
        seen = t + 5.0 - rng.uniform(0, 1, n) * USUAL.readout
        return np.ceil(seen * rate + rng.uniform(-1, 1, n) * tolerance)

    brakes, lift_off = frame(0.0, USUAL.passage_tolerance), frame(true, USUAL.lift_off_tolerance)
    frames = RollFrames(np.full((n, 4), np.nan), brakes, lift_off, np.full(n, np.nan))
    found = roll_film.time_to_lift_off(USUAL, frames)
    score = (found.value - true) / found.standard_uncertainty
    # lift-off alone dominates: between 95 % of a normal and 100 % of a rectangle, and no wider than needed
    assert 0.95 <= np.mean(np.abs(score) < 2.0) <= 0.99
    assert np.std(score) == pytest.approx(1.0, abs=0.06)


def test_what_runs_share_is_parted_from_what_they_have_for_themselves():
    """Rolls of one film: the mean error of many is what is said to be alike, their scatter what is each one's own."""
    rng = np.random.default_rng(23)
    setup = dataclasses.replace(USUAL, marker_tolerance=1.0, camera_tolerance=3.0)
    means, scatter, shared = [], [], []
    for _ in range(300):
        rolls = rng.uniform(120.0, 135.0, 40)
        found = roll_film.ground_roll(setup, films(rng, setup, rolls, alike=True))
        error = found.value - rolls
        alike, differing = found.alike_and_not()
        means.append(error.mean())
        scatter.append(error.std(ddof=1) ** 2 - (np.mean(found.own**2) + differing**2))
        shared.append(alike)
    assert np.std(means) == pytest.approx(np.mean(shared), rel=0.12)
    assert np.mean(scatter) == pytest.approx(0.0, abs=0.06 * np.mean(found.own**2))


# --- the time between two ground speeds --------------------------------------------------------------------------


def test_a_steady_gain_is_found_exactly_from_three_passages_or_five(monkeypatch):
    """v = a t, with nothing lost to speed: from 6 to 14 m/s in 8/1.7 s, whichever passages are there."""
    monkeypatch.setattr(roll_film, "LOSS", (0.0, 0.0))
    setup = FilmSetup(frame_rate=50.0, markers=np.array([10.0, 25.0, 45.0, 70.0, 100.0]), **EXACT)
    frames = steady(setup, 130.0, 1.7, setup.markers)
    first, second = np.array([6.0]), np.array([14.0])
    assert roll_film.time_between_speeds(setup, frames, first, second).value[0] == pytest.approx(8.0 / 1.7)
    fewer = dataclasses.replace(frames, passages=np.where([1, 0, 1, 0, 1], frames.passages, np.nan))
    assert roll_film.time_between_speeds(setup, fewer, first, second).value[0] == pytest.approx(8.0 / 1.7)
    two = dataclasses.replace(frames, passages=np.where([1, 0, 0, 0, 1], frames.passages, np.nan))
    assert np.isnan(roll_film.time_between_speeds(setup, two, first, second).value[0])
    # Passages in the air tell nothing of the ground, and speeds beyond those seen are not guessed at.
    early = dataclasses.replace(frames, lift_off=frames.passages[:, 2] - 1.0)
    assert np.isnan(roll_film.time_between_speeds(setup, early, first, second).value[0])
    assert np.isnan(roll_film.time_between_speeds(setup, frames, np.array([20.0]), np.array([30.0])).value[0])


def test_the_stated_interval_holds_the_gain_in_about_95_of_100_films():
    """Speeds v = (a/c)(1 - exp(-c t)): the gain falls on the way, and every tolerance is used to the full."""
    setup = FilmSetup(
        frame_rate=60.0, markers=np.array([8.0, 20.0, 36.0, 56.0, 80.0, 108.0]), marker_offset=6.0, camera=60.0,
        camera_distance=35.0, readout=0.02,
    )  # fmt: skip
    rng, count = np.random.default_rng(61), 1500
    first, fading = rng.normal(2.9, 0.1, (count, 1)), rng.uniform(0.01, 0.075, (count, 1))
    off = lambda tolerance, *shape: rng.uniform(-1.0, 1.0, shape) * tolerance  # noqa: E731
    stand, row = setup.markers + off(setup.marker_tolerance, count, 6), 6.0 + off(setup.marker_tolerance, count, 1)
    camera, away = 60.0 + off(setup.camera_tolerance, count, 1), 35.0 + off(setup.camera_tolerance, count, 1)
    line, rate = off(setup.line_tolerance, count, 1), 60.0 * (1.0 + off(setup.frame_rate_tolerance, count, 1))
    places = camera + (stand - camera) * (away + line) / (away + row)
    seen = moment(places, first, fading) - rng.uniform(0.0, 1.0, (count, 6)) * setup.readout
    passages = np.ceil((seen + 5.0) * rate + off(setup.passage_tolerance, count, 6))
    frames = RollFrames(passages, np.zeros(count), np.full(count, 1e5), np.full(count, np.nan))
    low, high = np.full(count, 6.0), np.full(count, 15.0)
    found = roll_film.time_between_speeds(setup, frames, low, high)
    truth = np.log((first - fading * 6.0) / (first - fading * 15.0))[:, 0] / fading[:, 0]
    held = np.abs(found.value - truth) <= 2.0 * found.standard_uncertainty
    assert 0.93 <= held.mean() <= 0.99
    # What runs have for themselves is smaller: how the gain falls with speed is one and the same error of all.
    assert np.median(found.own / found.value) < 0.04
