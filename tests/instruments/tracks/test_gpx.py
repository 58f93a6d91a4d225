"""GPX 1.1: values, layouts, damage and malice. Reference reader: gpxpy."""

from __future__ import annotations

import tracemalloc

import gpxpy
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from samesky.instruments.tracks.readers.errors import TrackError
from samesky.instruments.tracks.readers.gpx import read_gpx

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="made up" xmlns="http://www.topografix.com/GPX/1/1">\n'


def point(second, more=""):
    clock = f"2024-05-01T{8 + second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}Z"
    place = f'lat="{46.0 + 1e-4 * second:.7f}" lon="9.0"'
    return f"<trkpt {place}><ele>{500 + second % 7}</ele><time>{clock}</time>{more}</trkpt>\n"


def written(folder, body, name="flight.gpx"):
    path = folder / name
    path.write_text(HEAD + body, encoding="utf-8")
    return path


def a_track(count=60, more=""):
    return "<trk><trkseg>" + "".join(point(i, more=more) for i in range(count)) + "</trkseg></trk></gpx>"


def test_agrees_with_gpxpy(tmp_path):
    body = (
        '<metadata><time>2020-01-01T00:00:00Z</time></metadata><wpt lat="1" lon="2"><ele>9</ele></wpt>'
        '<rte><rtept lat="3" lon="4"/></rte><trk><name>one &amp; two</name><trkseg>'
        + "".join(point(i) for i in range(50))
        + "</trkseg><trkseg>"
        + "".join(point(i) for i in range(50, 120))
        + "</trkseg></trk></gpx>"
    )
    path = written(tmp_path, body)
    with path.open() as stream:
        points = [p for t in gpxpy.parse(stream).tracks for s in t.segments for p in s.points]
    fixes = read_gpx(path)
    assert len(fixes) == len(points) == 120
    np.testing.assert_array_equal(fixes.time, [p.time.timestamp() for p in points])
    np.testing.assert_allclose(np.degrees(fixes.latitude), [p.latitude for p in points], rtol=1e-14)
    np.testing.assert_array_equal(fixes.altitude, [p.elevation for p in points])


def test_speed_and_course_from_an_extension_of_any_prefix(tmp_path):
    more = '<extensions><a:more xmlns:a="urn:x"><a:speed>31.5</a:speed><a:course>90</a:course></a:more></extensions>'
    fixes = read_gpx(written(tmp_path, a_track(more=more)))
    assert not fixes.computed.any()
    assert (fixes.ground_speed == 31.5).all()
    np.testing.assert_allclose(fixes.track, np.pi / 2)


def test_a_time_inside_an_extension_is_not_the_fix_time(tmp_path):
    more = "<extensions><time>1999-01-01T00:00:00Z</time></extensions>"
    assert read_gpx(written(tmp_path, a_track(more=more))).time[0] == 1714550400.0


@pytest.mark.parametrize(
    "layout",
    [
        "<trkpt lon='{o}' lat='{a}'><time>{t}</time><ele>{e}</ele></trkpt>",
        '<trkpt lat="{a}" lon="{o}">\r\n\t<ele> {e} </ele>\r\n\t<time>{t}</time><sat>9</sat>\r\n</trkpt>\r\n',
    ],
)
def test_order_and_white_space_are_free(tmp_path, layout):
    points = "".join(
        layout.format(a=46 + i / 1e4, o=9 + i / 1e3, e=500 + i, t=f"2024-05-01T08:00:{i:02d}Z") for i in range(60)
    )
    fixes = read_gpx(written(tmp_path, f"<trk><trkseg>{points}</trkseg></trk></gpx>"))
    np.testing.assert_array_equal(fixes.time - 1714550400.0, np.arange(60))
    np.testing.assert_allclose(np.degrees(fixes.latitude), 46 + np.arange(60) / 1e4)
    np.testing.assert_allclose(np.degrees(fixes.longitude), 9 + np.arange(60) / 1e3)
    np.testing.assert_array_equal(fixes.altitude, 500 + np.arange(60))


@pytest.mark.parametrize("hidden", ["<!-- {} -->", "<name><![CDATA[{}]]></name>", "<?note {}?>"])
def test_points_that_are_only_spoken_of_are_none(tmp_path, hidden):
    body = a_track(60).replace("</trkseg>", hidden.format(point(70)) + point(80) + "</trkseg>")
    assert len(read_gpx(written(tmp_path, body))) == 61


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 3999), st.integers(0, 255))
def test_any_damaged_byte_is_read_or_refused_plainly(tmp_path_factory, at, byte):
    path = written(tmp_path_factory.mktemp("damage"), a_track(40))
    data = bytearray(path.read_bytes())
    data[at * len(data) // 4000] = byte
    path.write_bytes(data)
    try:
        told = len(read_gpx(path))
    except TrackError as refused:
        told = str(refused)
    assert told in range(35, 42) or str(told).startswith("flight.gpx")


def test_prefixed_names(tmp_path):
    body = a_track(5)
    for tag in ("trk", "trkseg", "trkpt", "ele", "time"):
        body = (
            body.replace(f"<{tag}>", f"<g:{tag}>").replace(f"</{tag}>", f"</g:{tag}>").replace(f"<{tag} ", f"<g:{tag} ")
        )
    path = tmp_path / "flight.gpx"
    path.write_text(
        '<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1" version="1.1">' + body.replace("</gpx>", "</g:gpx>")
    )
    assert len(read_gpx(path)) == 5


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("2024-05-01T08:00:00Z", 0.0),
        ("2024-05-01T08:00:00.250Z", 0.25),
        ("2024-05-01T10:00:00+02:00", 0.0),
        ("2024-05-01T08:00:00", 0.0),
        ("2024-04-30T08:00:00Z", -86400.0),
    ],
)
def test_times(tmp_path, text, seconds):
    first = f'<trkpt lat="46" lon="9"><time>{text}</time></trkpt>'
    fixes = read_gpx(written(tmp_path, f"<trk><trkseg>{first}{point(3600)}</trkseg></trk></gpx>"))
    assert fixes.time[0] == 1714550400.0 + seconds
    assert fixes.time[1] == 1714550400.0 + 3600


