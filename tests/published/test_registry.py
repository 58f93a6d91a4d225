"""The registry of printed values: what a rounding allows, and that the files are clean."""

from __future__ import annotations

import csv
import re
from dataclasses import replace

import numpy as np
import pytest

from samesky.published import registry
from samesky.published.registry import check, dataset, datasets, row, rows, topics

ROUNDINGS = re.compile(r"last printed digit [\d.]+|\d+ dp|\d+ sig|as printed|exact|within [\d.]+( %)?|text")
VERIFIED = {
    "seen in print copy",
    "seen in a library's tests",
    "seen in an open dataset",
    "data seen in an open dataset",
    "result from memory",
    "from memory",
    "recomputed from the definition",
    "recomputed, own prototype",
    "no published value",
}


def test_counts():
    assert len(rows()) == len(rows(table="air")) + len(rows(table="propeller")) + len(rows(table="statistics"))
    assert len({printed.id for printed in rows()}) == len(rows()) == sum(topics().values())
    assert len(rows()) > 1300


@pytest.mark.parametrize("printed", rows(), ids=lambda printed: printed.id)
def test_every_row_is_well_formed(printed):
    assert ROUNDINGS.fullmatch(printed.rounding), printed.rounding
    assert set(printed.verified.split("; ")) <= VERIFIED
    assert printed.source
    assert printed.quantity
    if printed.rounding == "text":
        assert printed.numbers == ()
        assert isinstance(printed.value, str)
        return
    numbers = printed.numbers
    assert numbers
    assert check(printed.id, numbers if len(numbers) > 1 else numbers[0]).agrees
    for place in range(len(numbers)):
        off = list(numbers)
        # a hair beyond what the rounding allows, and beyond the last bits of a double
        off[place] += 1.02 * printed.half_width(place) + 3 * np.spacing(abs(off[place]))
        off[place] += 1e-11 * abs(off[place]) * (printed.rounding == "exact")
        assert not check(printed.id, off if len(off) > 1 else off[0]).agrees, printed.rounding


def test_files_cite_documents_and_no_web_copies():
    """No hosts, no boards, no crawled copies, in any file of the folder."""
    bad = re.compile(
        r"https?:|www\.|\.(com|org|net|gov|edu)\b|scribd|forum|usenet|github|public-code|stored (page|copy|text|repos)"
        r"|wiki|blog|market name|thread ",
        re.IGNORECASE,
    )
    for path in registry.DATA.rglob("*"):
        if path.is_file():
            text = path.read_text(encoding="utf-8")
            assert not bad.search(text), f"{path.name}: {bad.search(text)}"


def test_columns():
    for name in registry.TABLES:
        with open(registry.DATA / f"{name}.csv", newline="", encoding="utf-8") as file:
            columns = next(csv.reader(file))
        assert " ".join(columns) == "id topic quantity inputs value unit rounding source verified notes"


def test_no_name_carries_the_tail_of_a_binary_fraction():
    """A coefficient of variation of 15 % is printed as 0.15."""
    tail = re.compile(r"\d\.\d{6,}")
    assert [one.id for one in rows() if tail.search(one.id)] == []
    assert [one.inputs for one in rows() if "CV " in one.inputs and tail.search(one.inputs)] == []


@pytest.mark.parametrize(
    ("id", "fits", "misses"),
    [
        ("T1-008", 288.1504, 288.1506),  # last printed digit 0.001
        ("T1-043", 127784.9, 127785.2),  # last printed digit 10
        ("SLP-1", 1.5849, 1.5852),  # 2 dp
        ("CT5_2-p0.9-CV0.15-R1.0", None, None),  # 0 dp
        ("REG-Pontius-B2", -0.316081871345029e-14, -0.316081871345031e-14),  # 15 sig
        ("T2-004", -6343.16454, -6343.16456),  # as printed: -6343.1645
        ("T1-205", 287.05287, 287.052871),  # exact
        ("D14", 0.8949, 0.8951),  # within 0.003
        ("K01", 0.7657, 0.7658),  # within 0.1 %
    ],
)
def test_a_rounding_is_kept_to_no_looser_and_no_tighter(id, fits, misses):
    value = row(id).value
    fits = value + 0.49 if fits is None else fits
    misses = value + 0.51 if misses is None else misses
    assert check(id, fits).agrees
    assert not check(id, misses).agrees


def test_one_line_says_both():
    text = str(check("T1-015", 89876.277))
    assert text.startswith("T1-015: computed 89876.3 Pa, printed 89876.3 Pa (last printed digit 0.1): agrees [ICAO Doc")
    assert "\n" not in text
    assert repr(check("T1-015", 89876.277)) == text
    assert "computed 89877.000 Pa, printed 89876.3 Pa" in str(check("T1-015", 89877.0))
    assert "DISAGREES" in str(check("T1-015", 89877.0))
    assert "quoted from memory" in str(check("T3-041", 237.2))


