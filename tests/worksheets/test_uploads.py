"""What somebody drops on a page is believed neither for its name nor for its size.

Zips and workbooks are made here by the standard library and by openpyxl.
"""

from __future__ import annotations

import io
import zipfile

import openpyxl
import pytest
from worksheet_client import STEM, Visitor, campaign_files, put_campaign

from samesky.campaign.messages.errors import CampaignError
from samesky.exchange.workbook.workbook import workbook_bytes
from samesky.worksheets.library.uploads import base_name, campaign_texts, table_text

FILES = campaign_files()
CSV = f"{STEM}.csv"


@pytest.fixture
def visitor(tmp_path):
    return Visitor(tmp_path)


def zipped(files, method=zipfile.ZIP_DEFLATED):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as archive:
        for name, text in files.items():
            archive.writestr(name, text)
    return stream.getvalue()


def taken(visitor, *files):
    answer = visitor.post("/take-in", files=[("files", one) for one in files])
    if answer.status_code != 303:
        return answer.status_code, answer.text
    folder = visitor.root / answer.headers["location"].rpartition("/")[2].partition("?")[0]
    return folder.name, {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}


@pytest.mark.parametrize("top", ["", "climbs/", "climbs of may/"])
def test_a_zip_is_a_campaign(visitor, top):
    data = zipped({top + name: text for name, text in FILES.items()} | {f"{top}photo.jpg": b"\xff\xd8"})
    assert taken(visitor, ("My climbs.zip", data)) == ("my-climbs", FILES)


def test_a_workbook_is_a_campaign(visitor):
    name, _ = taken(visitor, ("climbs.xlsx", workbook_bytes(FILES, "climbs.xlsx")))
    assert name == "climbs"
    assert visitor.get(f"/c/{name}/verdict").status_code == 200
    put_campaign(visitor.root, "typed")
    told = [visitor.get(f"/c/{one}/verdict/state").json()["verdict"].replace(one, "") for one in (name, "typed")]
    assert told[0] == told[1]


def test_what_is_brought_back_is_told_to_be_a_copy(visitor):
    sent = [("files", ("climbs.xlsx", workbook_bytes(FILES, "climbs.xlsx")))]
    first, second = (visitor.post("/take-in", files=sent).headers["location"] for _ in range(2))
    pages = []
    for place in (first, second):
        page = visitor.get(place)
        while page.status_code == 303:
            page = visitor.get(page.headers["location"])
        pages.append(page.text)
    told = "(folder climbs) and is as it was; what you brought is a copy of its own, in the folder climbs-2."
    assert [told in text for text in pages] == [False, True]


@pytest.mark.parametrize("place", ["", "climbs/", "C:\\cards\\", "/home/somebody/climbs/", "../../"])
def test_files_dropped_together_are_a_campaign(visitor, place):
    name, files = taken(
        visitor, *[(place + name, text) for name, text in FILES.items()], (place + "photo.jpg", b"\xff")
    )
    assert files == FILES
    assert list(visitor.root.iterdir()) == [visitor.root / name]


def test_a_folder_with_its_draft_is_the_campaign_that_is_saved(visitor):
    """What is typed and not saved lies in a folder below, in files of the same names."""
    draft = {f"climbs/.unsaved/{name}": "draft" for name in FILES} | {"climbs/.thrown-away/campaign.toml": "old"}
    hidden = {"climbs/.DS_Store": "\0", f"climbs/._{CSV}": "\0"}
    sent = draft | {f"climbs/{name}": text for name, text in FILES.items()} | hidden
    for order in (sent, dict(reversed(sent.items()))):
        assert campaign_texts({name: text.encode() for name, text in order.items()}) == FILES


def test_several_campaigns_at_once_are_refused(visitor):
    sent = [(f"{folder}/{name}", text) for folder in ("may", "june") for name, text in FILES.items()]
    status, page = taken(visitor, *sent)
    assert status == 422
    assert "several campaign.toml, in june and may" in page
    assert list(visitor.root.iterdir()) == []


