"""Packed and unpacked, a campaign gives the same answers; nothing appears outside the place that was named."""

from __future__ import annotations

import errno
import io
import json
import os
import zipfile
from functools import cache
from pathlib import Path

import hostile_zips as hostile
import pytest

from samesky.campaign.tables import write
from samesky.exchange import packing
from samesky.exchange.data_package.describe import README
from samesky.exchange.own_files import DESCRIPTION

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted(path.parent for path in (ROOT / "data_synthetic").glob("*/campaign.toml"))
FLOWN = [path for path in EXAMPLES if list(path.glob("*.csv"))]


@pytest.fixture
def campaign(tmp_path):
    """A copy of an example, alone in a folder, with all that lies about in such a folder."""
    place = tmp_path / "here"
    folder = place / "mine"
    folder.mkdir(parents=True)
    for path in (ROOT / "data_synthetic" / "warming_day").iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    (folder / ".unsaved").mkdir()
    (folder / ".unsaved" / "takeoff_roll.csv").write_text("half typed")
    (folder / "report.html").write_text("<p>")
    return folder


def tree(place: Path) -> dict[str, bytes | None]:
    return {
        str(path.relative_to(place)): path.read_bytes() if path.is_file() else None for path in sorted(place.rglob("*"))
    }


# There and back.


@pytest.mark.parametrize("example", FLOWN, ids=lambda path: path.name)
@pytest.mark.parametrize("kind", ["a zip", "a folder"])
def test_unpacked_it_compares_the_same(run, tmp_path, example, kind):
    code, before, _ = run("compare", example, "--json")
    assert code == 0
    packed, unpacked = tmp_path / ("packed.zip" if kind == "a zip" else "packed"), tmp_path / "unpacked"
    code, said, _ = run("pack", "--no-report", example, "--out", packed)
    assert code == 0
    assert f"Packed {len(list(example.iterdir())) + 2} files" in said.replace("\n", " ")
    if kind == "a zip":
        code, said, _ = run("unpack", packed, unpacked)
        assert code == 0
        assert "samesky check" in said
    else:
        packed.rename(unpacked)
    for path in example.iterdir():
        assert (unpacked / path.name).read_bytes() == path.read_bytes()
    assert run("compare", unpacked, "--json") == (0, before, "")
    code, said, _ = run("check", unpacked)
    assert code == 0
    assert "pack again" not in said


@pytest.mark.parametrize("example", FLOWN, ids=lambda path: path.name)
def test_as_a_workbook_and_back_it_compares_the_same(run, tmp_path, example):
    before = run("compare", example, "--json")
    code, said, _ = run("pack", "--no-report", example, "--out", tmp_path / "packed.xlsx")
    assert code == 0
    assert "not packed: 'TRUTH.md': no sheet of a workbook" in said
    sheets = [path.name for path in example.iterdir() if path.name != "TRUTH.md"]
    assert f"Packed {len(sheets)} files" in said
    assert run("unpack", tmp_path / "packed.xlsx", tmp_path / "unpacked")[0] == 0
    assert sorted(path.name for path in (tmp_path / "unpacked").iterdir()) == sorted(sheets)
    assert run("compare", tmp_path / "unpacked", "--json") == before


@pytest.mark.parametrize("example", [path for path in EXAMPLES if path not in FLOWN], ids=lambda path: path.name)
def test_a_campaign_still_to_be_flown_plans_the_same(run, tmp_path, example):
    assert run("pack", "--no-report", example, "--out", tmp_path / "packed.zip")[0] == 0
    assert run("unpack", tmp_path / "packed.zip", tmp_path / "unpacked")[0] == 0
    assert (tmp_path / "unpacked" / "campaign.toml").read_bytes() == (example / "campaign.toml").read_bytes()
    code, said, complaint = run("check", tmp_path / "unpacked")
    assert code == 2
    assert "nothing flown yet" in said + complaint


def test_what_lies_about_is_left_where_it_is(run, campaign):
    before = tree(campaign.parent)
    code, said, _ = run("pack", "--no-report", campaign)
    assert code == 0
    assert "not packed: '.unsaved': " in said
    after = tree(campaign.parent)
    assert set(after) - set(before) == {"mine.zip"}
    assert all(after[name] == content for name, content in before.items())
    names = zipfile.ZipFile(io.BytesIO(after["mine.zip"])).namelist()
    kept = ["TRUTH.md", "campaign.toml", "takeoff_roll.csv", "timed_climb.csv"]
    assert sorted(names) == sorted([*kept, README, DESCRIPTION])
    assert run("pack", "--no-report", campaign)[0] == 0
    assert tree(campaign.parent) == after, "the same campaign is the same bytes"


