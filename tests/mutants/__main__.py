"""``python -m tests.mutants [ROOM ...]``: which wrong numbers would the tests let pass? See DEVELOPERS.md."""

from __future__ import annotations

import argparse
import csv
import json
import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

from tests.mutants.mutant_worker import MULTIPLE, SPARE
from tests.mutants.mutation_operators import Mutant, candidates, compiles, drawn
from tests.mutants.tested_rooms import PACKAGE, ROOMS, ROOT

HERE = Path(__file__).parent
#: Where a room's last reach and answers are kept.
KEPT = ROOT / "out" / "mutants"
LISTED = HERE / "listed.toml"
RESULTS = HERE / "results.csv"
#: Seconds of processor time that a mutant's tests may take together on the sound package; the cheapest go first.
BUDGET = 25.0
#: Of these, what one test may take to be asked at all: a hundred mutants would wait for it.
SLOW = 0.8
#: What a cold process imports before it forks.
_LIBRARIES = """
numpy pandas scipy.special scipy.stats scipy.optimize scipy.integrate matplotlib.pyplot pint hypothesis jinja2
rich.console typer.testing openpyxl joblib statsmodels.api GTC uncertainties ambiance psychrolib fluids gpxpy
pynmea2 aerofiles geographiclib.geodesic tomlkit httpx starlette.testclient reportlab.pdfgen.canvas frictionless
metar.Metar
"""
LIBRARIES = _LIBRARIES.split()


def listed(kind: str) -> dict[str, str]:
    """Reasons by key: of ``equivalent`` mutants, or of ``survivor``s that are known and left."""
    entries = tomllib.loads(LISTED.read_text(encoding="utf-8")).get(kind, [])
    return {entry["key"]: entry["why"] for entry in entries}


def _possible(room: str) -> set[str]:
    """Keys of every change of this room, and those listed that belong to other rooms."""
    modules = ROOMS[room].modules()
    others = {key for kind in ("equivalent", "survivor") for key in listed(kind) if key.split("::")[0] not in modules}
    return others | {one.key for module in modules for one in candidates(module, (PACKAGE / module).read_bytes())}


def draw(room: str, count: int, seed: int) -> list[Mutant]:
    """``count`` mutants of a room that are not listed as equivalent, and the equivalents met on the way."""
    equivalent = listed("equivalent")
    sources = {module: (PACKAGE / module).read_bytes() for module in ROOMS[room].modules()}
    found = [one for module, source in sources.items() for one in candidates(module, source)]
    chosen: list[Mutant] = []
    for one in drawn(found, seed):
        if sum(each.key not in equivalent for each in chosen) >= count:
            break
        if compiles(one.applied(sources[one.module])):
            chosen.append(one)
    return chosen


class Bench:
    """A copy of the package, the processes that work on it and what they said."""

    def __init__(self, room: str, folder: Path, budget: float = BUDGET) -> None:
        self.room, self.folder, self.budget = room, folder, budget
        self.package = folder / "src" / "samesky"
        shutil.copytree(PACKAGE, self.package)
        KEPT.mkdir(parents=True, exist_ok=True)

    def ask(self, way: str, asked: dict, answer: Path) -> None:
        """Run one worker to its end."""
        file = self.folder / "asked.json"
        common = {"package": str(self.package), "tests_folder": str(ROOT / "tests"), "temp": str(self.folder / "temp")}
        file.write_text(json.dumps(common | asked), encoding="utf-8")
        environment = os.environ | {"PYTHONPATH": f"{self.package.parent}{os.pathsep}{ROOT}", "PYTHONHASHSEED": "0"}
        command = [sys.executable, str(HERE / "mutant_worker.py"), way, str(file), str(answer)]
        with open(KEPT / f"{self.room}.{way}.log", "w", encoding="utf-8") as log:
            done = subprocess.run(command, cwd=ROOT, env=environment, stdout=log, stderr=subprocess.STDOUT)
        if done.returncode:
            raise SystemExit(f"the worker stopped: see {log.name}")

    def reach(self, again: bool) -> dict:
        """Which test reaches which line; with ``again`` as found the last time."""
        kept = KEPT / f"{self.room}.reach.json"
        if not (again and kept.is_file()):
            room = ROOMS[self.room]
            self.ask("reach", {"files": room.test_files(), "modules": room.modules(), "slow": SLOW * self.budget}, kept)
        return json.loads(kept.read_text(encoding="utf-8"))

    def answers(self, mutants: list[Mutant], reached: dict) -> dict[str, str]:
        """By key: the test that fails, ``""`` for a survivor, ``no test`` where none reaches the line."""
        said: dict[str, str] = {}
        warm, cold = [], []
        for one in mutants:
            tests, at_import = _reaching(one, reached, self.budget)
            if not tests:
                said[one.key] = ""
                continue
            limit = SPARE + MULTIPLE * sum(reached["seconds"][name] for name in tests)
            asked = {"key": one.key, "module": one.module, "start": one.start, "end": one.end, "text": one.text}
            (cold if at_import else warm).append(asked | {"tests": tests, "limit": limit})
        said |= self._said("warm", warm, {"files": ROOMS[self.room].test_files()})
        cold += [one for one in warm if said[one["key"]] == "!not exchanged"]
        return said | self._said("cold", cold, {"libraries": LIBRARIES})

    def _said(self, way: str, mutants: list[dict], more: dict) -> dict[str, str]:
        if not mutants:
            return {}
        answer = self.folder / f"{way}.jsonl"
        self.ask(way, {"mutants": mutants} | more, answer)
        return dict(json.loads(line) for line in answer.read_text(encoding="utf-8").splitlines())


