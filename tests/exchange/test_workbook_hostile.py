"""Workbooks that are damaged, careless or made to do harm: one sentence that names the place, and nothing is run.

The attacks are those of the common lists: entity expansion and external entities (XML 1.0, 4.2.2 and 4.4.8), zip bombs,
names that leave the folder, formulas and macros.
"""

from __future__ import annotations

import io
import re
import zipfile

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.template import template_files
from samesky.campaign.tables.delimited import MOST_ROWS
from samesky.exchange.workbook.workbook import read_workbook, workbook_bytes
from samesky.exchange.zip.archive import zip_bytes

FILES = {"campaign.toml": 'title = "x"\n', "takeoff_roll.csv": "run,oat [degC],notes\n1,8.5,calm\n2,9,\n"}
SOUND = workbook_bytes(FILES, "x.xlsx")
RUNS = "xl/worksheets/sheet2.xml"


def members(data: bytes = SOUND) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def with_member(name: str, change) -> bytes:
    found = members()
    found[name] = change(found.get(name, b""))
    return zip_bytes(found)


def with_book(change) -> bytes:
    book = openpyxl.load_workbook(io.BytesIO(SOUND))
    change(book)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def refusal(data: bytes, file: str = "mine.xlsx") -> str:
    with pytest.raises(CampaignError) as error:
        read_workbook(data, file)
    said = str(error.value)
    assert said.startswith(file)
    assert "\n" not in said
    assert said.endswith((".", "--xlsx"))
    return said


def test_the_workbook_to_be_spoilt_is_sound():
    assert read_workbook(SOUND, "x.xlsx") == FILES


# -- cells that are no values ------------------------------------------------------------------------------------------


def set_cell(sheet: str, place: str, value):
    def change(book):
        book[sheet][place] = value

    return change


def set_state(sheet: str, state: str):
    return lambda book: setattr(book[sheet], "sheet_state", state)


def hide(dimension) -> None:
    dimension.hidden = True


def only_a_remark(sheet) -> None:
    sheet.delete_rows(1, 9)
    sheet["A1"] = "# a"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (set_cell("takeoff_roll", "B3", "=B2+1"), "sheet 'takeoff_roll', cell B3: found the formula '=B2+1', expected"),
        (set_cell("campaign", "C4", "=1+1"), "sheet 'campaign', cell C4: found the formula"),
        (set_cell("remarks", "B2", "=1+1"), "sheet 'remarks', cell B2: found the formula"),
        (set_cell("takeoff_roll", "B3", "#DIV/0!"), "cell B3: found the error '#DIV/0!', expected a value"),
        (set_cell("takeoff_roll", "C3", True), "cell C3: found True, expected a number or text"),
        (set_cell("takeoff_roll", "KA3", "far"), "cell KA3: found 'far', far to the right of any run"),
        (
            set_cell("takeoff_roll", f"A{MOST_ROWS + 2}", "9"),
            f"reaches down to row {MOST_ROWS + 2}; it may have at most",
        ),
        (set_cell("takeoff_roll", "A1048576", "9"), "cell A1048576: the sheet reaches down to row 1048576"),
        (lambda book: book["takeoff_roll"].merge_cells("B2:B3"), "sheet 'takeoff_roll', cells B2:B3: are merged"),
        (set_state("takeoff_roll", "hidden"), "sheet 'takeoff_roll': is hidden"),
        (set_state("campaign", "veryHidden"), "sheet 'campaign': is hidden"),
        (lambda book: hide(book["takeoff_roll"].row_dimensions[3]), "cell A3: found '2' in a row that is hidden"),
        (
            lambda book: hide(book["takeoff_roll"].column_dimensions["B"]),
            "cell B1: found 'oat [degC]' in a column that",
        ),
        (lambda book: setattr(book["takeoff_roll"], "title", "a.b"), "has a name that no file of runs can have"),
        (lambda book: [book.create_sheet() for _ in range(60)], "has 63 sheets, expected at most 60"),
        (lambda book: book.create_chartsheet("chart"), "holds a sheet that is one chart"),
        (lambda book: only_a_remark(book["takeoff_roll"]), "sheet 'takeoff_roll': has no header"),
    ],
)
def test_one_sentence_with_the_place(change, says):
    assert says in refusal(with_book(change))


