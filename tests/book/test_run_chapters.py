"""A chapter that prints something else than is stored, fails or prints an error is named with its cell."""

from __future__ import annotations

import nbformat
import pytest
import run_chapters
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output


def chapter(tmp_path, *cells: tuple[str, str]):
    """A notebook of checked cells, each with its source and its stored output."""
    made = new_notebook(metadata={"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}})
    for source, text in cells:
        outputs = [new_output("stream", name="stdout", text=text)]
        made.cells.append(new_code_cell(source, outputs=outputs, metadata={"tags": ["nbval-check-output"]}))
    path = tmp_path / "chapter.ipynb"
    nbformat.write(made, path)
    return path


def test_what_prints_as_stored_is_kept_and_what_does_not_is_named(tmp_path):
    path = chapter(tmp_path, ("print(6 * 7)", "42\n"), ("roll = 250\nprint(roll)", "251\n"))
    notebook, said = run_chapters.one(path)
    assert said == ["prints something else: roll = 250\n--- stored\n+++ now\n@@ -1 +1 @@\n-251\n+250"]
    assert [cell.outputs[0].text for cell in notebook.cells] == ["42\n", "250\n"]


@pytest.mark.parametrize(
    ("source", "says"),
    [("1 / 0", "ZeroDivisionError"), ("import sys\nprint('x', file=sys.stderr)", "printed as an error")],
)
def test_a_cell_that_fails_or_prints_an_error_stops_its_chapter(tmp_path, source, says):
    notebook, (said,) = run_chapters.one(chapter(tmp_path, (source, "")))
    assert notebook is None
    assert says in said


def test_what_a_solution_prints_is_compared_as_well(tmp_path):
    # No tag asks for it: a stored 999 in place of 615 + 10 does not pass.
    path = chapter(tmp_path, ("print(1)", "1\n"), ("print(615 + 10)", "999\n"))
    made = nbformat.read(path, as_version=4)
    del made.cells[1].metadata["tags"]
    solution = [
        new_markdown_cell("```{solution-start} ex\n```"),
        made.cells[1],
        new_markdown_cell("```{solution-end}\n```"),
    ]
    made.cells[1:] = solution
    nbformat.write(made, path)
    _, said = run_chapters.one(path)
    assert said == ["prints something else: print(615 + 10)\n--- stored\n+++ now\n@@ -1 +1 @@\n-999\n+625"]
