"""The order: it goes back, it is drawn where that is free, and drift has no part in it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from samesky.inference.design import recognise
from samesky.inference.estimate import estimate
from samesky.inference.order import FlownOrder
from samesky.planning import orders


def flown(days: tuple[str, ...], runs: int = 1, fitted_anew: bool = True) -> FlownOrder:
    """Each letter a block of runs, an hour apart and ten minutes from run to run."""
    letters = [(day, k, letter) for day, word in enumerate(days) for k, letter in enumerate(word)]
    rows = [(day, k, letter, run) for day, k, letter in letters for run in range(runs)]
    installation = [letters.index((day, k, letter)) for day, k, letter, _ in rows]
    hours = [24.0 * day + 7.0 + k + run / 6 for day, k, _, run in rows]
    return FlownOrder(
        [letter == "B" for _, _, letter, _ in rows], installation, [r[0] for r in rows], hours, fitted_anew
    )


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize(("days", "blocks"), [(1, 3), (2, 5), (3, 4)])
def test_blocks_alternate_and_the_next_day_begins_with_the_other(days, blocks, seed):
    order = orders.alternating(days, blocks, seed)
    assert [len(day) for day in order] == [blocks] * days
    assert all(first != second for day in order for first, second in pairwise(day))
    assert all(before[0] != after[0] for before, after in pairwise(order))
    assert order == orders.alternating(days, blocks, seed)


def test_what_comes_first_is_drawn():
    firsts = [orders.alternating(1, 3, seed)[0][0] for seed in range(400)]
    # Four standard deviations of a fair coin thrown 400 times.
    assert abs(firsts.count("A") - 200) < 40
    fours = [orders.fours(1, 2, seed)[0][0] for seed in range(400)]
    assert abs(fours.count("ABBA") - 200) < 40


@pytest.mark.parametrize("seed", range(5))
def test_each_eight_holds_both_fours_once(seed):
    order = [four for day in orders.fours(3, 4, seed) for four in day]
    assert all({first, second} == set(orders.FOURS) for first, second in zip(order[::2], order[1::2], strict=True))


def test_eight_runs_are_blind_to_straight_and_curved_drift():
    # Prouhet 1851: 0+3+5+6 = 1+2+4+7 and 0+9+25+36 = 1+4+16+49 (the order ABBA BAAB).
    places = {letter: [k for k, one in enumerate("ABBABAAB") if one == letter] for letter in "AB"}
    assert sum(places["A"]) == sum(places["B"]) == 14
    assert sum(k * k for k in places["A"]) == sum(k * k for k in places["B"]) == 70
    for first in (0, 1):
        word = orders.FOURS[first] + orders.FOURS[1 - first]
        sign = np.where(np.array(list(word)) == "B", 1.0, -1.0)
        k = np.arange(8.0)
        assert sign @ k == 0
        assert sign @ k**2 == 0


@pytest.mark.parametrize("days", [("ABA",), ("ABAB",), ("ABABA", "BABAB"), ("ABA", "BAB", "ABA")])
def test_what_drift_leaves_is_what_the_estimate_makes_of_it(days):
    order = flown(days, runs=2)
    design = recognise(order)
    straight, curved = orders.left_by_drift(design)
    assert abs(straight) < 1e-12
    # Put a pure drift through the estimate of the comparison: what comes out is what is left.
    from samesky.inference.budget import UncertaintyComponent

    parts = (UncertaintyComponent("rigging", "installation", np.full(order.runs, 0.005)),)
    if design.estimator == "contrast":
        assert estimate(design, 3.0 * order.time, parts).difference == pytest.approx(3.0 * straight, abs=1e-12)
        assert estimate(design, 2.0 * order.time**2, parts).difference == pytest.approx(2.0 * curved, abs=1e-12)


def test_a_single_swap_takes_all_of_a_straight_drift():
    order = flown(("AB",), runs=3)
    straight, _ = orders.left_by_drift(recognise(order))
    # The middles of the two blocks are an hour apart.
    assert straight == pytest.approx(1.0)


@pytest.mark.parametrize("wrong", [(0, 3), (1, 1)])
def test_no_order_of_nothing(wrong):
    with pytest.raises(ValueError, match="needs a day"):
        orders.alternating(*wrong, seed=1)
    with pytest.raises(ValueError, match="needs a day"):
        orders.fours(0, 1, seed=1)
