"""Others write as well: an editor, the command line, a second page, eight at once. Nobody's words are lost."""

from __future__ import annotations

import threading

import pytest
from worksheet_client import STEM, Visitor, put_campaign

from samesky.worksheets import draft as drafts
from samesky.worksheets.draft import THROWN, UNSAVED, ChangedOutsideError, Draft

CSV = f"{STEM}.csv"


@pytest.fixture
def folder(tmp_path):
    return put_campaign(tmp_path / "hangar")


@pytest.fixture
def visitor(folder):
    return Visitor(folder.parent)


def outside(folder, old, new):
    text = (folder / CSV).read_text(encoding="utf-8")
    assert old in text
    (folder / CSV).write_text(text.replace(old, new), encoding="utf-8")


def test_what_an_editor_changed_meanwhile_is_asked_about_and_kept_beside(folder, visitor):
    visitor.cell(0, "notes", "typed")
    outside(folder, "06:52", "06:59")
    theirs = (folder / CSV).read_bytes()
    page = visitor.post("/c/climbs/save").text
    assert "changed by other hands" in page
    assert (folder / CSV).read_bytes() == theirs
    assert visitor.post("/c/climbs/save", data={"over": "yes"}).status_code == 200
    assert (folder / f"{CSV}.before-saving").read_bytes() == theirs
    assert "typed" in (folder / CSV).read_text(encoding="utf-8")
    # A second time keeps the first copy.
    visitor.cell(0, "notes", "typed again")
    outside(folder, "06:32", "06:39")
    with pytest.raises(ChangedOutsideError, match=r"timed_climb.csv.before-saving-2"):
        Draft(folder).save()
    Draft(folder).save(over=True)
    assert (folder / f"{CSV}.before-saving").read_bytes() == theirs
    assert "06:39" in (folder / f"{CSV}.before-saving-2").read_text(encoding="utf-8")


def test_a_file_that_nobody_typed_in_follows_other_hands(folder, visitor):
    visitor.cell(0, "notes", "typed")
    toml = (folder / "campaign.toml").read_text(encoding="utf-8")
    (folder / "campaign.toml").write_text("# by an editor\n" + toml, encoding="utf-8")
    (folder / "landing_roll.csv").write_text("run,date\n", encoding="utf-8")
    assert visitor.state()["changed"] == [CSV]
    assert (folder / UNSAVED / "campaign.toml").read_text(encoding="utf-8").startswith("# by an editor")
    assert "Saved" in visitor.post("/c/climbs/save").text
    assert (folder / "campaign.toml").read_text(encoding="utf-8").startswith("# by an editor")
    assert (folder / "landing_roll.csv").read_text(encoding="utf-8") == "run,date\n"
    assert "typed" in (folder / CSV).read_text(encoding="utf-8")


def test_a_change_of_other_hands_is_no_typing_even_before_it_is_followed(folder, visitor):
    visitor.cell(0, "notes", "typed")
    toml = (folder / "campaign.toml").read_text(encoding="utf-8")
    (folder / "campaign.toml").write_text("# by an editor\n" + toml, encoding="utf-8")
    draft = Draft(folder)
    assert draft.changed() == [CSV]
    assert draft.save() == [CSV]
    assert (folder / "campaign.toml").read_text(encoding="utf-8").startswith("# by an editor")


def test_a_file_that_other_hands_removed(folder, visitor):
    visitor.cell(0, "notes", "typed")
    (folder / CSV).unlink()
    assert visitor.post("/c/climbs/save").status_code == 200
    assert "typed" in (folder / CSV).read_text(encoding="utf-8")


def test_a_file_that_typing_removed_goes_only_if_it_is_the_one_that_was_seen(folder):
    (folder / "landing_roll.csv").write_text("run,date\n", encoding="utf-8")
    draft = Draft(folder)
    draft.remove("landing_roll.csv")
    (folder / "landing_roll.csv").write_text("run,date\n1,2026-05-09\n", encoding="utf-8")
    with pytest.raises(ChangedOutsideError):
        draft.save()
    draft.save(over=True)
    assert "2026-05-09" in (folder / "landing_roll.csv.before-saving").read_text(encoding="utf-8")
    assert not (folder / "landing_roll.csv").exists()


def test_thrown_away_is_asked_about_first_and_leaves_a_copy(folder, visitor):
    before = {path.name: path.read_bytes() for path in folder.glob("*.*") if path.is_file()}
    for words in ("first", "second"):
        visitor.cell(0, "notes", words)
        assert "Go back to what is saved?" in visitor.post("/c/climbs/throw-away").text
        assert (folder / UNSAVED).is_dir()
        assert visitor.post("/c/climbs/throw-away", data={"sure": "yes"}).status_code == 303
        assert not (folder / UNSAVED).exists()
        assert words in (folder / THROWN / CSV).read_text(encoding="utf-8")
    assert {path.name: path.read_bytes() for path in folder.glob("*.*") if path.is_file()} == before
    assert visitor.state()["rows"][0][-1] == ""


