"""Cleaning a track: duplicates, wild clocks, dropouts, jumps; speeds from positions; local metres."""

from __future__ import annotations

import numpy as np
import pytest
from made_tracks import Receiver, box_of_legs

from samesky.instruments.tracks import level_legs
from samesky.instruments.tracks.fixes import build, local_metres, rounding_of_places
from samesky.instruments.tracks.readers.errors import TrackError

TIME = np.arange(1.7e9, 1.7e9 + 100)
EAST = 30.0 * np.arange(100.0)
LATITUDE = np.full(100, np.radians(46.0))
LONGITUDE = np.radians(9.0) + EAST / (6378137.0 / np.sqrt(1 - 0.00669437999 * np.sin(LATITUDE) ** 2) * np.cos(LATITUDE))


def made(time=TIME, latitude=LATITUDE, longitude=LONGITUDE, **more):
    return build(time, latitude, longitude, np.full(np.size(time), 500.0), **more)


def test_speed_and_track_from_positions_are_flagged():
    fixes = made()
    assert fixes.computed.all()
    np.testing.assert_allclose(fixes.ground_speed, 30.0, rtol=1e-4)
    np.testing.assert_allclose(np.degrees(fixes.track), 90.0, atol=0.02)
    assert any("worked out from positions" in note for note in fixes.notes)


def test_recorded_speed_is_kept_and_not_flagged():
    fixes = made(ground_speed=np.full(100, 31.0), track=np.full(100, 1.5))
    assert not fixes.computed.any()
    assert (fixes.ground_speed == 31.0).all()


def test_duplicates_are_dropped_and_counted():
    order = np.sort(np.r_[np.arange(100), [5, 5, 40]])
    fixes = made(TIME[order], LATITUDE[order], LONGITUDE[order])
    assert len(fixes) == 100
    assert "3 fixes repeating the one before dropped" in fixes.notes


def test_two_places_at_one_instant_keep_the_first():
    time = TIME.copy()
    time[50] = time[49]
    fixes = made(time)
    assert len(fixes) == 99
    assert any("another position" in note for note in fixes.notes)


def test_single_wild_clock_is_dropped():
    time = TIME.copy()
    time[30] += 5000
    time[60] -= 5000
    fixes = made(time)
    assert len(fixes) == 98
    assert (np.diff(fixes.time) > 0).all()
    assert fixes.piece.max() == 0


def test_dropout_breaks_the_track():
    keep = np.r_[0:40, 52:100]
    fixes = made(TIME[keep], LATITUDE[keep], LONGITUDE[keep])
    assert fixes.piece.max() == 1
    assert any(note.startswith("dropout of 13 s after fix 40") for note in fixes.notes)
    # speeds at the two ends of the gap come from their own side
    np.testing.assert_allclose(fixes.ground_speed, 30.0, rtol=1e-4)


def test_clock_jump_is_told_from_a_dropout():
    time = TIME + np.where(np.arange(100) >= 40, 600.0, 0.0)
    fixes = made(time)
    assert any(note.startswith("time jump of 601 s") for note in fixes.notes)
    assert fixes.piece.max() == 1


def test_clock_set_back_starts_a_new_piece():
    time = TIME - np.where(np.arange(100) >= 40, 3600.0, 0.0)
    fixes = made(time)
    assert fixes.piece.max() == 1
    assert any(note.startswith("the clock went back by 3599 s") for note in fixes.notes)


def test_leap_of_the_position_breaks_the_track():
    longitude = LONGITUDE + np.where(np.arange(100) >= 70, 1e-3, 0.0)
    fixes = made(longitude=longitude)
    assert fixes.piece.max() == 1
    assert any("the position leapt" in note for note in fixes.notes)


def test_a_track_needs_two_fixes_and_possible_places():
    with pytest.raises(TrackError, match="1 usable fixes"):
        made(TIME[:1], LATITUDE[:1], LONGITUDE[:1])
    with pytest.raises(TrackError, match="beyond 90"):
        made(latitude=np.full(100, 46.0))


def test_between_and_interval():
    fixes = made().between(TIME[10], TIME[19])
    assert len(fixes) == 10
    assert fixes.interval == 1.0


@pytest.mark.parametrize("latitude", [0.0, 45.0, 60.0, -33.0])
def test_local_metres_against_geodesics(latitude):
    # reference: geodesic lengths on WGS 84, geographiclib (C. F. F. Karney, Journal of Geodesy 87 (2013) 43)
    geodesic = pytest.importorskip("geographiclib.geodesic").Geodesic.WGS84
    for azimuth in (0.0, 37.0, 90.0, 200.0):
        there = geodesic.Direct(latitude, 179.99, azimuth, 4000.0)
        east, north = local_metres(
            np.radians([latitude, there["lat2"]]), np.radians([179.99, there["lon2"]])
        )  # over the date line
        assert np.hypot(east[1], north[1]) == pytest.approx(4000.0, rel=2e-5)
        assert np.degrees(np.arctan2(east[1], north[1])) % 360 == pytest.approx(azimuth, abs=0.05)


def test_length_of_a_degree():
    # one degree of latitude at 45 degrees is 111 132 m, of longitude 78 847 m (WGS 84, geodesy textbooks: from memory)
    half = np.radians(0.5)
    north = np.diff(local_metres(np.radians([44.5, 45.5]), [0.0, 0.0])[1])[0]
    east = np.diff(local_metres([np.radians(45.0)] * 2, [-half, half])[0])[0]
    assert north == pytest.approx(111_132, abs=1)
    assert east == pytest.approx(78_847, abs=1)


@pytest.mark.parametrize(
    ("step", "metres"), [(1 / 60_000, 1.852), (1e-5, 1.111), (1 / 600_000, 0.1852), (1e-7, 0.0), (np.pi * 1e-5, 0.0)]
)
def test_rounding_of_places(step, metres):
    """A minute of latitude is 1,852 m, one of longitude that times the cosine; a uniform error is step / sqrt 12."""
    rng = np.random.default_rng(3)
    places = [np.round(rng.uniform(at, at + 0.2, 50) / step) * step for at in (46.0, 9.0)]
    track = build(np.arange(50.0), *np.radians(places))
    expected = metres * np.sqrt((1 + np.cos(np.radians(46.1)) ** 2) / 2 / 12)
    assert rounding_of_places(track) == pytest.approx(expected, rel=0.005)


def test_rounded_places_are_noise_and_not_a_worse_receiver():
    """An IGC log without speeds, in thousandths of a minute: no scatter beyond what is stated, and a narrow answer."""
    rng = np.random.default_rng(4)
    truth = box_of_legs(rng, leg=90.0, tracks=(0.3, 1.9))
    clock, latitude, longitude, height, _, _ = Receiver(rate=2.0).see(truth, rng)
    rounded = [np.radians(np.round(np.degrees(angle) * 60_000) / 60_000) for angle in (latitude, longitude)]
    legs = level_legs(build(clock, *rounded, pressure_altitude=height)).chosen
    assert legs
    for leg in legs:
        assert not any("scatters" in note for note in leg.notes)
        assert leg.values["ground speed"].standard_uncertainty < 0.06


@pytest.mark.parametrize(("lost", "said"), [(1, "1 fix without"), (3, "3 fixes without")])
def test_fixes_without_a_time_are_dropped_and_told(lost, said):
    time = TIME.copy()
    time[10 : 10 + lost] = np.nan
    track = made(time=time)
    assert len(track) == 100 - lost
    assert track.notes[0] == f"{said} time or position dropped"