def test_the_report_goes_with_it_made_anew_and_comes_back_by_itself(run, campaign):
    code, _, _ = run("pack", campaign)
    assert code == 0
    assert (campaign / "report.html").read_text() == "<p>", "what lies in the folder stays"
    packed = zipfile.ZipFile(campaign.parent / "mine.zip")
    # The page that `samesky report` writes, byte for byte.
    assert run("report", campaign, "--out", campaign.parent / "alone.html")[0] == 0
    assert packed.read("report.html") == (campaign.parent / "alone.html").read_bytes()
    described = json.loads(packed.read(DESCRIPTION))
    assert "report.html" not in {one["path"] for one in described["resources"]}
    code, said, complaint = run("unpack", campaign.parent / "mine.zip", campaign.parent / "theirs")
    assert code == 0
    assert "left out" not in said + complaint
    assert not (campaign.parent / "theirs" / "report.html").exists()
    assert run("check", campaign.parent / "theirs")[0] == 0


def test_without_anything_to_compare_or_with_errors_no_report_is_packed(run, campaign):
    path = campaign / "takeoff_roll.csv"
    path.write_text(path.read_text().replace("ground roll [ft]", "ground roll [kg]").replace("[m]", "[kg]"))
    run("pack", campaign)
    assert "report.html" not in zipfile.ZipFile(campaign.parent / "mine.zip").namelist()


@pytest.mark.parametrize("named", [".", "", "../mine", "../mine/"])
def test_the_zip_lies_beside_the_folder_however_that_is_named(run, campaign, monkeypatch, named):
    monkeypatch.chdir(campaign)
    assert run("pack", "--no-report", named or campaign)[0] == 0
    assert {path.name for path in campaign.parent.iterdir()} == {"mine", "mine.zip"}


def test_a_description_in_the_folder_itself_is_checked_from_then_on(run, campaign):
    before = tree(campaign)
    assert run("pack", "--no-report", campaign, "--out", campaign)[0] == 0
    after = tree(campaign)
    assert set(after) - set(before) == {README, DESCRIPTION}
    assert all(after[name] == content for name, content in before.items())
    path = campaign / "campaign.toml"
    path.write_text(path.read_text() + "\n# afterthought\n")
    code, said, _ = run("check", campaign)
    assert code == 0
    assert "campaign.toml: the file has changed since datapackage.json was written" in said
    assert run("pack", "--no-report", campaign, "--out", campaign)[0] == 0
    assert "has changed" not in run("check", campaign)[1]


def test_a_spoilt_description_fails_the_check_and_stops_no_comparison(run, campaign):
    (campaign / DESCRIPTION).write_text('{"resources": [{"name": "x", "path": "/etc/passwd"}]}')
    code, _, complaint = run("check", campaign)
    assert code == 2
    assert "it was not opened" in complaint
    assert run("compare", campaign, "--json")[0] == 0


def test_a_campaign_with_errors_is_packed_and_said(run, campaign):
    path = campaign / "timed_climb.csv"
    path.write_text(path.read_text().replace("61.0", "sixty"))
    code, said, _ = run("pack", "--no-report", campaign)
    assert code == 0
    assert "Checked: 1 error," in said
    assert run("unpack", campaign.parent / "mine.zip", campaign.parent / "again")[0] == 0
    assert "sixty" in (campaign.parent / "again" / "timed_climb.csv").read_text()


def test_old_windows_text_comes_back_byte_for_byte(run, campaign):
    path = campaign / "takeoff_roll.csv"
    path.write_bytes(path.read_text().replace("degC", "°C").encode("cp1252"))
    assert run("pack", "--no-report", campaign)[0] == 0
    code, said, _ = run("unpack", campaign.parent / "mine.zip", campaign.parent / "again")
    assert code == 0
    assert "cp1252" in said
    assert (campaign.parent / "again" / "takeoff_roll.csv").read_bytes() == path.read_bytes()
    assert "has changed" not in run("check", campaign.parent / "again")[1]


def test_unpacking_into_an_empty_folder(run, campaign):
    run("pack", "--no-report", campaign)
    (campaign.parent / "again").mkdir()
    assert run("unpack", campaign.parent / "mine.zip", campaign.parent / "again")[0] == 0
    assert (campaign.parent / "again" / "campaign.toml").is_file()


# What is refused.


def stopped(run, place: Path, *words) -> str:
    """The complaint of a verb that must change nothing: exit code 2, one line, the tree as it was."""
    before = tree(place)
    code, _, complaint = run(*words)
    assert code == 2
    assert complaint.count("\n") == 1
    assert "Traceback" not in complaint
    assert tree(place) == before
    return complaint


