"""`samesky track`: shows first, writes when told, and every slip at the keyboard is one message and exit code 2."""

from __future__ import annotations

import numpy as np
import pytest
import track_campaign
from whole_flights import as_gpx, as_igc, see, whole_flight

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.evidence import local_clock as clock

TOML = track_campaign.toml("timed_climb", "level_speed")
BAND = ("--bottom", "700 m", "--top", "1000 m")


@pytest.fixture(scope="module")
def tracks(tmp_path_factory):
    place = tmp_path_factory.mktemp("tracks")
    rng = np.random.default_rng(11)
    seen = see(whole_flight(rng), rng, 1.0, dropouts=1)
    (place / "flight.igc").write_text(as_igc(seen), encoding="utf-8", newline="")
    (place / "flight.gpx").write_text(as_gpx(seen), encoding="utf-8")
    (place / "notes.txt").write_text("climbed well today\n", encoding="utf-8")
    (place / "photo.gpx").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(50))
    (place / "cut.gpx").write_text(as_gpx(seen)[:50_000], encoding="utf-8")
    return place


@pytest.fixture
def folder(tmp_path):
    return track_campaign.put(tmp_path / "mine", TOML)


def listing(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_shown_first_and_written_when_told(run, folder, tracks):
    before = listing(folder)
    words = ("track", folder, tracks / "flight.igc", "--measure", "timed_climb", "--configuration", "A")
    words += ("--utc-offset", "+02:00", "--expected", "3", *BAND)
    code, said, complaint = run(*words)
    assert (code, complaint) == (0, "")
    assert "3 climbs for timed_climb.csv, configuration A." in said
    assert said.count("ft/min (") == 3
    assert "error source: stopwatch: 0 s on elapsed" in said
    assert "The same with --write adds these rows." in said
    after = listing(folder)
    assert after.pop("track.html").startswith(b"<!doctype html>")
    assert after == before
    code, said, _ = run(*words, "--write", "--out", folder / "page.html")
    assert code == 0
    assert "Wrote" in said
    assert "page.html" in listing(folder)
    assert len(read(folder).tables["timed_climb"].rows) == 3
    code, said, complaint = run(*words, "--write")
    assert code == 2
    assert "is there already" in complaint


def test_what_is_open_is_asked_and_nothing_is_written(run, folder, tracks):
    words = ("track", folder, tracks / "flight.igc", "--measure", "timed_climb", "--configuration", "A")
    before = listing(folder)
    for more, expected in (((), 0), (("--write",), 2)):
        code, said, _ = run(*words, *more)
        assert code == expected
        assert "4 climbs found, 1 expected" in said
        assert said.count("Candidate: climb from 05:") == 4
        assert "Nothing was written into the campaign." in said
    assert {name for name in listing(folder)} - set(before) == {"track.html"}
    # one of the candidates, by its times on the local clock
    code, said, _ = run(*words, "--utc-offset", "+05:45", "--from", "11:27", "--to", "11:31")
    assert code == 0
    assert "1 climb for timed_climb.csv" in said


def test_legs(run, folder, tracks):
    words = ("track", folder, tracks / "flight.gpx", "--measure", "level_speed", "--configuration", "B")
    code, said, _ = run(*words, "--expected", "3", "--legs", "3", "--oat", "8 degC", "--qnh", "1015 hPa", "--write")
    assert code == 0
    assert "3 sets of level legs" in said
    assert list(read(folder).tables["level_speed"].columns["oat"]) == pytest.approx([281.15] * 3)


SLIPS = {
    "no track": (("notes.txt",), (), "neither GPX, NMEA 0183 nor IGC"),
    "a picture": (("photo.gpx",), (), "photo.gpx"),
    "cut off": (("cut.gpx",), (), "stops in the middle"),
    "no such file": (("none.gpx",), (), "cannot be read"),
    "measure": ((), ("--measure", "climbing"), "it can give timed_climb"),
    "not asked for": ((), ("--measure", "takeoff_roll"), "has no [measure.takeoff_roll]"),
    "configuration": ((), ("--configuration", "C"), "It has A (as it was), B (changed)"),
    "clock": ((), ("--from", "7 o'clock"), "--from: found"),
    "same clock": ((), ("--from", "07:00", "--to", "07:00"), "the same time"),
    "outside": ((), ("--from", "01:00", "--to", "02:00"), "The track runs from 2024-05-24 05:30"),
    "date": ((), ("--date", "5/24/24"), "--date: found"),
    "offset": ((), ("--utc-offset", "+2 h"), "Write such as +02:00"),
    "far offset": ((), ("--utc-offset", "+19:00"), "Write such as +02:00"),
    "half a band": ((), ("--bottom", "700 m"), "Give both heights"),
    "band upside down": ((), ("--bottom", "900 m", "--top", "700 m"), "not above"),
    "unit": ((), ("--oat", "12"), "has no unit"),
    "unbelievable": ((), ("--qnh", "30 hPa"), "hard to believe"),
    "of another measure": ((), ("--legs", "3"), "belongs to level_speed"),
    "lift-off of a climb": ((), ("--lift-off-speed", "50 kt"), "belongs to takeoff_roll"),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_is_one_message(run, folder, tracks, slip):
    file, more, says = SLIPS[slip]
    words = {"--measure": "timed_climb", "--configuration": "A"} | dict(zip(more[::2], more[1::2], strict=True))
    before = listing(folder)
    options = [word for pair in words.items() for word in pair]
    code, said, complaint = run("track", folder, tracks / (file or ("flight.igc",))[0], *options, "--write")
    assert code == 2
    assert says in complaint
    assert complaint.startswith("samesky: ")
    assert complaint.count("\n") == 1
    assert "Traceback" not in said + complaint
    assert listing(folder) == before


def test_a_folder_that_is_none_and_settings_with_a_fault(run, folder, tracks):
    words = (tracks / "flight.igc", "--measure", "timed_climb", "--configuration", "A")
    code, _, complaint = run("track", folder / "nowhere", *words)
    assert (code, complaint.count("\n")) == (2, 1)
    (folder / "campaign.toml").write_text(TOML.replace('"2 %"', '"2 furlongs"'), encoding="utf-8")
    code, _, complaint = run("track", folder, *words)
    assert code == 2
    assert "2 furlongs" in complaint


@pytest.mark.parametrize(
    ("text", "hours"), [("+02:00", 2.0), ("-05", -5.0), ("UTC+5:45", 5.75), ("z", 0.0), ("\u221209:30", -9.5)]
)
def test_offsets(text, hours):
    assert clock.utc_offset(text, "--utc-offset") == hours


DAY = 86_400.0
CALLED = {"from": "--from", "to": "--to", "date": "--date", "utc_offset": "--utc-offset"}


def test_times_of_the_local_clock():
    """2024-05-24 22:00 to 2024-05-25 02:00 UTC, seen at UTC+2: 00:00 to 04:00 on the 25th."""
    begin = 1_716_588_000.0
    span = begin, begin + 4 * 3600
    assert clock.moments(None, None, None, span, 2.0, CALLED) is None
    assert clock.moments("01:00", "02:30", None, span, 2.0, CALLED) == (begin + 3600, begin + 9000)
    # over midnight of the local clock, which the track of UTC has inside
    assert clock.moments("23:30", "00:30", None, span, 0.0, CALLED) == (begin + 5400, begin + 9000)
    first, last = clock.moments("03:00", None, None, span, 2.0, CALLED)
    assert (first, last > span[1]) == (begin + 3 * 3600, True)
    with pytest.raises(CampaignError, match="several days"):
        clock.moments("22:30", "23:00", None, (begin, begin + 2 * DAY), 0.0, CALLED)
    assert clock.moments("22:30", "23:00", "2024-05-25", (begin, begin + 2 * DAY), 0.0, CALLED) == (
        begin + DAY + 1800,
        begin + DAY + 3600,
    )
