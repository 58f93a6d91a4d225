"""A line or a cell without end meets a limit of our own: that of the csv module belongs to the whole process."""

from __future__ import annotations

import csv

import pytest

from samesky.campaign.tables.delimited import LONGEST, split


@pytest.fixture(params=[131_072, 10**9])
def limit_of_others(request):
    before = csv.field_size_limit(request.param)
    yield
    csv.field_size_limit(before)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("run," + "x" * LONGEST + "\n1,2\n", "row 1: a line has more than 100000 characters"),
        ('run,notes\n1,"' + "ab\n" * 40_000 + '"\n', "row 2: a cell has more than 100000 characters"),
    ],
)
def test_without_end(limit_of_others, text, says):
    sheet, (finding,) = split(text, "a.csv", ["run"])
    assert sheet is None
    assert says in finding.sentence()


def test_a_long_note_is_read(limit_of_others):
    sheet, findings = split(f"run,notes\n1,{'x' * 90_000}\n", "a.csv", ["run"])
    assert findings == []
    assert len(sheet.rows[0][1][1]) == 90_000
