"""Which files are a room, and which tests hold it? Tests that open a browser, build the book or time something are not
asked: what they hold, a cheaper test holds as well."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "src" / "samesky"


@dataclass(frozen=True, slots=True)
class Room:
    """Files below the package and tests below ``tests``, as glob patterns; ``but`` are files of another room."""

    files: tuple[str, ...]
    tests: tuple[str, ...]
    but: tuple[str, ...] = ()
    but_tests: tuple[str, ...] = ()

    def modules(self) -> list[str]:
        """Paths below the package, sorted."""
        found = {path for pattern in self.files for path in PACKAGE.glob(pattern)}
        found -= {path for pattern in self.but for path in PACKAGE.glob(pattern)}
        return sorted(str(path.relative_to(PACKAGE)) for path in found)

    def test_files(self) -> list[str]:
        """Paths below the root, sorted."""
        folder = ROOT / "tests"
        found = {path for pattern in self.tests for path in folder.glob(pattern)}
        found -= {path for pattern in self.but_tests for path in folder.glob(pattern)}
        return sorted(str(path.relative_to(ROOT)) for path in found)


ROOMS = {
    "air": Room(("air/*.py",), ("air/test_*.py", "measures/test_changing_wind.py")),
    "aeroplane": Room(
        ("aeroplane/*.py",), ("aeroplane/test_*.py", "measures/test_power.py", "measures/test_accelerations.py")
    ),
    "instruments": Room(
        ("instruments/*.py",),
        ("instruments/test_*.py", "evidence/test_stated_sources.py", "evidence/test_from_film.py"),
    ),
    "tracks": Room(("instruments/tracks/**/*.py",), ("instruments/tracks/test_*.py",)),
    "measures": Room(("measures/*.py",), ("measures/test_*.py", "reduction/test_reduction.py")),
    "campaign": Room(("campaign/**/*.py",), ("campaign/test_*.py", "checks/test_*.py", "reduction/test_*.py")),
    "checks": Room(("checks/*.py",), ("checks/test_*.py", "campaign/test_*.py")),
    "reduction": Room(("reduction/*.py",), ("reduction/test_*.py", "campaign/test_*.py")),
    "evidence": Room(("evidence/**/*.py",), ("evidence/test_*.py", "cli/test_*.py")),
    "exchange": Room(("exchange/**/*.py",), ("exchange/test_*.py",)),
    "inference": Room(("inference/**/*.py",), ("inference/test_*.py", "properties/test_*.py")),
    "mission": Room(("mission/*.py",), ("mission/test_*.py", "report/test_missions.py")),
    "planning": Room(("planning/**/*.py",), ("planning/test_*.py",)),
    "rehearsal": Room(("rehearsal/*.py",), ("rehearsal/test_*.py",)),
    "apron": Room(("apron/*.py",), ("apron/test_*.py",)),
    "club": Room(("club/*.py",), ("club/test_*.py",)),
    "report": Room(
        ("report/**/*.py",), ("report/test_*.py", "club/test_*.py"), but_tests=("report/test_report_browser.py",)
    ),
    "simulator": Room(("simulator/**/*.py",), ("simulator/test_*.py",)),
    "units": Room(
        ("units.py", "spellings.py"), ("test_units.py", "campaign/test_cells.py", "campaign/test_bad_input.py")
    ),
    "published": Room(("published/*.py",), ("published/test_*.py",)),
    "worksheets": Room(
        ("worksheets/**/*.py",),
        ("worksheets/test_*.py",),
        but_tests=("worksheets/test_*browser.py", "worksheets/test_killed.py", "worksheets/test_first_visit.py"),
    ),
}