def test_what_cannot_be_thrown_away_stays(folder, visitor, monkeypatch):
    def refused(*_):
        raise PermissionError(13, "Permission denied")

    visitor.cell(0, "notes", "typed")
    monkeypatch.setattr(drafts.os, "replace", refused)
    answer = visitor.post("/c/climbs/throw-away", data={"sure": "yes"})
    assert answer.status_code == 422
    assert "cannot be thrown away (Permission denied)" in answer.text
    assert visitor.state()["rows"][0][-1] == "typed"


# ---- at once -------------------------------------------------------------------------------------------------------


def test_eight_at_once_in_different_rows_lose_no_cell(folder):
    typed = [["elapsed", "fuel", "oat", "notes"], ["80.1", "38.5", "6.5", "calm"]]
    told = []

    def one(row):
        visitor = Visitor(folder.parent)
        for name, text in zip(*typed, strict=True):
            for _ in range(20):
                answer = visitor.cell(row, name, f"{text}{row if name == 'notes' else ''}")
                if answer.status_code == 200:
                    break
            told.append((row, name, answer.status_code))

    threads = [threading.Thread(target=one, args=(row,)) for row in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {status for _, _, status in told} == {200}
    state = Visitor(folder.parent).state()
    for row in range(8):
        cells = dict(zip((cell.partition(" [")[0] for cell in state["header"]), state["rows"][row], strict=True))
        assert [cells[name] for name in typed[0]] == ["80.1", "38.5", "6.5", f"calm{row}"]


def test_two_in_one_row_the_second_is_told_and_overwrites_nothing(visitor):
    seen = visitor.state()["rows"][2]
    assert visitor.cell(2, 10, "80", seen).status_code == 200
    answer = visitor.cell(2, 10, "90", seen)
    assert answer.status_code == 409
    assert answer.json()["cells"][10] == "80"
    assert "changed on another page" in answer.json()["problem"]
    assert visitor.state()["rows"][2][10] == "80"
    # In another cell of that row as well: it may be another run by now.
    assert visitor.cell(2, 15, "calm", seen).status_code == 409
    assert visitor.cell(2, 10, "90", answer.json()["cells"]).status_code == 200


def test_a_row_that_went_takes_no_typing_to_the_next(visitor):
    rows = visitor.state()["rows"]
    where = f"/c/climbs/runs/{STEM}/delete"
    assert visitor.send(where, {"row": 1, "seen": rows[1]}).status_code == 200
    assert visitor.cell(1, 10, "1", rows[1]).status_code == 409
    assert visitor.cell(2, 10, "1", rows[2]).status_code == 409
    assert visitor.send(where, {"row": 1, "seen": rows[1]}).status_code == 409
    assert [row[0] for row in visitor.state()["rows"][:7]] == ["1", "3", "4", "5", "6", "7", "8"]


def test_saving_while_others_type(folder):
    """Every cell that was acknowledged is in the files, or in what is typed since."""
    stop, told = threading.Event(), []

    def typing():
        visitor = Visitor(folder.parent)
        for k in range(12):
            answer = visitor.cell(0, "notes", f"note {k}")
            told.append((k, answer.status_code))
        stop.set()

    def saving():
        visitor = Visitor(folder.parent)
        while not stop.is_set():
            assert visitor.post("/c/climbs/save").status_code == 200

    threads = [threading.Thread(target=typing), threading.Thread(target=saving)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {status for _, status in told} == {200}
    visitor = Visitor(folder.parent)
    assert visitor.state()["rows"][0][-1] == "note 11"
    page = visitor.post("/c/climbs/save").text
    assert "changed by other hands" not in page
    assert "note 11" in (folder / CSV).read_text(encoding="utf-8")
    assert list(folder.glob("*.before-saving*")) == []


def test_two_campaigns_of_one_title_started_at_once_get_a_folder_each(tmp_path):
    fields = {"title": "One title", f"measure.{STEM}": "on", f"matters.{STEM}": "5 %"}
    answers = []
    threads = [
        threading.Thread(target=lambda: answers.append(Visitor(tmp_path).post("/start", data=fields)))
        for _ in range(6)
    ]  # fmt: skip
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {answer.status_code for answer in answers} == {303}
    assert len({answer.headers["location"] for answer in answers}) == 6
    assert sorted(path.name for path in tmp_path.iterdir()) == ["one-title", *(f"one-title-{k}" for k in range(2, 7))]
    assert list(tmp_path.rglob("*.part")) == []
