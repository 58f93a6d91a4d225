"""Runs that were flown fill the planned rows that they are, all of them or none; expected rows are written out here."""

from __future__ import annotations

import csv
from datetime import date

import numpy as np
import pytest
import track_campaign
from whole_flights import BAND, as_igc, see, whole_flight

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.campaign.reading.table import columns_of
from samesky.campaign.tables.grid import Grid
from samesky.evidence.fill_planned import filled, filling
from samesky.evidence.proposal import dry_run, put
from samesky.evidence.tracks.propose import propose
from samesky.instruments.tracks import read_track
from samesky.measures import MEASURES

COLUMNS = columns_of(MEASURES["timed_climb"])
HEADER = "run,date,clock,configuration,installation,elapsed [s],exclude,notes\n"
PLANNED = """\
1,2024-05-24,07:00,A,1,90,,block 1
2,2024-05-24,,A,1,,,block 1; smooth air first
3,2024-05-24,,A,1,,rain,block 1
4,2024-05-24,,A,1,,,block 1
5,2024-05-24,,B,2,,,block 2
"""
ONE = {"date": "2024-05-24", "clock": "08:10", "configuration": "A", "elapsed": "91", "notes": "from a track"}
TWO = ONE | {"clock": "08:20", "elapsed": "92"}


def grid(rows=PLANNED):
    return Grid.from_text(HEADER + rows, "timed_climb.csv", [column.name for column in COLUMNS])


def put_in(*rows, there=PLANNED, day=None):
    found, made = filling(grid(there), COLUMNS, rows, day), grid(there)
    for place, row in zip(found.places, found.rows, strict=False):
        made = filled(made, place, row)
    return found, made.to_text().removeprefix(HEADER)


def test_they_fill_the_next_planned_rows_in_order_of_time():
    found, text = put_in(TWO, ONE)
    assert text == (
        "1,2024-05-24,07:00,A,1,90,,block 1\n"
        "2,2024-05-24,08:10,A,1,91,,block 1; smooth air first; from a track\n"
        "3,2024-05-24,,A,1,,rain,block 1\n"
        "4,2024-05-24,08:20,A,1,92,,block 1; from a track\n"
        "5,2024-05-24,,B,2,,,block 2\n"
    )
    assert found.said == (
        "These 2 runs were planned: they fill the planned runs 2 and 4 (block 1), in order. Their numbers, "
        "fittings and notes stay."
    )


def test_a_planned_row_without_a_date_gets_that_of_the_run():
    found, text = put_in(ONE, there="1,,,A,,,,block 1\n")
    assert text == "1,2024-05-24,08:10,A,,91,,block 1; from a track\n"
    assert found.said == (
        "This run was planned: it fills the planned run 1 (block 1). Its number, fitting and notes stay."
    )


APART = {
    "configuration": ((ONE, TWO, TWO | {"clock": "08:30"}), "next in the plan is run 5, configuration B, and the run "
    "of 08:30 has configuration A"),
    "too many": ((ONE,) * 4, "4 runs were flown, and 3 planned rows are left"),
    "date": ((ONE | {"date": "2024-05-25"},), "next in the plan is run 2 on 2024-05-24, and the run of 08:10 was flown "
    "on 2024-05-25"),
    "earlier": ((ONE | {"clock": "06:50"},), "the run of 06:50 was flown before run 1, which is written down already"),
    "installation": ((ONE | {"installation": "3"},), "next in the plan is run 2, installation 1, and the run of 08:10 "
    "has installation 3"),
    "number": ((ONE | {"run": "4"},), "next in the plan is run 2, number 2, and the run of 08:10 has number 4"),
}  # fmt: skip


@pytest.mark.parametrize("why", APART)
def test_what_disagrees_is_said_and_nothing_planned_is_touched(why):
    rows, said = APART[why]
    found, text = put_in(*rows)
    assert (found.places, found.rows, text) == ((), rows, PLANNED)
    assert found.said.startswith(f"No planned row is filled: {said}. ")
    assert "rows of their own" in found.said or "a row of its own" in found.said


def test_the_day_of_the_campaign_stands_for_a_missing_date():
    row = {name: text for name, text in ONE.items() if name != "date"}
    assert put_in(row, day=date(2024, 5, 24))[0].places == (1,)
    assert not put_in(row, day=date(2024, 5, 25))[0].places


