"""Does the wheel work where nothing else is installed? Run by ``make wheel``: DIST and the folder to work in.

The wheel in DIST is installed into an environment of its own, with the extra ``worksheets`` alone, and its verbs are
run from an empty folder: new, check, compare, report, and the worksheet pages until their first page is served.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tarfile
import urllib.request
import venv
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def main(dist: Path, place: Path) -> None:
    """Install the one wheel of ``dist`` into ``place`` and run it there. Raises AssertionError for what fails."""
    (wheel,) = dist.glob("*.whl")
    (source,) = dist.glob("*.tar.gz")
    with tarfile.open(source) as archive:
        held = {name.partition("/")[2] for name in archive.getnames()}
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    missing = sorted(set(listed) - held)
    assert not missing, f"not in {source.name}, but in the repository: {missing}"
    foreign = [name for name in zipfile.ZipFile(wheel).namelist() if not name.startswith("samesky")]
    assert not foreign, f"{wheel.name} installs more than the package: {foreign}"

    venv.create(place / "bare", with_pip=True, clear=True)
    python = place / "bare" / "bin" / "python"
    subprocess.run([python, "-I", "-m", "pip", "install", "--quiet", f"{wheel}[worksheets]"], check=True)
    samesky = [python, "-I", "-m", "samesky.cli"]

    def verb(*words: str) -> str:
        done = subprocess.run([*samesky, *words], cwd=place, capture_output=True, text=True)
        assert done.returncode == 0, f"samesky {' '.join(words)}: {done.returncode}\n{done.stdout}{done.stderr}"
        return done.stdout

    verb("new", "mine", "--example", "finer_pitch")
    verb("check", "mine")
    assert "better" in verb("compare", "mine")
    verb("report", "mine", "--out", "report.html")
    assert (place / "report.html").stat().st_size > 100_000
    _first_page([*samesky, "worksheet", "mine", "--no-browser"], place)
    print(f"{wheel.name}: installed alone, new, check, compare, report and worksheet work")


def _first_page(command: list, place: Path) -> None:
    server = subprocess.Popen(command, cwd=place, stdout=subprocess.PIPE, text=True)
    try:
        address = next(found[0] for line in server.stdout if (found := re.search(r"http://\S+", line)))
        # The key in the address becomes a cookie, as in a browser.
        visitor = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        with visitor.open(address, timeout=60) as page:
            assert page.status == 200
            assert b"<html" in page.read()
    finally:
        server.terminate()
        server.wait(timeout=30)


if __name__ == "__main__":
    main(Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve())
