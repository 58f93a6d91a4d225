"""Tracks without any noise, whose answers follow from arithmetic: what is measured is where the truth lies."""

from __future__ import annotations

import numpy as np
import pytest
from made_tracks import BEGIN, LATITUDE, LONGITUDE, Receiver, landing, take_off

from samesky.instruments.tracks import TrackError, TrackEstimate, landing_roll, level_legs, takeoff_roll, timed_climb
from samesky.instruments.tracks.fixes import build
from samesky.instruments.tracks.noise import Noise, weigh
from samesky.instruments.tracks.readers.gpx import read_gpx, times
from samesky.instruments.tracks.readers.nmea import checksum, read_nmea
from samesky.instruments.tracks.segments.ground_rolls import Limits, Roll, runs
from samesky.instruments.tracks.segments.landing_segment import WORDS
from samesky.instruments.tracks.segments.leg_sets import choose_sets
from samesky.instruments.tracks.segments.level_legs import measure_leg
from samesky.instruments.tracks.segments.segments import Found, Segment

#: Metres to radians of latitude (mean radius of the Earth; a few parts in a thousand are no matter here).
TO_LATITUDE = 1 / 6_371_000.0


def northward(speed, height=None, time=None, computed=()):
    """Fixes along the meridian at these ground speeds [m/s], one a second; none is recorded at ``computed``."""
    speed = np.asarray(speed, dtype=float)
    clock = np.arange(speed.size, dtype=float) if time is None else np.asarray(time, dtype=float)
    way = np.r_[0.0, np.cumsum(np.diff(clock) * (speed[1:] + speed[:-1]) / 2)]
    recorded = speed.copy()
    recorded[list(computed)] = np.nan
    heights = np.full(speed.size, 500.0) if height is None else np.asarray(height, dtype=float)
    return build(
        BEGIN + clock, LATITUDE + way * TO_LATITUDE, np.full(speed.size, LONGITUDE), heights,
        pressure_altitude=heights, ground_speed=recorded, track=np.zeros(speed.size), source="exact",
    )  # fmt: skip


@pytest.mark.parametrize("rate", [3.0, 2.0])
@pytest.mark.parametrize("seconds", [1.0, 2.0])
def test_the_ends_of_a_climb_stand_at_the_heights_of_its_ends(rate, seconds):
    clock = np.arange(0.0, 300.0, seconds)
    height = 500.0 + rate * np.clip(clock - 60.0, 0.0, 150.0)
    (climb,) = timed_climb(northward(np.full(clock.size, 40.0), height, clock)).chosen
    for end, moment in (("from", climb.start), ("to", climb.end)):
        assert climb.values[end].value == pytest.approx(500.0 + rate * (moment - BEGIN - 60.0), abs=0.02)
    assert climb.values["rate of climb"].value == pytest.approx(rate, rel=1e-6)
    assert climb.values["gain"].value == pytest.approx(rate * climb.values["elapsed"].value, rel=1e-6)


@pytest.mark.parametrize(("apart", "sets"), [(55.0, 1), (59.5, 1), (60.5, 2), (64.0, 2), (80.0, 2)])
def test_legs_within_sixty_metres_of_height_are_one_set(apart, sets):
    """Two legs with a climb between; sixty metres are the height in which one set may lie (assumed, and stated)."""
    clock = np.arange(0.0, 400.0)
    height = 500.0 + apart * np.clip((clock - 120.0) / 60.0, 0.0, 1.0)
    found = level_legs(northward(np.full(clock.size, 50.0), height))
    assert len(found.candidates) == 2
    assert ("more than one set" in found.reason) == (sets == 2)


@pytest.mark.parametrize(("missing", "by_positions"), [(0, False), (1, False), (2, True), (5, True)])
def test_a_leg_takes_its_speeds_from_positions_where_a_fifth_of_them_is_missing(missing, by_positions):
    leg = northward(np.full(10, 50.0), computed=range(1, 2 * missing, 2))
    assert leg.computed.sum() == missing
    measured = measure_leg(leg)
    assert any("worked out from the positions" in note for note in measured.notes) == by_positions
    assert measured.values["ground speed"].value == pytest.approx(50.0, rel=5e-3)


