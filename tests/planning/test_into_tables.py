"""The planned order in the files of runs: every run a row still to fly, below what was flown, all or nothing."""

from __future__ import annotations

import csv
import errno
import os
from pathlib import Path

import pytest
import saturday

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.campaign.reading.table import columns_of
from samesky.campaign.reading.unflown import BEFORE, next_words, planned_runs
from samesky.checks.check import check
from samesky.measures import MEASURES
from samesky.planning.into_tables import into_tables, put_into_tables
from samesky.planning.plan import Plan
from samesky.planning.question import question
from samesky.planning.schedule import laid_out

RUNS = {"static_pull": 1, "takeoff_roll": 2, "timed_climb": 1}
FREE = ('kind = "refit"\ntime = "30 min"', 'kind = "free"\ntime = "1 min"')
ROLL = "run,date,clock,configuration,installation,oat [degC],qnh [hPa],fuel [L],ground roll [ft],exclude,notes\n"
FLOWN = ROLL + "1,2026-05-02,07:00,A,1,9,1018,60,410,,\n2,2026-05-02,07:40,B,2,9,1018,58,402,,calm\n"


def planned(folder, order=("ABA", "BAB"), runs=RUNS):
    asked = question(read(folder, flown=False))
    schedule, why = laid_out(asked, order, runs)
    assert not why
    return Plan(asked, tuple(map(tuple, order)), runs, schedule, {}, {}, (), (0.0, 0.0), (), (), ())


@pytest.fixture
def saturdays(tmp_path):
    def write(*changes, **files):
        folder = saturday.write(tmp_path / "c", *changes)
        for name, text in files.items():
            (folder / f"{name}.csv").write_text(text, encoding="utf-8")
        return folder

    return write


def texts(folder):
    return {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}


def rows(folder, stem="takeoff_roll"):
    lines = [line for line in texts(folder)[f"{stem}.csv"].splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def in_order(plan):
    return [(run.measure, str(run.number), run.configuration) for block in plan.schedule.blocks for run in block.runs]


@pytest.mark.parametrize(
    ("changes", "order", "runs"),
    [
        ([], ("ABA", "BAB"), RUNS),
        ([FREE], (("ABBA", "BAAB"), ("BAAB",)), RUNS),
        ([FREE], (("BAAB", "ABBA"),), {"static_pull": 3, "takeoff_roll": 1, "timed_climb": 2}),
    ],
)
def test_the_order_of_the_files_is_that_of_the_plan(saturdays, changes, order, runs):
    """Over all files, run by run, as the schedule has them; in free changes the turns of a four with them."""
    folder = saturdays(*changes)
    plan = planned(folder, order, runs)
    found = put_into_tables(folder, plan)
    campaign = read(folder, flown=False)
    assert [(one.measure, one.run, one.configuration) for one in planned_runs(campaign)] == in_order(plan)
    assert found.count == len(in_order(plan)) == len(campaign.unflown)
    assert not campaign.tables
    assert not check(campaign)
    assert [finding.message[:18] for finding in check(read(folder))] == ["nothing flown yet:"]


def test_cells_of_the_planned_rows_by_hand(saturdays):
    folder = saturdays()
    put_into_tables(folder, planned(folder))
    found = rows(folder)
    filled = [{name: cell for name, cell in row.items() if cell} for row in found]
    assert [(row["run"], row["date"], row["configuration"], row["installation"], row["notes"]) for row in filled] == [
        ("1", "2026-05-09", "A", "1", "block 1"), ("2", "2026-05-09", "A", "1", "block 1"),
        ("3", "2026-05-09", "B", "2", "block 2"), ("4", "2026-05-09", "B", "2", "block 2"),
        ("5", "2026-05-09", "A", "3", "block 3"), ("6", "2026-05-09", "A", "3", "block 3"),
        ("7", "2026-05-10", "B", "4", "block 4"), ("8", "2026-05-10", "B", "4", "block 4"),
        ("9", "2026-05-10", "A", "5", "block 5"), ("10", "2026-05-10", "A", "5", "block 5"),
        ("11", "2026-05-10", "B", "6", "block 6"), ("12", "2026-05-10", "B", "6", "block 6"),
    ]  # fmt: skip
    # The clock, and whatever is read, is the pilot's.
    readings = {column.name for column in columns_of(MEASURES["takeoff_roll"])} - set(BEFORE)
    assert not any({name.partition(" [")[0] for name in row} & readings for row in filled)
    # The unit that the campaign asks for, as on the cards.
    assert "ground roll [ft]" in found[0]
    assert next_words(read(folder, flown=False)) == "Next run: A, block 1 (static pull, run 1)."


def test_where_changing_is_free_the_order_tells_the_fittings(saturdays):
    folder = saturdays(FREE)
    put_into_tables(folder, planned(folder, (("ABBA",),)))
    assert {row["installation"] for row in rows(folder)} == {""}
    assert [row["notes"] for row in rows(folder)[::2]] == [f"block 1, turn {turn}" for turn in (1, 2, 3, 4)]


def test_below_what_was_flown_and_never_over_it(saturdays):
    folder = saturdays(takeoff_roll=FLOWN)
    plan = planned(folder, ("AB",))
    found = put_into_tables(folder, plan)
    text = texts(folder)["takeoff_roll.csv"]
    assert text.startswith(FLOWN)
    added = rows(folder)[2:]
    # Numbers go on where the file ends, on cards and in tables alike; fittings count on.
    assert [row["run"] for row in added] == ["3", "4", "5", "6"]
    assert [run.number for run in plan.schedule.runs_of("takeoff_roll")] == [3, 4, 5, 6]
    assert [row["installation"] for row in added] == ["3", "3", "4", "4"]
    assert [row["run"] for row in rows(folder, "timed_climb")] == ["1", "2"]
    assert "Take-off roll: 4 rows (runs 3 to 6) into takeoff_roll.csv, below the 2 rows there." in found.says()
    campaign = read(folder)
    assert not [finding for finding in check(campaign) if finding.kind == "error"]
    assert len(campaign.tables["takeoff_roll"].rows) == 2


def test_fittings_stay_blank_where_the_flown_runs_count_none(saturdays):
    folder = saturdays(takeoff_roll=FLOWN.replace(",A,1,", ",A,,").replace(",B,2,", ",B,,"))
    put_into_tables(folder, planned(folder, ("AB",)))
    assert {row["installation"] for row in [*rows(folder), *rows(folder, "static_pull")]} == {""}


def test_a_plan_put_twice_changes_nothing_and_another_takes_the_place_of_rows_not_flown(saturdays):
    folder = saturdays()
    plan = planned(folder)
    put_into_tables(folder, plan)
    before = texts(folder)
    again = put_into_tables(folder, plan)
    assert again.files == {}
    assert again.says() == ["The tables hold this plan already: nothing would change."]
    assert texts(folder) == before
    other = put_into_tables(folder, planned(folder, ("BA",)))
    assert [row["configuration"] for row in rows(folder)] == ["B", "B", "A", "A"]
    assert other.says()[1] == (
        "Take-off roll: 4 rows (runs 1 to 4) into takeoff_roll.csv, in place of 12 planned before and not flown."
    )


def test_a_run_called_off_keeps_its_row_and_its_number(saturdays):
    folder = saturdays(takeoff_roll=ROLL + "1,2026-05-02,,A,1,,,,,wind,block 1\n2,2026-05-02,,A,1,,,,,,block 1\n")
    put_into_tables(folder, planned(folder, ("AB",)))
    assert [(row["run"], row["exclude"]) for row in rows(folder)] == [
        ("1", "wind"), ("2", ""), ("3", ""), ("4", ""), ("5", ""),
    ]  # fmt: skip
    assert [one.run for one in planned_runs(read(folder, flown=False)) if one.measure == "takeoff_roll"] == list("2345")


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("1,2026-05-09,,A,1,,,,,,block 1; wet", "'block 1; wet' was typed into it by hand"),
        ("1,2026-05-09,,A,1,,,,,,my own", "'my own' was typed into it by hand"),
    ],
)
def test_what_was_typed_by_hand_is_never_thrown_away(saturdays, row, said):
    folder = saturdays(takeoff_roll=f"{ROLL}{row}\n")
    before = texts(folder)
    with pytest.raises(CampaignError, match=said) as refused:
        put_into_tables(folder, planned(folder))
    assert refused.value.finding.row == 2
    assert texts(folder) == before


