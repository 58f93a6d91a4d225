"""Runs out of a track on a page: what the command line would write, nothing without a word from the pilot."""

from __future__ import annotations

import errno
import os
import re
from html import unescape

import flown_tracks as flown
import pytest
from flown_tracks import BY_HAND, CLIMBS, LEGS, TOML
from worksheet_client import HOST, ORIGIN, Visitor

from samesky.worksheets.evidence import kept_tracks
from samesky.worksheets.server import guard

pytestmark = pytest.mark.usefixtures("drawn_once")


@pytest.fixture
def root(tmp_path):
    return tmp_path / "hangar"


@pytest.fixture
def folder(root):
    return flown.put_campaign(root)


@pytest.fixture
def visitor(root, folder):
    return Visitor(root)


# ---- the same as the command line ----------------------------------------------------------------------------------

BEGUN = {
    "fresh": {},
    "some by hand": {"timed_climb.csv": BY_HAND},
    "other line ends": {"campaign.toml": TOML.replace("\n", "\r\n")},
}


@pytest.mark.parametrize("begun", BEGUN)
@pytest.mark.parametrize(("words", "file"), [(CLIMBS, "flight.igc"), (LEGS, "flight.gpx")])
def test_it_puts_what_the_command_line_writes(root, monkeypatch, begun, words, file):
    folder = flown.put_campaign(root, files=BEGUN[begun])
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    elsewhere = flown.put_campaign(root.parent / "elsewhere", files=BEGUN[begun])
    (root.parent / file).write_bytes(flown.flight(file[-3:]))
    visitor = Visitor(root)
    _, page = flown.looked(visitor, words, file=file)
    assert page.status_code == 200
    assert "Put these 3 rows into the table" in page.text
    answer = flown.put(visitor, page.text)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith(f"/c/mine/runs/{words['measure']}?said=")
    assert "3 rows from the track were put in." in visitor.get(answer.headers["location"]).text
    flown.by_the_command_line(
        monkeypatch, "track", elsewhere, root.parent / file, *flown.options(words), "--write", "--out",
        root.parent / "page.html",
    )  # fmt: skip
    written = flown.typed(elsewhere)
    assert written[f"{words['measure']}.csv"] != before.get(f"{words['measure']}.csv")
    assert flown.typed(folder) == written
    # The files themselves wait for their pilot to save.
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before
    visitor.post("/c/mine/save")
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == written


def test_what_the_page_shows_is_what_the_command_line_says(own_pictures, visitor, root, folder, monkeypatch, capsys):
    (root.parent / "flight.igc").write_bytes(flown.flight())
    _, page = flown.looked(visitor, CLIMBS)
    flown.by_the_command_line(
        monkeypatch, "track", folder, root.parent / "flight.igc", *flown.options(CLIMBS), "--out", root.parent / "page"
    )
    shown = flown.said(page.text)
    printed = "\n".join(" ".join(line.split()) for line in capsys.readouterr().out.splitlines())
    rows = re.findall(r"^run (\d), (\S+ to \S+): (\S+ ± \S+ \S+) \((.*)\)$", printed, re.MULTILINE)
    assert len(rows) == 3, printed
    for number, clock, rate, readings in rows:
        assert f"{number} {clock} {rate} {readings.replace(', ', '; ')}" in shown
    for kind in ("assumed", "to say"):
        sentences = re.findall(rf"^{kind}: (.*)$", printed, re.MULTILINE)
        assert sentences
        for one in sentences:
            assert one[1:] in shown
    # both pictures, in the page itself, with words for those who cannot see them
    pictures = re.findall(
        r'<img src="data:image/svg\+xml;base64,[^"]{1000,}" width="\d+" height="\d+" alt="([^"]+)"', page.text
    )
    assert len(pictures) == 2
    assert all(rows[0][1] in unescape(alt) for alt in pictures)
    assert "img-src 'self' data:" in page.headers["content-security-policy"]
    alone = visitor.get(unescape(re.search(r'href="([^"]+/page\.html[^"]*)"', page.text)[1]))
    assert alone.headers["content-security-policy"] == guard.REPORT_POLICY
    assert alone.text == (root.parent / "page").read_text(encoding="utf-8")


