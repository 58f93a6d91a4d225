"""Weather reports and the airspeed system on the evidence page: the same texts and numbers as everywhere else."""

from __future__ import annotations

import re
from html import unescape

import flown_tracks as flown
import pytest
from parsed_page import harmless
from worksheet_client import Visitor

from samesky import units
from samesky.campaign.reading.read import read
from samesky.campaign.reading.template import measure_file
from samesky.checks.check import check
from samesky.measures.airspeed_calibration import CALIBRATION
from samesky.worksheets.runs.columns import calibration_file, measures_of

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
# mown

run,date,clock,configuration,ground roll [ft],oat [degC],qnh [hPa]
1,2025-06-14,07:00,A,412,,1022
2,2025-06-14,08:00,B,398,,1014.5
"""
REPORTS = """\
METAR XXXX 140450Z 09005KT CAVOK 11/06 Q1015
METAR XXXX 140550Z 10007KT CAVOK 12/06 Q1014=
"""
WORDS = {"reports": REPORTS, "utc_offset": "+02:00", "wing_height": "1.5 m"}
#: Points 1, 3, 4 and 6 of a printed flight data sheet (rows T4-040 to T4-060), standard temperature at 7 500 ft.
PRINTED = """\
run,airspeed [kt],altitude [ft],oat [degC],speed 1 [kt],track 1 [deg],speed 2 [kt],track 2 [deg],\
speed 3 [kt],track 3 [deg],speed 4 [kt],track 4 [deg],exclude,notes
1,55,7500,0.14,65.6,246,58.0,348,62.4,107,67.0,171,,
3,70,7500,0.14,80.6,274,74.2,6,79.8,98,85.2,179,,
4,80,7500,0.14,91.7,272,84.9,7,88.6,91,95.9,176,,
6,100,7500,0.14,111.0,93,108.0,4,114.0,274,118.0,178,,
"""


@pytest.fixture
def root(tmp_path):
    return tmp_path / "hangar"


@pytest.fixture
def folder(root):
    return flown.put_campaign(root, files={"campaign.toml": TOML, "takeoff_roll.csv": ROLL})


@pytest.fixture
def visitor(root, folder):
    return Visitor(root)


def ask(visitor, words, file=None, **more):
    return visitor.post("/c/mine/evidence/weather", data=words | more, files={"file": file} if file else None)


def filled(page: str) -> dict[str, str]:
    """The form behind the button that fills the cells, as a browser sends it."""
    form = re.search(r'<form method="post" action="[^"]+/weather".*?</form>', page, re.DOTALL)[0]
    reports = unescape(re.search(r"<textarea[^>]*>(.*?)</textarea>", form, re.DOTALL)[1])
    return flown.hidden(form) | {"reports": reports.replace("\r\n", "\n").replace("\n", "\r\n"), "do": "fill"}


# ---- weather -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", ["pasted", "as a file"])
def test_it_fills_what_the_command_line_writes(visitor, root, folder, monkeypatch, way):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    file = ("reports.txt", REPORTS.replace("\n", "\r\n").encode()) if way == "as a file" else None
    page = ask(visitor, WORDS | ({"reports": ""} if file else {}), file)
    assert page.status_code == 200
    said = flown.said(harmless(page.text) and page.text)
    assert "2 reports of XXXX" in said
    # by hand: 10 of 60 minutes from 11 to 12 degrees, and the second report ten minutes before the second run
    assert re.search(r"4 1 11\.2 ± \d\.\d 6\.0 ± ", said)
    assert "Fill these cells" in page.text
    answer = ask(visitor, filled(page.text))
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/c/mine/runs/takeoff_roll?said=")
    assert "8 cells were filled from the weather reports." in visitor.get(answer.headers["location"]).text
    elsewhere = flown.put_campaign(root.parent / "elsewhere", files={"campaign.toml": TOML, "takeoff_roll.csv": ROLL})
    (root.parent / "reports.txt").write_text(REPORTS, encoding="utf-8")
    flown.by_the_command_line(
        monkeypatch, "weather", elsewhere, root.parent / "reports.txt", "--utc-offset", "+02:00", "--write"
    )
    assert flown.typed(folder) == flown.typed(elsewhere)
    assert flown.typed(elsewhere)["takeoff_roll.csv"] != before["takeoff_roll.csv"]
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before
    page = ask(visitor, WORDS)
    assert "Nothing to fill in" in page.text
    assert "Fill these cells" not in page.text


def test_only_blank_cells_and_what_disagrees_is_told(visitor):
    said = flown.said(ask(visitor, WORDS).text)
    assert "do not agree" in said
    assert "run 1: the reading differs from the report by 6.67 hPa" in said
    assert "qnh [hPa] 4" not in said
    assert "1022 " not in said
    assert "takeoff_roll.csv, gust: no report tells a gust" in said
    assert "67 % of it is left (logarithmic law over grass)" in said


BAD = [
    ({"utc_offset": ""}, "utc_offset", "Is not given"),
    ({"utc_offset": "CEST"}, "utc_offset", "such as +02:00"),
    ({"reports": " "}, "reports", "There are none"),
    ({"reports": "<script>alert(1)</script>"}, "reports", "no METAR or SPECI"),
    ({"utc_offset": "-05:00"}, "reports", "6 h 10 min away"),
    ({"wing_height": "3"}, "wing_height", "1.5 m"),
    ({"wing_height": "0 m"}, "wing_height", "above the roughness"),
]


@pytest.mark.parametrize(("words", "field", "says"), BAD, ids=[f"{field}-{k}" for k, (_, field, _) in enumerate(BAD)])
def test_a_slip_is_said_once_and_at_its_field(visitor, folder, words, field, says):
    before = flown.typed(folder)
    for do in ("look", "fill"):
        version = re.search(r'data-version="(\w+)"', visitor.get("/c/mine/evidence").text)[1]
        answer = ask(visitor, WORDS | words, do=do, version=version)
        assert answer.status_code == 422
        harmless(answer.text)
        assert answer.text.count('aria-invalid="true"') == answer.text.count('role="alert"') == 1
        own = answer.text.partition('<h2 id="weather">')[2]
        box = re.search(rf'data-field="{field}">.*?</div>', own, re.DOTALL)[0]
        assert 'aria-invalid="true"' in box
        assert says.casefold() in flown.said(box).casefold()
    assert flown.typed(folder) == before


def test_what_is_no_text_and_a_campaign_without_runs_on_the_ground(visitor, root):
    answer = ask(visitor, WORDS | {"reports": ""}, ("reports.txt", b"PK\x03\x04\x00\x01"))
    assert answer.status_code == 422
    assert "not text" in answer.text
    flown.put_campaign(root, "climbs")
    answer = visitor.post("/c/climbs/evidence/weather", data=WORDS)
    assert answer.status_code == 422
    assert "climbs: no run on the ground" in answer.text
    assert str(root) not in answer.text


def test_what_was_typed_meanwhile_is_looked_at_again(visitor, folder):
    page = ask(visitor, WORDS)
    assert visitor.entry("runway.09", "elevation", "310 ft", name="mine").status_code == 200
    before = flown.typed(folder)
    again = ask(visitor, filled(page.text))
    assert again.status_code == 200
    assert "Something was typed or saved since this was shown" in again.text
    assert flown.typed(folder) == before
    assert ask(visitor, filled(again.text)).status_code == 303
    assert b"310 ft" in flown.typed(folder)["campaign.toml"]
    assert b"11.2" in flown.typed(folder)["takeoff_roll.csv"]


# ---- the airspeed system -------------------------------------------------------------------------------------------


def test_the_page_shows_what_the_campaign_found(visitor, folder):
    (folder / "position_error.csv").write_text(PRINTED, encoding="utf-8")
    said = flown.said(visitor.get("/c/mine/evidence").text)
    system = read(folder).airspeed_system
    assert "from 4 runs at 55 to 100 kt" in said
    at = units.to_si([55.0, 100.0], "kt", "speed")
    value, spread = (units.from_si(one, "kt", "speed") for one in system.fit.correction(at))
    for reading, by, half in zip((55, 100), value, spread, strict=True):
        assert f"{reading} {by:+.1f} ± {2 * half:.1f}" in said
    errors = units.from_si(system.calibrated - system.indicated, "kt", "speed")
    for name, one, error, own in zip(system.runs, (55, 70, 80, 100), errors, system.uncertainty, strict=True):
        assert f"{name} {one} {error:+.1f} ± {2 * units.from_si(own, 'kt', 'speed'):.1f}" in said


def test_its_table_is_typed_in_like_any_other(visitor, folder):
    (folder / "Position Error.csv").write_text(PRINTED, encoding="utf-8")
    page = visitor.get("/c/mine/evidence").text
    (link,) = re.findall(r'<a class="button" href="([^"]+)">Open its table', page)
    table = visitor.get(link)
    assert table.status_code == 200
    assert "Nobody asked" not in table.text
    assert "Position error of the airspeed system" in table.text
    assert f'href="{link}" aria-current="page"' in table.text
    state = visitor.get(f"{link}/state", headers={"accept": "application/json"}).json()
    column = state["header"].index("airspeed [kt]")
    sent = {"row": 0, "column": column, "text": "101.86 km/h", "seen": state["rows"][0]}
    assert visitor.send(f"{link}/cell", sent).json()["rows"][0][column] == "55"
    sent = {"row": 0, "column": column, "text": "fast", "seen": visitor.get(f"{link}/state").json()["rows"][0]}
    marks = visitor.send(f"{link}/cell", sent).json()["marks"]
    assert [(one["row"], one["column"], one["kind"]) for one in marks] == [(0, column, "error")]
    evidence = flown.said(visitor.get("/c/mine/evidence").text)
    assert "Position Error.csv, row 2, column 'airspeed': found 'fast'" in evidence
    assert "position error" not in flown.said(visitor.get("/c/mine/today").text).partition("Look at the last run")[2]


def test_one_is_begun_and_never_begun_anew(visitor, folder):
    answer = visitor.post("/c/mine/evidence/position-error")
    assert answer.headers["location"] == "/c/mine/runs/position_error"
    assert flown.typed(folder)["position_error.csv"].decode() == measure_file(CALIBRATION)
    assert not (folder / "position_error.csv").exists()
    assert "holds no run yet" in visitor.get("/c/mine/evidence").text
    page = visitor.get("/c/mine/runs/position_error")
    assert page.status_code == 200
    rows = [line.split(",") for line in PRINTED.splitlines()]
    text = "\n".join("\t".join(row) for row in rows)
    assert visitor.send("/c/mine/runs/position_error/paste", {"row": 0, "column": 0, "text": text}).status_code == 200
    before = flown.typed(folder)
    assert visitor.post("/c/mine/evidence/position-error").status_code == 303
    assert flown.typed(folder) == before
    visitor.post("/c/mine/save")
    campaign = read(folder)
    assert not [one for one in check(campaign) if one.kind == "error" and "position" in one.file]
    assert campaign.airspeed_system.runs == ("1", "3", "4", "6")


def test_it_is_a_table_and_no_measure(visitor, folder):
    (folder / "position_error.csv").write_text(PRINTED, encoding="utf-8")
    asked = {name: one.measure for name, one in read(folder).asked.items()}
    assert list(measures_of(asked, ["takeoff_roll.csv", "position_error.csv"])) == ["takeoff_roll.csv"]
    assert calibration_file(["takeoff_roll.csv", "POSITION ERROR.CSV"]) == {"POSITION ERROR.CSV": CALIBRATION}
