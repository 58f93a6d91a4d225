"""Files made to do harm, damaged, or something else, dropped where a track belongs: one sentence, and nothing done."""

from __future__ import annotations

import gzip
import io
import re
import zipfile
from html import unescape

import flown_tracks as flown
import pytest
from flown_tracks import CLIMBS
from parsed_page import Parsed, harmless
from worksheet_client import Visitor

SECRET = "what nobody outside may read"


@pytest.fixture
def folder(tmp_path):
    return flown.put_campaign(tmp_path / "hangar")


@pytest.fixture
def visitor(folder):
    return Visitor(folder.parent)


def zipped(data: bytes) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("flight.gpx", data)
    return stream.getvalue()


def gpx(declared: str = "", inside: str = "") -> bytes:
    head = f'<?xml version="1.0"?>\n{declared}<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'
    point = '<trkpt lat="46" lon="9"><ele>100</ele><time>2024-05-24T05:30:00Z</time></trkpt>'
    return f"{head}<trk><name>{inside}</name><trkseg>{point}</trkseg></trk></gpx>".encode()


BOMB = "<!DOCTYPE gpx [" + '<!ENTITY a "ha">' + "".join(
    f'<!ENTITY {chr(98 + k)} "{10 * f"&{chr(97 + k)};"}">' for k in range(9)
) + "]>\n"  # fmt: skip

HOSTILE = {
    "bomb": ("flight.gpx", lambda _: gpx(BOMB, "&j;"), "document type"),
    "outside": ("flight.gpx", lambda path: gpx(f'<!DOCTYPE gpx [<!ENTITY x SYSTEM "{path.as_uri()}">]>', "&x;"),
                "document type"),
    "parameter": ("flight.gpx", lambda path: gpx(f'<!DOCTYPE gpx [<!ENTITY % x SYSTEM "{path.as_uri()}"> %x;]>'),
                  "document type"),
    "zip": ("flight.gpx", lambda _: zipped(flown.flight("gpx")), "a zip archive"),
    "zip by its name": ("flight.zip", lambda _: zipped(flown.flight("gpx")), "of kind '.zip'"),
    "gzip": ("flight.gpx", lambda _: gzip.compress(flown.flight("gpx")), "a gzip archive"),
    "cut": ("flight.gpx", lambda _: flown.flight("gpx")[:50_000], "Copy it from the receiver again"),
    "cut in a sentence": ("flight.igc", lambda _: flown.flight()[:60], "no fixes"),
    "empty": ("flight.gpx", lambda _: b"", "an empty file"),
    "blank": ("flight.igc", lambda _: b"\r\n \r\n", "an empty file"),
    "wrong kind by name": ("flight.gpx", lambda _: flown.flight("igc"), "its content is an IGC file"),
    "web page": ("flight.gpx", lambda _: b"<!doctype html><html><script>alert(1)</script></html>", "a web page"),
    "program": ("flight.exe", lambda _: b"MZ\x90" + bytes(999), "of kind '.exe'"),
    "device": ("nul.gpx", lambda _: b"\x00" * 4096, "gpx"),
    "noise": ("flight.nmea", lambda _: bytes(range(256)) * 99, "flight.nmea"),
    "not text": ("flight.gpx", lambda _: b"\xff\xfe" + b"<gpx" * 50, "flight.gpx"),
    "one point": ("flight.gpx", lambda _: gpx(), "flight.gpx"),
    "deep": ("flight.gpx", lambda _: b'<?xml version="1.0"?><gpx>' + b"<a>" * 100_000, "flight.gpx"),
    "way up": ("../../../campaign.toml", lambda _: b"x", "of kind '.toml'"),
    "markup": ('"><img src=x onerror=alert(1)>.gpx', lambda _: b"<gpx", "onerror=alert(1)>.gpx, line 1"),
    "no name": ("...", lambda _: b"x", "..."),
}  # fmt: skip


@pytest.mark.parametrize("kind", HOSTILE)
def test_it_is_refused_in_one_sentence(visitor, folder, tmp_path, monkeypatch, kind):
    (tmp_path / "secret.txt").write_text(SECRET, encoding="utf-8")
    place = tmp_path / "tmp"
    place.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(place))
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    name, make, says = HOSTILE[kind]
    answer = flown.upload(visitor, CLIMBS, make(tmp_path / "secret.txt"), name)
    if answer.status_code == 303:
        # A track, if a poor one: then it is refused where it is looked at.
        answer = visitor.get(answer.headers["location"])
    assert answer.status_code in (200, 422)
    page = harmless(answer.text) if answer.status_code == 422 else Parsed(answer.text)
    text = "".join(page.said)
    assert SECRET not in answer.text
    assert "Traceback" not in text
    assert "hahaha" not in text
    assert "/put" not in answer.text
    if answer.status_code == 422:
        assert says in text
        (alert,) = re.findall(r'<(?:span|p) class="(?:wrong|problem)" role="alert">(.*?)</', answer.text)
        assert says in unescape(alert)
        assert len(alert) < 400
        assert str(place) not in answer.text
        # what was chosen beside the file stays chosen
        assert 'value="+02:00"' in unescape(answer.text)
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    assert list(place.iterdir()) == []
    assert sorted(path.name for path in folder.parent.parent.iterdir()) == ["hangar", "secret.txt", "tmp"]


