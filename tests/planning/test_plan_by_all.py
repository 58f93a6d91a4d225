"""What all measures together would say of a plan: held against rehearsed campaigns, offered first, and cheap."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from plan_by_hand import by_hand

from samesky.campaign.reading.read import read
from samesky.inference import verdict
from samesky.planning.alternatives import _by_all_measures
from samesky.planning.output import words
from samesky.planning.output.to_json import to_json
from samesky.planning.question import question
from samesky.planning.schedule import laid_out, planned_table
from samesky.planning.search import Candidate, order_of
from samesky.planning.trial import Bench
from samesky.rehearsal.flight import ready
from samesky.rehearsal.rehearse import flown_all, with_truth
from samesky.rehearsal.scatter import as_documented
from samesky.rehearsal.scene import scene
from samesky.rehearsal.script import Script

EXAMPLE = Path(__file__).parents[2] / "data_synthetic" / "breezy_noon"
ROLL = "takeoff_roll"


@pytest.fixture(scope="module")
def campaign():
    return read(EXAMPLE, flown=False)


@pytest.fixture(scope="module")
def longer(campaign):
    """The breezy noon with an hour more, so that a return fits: A B A, three of each measure at each fitting."""
    asked = {**campaign.asked, ROLL: replace(campaign.asked[ROLL], answer_from="all measures")}
    request = replace(campaign.plan, end=campaign.plan.end + 1.0)
    wanted = question(replace(campaign, asked=asked, plan=request))
    made = by_hand(wanted, (("A", "B", "A"),), dict.fromkeys((one.name for one in wanted.wanted), 3))
    told = Bench(wanted).by_all(made.schedule, wanted.primary, made.powers[ROLL])
    return replace(made, by_all={ROLL: told})


def test_a_return_is_told_as_rehearsed_campaigns_are(longer):
    """Half widths of the plan and of 300 rehearsed campaigns whose runs scatter as documented: within a quarter.

    The rehearsed aeroplane's thrust bends less than the plan reckons with: more of its campaigns find the difference.
    """
    told = longer.by_all[ROLL]
    asked = longer.question
    first = sorted(asked.wanted, key=lambda one: not one.asked.primary)
    tables = {one.name: planned_table(asked, one, longer.schedule.runs_of(one.name)) for one in first}
    documented = {name: power.scatter for name, power in longer.powers.items()}
    case = with_truth(as_documented(scene(Script(asked.campaign, asked.other, tables, longer, documented))), 1.0)
    flown = flown_all([case], [ready(case)], 300, 2)[0][ROLL]
    assert told.chances.half_width() == pytest.approx(flown.by_all.half, rel=0.25)
    assert 0.5 < told.found < flown.by_all.share(verdict.OTHER_BETTER, verdict.TOO_SMALL) + 0.05
    # What was fixed to decide decides in the plan as well, and both are told.
    assert longer.deciding(ROLL) is told
    assert longer.powers[ROLL].found < 0.5 * told.found
    assert f"{words.times_in_100(told.found)}" in words.headline(longer)
    assert "in place of" in words.by_all(longer)
    machine = next(one for one in to_json(longer)["measures"] if one["measure"] == ROLL)
    assert machine["by_all_measures"]["power_difference"] == pytest.approx(told.found, abs=1e-3)


def test_the_cheap_way_is_offered_first(campaign):
    asked = question(campaign)
    bench = Bench(asked)
    order, runs = order_of(asked, 1, 2), dict.fromkeys((one.name for one in asked.wanted), 3)
    schedule, _ = laid_out(asked, order, runs)
    power = bench.approximate(schedule, asked.primary)
    (way,) = _by_all_measures(bench, Candidate(order, runs, {}, schedule, power), float("inf"))
    assert way.power >= 0.5 > power.least
    assert way.days == 1
    more = round(60.0 * (way.hours - schedule.hours_in_the_field()))
    assert 0 < more <= 60
    assert f"({more} minutes more)" in way.says
    assert "at each fitting in A B A" in way.says
    assert 'write answer_from = "all measures" into [measure.takeoff_roll]' in way.says
    # Nothing of the kind where thrust does not tell the deciding measure, or where it decides already.
    fixed = tuple(replace(one, asked=replace(one.asked, answer_from="all measures")) for one in asked.wanted)
    assert _by_all_measures(Bench(replace(asked, wanted=fixed)), Candidate(order, runs, {}, schedule, power), 1e9) == []
