"""Each folder's helper modules are importable from its tests; their names are unique over all folders. The study of
coverage is a package that is also run by itself. One way to run a command, and one browser for every test that opens
pages."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(folder) for folder in sorted(Path(__file__).parent.rglob("*")) if folder.is_dir()]
sys.path.append(str(Path(__file__).parents[1]))


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


@pytest.fixture(scope="session")
def browser():
    """Debian's Chromium. One for all folders: a process can drive the browser from a single event loop only, so a
    second one that a module starts for itself fails wherever both land in one worker."""
    sync = pytest.importorskip("playwright.sync_api")
    executable = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if executable is None:
        pytest.skip("no Chromium on this machine")
    with sync.sync_playwright() as running:
        opened = running.chromium.launch(executable_path=executable, args=["--no-sandbox", "--disable-dev-shm-usage"])
        yield opened
        opened.close()
