"""Cards and rehearsals from the pages are those of the command line, byte for byte."""

from __future__ import annotations

import html
import sys

import evening
import pytest
from slow_cases import slow_unless

from samesky.worksheets.draft import Draft
from samesky.worksheets.plan import work as plan_work


@pytest.fixture
def folder(pages):
    return evening.put(pages)


@pytest.fixture
def one_measure(folder):
    return evening.with_one_measure(folder)


@pytest.fixture
def client(pages, folder):
    with evening.asking(pages) as opened:
        yield opened


@pytest.mark.parametrize("paper", slow_unless(["a5"], ["a5", "letter-half"]))
def test_cards_are_those_of_the_command_line(client, folder, tmp_path, monkeypatch, paper):
    pytest.importorskip("reportlab")
    target = tmp_path / "by_hand" / "cards.html"
    evening.by_the_command_line(folder, monkeypatch, "cards", "--paper", paper, "--pdf", "--out", str(target))
    shown_cards = client.get(evening.at("/cards.html"), params={"other": "B", "paper": paper})
    assert shown_cards.content == target.read_bytes()
    policy = shown_cards.headers["content-security-policy"]
    assert "script-src" not in policy
    assert "default-src 'none'" in policy
    pdf = client.get(evening.at("/cards.pdf"), params={"paper": paper})
    assert pdf.headers["content-type"] == "application/pdf"
    assert "attachment" in pdf.headers["content-disposition"]
    assert pdf.content == target.with_suffix(".pdf").read_bytes()
    assert not (folder / "cards.html").exists()
    answer = client.post(evening.at("/cards"), data={"other": "B", "paper": paper})
    assert answer.status_code == 303
    assert (folder / "cards.html").read_bytes() == target.read_bytes()
    assert "In the campaign's folder now: cards.html" in html.unescape(client.get(answer.headers["location"]).text)
    # Looking at them, or writing them, is no typing.
    assert not Draft(folder).changed()


def test_blanks_follow_the_table_as_it_is_typed_now(client, one_measure):
    client.get(evening.at("/worked"), headers=evening.JSON)
    Draft(one_measure).write("timed_climb.csv", "run,date,clock,configuration,from [m],to [m],elapsed [s],notes\n")
    page = client.get(evening.at("/cards.html")).text
    assert "from [m]" in page
    assert "from [ft]" not in page


@pytest.mark.parametrize("paper", ["napkin", "<b>a5</b>", "A5", "../a5", "\x00", "a" * 3000])
def test_a_paper_that_is_none(client, one_measure, paper):
    for place in ("/cards.html", "/cards.pdf"):
        answer = client.get(evening.at(place), params={"paper": paper}, headers=evening.JSON)
        assert answer.status_code == 422
        assert "Choose a5 or letter-half." in answer.json()["problem"]
    assert "<b>a5" not in client.get(evening.at("/cards.html"), params={"paper": paper}).text
    assert client.post(evening.at("/cards"), data={"paper": paper}).status_code == 422
    assert not (one_measure / "cards.html").exists()


def test_without_the_library_one_message_and_the_cards_all_the_same(client, one_measure, monkeypatch):
    monkeypatch.setitem(sys.modules, "reportlab.platypus", None)
    answer = client.get(evening.at("/cards.pdf"), headers=evening.JSON)
    assert answer.status_code == 422
    assert "needs the library reportlab" in answer.json()["problem"]
    assert "samesky[cards]" in answer.json()["problem"]
    assert client.get(evening.at("/cards.html")).status_code == 200


def test_cards_that_cannot_be_written_are_said_to_be_so(client, one_measure):
    (one_measure / "cards.html").mkdir()
    answer = client.post(evening.at("/cards"), data={"paper": "a5"})
    assert answer.status_code == 422
    assert "cards.html" in answer.text
    assert not list((one_measure / "cards.html").iterdir())


def test_a_rehearsal_is_that_of_the_command_line(client, one_measure, tmp_path, monkeypatch):
    asked = {"other": "B", "campaigns": "3", "seed": "7"}
    before = client.get(evening.at("/rehearsal.html"), params=asked, headers=evening.JSON)
    assert before.status_code == 422
    assert "Press Rehearse" in before.json()["problem"]
    answer = client.post(evening.at("/rehearse"), data=asked, headers=evening.JSON)
    assert answer.status_code == 200
    flown = client.get(answer.json()["page"])
    target = tmp_path / "rehearsal.html"
    evening.by_the_command_line(
        one_measure, monkeypatch, "rehearse", "--campaigns", "3", "--seed", "7", "--out", str(target)
    )
    assert flown.content == target.read_bytes()
    assert "script-src" not in flown.headers["content-security-policy"]
    assert "frame-ancestors 'self'" in flown.headers["content-security-policy"]
    # As a plain form: back to the page, with the rehearsal in it and its numbers in the form.
    answer = client.post(evening.at("/rehearse"), data=asked)
    page = client.get(answer.headers["location"]).text
    assert 'src="/c/evening/plan/rehearsal.html?other=B&amp;campaigns=3&amp;seed=7"' in page
    assert 'name="campaigns" value="3"' in page
    # What has changed since is not what was rehearsed.
    evening.typed(client, "plan", "end", "10:30")
    assert client.get(evening.at("/rehearsal.html"), params=asked, headers=evening.JSON).status_code == 422


def test_rehearsals_go_one_at_a_time(client, one_measure):
    with plan_work._rehearsing:
        answer = client.post(evening.at("/rehearse"), data={"campaigns": "3", "seed": "1"}, headers=evening.JSON)
        assert answer.status_code == 422
        assert "one at a time" in answer.json()["problem"]
        assert client.get(evening.at()).status_code == 200


@pytest.mark.parametrize(
    ("campaigns", "seed"),
    [("0", "1"), ("1001", "1"), ("9" * 400, "1"), ("-3", "1"), ("3.5", "1"), ("٣", "1"), ("", ""), ("3", "x<b>")],
)
def test_numbers_that_are_none(client, folder, campaigns, seed, monkeypatch):
    monkeypatch.setattr(plan_work, "_rehearsed", None)
    answer = client.post(evening.at("/rehearse"), data={"campaigns": campaigns, "seed": seed}, headers=evening.JSON)
    assert answer.status_code == 422
    assert "Give a whole number" in answer.json()["problem"]
    assert len(answer.text) < 300
    assert client.get(evening.at(), params={"campaigns": campaigns, "seed": seed}).status_code == 200
