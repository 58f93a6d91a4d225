"""What a pilot sees of a workbook before anything is typed: widths, printed pages, fields, lists to choose from."""

from __future__ import annotations

import io

import openpyxl
import pytest

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.template import template_files
from samesky.exchange.workbook import files as read_files
from samesky.exchange.workbook.sheets import LONGEST_NAME, LONGEST_TEXT
from samesky.exchange.workbook.workbook import read_workbook, workbook_bytes

TEMPLATE = template_files()
TOML = '[configuration.A]\nlabel = "as it was"\n[configuration.B]\n[measure.takeoff_roll]\n'
RUNS = (
    "# above\nrun,date,clock,configuration,oat [degC],%s [kt],notes\n# before the first\n1,,,A,9,1,short\n2,,,B,,2,%s\n"
)


def opened(files: dict[str, str]) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(files, "x.xlsx")))


def choices(book, sheet: str) -> dict[str, str]:
    return {str(rule.sqref): rule.formula1 for rule in book[sheet].data_validations.dataValidation}


def test_every_sheet_prints_across_one_page_with_its_header_on_each():
    book = opened(TEMPLATE)
    for sheet in book:
        assert (sheet.page_setup.orientation, sheet.page_setup.fitToHeight) == ("landscape", 0)
        assert sheet.sheet_properties.pageSetUpPr.fitToPage is True
        assert sheet.print_title_rows == "$1:$1"
        assert sheet.freeze_panes == "A2"


def test_a_column_of_runs_is_as_wide_as_its_longest_cell_within_reason():
    wide, endless = "gust across the strip", "x" * 100
    sheet = opened({"campaign.toml": TOML, "takeoff_roll.csv": RUNS % (wide, endless)})["takeoff_roll"]
    width = {cell.value: sheet.column_dimensions[cell.column_letter].width for cell in sheet[1]}
    assert width == {
        "run": 9,
        "date": 9,
        "clock": 9,
        "configuration": len("configuration") + 2,
        "oat [degC]": len("oat [degC]") + 2,
        f"{wide} [kt]": len(f"{wide} [kt]") + 2,
        "notes": 40,
    }
    # Columns of words keep what is typed into them: 1/2 is not a day in January.
    form = {cell.value: sheet.column_dimensions[cell.column_letter].number_format for cell in sheet[1]}
    assert {name for name, shown in form.items() if shown == "@"} == {"run", "date", "clock", "configuration", "notes"}


def test_a_field_for_words_keeps_words_and_a_field_for_numbers_takes_numbers():
    sheet = opened(TEMPLATE)["campaign"]
    blank = {
        (row[0].value, row[1].value): row[2].number_format
        for row in sheet.iter_rows(min_row=2)
        if row[1].value and row[2].value is None
    }
    assert blank["configuration.A", "weight"] == "@"
    assert blank["configuration.A", "lift-off_airspeed"] == "@"
    assert blank["engine", "gear_ratio"] == "General"
    assert {shown for (part, _), shown in blank.items() if part.startswith("limits")} == {"@"}


def test_a_configuration_is_chosen_from_those_of_the_campaign_and_another_is_warned_of():
    book = opened({"campaign.toml": TOML, "takeoff_roll.csv": RUNS % ("wind", "")})
    assert list(choices(book, "takeoff_roll").values()) == ['"A,B"']
    (where,) = choices(book, "takeoff_roll")
    assert where.startswith("D2:D")
    for sheet in ("takeoff_roll", "campaign"):
        for rule in book[sheet].data_validations.dataValidation:
            assert (rule.type, rule.errorStyle, rule.showErrorMessage) == ("list", "warning", True)
            assert rule.error == f"Expected one of: {rule.formula1[1:-1]}."
            assert rule.allow_blank


@pytest.mark.parametrize("name", ['"A,1"', "'A\"1'", '"' + "x" * 251 + '"'])
def test_names_that_no_list_can_hold_are_typed(name):
    book = opened(
        {"campaign.toml": f"[configuration.{name}]\n[configuration.B]\n", "takeoff_roll.csv": RUNS % ("w", "")}
    )
    assert choices(book, "takeoff_roll") == {}


def test_a_list_of_250_signs_is_still_one():
    toml = f"[configuration.{'a' * 125}]\n[configuration.{'b' * 124}]\n"
    book = opened({"campaign.toml": toml, "takeoff_roll.csv": RUNS % ("w", "")})
    assert len(choices(book, "takeoff_roll")) == 1


def test_remarks_stand_where_they_stood():
    files = {"campaign.toml": TOML, "takeoff_roll.csv": RUNS % ("wind", "late")}
    book = opened(files)
    assert [str(cell.value) for cell in book["takeoff_roll"]["A"]] == ["run", "# before the first", "1", "2"]
    kept = [row[1].value for row in book["remarks"].iter_rows(min_row=2) if row[0].value == "takeoff_roll.csv"]
    assert kept == ["# above"]
    assert read_workbook(workbook_bytes(files, "x.xlsx"), "x.xlsx") == files


def test_a_table_without_entries_comes_back_from_the_settings_alone():
    book = opened({"campaign.toml": TOML})
    del book["remarks"]
    book["campaign"].append(["measure.level_speed", None, "yes"])
    stream = io.BytesIO()
    book.save(stream)
    toml = read_workbook(stream.getvalue(), "x.xlsx")["campaign.toml"]
    assert "\n[measure.level_speed]" in toml
    assert "\n[measure.takeoff_roll]" in toml
    assert "\n[measure.timed_climb]" not in toml


def test_as_many_remarks_as_runs_may_stand_in_a_sheet(monkeypatch):
    monkeypatch.setattr(read_files, "MOST_ROWS", 3)
    book = openpyxl.Workbook()
    book.active.title = "takeoff_roll"
    for row in (["run"], ["1"], ["# a"], ["# b"], ["# c"], ["2"]):
        book.active.append(row)

    def text() -> str:
        stream = io.BytesIO()
        book.save(stream)
        return read_workbook(stream.getvalue(), "x.xlsx")["takeoff_roll.csv"]

    assert text() == "run\n1\n# a\n# b\n# c\n2\n"
    book.active.append(["# d"])
    with pytest.raises(CampaignError, match="it may have at most 3"):
        text()


def test_the_longest_name_and_the_longest_cell():
    longest = {"campaign.toml": TOML, f"{'n' * LONGEST_NAME}.csv": f"run,notes\n1,{'x' * LONGEST_TEXT}\n"}
    assert read_workbook(workbook_bytes(longest, "x.xlsx"), "x.xlsx") == longest
    for file, text in (
        (f"{'n' * (LONGEST_NAME + 1)}.csv", "run\n1\n"),
        ("a.csv", f"run\n{'x' * (LONGEST_TEXT + 1)}\n"),
    ):
        with pytest.raises(CampaignError):
            workbook_bytes({file: text}, "x.xlsx")
