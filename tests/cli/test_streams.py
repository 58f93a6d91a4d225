"""What leaves by the terminal: in any code page, without signs that move the cursor, into a pipe that breaks."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from samesky import cli
from samesky.cli.streams import harmless, plain_sign

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"
CODE_PAGES = ("cp1252", "cp850", "cp437", "latin-1", "cp932", "ascii", "utf-8")
#: Whatever moves a cursor, rings a bell or turns the writing round; colours are told apart below.
MOVES = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def said(*words: str, out=subprocess.PIPE, **environment: str):
    command = [sys.executable, "-m", "samesky.cli", *words]
    return subprocess.run(command, stdout=out, stderr=subprocess.PIPE, env=os.environ | environment, check=False)


def told(monkeypatch, *words: str, page: str = "utf-8", **environment: str) -> tuple[int, bytes, bytes]:
    """As :func:`said`, in this process: exit code, and what reached the two streams as bytes of a code page."""
    streams = {name: io.TextIOWrapper(io.BytesIO(), encoding=page, newline="") for name in ("stdout", "stderr")}
    with monkeypatch.context() as patch:
        patch.setattr(sys, "argv", ["samesky", *words])
        for name, stream in streams.items():
            patch.setattr(sys, name, stream)
        for name, value in environment.items():
            patch.setenv(name, value)
        with pytest.raises(SystemExit) as left:
            cli.main()
    return left.value.code, *(stream.buffer.getvalue() for stream in streams.values())


def spoilt(tmp_path, name: str, old: str, new: str) -> Path:
    folder = tmp_path / "spoilt"
    folder.mkdir()
    for path in (DATA / "warming_day").iterdir():
        text = path.read_text("utf-8")
        (folder / path.name).write_text(text.replace(old, new) if path.name == name else text, encoding="utf-8")
    return folder


VERBS = (
    ("--help",),
    ("check", str(DATA / "finer_pitch")),
    ("compare", str(DATA / "finer_pitch")),
    ("new", "--help"),
)


@pytest.mark.parametrize("verb", VERBS, ids=[verb[0] for verb in VERBS])
def test_every_code_page_gets_the_whole_answer(monkeypatch, verb):
    for page in CODE_PAGES:
        code, out, trouble = told(monkeypatch, *verb, page=page)
        assert (code, trouble) == (0, b""), (page, trouble)
        words = re.sub(r"[^A-Za-z]+", "", out.decode(page))
        assert len(words) > 30
        if page == "cp1252":
            first = words
        # Signs that one page has and another has not are written out there: letters may come to it, none goes.
        assert len(words) >= 0.99 * len(first)


def test_the_environment_may_name_the_code_page():
    done = said("compare", str(DATA / "warming_day"), PYTHONIOENCODING="cp437")
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.decode("cp437")


def test_the_locale_of_a_bare_machine_is_enough():
    done = said("compare", str(DATA / "warming_day"), LC_ALL="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0")
    assert done.returncode == 0
    assert b"Traceback" not in done.stderr


def test_what_machines_read_is_whole_in_any_code_page(monkeypatch):
    verb = ("compare", "--json", str(DATA / "warming_day"))
    whole = json.loads(told(monkeypatch, *verb)[1])
    for page in ("cp437", "ascii"):
        assert json.loads(told(monkeypatch, *verb, page=page)[1].decode(page)) == whole


def test_a_sign_that_a_code_page_lacks_becomes_its_nearest():
    assert [plain_sign(sign) for sign in "−±≥→é─╭字"] == ["-", "+-", ">=", "->", "e", "-", "+", "?"]


def test_colours_stay_and_everything_that_moves_goes():
    text = "\x1b[1mbold\x1b[0m \x1b[2J\x07back\x08 \x9b31m \u202eturned\tline\n10\u00a0kt"
    shown = harmless(text)
    assert shown.startswith("\x1b[1mbold\x1b[0m ")
    assert shown.endswith("turned\tline\n10\u00a0kt")
    assert not MOVES.search(shown.replace("\x1b[1m", "").replace("\x1b[0m", ""))


@pytest.mark.parametrize("verb", ["check", "compare", "reduce"])
@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("campaign.toml", 'title = "', 'title = "\\u001b[2J\\u009b1A\\u0007\\u202e\\u001b[31m'),
        ("campaign.toml", 'label = "old', 'label = "\\u001b[2J\\u0007old'),
        ("campaign.toml", "[configuration.A]", '[configuration.A]\n"\\u001b[2Jdetail" = "x"'),
        ("takeoff_roll.csv", "grass still wet", "\x1b[2J\x07\x1b]0;mine\x07 fuel"),
        ("takeoff_roll.csv", "\n3,2026", "\n\x1b[2J3,2026"),
        ("takeoff_roll.csv", "headwind [kt]", "headwind [kt\x1b[2J]"),
    ],
    ids=["title", "label", "entry", "notes", "run", "unit"],
)
def test_nothing_in_a_file_moves_the_cursor(monkeypatch, tmp_path, verb, name, old, new):
    code, *streams = told(monkeypatch, verb, str(spoilt(tmp_path, name, old, new)))
    assert code in (0, 2)
    assert not any(MOVES.search(stream.decode("utf-8")) for stream in streams), streams


@pytest.mark.parametrize("verb", ["check", "compare", "pack"])
def test_no_name_of_a_folder_moves_the_cursor(monkeypatch, tmp_path, verb):
    folder = spoilt(tmp_path, "", "", "").rename(tmp_path / "a\x1b[2J\x07b\n")
    for place in (folder, tmp_path / "not\x1b[2Jthere"):
        _, *streams = told(monkeypatch, verb, str(place))
        assert not any(MOVES.search(stream.decode("utf-8")) for stream in streams), streams


@pytest.mark.parametrize("columns", ["0", "1", "-3", "many", "80", "99999"])
def test_a_terminal_without_a_width_has_a_usual_one(monkeypatch, columns):
    code, out, trouble = told(monkeypatch, "compare", str(DATA / "warming_day"), COLUMNS=columns)
    assert (code, trouble) == (0, b"")
    assert max(map(len, out.decode().splitlines())) > 20


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
@pytest.mark.parametrize("verb", VERBS[:2], ids=[verb[0] for verb in VERBS[:2]])
def test_a_full_disk_is_one_sentence(verb):
    with open("/dev/full", "wb") as full:
        done = said(*verb, out=full)
    assert done.returncode == 2
    (line,) = done.stderr.decode().splitlines()
    assert "cannot be written" in line
    assert "No space left" in line


@pytest.mark.parametrize("verb", VERBS[:2], ids=[verb[0] for verb in VERBS[:2]])
def test_a_reader_that_has_gone_is_no_error(verb):
    read_end, write_end = os.pipe()
    os.close(read_end)
    with open(write_end, "wb") as broken:
        done = said(*verb, out=broken)
    assert (done.returncode, done.stderr) == (0, b"")
