"""Typing, pasting, dropping: what arrives in the file is what was meant, or nothing is written.

References: the csv module reading the file back, and pint converting the numbers.
"""

from __future__ import annotations

import csv
import io

import pint
import pytest
from worksheet_client import STEM, Visitor, campaign_files, index, put_campaign

from samesky.campaign.messages.errors import CampaignError
from samesky.measures import MEASURES
from samesky.worksheets.runs.changes import change_unit, delete_row, typed_table
from samesky.worksheets.runs.columns import runs_of

UREG = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
HEADER = "run,date,clock,configuration,oat [degC],fuel [L],elapsed [s],from [ft],to [ft],airspeed [kt],exclude,notes"


def runs(rows="", header=HEADER, name=STEM):
    return runs_of(f"{name}.csv", f"{header}\n{rows}", MEASURES[name])


def cells(grid):
    return [list(row) for row in grid.trimmed().rows]


@pytest.fixture
def visitor(tmp_path):
    put_campaign(tmp_path)
    return Visitor(tmp_path)


# ---- what nobody sees ----------------------------------------------------------------------------------------------

ODD = {
    "a\0b": "ab", "a\x07b": "ab", "a\x1bb": "ab", "a\u202eb": "ab", "a\u2066b\u2069": "ab", "\ufeffab": "ab",
    "a\r\nb": "a b", "a\n\n\tb": "a b", "a\u2028b": "a b", "a\x0bb": "a b", "a\x85b": "a b", "a\u00adb": "ab",
    "\ud800a": "a", "  a  ": "a", "می\u200cخواهم": "می\u200cخواهم", "é": "é", "漢字": "漢字",
}  # fmt: skip


def falls_apart(typed, way):
    """Line ends make rows where they are pasted; a text with a nought in it is no text file."""
    return (way == "paste" and (typed.strip() != typed or "\n" in typed)) or (way == "take" and "\0" in typed)


WAYS = [(way, typed) for way in ("cell", "paste", "take", "form") for typed in ODD if not falls_apart(typed, way)]


@pytest.mark.parametrize(("way", "typed"), WAYS, ids=ascii)
def test_signs_that_nobody_sees_never_reach_the_file(visitor, tmp_path, typed, way):
    kept = ODD[typed]
    odd = typed.encode("utf-8", "surrogatepass").decode("utf-8", "replace") if way in ("take", "form") else typed
    if way == "cell":
        answer = sent_as_is(
            visitor, "cell", {"row": 0, "column": 15, "text": typed, "seen": visitor.state()["rows"][0]}
        )
    elif way == "paste":
        answer = sent_as_is(visitor, "paste", {"row": 0, "column": 15, "text": typed})
    elif way == "form":
        answer = visitor.form(**{"c-0-15": odd, "version": visitor.state()["version"]})
    else:
        table = f'run,date,clock,configuration,notes\n1,2026-05-09,06:32,A,"{odd}"\n'
        visitor = Visitor(put_campaign(tmp_path / "empty", files=campaign_files(0)).parent)
        answer = visitor.post(
            f"/c/climbs/runs/{STEM}/form", data={"do": "take"}, files={"file": ("x.csv", table.encode())}
        )
    assert answer.status_code in (200, 303), answer.text
    got = visitor.state()["rows"][0][-1]
    assert got.replace("\ufffd", "") == kept
    assert visitor.get(f"/c/climbs/runs/{STEM}").status_code == 200
    assert visitor.post("/c/climbs/save").status_code == 200
    assert visitor.state()["rows"][0][-1] == got


def sent_as_is(visitor, where, values):
    import json

    headers = {"content-type": "application/json", "accept": "application/json"}
    return visitor.post(f"/c/climbs/runs/{STEM}/{where}", content=json.dumps(values), headers=headers)


@pytest.mark.parametrize(
    "formula", ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "=cmd|' /C calc'!A0", "#remark", "'=1", "''=1"]
)
@pytest.mark.parametrize("column", ["run", "notes"])
def test_a_formula_is_a_word_that_no_spreadsheet_runs(visitor, formula, column):
    at = index(visitor.state()["header"], column)
    assert visitor.cell(0, column, formula).json()["rows"][0][at] == formula
    visitor.post("/c/climbs/save")
    text = (visitor.root / "climbs" / f"{STEM}.csv").read_text(encoding="utf-8")
    (written,) = [row[at] for row in csv.reader(io.StringIO(text)) if formula in row[at]]
    assert written.startswith("'")
    assert visitor.state()["rows"][0][at] == formula


