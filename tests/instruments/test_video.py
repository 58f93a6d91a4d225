"""Film to metres: printed values, a made-up camera in space, simulation, and the uncertainties package."""

from __future__ import annotations

import math

import numpy as np
import pytest
import uncertainties
from uncertainties import umath

from samesky.instruments import video
from samesky.published import registry


def test_frame_quantisation_and_shutter_are_the_printed_ones():
    # row I13: 30 frames a second: 0.0096 s, 0.19 m at 19.5 m/s; 30 ms at 19.5 m/s = 0.6 m
    printed = registry.row("I13")
    assert printed.printed == "0.0096 s; 0.19 m"
    assert round(float(video.frame_quantisation(30.0)), 4) == 0.0096
    assert round(float(video.lift_off_uncertainty(19.5, 30.0, 0.0)), 2) == 0.19
    assert "= 0.6 m" in printed.notes
    assert round(float(video.rolling_shutter_shift(19.5, 0.030)), 1) == 0.6


def test_printed_read_out_times_are_nearly_the_whole_frame():
    # row I12: 30.84 +/- 0.36 and 31.98 +/- 0.25 ms, of the 33.3 ms of a frame
    first, _, second, _ = registry.row("I12").numbers
    for readout in (first, second):
        assert 0.9 / 30 < readout / 1000 < 1 / 30
        # the shift of row I13's note, with these cameras
        assert video.rolling_shutter_shift(19.5, readout / 1000) == pytest.approx(0.6, abs=0.03)


def test_frame_time_uncertainty_against_simulation():
    rng, n = np.random.default_rng(4), 400_000
    rate, readout = 50.0, 0.018
    true = (120 + rng.uniform(-2.5, 2.5, n) + rng.uniform(-0.5, 0.5, n)) / rate + rng.uniform(0, readout, n)
    said = video.frame_time(120, rate, uncertain_frames=2.5, readout=readout)
    assert said.value == pytest.approx(true.mean(), abs=2e-4)
    assert said.standard_uncertainty == pytest.approx(true.std(), rel=5e-3)


def test_known_row_leaves_only_the_read_out_uncertainty():
    said = video.frame_time(0, 30.0, readout=0.03084, readout_uncertainty=0.00036, row=0.5)
    assert said.value == pytest.approx(0.01542)
    assert said.standard_uncertainty == pytest.approx(math.hypot(1 / 30 / math.sqrt(12), 0.5 * 0.00036))
    with pytest.raises(ValueError, match="row"):
        video.frame_time(0, 30.0, row=480)


def test_frame_rate_error_grows_with_the_frame_number():
    said = video.frame_time(30_000, 30.0, rate_uncertainty=1e-3)
    assert said.standard_uncertainty == pytest.approx(1.0, rel=1e-4)


def test_elapsed_against_simulation():
    rng, n = np.random.default_rng(5), 400_000
    noise = rng.uniform(-0.5, 0.5, (2, n)) + rng.uniform(-3, 3, (2, n))
    true = (300 + noise[1] - noise[0]) / 30 + 0.4 * rng.normal(0.031, 0.002, n)
    said = video.elapsed(100, 400, 30.0, uncertain_frames=3.0, row_difference=0.4, readout=(0.031, 0.002))
    assert said.value == pytest.approx(true.mean(), abs=5e-4)
    assert said.standard_uncertainty == pytest.approx(true.std(), rel=5e-3)


class Camera:
    """A pinhole in space: projects points (x along, y across away from the camera, z up)."""

    def __init__(self, place, pan, tilt, roll, focal_length, centre):
        cp, sp, ct, st, cr, sr = (f(a) for a in (pan, tilt, roll) for f in (math.cos, math.sin))
        forward = np.array([sp * ct, cp * ct, st])
        right = np.array([cp, -sp, 0.0])
        up = np.cross(right, forward)
        self.right, self.up = cr * right + sr * up, cr * up - sr * right
        self.forward, self.place, self.f, self.centre = forward, np.array(place), focal_length, centre

    def column(self, points):
        ray = np.asarray(points, dtype=float) - self.place
        return self.centre + self.f * (ray @ self.right) / (ray @ self.forward)


