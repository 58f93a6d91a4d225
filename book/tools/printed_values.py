"""Which printed values do tests and book hold? ``python book/tools/printed_values.py [--book]``.

Runs the tests that hold values against print with a recorder (:mod:`record_checks`), reads what the chapters' stored
checks say, and writes ``book/appendices/printed_values.csv``. With ``--book`` only the chapters are read anew and what
the tests hold stays as it was: enough after writing a chapter.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path

import notebooks

from samesky.published import registry

ROOT = notebooks.BOOK.parent
CSV = notebooks.BOOK / "appendices" / "printed_values.csv"
#: Columns of the file. ``held`` is "agrees", "N digits" (certified data, where a double reaches fewer than the print),
#: or "differs" (misprints and variants, of which the tests assert that they are).
COLUMNS = ("id", "topic", "quantity", "inputs", "printed", "unit", "computed", "difference", "rounding", "held")
COLUMNS += ("source", "verified", "notes", "tests", "chapters")
_LINE = re.compile(r"^(\S+): computed (.+?), printed .*: agrees \[", re.MULTILINE)


def of_tests() -> dict[str, dict[str, str]]:
    """Rows by id from a run of every test file that reads the registry. Raises RuntimeError where a test fails."""
    files = [path for path in (ROOT / "tests").rglob("test_*.py") if _reads_print(path)]
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "SAMESKY_RECORD": folder, "PYTHONPATH": str(Path(__file__).parent)}
        command = [sys.executable, "-m", "pytest", "-p", "record_checks", "-n", "2", *map(str, sorted(files))]
        if subprocess.run(command, cwd=ROOT, env=environment, check=False).returncode:
            raise RuntimeError("a test fails: the table is left as it was")
        records = [one for path in Path(folder).glob("*.json") for one in json.loads(path.read_text(encoding="utf-8"))]
    best: dict[str, dict] = {}
    for one in records:
        had = best.setdefault(one["id"], {**one, "tests": set()})
        had["tests"].add(one["where"])
        # A row that agrees once is held; a test may also show that another formula would not agree.
        if (one["agrees"], one["digits"]) > (had["agrees"], had["digits"]):
            had.update({key: one[key] for key in ("computed", "agrees", "digits")})
    return {id: _from_test(one) for id, one in best.items()}


def of_book() -> dict[str, tuple[str, set[str]]]:
    """By id: what was computed, as a chapter's stored check prints it, and the chapters that hold it."""
    found: dict[str, tuple[str, set[str]]] = {}
    for path in notebooks.chapters():
        said = "\n".join(notebooks.text_of(cell) for cell in notebooks.load(path).cells if cell.cell_type == "code")
        for id, computed in _LINE.findall(said):
            found.setdefault(id, (computed, set()))[1].add(path.stem)
    return found


def table(tests: dict[str, dict[str, str]], book: dict[str, tuple[str, set[str]]]) -> list[dict[str, str]]:
    """All rows, in the registry's order."""
    made = []
    for printed in registry.rows():
        if printed.id not in tests and printed.id not in book:
            continue
        computed, chapters = book.get(printed.id, ("", set()))
        held = tests.get(printed.id) or _from_book(printed, computed)
        made.append({**_described(printed), **held, "chapters": " ".join(sorted(chapters))})
    return made


def read() -> list[dict[str, str]]:
    """The rows as they are kept."""
    with open(CSV, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def write(rows: Iterable[dict[str, str]]) -> None:
    """Write the file beside its place, then put it there."""
    CSV.parent.mkdir(exist_ok=True)
    draft = CSV.with_suffix(".draft")
    with open(draft, "w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    draft.replace(CSV)


def _reads_print(path: Path) -> bool:
    if path.parts[-2] in ("published", "book", "benchmarks", "coverage"):
        return False
    return bool(re.search(r"samesky\.published|printed_rows", path.read_text(encoding="utf-8")))


def _described(printed: registry.Printed) -> dict[str, str]:
    names = ("id", "topic", "quantity", "inputs", "printed", "unit", "rounding", "source", "verified", "notes")
    return {name: getattr(printed, name) for name in names}


def _from_test(one: dict) -> dict[str, str]:
    printed = registry.row(one["id"])
    more = 0 if one["agrees"] else 2
    values = zip(one["computed"], printed.numbers, strict=True)
    differences = "; ".join(_signed(printed, value - number, place) for place, (value, number) in enumerate(values))
    # Certified data print more digits than a double carries through a regression; the tests say how many are asked.
    short = f"{int(one['digits'])} digits" if "published_rows" in " ".join(one["tests"]) else "differs"
    return {
        "computed": "; ".join(printed.write(value, place, more) for place, value in enumerate(one["computed"])),
        "difference": differences,
        "held": "agrees" if one["agrees"] else short,
        "tests": " ".join(sorted(test.removeprefix("tests/") for test in one["tests"])),
    }


def _signed(printed: registry.Printed, difference: float, place: int) -> str:
    """A difference with two places more than the print; zero where less than that is left."""
    written = printed.write(difference, place, 2)
    return "0" if not float(written) else written if written.startswith("-") else f"+{written}"


def _from_book(printed: registry.Printed, computed: str) -> dict[str, str]:
    values = computed.removesuffix(f" {printed.unit}") if printed.unit else computed
    found = registry.check(printed.id, [float(value) for value in values.split(";")])
    assert found.agrees, str(found)
    return {"computed": values, "difference": "below the rounding", "held": "agrees", "tests": ""}


def main() -> int:
    """Write the table, and say how much it holds."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--book", action="store_true", help="read the chapters anew; what the tests hold stays")
    if parser.parse_args().book:
        own = ("computed", "difference", "held", "tests")
        tests = {row["id"]: {name: row[name] for name in own} for row in read() if row["tests"]}
    else:
        tests = of_tests()
    rows = table(tests, of_book())
    write(rows)
    agreeing = sum(row["held"] == "agrees" for row in rows)
    print(f"{len(rows)} printed values held, {agreeing} agree at the printed rounding: {CSV.relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