def test_fractions_of_a_second_in_one_layout(tmp_path):
    points = "".join(point(i).replace("Z<", ".125Z<") for i in range(9))
    fixes = read_gpx(written(tmp_path, f"<trk><trkseg>{points}</trkseg></trk></gpx>"))
    np.testing.assert_array_equal(fixes.time, 1714550400.125 + np.arange(9))


BOMB = (
    """<?xml version="1.0"?>
<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa">"""
    + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 20}">' for i in range(9))
    + ']>\n<gpx version="1.1"><trk><name>&j;</name></trk></gpx>'
)


@pytest.mark.parametrize(
    "text",
    [
        BOMB,
        '<!DOCTYPE gpx [<!ENTITY x SYSTEM "{secret}">]><gpx><trk><name>&x;</name></trk></gpx>',
        '<!DOCTYPE gpx SYSTEM "http://example.invalid/evil.dtd"><gpx/>',
        '<!DOCTYPE gpx [<!ENTITY % p SYSTEM "{secret}"> %p;]><gpx/>',
        "<!DOCTYPE gpx><gpx/>",
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_document_types_are_refused_unread(tmp_path, text, encoding):
    secret = tmp_path / "secret.txt"
    secret.write_text("never to be read")
    path = tmp_path / "flight.gpx"
    text = text.replace("{secret}", secret.as_uri())
    path.write_bytes(text.encode(encoding))
    with pytest.raises(TrackError, match="document type declaration") as caught:
        read_gpx(path)
    assert "never" not in str(caught.value)


def test_an_entity_without_a_document_type_is_malformed(tmp_path):
    with pytest.raises(TrackError, match="not well-formed XML"):
        read_gpx(written(tmp_path, "<trk><name>&x;</name></trk></gpx>"))


def test_truncated_file_says_so_and_can_be_kept(tmp_path):
    path = written(tmp_path, a_track(60))
    path.write_bytes(path.read_bytes()[:-800])
    with pytest.raises(TrackError, match=r"stops in the middle, after 5\d fixes") as refused:
        read_gpx(path)
    # What a person can do, not what a program could be told.
    assert "Copy it from the receiver again" in str(refused.value)
    assert "_" not in str(refused.value)
    fixes = read_gpx(path, allow_truncated=True)
    assert 50 < len(fixes) < 60
    assert any("stops in the middle" in note for note in fixes.notes)


@pytest.mark.parametrize(
    ("body", "message"),
    [
        ("<trk><trkseg></trkseg></trk></gpx>", "no track points"),
        ('<trk><trkseg><trkpt lat="46" lon="9"/></trkseg></trk></gpx>', "without times"),
        (a_track(5).replace('lat="46.0000', 'lat="46,0000'), "lat of track point 1 is '46,0000000'"),
        (a_track(5).replace("<ele>503", "<ele>high"), "ele of track point 4 is 'high'"),
        (a_track(5).replace("2024-05-01T08:00:02Z", "yesterday"), "the time 'yesterday'"),
        (a_track(5).replace("T08:00:02Z", "T08:61:02Z"), "the time '2024-05-01T08:61:02Z'"),
        (a_track(5).replace("2024-05-01T", "2024-02-30T"), "the time '2024-02-30T"),
        (a_track(5).replace("</trkseg>", "</trkpt>"), "not well-formed XML"),
        ("<a>" * 40, "nested too deep"),
        ('<trkpt lat="1" lon="1"><trkpt lat="1" lon="1"/></trkpt></gpx>', "inside a track point"),
    ],
)
def test_bad_files_get_one_clear_message(tmp_path, body, message):
    with pytest.raises(TrackError, match=message) as caught:
        read_gpx(written(tmp_path, body))
    assert str(caught.value).startswith("flight.gpx")


def test_other_xml_is_refused(tmp_path):
    path = tmp_path / "flight.gpx"
    path.write_text("<kml><Document/></kml>")
    with pytest.raises(TrackError, match="another kind"):
        read_gpx(path)


@pytest.mark.parametrize("encoding", ["UTF-9", "shift_jis", "rot13", "idna", "hex", "-", "x" * 5000])
def test_an_encoding_that_is_not_known(tmp_path, encoding):
    path = tmp_path / "flight.gpx"
    path.write_text((HEAD + a_track(5)).replace("UTF-8", encoding), encoding="utf-8")
    with pytest.raises(TrackError, match=r"flight\.gpx"):
        read_gpx(path)


def test_memory_stays_near_the_numbers(tmp_path):
    count = 120_000
    clock = [f"{np.datetime64(1714550400 + i, 's')}Z" for i in range(count)]
    points = "".join(f'<trkpt lat="46.1" lon="9"><ele>{i}</ele><time>{t}</time></trkpt>' for i, t in enumerate(clock))
    path = written(tmp_path, f"<trk><trkseg>{points}</trkseg></trk></gpx>")
    del points, clock
    tracemalloc.start()
    fixes = read_gpx(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(fixes) == count
    # a few times the columns themselves plus one block of texts (8192 points of six texts); a tree takes 1 kB a point
    assert peak < 400 * count
