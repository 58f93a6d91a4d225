"""FAI IGC: fixed columns, extensions, midnight, damage. Reference reader: aerofiles."""

from __future__ import annotations

import numpy as np
import pytest

from samesky.instruments.tracks.readers.errors import TrackError
from samesky.instruments.tracks.readers.igc import read_igc

HEAD = "AXXXABC FLIGHT:1\r\nHFFXA035\r\nHFDTE160701\r\nHFPLTPILOTINCHARGE: nobody\r\n"
# time, latitude, longitude, validity, pressure altitude, satellite altitude, FXA, ENL, TDS, GSP, TRT
EXTENDED = "I053638FXA3941ENL4242TDS4347GSP4850TRT\r\n"


def record(clock="160240", lat="5407121N", lon="00249342W", valid="A", pressure="00280", height="00421", more=""):
    return f"B{clock}{lat}{lon}{valid}{pressure}{height}{more}\r\n"


def written(folder, text, name="flight.igc"):
    path = folder / name
    path.write_bytes(text.encode())
    return path


def test_one_record_by_hand(tmp_path):
    # columns of a B record as in the specification's example: 54 07.121 N, 002 49.342 W, 280 m, 421 m
    fixes = read_igc(written(tmp_path, HEAD + record() + record("160241", lat="5407150N")))
    assert fixes.time[0] == 995299360.0  # 2001-07-16 16:02:40 UTC
    assert np.degrees(fixes.latitude[0]) == pytest.approx(54 + 7.121 / 60)
    assert np.degrees(fixes.longitude[0]) == pytest.approx(-(2 + 49.342 / 60))
    assert fixes.pressure_altitude[0] == 280
    assert fixes.altitude[0] == 421
    assert fixes.heights()[1] == "pressure altitude"


def test_agrees_with_aerofiles(tmp_path):
    reader = pytest.importorskip("aerofiles.igc").Reader
    rows = [
        record(f"1602{i:02d}", f"54071{i:02d}N", f"002493{i:02d}W", pressure=f"{280 + i:05d}", height=f"{421 - i:05d}")
        for i in range(40)
    ]
    path = written(tmp_path, HEAD + "".join(rows))
    with path.open() as stream:
        other = reader().read(stream)["fix_records"][1]
    fixes = read_igc(path)
    np.testing.assert_array_equal(fixes.time, [fix["datetime"].timestamp() for fix in other])
    np.testing.assert_allclose(np.degrees(fixes.latitude), [fix["lat"] for fix in other], atol=1e-10)
    np.testing.assert_allclose(np.degrees(fixes.longitude), [fix["lon"] for fix in other], atol=1e-10)
    np.testing.assert_array_equal(fixes.pressure_altitude, [fix["pressure_alt"] for fix in other])
    np.testing.assert_array_equal(fixes.altitude, [fix["gps_alt"] for fix in other])


def test_extensions(tmp_path):
    # accuracy 35, noise 012, tenth of a second 5, 123.45 km/h, 271 degrees
    rows = record(more="035012" + "5" + "12345" + "271") + record("160241", more="035012" + "5" + "12345" + "271")
    fixes = read_igc(written(tmp_path, HEAD + EXTENDED + rows))
    assert fixes.time[0] % 60 == pytest.approx(40.5)
    assert not fixes.computed.any()
    np.testing.assert_allclose(fixes.ground_speed, 123.45 / 3.6)
    np.testing.assert_allclose(np.degrees(fixes.track), 271)


def test_finer_minutes(tmp_path):
    rows = "".join(record(f"16024{i}", more="12") for i in range(3))
    fixes = read_igc(written(tmp_path, HEAD + "I023636LAD3737LOD\r\n" + rows))
    assert np.degrees(fixes.latitude[0]) == pytest.approx(54 + 7.1211 / 60, abs=1e-9)
    assert np.degrees(fixes.longitude[0]) == pytest.approx(-(2 + 49.3422 / 60), abs=1e-9)


@pytest.mark.parametrize("date", ["HFDTE160701", "HFDTEDATE:160701,01", "HFDTEDATE:160701", "HODTE160701"])
def test_date_records_old_and_new(tmp_path, date):
    text = f"AXXXABC\r\n{date}\r\n" + record() + record("160241")
    assert read_igc(written(tmp_path, text)).time[0] == 995299360.0


def test_midnight(tmp_path):
    text = HEAD + "".join(record(clock) for clock in ("235958", "235959", "000000", "000001"))
    np.testing.assert_array_equal(np.diff(read_igc(written(tmp_path, text)).time), 1.0)


def test_two_dimensional_fixes_and_negative_altitudes(tmp_path):
    rows = record(valid="V", pressure="-0012", height="00000") + record("160241", pressure="-0011", height="-0040")
    fixes = read_igc(written(tmp_path, HEAD + rows))
    assert np.isnan(fixes.altitude[0])
    assert fixes.altitude[1] == -40
    np.testing.assert_array_equal(fixes.pressure_altitude, [-12, -11])


def test_recorder_without_barometer(tmp_path):
    fixes = read_igc(written(tmp_path, HEAD + record(pressure="00000") + record("160241", pressure="00000")))
    assert np.isnan(fixes.pressure_altitude).all()
    assert fixes.heights()[1] == "satellite altitude"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (HEAD, "no fixes"),
        ("AXXXABC\r\n" + record() * 2, "no date"),
        (HEAD.replace("160701", "991301") + record(), "the date"),
        (HEAD + record() + "B16024\r\n" * 5, "5 damaged B records"),
    ],
)
def test_bad_files_get_one_clear_message(tmp_path, text, message):
    with pytest.raises(TrackError, match=message):
        read_igc(written(tmp_path, text))


def test_a_file_cut_in_a_record_keeps_the_rest(tmp_path):
    text = HEAD + "".join(record(f"16024{i}") for i in range(5))
    fixes = read_igc(written(tmp_path, text[:-12]))
    assert len(fixes) == 4
    assert "1 damaged or cut B records skipped" in fixes.notes
