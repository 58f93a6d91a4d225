"""The instructor's key: whole, only on request, and data for students that keep the truth out of their folders."""

from __future__ import annotations

import re

import answers
import build
import built
import notebooks
import pytest
import student_data

from samesky.campaign.reading.read import read
from samesky.simulator.examples.catalogue import EXAMPLES


def solved(path):
    return [
        found for cell in notebooks.load(path).cells for found in re.findall(r"\{solution-start\} (\S+)", cell.source)
    ]


@pytest.mark.parametrize("path", notebooks.chapters(), ids=lambda path: path.stem)
def test_every_exercise_of_a_chapter_has_its_answer(path):
    found = list(answers.pieces(notebooks.load(path)))
    assert [label for label, _, _ in found] == solved(path)
    for label, asked, solution in found:
        assert len(asked) > 20, label
        assert "```python" in solution, label
        assert asked != solution, label


def test_the_page_holds_all_of_them_and_no_leftover_of_a_chapter():
    page = answers.page()
    in_contents = [notebooks.BOOK / f"{name}.ipynb" for name in answers._in_order()]
    assert len(re.findall(r"^### ", page, re.MULTILINE)) == sum(len(solved(path)) for path in in_contents)
    assert "-start}" not in page
    assert "-end}" not in page
    assert "{glue:" not in page
    assert not re.search(r"\{doc\}`[a-z]", page)


def test_an_answer_by_hand():
    code = notebooks.NotebookNode(cell_type="code", source="print(1)", outputs=[])
    code.outputs = [notebooks.NotebookNode(output_type="stream", name="stdout", text="1\n")]
    text = "```{exercise-start}\n:label: ex-x\n```\nHow many?\n```{exercise-end}\n```\n\n```{solution-start} ex-x\n```"
    before = notebooks.NotebookNode(cell_type="markdown", source=text)
    after = notebooks.NotebookNode(cell_type="markdown", source="One.\n```{solution-end}\n```\nMore.")
    found = list(answers.pieces(notebooks.NotebookNode(cells=[before, code, after])))
    assert found == [("ex-x", "How many?", "```python\nprint(1)\n```\n\n```text\n1\n```\n\nOne.")]


def test_readers_do_not_get_the_key():
    assert answers.NAME not in built.documents(build.BOOK)
    assert not answers.PAGE.exists()
    assert {"file": answers.NAME} in answers.contents()["parts"][-1]["chapters"]


def test_students_get_data_of_their_own_and_no_truth(tmp_path):
    key = student_data.write_course(tmp_path / "course", "warming_day", 2, "x")
    first, second = sorted(path for path in key.parent.iterdir() if path.is_dir())
    roll = "takeoff_roll.csv"
    assert (first / roll).read_text() != (second / roll).read_text()
    again = student_data.write_course(tmp_path / "again", "warming_day", 2, "x")
    assert (again.parent / first.name / roll).read_text() == (first / roll).read_text()
    assert again.read_text() == key.read_text()
    other = student_data.write_course(tmp_path / "other", "warming_day", 1, "y")
    assert (other.parent / "student_1" / roll).read_text() != (first / roll).read_text()
    for folder in (first, second):
        text = "".join(path.read_text() for path in folder.iterdir())
        assert "TRUTH" not in text
        assert read(folder).tables["takeoff_roll"].included.sum() == 10
    said = key.read_text()
    assert said.count("| take-off roll |") == 2
    assert "| none |" in said


def test_the_true_difference_can_vary_and_half_of_it_is_half():
    example = EXAMPLES["finer_pitch"]
    own = {student: student_data.of_student(example, "x", student, vary=True) for student in range(1, 30)}
    assert {share for _, share in own.values()} == set(student_data.SHARES)
    for varied, share in own.values():
        assert varied.scenario.effects["B"].pitch == pytest.approx(example.scenario.effects["B"].pitch ** share)
        assert varied.scenario.effects["A"] == example.scenario.effects["A"]


def test_nobodys_folder_is_overwritten(tmp_path, capsys):
    (tmp_path / "notes.txt").write_text("mine")
    assert student_data.main([str(tmp_path), "--students", "1"]) == 2
    assert "holds files already" in capsys.readouterr().err
