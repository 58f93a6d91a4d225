"""Whatever happens to a file on the way, a reader gives fixes or one clear message, and nothing else."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from samesky.instruments.tracks import TrackError, level_legs, read_track, takeoff_roll, timed_climb
from samesky.instruments.tracks.readers.nmea import checksum


def gpx(i):
    place = f'lat="{46 + 1e-4 * i:.6f}" lon="9.000"'
    return f"<trkpt {place}><ele>{500 + i}</ele><time>2024-05-01T08:00:{i:02d}Z</time></trkpt>\n"


def igc(i):
    return f"B0800{i:02d}46{i:05d}N00900000EA{500 + i:05d}{510 + i:05d}\r\n"


def nmea(i):
    body = f"GPRMC,0800{i:02d}.00,A,4600.{i:03d},N,00900.000,E,60.0,10.0,010524,,,A"
    return f"${body}*{checksum(body):02X}\r\n"


WHOLE = {
    "a.gpx": '<?xml version="1.0"?>\n<gpx version="1.1"><trk><trkseg>'
    + "".join(map(gpx, range(40)))
    + "</trkseg></trk></gpx>",
    "a.igc": "AXXXABC\r\nHFDTE010524\r\n" + "".join(map(igc, range(40))),
    "a.nmea": "".join(map(nmea, range(40))),
}


def read_or_refusal(path):
    try:
        return read_track(path)
    except TrackError as error:
        return error


@pytest.mark.parametrize("name", WHOLE)
def test_damaged_files(tmp_path, name):
    rng, path = np.random.default_rng(12), tmp_path / name
    whole = WHOLE[name].encode()
    read = 0
    for case in range(300):
        content = bytearray(whole)
        for _ in range(rng.integers(1, 4)):
            at, length = int(rng.integers(len(content))), int(rng.integers(1, 40))
            match int(rng.integers(6)):
                case 0:
                    content[at : at + length] = rng.integers(0, 256, length, dtype=np.uint8).tobytes()
                case 1:
                    del content[at : at + length]
                case 2:
                    content[at:at] = content[at : at + 20 * length]
                case 3:
                    del content[max(at, 1) :]
                case _:  # one digit for another
                    digits = [k for k, letter in enumerate(content) if 48 <= letter <= 57] or [0]
                    content[digits[int(rng.integers(len(digits)))]] = 48 + int(rng.integers(10))
        path.write_bytes(content)
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            fixes = read_or_refusal(path)
        if isinstance(fixes, TrackError):
            assert str(fixes).startswith(name), case
            continue
        assert np.isfinite([fixes.time, fixes.latitude, fixes.longitude]).all()
        read += 1
    assert read > 10


@pytest.mark.parametrize("name", WHOLE)
def test_finders_take_any_short_track(tmp_path, name):
    path = tmp_path / name
    path.write_text(WHOLE[name])
    fixes = read_track(path)
    for count in (2, 3, 5, 40):
        short = fixes.select(slice(0, count))
        for find in (level_legs, takeoff_roll, timed_climb):
            if find is timed_climb and np.isnan(short.heights()[0]).any():
                with pytest.raises(TrackError, match="height"):
                    find(short)
            else:
                assert find(short).reason


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("a.igc", "\r\n", "\u00fc\u00fc\r\n"),  # letters that no recorder writes, behind the columns of a fix
        ("a.nmea", ",10.0,", ",1e999,"),
        ("a.nmea", ",60.0,", ",-1e999,"),
    ],
)
def test_damage_found_by_chance(tmp_path, name, old, new):
    whole = WHOLE[name]
    if name == "a.igc":
        whole = whole.replace("HFDTE010524\r\n", "HFDTE010524\r\nI013637TDS\r\n")
    whole = (
        whole.replace(old, new)
        if name == "a.nmea"
        else "\r\n".join(line + new[:2] if line.startswith("B") else line for line in whole.split("\r\n"))
    )
    if name == "a.nmea":
        bodies = [line.strip()[1:].partition("*")[0] for line in whole.splitlines()]
        whole = "".join(f"${body}*{checksum(body):02X}\r\n" for body in bodies)
    (tmp_path / name).write_text(whole, encoding="utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        fixes = read_track(tmp_path / name)
    assert len(fixes.time) == 40
    assert not np.isinf([fixes.ground_speed, fixes.track]).any()
