"""What must stand in a chapter before it is built: checks that can fail, words for pictures, nothing of one machine.

A cell without a stored output is compared with nothing, so that a chapter without them is checked by nobody.
"""

from __future__ import annotations

import re
from pathlib import Path

import nbformat
import notebooks
import pytest
import yaml
from refresh import MACHINE_PATH

from samesky.published.registry import row

CHAPTERS = notebooks.chapters()
each_chapter = pytest.mark.parametrize("path", CHAPTERS, ids=lambda path: path.stem)


def code_cells(path):
    return [cell for cell in notebooks.load(path).cells if cell.cell_type == "code"]


def prose(path) -> str:
    return "\n".join(cell.source for cell in notebooks.load(path).cells if cell.cell_type == "markdown")


def complaints(notebook) -> list[str]:
    """What is wrong with a notebook's stored cells, in sentences."""
    said = []
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    for number, cell in enumerate(code, start=1):
        first = cell.source.splitlines()[0] if cell.source else "(empty)"
        text = notebooks.text_of(cell)
        if cell.execution_count != number:
            said.append(f"{first}: not run from top to bottom (count {cell.execution_count}, place {number})")
        if notebooks.images_in(cell):
            said.append(f"{first}: an image is stored")
        if notebooks.CHECKED in notebooks.tags(cell) and not text.strip():
            said.append(f"{first}: a checked cell prints nothing")
        if re.search(r"\bcheck\(", cell.source) and notebooks.CHECKED not in notebooks.tags(cell):
            said.append(f"{first}: holds a value against print, and nobody compares it")
        if "DISAGREES" in text or any(output.output_type == "error" for output in cell.outputs):
            said.append(f"{first}: a stored failure")
        if MACHINE_PATH.search(text):
            said.append(f"{first}: the path of one machine")
        draws = re.search(r"\bplt\.(subplots|figure|plot)\b", cell.source)
        if draws and not cell.metadata.get("mystnb", {}).get("image", {}).get("alt"):
            said.append(f"{first}: a picture without words")
        if draws and not cell.source.rstrip().endswith(("plt.show()", ";")):
            said.append(f"{first}: a plotting cell that prints what matplotlib gives back")
        if len(cell.source.splitlines()) > 30:
            said.append(f"{first}: longer than a reader reads")
    return said


@each_chapter
def test_stored_cells_can_be_checked(path):
    assert complaints(notebooks.load(path)) == []


@each_chapter
def test_a_chapter_is_stored_as_the_tool_writes_it(path, tmp_path):
    again = tmp_path / path.name
    notebooks.save(notebooks.tidy(notebooks.load(path)), again)
    assert again.read_text(encoding="utf-8") == path.read_text(encoding="utf-8")


@each_chapter
def test_a_chapter_holds_itself_against_print(path):
    ids = set(re.findall(r"^(\S+): computed .* agrees", "\n".join(map(notebooks.text_of, code_cells(path))), re.M))
    assert ids, "no printed value"
    for id_ in ids:
        assert row(id_).source


@each_chapter
def test_five_to_fifteen_checked_cells(path):
    """Too few check nothing, too many make every rounding a failure."""
    assert 5 <= len(notebooks.checked_cells(notebooks.load(path))) <= 15


@each_chapter
def test_the_parts_of_a_chapter(path):
    text = prose(path)
    for needed in (
        "chapter-head",
        "You will be able to",
        "**Time**",
        "**Read first**",
        "```{index}",
        "{term}`",
        "{doc}`",
        "## The question on the ramp",
        "## Your own numbers",
        "## Exercises",
        "## Sources",
        "{cite:",
    ):
        assert needed in text, f"no {needed}"
    assert re.search(r"^:::\{(danger|warning|caution)\}", text, re.M), "no cautions"
    assert re.search(r'^my_campaign = "', "\n".join(cell.source for cell in code_cells(path)), re.M)
    pictures = [cell for cell in code_cells(path) if cell.metadata.get("mystnb", {}).get("image")]
    assert len(pictures) >= 2


@each_chapter
def test_three_to_six_exercises_each_with_a_folded_solution_that_computes(path):
    cells = notebooks.load(path).cells
    text = prose(path)
    labels = re.findall(r"\{exercise-start\}\n:label: (\S+)", text)
    solved = re.findall(r"\{solution-start\} (\S+)\n:class: dropdown", text)
    assert 3 <= len(labels) <= 6
    assert labels == solved
    inside, computing = None, set()
    for cell in cells:
        if cell.cell_type == "code" and inside:
            computing.add(inside)
        for start, end in re.findall(r"\{solution-start\} (\S+)|\{(solution-end)\}", cell.source):
            inside = start if start else None if end else inside
    assert computing == set(labels)


def test_labels_are_unique_in_the_book():
    labels = [label for path in CHAPTERS for label in re.findall(r":label: (\S+)|^\((\S+)\)=$", prose(path), re.M)]
    assert len(labels) == len(set(labels))


def test_no_source_of_the_book_names_an_outside_address_or_a_machine():
    sources = [*notebooks.BOOK.glob("*.*"), *notebooks.CHAPTERS.glob("*"), *(notebooks.BOOK / "_static").glob("*.css")]
    for source in filter(Path.is_file, sources):
        text = source.read_text(encoding="utf-8")
        assert not re.search(r"(?<!xmlns=\")https?://", text), source.name
        assert not MACHINE_PATH.search(text), source.name