def test_nothing_is_unpacked_over_anything(run, campaign):
    place = campaign.parent
    run("pack", "--no-report", campaign)
    assert "the folder is not empty" in stopped(run, place, "unpack", place / "mine.zip", campaign)
    assert "is a file" in stopped(run, place, "unpack", place / "mine.zip", place / "mine.zip")
    assert "the folder is not empty" in stopped(run, place, "pack", campaign, "--out", place)


def test_packing_what_is_no_campaign(run, campaign):
    place = campaign.parent
    assert "no such folder" in stopped(run, place, "pack", place / "nowhere")
    (place / "empty").mkdir()
    assert "is no campaign" in stopped(run, place, "pack", place / "empty")
    assert "neither .zip nor .xlsx" in stopped(run, place, "pack", campaign, "--out", place / "mine.tar")


@pytest.mark.parametrize("name", ["timed_climb.csv", "notes.txt", "campaign.toml"])
def test_a_link_is_never_packed(run, campaign, name):
    secret = campaign.parent / "secret"
    secret.write_bytes((campaign / name).read_bytes() if (campaign / name).exists() else b"secret")
    (campaign / name).unlink(missing_ok=True)
    (campaign / name).symlink_to(secret)
    for target in ("out.zip", "out"):
        said = stopped(run, campaign.parent, "pack", campaign, "--out", campaign.parent / target)
        assert f"'{name}' leads to another place" in said


def test_names_that_we_would_not_unpack_are_not_packed(run, campaign):
    for name in ("10:30.txt", "NUL.md", "Truth.MD"):
        (campaign / name).write_text("x")
        said = stopped(run, campaign.parent, "pack", campaign)
        assert "cannot be packed" in said
        assert name in said
        (campaign / name).unlink()


def stores(tmp_path: Path, data: bytes, name: str = "sent.zip") -> Path:
    place = tmp_path / "sent"
    place.mkdir()
    (place / name).write_bytes(data)
    return place


TOML = (ROOT / "data_synthetic" / "warming_day" / "campaign.toml").read_bytes()