def test_a_plan_among_days_gone_is_refused(saturdays):
    folder = saturdays(takeoff_roll=FLOWN.replace("2026-05-02", "2026-05-09"))
    with pytest.raises(CampaignError, match="first date: is 2026-05-09, and runs were flown until 2026-05-09"):
        into_tables(planned(folder), texts(folder))


def test_without_a_first_date_the_date_is_left_to_the_pilot(saturdays):
    folder = saturdays(('first_date = "2026-05-09"\n', ""), takeoff_roll=FLOWN)
    found = put_into_tables(folder, planned(folder))
    assert {row["date"] for row in rows(folder)[2:]} == {""}
    assert found.says()[-1].startswith("The plan has no first date")


def test_days_that_could_not_be_told_apart_are_refused(saturdays):
    one_day = FLOWN.replace("date,", "").replace("2026-05-02,", "")
    folder = saturdays(('baseline = "A"', 'baseline = "A"\ndate = "2026-05-02"'), takeoff_roll=one_day)
    with pytest.raises(CampaignError, match="no column 'date'"):
        into_tables(planned(folder), texts(folder))
    assert len(into_tables(planned(folder, ("AB",)), texts(folder)).files) == 3


def test_only_columns_that_the_file_has_are_filled_in(saturdays):
    folder = saturdays(takeoff_roll="date,clock,configuration,ground roll [m]\n")
    put_into_tables(folder, planned(folder, ("AB",)))
    assert [list(row.values()) for row in rows(folder)] == [["2026-05-09", "", key, ""] for key in "AABB"]
    # Fittings are counted in every file or in none.
    assert {row["installation"] for row in rows(folder, "timed_climb")} == {""}


def test_all_files_or_none(saturdays, monkeypatch):
    folder = saturdays(takeoff_roll=FLOWN)
    plan, before = planned(folder), texts(folder)
    rename, done = os.replace, []

    def full(source, target):
        if Path(target).parent == folder:
            done.append(target)
            if len(done) == 3:
                raise OSError(errno.ENOSPC, "No space left on device")
        return rename(source, target)

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(CampaignError, match="No space left"):
        put_into_tables(folder, plan)
    assert len(done) > 3, "those before are put back"
    assert texts(folder) == before
