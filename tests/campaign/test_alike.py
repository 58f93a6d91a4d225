"""A condition that goes with the configuration is named before any arithmetic."""

from __future__ import annotations

import pytest

from samesky.campaign.check import check
from samesky.campaign.read import read
from samesky.simulator.examples import write_example


def said(folder):
    return [finding.sentence() for finding in check(read(folder)) if "lay on one side" in finding.message]


def test_wind_and_warmth_that_go_with_the_propeller(tmp_path):
    """The warming, freshening day: known truth is that wind and temperature rose from block to block (its TRUTH.md)."""
    (roll, climb) = sorted(said(write_example("warming_day", tmp_path / "day")), reverse=False)
    assert "takeoff_roll.csv" in roll
    assert "headwind" in roll
    assert "oat" in roll
    assert "oat" in climb
    assert "headwind" not in climb


@pytest.mark.parametrize("name", ["finer_pitch", "wheel_fairings"])
def test_a_balanced_order_is_silent(name, tmp_path):
    """The fairings weigh 5 kg themselves: that is the change, and no condition that goes with it."""
    assert not said(write_example(name, tmp_path / name))


@pytest.mark.parametrize(("winds", "warned"), [((1, 2, 1, 2, 3, 4, 3, 4), True), ((1, 2, 1, 4, 3, 4, 3, 4), False)])
def test_one_run_that_overlaps_is_enough(sound, winds, warned):
    head = "run,date,clock,configuration,oat [°C],fuel [L],headwind [kt],lift-off airspeed [kt],ground roll [ft]\n"
    rows = "".join(
        f"{k + 1},2025-06-14,0{7 + k // 4}:{10 * (k % 4):02d},{'AAAABBBB'[k]},12,50,{wind},44,{400 + k}\n"
        for k, wind in enumerate(winds)
    )
    assert bool(said(sound(takeoff_roll__csv=head + rows))) is warned
