"""Names lead to campaigns and tables that are here, or nowhere; links are named and never followed."""

from __future__ import annotations

import os

import pytest
from parsed_page import Parsed
from worksheet_client import STEM, Visitor, put_campaign

from samesky.worksheets.server.application import STATIC

pytestmark = pytest.mark.usefixtures("figures_unprinted")


@pytest.fixture
def visitor(tmp_path):
    root = tmp_path / "hangar"
    put_campaign(root)
    return Visitor(root)


UP = ["..%2f..%2fguard.py", "%2e%2e/guard.py", "..%5cguard.py", "%2e%2e%5c%2e%2e%5cguard.py", "....//guard.py",
      "%252e%252e%252fguard.py", "/etc/hostname", "%2fetc%2fhostname", "worksheet.css%00.html", "%00", ""]  # fmt: skip


@pytest.mark.parametrize("where", UP)
def test_static_files_are_those_in_their_folder(visitor, where):
    answer = visitor.get(f"/static/{where}")
    assert answer.status_code in (404, 405)
    assert "Guard" not in answer.text
    assert os.path.isfile(STATIC / "worksheet.css")


NAMES = ["%2e%2e", "..%2fclimbs", "%2e%2e%2fclimbs", "climbs%2f..%2fclimbs", "climbs%2f", "%2fetc", "climbs%00",
         "..%5cclimbs", "climbs%5c", ".unsaved", ".hidden", "CLIMBS", "climbs%20",
         "%ff%fe", "C%3a", "climbs%0a"]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_that_of_a_campaign_here_or_of_none(visitor, name):
    put_campaign(visitor.root, ".hidden")
    put_campaign(visitor.root.parent, "outside")
    for part in ("settings", f"runs/{STEM}", "verdict", f"runs/{STEM}/state", "report.html"):
        assert visitor.get(f"/c/{name}/{part}").status_code in (404, 422)
    assert visitor.post(f"/c/{name}/save").status_code in (404, 422)


STEMS = ["campaign", "..%2fcampaign", "%2e%2e", ".unsaved%2ftimed_climb", "timed_climb.csv", "timed_climb%00",
         "..%5ctimed_climb", "%2fetc%2fhostname", "TIMED_CLIMB", "none"]  # fmt: skip


@pytest.mark.parametrize("stem", STEMS)
def test_a_table_is_one_of_the_campaign_or_none(visitor, stem):
    for part in ("", "/state"):
        assert visitor.get(f"/c/climbs/runs/{stem}{part}").status_code in (404, 422)
    answer = visitor.send(f"/c/climbs/runs/{stem}/cell", {"row": 0, "column": 0, "text": "x", "seen": []})
    assert answer.status_code in (404, 422)
    assert sorted(os.listdir(visitor.root / "climbs")) == ["campaign.toml", f"{STEM}.csv"]


@pytest.mark.parametrize("entry", ["secret.csv", "campaign.toml", f"{STEM}.csv", ".unsaved", "position_error.csv"])
def test_a_link_out_of_a_campaign_is_named_and_not_followed(visitor, entry):
    outside = put_campaign(visitor.root.parent, "outside")
    (outside / "secret.csv").write_text("secret words\n", encoding="utf-8")
    (outside / "campaign.toml").write_text('title = "secret words"\n', encoding="utf-8")
    (visitor.root / "climbs" / entry).unlink(missing_ok=True)
    target = outside if entry == ".unsaved" else outside / ("campaign.toml" if entry.endswith("toml") else "secret.csv")
    (visitor.root / "climbs" / entry).symlink_to(target)
    for where in ("/", "/c/climbs/settings", f"/c/climbs/runs/{STEM}", "/c/climbs/verdict", "/c/climbs/take-along/zip"):
        answer = visitor.get(where)
        assert b"secret words" not in answer.content
        if where != "/":
            assert answer.status_code == 422
            assert "holds a link to another place" in answer.text


@pytest.mark.parametrize("entry", ["campaign.toml", f"{STEM}.csv"])
def test_a_link_among_what_is_typed_is_not_followed(visitor, entry):
    visitor.cell(0, "notes", "typed")
    secret = visitor.root.parent / "secret"
    secret.write_text('title = "secret words"\n', encoding="utf-8")
    (visitor.root / "climbs" / ".unsaved" / entry).unlink()
    (visitor.root / "climbs" / ".unsaved" / entry).symlink_to(secret)
    for where in ("/", "/c/climbs/settings", f"/c/climbs/runs/{STEM}"):
        assert "secret words" not in visitor.get(where).text
    visitor.cell(0, 0, "9", ["1"])
    assert secret.read_text(encoding="utf-8") == 'title = "secret words"\n'


def test_a_campaign_that_is_itself_a_link_is_not_in_the_store(visitor):
    outside = put_campaign(visitor.root.parent, "outside")
    (visitor.root / "linked").symlink_to(outside, target_is_directory=True)
    assert "linked" not in visitor.get("/").text
    assert visitor.get("/c/linked/settings").status_code == 422


def test_a_link_that_its_owner_names_is_opened(tmp_path):
    """What is on the command line is the owner's business, links included."""
    folder = put_campaign(tmp_path / "elsewhere")
    (tmp_path / "here").symlink_to(folder, target_is_directory=True)
    assert "climbs" in Visitor(tmp_path / "here").get("/").text


@pytest.mark.parametrize(
    "name", ["a#b", "50% pitch", "one?two", "a b", "ü&<b>", "it's", 'quote"d', "a+b", "back\\slash"]
)
def test_any_name_that_a_folder_can_have(visitor, name):
    put_campaign(visitor.root, name)
    store = Parsed(visitor.get("/").text)
    link = next(link for link in store.links if link.startswith("/c/") and link != "/c/climbs")
    first = visitor.get(link)
    assert first.status_code == 303
    assert visitor.get(first.headers["location"]).status_code == 200
    answer = visitor.post(f"{link}/runs/{STEM}/form", data={"do": "convert", "column": "4", "unit": "degF"})
    assert answer.status_code == 303
    page = visitor.get(answer.headers["location"])
    assert page.status_code == 200
    assert "was brought from degC to degF" in " ".join(page.text.split())
    assert visitor.post(f"{link}/save").status_code == 200
    assert "oat [degF]" in (visitor.root / name / f"{STEM}.csv").read_text(encoding="utf-8")


def test_a_name_that_no_page_can_show_stops_no_other(visitor):
    folder = os.path.join(os.fsencode(visitor.root), b"caf\xe9")
    os.mkdir(folder)
    with open(os.path.join(folder, b"campaign.toml"), "wb"):
        pass
    assert visitor.get("/").status_code == 200
