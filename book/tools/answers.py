"""The instructor's key: every exercise with its solution, taken from the chapters.

``python book/tools/build.py --answers`` builds the book with it, in a place of its own; the ordinary build knows
nothing of it. The page is written from what is stored in the notebooks: code and printed answers are those that the
checks of the book hold.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import notebooks
import yaml
from nbformat import NotebookNode

#: Where the page is written; no commit holds it.
PAGE = notebooks.BOOK / "appendices" / "answers.md"
#: The name of the page in a table of contents.
NAME = "appendices/answers"

_BLOCK = re.compile(
    r"```\{(?P<what>exercise|solution)-start\}[ \t]*(?P<of>\S*)\n(?P<options>(?::.*\n)*)```(?:\n|$)"
    r"|```\{(?P<end>exercise|solution)-end\}\n```"
)
_OPENING = """# Answers for instructors

```{{index}} answers
```

Every exercise of the book with its solution and what the solution prints, {count} in all. This page is not part of the
reader's edition. For data that differ from student to student, with the truth of each in a key, see
`python book/tools/student_data.py --help`.
"""


def pieces(notebook: NotebookNode) -> Iterator[tuple[str, str, str]]:
    """Of each exercise of a notebook in turn: label, its text, and the solution with code and output."""
    label, asked, inside = "", "", ""
    collected: list[str] = []
    for cell in notebook.cells:
        if cell.cell_type == "code":
            if inside:
                collected.append(_code(cell))
            continue
        at = 0
        for found in _BLOCK.finditer(cell.source):
            if inside:
                collected.append(cell.source[at : found.start()].strip())
            text = "\n\n".join(piece for piece in collected if piece)
            if found["what"]:
                inside, collected = found["what"], []
                label = re.search(r":label:\s*(\S+)", found["options"])[1] if inside == "exercise" else found["of"]
            elif found["end"] == "exercise":
                inside, asked = "", text
            else:
                inside = ""
                yield label, asked, text
            at = found.end()
        if inside:
            collected.append(cell.source[at:].strip())


def page() -> str:
    """The whole page."""
    parts, count = [], 0
    for name in _in_order():
        notebook = notebooks.load(notebooks.BOOK / f"{name}.ipynb")
        title = next(
            found[1] for cell in notebook.cells if (found := re.search(r"^# (.+)$", cell.source, re.MULTILINE))
        )
        parts.append(f"## {title}\n\n{{doc}}`/{name}`")
        for number, (label, asked, solved) in enumerate(pieces(notebook), start=1):
            parts.append(f"### {number}. {label}\n\n{_elsewhere(asked)}\n\n{_elsewhere(solved)}")
            count += 1
    return "\n\n".join([_OPENING.format(count=count), *parts]) + "\n"


def write() -> Path:
    """Write the page into the book, and give its path."""
    PAGE.write_text(page(), encoding="utf-8")
    return PAGE


def contents() -> dict:
    """The table of contents with the page before the bibliography."""
    toc = yaml.safe_load((notebooks.BOOK / "_toc.yml").read_text(encoding="utf-8"))
    last = toc["parts"][-1]["chapters"]
    last.insert(next(k for k, one in enumerate(last) if one["file"] == "sources"), {"file": NAME})
    return toc


def _in_order() -> list[str]:
    """Documents of the chapters as the table of contents has them."""
    toc = yaml.safe_load((notebooks.BOOK / "_toc.yml").read_text(encoding="utf-8"))
    files = [one["file"] for part in toc["parts"] for one in part["chapters"]]
    return [name for name in files if name.startswith("chapters/")]


def _code(cell: NotebookNode) -> str:
    printed = notebooks.text_of(cell).rstrip()
    shown = f"```python\n{cell.source}\n```"
    return f"{shown}\n\n```text\n{printed}\n```" if printed else shown


def _elsewhere(text: str) -> str:
    """Text of a chapter as it may stand on another page: links from the root, no labels, no values glued in there."""
    text = re.sub(r"\{doc\}`([^`/<]+)`", r"{doc}`/chapters/\1`", text)
    text = re.sub(r"\{doc\}`([^`<]*)<([^`/>]+)>`", r"{doc}`\1</chapters/\2>`", text)
    text = re.sub(r"\{glue:text\}`[^`]*`", "(the value in the chapter)", text)
    return re.sub(r"(?m)^\([\w-]+\)=\n", "", text)
