"""The generated appendices: whole, true to the registry, and true to what chapters print."""

from __future__ import annotations

import re

import appendices
import notebooks
import printed_values
import pytest

from samesky.campaign.reading.unflown import BEFORE, RULE
from samesky.evidence.fill_planned import RULE as FILLED
from samesky.measures import MEASURES
from samesky.measures.columns import COMMON
from samesky.published import registry
from samesky.units import DIMENSIONS

ROWS = printed_values.read()

#: Topics of which no row is held, and why.
NOT_HELD = {
    "GPS": "the spread of a receiver, printed in words",
    "errors-in-variables": "errors in both axes are left to a library",
    "baro": "the noise of a sensor, printed in words",
    "scatter": "what others' tests scattered by: a comparison in prose",
    "tolerances": "what others may deviate by: a rule",
    "video": "frame rates and times: inputs",
}


def test_at_least_four_hundred_values_agree():
    agreeing = [row["id"] for row in ROWS if row["held"] == "agrees"]
    assert len(set(agreeing)) == len(agreeing)
    assert len(agreeing) >= 400


def test_every_topic_is_held_or_has_a_reason():
    held = {row["topic"] for row in ROWS if row["held"] == "agrees"}
    silent = set(registry.topics()) - held
    assert silent <= set(NOT_HELD), silent - set(NOT_HELD)


def test_the_table_says_what_the_registry_says():
    assert len({row["id"] for row in ROWS}) == len(ROWS)
    for row in ROWS:
        printed = registry.row(row["id"])
        for name in ("topic", "quantity", "inputs", "printed", "unit", "rounding", "source", "verified", "notes"):
            assert row[name] == getattr(printed, name), f"{row['id']}: make printed-values"


def test_what_is_said_to_agree_agrees():
    """What was computed is kept at the printed rounding, so that one more half of it may lie between."""
    for row in ROWS:
        printed = registry.row(row["id"])
        computed = [float(value) for value in row["computed"].split(";")]
        assert len(computed) == len(printed.numbers)
        if row["held"] == "agrees":
            for place, (value, number) in enumerate(zip(computed, printed.numbers, strict=True)):
                room = printed.half_width(place) + 0.5 * 10.0 ** -printed.places(place) + 1e-12 * abs(number)
                assert abs(value - number) <= room * (1 + 1e-9), row["id"]


def test_what_differs_is_explained():
    for row in ROWS:
        if row["held"] == "differs":
            assert row["tests"], row["id"]
            assert row["notes"] or row["source"], row["id"]


@pytest.mark.parametrize("path", notebooks.chapters(), ids=lambda path: path.stem)
def test_every_check_of_a_chapter_is_in_the_table(path):
    cells = [cell for cell in notebooks.load(path).cells if cell.cell_type == "code"]
    ids = set(re.findall(r"^(\S+): computed .* agrees", "\n".join(map(notebooks.text_of, cells)), re.MULTILINE))
    known = {row["id"] for row in ROWS if path.stem in row["chapters"].split()}
    assert ids <= known, f"{sorted(ids - known)}: python book/tools/printed_values.py --book"


def test_the_page_shows_every_row():
    page = appendices.printed_values()
    for row in ROWS:
        assert appendices.plain(f"{row['id']}: {row['quantity']}") in page


def test_the_file_reference_names_everything_that_is_read():
    page = appendices.file_reference()
    for column in [*COMMON, *(column for measure in MEASURES.values() for column in measure.columns)]:
        assert appendices.plain(column.name) in page, column.name
    for measure in MEASURES.values():
        assert f"## {measure.name}.csv" in page
        assert all(appendices.plain(each.name) in page for each in measure.coefficients)
    for name, dimension in DIMENSIONS.items():
        assert f"| {name} | {appendices.plain(', '.join(dimension.examples))} |" in page


def test_the_file_reference_has_the_rule_of_planned_rows():
    """The rule as the reader of the files has it, and every column that may be filled in beforehand."""
    _, _, after = appendices.file_reference().partition("## Rows that are planned and not flown yet\n\n")
    said = after.partition("\n## ")[0]
    assert appendices.plain(RULE) in said
    assert appendices.plain(FILLED) in said
    assert all(name in said for name in BEFORE)


def test_no_cell_breaks_its_table():
    for page in (appendices.printed_values(), appendices.file_reference()):
        for block in re.findall(r":::\{container\}[^\n]*\n(.*?)\n:::", page, re.DOTALL):
            widths = {len(re.findall(r"(?<!\\)\|", line)) for line in block.splitlines()}
            assert len(widths) == 1, block[:200]


def test_the_recorder_leaves_out_what_is_not_held(monkeypatch):
    import record_checks

    held: list = []
    monkeypatch.setattr(record_checks, "_held", held)
    monkeypatch.setenv("PYTEST_CURRENT_TEST", "tests/published/test_registry.py::test_x (call)")
    record_checks._recording("T1-203", 101325.0)
    assert held == []
    monkeypatch.setenv("PYTEST_CURRENT_TEST", "tests/air/test_atmosphere.py::test_x (call)")
    assert record_checks._recording("T1-203", 101325.0).agrees
    assert [one["id"] for one in held] == ["T1-203"]
