"""Slips of an acceleration: a wrong unit of the time, a speed that belongs to another run."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from samesky.campaign.reading.read import read
from samesky.checks.check import check

EXAMPLE = Path(__file__).resolve().parents[2] / "data_synthetic" / "one_saturday"


def warned(folder: Path, file: str) -> list[str]:
    return [one.sentence() for one in check(read(folder)) if one.kind == "warning" and one.file == file]


@pytest.fixture
def folder(tmp_path):
    return Path(shutil.copytree(EXAMPLE, tmp_path / "mine"))


def changed(folder: Path, file: str, old: str, new: str, lines: slice = slice(1, None)) -> None:
    path = folder / file
    text = path.read_text(encoding="utf-8").splitlines()
    text[lines] = [line.replace(old, new, 1) for line in text[lines]]
    path.write_text("\n".join(text) + "\n", encoding="utf-8")


@pytest.mark.parametrize("file", ["ground_acceleration.csv", "level_acceleration.csv"])
def test_a_sound_campaign_has_no_warning_of_it(file):
    assert warned(EXAMPLE, file) == []


def test_a_speed_in_another_unit_is_seen(folder):
    """Speeds in km/h under a header in knots: 52 for 28; no ideal propeller gives that gain."""
    changed(folder, "ground_acceleration.csv", ",10,28,", ",19,52,")
    assert any("more than an ideal propeller would give" in one for one in warned(folder, "ground_acceleration.csv"))


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [("ground_acceleration.csv", ",28,", ",38,"), ("level_acceleration.csv", ",60,78,", ",60,88,")],
)
def test_a_speed_apart_from_all_others_is_seen(folder, file, old, new):
    changed(folder, file, old, new, slice(2, 3))
    assert any("second" in one and "the other runs" in one for one in warned(folder, file))


def test_a_misread_watch_is_seen(folder):
    """One in a campaign, of the size of a second: the result stands apart from its fellows."""
    path = folder / "level_acceleration.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    header = lines[0].split(",")
    cells = lines[2].split(",")
    place = header.index("elapsed [s]")
    cells[place] = f"{float(cells[place]) * 1.9:.2f}"
    lines[2] = ",".join(cells)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert any("on the same sky" in one for one in warned(folder, "level_acceleration.csv"))
