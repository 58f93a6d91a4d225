"""Rows that are planned and not flown yet: read, checked, never computed with, and never a heap of errors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from sound_campaign import CLIMB, ROLL

from samesky.campaign.model.plan_request import MeasurePlan, PlanRequest
from samesky.campaign.reading import unflown
from samesky.campaign.reading.read import read
from samesky.campaign.reading.table import columns_of
from samesky.campaign.reading.template import measure_file
from samesky.campaign.reading.unflown import is_unflown, next_words, planned_runs, unflown_places, unflown_words
from samesky.campaign.tables.grid import Grid
from samesky.checks.check import check
from samesky.inference.comparison import compare
from samesky.measures import MEASURES

PLANNED_ROLL = "10,2025-06-15,,A,,,,,,,,block 5\n11,2025-06-15,,B,,,,,,,,block 6\n12,2025-06-15,,B,,,,,,,,block 6\n"
PLANNED_CLIMB = "5,2025-06-15,,A,,,,,,\n6,2025-06-15,,B,,,,,,\n"


def errors(campaign):
    return [finding for finding in check(campaign) if finding.kind == "error"]


def with_plan(campaign, *measures):
    return replace(campaign, plan=PlanRequest(measures={name: MeasurePlan() for name in measures}))


@pytest.mark.parametrize(
    ("cells", "unflown_row"),
    [
        ({"configuration": "A"}, True),
        ({"run": "3", "date": "2025-06-15", "Configuration": "B", "installation": "2", "notes": "block 2"}, True),
        ({"configuration": "A", "pilot": "x", "runway": "09", "exclude": "gusts"}, True),
        ({"configuration": "A", "clock": " ", "oat": ""}, True),
        ({"configuration": "A", "clock": "09:40"}, False),
        ({"configuration": "A", "fuel": "40"}, False),
        ({"configuration": "A", "ground roll": "412"}, False),
        ({"run": "3", "date": "2025-06-15"}, False),
        ({}, False),
    ],
)
def test_the_rule(cells, unflown_row):
    assert is_unflown(cells) is unflown_row
    assert all(name in unflown.RULE for name in unflown.BEFORE)


def test_the_rule_holds_for_every_measure():
    """The columns that may be filled before flying are common to all files, and no measure reads one of them; the
    runway is known beforehand wherever a measure has it."""
    for measure in MEASURES.values():
        names = {column.name: column for column in columns_of(measure)}
        assert set(unflown.BEFORE) - {"runway"} <= set(names)
        assert all(names[name].dimension == "text" for name in unflown.BEFORE if name in names)
        text = measure_file(measure)
        grid = Grid.from_text(text, "x.csv", list(names))
        row = {"run": "1", "configuration": "A"}
        reading = next(column.name for column in measure.columns if column.required)
        grid = grid.with_rows([row, row | {reading: "1"}, row | {"clock": "09:00"}, {}, row])
        assert unflown_places(grid, list(names.values())) == [0, 4]


def test_planned_rows_are_no_errors_and_change_no_number(sound):
    before = compare(read(sound()))
    campaign = read(sound(takeoff_roll__csv=ROLL + PLANNED_ROLL, timed_climb__csv=CLIMB + PLANNED_CLIMB))
    assert not errors(campaign)
    assert [finding.message for finding in check(campaign)] == [finding.message for finding in check(read(sound()))]
    campaign = read(sound(takeoff_roll__csv=ROLL + PLANNED_ROLL, timed_climb__csv=CLIMB + PLANNED_CLIMB))
    for one, other in zip(before, compare(campaign), strict=True):
        assert one.to_json() == other.to_json()
    assert {name: len(table.rows) for name, table in campaign.tables.items()} == {"takeoff_roll": 9, "timed_climb": 4}
    assert [(one.file, one.row, one.run) for one in campaign.unflown] == [
        ("takeoff_roll.csv", 11, "10"),
        ("takeoff_roll.csv", 12, "11"),
        ("takeoff_roll.csv", 13, "12"),
        ("timed_climb.csv", 6, "5"),
        ("timed_climb.csv", 7, "6"),
    ]
    assert unflown_words(campaign) == "5 planned runs are not flown yet: 2 x timed climb and 3 x take-off roll."


def test_rows_between_flown_ones_are_passed_over(sound):
    lines = ROLL.splitlines(keepends=True)
    text = "".join([*lines[:3], "p,2025-06-14,,B,,,,,,,,\n", *lines[3:]])
    campaign = read(sound(takeoff_roll__csv=text))
    assert not errors(campaign)
    assert list(campaign.tables["takeoff_roll"].rows) == [2, 3, *range(5, 12)]
    np.testing.assert_array_equal(
        campaign.tables["takeoff_roll"].installation, read(sound()).tables["takeoff_roll"].installation
    )


def test_a_half_filled_row_is_an_error_at_its_cells(sound):
    begun = "10,2025-06-15,07:00,A,,,,,,,,block 5\n"
    campaign = read(sound(takeoff_roll__csv=ROLL + begun + "11,2025-06-15,,B,,,,,,,,\n"))
    found = {(finding.row, finding.column) for finding in errors(campaign)}
    assert {(11, "ground roll"), (11, "oat"), (11, "fuel")} <= found
    assert {row for row, _ in found} == {11}
    assert [one.run for one in campaign.unflown] == ["11"]
    campaign = read(sound(takeoff_roll__csv=ROLL + "10,2025-06-15,,A,,,,,,415,,\n"))
    assert (11, "clock") in {(finding.row, finding.column) for finding in errors(campaign)}
    assert not campaign.unflown


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("10,2025-06-15,,C,,,,,,,,", "configuration"),
        ("10,15 of June,,A,,,,,,,,", "date"),
        ("9,2025-06-15,,A,,,,,,,,", "run"),
        (",2025-06-15,,A,,,,,,,,", "run"),
        ("10,2025-06-15,,A,,,,,,,no,", "exclude"),
        ("10,2025-06-15,,,,,,,,,,", "configuration"),
    ],
)
def test_what_a_planned_row_does_hold_is_checked(sound, row, column):
    campaign = read(sound(takeoff_roll__csv=f"{ROLL}{row}\n"))
    assert (11, column) in {(finding.row, finding.column) for finding in errors(campaign)}


def test_installation_and_runway_of_a_planned_row_are_checked(sound):
    head, *rows = ROLL.splitlines()
    fitted = [f"{row},{number}," for row, number in zip(rows, (1, 1, 2, 2, 3, 3, 3, 4, 4), strict=True)]
    text = "\n".join([f"{head},installation,runway", *fitted, ""])
    files = {"timed_climb__csv": None}
    campaign = read(sound(**files, takeoff_roll__csv=f"{text}10,,,A,,,,,,,,,third,\n11,,,A,,,,,,,,,5,27\n"))
    assert [(one.row, one.column) for one in errors(campaign)] == [(12, "runway"), (11, "installation")]
    campaign = read(sound(**files, takeoff_roll__csv=f"{text}10,,,A,,,,,,,,,5,\n11,,,A,,,,,,,,,,09\n"))
    assert not errors(campaign)
    assert list(campaign.tables["takeoff_roll"].installation) == [0, 0, 1, 1, 2, 2, 2, 3, 3]


def test_nothing_flown_is_said_once(sound):
    """Not one error a blank cell: of twelve planned rows one sentence."""
    head = [text.splitlines(keepends=True)[0] for text in (ROLL, CLIMB)]
    rolls = "".join(f"{k},2025-06-15,,{'AB'[k % 2]},,,,,,,,\n" for k in range(1, 9))
    climbs = "".join(f"{k},2025-06-15,,{'AB'[k % 2]},,,,,,\n" for k in range(1, 5))
    folder = sound(takeoff_roll__csv=head[0] + rolls, timed_climb__csv=head[1] + climbs)
    (only,) = check(read(folder))
    assert only.kind == "error"
    assert only.message == ("nothing flown yet: all 12 rows of takeoff_roll.csv and timed_climb.csv are planned runs.")
    assert not check(read(folder, flown=False))
    folder = sound(takeoff_roll__csv=ROLL, timed_climb__csv=head[1] + climbs)
    assert not [finding for finding in check(read(folder)) if finding.file == "timed_climb.csv"]
    said = [finding.message for finding in check(read(sound(timed_climb__csv=head[1])))]
    assert "nothing flown yet: there is a header and no run." in said


def test_a_planned_run_that_was_called_off_never_comes_up(sound):
    off = "10,2025-06-15,,A,,,,,,,wind beyond the limit,block 5\n"
    campaign = read(sound(takeoff_roll__csv=ROLL + off + "11,2025-06-15,,B,,,,,,,,block 6\n"))
    assert not errors(campaign)
    assert [one.run for one in planned_runs(campaign)] == ["11"]
    assert next_words(campaign) == "Next run: B, block 6 (take-off roll, run 11)."
    assert unflown_words(campaign).endswith("1 planned run was called off, with a reason written down.")
    assert unflown.last_number(campaign, "takeoff_roll") == 10


def test_runs_come_in_rounds_within_their_turn_over_all_files(sound):
    """Two of either measure a block, the climbs planned first: climb, roll, climb, roll, then the next block."""
    rolls = "".join(
        f"{k},2025-06-15,,{key},,,,,,,,block {b}\n" for k, key, b in ((10, "A", 1), (11, "A", 1), (12, "B", 2))
    )
    head, *flown = CLIMB.splitlines()
    climbs = "\n".join([head + ",notes", *(f"{row}," for row in flown)]) + "\n"
    climbs += "".join(
        f"{k},2025-06-15,,{key},,,,,,,block {b}\n" for k, key, b in ((5, "A", 1), (6, "A", 1), (7, "B", 2))
    )
    campaign = read(sound(takeoff_roll__csv=ROLL + rolls, timed_climb__csv=climbs))
    assert not errors(campaign)
    planned = with_plan(campaign, "timed_climb", "takeoff_roll")
    order = [(one.measure, one.run) for one in planned_runs(planned)]
    assert order == [
        ("timed_climb", "5"), ("takeoff_roll", "10"), ("timed_climb", "6"), ("takeoff_roll", "11"),
        ("timed_climb", "7"), ("takeoff_roll", "12"),
    ]  # fmt: skip
    # The first climb flown: its round goes on where it stood.
    climbs = climbs.replace("5,2025-06-15,,A,,,,,,,", "5,2025-06-15,07:00,A,8,40,5200,1000,2000,61,")
    planned = with_plan(
        read(sound(timed_climb__csv=climbs, takeoff_roll__csv=ROLL + rolls)), "timed_climb", "takeoff_roll"
    )
    assert [(one.measure, one.run) for one in planned_runs(planned)] == order[1:]


def test_an_earlier_day_comes_first_and_files_keep_their_order(sound):
    """Blocks count anew in another plan; the day decides before them."""
    rolls = "10,2025-06-15,,B,,,,,,,,block 5\n11,2025-06-15,,A,,,,,,,,block 1\n"
    campaign = read(sound(takeoff_roll__csv=ROLL + rolls, timed_climb__csv=CLIMB + PLANNED_CLIMB.replace("-15", "-16")))
    assert [one.run for one in planned_runs(campaign)] == ["10", "11", "5", "6"]
    assert next_words(campaign) == "Next run: B, block 5 (take-off roll, run 10)."


@pytest.mark.parametrize("block", [(1, None), (12, None), (2, 4)])
def test_a_block_in_the_notes_comes_back(block):
    assert unflown.block_of(unflown.block_note(*block)) == block
    assert unflown.block_of(unflown.block_note(*block) + "; gusty") == block


@pytest.mark.parametrize("notes", ["", "gusty", "the block 2", "block two", "block 12345"])
def test_other_notes_name_no_block(notes):
    assert unflown.block_of(notes) == (None, None)