def test_rows_of_several_numbers():
    good = check("T2-062", (6.11, 7.5, 237.7))
    assert good.agrees
    bad = check("T2-062", np.array([6.11, 7.56, 237.7]))
    assert not bad.agrees
    assert bad.difference == pytest.approx(0.06)
    with pytest.raises(ValueError, match="prints 3 numbers, 1 computed"):
        check("T2-062", 6.11)


def test_nan_never_agrees():
    assert not check("T1-008", float("nan")).agrees
    assert check("T1-008", float("nan")).digits == 0


def test_agreeing_digits():
    """Log relative error: 1.23 against 1.2 has 1.6 digits (definition)."""
    assert check("UNI-NumAcc2-mean", 1.23).digits == pytest.approx(-np.log10(0.03 / 1.2))
    assert check("UNI-NumAcc2-mean", 1.2).digits == 15


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: row("T1-800"), KeyError, "no printed row 'T1-800'; near it: T1-"),
        (lambda: rows("weather"), KeyError, "no topic 'weather'; there are: standard atmosphere"),
        (lambda: rows(table="fuel"), KeyError, "no table 'fuel'; there are: air, propeller, statistics"),
        (lambda: dataset("nothing"), KeyError, "no data set 'nothing'; there are: arsenate"),
        (lambda: check("T6-001", 1.0), ValueError, "row T6-001 prints .* no number to compare"),
    ],
)
def test_refusals(call, error, words):
    with pytest.raises(error, match=words):
        call()


@pytest.mark.parametrize("name", datasets())
def test_every_data_set_loads(name):
    frame = dataset(name)
    assert len(frame) >= 2
    assert not any(str(column).startswith("Unnamed") for column in frame.columns)


def test_data_sets_that_rows_name_exist():
    named = {found for printed in rows() for found in re.findall(r"datasets/(\w[\w.]*?)\.csv", printed.inputs)}
    assert named
    assert named <= set(datasets())


def test_darwins_maize():
    """Fisher 1935: the differences sum to 314 eighths of an inch (row ZEA-1)."""
    assert check("ZEA-1", dataset("darwin_zea_mays")["diff"].sum() * 8).agrees


@pytest.mark.parametrize(("id", "tie", "written"), [("CL-3", -2.2875, "-2.288"), ("T5-041", 1562.5, "1562 ft")])
def test_a_tie_is_written_as_it_is_printed_whatever_its_last_bits(id, tie, written):
    for value in (tie, np.nextafter(tie, 0.0), np.nextafter(tie, 2.0 * tie)):
        assert f"computed {written}, printed {written} " in str(check(id, value))


def printed_as(text: str, rounding: str):
    """A row that prints this, for the arithmetic of roundings."""
    return replace(
        row("CL-3"), printed=text, value=float(text.split(";")[0]) if text[-1].isdigit() else text, rounding=rounding
    )


@pytest.mark.parametrize(
    ("text", "rounding", "position", "half"),
    [
        ("12.3; 4.56", "as printed", 1, 0.005),
        ("12.3; 4.56", "as printed", 0, 0.05),
        ("0.00", "3 sig", 0, 0.005),
        ("-250", "2 sig", 0, 5.0),
        ("-250", "within 2 %", 0, 5.0),
        ("-250", "within 2", 0, 2.0),
        ("250", "exact", 0, 0.0),
        ("1.2e-05", "as printed", 0, 0.5e-6),
    ],
)
def test_half_of_the_last_printed_place(text, rounding, position, half):
    assert printed_as(text, rounding).half_width(position) == pytest.approx(half)


def test_the_first_number_is_meant_where_none_is_named():
    one = printed_as("12.3; 4.567", "as printed")
    assert (one.half_width(), one.places(), one.write(4.0)) == (0.05, 1, "4.0")
    assert (one.places(1), one.write(4.0, 1)) == (3, "4.000")


def test_a_row_with_a_word_among_its_numbers_prints_none():
    assert printed_as("12.3; about 4", "as printed").numbers == ()
    assert printed_as("12.3; 4", "text").numbers == ()


def test_a_rounding_that_nobody_defined_is_refused():
    with pytest.raises(ValueError, match="rounding 'roughly' is not one of"):
        printed_as("12.3", "roughly").half_width()


@pytest.mark.parametrize(
    ("text", "rounding", "value", "written"),
    [
        ("1200", "last printed digit 100", 1234.0, "1200"),
        ("1.2", "1 dp", -0.04, "0.0"),
        ("1.2", "1 dp", 0.0, "0.0"),
        ("101325", "exact", 101325.0, "101325"),
        ("2.5", "exact", 2.4, "2.4"),
        ("0.0000012", "7 dp", 1.24e-6, "1.2e-06"),
        ("0.000012", "6 dp", 1.24e-5, "0.000012"),
        ("0.0012", "within 0", 0.0012, "0"),
        ("1.5", "1 dp", float("nan"), "nan"),
    ],
)
def test_as_many_places_are_written_as_print_keeps(text, rounding, value, written):
    assert printed_as(text, rounding).write(value) == written


def test_three_near_names_are_offered():
    with pytest.raises(KeyError) as refused:
        row("T1-00")
    assert refused.value.args[0].count(",") == 2