def on_line(x):
    return np.column_stack([x, np.zeros_like(x), np.zeros_like(x)])


def test_three_marks_on_the_line_need_no_camera_geometry():
    camera = Camera((70.0, -55.0, 2.2), pan=0.35, tilt=-0.03, roll=0.05, focal_length=1400.0, centre=960.0)
    marks, wheels = np.array([40.0, 90.0, 150.0]), np.array([55.0, 101.3, 139.0])
    found = video.position_from_markers(camera.column(on_line(wheels)), camera.column(on_line(marks)), marks)
    np.testing.assert_allclose(found.value, wheels, atol=1e-6)
    many = np.array([30.0, 60.0, 90.0, 120.0, 150.0])
    found = video.position_from_markers(camera.column(on_line(wheels)), camera.column(on_line(many)), many)
    np.testing.assert_allclose(found.value, wheels, atol=1e-6)


def test_uncertainty_from_marks_against_simulation():
    rng = np.random.default_rng(6)
    camera = Camera((70.0, -55.0, 2.2), pan=0.35, tilt=-0.03, roll=0.05, focal_length=1400.0, centre=960.0)
    marks = np.array([40.0, 90.0, 150.0])
    columns, u = camera.column(on_line(marks)), camera.column(on_line(np.array([118.0])))[0]
    said = video.position_from_markers((u, 2.0), (columns, 2.0), (marks, 0.1))
    drawn = [
        video.position_from_markers(
            u + 2 * rng.normal(), columns + 2 * rng.normal(size=3), marks + 0.1 * rng.normal(size=3)
        )[0]
        for _ in range(4000)
    ]
    assert said.standard_uncertainty == pytest.approx(np.std(drawn), rel=0.06)


@pytest.mark.parametrize(
    ("columns", "marks", "message"),
    [([100.0, 200.0], [0.0, 50.0], "three or more"), ([100.0, 100.0, 200.0], [0.0, 50.0, 90.0], "coincide")],
)
def test_marks_that_cannot_answer(columns, marks, message):
    with pytest.raises(ValueError, match=message):
        video.position_from_markers(150.0, columns, marks)


def test_parallax_against_the_crossing_of_two_lines():
    # camera 60 m from the wheel line at x = 20; marker at x = 100, 12 m beyond the line
    camera, marker = np.array([20.0, -60.0]), np.array([100.0, 12.0])
    share = np.linalg.solve(np.column_stack([marker - camera, [-1.0, 0.0]]), -camera)
    seen = video.sighted_position(100.0, 12.0, 20.0, 60.0)
    assert seen.value == pytest.approx(share[1])
    assert video.parallax_error(100.0, 12.0, 20.0, 60.0).value == pytest.approx(100.0 - share[1])
    # a marker on the line, or a camera abreast of it, has no parallax
    assert video.parallax_error(100.0, 0.0, 20.0, 60.0).value == 0
    assert video.parallax_error(100.0, 12.0, 100.0, 60.0).value == 0


def test_parallax_uncertainty_against_the_uncertainties_package():
    m, o, c, d = (uncertainties.ufloat(*pair) for pair in ((100, 0.1), (-8, 1.0), (20, 0.5), (60, 2.0)))
    other = c + (m - c) * d / (d + o)
    own = video.sighted_position((100, 0.1), (-8, 1.0), (20, 0.5), (60, 2.0))
    assert own.value == pytest.approx(other.nominal_value)
    assert own.standard_uncertainty == pytest.approx(other.std_dev, rel=2e-3)


def test_marker_behind_the_camera():
    with pytest.raises(ValueError, match="in front of the camera"):
        video.sighted_position(100.0, -70.0, 20.0, 60.0)