def test_a_column_without_a_name_is_left_as_it_is():
    there = Grid.from_text(
        "run,date,clock,,configuration,elapsed [s],notes\n1,2024-05-24,,mine,A,,block 1\n",
        "timed_climb.csv",
        [column.name for column in COLUMNS],
    )
    found = filling(there, COLUMNS, [ONE])
    assert found.places == (0,)
    assert filled(there, 0, found.rows[0]).to_text().splitlines()[1] == (
        "1,2024-05-24,08:10,mine,A,91,block 1; from a track"
    )


def test_without_planned_rows_nothing_is_said():
    assert put_in(ONE, there="1,2024-05-24,07:00,A,1,90,,\n")[0].said == ""
    assert put_in(ONE | {"clock": "", "elapsed": ""})[0].said == "", "planned rows fill none"


# ---- from a track --------------------------------------------------------------------------------------------------

TOML = track_campaign.toml("timed_climb")
TABLE = "run,date,clock,configuration,installation,from [ft],to [ft],elapsed [s],notes\n"
LIST = "".join(
    f"{k},2024-05-24,,{key},{1 + (key == 'B')},,,,block {1 + (key == 'B')}\n" for k, key in enumerate("AAAB", 1)
)


@pytest.fixture(scope="module")
def track(tmp_path_factory):
    rng = np.random.default_rng(20260524)
    path = tmp_path_factory.mktemp("track") / "flight.igc"
    path.write_text(as_igc(see(whole_flight(rng), rng, 1.0, dropouts=2)), encoding="utf-8", newline="")
    return read_track(path)


def folder_of(tmp_path, rows):
    (tmp_path / "campaign.toml").write_text(TOML, encoding="utf-8")
    (tmp_path / "timed_climb.csv").write_text(TABLE + rows, encoding="utf-8")
    return tmp_path


def ask(folder, fixes, **options):
    options = {"configuration": "A", "utc_offset_hours": 2.0, "expected": 3, "band": BAND} | options
    return propose(read(folder, flown=False), fixes, "timed_climb", **options)


def rows_of(folder):
    with (folder / "timed_climb.csv").open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def test_climbs_of_a_track_fill_the_planned_climbs(tmp_path, track):
    folder = folder_of(tmp_path, LIST)
    offered = ask(folder, track)
    assert offered.planned.startswith("These 3 runs were planned: they fill the planned runs 1, 2 and 3 (block 1)")
    put(folder, offered)
    rows = rows_of(folder)
    assert [(row["run"], row["installation"], bool(row["clock"])) for row in rows] == [
        ("1", "1", True), ("2", "1", True), ("3", "1", True), ("4", "2", False),
    ]  # fmt: skip
    assert all(row["notes"].startswith("block 1; from the track flight.igc") for row in rows[:3])
    assert [row["clock"] for row in rows[:3]] == [row["clock"] for row in offered.rows]
    # A file in which nothing but planned rows stood holds no run that was read by hand.
    assert not any("read by hand" in said for said in offered.assumptions)
    with pytest.raises(CampaignError, match="is there already"):
        put(folder, ask(folder, track))


def test_climbs_of_another_configuration_go_in_beside_the_planned_ones(tmp_path, track):
    folder = folder_of(tmp_path, LIST)
    offered = ask(folder, track, configuration="B", installation="2")
    assert "next in the plan is run 1, configuration A, and the run of " in offered.planned
    put(folder, offered)
    assert [row["run"] for row in rows_of(folder)] == ["1", "2", "3", "4", "5", "6", "7"]


def test_a_planned_row_that_was_filled_meanwhile_stops_it(tmp_path, track):
    folder = folder_of(tmp_path, LIST)
    offered = ask(folder, track)
    folder_of(tmp_path, LIST.replace("1,2024-05-24,,A", "1,2024-05-24,05:00,A", 1))
    before = (folder / "timed_climb.csv").read_bytes()
    with pytest.raises(CampaignError, match="none any more"):
        dry_run(read(folder, flown=False), offered)
    assert (folder / "timed_climb.csv").read_bytes() == before