def test_scatter_of_a_leg_is_told_with_the_factor_of_its_own_speed():
    """Speeds that leap by 3 m/s at each fix scatter far more than a receiver's; the track that is steady does not."""
    speed = 50.0 + 3.0 * (-1.0) ** np.arange(60)
    leg = measure_leg(northward(speed))
    (said,) = [note for note in leg.notes if "ground speed" in note and "scatter" in note]
    assert said
    assert not measure_leg(northward(np.full(60, 50.0))).notes


@pytest.mark.parametrize(("finder", "made"), [(landing_roll, landing), (takeoff_roll, take_off)])
def test_the_noise_that_is_told_is_the_noise_that_is_used(finder, made):
    rng = np.random.default_rng(8)
    fixes = Receiver().fixes(made(rng).truth, rng)
    usual = finder(fixes)
    assert any("assumed" in line and line.startswith("height noise: ") for line in usual.assumptions)
    own = finder(
        fixes, height_noise=Noise(2.0, 200.0, source="of my barometer"), speed_noise=Noise(0.3, 5.0, source="of mine")
    )
    assert {"height noise: of my barometer", "speed noise: of mine"} <= set(own.assumptions)


@pytest.mark.parametrize("noise", [Noise(2.0, 300.0), Noise(2.0, 10.0), Noise(0.0, 10.0, 0.7), Noise(2.0, 10.0, 0.7)])
def test_a_distance_between_two_positions_is_as_uncertain_as_both_and_what_they_share(noise):
    """var(x2 - x1) = 2 s^2 (1 - exp(-t/tau)) + 2 w^2 for Gauss-Markov and white parts (from the covariance alone)."""
    part = northward([0, 0, 0, 4, 8, 12, 16, 20, 22, 22, 22])
    roll = Roll(part, 2, 6, 1.5, Noise(0.1, 10.0), noise)
    moment = BEGIN + 8.0
    away, uncertainty = roll.by_positions(moment)
    apart = (moment - roll.start) / noise.correlation_time
    shared = 2 * noise.standard_deviation**2 * (1 - np.exp(-apart))
    assert uncertainty == pytest.approx(np.sqrt(shared + 2 * noise.white**2))
    assert away == pytest.approx(4 + 6 + 10 + 14 + 18 + 21 - 2, abs=3.0)


@pytest.mark.parametrize("white", [0.0, 0.3, 1.0, 2.0])
def test_readings_are_weighed_by_the_inverse_of_their_covariance(white):
    time = np.array([0.0, 1.0, 2.5, 3.0, 7.0])
    dense = 1.5**2 * np.exp(-np.abs(time[:, None] - time) / 4.0) + white**2 * np.eye(5)
    columns = np.random.default_rng(1).normal(size=(5, 2))
    np.testing.assert_allclose(weigh(Noise(1.5, 4.0, white), time, columns), np.linalg.solve(dense, columns))


def test_speeds_that_hang_about_flying_speed_are_one_roll():
    """15 m/s exactly is flying; a lull of a moment after it is noise about the threshold."""
    speed = [0, 0, 0, 3, 6, 9, 12, 15, 14, 16, 18, 20, 22, *[25] * 40]
    height = np.r_[np.full(13, 500.0), 500.0 + 2.0 * np.arange(40)]
    part = northward(speed, height)
    noises = (Noise(0.1, 10.0), Noise(3.0, 300.0))
    found = list(runs(part, part.pressure_altitude, Limits(1.5, 15.0, 15.0, 90.0), WORDS, noises))
    assert found == [(2, 7, "")]


def test_a_set_that_cannot_be_used_is_named_by_its_number():
    def leg(start, track):
        values = {"ground speed": TrackEstimate(50.0, 0.05), "track": TrackEstimate(np.radians(track), 0.001)}
        return Segment("level leg", start, start + 60.0, values | {"altitude": TrackEstimate(800.0, 1.0)})

    good, bad = (0, 120, 240), (0, 10, 20)
    for tracks, number in (((good, bad), 2), ((bad, good), 1)):
        legs = [leg(900 * k + 120 * i, track) for k, one in enumerate(tracks) for i, track in enumerate(one)]
        sets, said = choose_sets(Found(tuple(legs), tuple(legs), False, "", ()), expected=2)
        assert sets == []
        assert f"; set {number}: the tracks are too close together" in said


# What is written in files.


