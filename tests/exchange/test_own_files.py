"""What is handed on is what lies in the folder: nothing that a link leads to, nothing hidden."""

from __future__ import annotations

import os

import pytest
from sound_campaign import TOML

from samesky.campaign.messages.errors import CampaignError
from samesky.exchange.own_files import holds_links, is_campaign_file, own_files


@pytest.fixture
def secret(tmp_path):
    path = tmp_path / "elsewhere" / "secret.csv"
    path.parent.mkdir()
    path.write_text("run\n1\n")
    return path


def test_the_campaigns_own_files_and_the_rest(sound, secret):
    folder = sound(notes__txt="said", report__html="<p>", _unsaved__csv="x")
    (folder / ".unsaved").mkdir()
    (folder / ".unsaved" / "takeoff_roll.csv").write_text("x")
    (folder / ".hidden.csv").write_text("x")
    (folder / "reduced.csv").mkdir()
    kept, rest = own_files(folder)
    assert list(kept) == ["_unsaved.csv", "campaign.toml", "notes.txt", "takeoff_roll.csv", "timed_climb.csv"]
    assert kept["campaign.toml"] == TOML.encode()
    assert rest == [".hidden.csv", ".unsaved", "reduced.csv", "report.html"]


def test_links_are_named_and_never_followed(sound, secret):
    folder = sound(timed_climb__csv=None)
    assert holds_links(folder) == []
    (folder / "timed_climb.csv").symlink_to(secret)
    (folder / ".unsaved").symlink_to(secret.parent, target_is_directory=True)
    (folder / "gone.txt").symlink_to(secret.with_name("nowhere"))
    (folder / "round.md").symlink_to("round.md")
    assert holds_links(folder) == [".unsaved", "gone.txt", "round.md", "timed_climb.csv"]
    kept, rest = own_files(folder)
    assert list(kept) == ["campaign.toml", "takeoff_roll.csv"]
    assert "timed_climb.csv" in rest


def test_a_link_within_the_folder_is_one_too(sound):
    folder = sound()
    (folder / "again.csv").symlink_to("takeoff_roll.csv")
    assert holds_links(folder) == ["again.csv"]


def test_a_folder_that_is_a_link_says_so(sound, tmp_path):
    folder = sound()
    (tmp_path / "other").symlink_to(folder, target_is_directory=True)
    assert holds_links(tmp_path / "other") == ["."]
    (tmp_path / "above").symlink_to(tmp_path, target_is_directory=True)
    assert holds_links(tmp_path / "above" / "campaign") == []


@pytest.mark.parametrize("written", [".", "../campaign", "./"])
def test_however_the_folder_is_named(sound, monkeypatch, written):
    monkeypatch.chdir(sound())
    assert holds_links(written) == []
    assert len(own_files(written)[0]) == 3


def test_a_file_that_becomes_a_link_meanwhile_is_not_followed(sound, secret, monkeypatch):
    folder = sound()
    monkeypatch.setattr("samesky.exchange.own_files.holds_links", lambda folder: [])
    (folder / "takeoff_roll.csv").unlink()
    (folder / "takeoff_roll.csv").symlink_to(secret)
    with pytest.raises(CampaignError, match=r"takeoff_roll\.csv: the file cannot be read"):
        own_files(folder)


def test_a_pipe_is_not_waited_for(sound):
    folder = sound(timed_climb__csv=None)
    os.mkfifo(folder / "timed_climb.csv")
    assert own_files(folder)[1] == ["timed_climb.csv"]


def test_a_file_that_is_too_large_is_refused(sound, monkeypatch):
    monkeypatch.setattr("samesky.exchange.own_files.LARGEST", 10)
    with pytest.raises(CampaignError, match="at most 1e-05 MB are taken"):
        own_files(sound())


def test_no_folder(tmp_path):
    with pytest.raises(CampaignError, match="cannot be listed"):
        own_files(tmp_path / "nowhere")


@pytest.mark.parametrize("name", ["campaign.toml", "datapackage.json", "a.csv", "A.CSV", "TRUTH.md", "notes.txt"])
def test_names_of_the_campaign(name):
    assert is_campaign_file(name)


@pytest.mark.parametrize("name", [".a.csv", "other.toml", "other.json", "a.csv.part", "report.html", "cards.pdf", ""])
def test_names_that_are_none_of_the_campaign(name):
    assert not is_campaign_file(name)
