"""Run every chapter once: ``python book/tools/run_chapters.py [chapter ...]``.

What a cell prints, be it a check or a solution, has to be what is stored, word for word; no cell may fail or print an
error. What the cells gave is kept (``book/_build/.jupyter_cache``), so that the book is made of the same run and runs
no chapter again.
"""

from __future__ import annotations

import copy
import difflib
import os
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

import build
import notebooks
import refresh
from jupyter_cache import get_cache
from jupyter_cache.base import CacheBundleIn
from nbformat import NotebookNode


def changed(stored: NotebookNode, run: NotebookNode) -> list[str]:
    """Cells that print something else now than what is stored, each with its lines."""
    said = []
    for before, now in zip(notebooks.code_cells(stored), notebooks.code_cells(run), strict=True):
        was, came = notebooks.text_of(before), notebooks.text_of(now)
        if was != came:
            lines = difflib.unified_diff(was.splitlines(), came.splitlines(), "stored", "now", lineterm="", n=0)
            first = next(iter(before.source.splitlines()), "(empty)")
            said.append("\n".join([f"prints something else: {first}", *lines]))
    return said


def one(path: Path) -> tuple[NotebookNode | None, list[str]]:
    """The chapter as it ran, and what is wrong with it; None where a cell failed."""
    try:
        notebook = refresh.executed(path)
        return notebook, changed(notebooks.load(path), refresh.sound(copy.deepcopy(notebook)))
    except ValueError as error:
        return None, [str(error)]


def every(paths: list[Path]) -> Iterator[tuple[Path, NotebookNode | None, list[str]]]:
    """Each chapter as it is done, as many at once as there are processors."""
    with ProcessPoolExecutor(min(len(paths), os.cpu_count() or 1)) as pool:
        running = {pool.submit(one, path): path for path in paths}
        for done in as_completed(running):
            yield running[done], *done.result()


def main(names: list[str]) -> int:
    """Run the named chapters, or all; 1 if one is not as stored."""
    paths = [notebooks.CHAPTERS / f"{Path(name).stem}.ipynb" for name in names] or notebooks.chapters()
    cache, failed = get_cache(build.own_cache()), 0
    for path, notebook, said in every(paths):
        if notebook is not None:
            cache.cache_notebook_bundle(CacheBundleIn(notebook, str(path)), check_validity=False, overwrite=True)
        failed += bool(said)
        print(f"{path.stem}: {chr(10).join(said) or 'as stored'}", flush=True)
    return bool(failed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
