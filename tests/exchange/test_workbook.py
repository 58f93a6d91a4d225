"""A campaign as one workbook and back, read by pandas and by the standard library beside our own reader."""

from __future__ import annotations

import dataclasses
import io
import re
import tomllib
import zipfile
from datetime import date, datetime, time, timedelta
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import openpyxl
import pandas as pd
import pytest
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.campaign.reading.template import template_files
from samesky.campaign.tables.grid import Grid
from samesky.campaign.tables.write import write_folder
from samesky.exchange.workbook.sheets import path_of
from samesky.exchange.workbook.workbook import as_workbook, read_workbook, workbook_bytes, write_workbook
from samesky.measures import MEASURES

DATA = Path(__file__).resolve().parents[2] / "data_synthetic"
MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
FOLDERS = {"template": template_files()} | {
    folder.name: {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}
    for folder in sorted(DATA.iterdir())
    if folder.is_dir()
}
every_campaign = pytest.mark.parametrize("files", FOLDERS.values(), ids=FOLDERS.keys())
SMALL = {
    "campaign.toml": '# mine\ntitle = "x" # so\n[swap]\nkind = "free"\n',
    "takeoff_roll.csv": "# head\nrun,date,clock,configuration,oat [degC],ground roll [ft],notes\n"
    '1,2025-05-09,06:30,A,10.0,412,"calm, dew"\n# wind\n2,2025-05-09,06:45:30,B,9.25,-5,=1+1\n\n4,,,,,,late\n',
}


def opened(files) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(files, "x.xlsx")))


def saved(book: openpyxl.Workbook) -> bytes:
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def changed(files, change) -> dict[str, str]:
    """The files as they come back after somebody worked in the workbook."""
    book = opened(files)
    change(book)
    return read_workbook(saved(book), "x.xlsx")


def value_cell(book, part: str, entry: str):
    for row in book["campaign"].iter_rows(min_row=2):
        if (row[0].value, row[1].value) == (part, entry):
            return row[2]
    raise KeyError((part, entry))


def same(one, other) -> bool:
    if dataclasses.is_dataclass(one) and type(one) is type(other):
        names = [field.name for field in dataclasses.fields(one)]
        return all(same(getattr(one, name), getattr(other, name)) for name in names)
    if isinstance(one, np.ndarray):
        return one.shape == other.shape and bool(np.array_equal(one, other, equal_nan=one.dtype.kind == "f"))
    if isinstance(one, dict):
        return list(one) == list(other) and all(same(one[name], other[name]) for name in one)
    if isinstance(one, list | tuple):
        return len(one) == len(other) and all(map(same, one, other))
    return one == other or (one != one and other != other)


# -- there and back ----------------------------------------------------------------------------------------------------


@every_campaign
def test_every_file_comes_back_to_the_letter(files, tmp_path):
    path = write_workbook(files, tmp_path / "campaign.xlsx")
    wanted = {name: text for name, text in files.items() if name.endswith((".csv", ".toml"))}
    assert read_workbook(path.read_bytes(), path.name) == wanted


def ones_alone(value):
    """A list of one is written as its value, and read alike."""
    if isinstance(value, dict):
        return {key: ones_alone(one) for key, one in value.items()}
    return value[0] if isinstance(value, list) and len(value) == 1 else value


@every_campaign
def test_the_sheets_alone_describe_the_same_campaign(files, tmp_path):
    """Without the sheet of remarks, so that every value has to come from its own cell; judged by the reader."""

    def without_remarks(book):
        del book["remarks"]

    back = changed(files, without_remarks)
    told, wanted = (ones_alone(tomllib.loads(texts["campaign.toml"])) for texts in (back, files))
    assert told == wanted
    write_folder(tmp_path / "before", {name: files[name] for name in back})
    write_folder(tmp_path / "after", back)
    before, after = (
        dataclasses.replace(read(tmp_path / name, flown=False), folder=None, findings=(), texts={})
        for name in ("before", "after")
    )
    assert before.tables or len(back) == 1 or files is FOLDERS["template"]
    assert list(before.tables) == list(after.tables)
    for name, table in before.tables.items():
        assert np.array_equal(table.included, after.tables[name].included)
        # The remarks over the header are gone, so that rows have other numbers.
        assert same(
            dataclasses.replace(table, rows=None),
            dataclasses.replace(after.tables[name], rows=None),
        )
    for field in dataclasses.fields(before):
        if field.name not in ("tables", "missions", "asked", "configurations", "runways", "reference", "limits"):
            assert same(getattr(before, field.name), getattr(after, field.name)), field.name
        elif field.name != "tables":
            assert dict(getattr(before, field.name)) == dict(getattr(after, field.name)), field.name


