"""What the pages say while numbers are typed is what the command line says of the same files.

The independent reference is ``campaign.read`` and ``inference.compare`` over a folder written by this test.
"""

from __future__ import annotations

import pytest
from worksheet_client import STEM, Visitor, campaign_files, put_campaign

from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.report import phrases
from samesky.worksheets import campaign_context
from samesky.worksheets.answers import answers

pytestmark = pytest.mark.usefixtures("figures_unprinted")

CSV = f"{STEM}.csv"


def said(tmp_path, name="climbs", **changes):
    files = campaign_files() | {}
    for file, change in changes.items():
        at = "campaign.toml" if file == "toml" else CSV
        files[at] = change(files[at])
    folder = put_campaign(tmp_path, name, files=files)
    return answers(files), folder


def without(text, *rows):
    return "".join(line for k, line in enumerate(text.splitlines(keepends=True)) if k not in rows)


def same(found, folder):
    (mine,), (theirs,) = found.comparisons, compare(read(folder))
    for name in ("difference", "standard_uncertainty", "degrees_of_freedom", "verdict", "p", "runs", "warnings"):
        assert getattr(mine, name) == getattr(theirs, name), name
    assert phrases.sentence(mine) == phrases.sentence(theirs)


def test_sound_runs_give_the_verdict_of_the_command_line(tmp_path):
    found, folder = said(tmp_path)
    same(found, folder)
    assert (found.without, found.waiting, found.errors) == ((), "", [])


@pytest.mark.parametrize("spoil", ["", "fast", "-88.3"])
def test_an_unfinished_run_is_left_out_and_named(tmp_path, spoil):
    found, _ = said(tmp_path, csv=lambda text: text.replace("88.3", spoil))
    assert found.without == ("run 2 of timed climb",)
    assert any(finding.row == 3 for finding in found.errors)
    reference = put_campaign(tmp_path, "reference", files=campaign_files() | {CSV: without(campaign_files()[CSV], 2)})
    same(found, reference)
    assert found.lacks(found.comparisons[0]) == "Not of all runs: 1 of 8 is left out until mended."


def test_a_verdict_of_some_runs_does_not_look_like_one_of_all(tmp_path):
    put_campaign(tmp_path)
    visitor = Visitor(tmp_path)
    assert "Not of all runs" not in visitor.get("/c/climbs/verdict").text
    for row in (1, 2):
        assert visitor.cell(row, "elapsed", "fast").status_code == 200
    said = visitor.state()["verdict"]
    assert 'class="so-far first partial"' in said
    assert "Not of all runs: 2 of 8 are left out until mended." in said
    assert "Left out until their rows are mended: run 2 of timed climb, run 3 of timed climb." in said
    assert ".verdict { color: #454d55" in visitor.get("/c/climbs/report.html").text
    # Mended, it is of all of them.
    for row, text in ((1, "88.3"), (2, "87.1")):
        visitor.cell(row, "elapsed", text)
    said = visitor.state()["verdict"]
    assert "partial" not in said
    assert "Not of all runs" not in said
    assert ".verdict { color: #454d55" not in visitor.get("/c/climbs/report.html").text


def test_several_unfinished_runs_among_remarks_and_blanks(tmp_path):
    def spoilt(text):
        lines = text.splitlines(keepends=True)
        lines[2], lines[7] = lines[2].replace("88.3", ""), lines[7].replace(lines[7].split(",")[10], "x")
        return "\n\n# first\n" + "".join([*lines[:2], "# a pause\n", "\n", *lines[2:]])

    found, _ = said(tmp_path, csv=spoilt)
    assert found.without == ("run 2 of timed climb", "run 7 of timed climb")
    reference = put_campaign(tmp_path, "ref", files=campaign_files() | {CSV: without(campaign_files()[CSV], 2, 7)})
    same(found, reference)


