"""The store: what stands on it, under which name, and how one more is put there."""

from __future__ import annotations

import os

import pytest
from worksheet_client import STEM, Visitor, campaign_files, put_campaign

from samesky import cli
from samesky.campaign.messages.errors import CampaignError
from samesky.worksheets.library.folders import CampaignStore, StoredCampaign, folder_name


def test_campaigns_are_the_folders_that_hold_one(tmp_path):
    put_campaign(tmp_path, "b")
    put_campaign(tmp_path, "a")
    put_campaign(tmp_path, ".hidden")
    (tmp_path / "photographs").mkdir()
    (tmp_path / "campaign.toml").mkdir()
    store = CampaignStore(tmp_path)
    title = 'title = "'
    text = campaign_files()["campaign.toml"]
    expected = text[text.index(title) + len(title) :].partition('"')[0]
    assert store.campaigns() == [StoredCampaign("a", expected, False), StoredCampaign("b", expected, False)]


@pytest.mark.parametrize("text", ["", "[[", "title = 5", "title = ''", "\0", "x" * 10_000_000, "[" * 5000])
def test_a_campaign_without_a_title_goes_by_its_folder(tmp_path, text):
    put_campaign(tmp_path, "a", files={"campaign.toml": text})
    assert CampaignStore(tmp_path).campaigns() == [StoredCampaign("a", "a", False)]
    assert Visitor(tmp_path).get("/").status_code == 200


def test_what_is_typed_and_not_saved_shows_in_the_store(tmp_path):
    put_campaign(tmp_path)
    visitor = Visitor(tmp_path)
    assert "typed, not saved" not in visitor.get("/").text
    visitor.entry("", "title", "Another")
    page = visitor.get("/").text
    assert "typed, not saved" in page
    assert "Another" in page
    visitor.post("/c/climbs/save")
    assert "typed, not saved" not in visitor.get("/").text


@pytest.mark.parametrize(
    ("title", "name"),
    [("Finer pitch, May", "finer-pitch-may"), ("Ärger über Öl", "arger-uber-ol"), ("漢字", "campaign"),
     ("...", "campaign"),
     ("../../etc", "etc"), ("a/b\\c", "a-b-c"), ("x" * 500, "x" * 60), ("CON", "campaign-con"), ("\0", "campaign"),
     ("lpt1", "campaign-lpt1"), ("-" * 9, "campaign"), ("<script>", "script")],
)  # fmt: skip
def test_a_title_as_the_name_of_a_folder(title, name):
    assert folder_name(title) == name


def test_a_name_that_is_taken_gets_a_number(tmp_path):
    store = CampaignStore(tmp_path)
    (tmp_path / "FINER-PITCH").write_text("a file")
    assert [store.put("Finer pitch", {"campaign.toml": "x"}) for _ in range(3)] == [
        "finer-pitch-2",
        "finer-pitch-3",
        "finer-pitch-4",
    ]


def test_a_campaign_alone_is_the_only_one(tmp_path):
    folder = put_campaign(tmp_path, ".mine")
    put_campaign(tmp_path, "other")
    store = CampaignStore.at(folder)
    assert [one.name for one in store.campaigns()] == [".mine"]
    with pytest.raises(CampaignError, match="no campaign here"):
        store.folder("other")
    with pytest.raises(CampaignError, match="for this campaign alone"):
        store.put("Another", {})
    visitor = Visitor(folder)
    assert visitor.get("/c/other/settings").status_code == 422
    assert (
        visitor.post("/start", data={"title": "x", f"measure.{STEM}": "on", f"matters.{STEM}": "5 %"}).status_code
        == 422
    )
    assert "other" not in visitor.get("/").text


def test_a_mistyped_folder_is_refused_and_not_made(tmp_path, run):
    put_campaign(tmp_path, "hangar")
    code, _, complained = run("worksheet", tmp_path / "hanger", "--no-browser")
    assert code == 2
    assert "hanger: there is no such folder" in " ".join(complained.split())
    assert [one.name for one in tmp_path.iterdir()] == ["hangar"]


