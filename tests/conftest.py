"""Each folder's helper modules are importable from its tests, those of ``helpers/`` from all; their names are unique
over all folders. Studies are packages that are also run by themselves. One way to run a command, one sound campaign to
be spoilt, and one browser for every test that opens pages."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import pytest

HELPERS = {
    path.parent for path in Path(__file__).parent.glob("*/**/*.py") if not (path.parent / "__init__.py").exists()
}
sys.path[:0] = [str(folder) for folder in sorted(HELPERS)]
sys.path.append(str(Path(__file__).parents[1]))


#: Why the tests that open pages are left out, where there is nothing to open them with.
NO_BROWSER = "no Chromium on this machine"
_left_out: list[str] = []


def pytest_deselected(items):
    """Notes the slow studies that are left out."""
    _left_out.extend(item.nodeid for item in items if item.get_closest_marker("slow"))


def pytest_terminal_summary(terminalreporter):
    """Says how much was left out, and how to get it."""
    skipped = [one for one in terminalreporter.stats.get("skipped", ()) if NO_BROWSER in str(one.longrepr)]
    if skipped:
        terminalreporter.write_line(
            f"{len(skipped)} browser tests were skipped: {NO_BROWSER}. Debian: apt-get install chromium; "
            "elsewhere: CHROMIUM=/path/to/it."
        )
    if _left_out:
        terminalreporter.write_line(f"{len(_left_out)} slow studies were left out: make test-all runs them.")


@pytest.fixture
def run(monkeypatch, capsys):
    """Runs ``samesky …`` in this process: exit code, what it said, what it complained of."""
    from samesky import cli

    def one(*words: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["samesky", *map(str, words)])
        monkeypatch.setenv("COLUMNS", "80")
        with pytest.raises(SystemExit) as stopped:
            cli.main()
        captured = capsys.readouterr()
        return stopped.value.code or 0, captured.out, captured.err

    return one


@pytest.fixture
def sound(tmp_path):
    """The folder of the sound campaign; files are replaced by name (``campaign__toml=...``), None removes one."""
    from sound_campaign import FILES

    def write(**files: str | bytes | None) -> Path:
        folder = tmp_path / "campaign"
        folder.mkdir(exist_ok=True)
        for name, text in (FILES | {name.replace("__", "."): text for name, text in files.items()}).items():
            if text is None:
                (folder / name).unlink(missing_ok=True)
            else:
                (folder / name).write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return folder

    return write


@pytest.fixture(scope="session")
def browser():
    """Debian's Chromium. One for all folders: a process can drive the browser from a single event loop only, so a
    second one that a module starts for itself fails wherever both land in one worker."""
    sync = pytest.importorskip("playwright.sync_api", reason=f"{NO_BROWSER}: playwright is not installed")
    executable = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if executable is None:
        pytest.skip(NO_BROWSER)
    with sync.sync_playwright() as running:
        opened = running.chromium.launch(executable_path=executable, args=["--no-sandbox", "--disable-dev-shm-usage"])
        yield opened
        opened.close()


@pytest.fixture
def figures_unprinted(monkeypatch):
    """Figures are made and not printed, which takes most of a report's time: for tests that read its words."""
    from samesky.report import picture

    monkeypatch.setattr(picture, "_address", lambda drawn: "data:image/svg+xml;base64,PHN2Zy8+")


@pytest.fixture
def without_alternatives(monkeypatch):
    """Plans say nothing of what else would settle it, which takes most of their time: for tests of all the rest."""
    monkeypatch.setattr("samesky.planning.plan.alternatives", lambda *asked: ())
