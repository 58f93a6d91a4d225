"""Pasted from a spreadsheet or taken from another file: what arrives is what was meant, or nothing is written.

References: the csv module reading the file back, and pint converting the numbers.
"""

from __future__ import annotations

import csv
import io
import time

import pint
import pytest
from worksheet_client import STEM, Visitor, put_campaign

from samesky.campaign.messages.errors import CampaignError
from samesky.measures import MEASURES
from samesky.worksheets.runs import cell_entry
from samesky.worksheets.runs.changes import MOST_RUNS, change_unit
from samesky.worksheets.runs.columns import runs_of
from samesky.worksheets.runs.pasted import paste, take

UREG = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
HEADER = "run,date,clock,configuration,oat [degC],fuel [L],elapsed [s],from [ft],to [ft],airspeed [kt],exclude,notes"


def runs(rows="", header=HEADER, name=STEM):
    return runs_of(f"{name}.csv", f"{header}\n{rows}", MEASURES[name])


def cells(grid):
    return [list(row) for row in grid.trimmed().rows]


@pytest.fixture
def visitor(tmp_path):
    put_campaign(tmp_path)
    return Visitor(tmp_path)


# ---- pasted --------------------------------------------------------------------------------------------------------


def test_a_block_goes_where_the_cursor_is():
    changed = paste(runs(), 0, 4, "5\t39\t93.1\r\n7,5\t33\t88.3\r\n")
    assert cells(changed.grid) == [
        ["", "", "", "", "5", "39", "93.1", "", "", "", "", ""],
        ["", "", "", "", "7.5", "33", "88.3", "", "", "", "", ""],
    ]
    assert changed.said.startswith("2 rows pasted.")


def test_one_column_of_decimal_commas_is_one_column():
    """A spreadsheet copies one column without a tab: the commas are those of its numbers."""
    changed = paste(runs(), 0, 4, "12,5\n13,1\n")
    assert [row[4:6] for row in cells(changed.grid)] == [["12.5", ""], ["13.1", ""]]


@pytest.mark.parametrize(
    "text", ["calm; smooth\nrough; gusts", "calm, smooth\nrough, gusts", 'rain 5" deep\nnone', '"calm\nrough']
)
def test_words_with_commas_are_one_note(text):
    changed = paste(runs(), 0, 11, text)
    assert [row[11] for row in cells(changed.grid)] == text.split("\n")


@pytest.mark.parametrize(
    "text", ["1;2026-05-09;06:32;A\n2;2026-05-09;06:52;B", "1,2026-05-09,06:32,A\n2,2026-05-09,06:52,B"]
)
def test_rows_of_a_text_file_fall_into_their_cells(text):
    assert [row[:4] for row in cells(paste(runs(), 0, 0, text).grid)] == [
        ["1", "2026-05-09", "06:32", "A"],
        ["2", "2026-05-09", "06:52", "B"],
    ]


@pytest.mark.parametrize("separator", ["\t", ";", ","])
def test_a_first_row_of_names_puts_each_column_where_it_belongs(separator):
    table = runs("1,2026-05-09,06:32,A,5.0,39,93.1,1000,2500,61,,\n")
    text = "\n".join(separator.join(row) for row in (["elapsed [min]", "run", "oat [degF]"], ["1.5", "2", "59"]))
    row = dict(zip(HEADER.split(","), cells(paste(table, 5, 5, text).grid)[1], strict=True))
    assert float(row["elapsed [s]"]) == pytest.approx(UREG.Quantity(1.5, "min").to("s").magnitude)
    assert float(row["oat [degC]"]) == pytest.approx(UREG.Quantity(59, "degF").to("degC").magnitude)
    assert row["run"] == "2"


def test_an_empty_table_takes_the_pasted_one_as_it_is_but_for_the_tabs():
    text = "run\tdate\toat [degF]\telapsed [s]\n1\t2026-05-09\t59\t93,1\n"
    changed = paste(runs(), 0, 0, text)
    assert changed.grid.separator == ";"
    assert csv_of(changed.grid, ";") == [
        ["run", "date", "oat [degF]", "elapsed [s]"],
        ["1", "2026-05-09", "59", "93,1"],
    ]
    assert paste(runs(), 0, 0, text.replace(",", ".")).grid.separator == ","


