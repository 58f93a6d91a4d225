"""A cell that was typed with another unit, or with a decimal comma, holds the number that was meant.

The independent reference is pint, asked directly.
"""

from __future__ import annotations

import pint
import pytest

from samesky.measures.shape import Column
from samesky.worksheets.runs.cell_entry import entered, in_unit, plain, shortly
from samesky.worksheets.runs.columns import ShownColumn

UREG = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def column(unit, dimension, also=()):
    return ShownColumn(f"x [{unit}]", Column("x", dimension, "a reading", also=tuple(also)), unit)


FEET, CELSIUS, KNOTS = column("ft", "length"), column("degC", "temperature"), column("kt", "speed")
CONVERTED = [
    ("412 m", FEET, 412, "m", "ft"), ("412m", FEET, 412, "m", "ft"), ("-3 m", FEET, -3, "m", "ft"),
    ("1 NM", FEET, 1, "nautical_mile", "ft"), ("1,5 km", FEET, 1.5, "km", "ft"), ("0.4 in", FEET, 0.4, "inch", "ft"),
    ("59 degF", CELSIUS, 59, "degF", "degC"), ("-40 °F", CELSIUS, -40, "degF", "degC"),
    ("300 K", CELSIUS, 300, "K", "degC"),
    ("100 km/h", KNOTS, 100, "km/h", "knot"), ("70 mph", KNOTS, 70, "mph", "knot"),
    ("30 m/s", KNOTS, 30, "m/s", "knot"),
    ("29.92 inHg", column("hPa", "pressure"), 29.92, "inch_Hg", "hPa"),
    ("1.5 min", column("s", "time"), 1.5, "min", "s"), ("12 US gal", column("L", "volume"), 12, "gallon", "L"),
    ("180 lb", column("kg", "mass"), 180, "pound", "kg"), ("90 Hz", column("rpm", "rotational speed"), 5400, "", ""),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "shown", "number", "there", "here"), CONVERTED)
@pytest.mark.parametrize("separator", [",", ";"])
def test_a_number_with_another_unit_is_brought_to_the_column(typed, shown, number, there, here, separator):
    kept, said = entered(typed, shown, separator)
    expected = UREG.Quantity(number, there).to(here).magnitude if there else number
    assert float(kept) == pytest.approx(expected, rel=1e-5)
    assert "e" not in kept
    assert said == f"{typed} is {kept} {shown.unit}."


@pytest.mark.parametrize("typed", ["412", "-3", "+3", ".5", "1e3", "1 234", "0"])
def test_a_plain_number_stays_as_it_was_typed(typed):
    assert entered(f"  {typed} ", FEET, ",") == (typed, "")


@pytest.mark.parametrize(
    ("typed", "kept"), [("12,5", "12.5"), ("0,125", "0.125"), ("-1,25", "-1.25"), ("1,2345", "1.2345")]
)
def test_a_decimal_comma_where_commas_stand_between_the_cells(typed, kept):
    assert entered(typed, FEET, ",") == (kept, f"{typed} was taken as {kept}.")
    assert entered(typed, FEET, ";") == (typed, "")


@pytest.mark.parametrize(
    "typed",
    ["1,250", "12,5,1", "1.234,5", "fast", "412 kg", "12 °C", "412 foo", "5 m 3", "n/a", "?", "1:30", "0x10 m", "m",
     "412 m**9**9**9", "9" * 400 + " m", "nan m", "inf m", "= 412 m", "412 'm'"],
)  # fmt: skip
def test_what_is_not_understood_stays_for_the_reader_to_say(typed):
    assert entered(typed, FEET, ",") == (typed, "")


def test_words_stay_words():
    notes = ShownColumn("notes", Column("notes", "text", "words"), "")
    stranger = ShownColumn("who knows [m]", None, "m")
    for shown in (notes, stranger):
        assert entered(" 412  m,\n 12,5 ", shown, ",") == ("412 m, 12,5", "")


def test_a_mass_in_a_column_of_volumes_stays_for_it_takes_a_density():
    fuel = column("L", "volume", ["mass"])
    assert entered("10 US gal", fuel, ",")[0] == shortly(UREG.Quantity(10, "gallon").to("L").magnitude)
    assert entered("20 kg", fuel, ",") == ("20 kg", "")


def test_a_column_without_a_unit_takes_numbers_only():
    assert entered("412 m", column("", "length"), ",") == ("412 m", "")


SHORT = [(1351.7060367, "1351.71"), (59.0, "59"), (1e7 / 3, "3333330"), (1e-5, "0.00001"), (100_000, "100000")]


@pytest.mark.parametrize(("value", "text"), SHORT)
def test_numbers_are_written_without_an_exponent(value, text):
    assert shortly(value) == text


@pytest.mark.parametrize(
    ("text", "comma", "degrees"), [("15", False, 59.0), ("15,5", True, 59.9), ("-40", False, -40.0)]
)
def test_a_whole_column_changes_its_unit(text, comma, degrees):
    assert float(in_unit(text, "degC", "degF", "temperature", comma)) == pytest.approx(degrees)
    assert in_unit("n/a", "degC", "degF", "temperature", comma) == "n/a"


def test_plain_leaves_what_is_seen():
    assert plain("\u202ea\u2066\0 b\t\n c\u200d") == "a b c\u200d"
