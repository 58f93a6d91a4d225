"""Rows of the budget, intervals at a look, runs beyond chance just so, and what few fittings leave open."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from flown import order
from flown_campaigns import ROLL_AS_IT_IS, campaign, stated, table
from statsmodels.api import OLS

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.model.plan_request import PlanRequest
from samesky.inference import wording
from samesky.inference.budget import WORST, contribution
from samesky.inference.comparison import compare, stated_parts
from samesky.inference.design import recognise
from samesky.inference.leave_one_out import far_runs
from samesky.inference.looks import Look, planned_look


def rolls(letters, each=1, fitted_anew=True, effect=0.0, seed=3, **sizes):
    n = len(letters.replace("|", "")) * each
    keys = np.repeat(np.array(list(letters.replace("|", ""))), each)
    values = 120.0 * np.exp(0.02 * np.random.default_rng(seed).standard_normal(n) + effect * (keys == "B"))
    rows = table(ROLL_AS_IT_IS, letters, values, fitted_anew=fitted_anew, each=each)
    return campaign(rows, fitted_anew=fitted_anew, sources=stated("roll_paced_out", **sizes))


@pytest.mark.parametrize(
    ("letters", "each", "fitted_anew"),
    [("ABAB", 3, True), ("ABABAB", 2, True), ("ABBA|BAAB|ABBA", 1, False), ("AB|BA", 3, True)],
)
def test_a_row_of_the_budget_is_the_whole_of_its_source_and_never_less_than_what_is_added(letters, each, fitted_anew):
    own = rolls(letters, each, fitted_anew)
    (one,) = compare(own)
    parts = [part for part in stated_parts(own, one.reduction, one.used) if part.scope != WORST]
    rows = {row.source: row for row in one.budget}
    level = one.scale.level
    for part in parts:
        added = sum(float(variance) for each_part, variance in one.estimate.added if each_part.name == part.name)
        whole = max(added, float(contribution(part, one.design, np.asarray(one.weights))))
        row = rows[part.name]
        # A ratio of so little is the same share of the level.
        assert row.whole == pytest.approx(level * np.sqrt(whole), rel=1e-6, abs=1e-9)
        assert row.whole >= row.added - 1e-9
    assert sum(row.share for row in one.budget) == pytest.approx(1.0)


def test_at_a_look_both_intervals_are_those_of_its_own_levels():
    own = replace(
        rolls("ABBABAABABBABAAB", 1, False, effect=-0.1),
        plan=PlanRequest(looks=2, looks_after=(8, 16), stopping="pocock"),
    )
    look = Look(2, 2, "pocock")
    (one,) = compare(own, look)
    assert one.withheld == ""
    wide = one.estimate.equivalence_interval(look.equivalence_level)
    told = tuple(sorted(one.scale.difference(float(end)) for end in wide))
    assert tuple(sorted(one.equivalence_interval)) == pytest.approx(told)
    assert one.equivalence_interval[0] < one.interval_90[0]
    assert one.interval[0] < one.interval_95[0]
    (plain,) = compare(replace(own, plan=None))
    assert plain.equivalence_interval == plain.interval_90
    assert plain.interval == plain.interval_95


def test_a_look_that_nobody_planned_is_refused():
    own = rolls("ABBA", 1, False)
    for plan in (None, PlanRequest()):
        with pytest.raises(CampaignError, match="no looks were planned"):
            planned_look(replace(own, plan=plan), 1)
    two = replace(own, plan=PlanRequest(looks=2))
    with pytest.raises(CampaignError, match="look 3 is not one of the 2 planned"):
        planned_look(two, 3)
    assert planned_look(two, 2) == Look(2, 2, two.plan.stopping)


@pytest.mark.parametrize(("share", "named"), [(0.8, True), (1.2, False)])
def test_a_run_is_beyond_chance_by_bonferronis_bound_over_all_runs(share, named):
    """statsmodels' outlier test: the last of 16 runs is put where its Bonferroni p is just so."""
    flown = order("ABBABAABABBABAAB", False)
    columns = flown.mean_model(np.arange(16), flown.sloped_days)
    base = np.random.default_rng(42).normal(size=16)

    def bonferroni(size: float) -> float:
        y = base.copy()
        y[5] += size
        return float(OLS(y, columns).fit().outlier_test("bonferroni")[5, 2])

    low, high = 0.0, 50.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if bonferroni(middle) > share * 0.01 else (low, middle)
    y = base.copy()
    y[5] += high
    assert far_runs(recognise(flown), y, ()) == ([5] if named else [])


@pytest.mark.parametrize("letters", ["AAAABBBB", "AAAABBBB|BBBBAAAA"])
def test_a_free_change_without_a_return_is_held_by_the_scatter_within_its_blocks(letters):
    """One level a block and one slope in time, as the analysis of covariance has it (scipy.linalg rank)."""
    design = recognise(order(letters, False))
    runs, blocks = len(letters.replace("|", "")), len(letters.replace("|", "")) // 4
    assert design.degrees_of_freedom == runs - blocks - 1
    keys = np.array(list(letters.replace("|", "")))
    # Runs of one block weigh alike.
    for k in range(blocks):
        assert np.ptp(np.asarray(design.weights)[4 * k : 4 * k + 4]) < 1e-12
    assert design.weights[keys == "B"].sum() == pytest.approx(1.0)
    assert design.weights[keys == "A"].sum() == pytest.approx(-1.0)


def test_fittings_are_spoken_of_where_there_are_any():
    refit, free = order("ABA", True, each=3), order("ABA", False, each=3)
    assert any("fitted" in said for said in wording.warnings(refit, rigging_stated=True))
    assert not any("fitted" in said for said in wording.warnings(free, rigging_stated=True))
