"""The answer that was fixed counts wherever answers are used; few runs of other measures are told as the cheap way."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.inference.together.told import by_pair, excess_thrust
from samesky.mission.trade_off import correlated, gains, judge_mission, trade_off

EXAMPLE = Path(__file__).parents[2] / "data_synthetic" / "one_saturday"
ROLL, PULL, CLIMB = "takeoff_roll", "static_pull", "timed_climb"


@pytest.fixture(scope="module")
def campaign():
    return read(EXAMPLE)


def fixed(campaign, *names):
    """The campaign in which all measures decide these."""
    asked = {
        key: replace(one, answer_from="all measures") if key in names else one for key, one in campaign.asked.items()
    }
    return replace(campaign, asked=asked)


def roll_of(comparisons):
    return next(one for one in comparisons if one.measure == ROLL)


def test_kinds_of_flying_are_answered_from_what_was_fixed(campaign):
    own, told = compare(campaign), compare(fixed(campaign, ROLL))
    by_all = roll_of(told).by_all
    before, after = gains(own)[ROLL], gains(told)[ROLL]
    assert (before.verdict, after.verdict) == ("not enough data", "B better")
    assert after.gain == pytest.approx(-by_all.difference / roll_of(told).smallest_that_matters)
    assert after.standard_uncertainty < 0.6 * before.standard_uncertainty
    # Its 95 % interval is what the gain is known to.
    low, high = by_all.interval_95
    half = 0.5 * (high - low) / roll_of(told).smallest_that_matters
    assert 1.9 * after.standard_uncertainty < half < 2.6 * after.standard_uncertainty
    said = [
        judge_mission("short strip", {ROLL: 1.0}, gains(one), "A", "B", correlated(one)).answer for one in (own, told)
    ]
    assert said == ["open", "B"]
    assert roll_of(told).title in trade_off(told)["B"]
    assert roll_of(own).title not in trade_off(own).get("B", ())


def test_what_others_tell_errs_with_them(campaign):
    """The roll by all measures and the pull that tells it are known no better together than errors wholly shared."""
    told = compare(fixed(campaign, ROLL))
    shared = correlated(told)
    assert shared[ROLL, PULL] == shared[PULL, ROLL] == 1.0
    assert shared[PULL, CLIMB] < 1.0


def test_more_of_the_same_gives_way_to_what_all_measures_tell(campaign):
    own, told = compare(campaign), compare(fixed(campaign, ROLL))
    assert "all measures together tell it already (B better)" in roll_of(own).settle
    assert "times this flying" not in roll_of(own).settle
    assert "second look" in roll_of(own).settle
    assert roll_of(told).settle == ""


def test_few_runs_more_of_the_others_are_told_as_the_cheap_way(campaign):
    """With a margin between what all measures know now and what they would know with some runs more."""
    asked = {**campaign.asked, ROLL: replace(campaign.asked[ROLL], smallest=0.08, smallest_text="8 %")}
    alike = {}
    for name, table in campaign.tables.items():
        column = {"takeoff_roll": "ground roll", "static_pull": "pull"}.get(name, "elapsed")
        # B as if it were nearer: half of each measure's difference taken off.
        percent = next(one.percent for one in compare(campaign) if one.measure == name)
        factor = 1.0 + 0.5 * (percent if column != "elapsed" else -percent) / 100.0
        values = np.where(table.configuration == "B", table.columns[column] / factor, table.columns[column])
        alike[name] = replace(table, columns={**table.columns, column: values})

    def within(smallest):
        own = {**asked, ROLL: replace(asked[ROLL], smallest=smallest)}
        return roll_of(compare(replace(campaign, asked=own, tables=alike)))

    assert within(0.08).by_all.verdict == "no difference that matters"
    narrow, hopeless = within(0.045), within(0.004)
    assert "more at each fitting" in narrow.by_all.cheaper
    assert narrow.settle.startswith("Cheaper than more of the take-off roll: ")
    assert hopeless.by_all.cheaper == ""
    assert hopeless.settle.startswith("More of the same")


def three(campaign):
    """Another round in which C takes the place of A, and A that of B: A B A C A C."""
    configurations = {**campaign.configurations, "C": replace(campaign.configurations["A"], key="C", label="third")}
    tables = {}
    for name, table in campaign.tables.items():
        again = np.where(table.configuration == "A", "C", "A").astype(object)
        tables[name] = replace(
            table,
            rows=np.concatenate([table.rows, table.rows + len(table.rows)]),
            columns={key: np.concatenate([values, values]) for key, values in table.columns.items()},
            text={key: [*words, *words] for key, words in table.text.items()},
            configuration=np.concatenate([table.configuration, again]),
            installation=np.concatenate([table.installation, table.installation + 3]),
            day=np.concatenate([table.day, table.day]),
            hours=np.concatenate([table.hours, table.hours + 4.0]),
        )
    return replace(campaign, configurations=configurations, tables=tables)


def test_three_configurations_are_told_by_all_measures_pair_by_pair(campaign):
    flown = three(campaign)
    comparisons = compare(flown)
    pairs = by_pair(flown, comparisons)
    assert set(pairs) == {("A", "B"), ("A", "C"), ("B", "C")}
    assert [one.other for one in excess_thrust(flown, comparisons)] == ["B", "C"]
    rolls = {(one.baseline, one.other): one for one in comparisons if one.measure == ROLL}
    for pair, one in rolls.items():
        assert one.by_all.difference == pytest.approx(pairs[pair][ROLL].difference)
    # C less B follows from the two others, but for what each measure's weights make of them.
    two = [np.log1p(rolls[pair].by_all.percent / 100.0) for pair in (("A", "C"), ("A", "B"))]
    assert np.log1p(rolls["B", "C"].by_all.percent / 100.0) == pytest.approx(two[0] - two[1], abs=0.01)
    # Three pairs hold together (Bonferroni's bound): 2.39 standard uncertainties and more, not 1.96.
    told = rolls["A", "B"].by_all
    assert 0.5 * np.ptp(told.interval_95) > 2.39 * told.standard_uncertainty


def test_the_order_of_three_follows_the_answer_that_was_fixed(campaign):
    own, told = (roll_of(compare(one)).ranking for one in (three(campaign), fixed(three(campaign), ROLL)))
    assert "not told apart" in own
    assert told != own
    assert told.startswith("B")
