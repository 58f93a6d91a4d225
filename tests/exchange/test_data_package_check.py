"""A package is held against its description; whatever the description says, nothing outside the folder is opened."""

from __future__ import annotations

import builtins
import hashlib
import json
import os
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sound_campaign import CLIMB, ROLL, TOML

from samesky.exchange.data_package import verify as data_package_check
from samesky.exchange.data_package.describe import DESCRIPTION, README, package
from samesky.exchange.data_package.verify import verify

SOUND = {"campaign.toml": TOML, "takeoff_roll.csv": ROLL, "timed_climb.csv": CLIMB}


@pytest.fixture
def packed(tmp_path):
    folder = tmp_path / "packed"
    folder.mkdir()
    for name, content in package(SOUND).items():
        (folder / name).write_bytes(content)
    return folder


def change(folder: Path, **entries) -> None:
    """Change entries of the resource of the climb."""
    path = folder / DESCRIPTION
    said = json.loads(path.read_text())
    said["resources"][-1] |= entries
    path.write_text(json.dumps(said))


def only(folder: Path):
    (finding,) = verify(folder)
    return finding


def test_a_package_as_packed_is_sound(packed):
    assert verify(packed) == []


def test_a_folder_without_a_description_is_none_of_our_business(tmp_path):
    assert verify(tmp_path) == []
    assert verify(tmp_path / "nowhere") == []


def test_what_was_not_packed_is_no_fault(packed):
    """Reports, photographs, drafts and the template's files of what was not flown are not described."""
    (packed / "report.html").write_text("<p>")
    (packed / ".unsaved").mkdir()
    (packed / "static_pull.csv").write_text("run,date,clock,configuration,pull [kgf]\n")
    assert verify(packed) == []


def test_a_changed_file_is_a_doubt(packed):
    (packed / "campaign.toml").write_text(TOML.replace("5 %", "4 %"))  # of the same size
    finding = only(packed)
    assert (finding.kind, finding.file) == ("warning", "campaign.toml")
    assert "has changed since datapackage.json was written" in finding.message
    assert "pack again" in finding.mend


def test_a_longer_file_is_a_doubt_even_without_a_hash(packed):
    change(packed, hash=None)
    assert verify(packed) == []
    (packed / "timed_climb.csv").write_text(CLIMB + "\n")
    assert "has changed" in only(packed).message


def test_files_that_came_and_went_are_doubts(packed):
    (packed / "notes.txt").write_text("x")
    (packed / README).unlink()
    gone, new = verify(packed)
    assert (gone.kind, gone.file, new.kind, new.file) == ("warning", README, "warning", "notes.txt")
    assert "is not there" in gone.message
    assert "is not described" in new.message


def test_a_header_that_is_not_the_schemas(packed):
    path = packed / "timed_climb.csv"
    path.write_text(CLIMB.replace("rpm", "fuel flow [L/h]"))
    changed, columns = verify(packed)
    assert "has changed" in changed.message
    assert "column 7 is 'fuel flow [L/h]', described is 'rpm'" in columns.message
    path.write_text(CLIMB)
    change(packed, schema={"fields": [{"name": "run"}]})
    assert "column 2 is 'date', described is nothing" in only(packed).message


@pytest.mark.parametrize("algorithm", ["md5", "sha1", "sha512"])
def test_every_hash_of_the_standard_is_known(packed, algorithm):
    digest = hashlib.new(algorithm, CLIMB.encode()).hexdigest().upper()
    for written in (f"{algorithm}:{digest}", *([digest] if algorithm == "md5" else [])):
        change(packed, hash=written)
        assert verify(packed) == []
        change(packed, hash=written[:-1] + ("0" if written[-1] != "0" else "1"))
        assert "has changed" in only(packed).message


def test_inline_data_and_several_files_are_the_standards_too(packed):
    change(packed, path=["timed_climb.csv", "campaign.toml"], bytes=None, hash=None, schema=None)
    assert verify(packed) == []
    said = json.loads((packed / DESCRIPTION).read_text())
    said["resources"].append({"name": "more", "data": [{"a": 1}]})
    (packed / DESCRIPTION).write_text(json.dumps(said))
    assert verify(packed) == []


