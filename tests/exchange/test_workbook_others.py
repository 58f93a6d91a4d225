"""Workbooks as other programs write them, put together by hand after ISO/IEC 29500-1:2016, clause 18."""

from __future__ import annotations

import re

import pytest

from samesky.exchange.workbook.workbook import read_workbook
from samesky.exchange.zip.archive import zip_bytes

HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
KIND = "application/vnd.openxmlformats-officedocument.spreadsheetml"

TYPES = (
    f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="rels" '
    'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    f'<Override PartName="/xl/workbook.xml" ContentType="{KIND}.sheet.main+xml"/>'
    f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{KIND}.worksheet+xml"/>'
    f'<Override PartName="/xl/styles.xml" ContentType="{KIND}.styles+xml"/>'
    f'<Override PartName="/xl/sharedStrings.xml" ContentType="{KIND}.sharedStrings+xml"/></Types>'
)
RELATIONS = (
    f'<Relationships xmlns="{PACKAGE}/relationships">'
    f'<Relationship Id="rId1" Type="{OFFICE}/worksheet" Target="/xl/worksheets/sheet1.xml"/>'
    f'<Relationship Id="rId2" Type="{OFFICE}/styles" Target="styles.xml"/>'
    f'<Relationship Id="rId3" Type="{OFFICE}/sharedStrings" Target="sharedStrings.xml"/></Relationships>'
)
BOOK = (
    f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><workbookPr date1904="false"/><sheets>'
    '<sheet name="takeoff_roll" sheetId="1" state="visible" r:id="rId1"/></sheets><definedNames>'
    '<definedName name="odd">#REF!</definedName></definedNames></workbook>'
)
#: Number formats 20 (h:mm), 14 (a date), 10 (0.00%) and 49 (text): 18.8.30.
STYLES = (
    f'<styleSheet xmlns="{MAIN}"><fonts count="1"><font/></fonts><fills count="1"><fill><patternFill/></fill></fills>'
    '<borders count="1"><border/></borders><cellStyleXfs count="1"><xf/></cellStyleXfs><cellXfs count="5"><xf/>'
    '<xf numFmtId="14" applyNumberFormat="1"/><xf numFmtId="20" applyNumberFormat="1"/>'
    '<xf numFmtId="10" applyNumberFormat="1"/><xf numFmtId="49" applyNumberFormat="1"/></cellXfs></styleSheet>'
)
STRINGS = (
    f'<sst xmlns="{MAIN}" count="9" uniqueCount="9">'
    + "".join(f"<si><t>{text}</t></si>" for text in ("run", "date", "clock", "oat [degC]", "slope [%]", "notes"))
    + '<si><r><t>calm, </t></r><r><rPr><b/></rPr><t xml:space="preserve"> dew</t></r></si>'
    + '<si><t xml:space="preserve"> with _x000D_ and &lt;b&gt; </t></si></sst>'
)
HEADER = "".join(f'<c r="{letter}1" t="s"><v>{k}</v></c>' for k, letter in enumerate("ABCDEF"))
ROWS = (
    f'<row r="1" spans="1:6" hidden="false">{HEADER}</row>'
    '<row r="2" customHeight="1" ht="15"><c r="A2"><v>1</v></c><c r="B2" s="1"><v>45786</v></c>'
    '<c r="C2" s="2"><v>0.27083333333333331</v></c><c r="D2"><v>8.5</v></c>'
    '<c r="E2" s="3"><v>4.0000000000000001E-3</v></c><c r="F2" t="s"><v>6</v></c></row>'
    '<row r="4"><c r="A4" s="4" t="s"><v>7</v></c><c r="B4" t="str"><v>2025-05-09</v></c>'
    '<c r="C4" t="inlineStr"><is><t>06:45</t></is></c><c r="D4" s="1"/></row><row r="5" s="1" customFormat="1"/>'
)
SHEET = (
    f'<worksheet xmlns="{MAIN}" xmlns:r="{OFFICE}" xmlns:x14ac="urn:unheard-of"><dimension ref="A1:XFD1048576"/>'
    '<cols><col min="1" max="1024" width="11.5" hidden="false"/></cols>'
    f'<sheetData>{ROWS}</sheetData><autoFilter ref="A1:F4"/><hyperlinks><hyperlink ref="F2" r:id="rId9"/></hyperlinks>'
    '<pageMargins left="0.7" right="0.7" top="0.75" bottom="0.75" header="0.3" footer="0.3"/>'
    '<drawing r:id="rId7"/><legacyDrawing r:id="rId8"/><tableParts count="1"><tablePart r:id="rId6"/></tableParts>'
    '<extLst><ext uri="{01234567-89AB}"><x14ac:what/></ext></extLst></worksheet>'
)
EXPECTED = (
    "run,date,clock,oat [degC],slope [%],notes\n"
    '1,2025-05-09,06:30,8.5,0.4 %,"calm,  dew"\n,,,,,\n"with \n and <b>",2025-05-09,06:45,,,\n'
)


def packed(sheet: str = SHEET, **others: str) -> bytes:
    parts = {"[Content_Types].xml": TYPES, "xl/workbook.xml": BOOK, "xl/_rels/workbook.xml.rels": RELATIONS}
    parts |= {"xl/styles.xml": STYLES, "xl/sharedStrings.xml": STRINGS, "xl/worksheets/sheet1.xml": sheet}
    parts |= {"xl/media/image1.png": "\x89PNG", "docProps/thumbnail.jpeg": "?", "xl/printerSettings/p.bin": "?"}
    return zip_bytes({name: HEAD + text for name, text in (parts | others).items()})


def prefixed(xml: str) -> str:
    """The same XML with a prefix before every element's name, as some programs write it."""
    return re.sub(r"<(/?)(?=[a-zA-Z]+[\s/>])(?![\w]+:)", r"<\1x:", xml).replace("xmlns=", "xmlns:x=")


@pytest.mark.parametrize(
    "data",
    [
        packed(),
        packed(prefixed(SHEET)),
        packed(SHEET.replace(' r="2"', "")),
        packed(SHEET.replace('<dimension ref="A1:XFD1048576"/>', "")),
    ],
    ids=["plain", "prefixed", "a row without its number", "no dimension"],
)
def test_it_reads_as_what_the_cells_show(data):
    assert read_workbook(data, "x.xlsx") == {"takeoff_roll.csv": EXPECTED}


def test_dates_from_the_other_epoch():
    """Counted from 1904, the day 44324 is 2025-05-09: 1462 days fewer (18.17.4.1)."""
    book = BOOK.replace('date1904="false"', 'date1904="true"')
    sheet = SHEET.replace("45786", "44324")
    back = read_workbook(packed(sheet, **{"xl/workbook.xml": book}), "x.xlsx")
    assert back == {"takeoff_roll.csv": EXPECTED}