def test_one_camera_against_a_projection_in_space():
    camera = Camera((30.0, -45.0, 0.0), pan=0.2, tilt=0.0, roll=0.0, focal_length=1200.0, centre=640.0)
    wheels = np.array([10.0, 42.0, 70.0])
    seen = video.camera_position(
        camera.column(on_line(wheels)), camera=30.0, distance=45.0, pointing=0.2, focal_length=1200.0, centre=640.0
    )
    np.testing.assert_allclose(seen.value, wheels, atol=1e-9)


def test_one_camera_uncertainty_against_the_uncertainties_package():
    u, c, d, a, f = (uncertainties.ufloat(*p) for p in ((900, 2), (30, 0.2), (45, 0.5), (0.2, 0.01), (1200, 15)))
    other = c + d * umath.tan(a + umath.atan((u - 640) / f))
    own = video.camera_position(
        (900, 2), camera=(30, 0.2), distance=(45, 0.5), pointing=(0.2, 0.01), focal_length=(1200, 15), centre=640.0
    )
    assert own.value == pytest.approx(other.nominal_value)
    assert own.standard_uncertainty == pytest.approx(other.std_dev, rel=2e-3)


def test_two_markers_with_acceleration_are_exact_for_steady_acceleration():
    speed, acceleration = 12.0, 2.1

    def x(t):
        return 5.0 + speed * t + acceleration * t**2 / 2

    times, places = (1.0, 4.0), (x(1.0), x(4.0))
    assert video.position_between(2.7, times, places, acceleration).value == pytest.approx(x(2.7))
    # left out, the error in the middle is a (t2 - t1)^2 / 8
    middle = video.position_between(2.5, times, places)
    assert middle.value - x(2.5) == pytest.approx(acceleration * 9 / 8)
    assert video.speed_between(times, places).value == pytest.approx(speed + acceleration * 2.5)


def test_two_marker_interval_holds_the_truth_as_often_as_it_says():
    """A whole measurement: frames at markers and at lift-off, parallax, unknown acceleration."""
    rng, n, rate = np.random.default_rng(8), 4000, 30.0
    acceleration = rng.normal(2.0, 0.3, n)
    start = 14.0

    def moment(place):
        return (-start + np.sqrt(start**2 + 2 * acceleration * place)) / acceleration

    lift_off = rng.uniform(30, 50, n)
    frame = lambda t: np.round(t * rate)  # noqa: E731
    first, second = (frame(moment(np.full(n, x))) for x in (10.0, 70.0))
    seen = np.round(moment(lift_off) * rate + rng.uniform(-3, 3, n))
    to_time = lambda f, k: tuple(video.frame_time(f, rate, uncertain_frames=k))  # noqa: E731
    places = [(10.0 + 0.2 * rng.normal(size=n), 0.2), (70.0 + 0.2 * rng.normal(size=n), 0.2)]
    said = video.position_between(
        to_time(seen, 3.0), (to_time(first, 0), to_time(second, 0)), places, (np.full(n, 2.0), 0.3)
    )
    share = np.mean(np.abs(said.value - lift_off) < 2 * said.standard_uncertainty)
    # a rectangular part dominates: between 95 % of a normal and 100 % of a rectangle, and no wider than needed
    assert 0.95 <= share <= 0.995
    assert np.std((said.value - lift_off) / said.standard_uncertainty) == pytest.approx(1.0, abs=0.04)


def test_lift_off_frame_in_metres():
    # 5 frames either way at 60 frames a second and 22 m/s: 22 x 5/60/root 3, and the frame itself
    expected = 22 * math.hypot(5 / 60 / math.sqrt(3), 1 / 60 / math.sqrt(12))
    assert video.lift_off_uncertainty(22.0, 60.0, 5.0) == pytest.approx(expected)
    np.testing.assert_allclose(video.lift_off_uncertainty(np.array([22.0, 11.0]), 60.0, 5.0), [expected, expected / 2])