def test_a_formula_s_last_result_is_not_believed():
    cell = b'<c r="B2" s="1"><f>1+1</f><v>8.5</v></c>'
    data = with_member(RUNS, lambda xml: re.sub(rb'<c r="B2".*?</c>', cell, xml))
    assert b"<f>1+1</f>" in members(data)[RUNS]
    assert "cell B2: found the formula '=1+1'" in refusal(data)
    for formula in (
        b'<f t="shared" si="0"/>',
        b'<f t="array" ref="B2">1+1</f>',
        b'<f t="dataTable" ref="B2" r1="A1"/>',
    ):
        data = with_member(
            RUNS, lambda xml, f=formula: re.sub(rb'<c r="B2".*?</c>', cell.replace(b"<f>1+1</f>", f), xml)
        )
        assert "cell B2: found the formula" in refusal(data)


def test_a_sheet_without_any_cells_is_a_blank_one():
    """``sheetData`` is what a worksheet must have (ISO/IEC 29500-1:2016, 18.3.1.99); without it it is blank."""
    bare = with_member(RUNS, lambda xml: re.sub(rb"<sheetData.*</sheetData>", b"", xml, flags=re.DOTALL))
    blank = with_book(lambda book: book["takeoff_roll"].delete_rows(1, 9))
    assert read_workbook(bare, "x.xlsx") == read_workbook(blank, "x.xlsx") == {"campaign.toml": FILES["campaign.toml"]}


def test_blank_sheets_say_so():
    book = openpyxl.Workbook()
    stream = io.BytesIO()
    book.save(stream)
    assert "every sheet is blank" in refusal(stream.getvalue())


# -- the sheet campaign ------------------------------------------------------------------------------------------------


def add(*row):
    return lambda book: book["campaign"].append(row)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (add(None, "kind", "free"), "found the value 'free' without its part"),
        (add("swap", None, "free"), "found the value 'free' without its entry"),
        (add("campaign", "Title", "y"), "found campaign Title a second time; it stands in row"),
        (add("engine", "gear ratio", "two"), "cell C"),
        (add("plan", "days", "soon"), "expected a number without a unit"),
        (add('configuration.A"]\n[x', "label", "y"), "expected a name of letters, digits"),
        (add("title.x", "label", "y"), "is no table"),
        (set_cell("campaign", "C1", "worth"), "sheet 'campaign': has no column 'value' in its first row; found 'part'"),
        (set_cell("remarks", "B2", 'title = "'), "sheet 'remarks': the line cannot be read"),
    ],
)
def test_the_sheet_campaign_is_refused_at_its_row(change, says):
    def spoil(book):
        for row in book["campaign"].iter_rows(min_row=2):
            if (row[0].value, row[1].value) in (("engine", "gear_ratio"), ("plan", "days")):
                row[0].value = "spare"
        change(book)

    assert says in refusal(with_book(spoil))


# -- files that are something else -------------------------------------------------------------------------------------


MACROS = (b"openxmlformats-officedocument.spreadsheetml.sheet.main", b"ms-excel.sheet.macroEnabled.main")
ODS = {"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<x/>"}
XLSB = {"[Content_Types].xml": "<x/>", "xl/workbook.bin": b"", "xl/worksheets/sheet1.bin": b""}


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is no workbook: it is empty"),
        (b"run,oat [degC]\n1,8.5\n", "is no workbook: it is a text file"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(500), "it is an old office document (.xls or .doc)"),
        (b"%PDF-1.7 ...", "is no workbook: it is a PDF"),
        (b"<html><table></table></html>", "is no workbook: it is a web page"),
        (zip_bytes(template_files()), "is no workbook: it is a zip of other files"),
        (zip_bytes(ODS), "is no workbook: it is an office document (.ods or .odt)"),
        (zip_bytes({"[Content_Types].xml": "<x/>", "word/document.xml": "<x/>"}), "is no workbook"),
        (with_member("xl/vbaProject.bin", lambda _: b"\xd0\xcf"), "holds macros (programs), which are never opened"),
        (with_member("[Content_Types].xml", lambda xml: xml.replace(*MACROS)), "is a workbook for macros (.xlsm)"),
        (zip_bytes(XLSB), "is a binary workbook (.xlsb)"),
    ],
)
def test_it_says_what_the_file_is(data, says):
    assert says in refusal(data)


