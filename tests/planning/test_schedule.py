"""The clock, the fuel and the weight of each planned run, by hand."""

from __future__ import annotations

import numpy as np
import pytest
import saturday

from samesky.campaign.derived.prepare import prepare
from samesky.campaign.reading.read import read
from samesky.planning.question import question
from samesky.planning.schedule import laid_out, planned_table, weight_of

RUNS = {"static_pull": 1, "takeoff_roll": 2, "timed_climb": 1}
#: A block of RUNS: 3 + 2 x 3 + 6 minutes.
BLOCK = 15 / 60


def asked(tmp_path, *changes):
    campaign = read(saturday.write(tmp_path / "c", *changes), flown=False)
    assert not campaign.findings, [finding.sentence() for finding in campaign.findings]
    return question(campaign)


def test_a_morning_by_hand(tmp_path):
    schedule, why = laid_out(asked(tmp_path), (tuple("ABA"),), RUNS)
    assert why == ""
    first, second, third = schedule.blocks
    # 06:00, then a quarter of an hour of runs and half an hour of swap, twice.
    assert first.start == 6.0
    assert second.start == pytest.approx(6.0 + BLOCK + 0.5)
    assert third.end == pytest.approx(6.0 + 3 * BLOCK + 2 * 0.5)
    # In rounds: a pull, a roll, a climb; then the roll that is left.
    assert [run.measure for run in first.runs] == ["static_pull", "takeoff_roll", "timed_climb", "takeoff_roll"]
    assert [60 * (run.hours - 6.0) for run in first.runs] == pytest.approx([0, 3, 6, 12])
    # 18 L/h of 0.72 kg/L is 12.96 kg/h; 60 L are 43.2 kg.
    assert first.fuel == pytest.approx(43.2)
    assert first.fuel_left == pytest.approx(43.2 - 12.96 * BLOCK)
    assert second.runs[-1].fuel == pytest.approx(43.2 - 12.96 * (BLOCK + 0.2))
    assert [run.number for run in schedule.runs_of("takeoff_roll")] == [1, 2, 3, 4, 5, 6]
    assert [run.installation for run in schedule.runs_of("timed_climb")] == [0, 1, 2]
    assert schedule.hours_in_the_field() == pytest.approx(3 * BLOCK + 1.0)


def test_weight_is_that_of_the_loading(tmp_path):
    plan = asked(tmp_path)
    schedule, _ = laid_out(plan, (tuple("AB"),), RUNS)
    # 330 + 154 kg, 43.2 kg of fuel; B's propeller is half a kilogram heavier.
    assert weight_of(plan, schedule.blocks[0].runs[0]) == pytest.approx(527.2)
    after = 43.2 - 12.96 * BLOCK
    assert weight_of(plan, schedule.blocks[1].runs[0]) == pytest.approx(484.0 + after + 0.5)


def test_the_planned_runs_take_the_way_of_flown_ones(tmp_path):
    plan = asked(tmp_path)
    schedule, _ = laid_out(plan, (tuple("ABA"),), RUNS)
    runs = schedule.runs_of("takeoff_roll")
    table = planned_table(plan, plan.primary, runs)
    prepared = prepare(plan.campaign, table)
    assert prepared["weight"] == pytest.approx([weight_of(plan, run) for run in runs])
    assert prepared["slope"] == pytest.approx(0.004)
    # 1 kt at 06:00 to 4 kt at 11:30, 20 degrees off the strip.
    share = (np.array([run.hours for run in runs]) - 6.0) / 5.5
    assert prepared["headwind"] == pytest.approx((1 + 3 * share) * 1852 / 3600 * np.cos(np.radians(20)))
    assert prepared["oat"] == pytest.approx(281.15 + 8 * share)


def test_fuel_is_taken_on_before_the_reserve_is_touched(tmp_path):
    plan = asked(tmp_path, ('fuel = "60 L"', 'fuel = "30 L"'))
    schedule, _ = laid_out(plan, (tuple("ABA"),), RUNS)
    # 30 L less 4.5 L a block: the third block would end at 16.5 L, under the reserve of 20 L.
    assert [block.before for block in schedule.blocks] == ["", "", "fill up"]
    assert schedule.blocks[2].fuel == pytest.approx(30 * 0.72)
    assert schedule.blocks[2].start == pytest.approx(schedule.blocks[1].end + 0.5 + 10 / 60)
    assert min(block.fuel_left for block in schedule.blocks) >= plan.lowest_fuel - 1e-9


def test_without_fuel_to_be_had_it_does_not_fit(tmp_path):
    plan = asked(tmp_path, ('fuel = "60 L"', 'fuel = "30 L"'), ("refuel = true", "refuel = false"))
    schedule, why = laid_out(plan, (tuple("ABA"),), RUNS)
    assert schedule is None
    assert "none can be taken on" in why


def test_weight_is_made_up_by_fuel_or_by_ballast(tmp_path):
    # A block burns 3.24 kg: a band of 5 kg is left in the second block.
    filled, _ = laid_out(asked(tmp_path / "fuel"), (tuple("ABA"),), RUNS, band=5.0)
    assert [block.before for block in filled.blocks] == ["", "fill up", "fill up"]
    plan = asked(tmp_path / "ballast", ("refuel = true", "refuel = false\nballast = true"))
    loaded, _ = laid_out(plan, (tuple("ABA"),), RUNS, band=5.0)
    assert [block.ballast for block in loaded.blocks] == [0, 3, 6]
    weights = [weight_of(plan, run) for block in loaded.blocks for run in block.runs if run.configuration == "A"]
    assert max(weights) - min(weights) < 5.0
    table = planned_table(plan, plan.primary, loaded.runs_of("takeoff_roll"))
    planned = [weight_of(plan, run) for run in loaded.runs_of("takeoff_roll")]
    assert prepare(plan.campaign, table)["weight"] == pytest.approx(planned)
    neither, _ = laid_out(
        asked(tmp_path / "none", ("refuel = true", "refuel = false")), (tuple("ABA"),), RUNS, band=5.0
    )
    assert neither.off_weight


def test_the_day_ends(tmp_path):
    schedule, why = laid_out(asked(tmp_path), (tuple("ABABABABAB"),), RUNS)
    assert schedule is None
    assert why == "the day's hours end at 11:30"


def test_where_changing_is_free_a_block_holds_four_turns(tmp_path):
    plan = asked(tmp_path, ('kind = "refit"', 'kind = "free"'), ('time = "30 min"', 'time = "0 min"'))
    ones = dict.fromkeys(RUNS, 1)
    schedule, _ = laid_out(plan, (("ABBA", "BAAB"), ("BAAB", "ABBA")), ones, flown_in={"static_pull": 1})
    assert schedule.blocks[0].configurations == ("A", "B", "B", "A")
    assert len(schedule.runs_of("takeoff_roll")) == 16
    assert len(schedule.runs_of("static_pull")) == 4
    assert "".join(run.configuration for run in schedule.runs_of("takeoff_roll")) == "ABBABAABBAABABBA"


def test_the_simulator_gets_the_same_runs(tmp_path):
    schedule, _ = laid_out(asked(tmp_path), (tuple("ABA"), tuple("BAB")), RUNS)
    plans = schedule.run_plans()
    assert set(plans) == set(RUNS)
    roll = plans["takeoff_roll"]
    assert list(roll.configuration) == list("AABBAABBAABB")
    assert list(roll.day) == [0] * 6 + [1] * 6
    assert list(roll.installation) == [0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5]
    assert roll.fuel == pytest.approx([run.fuel for run in schedule.runs_of("takeoff_roll")])
