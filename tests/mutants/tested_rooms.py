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
    "aeroplane": Room(("aeroplane/*.py",), ("aeroplane/test_*.py",)),
    "instruments": Room(
        ("instruments/*.py",),
        ("instruments/test_*.py", "campaign/test_stated_sources.py", "campaign/test_from_film.py"),
    ),
    "tracks": Room(("instruments/tracks/**/*.py",), ("instruments/tracks/test_*.py",)),
    "measures": Room(("measures/*.py",), ("measures/test_*.py", "campaign/test_reduction.py")),
    "campaign": Room(("campaign/**/*.py", "checks/*.py", "reduction/*.py"), ("campaign/test_*.py",)),
    "evidence": Room(
        ("evidence/**/*.py",), ("campaign/test_from_*.py", "campaign/test_fill_planned.py", "cli/test_*.py")
    ),
    "exchange": Room(
        ("exchange/**/*.py",),
        (
            "campaign/test_archive.py",
            "campaign/test_data_package*.py",
            "campaign/test_own_files.py",
            "test_packing.py",
            "campaign/test_workbook*.py",
        ),
    ),
    "inference": Room(("inference/*.py",), ("inference/test_*.py", "properties/test_*.py")),
    "mission": Room(("mission/*.py",), ("mission/test_*.py", "report/test_missions.py")),
    "planning": Room(
        ("planning/**/*.py",),
        ("planning/test_*.py",),
        but_tests=("planning/test_apron_*.py", "planning/test_rehearse*.py"),
    ),
    "rehearsal": Room(("rehearsal/*.py",), ("planning/test_rehearse*.py",)),
    "apron": Room(("apron/*.py",), ("planning/test_apron_*.py",)),
    "report": Room(("report/*.py",), ("report/test_*.py",), but_tests=("report/test_report_browser.py",)),
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