PLANNED = "run,date,clock,configuration,from [ft],to [ft],elapsed [s],notes\n"
PLANNED += "".join(f"{k},2024-05-24,,{key},,,,block {1 + (key == 'B')}\n" for k, key in enumerate("AAAB", 1))


@pytest.mark.parametrize("key", "AB")
def test_planned_rows_are_told_of_on_the_page_as_on_the_command_line(root, monkeypatch, capsys, key):
    folder = flown.put_campaign(root, files={"timed_climb.csv": PLANNED})
    (root.parent / "flight.igc").write_bytes(flown.flight())
    visitor, words = Visitor(root), CLIMBS | {"configuration": key}
    _, page = flown.looked(visitor, words)
    flown.by_the_command_line(
        monkeypatch, "track", folder, root.parent / "flight.igc", *flown.options(words), "--out", root.parent / "page"
    )
    (printed,) = re.findall(r"^planned: (.*)$", capsys.readouterr().out, re.MULTILINE)
    assert printed in flown.said(page.text)
    assert printed in flown.said((root.parent / "page").read_text(encoding="utf-8"))
    assert flown.put(visitor, page.text).status_code == 303
    rows = flown.typed(folder)["timed_climb.csv"].decode().splitlines()[1:]
    if key == "A":
        assert "they fill the planned runs 1, 2 and 3 (block 1), in order" in printed
        assert [row.partition(",")[0] for row in rows] == list("1234")
        assert all("block 1; from the track flight.igc" in row for row in rows[:3])
        assert rows[3] == PLANNED.splitlines()[4]
    else:
        assert "next in the plan is run 1, configuration A" in printed
        assert rows[:4] == PLANNED.splitlines()[1:]
        assert len(rows) == 7


# ---- never a silent choice -----------------------------------------------------------------------------------------


def test_where_the_track_leaves_a_choice_nothing_is_put(visitor, folder):
    where, page = flown.looked(visitor, CLIMBS | {"expected": "1", "bottom": "", "top": ""})
    assert "4 climbs found, 1 expected" in flown.said(page.text)
    assert "/put" not in page.text
    links = re.findall(
        r'<a class="button" href="([^"]+)" aria-label="Take only the climb from ([\d:]+) to ([\d:]+)"', page.text
    )
    assert len(links) == 4
    before = flown.typed(folder)
    word = where.partition("?")[0]
    answer = visitor.post(
        f"{word}/put",
        data={"version": re.search(r'data-version="(\w+)"', page.text)[1]}
        | CLIMBS
        | {"expected": "1", "bottom": "", "top": ""},
    )
    assert answer.status_code == 422
    assert "gives no row: 4 climbs found, 1 expected" in answer.text
    assert flown.typed(folder) == before
    for link, start, end in links:
        one = visitor.get(unescape(link))
        assert f"1 {start} to {end}" in flown.said(one.text)
        assert "Put this row into the table" in one.text
    everything = visitor.get(unescape(re.search(r'href="([^"]+)">All 4 were flown', page.text)[1]))
    assert "Put these 4 rows" in everything.text


def test_legs_are_taken_from_the_first_to_the_last(visitor):
    _, page = flown.looked(visitor, LEGS | {"expected": "1", "legs": ""}, file="flight.gpx")
    assert "/put" not in page.text
    form = re.search(r'<form method="get" action="([^"]+)">.*?</form>', page.text, re.DOTALL)
    clocks = re.findall(r'aria-label="first leg: ([\d:]+) to ([\d:]+)"', form[0])
    assert len(clocks) > 6
    answer = visitor.get(form[1], params=flown.hidden(form[0]) | {"first": "2", "last": "0"})
    assert answer.status_code == 303
    one = flown.said(visitor.get(answer.headers["location"]).text)
    assert "1 set of level legs found (3 legs), as expected" in one
    assert f"1 {clocks[0][0]} to {clocks[2][1]}" in one
    for odd in (
        {"first": "x", "last": "1"},
        {"first": "1"},
        {"first": "0", "last": "99"},
        {"first": "-1", "last": "1"},
    ):
        answer = visitor.get(form[1], params=flown.hidden(form[0]) | odd)
        assert answer.status_code == 422
        assert "/put" not in answer.text


