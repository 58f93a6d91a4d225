"""A film on the evidence page: what the command line gives, nothing put until told, errors at their cells."""

from __future__ import annotations

import json
import re
from html import unescape

import film_campaign as filmed
import pytest
from parsed_page import harmless
from worksheet_client import Visitor

from samesky.campaign.reading.read import read
from samesky.evidence.film.propose import propose
from samesky.evidence.proposal import dry_run
from samesky.measures.filmed_rolls import FILMED
from samesky.worksheets.draft import Draft
from samesky.worksheets.runs.columns import film_file, measures_of


@pytest.fixture
def root(tmp_path):
    return tmp_path / "hangar"


@pytest.fixture
def visitor(root):
    root.mkdir(exist_ok=True)
    return Visitor(root)


def words(text: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def version_of(page: str) -> str:
    return re.search(r'name="version" value="([0-9a-f]+)"', page)[1]


def test_it_shows_first_and_fills_what_the_command_line_would(visitor, root):
    folder = filmed.put_campaign(root / "mine")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    expected = dry_run(read(folder, flown=False), propose(read(folder, flown=False))).files
    evidence = visitor.get("/c/mine/evidence").text
    assert "12 filmed rolls typed." in words(evidence)
    page = visitor.get("/c/mine/evidence/film")
    assert page.status_code == 200
    said = words(page.text)
    assert "12 blank cells of takeoff_roll.csv can be filled." in said
    assert "± twice its standard uncertainty (about 95 %), of the film alone" in said
    assert "parallax was taken off" in said
    assert "never in line with a propeller" in said
    assert page.text.count("<img") == 1
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    put = visitor.post("/c/mine/evidence/film/put", data={"version": version_of(page.text)})
    assert put.status_code == 303
    assert put.headers["location"].startswith("/c/mine/runs/takeoff_roll")
    assert "12 cells were filled from the film." in words(visitor.get(put.headers["location"]).text)
    # into the typing alone
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before
    typed = Draft(folder).files()
    assert {name: typed[name] for name in expected} == expected
    assert "Nothing to fill in" in words(visitor.get("/c/mine/evidence/film").text)


def test_only_for_the_typing_that_was_shown(visitor, root):
    folder = filmed.put_campaign(root / "mine")
    version = version_of(visitor.get("/c/mine/evidence/film").text)
    runs = filmed.roll_file({1: "150"})
    Draft(folder).write("takeoff_roll.csv", runs)
    put = visitor.post("/c/mine/evidence/film/put", data={"version": version})
    assert put.status_code == 200
    assert "something was typed or saved since this was shown" in words(put.text).casefold()
    assert "11 blank cells" in words(put.text)
    assert Draft(folder).files()["takeoff_roll.csv"] == runs
    put = visitor.post("/c/mine/evidence/film/put", data={"version": version_of(put.text)})
    assert put.status_code == 303
    assert Draft(folder).files()["takeoff_roll.csv"].splitlines()[1].split(",")[3] == "150"


def test_all_or_none_where_the_disk_is_full(visitor, root, monkeypatch):
    folder = filmed.put_campaign(root / "mine")
    version = version_of(visitor.get("/c/mine/evidence/film").text)
    Draft(folder).write("notes.csv", "")
    Draft(folder).remove("notes.csv")
    version = version_of(visitor.get("/c/mine/evidence/film").text)
    before, write, done = Draft(folder).files(), Draft.write, []

    def full(self, name, text):
        done.append(name)
        if len(done) == 2:
            from samesky.campaign.messages.errors import cannot
            from samesky.campaign.messages.sentences import Said
            from samesky.worksheets.draft import NotKeptError

            raise NotKeptError(cannot(name, Said("a.code", "no space left.", "Make room.")).finding)
        return write(self, name, text)

    monkeypatch.setattr(Draft, "write", full)
    put = visitor.post("/c/mine/evidence/film/put", data={"version": version})
    assert put.status_code >= 400
    assert done[:2] == ["campaign.toml", "takeoff_roll.csv"]
    assert Draft(folder).files() == before


def test_a_faulty_frame_is_marked_at_its_cell(visitor, root):
    frames = filmed.frame_file(run_3="3,,10700,10690,,,,,")
    filmed.put_campaign(root / "mine", filmed_rolls=frames)
    page = visitor.get("/c/mine/evidence/film")
    assert page.status_code == 422
    assert "row 4, column 'marker 2': found frame 10690, expected one after 'marker 1' at frame 10700" in words(
        page.text
    )
    assert "Fill these" not in page.text
    state = visitor.get("/c/mine/runs/filmed_rolls").text
    marks = json.loads(re.search(r"data-state>(.*?)</script>", state, re.DOTALL)[1])["marks"]
    assert [(mark["row"], mark["column"], mark["kind"]) for mark in marks] == [(2, 3, "error")]
    # put in spite of it, it fills nothing
    put = visitor.post("/c/mine/evidence/film/put", data={"version": "0"})
    assert "something was typed" in words(put.text).casefold()


def test_a_table_is_begun_once_and_typed_in_like_any_other(visitor, root):
    folder = filmed.put_campaign(root / "mine", filmed_rolls="")
    page = visitor.get("/c/mine/evidence").text
    assert "Start a table of filmed rolls" in page
    begun = visitor.post("/c/mine/evidence/film/begin")
    assert begun.status_code == 303
    table = visitor.get(begun.headers["location"])
    assert "Type one row a roll" in words(table.text)
    assert "Filmed rolls" in table.text
    assert not (folder / "filmed_rolls.csv").exists()
    frames = Draft(folder).files()["filmed_rolls.csv"]
    visitor.post("/c/mine/evidence/film/begin")
    assert Draft(folder).files()["filmed_rolls.csv"] == frames
    # spare markers may be added, counted and without a unit
    assert "<option>marker 4</option>" in table.text
    seen = [*["1"], *[""] * 7]
    typed = {"row": 0, "column": 2, "text": "10700", "seen": seen}
    answer = visitor.post("/c/mine/runs/filmed_rolls/cell", json=typed)
    assert answer.status_code == 200, answer.text
    assert not [mark for mark in answer.json()["marks"] if mark["kind"] == "error"], answer.json()["marks"]


def test_the_frames_are_a_table_and_no_measure():
    files = ["campaign.toml", "Filmed Rolls.csv", "takeoff_roll.csv"]
    assert list(measures_of({}, files)) == ["takeoff_roll.csv"]
    assert film_file(files) == {"Filmed Rolls.csv": FILMED}


def test_how_it_was_filmed_is_asked_under_question(visitor, root):
    filmed.put_campaign(root / "mine", campaign=filmed.TOML.replace(filmed.FILM, ""))
    page = visitor.get("/c/mine/evidence/film")
    assert page.status_code == 422
    assert "How rolls were filmed: there are filmed rolls; how they were filmed is not said." in words(page.text)
    settings = visitor.get("/c/mine/settings").text
    assert 'id="part-film"' in settings
    assert 'placeholder="59.94"' in settings
    # what each entry means stands beside it
    assert "beyond it, as the camera sees it, is positive" in words(settings)


def test_nothing_asked_that_a_film_can_give(visitor, root):
    toml = filmed.TOML.replace("[measure.takeoff_roll]", "[measure.static_pull]")
    filmed.put_campaign(root / "mine", campaign=toml)
    assert "This campaign asks for none of them" in words(visitor.get("/c/mine/evidence").text)
    assert visitor.get("/c/mine/evidence/film").status_code == 422


def test_words_of_others_stay_words(visitor, root):
    evil = "<script>alert(1)</script>"
    frames = filmed.frame_file(run_3=f'"{evil}",,10700,10770,10835,10890,10810,,', run_4=f'4,"{evil}",1,2,,,,,')
    filmed.put_campaign(root / "mine", filmed_rolls=frames)
    for where in ("evidence", "evidence/film", "runs/filmed_rolls"):
        page = visitor.get(f"/c/mine/{where}").text
        harmless(page)
        assert evil not in page