EVIL = ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "{{7*7}}", "=cmd|' /C calc'!A0", "a\r\nb, \"c\"",
        "../../../../etc/passwd", "\u202egpx.exe"]  # fmt: skip


@pytest.mark.parametrize("evil", EVIL)
def test_words_in_a_track_and_in_its_name_stay_words(visitor, folder, evil):
    data = flown.flight("gpx").replace(b"<trk>", b"<trk><name><![CDATA[" + evil.encode() + b"]]></name>")
    _, page = flown.looked(visitor, CLIMBS | {"oat": "8 degC", "qnh": "1015 hPa"}, data=data, file=f"{evil}.gpx")
    assert page.status_code == 200
    seen = Parsed(page.text)
    assert not seen.handlers
    assert [attributes.get("src") for attributes, _ in seen.scripts] == ["/static/worksheet.js"]
    assert seen.tags.count("img") == 2
    assert "onerror=alert(1)>" not in re.sub(r'value="[^"]*"|alt="[^"]*"', "", page.text)
    assert flown.put(visitor, page.text).status_code == 303
    harmless(visitor.get("/c/mine/runs/timed_climb").text)
    notes = [line.split(",")[-1] for line in flown.typed(folder)["timed_climb.csv"].decode().splitlines()[-3:]]
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in notes)
    # no path came along, and the rows are three
    assert "etc/passwd" not in flown.typed(folder)["timed_climb.csv"].decode()
    state = visitor.get("/c/mine/runs/timed_climb/state", headers={"accept": "application/json"}).json()
    filled = [row for row in state["rows"] if any(row)]
    assert len(filled) == 3
    assert all(row[-1].startswith("from the track ") for row in filled)


ODD = [
    {"word": "nothing"}, {"word": "a" * 5000}, {"word": "%00"}, {"word": "..%2f..%2fcampaign.toml"},
    {"measure": "<b>x</b>"}, {"configuration": "<b>Z</b>"}, {"expected": "9" * 5000}, {"from": "\u0660\u0667:00"},
    {"utc_offset": "+\u0662"}, {"bottom": "1e999 m"}, {"top": "nan m"}, {"date": "9999-99-99"}, {"legs": "1_0"},
    {"installation": "<script>"}, {"measure": "static_pull"},
]  # fmt: skip


@pytest.mark.parametrize("odd", ODD, ids=str)
def test_what_no_page_sends_is_refused_in_words(visitor, folder, odd):
    where, _ = flown.looked(visitor, CLIMBS)
    before = flown.typed(folder)
    word = odd.get("word", re.search(r"/track/([^/?]+)", where)[1])
    words = CLIMBS | {name: text for name, text in odd.items() if name != "word"}
    for answer in (
        visitor.get(f"/c/mine/evidence/track/{word}", params=words),
        visitor.get(f"/c/mine/evidence/track/{word}/page.html", params=words),
        visitor.post(f"/c/mine/evidence/track/{word}/put", data=words | {"version": "x"}),
    ):
        assert answer.status_code in (200, 303, 404, 422)
        if "installation" not in odd:
            assert answer.status_code in (404, 422)
            harmless(answer.text)
        assert "Traceback" not in answer.text
        assert "<b>" not in answer.text
    assert flown.typed(folder) == before


@pytest.mark.parametrize("where", ["track", "weather", "track/x/put"])
def test_a_form_that_is_none(visitor, where):
    for body, kind in ((b"\xff" * 99, "multipart/form-data; boundary=x"), (b"a=b", "text/plain"), (b"", "multipart/x"),
                       (b"--x\r\nContent-Disposition: form-data; name=a\r\n\r\n" + b"a" * 3_000_000 + b"\r\n--x--\r\n",
                        "multipart/form-data; boundary=x")):  # fmt: skip
        answer = visitor.post(f"/c/mine/evidence/{where}", content=body, headers={"content-type": kind})
        assert answer.status_code in (400, 422)
        harmless(answer.text)