BAD = [
    ({"utc_offset": ""}, "utc_offset", "Is not given"),
    ({"utc_offset": "2"}, "utc_offset", "such as +02:00"),
    ({"utc_offset": "+19:00"}, "utc_offset", "such as +02:00"),
    ({"expected": "0"}, "expected", "from 1 to 200"),
    ({"expected": "many"}, "expected", "from 1 to 200"),
    ({"from": "7 o'clock"}, "from", "no clock time"),
    ({"from": "07:00", "to": "07:00"}, "to", "the same time as the earliest time"),
    ({"from": "01:00", "to": "02:00"}, "from", "The track runs from 2024-05-24 07:30"),
    ({"date": "5/24/24"}, "date", "Found"),
    ({"top": ""}, "bottom", "only one of them"),
    ({"bottom": "900 m", "top": "700 m"}, "top", "not above"),
    ({"bottom": "700"}, "bottom", "no unit"),
    ({"qnh": "30 hPa"}, "qnh", "hard to believe"),
    ({"legs": "3"}, "legs", "belongs to level_speed"),
    ({"measure": ""}, "measure", "Choose what was flown"),
    ({"configuration": ""}, "configuration", "Choose which one"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "field", "says"), BAD, ids=[f"{field}-{k}" for k, (_, field, _) in enumerate(BAD)])
def test_a_slip_is_said_once_and_at_its_field(visitor, words, field, says):
    _, page = flown.looked(visitor, CLIMBS | words)
    assert page.status_code == 422
    assert page.text.count('aria-invalid="true"') == page.text.count('role="alert"') == 1
    box = re.search(rf'<div class="told" data-field="{field}">.*?</div>', page.text, re.DOTALL)[0]
    assert 'aria-invalid="true"' in box
    assert says.casefold() in flown.said(box).casefold()
    assert "/put" not in page.text
    # what was said well stays said
    for name, text in (CLIMBS | words).items():
        if name not in ("measure", "configuration", "expected") and text:
            assert f'name="{name}" value="{text}"' in unescape(page.text)


def test_installations_that_the_runs_beside_do_not_tell_are_asked(root):
    text = "run,date,clock,configuration,installation,from [ft],to [ft],elapsed [s]\n"
    text += "1,2024-05-24,07:00,A,4,1000,2000,70\n2,2024-05-24,12:00,A,5,1000,2000,70\n"
    flown.put_campaign(root, files={"timed_climb.csv": text})
    _, page = flown.looked(Visitor(root), CLIMBS)
    assert page.status_code == 422
    assert "--" not in flown.said(re.search(r'data-field="installation">.*?</div>', page.text, re.DOTALL)[0])
    _, page = flown.looked(Visitor(root), CLIMBS | {"installation": "5"})
    assert "Put these 3 rows" in page.text


def test_a_campaign_that_asks_for_nothing_a_track_gives(root):
    flown.put_campaign(root, files={"campaign.toml": TOML.partition("[measure")[0] + "[measure.static_pull]\n"})
    visitor = Visitor(root)
    assert "asks for none of them" in visitor.get("/c/mine/evidence").text
    answer = flown.upload(visitor, CLIMBS)
    assert answer.status_code == 422
    root2 = root / "torn"
    root2.mkdir()
    (root2 / "campaign.toml").write_text("title = \n")
    assert visitor.get("/c/torn/evidence").status_code == 200
    assert flown.upload(visitor, CLIMBS, name="torn").status_code == 422


# ---- others type as well -------------------------------------------------------------------------------------------


def test_what_was_typed_meanwhile_is_looked_at_again(visitor, folder):
    _, page = flown.looked(visitor, CLIMBS)
    assert visitor.entry("configuration.A", "label", "meanwhile", name="mine").status_code == 200
    before = flown.typed(folder)
    answer = flown.put(visitor, page.text)
    assert answer.status_code == 303
    assert "/evidence/track/" in answer.headers["location"]
    assert flown.typed(folder) == before
    again = visitor.get(answer.headers["location"])
    assert "Something was typed or saved since this was shown" in again.text
    assert flown.put(visitor, again.text).headers["location"].startswith("/c/mine/runs/timed_climb")
    typed = flown.typed(folder)
    assert b'label = "meanwhile"' in typed["campaign.toml"]
    assert typed["timed_climb.csv"].count(b"from the track flight.igc") == 3


