"""The verb for weather reports: shows first, writes when told, refuses in one message."""

from __future__ import annotations

import io
import sys

import pytest

TOML = """\
[configuration.A]
[configuration.B]
[runway.09]
heading = "90 deg"
elevation = "300 ft"
[measure.takeoff_roll]
smallest_difference_that_matters = "5 %"
"""
ROLL = """\
run,date,clock,configuration,ground roll [ft],oat [degC]
1,2025-06-14,07:00,A,412,
2,2025-06-14,08:00,B,398,
"""
REPORTS = """\
METAR XXXX 140450Z 09005KT CAVOK 11/06 Q1015
METAR XXXX 140550Z 10007KT CAVOK 12/06 Q1014=
"""


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "mine"
    place.mkdir()
    (place / "campaign.toml").write_text(TOML, encoding="utf-8")
    (place / "takeoff_roll.csv").write_text(ROLL, encoding="utf-8")
    (tmp_path / "reports.txt").write_text(REPORTS, encoding="utf-8")
    return place


@pytest.fixture
def weather(run, monkeypatch):
    def one(*words, piped: bytes = b""):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(piped)))
        return run("weather", *words)

    return one


def test_it_shows_first_and_writes_when_told(weather, folder):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    code, said, _ = weather(folder, folder.parent / "reports.txt", "--utc-offset", "+02:00")
    assert code == 0
    assert "2 reports of XXXX: 2025-06-14 04:50 to 2025-06-14 05:50 UTC" in said
    assert "row 2, run 1: oat 11.2 degC, qnh 1015.3 hPa" in said
    assert "Nothing was written" in said
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    code, said, _ = weather(folder, "-", "--utc-offset", "+2", "--write", piped=REPORTS.encode())
    assert code == 0
    assert "1,2025-06-14,07:00,A,412,11.2" in (folder / "takeoff_roll.csv").read_text(encoding="utf-8")
    code, said, _ = weather(folder, "-", "--utc-offset", "+2", "--write", piped=REPORTS.encode())
    assert "Nothing to fill in" in said


def test_the_offset_is_never_guessed(weather, folder):
    code, _, complaint = weather(folder, folder.parent / "reports.txt")
    assert code == 2
    assert "--utc-offset" in complaint


@pytest.mark.parametrize(
    ("words", "piped", "said"),
    [
        (("--utc-offset", "CEST"), REPORTS.encode(), "such as +02:00"),
        (("--utc-offset", "2"), REPORTS.encode(), "such as +02:00"),
        (("--utc-offset", "+19"), REPORTS.encode(), "from -12 to 14 hours"),
        (("--utc-offset", "-05:00"), REPORTS.encode(), "6 h 10 min away"),
        (("--utc-offset", "Z"), b"\x00\x01\x02", "not text"),
        (("--utc-offset", "Z"), b"<script>alert(1)</script>", "no METAR or SPECI"),
        (("--utc-offset", "Z", "--wing-height", "3"), REPORTS.encode(), "1.5 m"),
        (("--utc-offset", "+02:00", "--wing-height", "0 m"), REPORTS.encode(), "above the roughness"),
    ],
)
def test_bad_input_is_one_message_and_changes_nothing(weather, folder, words, piped, said):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    code, out, complaint = weather(folder, "-", *words, "--write", piped=piped)
    assert code == 2
    assert said in complaint
    assert "Traceback" not in out + complaint
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_file_that_is_not_there(weather, folder):
    code, _, complaint = weather(folder, folder / "nowhere.txt", "--utc-offset", "Z")
    assert code == 2
    assert "nowhere.txt" in complaint
