"""The house: import arrows point down, no text carries a machine path or a registry host."""

from __future__ import annotations

import ast
import re
import subprocess
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "samesky"

#: Rooms from the roof down: a room may import from rooms further down the list (and from itself).
ROOMS = (
    "public",
    "cli",
    "worksheets",
    "report",
    "apron",
    "mission",
    "club",
    "rehearsal",
    "planning",
    "exchange",
    "evidence",
    "checks",
    "inference",
    "simulator",
    "reduction",
    "campaign",
    "measures",
    "instruments",
    "aeroplane",
    "air",
    "published",
    "units",
    "spellings",
    "arrays",
)

FILES = sorted(SOURCE.rglob("*.py"))


def room_of(dotted: str) -> str | None:
    parts = dotted.split(".")
    return parts[1] if parts[0] == "samesky" and len(parts) > 1 else None


def imports(path: Path) -> set[str]:
    found = set()
    tree = ast.parse(path.read_text(encoding="utf-8"))
    if path == SOURCE / "__init__.py":
        # The package's own face names types for who checks them; it imports nothing (tests/test_public.py).
        tree.body = [
            node for node in tree.body if not (isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test))
        ]
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            named = {f"{node.module}.{alias.name}" for alias in node.names} if node.module[:7] == "samesky" else set()
            # A file that is taken from its folder is the import; the folder itself only where something of it is meant.
            files = {name for name in named if (ROOT / "src" / name.replace(".", "/")).with_suffix(".py").is_file()}
            found |= files | ({node.module} if len(files) < len(node.names) else set())
            if node.module == "samesky":
                found |= named
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_import_arrows_point_down(path):
    own = path.relative_to(SOURCE).parts[0].removesuffix(".py")
    if own == "__init__":
        assert not {room_of(name) for name in imports(path)} - {None}
        return
    assert own in ROOMS, f"{own} is not a room: add it to the house in DEVELOPERS.md and here"
    for name in imports(path):
        room = room_of(name)
        if room in ROOMS:
            assert ROOMS.index(room) >= ROOMS.index(own), f"{own} imports {name}, which stands above it"


def test_no_folder_is_too_wide_to_read():
    for folder in {path.parent for path in FILES}:
        beside = [path for path in folder.glob("*.py") if path.name != "__init__.py"]
        assert len(beside) <= 25, f"{folder.relative_to(SOURCE)} has {len(beside)} files beside each other"


def modules() -> dict[str, Path]:
    found = {}
    for path in FILES:
        dotted = ".".join(("samesky", *path.relative_to(SOURCE).with_suffix("").parts))
        found[dotted.removesuffix(".__init__")] = path
    return found


def test_no_circle_of_files():
    """Imports inside functions count as well."""
    known = modules()
    graph = {name: {_module(imported, known) for imported in imports(path)} for name, path in known.items()}
    order = TopologicalSorter({name: found - {None, name} for name, found in graph.items()})
    try:
        order.prepare()
    except CycleError as error:
        pytest.fail(" -> ".join(error.args[1]))


def _module(imported: str, known: dict[str, Path]) -> str | None:
    """The file of an import such as ``samesky.air.wind`` or ``samesky.air.wind.profile``."""
    return imported if imported in known else None


def test_pint_stays_behind_the_door_of_units():
    users = {path.name for path in FILES if any(name.split(".")[0] == "pint" for name in imports(path))}
    assert users == {"units.py"}


@pytest.fixture(scope="module")
def written() -> dict[str, str]:
    """Text of every tracked file by name."""
    if not (ROOT / ".git").exists():
        pytest.skip("a source distribution, not the repository")
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout.split()
    return {
        name: (ROOT / name).read_text(encoding="utf-8", errors="replace")
        for name in tracked
        if not name.endswith((".png", ".woff", ".woff2", ".js", ".ico"))
    }


def test_no_machine_path_and_no_registry_host_is_written_down(written):
    hosts = "|".join(("py" + r"pi\.org", "files" + r"\.pythonhosted", "registry" + r"\.npmjs", "deb" + r"\.debian"))
    forbidden = re.compile(rf"{hosts}|(?<![\w.])/(?:work|root)/")
    for name, text in written.items():
        assert not forbidden.search(text), f"{name}: {forbidden.search(text).group()}"


def test_no_invented_aeroplane_has_the_figures_of_a_product(written):
    """A gear that everybody would recognise beside the power or engine speed that it is sold with."""
    gear, speed = re.compile(r"(?<![\d.])2\.4" + r"3(?!\d)"), re.compile(r"100 hp|\b5,?[58]00\b")
    for name, text in written.items():
        assert not ("gear" in text and gear.search(text) and speed.search(text)), name


#: Longest body of a function in lines: signature (the options of a verb stand there) and docstring are no part of it.
#: How many ways lead through one is bounded by ruff (C901).
LONGEST_FUNCTION = 60


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_no_function_is_longer_than_a_screen(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            told = isinstance(node.body[0], ast.Expr) and ast.get_docstring(node) is not None
            body = node.body[1:] if told else node.body
            length = body[-1].end_lineno - body[0].lineno + 1 if body else 0
            assert length <= LONGEST_FUNCTION, f"{path.name}: {node.name} has {length} lines: part it by its subjects"