BOMB = zipped({"campaign.toml": b"#" * 30_000_000})
SLIP = {"../campaign.toml": "x", "/etc/campaign.toml": "x", "a/../../campaign.toml": "x"}
WRONG = {
    "nothing.zip": (b"", "was chosen"),
    "text.zip": (b"title = 1", "is no zip: it is a text file"),
    "picture.zip": (b"\x89PNG\r\n", "a picture"),
    "cut.zip": (zipped(FILES)[:-30], "damaged or cut short"),
    "half.zip": (zipped(FILES)[:200], "damaged or cut short"),
    "bomb.zip": (BOMB, "not opened"),
    "slip.zip": (zipped(SLIP), ""),
    "other.zip": (zipped({"readme.txt": "x"}), "no campaign.toml"),
    "book.zip": (workbook_bytes(FILES, "x"), "workbook"),
    "text.xlsx": (b"title = 1", ""),
    "zip.xlsx": (zipped(FILES), ""),
    "cut.xlsx": (workbook_bytes(FILES, "x")[:-50], ""),
    "bomb.xlsx": (BOMB, ""),
    "runs.csv": (FILES[CSV].encode(), "no campaign.toml among"),
    "campaign.toml": (zipped(FILES), "not text"),
    "campaign.TOML": (FILES["campaign.toml"].encode(), "no campaign.toml among"),
    "program.exe": (b"MZ", "no campaign.toml among"),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_something_else_is_refused_in_words_and_leaves_nothing(visitor, name):
    data, says = WRONG[name]
    status, page = taken(visitor, (name, data))
    assert status == 422
    assert says in page
    assert "Traceback" not in page
    assert list(visitor.root.iterdir()) == []
    assert not (visitor.root.parent / "campaign.toml").exists()


def test_nothing_chosen(visitor):
    assert visitor.post("/take-in", data={"files": "text"}).status_code == 422
    assert visitor.post(
        "/take-in", content=b"--x", headers={"content-type": "multipart/form-data; boundary=x"}
    ).status_code in (
        400,
        422,
    )
    assert list(visitor.root.iterdir()) == []


# ---- runs of one measure -------------------------------------------------------------------------------------------


@pytest.fixture
def empty(tmp_path):
    put_campaign(tmp_path / "shelf", files=campaign_files(0))
    return Visitor(tmp_path / "shelf")


def drop(visitor, name, data):
    return visitor.post(f"/c/climbs/runs/{STEM}/form", data={"do": "take"}, files={"file": (name, data)})


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("name", ["cards.csv", "cards.txt", "cards", "cards.CSV"])
def test_a_file_of_runs_in_the_usual_encodings(empty, encoding, name):
    text = FILES[CSV].replace("[degC]", "[°C]")
    assert drop(empty, name, text.encode(encoding)).status_code == 303
    state = empty.state()
    assert state["header"][4] == "oat [°C]"
    assert len([row for row in state["rows"] if row[0]]) == 8


def test_the_sheet_of_a_workbook(empty):
    assert drop(empty, "climbs.xlsx", workbook_bytes(FILES, "x")).status_code == 303
    assert len([row for row in empty.state()["rows"] if row[0]]) == 8


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("climbs.xlsx", workbook_bytes({"campaign.toml": FILES["campaign.toml"]}, "x"), "has no sheet timed_climb"),
        ("climbs.csv", workbook_bytes(FILES, "x"), "not text"),
        ("climbs.xlsx", FILES[CSV].encode(), ""),
        ("climbs.csv", b"", "empty"),
        ("climbs.csv", b"\0" * 50, "not text"),
        ("climbs.csv", zipped(FILES), "not text"),
        ("climbs.csv", b'run,date\n1,"x', "quotation mark"),
        ("climbs.csv", b"run,date\n" + b"1,2026-05-09\n" * 3000, "2000 rows"),
        ("climbs.csv", b"run," + b"x" * 200_000 + b"\n1,2\n", ""),
    ],
)
def test_what_is_no_file_of_runs_changes_nothing(empty, name, data, says):
    answer = drop(empty, name, data)
    assert answer.status_code == 422
    assert says in answer.text
    assert empty.state()["changed"] == []


def test_a_formula_in_a_workbook_is_not_taken_for_a_number(empty):
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(FILES, "x")))
    book[STEM].cell(3, 11).value = "=1+1"
    stream = io.BytesIO()
    book.save(stream)
    assert drop(empty, "climbs.xlsx", stream.getvalue()).status_code == 422
    assert empty.state()["changed"] == []


@pytest.mark.parametrize(
    ("name", "base"),
    [
        ("a.csv", "a.csv"),
        ("../a.csv", "a.csv"),
        ("C:\\b\\a.csv", "a.csv"),
        ("a\nb.csv", "ab.csv"),
        ("a/", ""),
        ("", ""),
    ],
)
def test_a_name_leads_nowhere(name, base):
    assert base_name(name) == base


def test_more_than_a_name_is_needed(empty):
    with pytest.raises(CampaignError, match="there is no file, or it is empty"):
        table_text(b"", "", None)


@pytest.mark.parametrize("packed", [False, True], ids=["files", "zip"])
def test_a_campaign_with_a_recording_in_it_is_refused_whole(visitor, packed):
    files = FILES | {CSV: "run,date\n" + "1,2026-05-09\n" * 3000}
    sent = [("climbs.zip", zipped(files))] if packed else [(name, text.encode()) for name, text in files.items()]
    status, said = taken(visitor, *sent)
    assert status == 422
    assert "2000 rows" in said
    assert CSV in said
    assert not any(path.is_dir() for path in visitor.root.iterdir())
