"""Does the search for weak tests itself tell killed from survived?"""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys

import pytest

from tests.mutants import mutant_worker
from tests.mutants.mutant_worker import _Marked, exchange
from tests.mutants.mutation_operators import candidates, compiles, drawn

SOURCE = b'''"""Module with 3 numbers: 1 < 2."""

LIMIT = 5


def above(value, least=2):
    """Whether 1 < 2."""
    if value < least:
        raise ValueError(f"{value} is below {least + 1}")
    return value + LIMIT > 7 and not value == 9


def made(step):
    def inner(value):
        return value + step

    return inner
'''


def changes(source=SOURCE):
    return {one.change: one for one in candidates("made.py", source)}


def test_operators_boundaries_constants_guards_and_signs_are_changed_and_words_are_not():
    found = changes()
    expected = {
        "5 => 6",
        "2 => 1",
        "value < least => value <= least",
        "value < least => not value < least",
        "value < least => False",
        'raise ValueError(f"{value} is below {least + 1}") => pass',
        "value + LIMIT => value - LIMIT",
        "value + LIMIT > 7 => value + LIMIT >= 7",
        "7 => 8",
        "not value == 9 => value == 9",
        "value == 9 => value != 9",
        "value + LIMIT > 7 and not value == 9 => value + LIMIT > 7 or not value == 9",
    }
    assert expected <= set(found)
    assert not any("Whether" in change or "Module" in change or "least + 1 =>" in change for change in found)


def test_how_a_table_looks_is_not_changed():
    source = b'style = [("GRID", (0, 0), (-1, 1), 0.5), ("A", 7)]\ntable.setStyle([(2, 3)])\nwide = ("small", 3)\n'
    assert set(changes(source)) == {"3 => 4", "3 => 2"}


def test_every_change_is_python_and_keeps_the_number_of_lines():
    for one in candidates("made.py", SOURCE):
        changed = one.applied(SOURCE)
        assert compiles(changed)
        assert changed.count(b"\n") == SOURCE.count(b"\n")
        assert changed != SOURCE


def test_what_acts_at_import_is_told_from_what_acts_when_called():
    found = changes()
    assert found["5 => 6"].at_import
    assert found["2 => 1"].at_import  # a default is worked out when the function is made
    assert not found["7 => 8"].at_import


def test_the_draw_takes_every_line_once_before_any_line_twice_and_does_not_move_with_the_lines():
    found = candidates("made.py", SOURCE)
    order = list(drawn(found, 1))
    assert len(order) == len(found)
    lines = {one.line for one in found}
    assert {one.line for one in order[: len(lines)]} == lines
    moved = SOURCE.replace(b"LIMIT = 5", b"# one more line\nLIMIT = 5")
    assert [one.key for one in drawn(candidates("made.py", moved), 1)] == [one.key for one in order]
    assert [one.key for one in drawn(found, 2)] != [one.key for one in order]


def test_living_functions_are_exchanged_wherever_they_were_imported_to(tmp_path, monkeypatch):
    path = tmp_path / "made_for_exchange.py"
    path.write_bytes(SOURCE)
    spec = importlib.util.spec_from_file_location("made_for_exchange", path)
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(sys.modules, "made_for_exchange", module)
    spec.loader.exec_module(module)
    elsewhere, closed = module.above, module.made(10)
    assert elsewhere(3) is True
    assert closed(1) == 11
    found = changes()
    assert exchange(str(path), found["value + LIMIT => value - LIMIT"].applied(SOURCE)) == 1
    assert elsewhere(3) is False
    assert closed(1) == 11
    # Both the function that makes closures and the closure that lives.
    assert exchange(str(path), found["value + step => value - step"].applied(SOURCE)) == 3
    assert closed(1) == -9
    assert elsewhere(3) is True


def test_marks_tell_which_lines_were_run_and_change_nothing(tmp_path, monkeypatch):
    path = tmp_path / "made_for_marks.py"
    path.write_bytes(SOURCE + b"\n\ntwice = [lambda value:\n    2 * value]\n")
    reached = set()
    monkeypatch.setattr("builtins.__reached__", reached.add, raising=False)
    spec = importlib.util.spec_from_file_location("made_for_marks", path, loader=_Marked("made_for_marks", str(path)))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.__doc__ == "Module with 3 numbers: 1 < 2."
    assert module.above.__doc__ == "Whether 1 < 2."
    reached.clear()
    assert module.above(3)
    assert {line for _, line in reached} == {8, 10}, "the raise of line 9 was not reached"
    reached.clear()
    assert module.twice[0](4) == 8
    assert {line for _, line in reached} == {21}


@pytest.mark.parametrize(
    ("text", "sound"), [("def test_one():\n    assert True\n", True), ("import nowhere_at_all\n", False)]
)
def test_a_room_whose_tests_cannot_be_collected_is_no_room_whose_mutants_survive(tmp_path, text, sound):
    """In a process of its own, for it runs pytest."""
    (tmp_path / "test_made.py").write_text(text, encoding="utf-8")
    asked = {"package": str(tmp_path), "tests_folder": str(tmp_path), "temp": str(tmp_path / "temp"), "slow": 20.0}
    asked |= {"files": [str(tmp_path / "test_made.py")], "modules": [], "mutants": []}
    (tmp_path / "asked.json").write_text(json.dumps(asked), encoding="utf-8")
    for way in ("reach", "warm"):
        command = [sys.executable, mutant_worker.__file__, way, str(tmp_path / "asked.json"), str(tmp_path / "answer")]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True)
        assert (done.returncode == 0) is sound, done.stdout + done.stderr
        assert sound or "could not be run on the sound package" in done.stderr