def _reaching(one: Mutant, reached: dict, budget: float) -> tuple[list[str], bool]:
    """The tests to run, those of the cheapest file first, and whether the package must be imported as changed."""
    names, seconds, failed = reached["names"], reached["seconds"], set(reached["failed"])
    lines = reached["lines"].get(one.module, {})
    first, last = one.reached_by
    hit = [lines[str(line)] for line in range(first, last + 1) if str(line) in lines]
    at_import = one.at_import or any(early for _, _, early in hit)
    itself = {names[k] for mine, _, _ in hit for k in mine}
    after = {names[k] for _, others, _ in hit for k in others}
    if at_import:
        itself = itself or {names[k] for mine, _, _ in lines.values() for k in mine}
        after = set(names)
    order = [*_cheapest_first(itself - failed, seconds), *_cheapest_first(after - itself - failed, seconds)]
    spent, chosen = 0.0, []
    for name in order:
        spent += seconds[name]
        if chosen and spent > budget:
            break
        chosen.append(name)
    return chosen, at_import


def _cheapest_first(names: set[str], seconds: dict[str, float]) -> list[str]:
    whole: dict[str, float] = {}
    for name in names:
        whole[name.partition("::")[0]] = whole.get(name.partition("::")[0], 0.0) + seconds[name]
    return sorted(
        names, key=lambda name: (whole[name.partition("::")[0]], name.partition("::")[0], seconds[name], name)
    )


def run(room: str, count: int, seed: int, again: bool, budget: float) -> tuple[int, int, int]:
    """Draw, run and print one room: killed, drawn without the equivalents, equivalents."""
    equivalent, known = listed("equivalent"), listed("survivor")
    mutants = draw(room, count, seed)
    kept = KEPT / f"{room}.answers.json"
    before = json.loads(kept.read_text(encoding="utf-8")) if again and kept.is_file() else {}
    asked = [one for one in mutants if not before.get(one.key)]
    with tempfile.TemporaryDirectory(prefix="mutants_") as folder:
        bench = Bench(room, Path(folder), budget)
        reached = bench.reach(again=False) if asked or not again else {}
        said = before | (bench.answers(asked, reached) if asked else {})
    kept.write_text(json.dumps(said, indent=1), encoding="utf-8")
    gone = (equivalent.keys() | known.keys()) - _possible(room)
    counted = [one for one in mutants if one.key not in equivalent]
    killed = [one for one in counted if said[one.key]]
    print(f"\n{room}: {len(killed)} of {len(counted)} killed, {len(mutants) - len(counted)} equivalent left out")
    if reached.get("failed"):
        print(
            "  failing without any change, or too slow, and left out:",
            *reached["failed"],
            sep="\n    ",
        )
    for key in sorted(gone):
        print(f"  listed, but no such change any more: {key}")
    for one in mutants:
        place = f"src/samesky/{one.module}:{one.line} in {one.function}: {one.change}"
        if one.key in equivalent:
            if said[one.key]:
                print(f"  LISTED AS EQUIVALENT, BUT KILLED  {place}  by {said[one.key]}")
        elif said[one.key]:
            print(f"  killed    {place}  by {said[one.key]}")
        else:
            print(f"  SURVIVED  {place}" + (f"  (known: {known[one.key]})" if one.key in known else ""))
            print(f"            key = {json.dumps(one.key, ensure_ascii=False)}")
    return len(killed), len(counted), len(mutants) - len(counted)


def record(found: dict[str, tuple[int, int, int]]) -> None:
    """Keep the counts of these rooms beside those of the others."""
    rows: dict[str, tuple] = {}
    if RESULTS.is_file():
        with open(RESULTS, newline="", encoding="utf-8") as file:
            rows = {row[0]: tuple(row[1:]) for row in list(csv.reader(file))[1:]}
    rows |= found
    with open(RESULTS, "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["room", "killed", "mutants", "equivalent"])
        writer.writerows([room, *rows[room]] for room in ROOMS if room in rows)


def main() -> int:
    """Exit code 1 where a room stays below the share that is asked."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("rooms", nargs="*", help=f"of {', '.join(ROOMS)}; all where none is named")
    parser.add_argument("--count", type=int, default=60, help="mutants a room (60)")
    parser.add_argument("--seed", type=int, default=1, help="another seed draws other mutants (1)")
    parser.add_argument("--again", action="store_true", help="run only what survived the last time")
    parser.add_argument("--record", action="store_true", help="write the counts to results.csv")
    parser.add_argument("--seconds", type=float, default=BUDGET, help=f"of tests for one mutant ({BUDGET:.0f})")
    parser.add_argument("--least", type=float, default=0.9, help="share to be killed in every room (0.9)")
    asked = parser.parse_args()
    unknown = set(asked.rooms) - set(ROOMS)
    if unknown:
        parser.error(f"no room {', '.join(sorted(unknown))}; there are {', '.join(ROOMS)}")
    found = {room: run(room, asked.count, asked.seed, asked.again, asked.seconds) for room in asked.rooms or ROOMS}
    print("\nroom           killed  of  share  equivalent")
    for room, (killed, count, equal) in found.items():
        print(f"{room:<13} {killed:>7} {count:>3} {killed / count:>5.0%} {equal:>11}")
    if asked.record:
        record(found)
    return 0 if all(killed >= asked.least * count for killed, count, _ in found.values()) else 1


if __name__ == "__main__":
    raise SystemExit(main())