def test_the_same_files_give_the_same_bytes():
    assert workbook_bytes(SMALL, "x.xlsx") == workbook_bytes(dict(reversed(SMALL.items())), "y.xlsx")


ODD = ["=1+1", "+5", "-", "@x", "#REF!", "TRUE", "1e5", "007", "12.50", "-0", "0.1", "_x0041_", "\x0b", "\ufffe", "'=a"]
ODD += ["2025-05-09", "06:30", "5 %", "999999999999999999", " x ", "1,5", "\t"]
words = st.text(st.characters(codec="utf-8"), max_size=12) | st.sampled_from(ODD)


@given(st.lists(st.tuples(words, words, words, words), max_size=6))
@settings(max_examples=100, deadline=None, phases=[Phase.explicit, Phase.generate])
def test_any_words_come_back_and_none_is_a_formula(rows):
    names = ["run", "clock", "oat", "notes"]
    text = Grid(("run", "clock", "oat [degC]", "notes"), tuple(rows)).to_text()
    try:
        again = Grid.from_text(text, "cruise_fuel.csv", names)
    except CampaignError:
        return  # not a file of runs to begin with
    assume(all(len(row) == 4 for row in again.rows))
    data = workbook_bytes({"cruise_fuel.csv": text}, "x.xlsx")
    cells = Grid.from_text(read_workbook(data, "x.xlsx")["cruise_fuel.csv"], "cruise_fuel.csv", names)
    assert [_lines(row) for row in cells.rows] == [_lines(row) for row in again.rows]
    assert not [name for name, content in members(data).items() if re.search(rb"<f[\s>/]", content)]


@given(words)
@settings(max_examples=25, deadline=None, phases=[Phase.explicit, Phase.generate])
def test_any_title_comes_back(title):
    toml = f"title = {_toml_text(title)}\n"
    data = workbook_bytes({"campaign.toml": toml}, "x.xlsx")
    assert read_workbook(data, "x.xlsx") == {"campaign.toml": toml}


def _toml_text(text: str) -> str:
    return '"' + "".join(f"\\U{ord(c):08X}" if c in '"\\' or not c.isprintable() else c for c in text) + '"'


def _lines(row) -> list[str]:
    # What cannot be told apart in XML or in a cell: line ends, and space at the ends of a cell.
    return [" ".join(cell.split()) for cell in row]


