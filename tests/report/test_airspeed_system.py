"""What the page says of the airspeed system: its numbers where it was flown, nothing where it was not."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from samesky.campaign.reading.read import read
from samesky.report import methods, sections

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"
HEADER = "run,airspeed [kt],altitude [ft],oat [degC]," + ",".join(f"speed {k} [kt],track {k} [deg]" for k in (1, 2, 3))


def campaign(tmp_path, pairs):
    """The first synthetic campaign, calibrated on even legs in no wind at sea level, where CAS is ground speed."""
    folder = tmp_path / "mine"
    shutil.copytree(DATA / "finer_pitch", folder)
    rows = [f"{k},{ias},0,15,{cas},0,{cas},120,{cas},240" for k, (ias, cas) in enumerate(pairs)]
    (folder / "position_error.csv").write_text("\n".join([HEADER, *rows]) + "\n", encoding="utf-8")
    return read(folder)


def test_the_paragraph_has_the_numbers(tmp_path):
    found = campaign(tmp_path, [(50, 52), (70, 71), (90, 90)])
    first, second = methods.airspeed_system(found)
    assert first.startswith(
        "Calibrated minus indicated airspeed, from 3 runs at 50 to 90 kt (position_error.csv): +2.0 ±"
    )
    assert "0.0 ±" in first
    assert "straight line" in second
    assert "stated for legs and readings" in second
    assert "position_error.csv" in str(sections.fingerprints(found).rows)


def test_one_airspeed_and_a_scatter_are_said(tmp_path):
    one = methods.airspeed_system(campaign(tmp_path, [(70, 72), (70, 76), (70, 69)]))
    assert "One correction was then added" in one[1]
    assert "scatter of the runs about it" in one[1]


@pytest.mark.parametrize("name", ["finer_pitch", "warming_day"])
def test_nothing_is_said_where_it_was_not_flown(name):
    found = read(DATA / name)
    assert methods.airspeed_system(found) == []
    assert "position_error.csv" not in str(sections.fingerprints(found).rows)
