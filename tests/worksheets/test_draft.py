"""Nothing typed is lost: whatever stops in the middle, whoever else writes, whatever the disk refuses.

The independent reference is the file system: the bytes of the saved files before and after.
"""

from __future__ import annotations

import errno
import os
import shutil

import pytest
from worksheet_client import STEM, Visitor, put_campaign

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.tables import write
from samesky.worksheets import draft as drafts
from samesky.worksheets.draft import BASED_ON, UNSAVED, Draft

pytestmark = pytest.mark.usefixtures("figures_unprinted")

CSV = f"{STEM}.csv"


@pytest.fixture
def folder(tmp_path):
    return put_campaign(tmp_path / "hangar")


@pytest.fixture
def visitor(folder):
    return Visitor(folder.parent)


def bytes_of(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def full(path=None, name="No space left on device"):
    def refuse(*_, **__):
        raise OSError(errno.ENOSPC, name)

    return refuse


# ---- where typing goes ---------------------------------------------------------------------------------------------


def test_saved_files_are_untouched_until_saving(folder, visitor):
    before = bytes_of(folder)
    assert visitor.cell(0, "notes", "calm").status_code == 200
    assert bytes_of(folder) == before
    assert "calm" in (folder / UNSAVED / CSV).read_text(encoding="utf-8")
    assert visitor.post("/c/climbs/save").status_code == 200
    assert not (folder / UNSAVED).exists()
    changed = {name for name, data in bytes_of(folder).items() if data != before.get(name)}
    assert changed == {CSV}
    assert "calm" in (folder / CSV).read_text(encoding="utf-8")


def test_the_version_changes_with_whatever_is_shown(folder, visitor):
    draft = Draft(folder)
    seen = [draft.version()]

    def moved():
        seen.append(draft.version())
        return len(set(seen)) == len(seen) and draft.version() == seen[-1]

    (folder / CSV).write_text((folder / CSV).read_text(encoding="utf-8") + "\n9,\n", encoding="utf-8")
    assert moved()
    visitor.cell(0, "notes", "calm")
    assert moved()
    visitor.cell(0, "notes", "calm, later")
    assert moved()
    # Of the same text, but saved now.
    draft.save()
    assert moved()
    draft.write("campaign.toml", draft.files()["campaign.toml"])
    assert moved()


def test_a_page_that_is_up_to_date_is_told_nothing(visitor):
    state = visitor.state()
    where = f"/c/climbs/runs/{STEM}/state?version={state['version']}"
    assert visitor.get(where).status_code == 204
    visitor.cell(0, "notes", "calm")
    assert visitor.get(where).json()["rows"][0][-1] == "calm"


# ---- the disk refuses ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("refused", ["replace", "fdopen", "fsync"])
@pytest.mark.parametrize("typed_before", [False, True])
def test_a_full_disk_keeps_what_was_kept_and_says_so(folder, visitor, monkeypatch, refused, typed_before):
    if typed_before:
        visitor.cell(0, "notes", "before")
    saved, kept = bytes_of(folder), bytes_of(folder / UNSAVED) if typed_before else None
    with monkeypatch.context() as disk:
        disk.setattr(write.os, refused, full())
        answer = visitor.cell(1, "notes", "while full")
        assert answer.status_code == 507
        assert "cannot be kept (No space left on device)" in answer.json()["problem"]
        assert str(folder) not in answer.json()["problem"]
        assert bytes_of(folder) == saved
        assert (bytes_of(folder / UNSAVED) if typed_before else None) == kept
        assert visitor.state()["rows"][0][-1] == ("before" if typed_before else "")
    assert visitor.cell(1, "notes", "when there is room").status_code == 200
    rows = visitor.state()["rows"]
    assert (rows[0][-1], rows[1][-1]) == ("before" if typed_before else "", "when there is room")
    left = [path.name for path in folder.rglob("*.part")]
    assert left == []


@pytest.mark.parametrize("which", [CSV, "campaign.toml"])
def test_a_disk_that_is_full_half_way_through_saving(folder, visitor, monkeypatch, which):
    visitor.cell(0, "notes", "typed")
    answer = visitor.entry("", "title", "Another")
    assert answer.status_code == 200
    rename = os.replace

    def refuse(old, new):
        if os.path.basename(new) == which and UNSAVED not in str(new):
            raise OSError(errno.ENOSPC, "No space left on device")
        rename(old, new)

    with monkeypatch.context() as disk:
        disk.setattr(write.os, "replace", refuse)
        answer = visitor.post("/c/climbs/save")
        assert answer.status_code == 422
        assert "No space left on device" in answer.text
    assert "typed" in (folder / UNSAVED / CSV).read_text(encoding="utf-8")
    assert visitor.post("/c/climbs/save").status_code == 200
    assert "typed" in (folder / CSV).read_text(encoding="utf-8")
    assert "Another" in (folder / "campaign.toml").read_text(encoding="utf-8")
    assert not (folder / UNSAVED).exists()


def test_a_report_that_the_disk_does_not_take_is_said(folder, visitor, monkeypatch):
    monkeypatch.setattr(write.os, "replace", full())
    answer = visitor.post("/c/climbs/report")
    assert answer.status_code == 422
    assert "No space left on device" in answer.text
    assert not (folder / "report.html").exists()


def test_a_folder_that_may_only_be_read(folder, visitor, monkeypatch):
    """The refusal stands in for the permissions, which do not stop the superuser."""
    monkeypatch.setattr(write.tempfile, "mkdtemp", full(name="Permission denied"))
    before = bytes_of(folder)
    assert visitor.get(f"/c/climbs/runs/{STEM}").status_code == 200
    answer = visitor.cell(0, "notes", "x")
    assert answer.status_code == 507
    assert "Permission denied" in answer.json()["problem"]
    assert bytes_of(folder) == before


def test_a_text_that_no_file_can_hold(folder):
    draft = Draft(folder)
    draft.write("campaign.toml", 'title = "a\0b\ud800"\n')
    assert draft.files()["campaign.toml"] == 'title = "ab?"\n'
    with pytest.raises(CampaignError, match="more than 50 MB"):
        draft.write(CSV, "x" * 50_000_001)
    with pytest.raises(CampaignError, match="cannot be listed"):
        Draft(folder / "gone").write(CSV, "x")


# ---- stopped in between --------------------------------------------------------------------------------------------


def test_what_a_crash_left_before_anything_was_typed_is_no_typing(folder, visitor):
    (folder / UNSAVED).mkdir()
    (folder / UNSAVED / CSV).write_text("half", encoding="utf-8")
    (folder / f".{UNSAVED}.x.part").mkdir()
    assert visitor.state()["changed"] == []
    assert visitor.cell(0, "notes", "typed").status_code == 200
    assert visitor.state()["rows"][1][0] == "2"
    assert [path.name for path in folder.iterdir() if "part" in path.name] == []


@pytest.mark.parametrize("step", range(1, 7))
def test_a_crash_at_any_step_of_saving_loses_nothing(folder, monkeypatch, step):
    """Each rename, and each removal, of saving is where the machine may stop."""

    class Stopped(BaseException):
        pass

    draft = Draft(folder)
    texts = draft.files()
    typed = {CSV: texts[CSV].replace("06:32", "06:33"), "campaign.toml": "# looked at\n" + texts["campaign.toml"]}
    for name, text in typed.items():
        draft.write(name, text)
    steps = 0

    def counted(function):
        def at_a_step(*given, **named):
            nonlocal steps
            steps += 1
            if steps == step:
                raise Stopped
            return function(*given, **named)

        return at_a_step

    with monkeypatch.context() as machine:
        machine.setattr(os, "replace", counted(os.replace))
        machine.setattr(os, "unlink", counted(os.unlink))
        machine.setattr(os, "rmdir", counted(os.rmdir))
        try:
            draft.save()
            stopped = False
        except Stopped:
            stopped = True
    assert stopped == (step <= steps)
    # Started anew: nothing asked for by the half-done, and saving again finishes it.
    again = Draft(folder)
    assert {name: again.files()[name] for name in typed} == typed
    again.save()
    assert {name: (folder / name).read_text(encoding="utf-8") for name in typed} == typed
    assert again.place == folder


def test_a_half_removed_draft_takes_no_saved_file_with_it(folder, visitor, monkeypatch):
    """Removing the folder of typing must not look, half-way, as if files had been deleted by typing."""
    visitor.entry("", "title", "Another")
    rmtree = shutil.rmtree

    def half(path, **named):
        if (path / CSV).exists():
            (path / CSV).unlink()
            raise KeyboardInterrupt
        rmtree(path, **named)

    monkeypatch.setattr(drafts.shutil, "rmtree", half)
    with pytest.raises(KeyboardInterrupt):
        Draft(folder).save()
    monkeypatch.undo()
    assert Draft(folder).changed() == []
    Draft(folder).save()
    assert (folder / CSV).is_file()


@pytest.mark.parametrize("words", ["", "{", "[]", "null", "[" * 100_000, '{"x": 1}'])
def test_what_typing_rests_on_may_be_spoilt(folder, visitor, words):
    visitor.cell(0, "notes", "typed")
    (folder / UNSAVED / BASED_ON).write_text(words, encoding="utf-8")
    assert visitor.state()["changed"] == [CSV]
    assert visitor.post("/c/climbs/save").status_code == 200
    assert visitor.post("/c/climbs/save", data={"over": "yes"}).status_code == 200
    assert "typed" in (folder / CSV).read_text(encoding="utf-8")
    assert (folder / "campaign.toml").is_file()
