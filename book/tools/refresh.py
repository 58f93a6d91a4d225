"""Run chapters and store what they print: ``python book/tools/refresh.py [chapter ...]``.

Without names, every chapter. A chapter is written back only when all its cells ran, nothing was printed as an error and
every check agreed; text outputs and execution counts stay, images go. Read the difference before you commit it: a
changed number is either what you meant or a mistake.
"""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Notebooks draw into the page; a backend chosen for scripts would complain in every plotting cell.
os.environ.pop("MPLBACKEND", None)

import nbformat
import notebooks
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError
from nbformat import NotebookNode

#: A path of one machine has no place in a book.
MACHINE_PATH = re.compile(r"(?<![\w.:/])/(?:home|root|tmp|usr|work|var|opt|mnt|Users)/|\b[A-Z]:\\{1,2}Users")


def executed(path: Path) -> NotebookNode:
    """The notebook with everything that its cells give, pictures too, run from its own folder. Raises ValueError."""
    notebook = notebooks.load(path)
    _, notebook = nbformat.validator.normalize(notebook)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    client = NotebookClient(
        notebook,
        timeout=300,
        kernel_name="python3",
        record_timing=False,
        coalesce_streams=True,
        # What a kernel says of its own connection is no news of a chapter.
        extra_arguments=["--IPKernelApp.log_level=40"],
        resources={"metadata": {"path": str(path.parent)}},
    )
    try:
        client.execute()
    except CellExecutionError as error:
        raise ValueError(str(error)) from None
    return notebook


def run(path: Path) -> NotebookNode:
    """The notebook, run and tidied. Raises ValueError with what is wrong in it."""
    return sound(executed(path))


def sound(notebook: NotebookNode) -> NotebookNode:
    """A notebook that was run, tidied in place. Raises ValueError for what no chapter may print."""
    for cell in notebooks.tidy(notebook).cells:
        if cell.cell_type == "code":
            _refuse(cell)
    return notebook


def _refuse(cell: NotebookNode) -> None:
    for output in cell.outputs:
        if output.get("name") == "stderr":
            raise ValueError(f"printed as an error: {output.text.strip()}\n  by: {cell.source.splitlines()[0]}")
    text = notebooks.text_of(cell)
    if "DISAGREES" in text:
        raise ValueError(f"does not agree with print: {text.strip()}")
    if MACHINE_PATH.search(text):
        raise ValueError(f"the path of one machine: {text.strip()}")


def main(names: list[str]) -> int:
    """Refresh the named chapters; 1 if one could not be."""
    wanted = [notebooks.CHAPTERS / f"{Path(name).stem}.ipynb" for name in names] or notebooks.chapters()
    failed = 0
    for path in wanted:
        if not path.is_file():
            known = ", ".join(each.stem for each in notebooks.chapters())
            print(f"{path.stem}: no such chapter; there are: {known}")
            failed = 1
            continue
        before = path.read_text(encoding="utf-8")
        try:
            notebooks.save(run(path), path)
        except ValueError as error:
            print(f"{path.stem}: left as it was\n{error}")
            failed = 1
        else:
            print(f"{path.stem}: {'unchanged' if path.read_text(encoding='utf-8') == before else 'refreshed'}")
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
