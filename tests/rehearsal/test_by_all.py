"""The answer by all measures, rehearsed: as the comparison gives it, narrow, and deciding where that was fixed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from samesky.campaign.reading.read import read
from samesky.inference import verdict
from samesky.inference.comparison import compare
from samesky.rehearsal.flight import fly, ready, written
from samesky.rehearsal.rehearse import TRUTHS, Rehearsal, flown_all, with_truth
from samesky.rehearsal.scatter import as_documented
from samesky.rehearsal.scene import scene
from samesky.rehearsal.script import script
from samesky.rehearsal.to_json import to_json
from samesky.report import rehearsal_words as words

EXAMPLE = Path(__file__).parents[2] / "data_synthetic" / "one_saturday"
ROLL, MANY = "takeoff_roll", 400


@pytest.fixture(scope="module")
def saturday():
    """Pulls, rolls with their accelerations and climbs, three a block, A B A."""
    return as_documented(scene(script(read(EXAMPLE), flown=True)))


@pytest.fixture(scope="module")
def flights(saturday):
    cases = [with_truth(saturday, multiple) for multiple in (0.0, 1.0)]
    return flown_all(cases, [ready(saturday)] * 2, MANY, 4)


def test_the_roll_by_all_measures_holds_is_narrow_and_names_no_false_winner(flights):
    none, there = (tallies[ROLL] for tallies in flights)
    room = 3.0 * np.sqrt(0.05 * 0.95 / MANY)
    for tally in (none, there):
        assert tally.by_all.coverage >= 0.94 - room
        assert tally.by_all.half < 0.045 < 0.1 < tally.half
    assert none.by_all.share(verdict.OTHER_BETTER, verdict.BASELINE_BETTER) <= 0.05 + room
    assert there.by_all.better > 0.6 > there.better


def test_it_is_what_the_comparisons_of_the_campaigns_give(saturday):
    """Each campaign is seen from the mean wind in place of its own, which shifts where the roll is seen by a few knots:
    widths differ, one by one, and hardly on average. In steady wind they agree (``tests/worlds``)."""
    case, many = with_truth(saturday, 1.0), 8
    prepared = ready(case)
    found = fly(case, prepared, many, np.random.default_rng(8))[ROLL].by_all
    columns, halves = written(case, many, np.random.default_rng(8)), []
    for k in range(many):
        tables = {
            name: replace(prepared[name].table, columns={key: values[k] for key, values in own.items()})
            for name, own in columns.items()
        }
        compared = compare(replace(case.script.campaign, tables=tables))
        alone = next(one for one in compared if one.measure == ROLL).by_all
        low, high = np.log1p(np.array(alone.percent_95) / 100.0)
        halves.append(0.5 * (high - low))
        assert found.difference[k] == pytest.approx(np.log1p(alone.percent / 100.0), abs=0.7 * halves[-1])
    assert found.half.mean() == pytest.approx(np.mean(halves), rel=0.15)


@pytest.mark.parametrize("answer_from", ["own runs", "all measures"])
def test_the_answer_that_was_fixed_decides_and_both_are_told(saturday, flights, answer_from):
    campaign = saturday.script.campaign
    asked = {**campaign.asked, ROLL: replace(campaign.asked[ROLL], answer_from=answer_from)}
    found = replace(saturday.script, campaign=replace(campaign, asked=asked))
    curve = tuple(flights[0 if multiple == 0.0 else 1] for multiple in TRUTHS)
    rehearsal = Rehearsal(found, replace(saturday, script=found), ready(saturday), MANY, 4, curve, (), (), MANY)
    there = flights[1][ROLL]
    decides = there if answer_from == "own runs" else there.by_all
    assert words.power(rehearsal, ROLL) == decides.better
    assert f", {round(100 * decides.better)} find a real 5 % difference" in words.headline(rehearsal)
    assert ("told by all measures" in words.headline(rehearsal)) == (answer_from == "all measures")
    said = words.by_all(rehearsal, ROLL)
    assert f"is found {round(100 * there.by_all.better)} times in 100" in said
    assert f"by its own runs {round(100 * there.better)})" in said
    machine = to_json(rehearsal)
    told = machine["measures"][ROLL]["true_differences"][0]["by_all_measures"]
    assert told["coverage"] == pytest.approx(flights[0][ROLL].by_all.coverage, abs=1e-3)
    assert machine["answer_from"] == answer_from