# Descriptions that lead elsewhere, or are none.


@pytest.fixture
def opened(monkeypatch, packed):
    """The paths opened or looked into, outside the folder."""
    seen = []
    plainly, looked = builtins.open, os.path.isfile

    def noted(path, *more, **told):
        seen.append(os.path.realpath(path))
        return plainly(path, *more, **told)

    monkeypatch.setattr(builtins, "open", noted)
    monkeypatch.setattr(os.path, "isfile", lambda path: seen.append(os.path.realpath(path)) or looked(path))
    return lambda: [path for path in seen if not path.startswith(os.path.realpath(packed) + os.sep)]


@pytest.mark.parametrize(
    ("path", "wrong"),
    [
        ("../secret.csv", "leaves the folder"),
        ("a/../../secret.csv", "leaves the folder"),
        ("/etc/passwd", "is no relative path"),
        ("//server/share/x", "is no relative path"),
        ("..\\secret.csv", "is no relative path"),
        ("x\0.csv", "is no relative path"),
        ("x\n.csv", "is no relative path"),
        ("x\x9b31m.csv", "is no relative path"),
        ("x\u202evsc.csv", "is no relative path"),
        ("file:///etc/passwd", "is an address"),
        ("https://example.org/x.csv", "is an address"),
        ("C:/x.csv", "is an address, or names a drive"),
        (".hidden/x.csv", "is hidden"),
        ("./timed_climb.csv", "is hidden, or no name of a file"),
        ("", "no name of a file"),
        ("a//b.csv", "no name of a file"),
        ("x" * 5000, "no name of a file"),
        ("x\ud800.csv", "is no relative path"),
        ("link.csv", "is a link"),
        ("below/secret.csv", "is a link"),
    ],
)
def test_paths_that_leave_the_folder_are_errors_and_never_opened(packed, opened, path, wrong):
    (packed.parent / "secret.csv").write_text("secret")
    (packed / "link.csv").symlink_to(packed.parent / "secret.csv")
    (packed / "below").symlink_to(packed.parent, target_is_directory=True)
    change(packed, path=path)
    errors = [finding for finding in verify(packed) if finding.kind == "error"]
    assert len(errors) == 1
    assert errors[0].file == DESCRIPTION
    assert errors[0].message.isprintable()
    assert wrong in errors[0].message
    assert "it was not opened" in errors[0].message
    assert opened() == []


def test_a_pipe_is_not_waited_for(packed):
    (packed / "timed_climb.csv").unlink()
    os.mkfifo(packed / "timed_climb.csv")
    assert "is not there" in verify(packed)[0].message


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        (b"", "is not JSON"),
        (b"{", "is not JSON"),
        (b"\xff\xfe{}", "not text in UTF-8"),
        (b"[1]", "found a list, expected an object"),
        (b"null", "found nothing, expected an object"),
        (b"{}", "'resources' is nothing"),
        (b'{"resources": []}', "'resources' is an empty list"),
        (b'{"resources": {"a": 1}}', "'resources' is an object"),
        (b'{"resources": [{"name": "a", "path": "b", "bytes": NaN}]}', "NaN is no number that JSON has"),
        (b'{"resources": [{"bytes": -Infinity}]}', "no number that JSON has"),
        (b'{"resources": [' + b"9" * 5000 + b"]}", "is not JSON"),
        (b"[" * 500_000, "nested too deeply"),
        (b'{"a":' * 200_000, "nested too deeply"),
        (b" " * 2_000_001, "expected some kilobytes"),
        (b'{"resources": [' + b"1," * 600 + b"1]}", "lists 601 files"),
    ],
)
def test_malformed_descriptions_are_one_error(packed, text, wrong):
    (packed / DESCRIPTION).write_bytes(text)
    finding = only(packed)
    assert (finding.kind, finding.file) == ("error", DESCRIPTION)
    assert wrong in finding.message