# -- XML and zip made to do harm ---------------------------------------------------------------------------------------

LAUGHS = b'<!DOCTYPE a [<!ENTITY l0 "ha">' + b"".join(
    b'<!ENTITY l%d "%s">' % (k, b"&l%d;" % (k - 1) * 10) for k in range(1, 10)
) + b"]>"  # fmt: skip
OUTSIDE = b'<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize("part", [RUNS, "xl/workbook.xml", "xl/styles.xml", "[Content_Types].xml", "_rels/.rels"])
@pytest.mark.parametrize("doctype", [LAUGHS, OUTSIDE, b'<!DOCTYPE a SYSTEM "http://localhost/a.dtd">'])
def test_entities_are_refused_before_any_parser_sees_them(part, doctype):
    data = with_member(part, lambda xml: doctype + xml)
    said = refusal(data)
    assert f"its part {part!r} declares entities" in said


@pytest.mark.parametrize("coding", ["utf-16", "utf-16-le", "utf-7", "cp037"])
def test_entities_cannot_hide_in_another_coding(coding):
    text = f'<?xml version="1.0" encoding="{coding}"?>' + OUTSIDE.decode() + "<a>&x;</a>"
    data = with_member(RUNS, lambda _: text.encode(coding))
    assert "is no XML in UTF-8" in refusal(data)


def test_bombs_are_not_unpacked():
    blank = b'<row r="1"/>' * 3_000_000
    assert "unpacks to more than" in refusal(with_member(RUNS, lambda _: b"<a>" + blank))
    assert "is an archive inside the archive" in refusal(with_member("xl/worksheets/inner.xml", lambda _: SOUND))
    many = members() | {f"xl/worksheets/s{k}.xml": b"<a/>" for k in range(300)}
    assert "holds more than 200 files" in refusal(zip_bytes(many))


def test_a_million_blank_rows_with_a_format_are_counted_and_not_read():
    rows = b"".join(b'<row r="%d" s="1"/>' % k for k in range(3, 700_000))
    data = with_member(RUNS, lambda xml: xml.replace(b"</sheetData>", rows + b"</sheetData>"))
    assert "rows, blank ones with a format among them; expected at most 20000" in refusal(data)
    cells = b'<row r="9">' + b"".join(b'<c r="A%d" s="1"/>' % k for k in range(250_000)) + b"</row>"
    data = with_member(RUNS, lambda xml: xml.replace(b"</sheetData>", cells + b"</sheetData>"))
    assert "cells, blank ones with a format among them" in refusal(data)


def test_wide_merges_and_links_are_not_filled_in():
    """Each would be sixteen billion cells if it were taken for what it says."""
    merged = b'<mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>'
    data = with_member(RUNS, lambda xml: xml.replace(b"</sheetData>", b"</sheetData>" + merged))
    assert "has merged cells, 'A1:XFD1048576' among them" in refusal(data)
    links = b'<hyperlinks><hyperlink ref="A1:XFD1048576" display="x"/></hyperlinks>'
    data = with_member(RUNS, lambda xml: xml.replace(b"</sheetData>", b"</sheetData>" + links))
    assert read_workbook(data, "x.xlsx") == FILES


