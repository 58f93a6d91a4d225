"""NMEA 0183: recorded sentences of open logs, checksums, dates, damage. Reference decoder: pynmea2."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.instruments.tracks.readers.errors import TrackError
from samesky.instruments.tracks.readers.nmea import checksum, read_nmea

# Three seconds of a research ship's raw log (NOAA Physical Sciences Laboratory, PISTON cruise 2019, gps01925920), with
# the logger's own time stamps before the sentences.
SHIP = """\
0000045 $GPGGA,195959.00,1813.38282955,N,12606.12767097,E,2,07,1.4,17.2,M,36.5,M,4.0,0129*78
0000088 $GPGLL,1813.38282955,N,12606.12767097,E,195959.00,A,D*6D
0000125 $GPVTG,262.13,T,265.08,M,1.31,N,2.43,K,D*2D
0000171 $GPRMC,195959.00,A,1813.38282955,N,12606.12767097,E,1.31,262.13,160919,3.0,W,D*21
0001044 $GPGGA,200000.00,1813.38274046,N,12606.12733500,E,2,07,1.4,17.3,M,36.5,M,5.0,0129*7A
0001123 $GPVTG,234.78,T,237.74,M,0.60,N,1.12,K,D*2D
0001170 $GPRMC,200000.00,A,1813.38274046,N,12606.12733500,E,0.60,234.78,160919,3.0,W,D*28
"""


def sentence(body):
    return f"${body}*{checksum(body):02X}\r\n"


def rmc(clock, date="010524", lat="4600.000", speed="60.0", valid="A", course="90.0"):
    return sentence(f"GNRMC,{clock},{valid},{lat},N,00900.000,E,{speed},{course},{date},,,A")


def gga(clock, lat="4600.000", quality=1, altitude="512.5"):
    return sentence(f"GNGGA,{clock},{lat},N,00900.000,E,{quality},08,1.0,{altitude},M,47.0,M,,")


def written(folder, text, name="flight.nmea"):
    path = folder / name
    path.write_bytes(text.encode())
    return path


@pytest.mark.parametrize(
    ("body", "printed"),
    [
        ("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,", "47"),  # printed in many receiver manuals
        ("GPVTG,353.67,T,353.86,M,1.43,N,2.65,K,A", "2B"),  # recorded, open survey log, Deltares OpenEarth
        ("GPRMC,195959.00,A,1813.38282955,N,12606.12767097,E,1.31,262.13,160919,3.0,W,D", "21"),  # the ship's log
    ],
)
def test_checksum_against_recorded_sentences(body, printed):
    assert f"{checksum(body):02X}" == printed


def test_a_recorded_log_against_pynmea2(tmp_path):
    pynmea2 = pytest.importorskip("pynmea2")
    fixes = read_nmea(written(tmp_path, SHIP))
    assert len(fixes) == 2
    # 2019-09-16 19:59:59 UTC
    assert fixes.time[0] == 1568663999.0
    lines = [pynmea2.parse(line[line.index("$") :]) for line in SHIP.splitlines()]
    assert np.degrees(fixes.latitude[0]) == pytest.approx(lines[3].latitude, abs=1e-12)
    assert np.degrees(fixes.longitude[1]) == pytest.approx(lines[6].longitude, abs=1e-12)
    assert fixes.altitude[1] == lines[4].altitude == 17.3
    assert np.degrees(fixes.track[0]) == pytest.approx(lines[3].true_course)
    # the sentence that speaks last of one instant counts: VTG 0.60 kt = 1.12 km/h, RMC 0.60 kt
    assert fixes.ground_speed[1] == pytest.approx(1.12 / 3.6, abs=0.01)


def test_midnight_with_and_without_dates(tmp_path):
    clocks = ["235958.00", "235959.00", "000000.00", "000001.00"]
    dates = ["010524", "010524", "020524", "020524"]
    dated = "".join(rmc(clock, date) + gga(clock) for clock, date in zip(clocks, dates, strict=True))
    fixes = read_nmea(written(tmp_path, dated))
    np.testing.assert_array_equal(np.diff(fixes.time), 1.0)
    undated = "".join(gga(clock) for clock in clocks)
    fixes = read_nmea(written(tmp_path, undated), date="2024-05-01")
    np.testing.assert_array_equal(fixes.time, 1714607998.0 + np.arange(4))


def test_gga_across_midnight_between_dated_sentences(tmp_path):
    text = rmc("235958.00") + gga("235958.00") + gga("235959.00") + gga("000000.00") + rmc("000001.00", "020524")
    np.testing.assert_array_equal(np.diff(read_nmea(written(tmp_path, text)).time), 1.0)


def test_two_digit_years(tmp_path):
    assert read_nmea(written(tmp_path, rmc("080000", "010198") + rmc("080001", "010198"))).time[0] == 883641600.0


def test_damaged_and_void_sentences_are_counted(tmp_path):
    good = "".join(rmc(f"0800{i:02d}.00") for i in range(20))
    bad = rmc("080030.00").replace("60.0", "66.0")
    fixes = read_nmea(written(tmp_path, good + bad + rmc("080031.00", valid="V") + rmc("080032.00")[:30]))
    assert len(fixes) == 20
    assert any(note.startswith("2 sentences with a wrong checksum") for note in fixes.notes)
    assert any(note.startswith("1 sentences marked not valid") for note in fixes.notes)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("hello\nworld\n", "no NMEA 0183 sentences"),
        (rmc("080000.00").replace("60.0", "66.0") * 5, "5 of 5 sentences have a wrong checksum"),
        (gga("080000.00") + gga("080001.00"), "no date: the log has no RMC"),
        (rmc("080000.00", valid="V") * 3, "no NMEA 0183 sentences|no valid fix"),
        (rmc("257000.00") * 3, "3 of 3"),
        ("$GPRMC,\0\n", "not a text file"),
    ],
)
def test_bad_logs_get_one_clear_message(tmp_path, text, message):
    with pytest.raises(TrackError, match=message):
        read_nmea(written(tmp_path, text))


def test_a_line_without_end_does_not_fill_the_memory(tmp_path):
    text = rmc("080000.00") + "$GPRMC," + "9" * 3_000_000 + "\n" + rmc("080001.00")
    assert len(read_nmea(written(tmp_path, text))) == 2