def csv_of(grid, separator=","):
    return list(csv.reader(io.StringIO(grid.to_text()), delimiter=separator))


def test_only_blank_cells_are_written_to():
    table = runs("1,2026-05-09,06:32,A,5.0,39,93.1,1000,2500,61,,\n")
    with pytest.raises(CampaignError, match=r"row 2, column 'oat .degC.': the cell holds '5.0' already"):
        paste(table, 0, 4, "6.0\n7.0")
    assert cells(paste(table, 0, 4, "5.0\n7.0").grid)[1][4] == "7.0"


def test_a_block_that_does_not_fit():
    with pytest.raises(CampaignError, match="3 columns wide; 2 are left"):
        paste(runs(), 0, 10, "a\tb\tc")
    with pytest.raises(CampaignError, match="nothing in what was pasted"):
        paste(runs(), 0, 0, "\n \n\t\n")


@pytest.mark.parametrize("count", [MOST_RUNS, MOST_RUNS + 1, MOST_RUNS + 2])
def test_as_many_rows_as_a_file_may_have(visitor, count):
    visitor.form(do="keep")
    start = len([row for row in visitor.state()["rows"] if row[0]])
    answer = visitor.paste(start, 0, "\n".join(str(k) for k in range(count - start)))
    if count <= MOST_RUNS:
        assert answer.status_code == 200
        assert visitor.cell(MOST_RUNS, 0, "x", [""] * 16).status_code == 422
    else:
        assert answer.status_code == 422
        assert f"{MOST_RUNS} runs at most" in answer.json()["problem"]
        assert len([row for row in visitor.state()["rows"] if row[0]]) == start
    assert visitor.get(f"/c/climbs/runs/{STEM}").status_code == 200


def test_ragged_rows_keep_every_cell():
    assert [row[:3] for row in cells(paste(runs(), 0, 0, "1\t2\t3\n4\n5\t6").grid)] == [
        ["1", "2", "3"],
        ["4", "", ""],
        ["5", "6", ""],
    ]


def test_a_cell_that_is_too_long(visitor):
    for answer in (visitor.cell(0, 15, "x" * 1001), visitor.paste(20, 0, "x" * 1001), visitor.form(
        **{"c-0-15": "x" * 1001, "version": visitor.state()["version"]}
    )):  # fmt: skip
        assert answer.status_code == 422
        assert "1000 at most" in answer.text
    assert visitor.cell(0, 15, "x" * 1000).status_code == 200


@pytest.mark.parametrize("text", ["x" * 200_000, '"' * 999, "a\tb\n" * 100_000])
def test_pasted_in_heaps_is_refused_in_time(visitor, text):
    begun = time.monotonic()
    assert visitor.paste(0, 0, text).status_code == 422
    assert time.monotonic() - begun < 20


def test_units_that_are_none_are_looked_up_once(monkeypatch):
    """Each look-up in vain takes some milliseconds: a block of 2,000 such cells would hold the pages for minutes."""
    asked = []
    to_si = cell_entry.units.to_si
    monkeypatch.setattr(cell_entry.units, "to_si", lambda *given: (asked.append(given), to_si(*given))[1])
    changed = paste(runs(), 0, 4, "\n".join(f"{k} fathomless" for k in range(1500)))
    assert cells(changed.grid)[-1][4] == "1499 fathomless"
    assert len(asked) <= 3


# ---- from another file ---------------------------------------------------------------------------------------------


def test_rows_of_another_file_are_added_below_in_the_units_here():
    table = runs("1,2026-05-09,06:32,A,5.0,39,93.1,1000,2500,61,,\n")
    other = (
        "# from the other notebook\n"
        "airspeed [km/h];date;oat [degF];configuration;clock;from [m];to [m];elapsed [s];gust\n"
        "113,5;2026-05-10;41,9;B;07:00;305;762;90,25;3\n"
    )
    changed = take(table, other)
    row = dict(zip(changed.grid.header, cells(changed.grid)[1], strict=True))
    for name, number, there, here in (
        ("airspeed [kt]", 113.5, "km/h", "knot"),
        ("oat [degC]", 41.9, "degF", "degC"),
        ("from [ft]", 305, "m", "ft"),
        ("to [ft]", 762, "m", "ft"),
    ):
        assert float(row[name]) == pytest.approx(UREG.Quantity(number, there).to(here).magnitude, rel=1e-5)
    assert row["elapsed [s]"] == "90.25"
    assert row["configuration"] == "B"
    assert "gust" not in row
    assert changed.said == "1 run taken. Not taken, for no column is called so: gust."


