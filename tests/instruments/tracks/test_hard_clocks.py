"""Clocks and heights as receivers write them at their worst: read right, or refused with the reason."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from samesky.instruments.tracks import TrackError, level_legs, read_track, timed_climb
from samesky.instruments.tracks.fixes import build
from samesky.instruments.tracks.readers.nmea import checksum


def seconds(*moment):
    return datetime(*moment, tzinfo=UTC).timestamp()


@pytest.fixture
def read(tmp_path):
    def one(name, text, **options):
        (tmp_path / name).write_text(text, encoding="utf-8", newline="")
        return read_track(tmp_path / name, **options)

    return one


def gpx(times, heights=None):
    points = (
        f'<trkpt lat="{46 + 1e-4 * k:.6f}" lon="9.0"><ele>{500 + k if heights is None else heights[k]}</ele>'
        f"<time>{time}</time></trkpt>\n"
        for k, time in enumerate(times)
    )
    return f'<?xml version="1.0"?>\n<gpx version="1.1"><trk><trkseg>{"".join(points)}</trkseg></trk></gpx>'


def igc(clocks, pressure=None, satellite=None):
    """Fixes of an IGC log, one and the same interval of 18.5 m apart."""
    size = len(clocks)
    pressure = [800] * size if pressure is None else pressure
    satellite = [850] * size if satellite is None else satellite
    rows = zip(clocks, pressure, satellite, strict=True)
    fixes = (f"B{c}46{10 * k:05d}N00900000EA{p:05d}{s:05d}\r\n" for k, (c, p, s) in enumerate(rows))
    return "AXXXABC\r\nHFDTE010524\r\n" + "".join(fixes)


def nmea(*bodies):
    return "".join(f"${body}*{checksum(body):02X}\r\n" for body in bodies)


def rmc(clock, k, date="010524"):
    return f"GPRMC,{clock}.00,A,4600.{10 * k:03d},N,00900.000,E,36.0,0.0,{date},,,A"


def gga(clock, k):
    return f"GPGGA,{clock}.00,4600.{10 * k:03d},N,00900.000,E,1,08,1.0,{500 + k}.0,M,48.0,M,,"


def test_time_zones_and_fractions_of_a_second_may_be_mixed(read):
    times = ["2024-05-01T08:00:00Z", "2024-05-01T10:00:01+02:00", "2024-05-01T08:00:02.500Z"]
    times += ["2024-05-01T03:00:03-05:00", "2024-05-01T13:45:04.25+05:45", "2024-05-01T08:00:05.1234567Z"]
    fixes = read("a.gpx", gpx(times))
    np.testing.assert_allclose(fixes.time - seconds(2024, 5, 1, 8), [0, 1, 2.5, 3, 4.25, 5.123456], atol=1e-6)
    assert not any("offset from UTC" in note for note in fixes.notes)


def test_times_without_a_zone_are_taken_as_utc_and_said(read):
    fixes = read("a.gpx", gpx([f"2024-05-01T08:00:{k:02d}" for k in range(9)] + ["2024-05-01T10:00:09+02:00"]))
    np.testing.assert_allclose(fixes.time - seconds(2024, 5, 1, 8), np.arange(10))
    assert "9 times without an offset from UTC were taken as UTC" in fixes.notes


def test_leap_seconds(read):
    """POSIX time has one number for 23:59:60 and the 00:00:00 after it: one of the two fixes goes, and is told."""
    times = ["2016-12-31T23:59:58Z", "2016-12-31T23:59:59Z", "2016-12-31T23:59:60Z", "2017-01-01T00:00:00Z"]
    clocks = [("235958", "311216"), ("235959", "311216"), ("235960", "311216"), ("000000", "010117")]
    more = [("000001", "010117")]
    for fixes in (
        read("a.gpx", gpx([*times, "2017-01-01T00:00:01Z"])),
        read("a.nmea", nmea(*(rmc(clock, k, date) for k, (clock, date) in enumerate(clocks + more)))),
    ):
        np.testing.assert_array_equal(fixes.time - seconds(2016, 12, 31, 23, 59, 58), [0, 1, 2, 3])
        assert any("with the time of the one before" in note for note in fixes.notes)


def test_a_leap_second_by_itself_is_the_second_after_59(read):
    """One fix each two seconds: the leap second is not taken for the second before it."""
    fixes = read("a.gpx", gpx(["2016-12-31T23:59:58Z", "2016-12-31T23:59:60Z", "2017-01-01T00:00:01Z"]))
    np.testing.assert_array_equal(fixes.time - seconds(2016, 12, 31, 23, 59, 58), [0, 2, 3])


@pytest.mark.parametrize("kind", ["igc", "nmea with dates", "nmea of heights alone"])
def test_midnight(read, kind):
    clocks = ["235957", "235958", "235959", "000000", "000001", "000002"]
    dates = ["300424"] * 3 + ["010524"] * 3
    if kind == "igc":
        fixes = read("a.igc", igc(clocks).replace("HFDTE010524", "HFDTE300424"))
    elif kind == "nmea with dates":
        fixes = read("a.nmea", nmea(*(rmc(c, k, d) for k, (c, d) in enumerate(zip(clocks, dates, strict=True)))))
    else:
        fixes = read("a.nmea", nmea(*map(gga, clocks, range(6))), date="2024-04-30")
    np.testing.assert_array_equal(fixes.time - seconds(2024, 4, 30, 23, 59, 57), np.arange(6))
    assert np.unique(fixes.piece).size == 1


@pytest.mark.parametrize("kind", ["igc", "nmea"])
def test_one_wild_clock_makes_no_midnight(read, kind):
    """Five past midnight in the early afternoon, for one second: what follows is still of that day."""
    clocks = [f"1300{k:02d}" if k != 5 else "000500" for k in range(12)]
    fixes = (
        read("a.igc", igc(clocks))
        if kind == "igc"
        else read("a.nmea", nmea(*map(gga, clocks, range(12))), date="2024-05-01")
    )
    assert len(fixes) == 11
    assert fixes.time[-1] == seconds(2024, 5, 1, 13, 0, 11)
    assert any("out of step" in note for note in fixes.notes)


def test_a_long_pause_is_no_midnight_either(read):
    fixes = read("a.igc", igc([f"0600{k:02d}" for k in range(5)] + [f"1900{k:02d}" for k in range(5)]))
    assert fixes.time[-1] == seconds(2024, 5, 1, 19, 0, 4)


def test_a_log_without_a_date_asks_for_it_and_takes_it(read):
    text = nmea(*(rmc(f"0800{k:02d}", k, date="") for k in range(10)))
    with pytest.raises(TrackError, match=r"no RMC sentence that tells it. Give the date \(UTC\)"):
        read("a.nmea", text)
    fixes = read("a.nmea", text, date="2024-05-01")
    assert fixes.time[0] == seconds(2024, 5, 1, 8)
    assert not any("checksum" in note for note in fixes.notes)


def test_places_without_heights_give_no_climb_and_say_so_of_legs(read):
    fixes = read("a.nmea", nmea(*(rmc(f"08{k // 60:02d}{k % 60:02d}", k) for k in range(100))))
    with pytest.raises(TrackError, match="without a height"):
        timed_climb(fixes)
    found = level_legs(fixes)
    assert len(found.chosen) == 1
    assert "height was not recorded and not looked at" in found.assumptions


@pytest.mark.parametrize("kind", ["gpx", "igc", "igc by satellite"])
def test_heights_of_zero_throughout_are_none(read, kind):
    """A level leg in a climb could hide behind a height that the receiver never had."""
    clocks = [f"08{k // 60:02d}{k % 60:02d}" for k in range(100)]
    if kind == "gpx":
        fixes = read("a.gpx", gpx([f"2024-05-01T{c[:2]}:{c[2:4]}:{c[4:]}Z" for c in clocks], [0] * 100))
        assert np.isnan(fixes.altitude).all()
    else:
        fixes = read("a.igc", igc(clocks, [0] * 100, [0] * 100 if kind == "igc" else [850] * 100))
        assert np.isnan(fixes.pressure_altitude).all()
        assert fixes.heights()[1] == "satellite altitude"
        assert np.isnan(fixes.altitude).all() == (kind == "igc")
    assert any("zero throughout: taken as not recorded" in note for note in fixes.notes)


def test_a_barometer_that_falls_silent_writes_zeros(read):
    clocks = [f"08{k // 60:02d}{k % 60:02d}" for k in range(100)]
    pressure = [0 if 40 <= k < 45 else 800 + k for k in range(100)]
    fixes = read("a.igc", igc(clocks, pressure, [850 + k for k in range(100)]))
    assert np.isnan(fixes.pressure_altitude[40:45]).all()
    assert np.isfinite(np.delete(fixes.pressure_altitude, range(40, 45))).all()
    assert "5 pressure altitudes of zero taken as not recorded" in fixes.notes
    # at the sea a pressure altitude of zero is one
    low = read("b.igc", igc(clocks, [k - 50 for k in range(100)], [k - 10 for k in range(100)]))
    assert np.isfinite(low.pressure_altitude).all()
    assert (low.pressure_altitude == 0).sum() == 1


def test_a_day_that_changes_in_the_middle_of_a_log_is_a_break():
    """A receiver that wakes with the date of its factory: what it wrote before it knew better is a piece of its own."""
    time = np.r_[seconds(2004, 9, 15, 8) + np.arange(30.0), seconds(2024, 5, 1, 8, 0, 30) + np.arange(200.0)]
    count = time.size
    fixes = build(
        time, np.full(count, 0.8), 0.15 + 8e-6 * np.arange(count), np.full(count, 500.0),
        ground_speed=np.full(count, 35.0), track=np.full(count, 1.5),
    )  # fmt: skip
    assert np.unique(fixes.piece).size == 2
    (leg,) = level_legs(fixes).chosen
    assert leg.start > seconds(2024, 5, 1, 8, 0, 30)
