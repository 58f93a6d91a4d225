"""Every finding has a code of a catalogue, every sentence of a catalogue is said somewhere, and is given its facts."""

from __future__ import annotations

import ast
import importlib
from pathlib import Path
from string import Formatter

import pytest

from samesky.campaign.messages.findings import Finding, row_words, sentences
from samesky.campaign.messages.sentences import Said, Sentence

SOURCE = Path(__file__).resolve().parents[2] / "src" / "samesky"
CATALOGUES = sorted(
    str(path.relative_to(SOURCE.parent).with_suffix("")).replace("/", ".")
    for path in SOURCE.rglob("catalogue.py")
    if "examples" not in path.parts
)
TREES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in SOURCE.rglob("*.py")}


def entries(module: str) -> dict[str, Sentence]:
    return {name: one for name, one in vars(importlib.import_module(module)).items() if isinstance(one, Sentence)}


def fields(sentence: Sentence) -> set[str]:
    found = set()
    for template in (sentence.says, sentence.mend):
        for _, name, spec, _ in Formatter().parse(template):
            found |= {name} if name else set()
            found |= {inner for _, inner, _, _ in Formatter().parse(spec or "") if inner}
    return found


def said_in(tree: ast.Module) -> list[tuple[str, str, ast.Call | None]]:
    """Catalogue, name and call of every sentence that a file says."""
    modules = {
        alias.asname: f"{node.module}.catalogue"
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
        if alias.name == "catalogue" and alias.asname
    }
    calls = {id(node.func): node for node in ast.walk(tree) if isinstance(node, ast.Call)}
    return [
        (modules[node.value.id], node.attr, calls.get(id(node)))
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in modules
    ]


def test_a_sentence_is_named_as_its_code_and_no_code_is_there_twice():
    codes = [(one.code, name) for module in CATALOGUES for name, one in entries(module).items()]
    assert len(codes) > 400
    assert [one for one in codes if one[0].upper().replace(".", "_").replace("-", "_") != one[1]] == []
    assert sorted({code for code, _ in codes}) == sorted(code for code, _ in codes)


def test_every_sentence_of_a_catalogue_is_said_and_everything_said_is_of_a_catalogue():
    said = {(module, name) for tree in TREES.values() for module, name, _ in said_in(tree)}
    assert said == {(module, name) for module in CATALOGUES for name in entries(module)}


def test_a_sentence_is_given_all_its_facts():
    wrong = []
    for path, tree in TREES.items():
        for module, name, call in said_in(tree):
            if call is None or any(keyword.arg is None for keyword in call.keywords):
                continue
            lacking = fields(entries(module)[name]) - {keyword.arg for keyword in call.keywords}
            if lacking:
                wrong.append(f"{path.name}:{call.lineno} {name} lacks {sorted(lacking)}")
    assert wrong == []


def test_nothing_is_said_past_the_catalogues():
    """A :class:`Said` is made by a sentence alone, and sentences stand in catalogues alone."""
    made = [
        f"{path.relative_to(SOURCE)}:{node.lineno}"
        for path, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        if (node.func.id == "Said" and path.name != "sentences.py")
        or (node.func.id == "Sentence" and path.name != "catalogue.py")
    ]
    assert made == []


def test_no_code_reads_the_words_of_a_finding():
    """What is done about a finding hangs on its code and facts: its words are for people."""
    read = [
        f"{path.relative_to(SOURCE)}:{node.lineno}"
        for path, tree in TREES.items()
        for node in ast.walk(tree)
        for inner in _compared(node)
        if isinstance(inner, ast.Attribute) and inner.attr in ("message", "mend")
    ]
    assert read == []


def _compared(node: ast.AST) -> list[ast.AST]:
    """What is searched for words, or compared with some."""
    if isinstance(node, ast.Compare):
        return [node.left, *node.comparators]
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
        if node.func.attr in ("startswith", "endswith", "partition", "split", "find", "index", "removeprefix"):
            return [node.func.value]
        if node.func.attr in ("match", "search", "fullmatch", "findall"):
            return list(node.args)
    return []


def test_a_sentence_may_be_worded_anew_and_stays_the_same_finding():
    blank = Finding("error", "a.csv", Said("cell.blank", "nothing stands here.", "Fill it in."), 3, "oat")
    assert (blank.code, blank.sentence()) == (
        "cell.blank",
        "a.csv, row 3, column 'oat': nothing stands here. Fill it in.",
    )


@pytest.mark.parametrize(
    ("rows", "words"), [([3], "3"), ([5, 3, 4], "3 to 5"), ([3, 5, 6, 7, 9, 10], "3, 5 to 7, 9, 10"), ([], "")]
)
def test_rows_in_words(rows, words):
    assert row_words(rows) == words


def test_findings_alike_are_one_line_with_all_their_rows():
    def wrong(row, found="x"):
        said = Sentence("cell.not-a-number", "found {found}.", "Write a number.")(found=found)
        return Finding("error", "a.csv", said, row, "oat")

    assert sentences([wrong(3), wrong(4)]) == [wrong(3).sentence(), wrong(4).sentence()]
    assert sentences([wrong(k) for k in (3, 5, 6, 7)]) == [
        "a.csv, rows 3, 5 to 7, column 'oat': found x. Write a number."
    ]
    told = sentences([wrong(3), wrong(4), wrong(5, "y")])
    assert told == ["a.csv, rows 3 to 5, column 'oat': found x. So in row 3; the others are alike. Write a number."]