def test_every_source_has_a_year():
    """Without one the bibliography warns, and a warning stops the build: write ``year = {undated}``."""
    entries = re.split(r"(?m)^(?=@)", (notebooks.BOOK / "references.bib").read_text(encoding="utf-8"))[1:]
    assert [entry.split(",")[0] for entry in entries if not re.search(r"(?m)^\s*year\s*=", entry)] == []


def test_every_chapter_stands_in_the_table_of_contents():
    contents = (notebooks.BOOK / "_toc.yml").read_text(encoding="utf-8")
    for path in CHAPTERS:
        assert f"chapters/{path.stem}" in contents


def in_order(contents: str) -> list[str]:
    """The chapters of a table of contents, in its order."""
    files = [one["file"] for part in yaml.safe_load(contents)["parts"] for one in part["chapters"]]
    return [file.removeprefix("chapters/") for file in files if file.startswith("chapters/")]


def pointing_forward(order: list[str], read_first: dict[str, list[str]]) -> list[tuple[str, str]]:
    """Chapters that ask a reader to have read one that does not come before them."""
    place = {name: number for number, name in enumerate(order)}
    return [(name, first) for name in order for first in read_first[name] if place[first] >= place[name]]


def test_read_first_never_points_forward():
    order = in_order((notebooks.BOOK / "_toc.yml").read_text(encoding="utf-8"))
    asked = {}
    for path in CHAPTERS:
        (line,) = re.findall(r"(?m)^\| \*\*Read first\*\* \|(.*)$", prose(path))
        asked[path.stem] = re.findall(r"\{doc\}`([^`]+)`", line)
    assert sum(map(len, asked.values())) > len(asked)
    assert pointing_forward(order, asked) == []
    assert ("a", "b") in pointing_forward(["a", "b"], {"a": ["b"], "b": ["a"]})


@pytest.mark.parametrize("needed", ["order_of_runs", "intervals_from_few_runs"])
def test_what_an_interval_is_comes_before_whatever_plans_or_judges_with_it(needed):
    order = in_order((notebooks.BOOK / "_toc.yml").read_text(encoding="utf-8"))
    for later in ("how_many_runs", "no_difference", "pairs_blocks_swaps", "planned_looks", "several_measures"):
        assert order.index(needed) < order.index(later)


def test_the_opening_says_what_every_part_is_for():
    contents = (notebooks.BOOK / "_toc.yml").read_text(encoding="utf-8")
    opening = (notebooks.BOOK / "intro.md").read_text(encoding="utf-8")
    for part in yaml.safe_load(contents)["parts"]:
        if part.get("numbered"):
            assert f"**{part['caption']}.**" in opening


GOOD = 'print("T1-203: computed 1, printed 1: agrees")'


def notebook_of(source, output="agrees\n", count=1, tags=(notebooks.CHECKED,), mystnb=None, data=None):
    outputs = [nbformat.v4.new_output("stream", text=output)] if output else []
    if data:
        outputs.append(nbformat.v4.new_output("display_data", data=data))
    cell = nbformat.v4.new_code_cell(source, execution_count=count, outputs=outputs)
    cell.metadata = nbformat.NotebookNode(tags=list(tags), **({"mystnb": mystnb} if mystnb else {}))
    return nbformat.v4.new_notebook(cells=[cell])


@pytest.mark.parametrize(
    ("notebook", "says"),
    [
        (notebook_of(GOOD), None),
        (notebook_of(GOOD, count=None), "not run from top to bottom"),
        (notebook_of(GOOD, count=7), "not run from top to bottom"),
        (notebook_of(GOOD, output=""), "prints nothing"),
        (notebook_of('print(check("T1-203", 1))', tags=()), "nobody compares it"),
        (notebook_of(GOOD, output="DISAGREES"), "stored failure"),
        (notebook_of(GOOD, output="see /home/somebody/x.csv"), "path of one machine"),
        (notebook_of(GOOD, data={"image/png": "aaaa"}), "an image is stored"),
        (notebook_of("fig, ax = plt.subplots()\nplt.show()"), "picture without words"),
        (
            notebook_of("fig, ax = plt.subplots()\nax.plot([1])", mystnb={"image": {"alt": "a line"}}),
            "prints what matplotlib gives back",
        ),
        (notebook_of("\n".join(["x = 1"] * 31)), "longer than a reader reads"),
    ],
)
def test_the_guard_sees_what_it_guards_against(notebook, says):
    found = complaints(notebook)
    assert (found == []) if says is None else any(says in one for one in found)


def test_tidying_drops_pictures_and_noise_and_keeps_what_is_printed():
    notebook = notebook_of("x  \n", data={"image/png": "aaaa", "text/plain": "<Figure size 1x1 with 1 Axes>"})
    notebook.metadata["widgets"] = {"state": 1}
    notebook.cells[0].metadata["collapsed"] = True
    tidied = notebooks.tidy(notebook)
    assert "widgets" not in tidied.metadata
    assert "collapsed" not in tidied.cells[0].metadata
    assert tidied.cells[0].source == "x"
    assert notebooks.text_of(tidied.cells[0]) == "agrees\n"
    assert notebooks.images_in(tidied.cells[0]) == []


@pytest.mark.parametrize("path", notebooks.chapters(), ids=lambda path: path.stem)
def test_what_a_chapter_imports_is_folded(path):
    """A pilot reads on; whoever wants to run it opens the fold."""
    first = notebooks.code_cells(notebooks.load(path))[0]
    assert "import" in first.source
    assert "hide-input" in notebooks.tags(first)
