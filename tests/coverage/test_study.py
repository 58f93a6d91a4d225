"""The certification study in short: a few cells flown again, and the kept table held against its targets."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from slow_cases import slow_unless

from tests.coverage.orders import LETTERS, RUNS, campaign, order_of
from tests.coverage.skies import SKIES
from tests.coverage.study import HIGH, LOW, WARNED, cell, verdict_of

CAMPAIGNS = 1000
WORDS = ("order", "sky", "measure", "design", "verdict")
#: Cells where everything is as stated, and where the assumption is broken and warned of.
SHORT = [
    ("pairs", 3, "fair day"),
    ("pairs", 8, "drift"),
    ("days", 6, "day steps"),
    ("blocks with a return", 6, "fair day"),
    ("blocks over days", 4, "fair day"),
    ("single swap", 4, "fair day"),
    ("pairs", 4, "gusty"),
    ("days", 8, "own drift"),
    ("swaps turned round", 8, "own drift"),
    ("swaps turned round", 4, "fair day"),
    ("single swap", 8, "curved drift"),
    ("blocks over days", 6, "installation beyond"),
]


@pytest.fixture(scope="module")
def kept():
    with open(Path(__file__).parent / "results.csv", newline="", encoding="utf-8") as stream:
        return [
            {
                key: value if key in ("order", "sky", "measure", "design", "verdict") else float(value)
                for key, value in row.items()
            }
            for row in csv.DictReader(stream)
        ]


@pytest.fixture(scope="module")
def base():
    return campaign()


@pytest.mark.parametrize(("order", "runs", "sky"), slow_unless(SHORT[::3], SHORT))
def test_a_cell_flown_again_meets_its_target_and_the_kept_table(order, runs, sky, base, kept):
    """Bands: three Monte Carlo errors of both."""
    for row in cell(base, order, runs, sky, CAMPAIGNS, seed=7):
        assert verdict_of(row) != "misses", row
        before = next(
            one
            for one in kept
            if (one["order"], one["runs"], one["sky"], one["measure"]) == (order, runs, sky, row["measure"])
        )
        for share in ("coverage", "wrong_better", "wrong_no_difference", "warned"):
            p = before[share]
            error = 3.0 * np.sqrt(max(p * (1.0 - p), 0.01) * (1.0 / CAMPAIGNS + 1.0 / before["campaigns"]))
            assert row[share] == pytest.approx(p, abs=error), share


def test_the_kept_table_is_whole(kept):
    orders = {(row["order"], row["runs"]) for row in kept}
    assert orders == {(order, runs) for order in LETTERS for runs in RUNS}
    assert {row["sky"] for row in kept} == set(SKIES)
    assert min(row["campaigns"] for row in kept) >= 4000


def test_no_kept_cell_covers_less_than_it_should_unwarned(kept):
    room = 2.0 * np.sqrt(0.05 * 0.95 / kept[0]["campaigns"])
    for row in kept:
        if row["holds"]:
            assert row["coverage"] >= LOW - room, row
        else:
            assert row["coverage"] >= LOW - room or row["warned"] >= WARNED, row


def test_where_all_is_as_stated_no_kept_cell_covers_much_more(kept):
    """What is stated but not there (a calm day) makes an interval wide, and should; elsewhere it is waste."""
    room = 2.0 * np.sqrt(0.05 * 0.95 / kept[0]["campaigns"])
    # An order that hides drift allows for the worst believable, which a fair day has not; blocks with a return lean on
    # the fitting error entered, which few fittings cannot confirm.
    entered = {"blocks with a return": 0.995, "blocks over days": 1.0, "swaps turned round": 1.0, "single swap": 1.0}
    fair = [row for row in kept if row["sky"] == "fair day"]
    wide = [row for row in fair if row["coverage"] > entered.get(row["order"], HIGH + room)]
    assert not wide, wide


def test_wrong_claims_are_rare_in_every_kept_cell_whose_assumption_holds(kept):
    room = 3.0 * np.sqrt(0.05 * 0.95 / kept[0]["campaigns"])
    for row in kept:
        if row["holds"]:
            assert row["wrong_better"] <= 0.06 + room, row
            assert row["wrong_no_difference"] <= 0.06 + room, row


def test_as_many_runs_a_side_as_it_says():
    for letters in LETTERS.values():
        for runs, order in letters.items():
            found = order_of(order, fitted_anew=True)
            assert [(found["configuration"] == key).sum() for key in "AB"] == [runs, runs]
