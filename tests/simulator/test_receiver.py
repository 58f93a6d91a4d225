"""Noise with the autocorrelation that it claims, a file that others can read, and intervals that hold the truth."""

from __future__ import annotations

import io

import gpxpy
import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from one_sortie import flown

from samesky.instruments.tracks import level_legs, read_track, timed_climb
from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.noise import Noise
from samesky.simulator.receiver import BEGIN, PLACE, Receiver, gpx, wander

QUIET = Noise(1e-9, 10.0)


def test_noise_has_the_autocorrelation_of_its_process():
    # Brown and Hwang: s^2 exp(-|dt|/tau); white noise adds at lag nought alone
    series = wander(np.random.default_rng(1), np.arange(0.0, 400_000.0, 2.0), Noise(0.5, 10.0, 0.3))
    assert series.var() == pytest.approx(0.25 + 0.09, rel=0.02)
    for lag in (1, 3, 5):
        assert np.mean(series[:-lag] * series[lag:]) == pytest.approx(0.25 * np.exp(-2.0 * lag / 10.0), rel=0.05)


def test_the_first_reading_is_as_uncertain_as_all_others():
    first = [wander(np.random.default_rng(k), np.arange(3.0), Noise(2.0, 100.0))[0] for k in range(2000)]
    assert np.std(first) == pytest.approx(2.0, rel=4 / np.sqrt(2 * 2000))


def test_a_receiver_without_noise_shows_the_truth():
    flight = flown()
    seen = Receiver(speed=QUIET, position=QUIET, height=QUIET, barometer=QUIET).see(flight, np.random.default_rng(1))
    moment = seen.time - BEGIN
    for name in ("ground_speed", "pressure_altitude"):
        np.testing.assert_allclose(getattr(seen, name), flight.at(moment, name), atol=1e-6)
    np.testing.assert_allclose(seen.altitude, flight.at(moment, "height"), atol=1e-6)
    # the way over the ellipsoid by another library; 600 m above it the way is longer by 1 in 10,000
    first, last = (np.searchsorted(moment, end) for end in flight.spans["leg 2"])
    places = np.degrees([seen.latitude[first], seen.longitude[first], seen.latitude[last], seen.longitude[last]])
    way = Geodesic.WGS84.Inverse(*places)["s12"] * (1 + flight.height[-1] / 6_371_000)
    true = np.hypot(*(np.diff(flight.at(moment[[first, last]], axis))[0] for axis in ("east", "north")))
    assert way == pytest.approx(true, rel=2e-4)
    assert (seen.latitude[0], seen.longitude[0]) == pytest.approx(PLACE, abs=1e-12)


def test_the_file_reads_the_same_by_another_library(tmp_path):
    flight = flown()
    seen = Receiver(rate=2.0, dropouts=3).see(flight, np.random.default_rng(2))
    (tmp_path / "a.gpx").write_text(gpx(seen), encoding="utf-8")
    points = gpxpy.parse(io.StringIO(gpx(seen))).tracks[0].segments[0].points
    assert len(points) == len(seen)
    own = read_track(tmp_path / "a.gpx")
    np.testing.assert_allclose([point.latitude for point in points], np.degrees(seen.latitude), atol=1e-7)
    np.testing.assert_allclose([point.elevation for point in points], own.altitude, atol=1e-9)
    np.testing.assert_allclose([point.time.timestamp() for point in points], own.time, atol=1e-3)
    np.testing.assert_allclose(own.ground_speed, seen.ground_speed, atol=0.0051)
    assert np.abs(own.time - seen.time).max() < 1e-3
    # a silence longer than five seconds would break the track; these are shorter
    assert 2.0 <= np.diff(own.time).max() <= 4.6


def test_intervals_hold_the_truth():
    flight = flown()
    held = {"speed": [], "climb": []}
    for seed in range(120):
        seen = Receiver(barometer=noises.PRESSURE_ALTITUDE).see(flight, np.random.default_rng([3, seed]))
        begin = flight.spans["leg 1"][0] + BEGIN + 5
        leg = level_legs(seen, between=(begin, begin + 60)).chosen[0]
        ends = leg.start - BEGIN, leg.end - BEGIN
        low, high = leg.values["ground speed"].interval
        held["speed"].append(low <= np.hypot(flight.rate(*ends, "east"), flight.rate(*ends, "north")) <= high)
        climb = timed_climb(seen, bottom=300.0, top=600.0).chosen[0]
        low, high = climb.values["rate of climb"].interval
        held["climb"].append(low <= flight.rate(climb.start - BEGIN, climb.end - BEGIN, "pressure_altitude") <= high)
    for kind, inside in held.items():
        # k = 2 holds 95.45 %; four Monte Carlo standard errors
        assert np.mean(inside) > 0.9545 - 4 * np.sqrt(0.9545 * 0.0455 / 120), kind