def test_a_run_without_a_name_is_named_by_its_row(tmp_path):
    found, _ = said(tmp_path, csv=lambda text: text.replace("\n2,", "\n,").replace("88.3", "fast"))
    assert found.without == ("run in row 3 of timed climb",)


@pytest.mark.parametrize(
    ("changes", "waits"),
    [
        ({"toml": lambda text: text + "\n[["}, "campaign.toml cannot be read yet."),
        ({"toml": lambda text: "\0"}, "campaign.toml cannot be read yet."),
        ({"toml": lambda text: text + "\n[nonsense]\na = 1\n"}, "to mend before there is a verdict."),
        ({"csv": lambda text: text.splitlines()[0] + "\n"}, "No run yet: type the first one in."),
        ({"csv": lambda text: ""}, ""),
        ({"csv": lambda text: text.replace("elapsed [s]", "elapsed [ft]")}, "to mend before there is a verdict."),
        ({"csv": lambda text: text.replace("elapsed [s]", "elapsed [s")}, "to mend before there is a verdict."),
        ({"csv": lambda text: text + '9,"'}, "to mend before there is a verdict."),
        ({"csv": lambda text: without(text, *[k for k in range(1, 9) if ",B," in text.splitlines()[k]])}, ""),
    ],
)
def test_where_there_is_no_verdict_it_says_what_it_waits_for(tmp_path, changes, waits):
    found, _ = said(tmp_path, **changes)
    assert found.comparisons == []
    assert found.waiting.endswith(waits)
    assert found.waiting
    visitor = Visitor(tmp_path)
    for where in ("/", "/c/climbs/settings", "/c/climbs/verdict"):
        assert visitor.get(where).status_code in (200, 422), where


def test_nothing_is_flown_yet(tmp_path):
    found, _ = said(tmp_path, csv=lambda text: text.splitlines()[0] + "\n\n\n")
    assert found.waiting == "No run yet: type the first one in."


def test_more_unfinished_rows_than_are_guessed_at(tmp_path):
    found, _ = said(tmp_path, csv=lambda text: text.replace(",61,62,", ",x,").replace("2026-05-09", "in May"))
    assert found.comparisons == []
    assert found.waiting.endswith("to mend before there is a verdict.")


def test_the_rest_of_the_folder_is_looked_at_as_the_command_line_looks(tmp_path):
    """An error in a file that holds no runs is not one of a row that could be left out."""
    files = campaign_files() | {"position_error.csv": "airspeed [kt],nonsense\nfast,1\n"}
    put_campaign(tmp_path, files=files)
    found = answers(files)
    assert found.errors == [finding for finding in found.findings if finding.kind == "error"]
    assert Visitor(tmp_path).get("/c/climbs/verdict").status_code == 200


def test_a_typed_cell_is_kept_before_anything_is_computed(tmp_path, monkeypatch):
    folder, visitor = put_campaign(tmp_path), Visitor(tmp_path)
    state = visitor.state()
    # Another hand changes the file, so that nothing that was remembered is of what the cell is typed into.
    path = folder / f"{STEM}.csv"
    path.write_text(path.read_text("utf-8") + "\n", "utf-8")
    seen: list[str] = []
    monkeypatch.setattr(campaign_context, "answers", lambda files: seen.append(files[f"{STEM}.csv"]) or answers(files))
    place = state["header"].index(next(cell for cell in state["header"] if cell.startswith("elapsed")))
    assert visitor.cell(1, place, "91.5", state["rows"][1]).status_code == 200
    assert seen
    assert all("91.5" in text for text in seen)


def test_the_page_shows_the_verdict_that_the_saved_files_give(tmp_path):
    folder = put_campaign(tmp_path)
    visitor = Visitor(tmp_path)
    answer = visitor.cell(1, "elapsed", "91.5").json()
    visitor.post("/c/climbs/save")
    (one,) = compare(read(folder))
    plain = " ".join(answer["verdict"].replace("&#39;", "'").replace("&amp;", "&").split())
    assert " ".join(phrases.sentence(one).split()) in plain