def test_a_description_that_is_a_link_is_not_opened(packed, opened):
    (packed / DESCRIPTION).rename(packed.parent / "elsewhere.json")
    (packed / DESCRIPTION).symlink_to(packed.parent / "elsewhere.json")
    assert "it was not opened" in only(packed).message
    (packed / DESCRIPTION).unlink()
    (packed / DESCRIPTION).mkdir()
    assert "it was not opened" in only(packed).message
    assert opened() == []


@pytest.mark.parametrize(
    ("entries", "wrong"),
    [
        ({"path": 3}, "'path' is '3'"),
        ({"path": []}, "'path' is an empty list"),
        ({"path": [["timed_climb.csv"]]}, "'path' is a list"),
        ({"name": {}}, "'name' is an empty object"),
        ({"name": "campaign"}, "as of another resource"),
        ({"bytes": "many"}, "'bytes' is 'many'"),
        ({"bytes": True}, "'bytes' is 'True'"),
        ({"bytes": -1}, "'bytes' is '-1'"),
        ({"bytes": 1e999}, "no number that JSON has"),
        ({"hash": 3}, "'hash' is '3'"),
        ({"hash": "sha256:"}, "'hash' is 'sha256:'"),
        ({"hash": "crc32:00000000"}, "one of md5, sha1"),
        ({"hash": "shake_128:00"}, "one of md5, sha1"),
        ({"schema": {}}, "has no list of 'fields'"),
        ({"schema": {"fields": [{"name": 3}]}}, "has no list of 'fields'"),
        ({"schema": {"fields": [3]}}, "has no list of 'fields'"),
    ],
)
def test_entries_of_the_wrong_kind_are_errors(packed, entries, wrong):
    change(packed, **entries)
    errors = [finding for finding in verify(packed) if finding.kind == "error"]
    assert len(errors) == 1
    assert wrong in errors[0].message


def test_a_file_named_often_is_read_once(packed, monkeypatch):
    said = json.loads((packed / DESCRIPTION).read_text())
    one = said["resources"][-1]
    said["resources"] += [one | {"name": f"again-{n}"} for n in range(400)]
    (packed / DESCRIPTION).write_text(json.dumps(said))
    read = []
    plainly = data_package_check._content
    monkeypatch.setattr(data_package_check, "_content", lambda path: read.append(path) or plainly(path))
    assert verify(packed) == []
    assert len(read) == 4


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text() | st.sampled_from(["campaign.toml", "/", ".."]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["resources", "path", "name", "hash", "bytes", "schema", "fields", "data"]), inner
        )
    ),
    max_leaves=20,
)


@pytest.fixture(scope="module")
def any_folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("any")
    (folder / "campaign.toml").write_text(TOML)
    return folder


def is_sound(whole: object) -> bool:
    """Whether a description says no more than that the folder holds ``campaign.toml``, as may happen by chance."""
    if not isinstance(whole, dict) or not isinstance(whole.get("resources"), list):
        return False
    filed = [one for one in whole["resources"] if "path" in one]
    paths = [path for one in filed for path in ([one["path"]] if isinstance(one["path"], str) else one["path"])]
    names = [one.get("name") for one in filed]
    return set(paths) == {"campaign.toml"} and all(names) and len(set(names)) == len(names)


@settings(max_examples=200, deadline=None)
@given(said=JSON)
@example(said={"resources": None, "path": "campaign.toml", "name": "0"})
@example(said={"path": ["campaign.toml"], "name": "0", "bytes": 3})
def test_whatever_it_says_there_are_findings_and_nothing_raised(said, any_folder):
    folder = any_folder
    for whole in (said, {"resources": said}, {"resources": [said]}):
        (folder / DESCRIPTION).write_text(json.dumps(whole))
        findings = verify(folder)
        assert findings or is_sound(whole)
        assert all(finding.kind in ("error", "warning") and finding.sentence().isprintable() for finding in findings)


def test_the_smallest_sound_description(any_folder):
    (any_folder / DESCRIPTION).write_text(json.dumps({"resources": [{"path": "campaign.toml", "name": "0"}]}))
    assert verify(any_folder) == []
