"""Numbers, dates and clock times as people write them."""

from __future__ import annotations

from datetime import date

import pytest

from samesky.campaign.tables.cells import CellError, clock_hours, day, number


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("412", 412),
        (" 3.50 ", 3.5),
        ("-2", -2),
        ("\u22122", -2),
        ("+.5", 0.5),
        ("1e3", 1000),
        ("12 000", None),
        ("5.", 5),
    ],
)
def test_numbers(cell, value):
    if value is None:
        with pytest.raises(CellError):
            number(cell, False)
    else:
        assert number(cell, False) == value


def test_a_comma_is_a_decimal_sign_only_where_it_separates_nothing():
    assert number("3,5", True) == 3.5
    assert number("1,234", True) == pytest.approx(1.234)
    with pytest.raises(CellError, match="decimal comma in a comma-separated file") as raised:
        number("3,5", False)
    assert "Write 3.5" in raised.value.mend


@pytest.mark.parametrize(("cell", "seconds"), [("1:31", 91), ("0:45", 45), ("12:05", 725)])
def test_a_stopwatch_is_told_in_seconds_and_never_taken(cell, seconds):
    """1:31 is 91 s of a climb (sixty seconds a minute), and an hour and a half of a cruise: not ours to choose."""
    with pytest.raises(CellError, match="as a watch shows it") as raised:
        number(cell, False, "elapsed [s]")
    assert f"{cell} are {seconds} seconds" in raised.value.mend
    assert "'elapsed [s]'" in raised.value.mend


@pytest.mark.parametrize(
    "cell", ["1_000", "0x10", "１２", "1,2,3", "--2", "1.2.3", "nan", "Infinity", "12ft", "ten", "1e", "²"]
)
def test_no_numbers(cell):
    with pytest.raises(CellError):
        number(cell, True)


@pytest.mark.parametrize(
    "cell", ["2025-06-14", "2025-6-14", "2025/06/14", "14.06.2025", "2025-06-14 00:00:00", "2025-06-14T00:00"]
)
def test_dates(cell):
    assert day(cell) == date(2025, 6, 14)


@pytest.mark.parametrize(
    "cell", ["14/06/2025", "06-14-2025", "2025-13-01", "14.6.25", "June 14", "20250614", "2025-06-14 10:00"]
)
def test_no_dates(cell):
    with pytest.raises(CellError):
        day(cell)


@pytest.mark.parametrize(
    ("cell", "hours"),
    [
        ("09:06", 9.1),
        ("9:06", 9.1),
        ("0906", 9.1),
        ("09:06:36", 9.11),
        ("2:30 pm", 14.5),
        ("12:30 AM", 0.5),
        ("12:00 p.m.", 12),
        ("00:00", 0),
    ],
)
def test_clock_times(cell, hours):
    assert clock_hours(cell) == pytest.approx(hours)


@pytest.mark.parametrize("cell", ["24:00", "9:60", "906", "9.06", "13:00 pm", "noon", "", "9", "09:06Z"])
def test_no_clock_times(cell):
    with pytest.raises(CellError):
        clock_hours(cell)


@pytest.mark.parametrize("text", ["4" * 130_000, "1" * 100_000 + "x", "1," * 50_000, "1e250", "-1e308"])
def test_what_no_reading_is_like_is_refused_at_once(text):
    """A cell of a hundred thousand digits kept the expressions that explain slips busy for hours."""
    with pytest.raises(CellError, match=r"more than any reading|beyond all measure"):
        number(text, comma_is_decimal=True)
