"""The name of a file and its content have to agree."""

from __future__ import annotations

import pytest

from samesky.instruments.tracks import TrackError, read_track

GPX = (
    '<?xml version="1.0"?><gpx version="1.1"><trk><trkseg>'
    '<trkpt lat="46" lon="9"><time>2024-05-01T08:00:00Z</time></trkpt>'
    '<trkpt lat="46.001" lon="9"><time>2024-05-01T08:00:03Z</time></trkpt></trkseg></trk></gpx>'
)
IGC = "AXXXABC\r\nHFDTE160701\r\nB1602405407121N00249342WA0028000421\r\nB1602415407150N00249342WA0028000421\r\n"
NMEA = (
    "$GPGGA,195959.00,1813.38282955,N,12606.12767097,E,2,07,1.4,17.2,M,36.5,M,4.0,0129*78\r\n"
    "$GPRMC,195959.00,A,1813.38282955,N,12606.12767097,E,1.31,262.13,160919,3.0,W,D*21\r\n"
    "$GPRMC,200000.00,A,1813.38274046,N,12606.12733500,E,0.60,234.78,160919,3.0,W,D*28\r\n"
)
KML = '<?xml version="1.0"?><kml/>'


def written(folder, name, content):
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.gpx", GPX),
        ("A.GPX", "\ufeff" + GPX),
        ("a.igc", IGC),
        ("a.nmea", NMEA),
        ("a.txt", NMEA),
        ("a.log", IGC),
        ("a", GPX),
    ],
)
def test_each_kind_by_name_or_content(tmp_path, name, content):
    assert len(read_track(written(tmp_path, name, content))) == 2


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("a.gpx", IGC, "named as GPX, but its content is an IGC file. Rename it to .igc"),
        ("a.gpx", NMEA, "named as GPX, but its content is an NMEA 0183 log"),
        ("a.igc", GPX, "named as IGC, but its content is an XML file"),
        ("a.nmea", b"PK\x03\x04rest", "named as NMEA 0183, but its content is a zip archive"),
        ("a.gpx", b"\x1f\x8brest", "a gzip archive"),
        ("a.gpx", "<!doctype html><html></html>", "a web page"),
        ("a.gpx", KML, "an XML file of another kind"),
        ("a.gpx", "", "an empty file"),
        ("a.gpx", b"\x00\x01\x02\x03", "not well-formed"),
        ("a.docx", b"PK\x03\x04", "a file of kind '.docx'"),
        ("a.txt", "fuel 20 l", "neither GPX, NMEA 0183 nor IGC"),
    ],
)
def test_wrong_kinds_are_named(tmp_path, name, content, message):
    with pytest.raises(TrackError, match=message):
        read_track(written(tmp_path, name, content))


def test_missing_file(tmp_path):
    with pytest.raises(TrackError, match="cannot be read"):
        read_track(tmp_path / "none.gpx")


def test_folder_instead_of_file(tmp_path):
    (tmp_path / "a.gpx").mkdir()
    with pytest.raises(TrackError, match="cannot be read"):
        read_track(tmp_path / "a.gpx")