@pytest.mark.parametrize(
    "odd",
    ["2024-05-01T08.00.01Z", "2024-05-01 08:00:01z", "2024-05-01T08:00-01Z", "2024-05-01Tx8:00:01Z"],
)
def test_a_time_with_other_marks_is_never_read_as_if_it_had_the_usual_ones(odd):
    usual = "2024-05-01T08:00:00Z"
    assert times((usual,) * 3, "a.gpx").tolist() == [BEGIN] * 3
    for row in ((odd,) * 3, (usual, odd, usual)):
        try:
            found = times(row, "a.gpx")
        except TrackError:
            continue
        assert odd == "2024-05-01 08:00:01z"
        assert found[1] == BEGIN + 1


def gpx(tmp_path, *points: str):
    path = tmp_path / "a.gpx"
    path.write_text(f'<gpx version="1.1"><trk><trkseg>{"".join(points)}</trkseg></trk></gpx>', encoding="utf-8")
    return path


def test_what_else_stands_in_a_point_does_not_end_it(tmp_path):
    points = [
        f'<trkpt lat="46.{k}" lon="9"><name>n{k}</name><ele>{500 + k}</ele><extensions><a:b><a:speed>4{k}</a:speed>'
        f"</a:b></extensions><fix>3d</fix><time>2024-05-01T08:00:0{k}Z</time><sat>7</sat></trkpt>"
        for k in range(1, 4)
    ]
    fixes = read_gpx(gpx(tmp_path, *points))
    assert fixes.time.tolist() == [BEGIN + k for k in range(1, 4)]
    assert fixes.altitude.tolist() == [501.0, 502.0, 503.0]
    assert fixes.ground_speed.tolist() == [41.0, 42.0, 43.0]
    np.testing.assert_allclose(np.degrees(fixes.latitude), [46.1, 46.2, 46.3])


def test_a_file_without_points_is_one_message(tmp_path):
    with pytest.raises(TrackError, match=r"track points|fixes"):
        read_gpx(gpx(tmp_path))


def nmea(tmp_path, *bodies: str):
    path = tmp_path / "a.nmea"
    path.write_text("".join(f"${body}*{checksum(body):02X}\r\n" for body in bodies), encoding="ascii")
    return path


def gga(clock: str, quality: str = "1") -> str:
    return f"GPGGA,{clock},4600.000,N,00900.000,E,{quality},08,1.0,512.5,M,47.0,M,,"


@pytest.mark.parametrize("quality", ["0", ""])
def test_places_that_the_receiver_calls_invalid_are_no_fixes(tmp_path, quality):
    """Fix quality 0 in the sentence GGA is 'fix not available' (NMEA 0183, from memory)."""
    fixes = read_nmea(
        nmea(tmp_path, gga("080000"), gga("080001", quality), gga("080002"), gga("080003")), date="2024-05-01"
    )
    assert fixes.time.tolist() == [BEGIN, BEGIN + 2, BEGIN + 3]
    assert any(note.startswith("1 ") and "not valid" in note for note in fixes.notes)


@pytest.mark.parametrize("date", ["1.5.2024", "24-05-01", "2024-13-01", "today"])
def test_a_date_that_is_none_is_one_message(tmp_path, date):
    with pytest.raises(TrackError, match="Expected a date such as 2024-05-01") as refused:
        read_nmea(nmea(tmp_path, gga("080000"), gga("080001")), date=date)
    assert repr(date) in str(refused.value)


def test_midnight_is_passed_once_each_time_it_comes_and_taken_back_once(tmp_path):
    """Clocks without dates: over midnight, back by one wild clock, and over the next midnight."""
    clocks = ["235958", "235959", "000000", "235959", "000001", "000002"]
    fixes = read_nmea(nmea(tmp_path, *map(gga, clocks)), date="2024-05-01")
    midnight = BEGIN + 16 * 3600
    later = fixes.time[fixes.time > midnight]
    assert set(later - midnight) <= {1.0, 2.0}
    assert fixes.time[-1] == midnight + 2
    # A clock that begins the log and is wild does not take the day before.
    early = read_nmea(nmea(tmp_path, *map(gga, ["000001", "235959", "000002", "000003"])), date="2024-05-01")
    assert early.time[-1] - (midnight - 86_400) in (2.0, 3.0, 86_403.0)
