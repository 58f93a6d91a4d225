"""The campaign that the handbook plans is the one that it then compares."""

from __future__ import annotations

from pathlib import Path

from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.planning.plan import plan
from samesky.simulator.examples.finer_pitch import FINER_PITCH, TOML

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"


def test_the_evening_before_asks_the_same_question():
    text = (DATA / "finer_pitch_planned" / "campaign.toml").read_text(encoding="utf-8")
    asked = TOML.partition("\n\n")[2].rstrip()
    assert asked in text
    assert "[plan]" in text


def test_its_plan_is_the_order_that_was_flown():
    before = read(DATA / "finer_pitch_planned", flown=False)
    assert check(before) == []
    planned = plan(before)
    flown = FINER_PITCH.scenario.schedule["timed_climb"]
    at = planned.run_plans()["timed_climb"]
    assert list(at.configuration) == list(flown.configuration)
    assert list(at.installation) == list(flown.installation)