@pytest.mark.parametrize("kind", ["file", "below a file", "long", "nought"])
def test_a_folder_that_cannot_be_one(tmp_path, kind, monkeypatch, capsys):
    (tmp_path / "file").write_text("x")
    name = {"file": "file", "below a file": "file/below", "long": "x" * 300, "nought": "a\0b"}[kind]
    with pytest.raises(CampaignError):
        CampaignStore.at(tmp_path / name)
    monkeypatch.setattr("sys.argv", ["samesky", "worksheet", str(tmp_path / name), "--no-browser"])
    with pytest.raises(SystemExit) as stop:
        cli.main()
    assert stop.value.code == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_store_that_is_gone_is_said(tmp_path):
    store = tmp_path / "hangar"
    store.mkdir()
    visitor = Visitor(store)
    os.rmdir(store)
    answer = visitor.get("/")
    assert answer.status_code == 422
    assert "cannot be listed" in answer.text


def test_a_campaign_that_goes_while_it_is_open_is_said(tmp_path):
    folder = put_campaign(tmp_path)
    visitor = Visitor(tmp_path)
    seen = visitor.state()["rows"][0]
    folder.rename(tmp_path / "elsewhere")
    answer = visitor.cell(0, 10, "80", seen)
    assert answer.status_code == 422
    assert "is no campaign here" in answer.json()["problem"]
    (tmp_path / "elsewhere").rename(folder)
    assert visitor.cell(0, 10, "80", seen).status_code == 200


def test_starting_asks_for_a_name_and_a_measure(tmp_path):
    visitor = Visitor(tmp_path)
    assert (
        "no name" in visitor.post("/start", data={"title": " ", f"measure.{STEM}": "on", f"matters.{STEM}": "5 %"}).text
    )
    assert "none was chosen" in visitor.post("/start", data={"title": "x"}).text
    assert list(tmp_path.iterdir()) == []
    answer = visitor.post(
        "/start",
        data={"title": "x", "label.A": 'quote " and \\ back', f"measure.{STEM}": "on", f"matters.{STEM}": "5 %"},
    )
    assert answer.headers["location"] == "/c/x"
    assert sorted(path.name for path in (tmp_path / "x").iterdir() if path.suffix == ".csv") == [f"{STEM}.csv"]
    assert "quote &#34; and \\ back" in visitor.get("/c/x/settings").text


def test_nobody_but_the_pilot_says_which_difference_matters(tmp_path):
    """A value that the page had filled in would be a decision that nobody took."""
    visitor = Visitor(tmp_path)
    page = visitor.get("/").text
    assert 'value="5 %"' not in page
    assert "the least difference that would change what you do" in page
    sent = {"title": "x", "primary": STEM, f"matters.{STEM}": "2 %"}
    sent |= {f"measure.{STEM}": "on", "measure.static_pull": "on"}
    for matters in ("", "  "):
        answer = visitor.post("/start", data={**sent, "matters.static_pull": matters})
        assert answer.status_code == 422
        assert "of the static pull the smallest difference that matters is not said" in answer.text
    assert list(tmp_path.iterdir()) == []
    assert visitor.post("/start", data={**sent, "matters.static_pull": "3 %"}).status_code == 303
    text = (tmp_path / "x" / "campaign.toml").read_text(encoding="utf-8")
    assert 'smallest_difference_that_matters = "2 %"' in text
    assert 'smallest_difference_that_matters = "3 %"' in text
    assert '\nsmallest_difference_that_matters = "5 %"' not in text
    added = {"do": "add", "path": "measure", "name": "landing_roll"}
    where = "/c/x/settings/group"
    assert visitor.post(where, data=added).status_code == 422
    assert visitor.post(where, data={**added, "matters": "12 ft"}).status_code == 303
    page = visitor.get("/c/x/settings").text
    assert 'value="12 ft"' in page
    assert 'href="/c/x/runs/landing_roll"' in page