def test_what_people_add_beside_their_cells_is_passed_over():
    from openpyxl.chart import LineChart
    from openpyxl.formatting.rule import CellIsRule
    from openpyxl.worksheet.table import Table

    def work(book):
        sheet = book["takeoff_roll"]
        sheet["C3"].hyperlink = "https://localhost/"
        sheet["C3"].value = "see there"
        sheet.add_table(Table(displayName="Runs", ref="A1:C3"))
        sheet.add_chart(LineChart(), "F2")
        sheet.conditional_formatting.add("B2:B9", CellIsRule(operator="lessThan", formula=["9"]))
        sheet.auto_filter.ref = "A1:C3"

    back = read_workbook(with_book(work), "x.xlsx")
    assert back == FILES | {"takeoff_roll.csv": FILES["takeoff_roll.csv"].replace("2,9,", "2,9,see there")}


@pytest.mark.parametrize("name", ["../evil.xml", "/etc/x.xml", "xl\\..\\x.xml", "C:/x.xml"])
def test_names_that_leave_the_workbook(name):
    found = members() | {name: b"<a/>"}
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for member, content in found.items():
            archive.writestr(member, content)
    assert "the workbook is not opened" in refusal(stream.getvalue())


@pytest.mark.parametrize("title", ["../evil", "a/b", "..", "con:", "=1", "\t"])
def test_a_sheet_s_name_never_becomes_a_path(title):
    data = with_member("xl/workbook.xml", lambda xml: xml.replace(b'name="takeoff_roll"', f'name="{title}"'.encode()))
    refusal(data)


@pytest.mark.parametrize(
    "cell",
    [
        b'<row r="999999999999"><c r="A999999999999"><v>1</v></c></row>',
        b'<row r="9"><c r="ZZZZ9"><v>1</v></c></row>',
        b'<row r="9"><c r="A9" t="s"><v>77</v></c></row>',
        b'<row r="9"><c r="A9"><v>' + b"9" * 5000 + b"</v></c></row>",
        b'<row r="9"><c r="A9" s="999"><v>1</v></c></row>',
        b'<row r="x"><c r="A9"><v>nan</v></c></row>',
        b"<row><c",
    ],
)
def test_nonsense_in_a_sheet(cell):
    refusal(with_member(RUNS, lambda xml: xml.replace(b"</sheetData>", cell + b"</sheetData>")))


def test_a_number_beyond_all_measure():
    cell = b'<row r="9"><c r="B9"><v>1e999</v></c></row>'
    data = with_member(RUNS, lambda xml: xml.replace(b"</sheetData>", cell + b"</sheetData>"))
    assert "cell B9: found a number beyond all measure" in refusal(data)


def test_damage_that_shows_only_when_a_cell_is_read():
    """A style that is missing from its table: the library looks it up cell by cell, long after it has opened."""
    data = with_member("xl/styles.xml", lambda xml: re.sub(rb"(?s)<cellXfs.*?</cellXfs>", b"", xml))
    assert "is damaged" in refusal(data)


def test_a_sheet_that_cannot_be_found_is_missed():
    data = with_member(
        "xl/_rels/workbook.xml.rels", lambda xml: xml.replace(b"worksheets/sheet2.xml", b"worksheets/none.xml")
    )
    assert "lists 3 sheets, but 2 can be found" in refusal(data)


def test_every_cut_is_refused():
    for length in [*range(0, len(SOUND), 211), len(SOUND) - 1]:
        refusal(SOUND[:length])


@given(st.sampled_from(sorted(members())), st.integers(0), st.integers(0, 255))
@settings(max_examples=100, deadline=None)
def test_a_byte_changed_is_read_or_refused(name, at, byte):
    found = members()
    content = bytearray(found[name])
    content[at % len(content)] = byte
    found[name] = bytes(content)
    try:
        back = read_workbook(zip_bytes(found), "mine.xlsx")
    except CampaignError as error:
        assert str(error).startswith("mine.xlsx")  # noqa: PT017
    else:
        assert all(re.fullmatch(r"[^/\\.]+\.(csv|toml)", file) for file in back)


def test_without_the_library_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "openpyxl", None)
    with pytest.raises(CampaignError, match=r"needs the library openpyxl.*samesky\[workbook\]"):
        read_workbook(SOUND, "mine.xlsx")
    with pytest.raises(CampaignError, match="needs the library openpyxl"):
        workbook_bytes(FILES, "mine.xlsx")
