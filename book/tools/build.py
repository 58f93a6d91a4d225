"""Build the handbook: ``python book/tools/build.py [--always] [--answers]``.

Warnings are errors, and the result is checked: all pages there, none empty, nothing loaded from outside, no dead link,
no picture without words. A book that is up to date is not built again. A chapter that ``run_chapters.py`` has run, with
this package, these data and this environment, is not run again either; a change of one of them runs every chapter
anew, because old numbers must not survive it. With
``--answers`` the instructor's key is added, and the result stands in a folder of its own.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib.metadata
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import answers
import built
import yaml

BOOK = Path(__file__).resolve().parents[1]
ROOT = BOOK.parent
BUILT = BOOK / "_build"
HTML = BUILT / "html"
#: Where the instructor's edition is built.
KEY = BUILT / "answers"
STAMP = BUILT / "sources.json"
#: What the cells of the chapters gave, and the digest of what it was made with.
CACHE = BUILT / ".jupyter_cache"
MADE_WITH = CACHE / "made_with.txt"


def _digest(paths: Iterable[Path], more: str = "") -> str:
    total = hashlib.sha256(more.encode())
    for path in sorted(paths):
        if path.is_file() and "__pycache__" not in path.parts:
            total.update(str(path.relative_to(ROOT)).encode() + path.read_bytes())
    return total.hexdigest()


def sources() -> dict[str, str]:
    """Digests of what the pages are made from: ``foundation`` (needs a clean build) and ``pages``."""
    environment = sorted(f"{each.name}=={each.version}" for each in importlib.metadata.distributions())
    foundation = [*(ROOT / "src" / "samesky").rglob("*"), *(ROOT / "data_synthetic").rglob("*")]
    foundation += [*BOOK.glob("_*.yml"), *BOOK.glob("*.bib"), *(BOOK / "tools").glob("*.py")]
    foundation += [*(BOOK / "vendor").rglob("*"), *(BOOK / "_static").rglob("*")]
    pages = [*BOOK.glob("*.md"), *(BOOK / "chapters").rglob("*"), *(BOOK / "appendices").rglob("*")]
    return {"foundation": _digest(foundation, sys.version + str(environment)), "pages": _digest(pages)}


def stamp() -> dict[str, str]:
    """Digests of the last good build."""
    return json.loads(STAMP.read_text()) if STAMP.is_file() and HTML.is_dir() else {}


def own_cache() -> Path:
    """Where the outputs of chapters are kept: emptied where another package, other data or tools made them."""
    made_with = sources()["foundation"]
    if not MADE_WITH.is_file() or MADE_WITH.read_text(encoding="utf-8") != made_with:
        shutil.rmtree(CACHE, ignore_errors=True)
        CACHE.mkdir(parents=True)
        MADE_WITH.write_text(made_with, encoding="utf-8")
    return CACHE


def build(always: bool = False) -> list[str]:
    """Bring ``book/_build/html`` up to date; what is wrong with it, in sentences."""
    wanted, had = sources(), stamp()
    if wanted != had or always:
        STAMP.unlink(missing_ok=True)
        if always:
            shutil.rmtree(CACHE, ignore_errors=True)
        own_cache()
        # After a build that failed no page is kept either: a page already read does not warn a second time.
        if wanted["foundation"] != had.get("foundation") or always:
            for made in BUILT.iterdir():
                if made != CACHE:
                    shutil.rmtree(made) if made.is_dir() else made.unlink()
        said = _run()
        if said:
            return said
    said = built.complaints(BOOK, HTML)
    if not said:
        STAMP.write_text(json.dumps(wanted))
    return said


def build_key() -> list[str]:
    """Build the instructor's edition from nothing; what is wrong with it, in sentences."""
    shutil.rmtree(KEY, ignore_errors=True)
    KEY.mkdir(parents=True)
    contents = KEY / "_toc.yml"
    contents.write_text(yaml.safe_dump(answers.contents(), sort_keys=False), encoding="utf-8")
    page = answers.write()
    try:
        said = _run("--toc", str(contents), "--path-output", str(KEY))
    finally:
        page.unlink()
    return said or built.complaints(BOOK, KEY / "_build" / "html")


def _run(*more: str) -> list[str]:
    """Run Jupyter Book with warnings as errors; what it said, if it failed."""
    start = "from jupyter_book.cli.main import main; main()"
    command = [sys.executable, "-c", start, "build", str(BOOK), "-W", "--keep-going", "-q", *more]
    environment = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", **os.environ}
    # Notebooks draw into the page; a backend chosen for scripts would leave the book without pictures.
    environment.pop("MPLBACKEND", None)
    print("building the book ...", flush=True)
    done = subprocess.run(command, env=environment, check=False, capture_output=True, text=True)
    if not done.returncode:
        return []
    said = [line for line in (done.stdout + done.stderr).splitlines() if "IPKernelApp" not in line]
    return [*said, "the build stopped: see above"]


def main() -> int:
    """Build, say how it went, and give 1 when something is wrong."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--always", action="store_true", help="build from nothing, even if nothing has changed")
    parser.add_argument(
        "--answers", action="store_true", help="the instructor's edition, with every solution on a page"
    )
    given = parser.parse_args()
    html = KEY / "_build" / "html" if given.answers else HTML
    said = build_key() if given.answers else build(given.always)
    for sentence in said:
        print(sentence)
    if not said:
        print(f"{len(built.pages(html))} pages, nothing from outside: {(html / 'index.html').relative_to(ROOT)}")
    return bool(said)


if __name__ == "__main__":
    sys.exit(main())
