"""Files of runs as text: what is put in comes out, and nothing beside it moves."""

from __future__ import annotations

import csv
import io

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.template import template_files
from samesky.campaign.tables.grid import Grid

KNOWN = ("run", "clock", "oat", "notes")
TEXT = """# Flown in May
# by two
run,clock,oat [degC],notes
1,06:30,8.5,"calm, dew"
# wind came up
2,06:40,9.0,

4,06:55,9.5,last
# end
"""


def test_text_becomes_cells_and_comes_back():
    grid = Grid.from_text(TEXT, "x.csv", KNOWN)
    assert grid.header == ("run", "clock", "oat [degC]", "notes")
    assert grid.rows[0] == ("1", "06:30", "8.5", "calm, dew")
    assert grid.rows[2] == ("", "", "", "")
    assert grid.to_text() == TEXT.replace("\n\n", "\n,,,\n")
    assert Grid.from_text(grid.to_text(), "x.csv", KNOWN) == grid


def test_numbers_are_those_of_a_spreadsheet():
    """Python's csv module counts the rows of the written text."""
    grid = Grid.from_text(TEXT, "x.csv", KNOWN)
    header, numbers = grid.numbers()
    rows = list(csv.reader(io.StringIO(grid.to_text())))
    assert tuple(rows[header - 1]) == grid.header
    assert [tuple(rows[number - 1]) for number in numbers] == list(grid.rows)


@pytest.mark.parametrize("name", [name for name in template_files() if name.endswith(".csv")])
def test_a_template_keeps_its_remarks(name):
    text = template_files()[name]
    assert Grid.from_text(text, name, KNOWN).to_text() == text


printable = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), max_size=8)


@given(st.lists(st.tuples(printable, printable, printable), max_size=5), st.sampled_from(",;\t"))
def test_any_words_survive(rows, separator):
    grid = Grid(("run", "oat [degC]", "notes"), tuple(rows), separator=separator).trimmed()
    again = Grid.from_text(grid.to_text(), "x.csv", KNOWN)
    assert again.rows == tuple(tuple(_without_guard(cell) for cell in row) for row in grid.rows)


def _without_guard(cell: str) -> str:
    # A guard that somebody typed himself reads as one.
    from samesky.campaign.tables.cells import words

    return words(cell)


def test_a_spreadsheet_shows_and_runs_nothing():
    grid = Grid(("run", "notes")).with_rows([{"run": "#1", "notes": "=1+1"}, {"run": "-5", "notes": "@SUM(A1)"}])
    cells = [cell for row in csv.reader(io.StringIO(grid.to_text())) for cell in row]
    assert not any(cell.startswith(("=", "@", "#")) for cell in cells)
    assert Grid.from_text(grid.to_text(), "x.csv", KNOWN).rows == (("#1", "=1+1"), ("-5", "@SUM(A1)"))


def test_pandas_reads_what_is_written():
    grid = Grid(("run", "oat [degC]", "notes")).with_rows([{"run": "1", "oat": "8.5", "notes": 'said "calm"'}])
    frame = pd.read_csv(io.StringIO(grid.to_text()), dtype=str)
    assert frame.iloc[0].tolist() == ["1", "8.5", 'said "calm"']


def test_cells_columns_and_rows_change_alone():
    grid = Grid.from_text(TEXT, "x.csv", KNOWN)
    grid = grid.with_cell(4, 2, " 10.0\n").with_column("qnh [hPa]").with_cell(0, 3, "1020")
    assert grid.header == ("run", "clock", "oat [degC]", "qnh [hPa]", "notes")
    assert grid.rows[4] == ("", "", "10.0", "", "")
    assert grid.rows[0] == ("1", "06:30", "8.5", "1020", "calm, dew")
    assert grid.remarks == Grid.from_text(TEXT, "x.csv", KNOWN).remarks
    assert grid.with_header(2, "oat [degF]").header[2] == "oat [degF]"
    fewer = grid.without_row(2)
    assert fewer.rows[2][0] == "4"
    assert fewer.to_text().index("# wind came up") < fewer.to_text().index("2,06:40")


def test_surplus_cells_get_a_column_without_a_name():
    grid = Grid.from_text("run,notes\n1,calm,and more\n", "x.csv", KNOWN)
    assert grid.header == ("run", "notes", "")
    assert grid.rows == (("1", "calm", "and more"),)


def test_refusals():
    with pytest.raises(CampaignError, match="quotation mark"):
        Grid.from_text('run,notes\n1,"open\n', "x.csv", KNOWN)
    with pytest.raises(KeyError):
        Grid(("run",)).with_rows([{"oat": "8"}])


def test_a_row_that_lost_a_cell_is_not_made_whole_in_silence():
    text = "run,clock,oat [degC],notes\n1,06:30,8.5,calm\n2,06:40,\n"
    grid = Grid.from_text(text, "x.csv", KNOWN)
    assert grid.with_cell(0, 2, "9").to_text() == text.replace("8.5", "9")
    assert grid.with_cell(1, 2, "9").rows[1] == ("2", "06:40", "9", "")


def test_a_cell_without_end_is_written_at_once():
    """A hundred thousand digits and a letter kept the expression for a plain number busy for hours."""
    grid = Grid(("run", "notes"), (("1", "1" * 100_000 + "x"),))
    assert grid.to_text() == f"run,notes\n1,{'1' * 100_000}x\n"