@cache
def sent() -> dict[str, bytes]:
    plain, written, usual = hostile.plain, hostile.written, hostile.usual
    good = plain("campaign.toml", TOML)
    sound = usual(campaign__toml=TOML, notes__txt="flown on grass\n" * 40)
    return {
        "up": written(good, plain("../escaped.csv")),
        "far up": written(good, plain("mine/../../escaped.csv")),
        "absolute": written(good, plain("/escaped.csv")),
        "a drive": written(good, plain("C:/escaped.csv")),
        "backslash": written(good, plain("..\\escaped.csv")),
        "a link": written(good, plain("takeoff_roll.csv", b"/etc/passwd", 0o120777)),
        "a linked folder": written(good, plain("below", b"..", 0o120777), plain("below/x.csv")),
        "a bomb": hostile.bomb(10),
        "a bomb that says it is small": hostile.bomb(10, 100),
        "members that overlap": hostile.overlapping(),
        "a zip in a zip": written(good, plain("more.zip", sound)),
        "encrypted": written(good, plain("x.csv", flags=1)),
        "a wrong checksum": written(plain("campaign.toml", TOML, crc=7)),
        "a csv": b"run,date\n1,2026-04-11\n",
        "a document": usual(**{"[Content_Types].xml": "<x/>", "word/document.xml": "<x/>"}),
        "nothing": b"",
        **{f"cut at {n}/20": sound[: len(sound) * n // 20] for n in range(1, 20)},
    }


@pytest.mark.parametrize("kind", sent())
@pytest.mark.parametrize("there", [False, True], ids=["new folder", "empty folder"])
def test_hostile_zips_leave_no_trace(run, tmp_path, kind, there):
    place = stores(tmp_path, sent()[kind])
    if there:
        (place / "target").mkdir()
    stopped(run, tmp_path, "unpack", place / "sent.zip", place / "target")


def test_a_workbook_without_a_campaign_is_refused(run, tmp_path):
    from openpyxl import Workbook

    made = io.BytesIO()
    book = Workbook()
    book.active.title = "takeoff_roll"
    book.active.append(["run", "date", "clock", "configuration", "ground roll [ft]"])
    book.save(made)
    place = stores(tmp_path, made.getvalue(), "sent.xlsx")
    said = stopped(run, tmp_path, "unpack", place / "sent.xlsx", place / "target")
    assert "has no sheet for campaign.toml" in said


@pytest.mark.parametrize("content", [b"", b"run\n1\n", hostile.usual(campaign__toml=TOML), hostile.overlapping()])
def test_what_is_no_workbook_by_that_name(run, tmp_path, content):
    place = stores(tmp_path, content, "sent.xlsx")
    stopped(run, tmp_path, "unpack", place / "sent.xlsx", place / "target")


def test_what_is_no_file(run, tmp_path):
    place = stores(tmp_path, b"x")
    assert "cannot be read (No such file" in stopped(run, tmp_path, "unpack", place / "not.zip", place / "target")
    assert "not a file" in stopped(run, tmp_path, "unpack", place, place / "target")
    os.mkfifo(place / "pipe.zip")
    with pytest.raises(packing.CampaignError, match="not a file"):
        packing.unpack(place / "pipe.zip", place / "target")


def test_a_zip_that_is_too_large_is_not_read(run, tmp_path, monkeypatch):
    monkeypatch.setattr(packing, "LARGEST_ZIP", 10)
    place = stores(tmp_path, hostile.usual(campaign__toml=TOML))
    assert "expected at most 1e-05 MB" in stopped(run, tmp_path, "unpack", place / "sent.zip", place / "target")


# A full disk, and an impatient Ctrl-C.


@pytest.fixture(params=["full", "interrupted"])
def failing(request, monkeypatch):
    """The k-th file that is written cannot be: the disk is full, or somebody pressed Ctrl-C."""

    def at(k: int):
        written = []
        plainly = write.os.replace

        def replace(one, other):
            written.append(other)
            if len(written) == k:
                raise OSError(errno.ENOSPC, "No space left on device") if request.param == "full" else KeyboardInterrupt
            return plainly(one, other)

        monkeypatch.setattr(write.os, "replace", replace)
        return (packing.CampaignError, KeyboardInterrupt)

    return at


@pytest.mark.parametrize("there", [False, True], ids=["new folder", "empty folder"])
@pytest.mark.parametrize("k", range(1, 7))
def test_unpacking_is_whole_or_not_at_all(campaign, failing, there, k):
    place = campaign.parent
    packing.pack(campaign, place / "mine.zip")
    if there:
        (place / "again").mkdir()
    before = tree(place)
    with pytest.raises(failing(k)):
        packing.unpack(place / "mine.zip", place / "again")
    assert tree(place) == before


@pytest.mark.parametrize("target", ["out.zip", "out"])
def test_packing_is_whole_or_not_at_all(campaign, failing, target):
    before = tree(campaign.parent)
    with pytest.raises(failing(1)):
        packing.pack(campaign, campaign.parent / target)
    assert tree(campaign.parent) == before


def test_an_old_zip_stays_where_the_new_one_cannot_be_written(campaign, failing):
    (campaign.parent / "mine.zip").write_bytes(b"old")
    with pytest.raises(failing(1)):
        packing.pack(campaign, campaign.parent / "mine.zip")
    assert (campaign.parent / "mine.zip").read_bytes() == b"old"


def test_help_names_the_verbs(run):
    code, said, _ = run("--help")
    assert code == 0
    assert " pack " in said
    assert " unpack " in said


def test_json_of_the_package_is_readable(run, campaign):
    run("pack", "--no-report", campaign, "--out", campaign.parent / "out")
    said = json.loads((campaign.parent / "out" / DESCRIPTION).read_text("utf-8"))
    assert said["title"] == "The new propeller, one fine Saturday"


@pytest.mark.parametrize(
    "content",
    [b"run,date\n\0\0\n", b"PK\x03\x04 no zip", b"run\n" + b"0" * 20_000_000],
    ids=["binary", "zip", "endless"],
)
def test_what_cannot_be_packed_is_named(run, campaign, tmp_path, content):
    (campaign / "takeoff_roll.csv").write_bytes(content)
    before = tree(campaign)
    code, _, said = run("pack", "--no-report", campaign, "--out", tmp_path / "out.zip")
    assert code == 2
    assert "'takeoff_roll.csv'" in said
    assert tree(campaign) == before
    assert not (tmp_path / "out.zip").exists()


@pytest.mark.parametrize(("count", "named", "more"), [(1, 1, ""), (5, 5, ""), (6, 5, "1 more"), (9, 5, "4 more")])
def test_what_was_left_out_is_named_up_to_five(campaign, count, named, more):
    (campaign / ".unsaved" / "takeoff_roll.csv").unlink()
    (campaign / ".unsaved").rmdir()
    (campaign / "report.html").unlink()
    for index in range(count):
        (campaign / f"report_{index}.html").write_text("<p>")
    (said,) = packing.pack(campaign, campaign.parent / "out.zip").left_out
    assert said.count("report_") == named
    assert (f" and {more}: " in said) == bool(more)
    assert said.endswith(": not what a campaign is made of, or hidden")


def test_a_file_that_is_no_text_goes_into_no_workbook(campaign):
    (campaign / "takeoff_roll.csv").write_bytes(b"\0\1\2")
    with pytest.raises(packing.CampaignError, match=r"takeoff_roll\.csv"):
        packing.pack(campaign, campaign.parent / "out.xlsx")
    assert not (campaign.parent / "out.xlsx").exists()