def test_an_implied_unit_is_one_as_well():
    """A column that is called rpm needs no unit behind it."""
    header = HEADER.replace("fuel [L]", "rpm")
    table = runs("1,2026-05-09,06:32,A,5.0,5200,93.1,1000,2500,61,,\n", header)
    changed = take(table, "rpm [Hz],date,clock,configuration,elapsed [s],from [ft],to [ft],airspeed [kt]\n"
                   "86.6667,2026-05-10,07:00,B,90,1000,2500,61\n")  # fmt: skip
    row = dict(zip(changed.grid.header, cells(changed.grid)[1], strict=True))
    assert float(row["rpm"]) == pytest.approx(86.6667 * 60, abs=0.01)


def test_a_header_here_that_cannot_be_read_stops_the_numbers_only_in_words():
    table = runs("1,2026-05-09,06:32,A,5.0,39,93.1,1000,2500,61,,\n", HEADER.replace("oat [degC]", "oat [degC"))
    other = HEADER + "\n2,2026-05-10,07:00,B,41.9,39,90,1000,2500,61,,\n"
    with pytest.raises(CampaignError, match="oat"):
        take(table, other)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        (HEADER, "a header and no runs"),
        ("a,b\n1,2\n", "none of the columns is known"),
        (HEADER + '\n1,"2026\n', "quotation mark"),
        (HEADER + "\n" + "1\n" * 2000, "more than 2000 rows"),
        (HEADER.replace("oat [degC]", "oat [ft]") + "\n1,2026-05-10,07:00,B,41.9,39,90,1000,2500,61,,\n", "oat"),
        ("run,run\n1,2\n", "twice"),
    ],
)
def test_another_file_that_says_nothing_changes_nothing(text, says):
    with pytest.raises(CampaignError, match=says):
        take(runs("1,2026-05-09,06:32,A,5.0,39,93.1,1000,2500,61,,\n"), text)


def test_mass_and_volume_meet_only_over_a_density():
    table = runs("1,2026-05-09,06:32,A,5.0,39,93.1,1000,2500,61,,\n")
    other = HEADER.replace("fuel [L]", "fuel [kg]") + "\n2,2026-05-10,07:00,B,5,28,90,1000,2500,61,,\n"
    with pytest.raises(CampaignError, match="density"):
        take(table, other)
    with pytest.raises(CampaignError, match="density"):
        change_unit(table, 5, "kg", convert=True)


# ---- where rows were planned ---------------------------------------------------------------------------------------

PLANNED = "1,2026-05-09,,A,,,,,,,,block 1\n2,2026-05-09,,A,,,,,,,,block 1\n3,2026-05-09,,B,,,,,,,,block 2\n"
FLOWN = "date,clock,configuration,elapsed [min],notes\n2026-05-09,07:00,A,1.5,bumpy\n2026-05-09,07:10,A,1.6,\n"


@pytest.mark.parametrize("way", [take, lambda table, text: paste(table, 0, 0, text.replace(",", "\t"))])
def test_runs_of_another_file_fill_the_planned_rows(way):
    changed = way(runs(PLANNED), FLOWN)
    assert [(row[0], row[2], row[3], row[6], row[11]) for row in cells(changed.grid)] == [
        ("1", "07:00", "A", "90", "block 1; bumpy"),
        ("2", "07:10", "A", "96", "block 1"),
        ("3", "", "B", "", "block 2"),
    ]
    assert "they fill the planned runs 1 and 2 (block 1), in order." in changed.said


def test_runs_that_are_not_what_is_planned_go_below_and_it_is_said():
    changed = take(runs(PLANNED), FLOWN.replace(",A,", ",B,"))
    assert cells(changed.grid)[:3] == cells(runs(PLANNED).grid)
    assert [row[2] for row in cells(changed.grid)[3:]] == ["07:00", "07:10"]
    assert "next in the plan is run 1, configuration A, and the run of 07:00 has configuration B" in changed.said
