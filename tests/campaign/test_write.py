"""Files are there whole or not at all, and say the same when they are read again."""

from __future__ import annotations

import csv
import os

import pytest
from sound_campaign import TOML

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.campaign.tables import write
from samesky.campaign.tables.cells import guarded, words
from samesky.campaign.tables.write import table_text, write_campaign, write_text

HEADER = ["run", "date", "clock", "configuration", "ground roll [ft]", "notes"]
ROWS = [
    [1, "2025-06-14", "07:00", "A", 412.25, None],
    [2, "2025-06-14", "08:00", "B", 398.0, '=cmd|"/c calc"'],
    [3, "2025-06-14", "09:00", "A", 401.5, "gusts, from the left\nand late"],
    [4, "2025-06-14", "10:00", "B", 0.1 + 0.2 + 380, "-> see video"],
]


def test_a_campaign_reads_as_it_was_written(tmp_path):
    folder = write_campaign(tmp_path / "one", TOML, {"takeoff_roll": (HEADER, ROWS)})
    table = read(folder).tables["takeoff_roll"]
    assert list(table.columns["ground roll"] / 0.3048) == pytest.approx([row[4] for row in ROWS], rel=1e-15)
    assert table.text["notes"] == [row[5] or "" for row in ROWS]
    assert table.text["run"] == ["1", "2", "3", "4"]


def test_the_same_campaign_is_the_same_bytes(tmp_path):
    one, two = (write_campaign(tmp_path / name, TOML, {"takeoff_roll": (HEADER, ROWS)}) for name in ("one", "two"))
    assert {path.name: path.read_bytes() for path in one.iterdir()} == {p.name: p.read_bytes() for p in two.iterdir()}
    assert b"\r" not in (one / "takeoff_roll.csv").read_bytes()


@pytest.mark.parametrize("text", ["=1+1", "+44 7", "-", "@sum", "'=x", "''=x", "\tx", "'quoted'", "plain", ""])
def test_no_cell_is_a_formula_and_every_cell_comes_back(text):
    """The signs are those that the Open Worldwide Application Security Project lists for formula injection in CSV."""
    safe = guarded(text)
    assert not safe.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert words(safe) == text.strip() or text == "\tx"


def test_numbers_keep_their_sign():
    rows = list(csv.reader(table_text(["x"], [[-1.5], ["-2"], [float("nan")], [None]]).splitlines()))
    assert [row[0] if row else "" for row in rows] == ["x", "-1.5", "-2", "", ""]


def test_a_file_appears_whole_or_not_at_all(tmp_path, monkeypatch):
    path = write_text(tmp_path / "page.html", "old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write.os, "replace", full)
    with pytest.raises(CampaignError, match=r"page\.html: cannot be written \(No space left on device\)"):
        write_text(path, "new")
    assert path.read_text() == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["page.html"]


def test_a_device_or_a_pipe_is_never_replaced(tmp_path):
    """A file renamed onto ``/dev/null`` would be in its place for every program of the machine."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(CampaignError, match="is a device or a pipe"):
        write_text(pipe, "page")
    assert pipe.is_fifo()
    assert list(tmp_path.iterdir()) == [pipe]


def test_a_folder_appears_whole_or_not_at_all(tmp_path, monkeypatch):
    calls = []
    plain = write.write_bytes

    def second_fails(path, data, lasting):
        calls.append(path)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        return plain(path, data, lasting)

    monkeypatch.setattr(write, "write_bytes", second_fails)
    with pytest.raises(CampaignError, match="cannot be written"):
        write_campaign(tmp_path / "new", TOML, {"takeoff_roll": (HEADER, ROWS)})
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_is_told_with_the_name_that_the_file_would_have_had(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write.os, "replace", full)
    with pytest.raises(CampaignError, match=r"new/campaign\.toml: cannot be written \(No space left on device\)"):
        write_campaign(tmp_path / "new", TOML, {})
    assert list(tmp_path.iterdir()) == []


def test_what_is_to_last_is_on_the_disk_before_it_takes_its_name(tmp_path, monkeypatch):
    done = []
    monkeypatch.setattr(write.os, "fsync", lambda handle: done.append("on the disk"))
    rename = write.os.replace
    monkeypatch.setattr(write.os, "replace", lambda old, new: (done.append("renamed"), rename(old, new)))
    write_text(tmp_path / "typed.csv", "run\n", lasting=True)
    assert done == ["on the disk", "renamed"]


def test_a_place_that_cannot_be_written_to(tmp_path):
    # No file system takes such a name, whoever asks: permissions would not stop the superuser.
    for path in (tmp_path / ("x" * 300), tmp_path / ("x" * 300) / "page.html"):
        with pytest.raises(CampaignError, match="cannot be written"):
            write_text(path, "x")
    with pytest.raises(CampaignError, match="cannot be written"):
        write_campaign(tmp_path / ("x" * 300), TOML, {})
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_the_place_of_a_file_and_a_file_in_the_place_of_a_folder(tmp_path):
    (tmp_path / "page.html").mkdir()
    with pytest.raises(CampaignError, match="is a folder"):
        write_text(tmp_path / "page.html", "x")
    (tmp_path / "file").write_text("x")
    with pytest.raises(CampaignError, match="file"):
        write_text(tmp_path / "file" / "page.html", "x")
    with pytest.raises(CampaignError, match="is a file, so no folder can be made there"):
        write_campaign(tmp_path / "file", TOML, {})


def test_files_that_others_put_there_stay(tmp_path):
    (tmp_path / "photograph.txt").write_text("x")
    write_campaign(tmp_path, TOML, {"takeoff_roll": (HEADER, ROWS)}, {"README.txt": "said"})
    assert {path.name for path in tmp_path.iterdir()} == {
        "photograph.txt",
        "campaign.toml",
        "takeoff_roll.csv",
        "README.txt",
    }


def test_written_files_can_be_shared(tmp_path):
    path = write_text(tmp_path / "page.html", "x")
    mask = os.umask(0)
    os.umask(mask)
    assert path.stat().st_mode & 0o777 == 0o666 & ~mask
