"""Each folder's helper modules are importable from its tests; their names are unique over all folders. The study of
coverage is a package that is also run by itself. One browser serves every test that opens pages."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(folder) for folder in sorted(Path(__file__).parent.rglob("*")) if folder.is_dir()]
sys.path.append(str(Path(__file__).parents[1]))


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
