"""What is a chapter, and what may be stored in it?

A chapter is a notebook under ``book/chapters``. Text outputs and execution counts are kept (a check without them
compares nothing), images and everything that changes from machine to machine are not.
"""

from __future__ import annotations

import re
from pathlib import Path

import nbformat
from nbformat import NotebookNode

BOOK = Path(__file__).resolve().parents[1]
CHAPTERS = BOOK / "chapters"
#: Cells with this tag print a value that is held against something; what every other cell prints is compared as well.
CHECKED = "nbval-check-output"
#: Metadata that a cell may carry; the rest is noise of some editor.
KEPT = ("tags", "mystnb")
#: Only a plain text of this form stands for a picture.
_FIGURE = re.compile(r"<(Figure|.*Axes).*>\s*$")


def chapters() -> list[Path]:
    """All chapters, in the order of their names."""
    return sorted(CHAPTERS.glob("*.ipynb"))


def load(path: Path) -> NotebookNode:
    """The notebook at this path, in the current format."""
    return nbformat.read(path, as_version=4)


def tags(cell: NotebookNode) -> list[str]:
    """The tags of a cell."""
    return list(cell.metadata.get("tags", ()))


def code_cells(notebook: NotebookNode) -> list[NotebookNode]:
    """Cells that run."""
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def checked_cells(notebook: NotebookNode) -> list[NotebookNode]:
    """Code cells that hold a number against print or against another computation."""
    return [cell for cell in code_cells(notebook) if CHECKED in tags(cell)]


def text_of(cell: NotebookNode) -> str:
    """Everything that a code cell printed or gave, as text."""
    parts = []
    for output in cell.get("outputs", ()):
        parts.append(output.get("text", "") if output.output_type == "stream" else _plain(output))
    return "".join(parts)


def images_in(cell: NotebookNode) -> list[str]:
    """Media types of the images stored with a cell."""
    return [kind for output in cell.get("outputs", ()) for kind in output.get("data", {}) if kind.startswith("image/")]


def tidy(notebook: NotebookNode) -> NotebookNode:
    """The notebook as it is stored: no images, no editor's noise, execution counts from 1; changed in place."""
    notebook.metadata = NotebookNode(
        kernelspec=NotebookNode(display_name="Python 3", language="python", name="python3"),
        language_info=NotebookNode(name="python"),
    )
    for cell in notebook.cells:
        cell.metadata = NotebookNode({key: cell.metadata[key] for key in KEPT if cell.metadata.get(key)})
        cell.source = "\n".join(line.rstrip() for line in cell.source.strip().splitlines())
        if cell.cell_type == "code":
            cell.outputs = [_stored(output) for output in cell.outputs if not _is_picture(output)]
    return notebook


def save(notebook: NotebookNode, path: Path) -> None:
    """Write the tidied notebook beside its place, then put it there."""
    draft = path.with_suffix(".draft")
    draft.write_text(nbformat.writes(notebook, indent=1).rstrip() + "\n", encoding="utf-8")
    draft.replace(path)


def _plain(output: NotebookNode) -> str:
    return output.get("data", {}).get("text/plain", "")


def _is_picture(output: NotebookNode) -> bool:
    data = output.get("data", {})
    # A value that the prose quotes is stored like a picture: made anew by every build.
    pictured = any(kind.startswith(("image/", "application/")) for kind in data)
    return output.output_type in ("display_data", "execute_result") and (
        pictured or bool(_FIGURE.match(_plain(output)))
    )


def _stored(output: NotebookNode) -> NotebookNode:
    """The output with nothing but text: a table's HTML is made anew by every build."""
    if "data" in output:
        output.data = NotebookNode({kind: text for kind, text in output.data.items() if kind == "text/plain"})
        output.metadata = NotebookNode()
    return output