def members(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


# -- what it looks like ------------------------------------------------------------------------------------------------


def test_pandas_reads_numbers_as_numbers_and_words_as_words():
    files = FOLDERS["finer_pitch"]
    for name in ("takeoff_roll", "level_speed"):
        frame = pd.read_excel(io.BytesIO(workbook_bytes(files, "x.xlsx")), sheet_name=name)
        plain = pd.read_csv(io.StringIO(files[f"{name}.csv"]))
        assert list(frame.columns) == list(plain.columns)
        assert len(frame) == len(plain) >= 10
        for column in plain.columns:
            if "[" in column:
                assert pd.api.types.is_numeric_dtype(frame[column])
                np.testing.assert_array_equal(frame[column].to_numpy(float), plain[column].to_numpy(float))
            else:
                assert list(frame[column].astype(object).map(str)) == list(plain[column].astype(object).map(str))


def test_the_xml_holds_no_formula_and_no_sheet_that_is_hidden():
    files = SMALL | {"campaign.toml": 'title = "=cmd|\'/c calc\'!A1"\n[swap]\nkind = "-1+1"\ntime = "@SUM(A1)"\n'}
    found = members(workbook_bytes(files, "x.xlsx"))
    texts, formulas = [], 0
    for name, content in found.items():
        if name.startswith("xl/worksheets/sheet"):
            for cell in ElementTree.fromstring(content).iter(f"{MAIN}c"):
                formulas += cell.find(f"{MAIN}f") is not None
                if cell.get("t") == "inlineStr":
                    texts.append("".join(part.text for part in cell.iter(f"{MAIN}t")))
                elif cell.find(f"{MAIN}v") is not None:
                    assert cell.get("t") == "n"
                    float(cell.findtext(f"{MAIN}v"))
    assert formulas == 0
    assert {"=cmd|'/c calc'!A1", "-1+1", "@SUM(A1)", "=1+1"} <= set(texts)
    assert b"idden" not in found["xl/workbook.xml"]


def test_a_pilot_finds_the_header_the_meanings_and_the_choices():
    book = opened(FOLDERS["finer_pitch"])
    campaign, runs = book["campaign"], book["takeoff_roll"]
    assert [cell.value for cell in campaign[1]] == ["part", "entry", "value", "example", "what it means"]
    assert campaign.freeze_panes == runs.freeze_panes == "A2"
    assert all(cell.font.bold for cell in (*campaign[1], *runs[1]))
    cell = value_cell(book, "configuration.A", "weight")
    assert "Weigh the part that is changed" in campaign.cell(cell.row, 5).value
    off = value_cell(book, "configuration.A", "lift-off_airspeed")
    assert (off.value, campaign.cell(off.row, 4).value) == (None, "38 kt")
    column = next(cell for cell in runs[1] if cell.value == "headwind [kt]")
    assert column.comment.text.startswith("mean wind along the run")
    for sheet in (campaign, runs):
        for cell in sheet[1]:
            assert sheet.column_dimensions[cell.column_letter].width >= len(cell.value)
    rules = {rule.formula1 for sheet in (campaign, runs) for rule in sheet.data_validations.dataValidation}
    assert rules == {'"true,false"', '"A,B"'}
    assert [sheet.title for sheet in book][-1] == "remarks"


def test_every_measure_is_offered_to_whoever_fills_in_a_fresh_one():
    sheet = opened(FOLDERS["template"])["campaign"]
    parts = {cell.value for cell in sheet["A"]}
    assert {f"measure.{name}" for name in MEASURES} <= parts
    assert {"campaign", "swap", "runway.09", "plan", "plan.timed_climb", "mission.short_strip"} <= parts


# -- what people and spreadsheets make of it ---------------------------------------------------------------------------


def test_values_typed_into_the_sheet_are_in_the_file_and_remarks_stay():
    def type_in(book):
        value_cell(book, "configuration.A", "weight").value = "11 kg"
        value_cell(book, "swap", "kind").value = "free"
        value_cell(book, "swap", "time").value = None
        value_cell(book, "engine", "gear_ratio").value = 2.5
        value_cell(book, "limits", "fuel").value = "20 L, 45 L"
        value_cell(book, "measure.static_pull", "primary").value = True
        value_cell(book, "plan", "start").value = time(6, 30)
        value_cell(book, "plan", "first_date").value = datetime(2025, 6, 14)
        for entry in ("primary", "smallest_difference_that_matters"):
            value_cell(book, "measure.landing_roll", entry).value = " "
        for row in (
            ["runway.27", "slope", "-1 %"],
            ["configuration.A", "hours", "120"],
            ["mission.tours", "timed climb", 3],
        ):
            book["campaign"].append(row)

    before = FOLDERS["template"]["campaign.toml"]
    after = changed(FOLDERS["template"], type_in)["campaign.toml"]
    expected = tomllib.loads(before)
    expected["configuration"]["A"] |= {"weight": "11 kg", "hours": "120"}
    expected["swap"] = {"kind": "free"}
    expected["measure"]["static_pull"]["primary"] = True
    del expected["measure"]["landing_roll"]
    expected |= {
        "engine": {"gear_ratio": 2.5},
        "limits": {"fuel": ["20 L", "45 L"]},
        "runway": {"27": {"slope": "-1 %"}},
    }
    expected |= {"plan": {"start": "06:30", "first_date": "2025-06-14"}, "mission": {"tours": {"timed_climb": 3}}}
    assert tomllib.loads(after) == expected
    lost = set(before.splitlines()) - set(after.splitlines())
    # What was switched on has lost its sign of a remark; what was taken out went with its own remark.
    lost = [line for line in lost if line.startswith("# ") and " = " not in line and not line.startswith("# [")]
    assert lost == ["# landing ground roll: ground roll from touch-down to standstill. Better is smaller."]


@pytest.mark.parametrize(
    ("column", "value", "shown", "text"),
    [
        ("date", datetime(2025, 5, 9), "yyyy-mm-dd", "2025-05-09"),
        ("date", date(2025, 5, 9), "d/m/yy", "2025-05-09"),
        ("date", 45786, "General", "2025-05-09"),
        ("date", "9.5.2025", "@", "9.5.2025"),
        ("clock", time(6, 30), "h:mm", "06:30"),
        ("clock", time(6, 30, 15), "h:mm:ss", "06:30:15"),
        ("clock", timedelta(hours=6, minutes=30), "[h]:mm", "06:30"),
        ("clock", datetime(2025, 5, 9, 14, 5), "yyyy-mm-dd hh:mm", "14:05"),
        ("clock", 0.2708333333333333, "General", "06:30"),
        ("clock", 45786.604861111, "General", "14:31"),
        ("clock", 0, "General", "00:00"),
        ("clock", 630, "General", "0630"),
        ("oat [degC]", 10.0, "0.0", "10.0"),
        ("oat [degC]", 10.25, "0.0", "10.25"),
        ("oat [degC]", 1 / 3, "General", "0.3333333333333333"),
        ("oat [degC]", 1e-7, "0.00E+00", "1e-07"),
        ("oat [degC]", 12, "General", "12"),
        ("slope [%]", 0.004, "0.0%", "0.4 %"),
        ("notes", 5, "General", "5"),
    ],
)
def test_what_spreadsheets_make_of_a_cell(column, value, shown, text):
    """The serial number 45786 is 2025-05-09 in the 1900 date system (ISO/IEC 29500-1:2016, 18.17.4.1)."""
    book = openpyxl.Workbook()
    book.active.title = "takeoff_roll"
    book.active.append(["run", column])
    book.active.append(["1"])
    book.active["B2"].value, book.active["B2"].number_format = value, shown
    back = read_workbook(saved(book), "x.xlsx")
    assert back == {"takeoff_roll.csv": f"run,{column}\n1,{text}\n"}


def test_serial_numbers_are_pandas_s():
    for number in (20_001, 45_786, 79_999):
        book = openpyxl.Workbook()
        book.active.append(["date"])
        book.active.append([number])
        day = pd.to_datetime(number, unit="D", origin="1899-12-30").date().isoformat()
        assert read_workbook(saved(book), "x.xlsx") == {"Sheet.csv": f"date\n{day}\n"}


def test_a_workbook_that_somebody_made_himself():
    book = openpyxl.Workbook()
    book.active.title = "Takeoff roll"
    for row in (
        [None, "# flown in May"],
        [None],
        [None, "run", None, "oat [degC]"],
        [None, 1, None, 8.5],
        [None, 2, None, 9],
    ):
        book.active.append(row)
    book.active["A1"], book.active["B1"] = "# flown in May", None
    book.create_sheet("scratch")
    assert read_workbook(saved(book), "x.xlsx") == {"Takeoff roll.csv": "# flown in May\nrun,oat [degC]\n1,8.5\n2,9\n"}


def test_rows_between_and_remarks_keep_their_places():
    back = read_workbook(workbook_bytes(SMALL, "x.xlsx"), "x.xlsx")
    assert back["takeoff_roll.csv"] == Grid.from_text(SMALL["takeoff_roll.csv"], "x.csv", ["run"]).to_text()
    sheet = opened(SMALL)["takeoff_roll"]
    assert sheet["A3"].value == "# wind"
    assert sheet["E2"].value == 10
    assert sheet["E2"].number_format.startswith("0.0")


def test_decimal_commas_become_numbers():
    files = {"takeoff_roll.csv": "run;oat [degC];notes\n1;8,5;a;\n2;9,25;b, c\n"}
    assert opened(files)["takeoff_roll"]["B2"].value == 8.5
    assert read_workbook(workbook_bytes(files, "x.xlsx"), "x.xlsx") == {
        "takeoff_roll.csv": 'run,oat [degC],notes\n1,8.5,a\n2,9.25,"b, c"\n'
    }


def test_parts_are_paths():
    assert path_of("campaign") == ()
    assert path_of("aeroplane.station.left seat") == ("aeroplane", "station", "left seat")
    assert path_of("runway.09.L") == ("runway", "09.L")
    assert path_of("aeroplane.fuel") == ("aeroplane", "fuel")
    assert path_of("plan") == ("plan",)


def test_words_beside_the_workbook_stay_words():
    found = as_workbook(SMALL | {"README.txt": "read me"})
    assert set(found) == {"campaign.xlsx", "README.txt"}
    assert found["README.txt"] == "read me"


@pytest.mark.parametrize(
    ("files", "says"),
    [
        ({"n" * 32 + ".csv": "run\n1\n"}, "is longer than 31 signs"),
        ({"campaign.csv": "run\n1\n"}, "cannot be a sheet"),
        ({"a.csv": "run\n1\n", "A.csv": "run\n1\n"}, "taken"),
        ({"a.csv": "run,notes\n1,a\n2\n"}, "a.csv, row 3: the row has 1 cells, expected 2"),
        ({"a.csv": 'run\n"1\n'}, "a.csv, row 2: the row cannot be taken apart"),
        ({"campaign.toml": "title = \n"}, "the line cannot be read"),
        ({"a.csv": f"run\n{'x' * 40_000}\n"}, "holds at most 32767"),
    ],
)
def test_what_no_workbook_can_hold_is_said_and_nothing_is_written(files, says, tmp_path):
    with pytest.raises(CampaignError, match=re.escape(says)):
        write_workbook(files, tmp_path / "x.xlsx")
    assert list(tmp_path.iterdir()) == []