def test_no_run_is_put_twice(visitor, folder):
    where, page = flown.looked(visitor, CLIMBS)
    flown.put(visitor, page.text)
    before = flown.typed(folder)
    gone = visitor.get(where)
    assert gone.status_code == 422
    assert "no longer held here" in gone.text
    assert flown.put(visitor, page.text).status_code == 422
    _, page = flown.looked(visitor, CLIMBS)
    assert "is there already" in page.text
    assert "/put" not in page.text
    assert flown.typed(folder) == before


def test_a_track_belongs_to_one_campaign(visitor, root, folder):
    other = flown.put_campaign(root, "other")
    where, page = flown.looked(visitor, CLIMBS)
    word = re.search(r"/evidence/track/([^/?]+)", where)[1]
    assert len(word) >= 20
    for foreign in (where.replace("/c/mine/", "/c/other/"), f"/c/other/evidence/track/{word}/page.html"):
        answer = visitor.get(foreign)
        assert answer.status_code == 422
        assert "flight.igc" not in answer.text
    version = re.search(r'name="version" value="(\w+)"', page.text)[1]
    answer = visitor.post(f"/c/other/evidence/track/{word}/put", data=CLIMBS | {"version": version})
    assert answer.status_code == 422
    assert flown.typed(other) == {"campaign.toml": TOML.encode()}
    # and goes into its own all the same
    assert flown.put(visitor, page.text).status_code == 303
    assert "timed_climb.csv" in flown.typed(folder)
    # behind the door like everything
    stranger = Visitor(root, login=False)
    assert stranger.get(where).status_code == 403
    assert (
        stranger.client.post(where.partition("?")[0] + "/put", headers={"origin": ORIGIN, "host": HOST}).status_code
        == 403
    )


def test_few_tracks_are_held_and_none_on_the_disk(visitor, tmp_path, monkeypatch):
    place = tmp_path / "tmp"
    place.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(place))
    found = [flown.looked(visitor, CLIMBS)[0] for _ in range(kept_tracks.MOST + 1)]
    assert list(place.iterdir()) == []
    assert visitor.get(found[0]).status_code == 422
    assert [visitor.get(one).status_code for one in found[1:]] == [200] * kept_tracks.MOST
    monkeypatch.setattr(kept_tracks, "MOST_FIXES", 1)
    last = flown.upload(visitor, CLIMBS).headers["location"]
    assert [visitor.get(one).status_code for one in (found[-1], last)] == [422, 200]


@pytest.mark.parametrize("fails", [1, 2, 3])
def test_a_full_disk_leaves_what_was_typed_as_it_was(visitor, folder, monkeypatch, fails):
    """Three renames: the draft begun, then each of the two files."""
    _, page = flown.looked(visitor, CLIMBS)
    before = flown.typed(folder)
    honest, count = os.replace, []

    def full(source, target):
        if str(target).endswith((".csv", ".toml")):
            count.append(target)
            if len(count) == fails:
                raise OSError(errno.ENOSPC, "No space left on device")
        return honest(source, target)

    monkeypatch.setattr(os, "replace", full)
    answer = flown.put(visitor, page.text)
    monkeypatch.setattr(os, "replace", honest)
    assert answer.status_code == 507
    assert flown.typed(folder) == before
    # and once there is room it goes through
    answer = flown.put(visitor, page.text)
    if "/evidence/" in answer.headers["location"]:
        answer = flown.put(visitor, visitor.get(answer.headers["location"]).text)
    assert answer.headers["location"].startswith("/c/mine/runs/timed_climb")
    assert flown.typed(folder)["timed_climb.csv"].count(b"from the track") == 3


def test_more_than_may_be_sent_is_told_the_other_way_in(visitor):
    headers = {"content-length": str(guard.LARGEST_BODY + 1), "content-type": "multipart/form-data; boundary=x"}
    answer = visitor.post("/c/mine/evidence/track", headers=headers, content=b"")
    assert answer.status_code == 413
    assert "samesky track" in answer.text
    assert "Up to 30 MB" in visitor.get("/c/mine/evidence").text
