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
    sync = pytest.importorskip("playwright.sync_api")
    executable = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if executable is None:
        pytest.skip("no Chromium on this machine")
    with sync.sync_playwright() as running:
        opened = running.chromium.launch(executable_path=executable, args=["--no-sandbox", "--disable-dev-shm-usage"])
        yield opened
        opened.close()
