"""What the page says of the order and of the plain average is true of the runs, in both directions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from flown_campaigns import ROLL_AS_IT_IS, campaign, stated, table

from samesky.inference.comparison import compare
from samesky.mission.trade_off import FIRM
from samesky.report import missions, phrases, pitfalls
from samesky.report.phrases import Answer


def one(letters, each=3, seed=1, drift=0.0, runs=None):
    rng = np.random.default_rng(seed)
    flown = table(ROLL_AS_IT_IS, letters, 1.0, each=each)
    n = len(flown.rows)
    values = 120.0 * np.exp(0.01 * rng.standard_normal(n) + drift * (flown.hours - flown.hours[0]))
    left_out = () if runs is None else tuple(k for k in range(n) if k not in runs)
    made = table(ROLL_AS_IT_IS, letters, values, each=each, left_out=left_out)
    (found,) = compare(campaign(made, sources=stated("roll_paced_out")))
    return found


@pytest.mark.parametrize(
    ("letters", "says"),
    [
        ("AB", "Every A run was flown on one side"),
        ("BA", "Every A run was flown on one side"),
        ("AB|BA", "On no day"),
        ("AB|AB", "On no day"),
        ("ABA", ""),
        ("ABAB|BABA", ""),
    ],
)
def test_one_side_of_the_swap_is_said_of_one_swap_alone(letters, says):
    found = one(letters)
    told = pitfalls._one_swap(found)
    assert told[: len(says)] == says
    assert bool(told) is bool(says)
    configuration = found.design.order.configuration
    on_one_side = int(np.count_nonzero(np.diff(configuration))) == 1
    assert told.startswith("Every A run") is on_one_side


@pytest.mark.parametrize("letters", ["AB", "AB|BA", "ABA", "ABAB|BABA", "AB|BA|AB", "ABA|BAB|ABA"])
def test_steady_drift_is_taken_out_only_where_the_weights_do(letters):
    """A drift alone, of each day's own slope, moves the difference by nothing, or nobody says that it is taken out."""
    found = one(letters, each=3, drift=0.05)
    order = found.design.order
    moved = max(abs(float(found.weights @ np.where(order.day == day, order.time, 0.0))) for day in np.unique(order.day))
    told = pitfalls._order(replace(found, naive=replace(found.naive, difference=found.raw_difference - 50.0)))
    assert ("steady drift is taken out" in told) is (moved < 1e-9)


def test_fittings_are_counted():
    for letters, each in (("AB", 3), ("ABAB", 1), ("ABAB|BABA", 2)):
        found = one(letters, each)
        told = pitfalls._few_fittings(found)
        fittings = len(letters.replace("|", ""))
        assert bool(told) is (each > 1)
        assert not told or f"takes {fittings * each} runs" in told
        assert not told or f"there were {fittings} fittings" in told


def test_a_key_that_begins_like_another_is_not_taken_for_it():
    found = replace(one("ABABAB"), baseline="A", other="AB")
    ends = (-9.0, -3.0)
    naive = replace(found.naive, difference=-6.0, interval_95=ends, says="AB is better")
    for verdict, says in (("A better", "crowns the wrong one"), ("AB better", "points the same way")):
        given = replace(found, naive=naive, verdict=verdict)
        assert phrases.answer(given) is (Answer.BASELINE if verdict == "A better" else Answer.OTHER)
        assert says in pitfalls.plain_average(given)


def test_how_firm_a_mission_has_to_be_is_the_number_that_decides():
    assert missions.firm() == f"{round(100 * FIRM)} of 100 draws"


@pytest.mark.parametrize(
    "letters", ["AB", "AB|BA", "ABA", "ABAB", "ABAB|BABA", "ABA|AB", "AB|BA|AB", "ABA|BAB|ABA", "ABA|BAB|AB"]
)
def test_steady_drift_is_said_to_be_found_where_a_day_goes_back_and_nowhere_else(letters):
    """A drift of 5 % an hour and little scatter: found as such, within three of its own standard uncertainties."""
    made = one(letters, each=3, drift=0.05)
    told = [text for text in pitfalls.drift(made) if text.startswith("Steady drift found and taken out")]
    goes_back = any(len(day) > 2 for day in letters.split("|"))
    assert bool(told) is goes_back
    if told:
        # Hours of all days run on in this campaign, so that each day has a level of its own and the same slope.
        known = made.drift.removed_uncertainty
        assert made.drift.removed == pytest.approx(5.0, abs=max(3.0 * np.nan_to_num(known), 0.5))
        # Over days their own spread is the uncertainty, from three days on.
        two = made.design.name == "days" and letters.count("ABA") + letters.count("BAB") < 3
        assert np.isnan(known) if two else 0.05 < known < 5.0
    elif letters == "AB":
        assert np.isnan(made.drift.removed)
