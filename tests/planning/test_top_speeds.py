"""A campaign of top speeds alone: no column of a level run but its altitude is always needed, so that one may forget
to say what is expected."""

from __future__ import annotations

import pytest

from samesky.campaign.reading.read import read
from samesky.planning.plan import plan
from samesky.rehearsal.rehearse import rehearse

TOML = """\
title = "Spats on, spats off"
baseline = "A"
[configuration.A]
[configuration.B]
[swap]
kind = "refit"
time = "30 min"
[measure.level_speed]
primary = true
smallest_difference_that_matters = "3 kt"
[instrument.fitting]
target = "result"
scope = "installation"
measures = ["level_speed"]
tolerance = "1 kt"
[instrument.air]
target = "result"
scope = "run"
measures = ["level_speed"]
tolerance = "2 kt"
[plan]
days = 1
start = "07:00"
end = "10:00"
fuel = "60 L"
reserve = "20 L"
burn = "18 L/h"
[plan.level_speed]
time = "8 min"
altitude = "2000 ft"
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "campaign.toml").write_text(TOML, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("verb", ["plan", "rehearse"])
def test_without_an_expected_speed_it_is_asked_for(folder, run, verb):
    code, _, complained = run(verb, folder)
    said = " ".join(complained.split())
    assert code == 2
    assert "[plan.level_speed] airspeed: what you expect to read as 'airspeed' is missing" in said
    assert "kt" in said.rpartition("airspeed = ")[2]


def test_with_one_it_is_planned_and_rehearsed(folder):
    with (folder / "campaign.toml").open("a", encoding="utf-8") as file:
        file.write('airspeed = "95 kt"\n')
    campaign = read(folder, flown=False)
    assert plan(campaign).powers["level_speed"].uncertainty > 0
    assert rehearse(campaign, campaigns=20).at(0.0)["level_speed"].intervals == 20