# ---- units and rows ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("column", "unit", "there", "here"),
    [("oat [degC]", "degF", "degC", "degF"), ("oat [degC]", "K", "degC", "K"), ("from [ft]", "m", "ft", "m"),
     ("airspeed [kt]", "km/h", "knot", "km/h"), ("elapsed [s]", "min", "s", "min"),
     ("fuel [L]", "US gal", "L", "gallon")],
)  # fmt: skip
def test_numbers_are_brought_to_another_unit(column, unit, there, here):
    table = runs("1,2026-05-09,06:32,A,-5.0,39,93.1,1000,2500,61,,\n2,2026-05-09,06:52,A,n/a,,88.3,1000,2500,60,,\n")
    at = table.grid.header.index(column)
    changed = change_unit(table, at, unit, convert=True)
    old, new = cells(table.grid), cells(changed.grid)
    assert changed.grid.header[at] == f"{column.partition(' [')[0]} [{unit}]"
    expected = UREG.Quantity(float(old[0][at]), there).to(here).magnitude
    assert float(new[0][at]) == pytest.approx(expected, rel=1e-5)
    if column == "oat [degC]":
        assert new[1][at] == "n/a"
    back = change_unit(
        runs_of(table.file, changed.grid.to_text(), table.measure), at, column.partition("[")[2][:-1], True
    )
    assert float(cells(back.grid)[0][at]) == pytest.approx(float(old[0][at]), rel=1e-5)
    relabelled = change_unit(table, at, unit, convert=False)
    assert cells(relabelled.grid) == old


@pytest.mark.parametrize("unit", ["", "kg", "foo", "ft] x [", "[", "m**9**9**9", "ft" * 500, "1", "%", " "])
def test_a_unit_that_the_column_cannot_have(unit):
    with pytest.raises(CampaignError):
        change_unit(runs("1,2026-05-09,06:32,A,5,39,93.1,1000,2500,61,,\n"), 7, unit, convert=True)


@pytest.mark.parametrize("column", [-1, 0, 3, 11, 99])
def test_words_have_no_unit(column):
    with pytest.raises(CampaignError, match="no unit to change"):
        change_unit(runs(), column, "ft", convert=False)


def test_a_column_without_a_unit_can_be_given_one(visitor):
    table = runs(header=HEADER.replace("elapsed [s]", "elapsed"))
    assert "s" in table.columns[6].units
    assert change_unit(table, 6, "s", convert=True).grid.header[6] == "elapsed [s]"


def test_a_row_goes_and_remarks_stay():
    table = runs("1,2026-05-09\n# a pause\n2,2026-05-09\n3,2026-05-09\n")
    seen = table.rows[1]
    text = delete_row(table, 1, seen).grid.to_text()
    assert text.splitlines()[1:] == ["1,2026-05-09", "# a pause", "3,2026-05-09"]


def test_a_plain_form_changes_what_differs():
    table = runs("1,2026-05-09,06:32,A,5.0,39,93.1,1000,2500,61,,\n")
    changed = typed_table(table, {(0, 4): "5.0", (0, 6): "94", (2, 0): "3", (2, 7): "305 m"})
    assert cells(changed.grid)[0][4:7] == ["5.0", "39", "94"]
    assert cells(changed.grid)[2][7] == "1000.66"
    assert "305 m is 1000.66 ft." in changed.said


def test_a_plain_form_of_a_season(visitor):
    """120 runs of 16 columns: more fields than a form may have by default."""
    visitor.paste(8, 0, "\n".join(str(k) for k in range(9, 121)))
    state = visitor.state()
    fields = {f"c-{r}-{c}": text for r, row in enumerate(state["rows"]) for c, text in enumerate(row)}
    assert len(fields) > 1900
    fields |= {"c-100-15": "kept", "version": state["version"]}
    assert visitor.form(**fields).status_code == 303
    assert visitor.state()["rows"][100][15] == "kept"
    # The same page sent again, for instance with the browser's Back: it is no longer what it shows.
    answer = visitor.form(**(fields | {"c-100-15": "old"}))
    assert answer.status_code == 422
    assert visitor.state()["rows"][100][15] == "kept"


def test_messages_name_the_rows_that_the_page_shows(tmp_path):
    """Blank rows above the header are counted by the reader, and left off by the grid."""
    files = campaign_files()
    files[f"{STEM}.csv"] = "\n\n" + files[f"{STEM}.csv"].replace("88.3", "fast")
    put_campaign(tmp_path, files=files)
    state = Visitor(tmp_path).state()
    (mark,) = [mark for mark in state["marks"] if mark["kind"] == "error"]
    assert state["rows"][mark["row"]][mark["column"]] == "fast"
    assert f"row {state['numbers'][mark['row']]}," in state["mend"]
    assert "mended: run 2 of timed climb" in state["verdict"]
