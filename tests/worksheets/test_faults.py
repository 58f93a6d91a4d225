"""A fault of ours in arithmetic costs no typing: one sentence on the page, where it was in the window."""

from __future__ import annotations

import logging
from pathlib import Path

import evening
import pytest
from worksheet_client import STEM, Visitor, put_campaign

from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.sentences import Said
from samesky.worksheets import answers
from samesky.worksheets.plan import work as plan_work
from samesky.worksheets.server import faults
from samesky.worksheets.today import cards as today_cards
from samesky.worksheets.today import pages as today_pages

SAID = "a fault in samesky itself (ZeroDivisionError), not in your numbers"
CSV = f"{STEM}.csv"


def broken(*_, **__):
    return 1 / 0


@pytest.fixture
def folder(tmp_path):
    faults._shown.clear()
    return put_campaign(tmp_path / "hangar")


@pytest.fixture
def visitor(folder):
    return Visitor(folder.parent, raising=True)


@pytest.mark.parametrize("where", ["compare", "check", "read_texts"])
def test_typing_goes_on_and_the_page_says_so(visitor, folder, monkeypatch, caplog, where):
    state = visitor.state()
    monkeypatch.setattr(answers, where, broken)
    answer = visitor.cell(1, 10, "91.5", state["rows"][1])
    assert answer.status_code == 200
    assert SAID in answer.json()["verdict"]
    assert answer.json()["rows"][1][10] == "91.5"
    assert "91.5" in (folder / ".unsaved" / CSV).read_text(encoding="utf-8")
    assert visitor.entry("", "question", "Which one?").status_code == 200
    for page in ("settings", f"runs/{STEM}", "verdict", "today", "plan", "evidence"):
        answer = visitor.get(f"/c/climbs/{page}")
        assert answer.status_code == 200, page
        assert SAID in answer.text or page in ("plan", "evidence") or (page == "today" and where != "read_texts"), page
    # With its place, for a report; once, not at every key.
    assert visitor.cell(1, 10, "91.6").status_code == 200
    (record,) = [one for one in caplog.records if one.name == "samesky.worksheets"]
    assert record.levelno == logging.ERROR
    assert record.exc_info[0] is ZeroDivisionError
    assert visitor.post("/c/climbs/save").status_code == 200
    assert "91.6" in (folder / CSV).read_text(encoding="utf-8")
    # Mended, it answers again.
    monkeypatch.undo()
    assert "B" in visitor.cell(1, 10, "91.7").json()["verdict"]


def test_the_window_shows_where_it_was(visitor, monkeypatch, capfd):
    monkeypatch.setattr(answers, "compare", broken)
    logging.getLogger("samesky.worksheets").addHandler(shown := logging.StreamHandler())
    try:
        visitor.cell(0, "notes", "typed")
    finally:
        logging.getLogger("samesky.worksheets").removeHandler(shown)
    said = capfd.readouterr().err
    assert "ZeroDivisionError" in said
    assert Path(__file__).name in said
    assert "Please report" in said


def test_what_is_expected_stays_as_it_is(visitor, monkeypatch):
    def refused(*_, **__):
        raise cannot(CSV, Said("a.code", "cannot be compared.", "Mend it."))

    monkeypatch.setattr(answers, "compare", refused)
    answer = visitor.get("/c/climbs/verdict")
    assert answer.status_code == 422
    assert "cannot be compared. Mend it." in answer.text
    assert not faults._shown


def test_one_card_that_fails_leaves_the_others(visitor, monkeypatch):
    monkeypatch.setattr(today_cards.apron, "air_now", broken)
    given = {"oat": "12", "qnh": "1013", "wind": "4", "wind from": "240", "fuel": "30", "configuration": "A"}
    cards = visitor.get("/c/climbs/today/cards", params=given).json()["cards"]
    assert cards.count(SAID) == 1
    assert "Weight and balance" in cards
    assert "509" in cards or "weighs" in cards


def test_one_more_block(visitor, monkeypatch):
    monkeypatch.setattr(today_pages.apron, "one_more_or_stop", broken)
    asked = {"oat": "12", "fuel": "30", "clock": "10:00"}
    assert SAID in visitor.get("/c/climbs/today/more", params=asked).json()["cards"]


def test_the_report(visitor, monkeypatch):
    from samesky.report import page

    monkeypatch.setattr(page, "page", broken)
    answer = visitor.get("/c/climbs/report.html")
    assert answer.status_code == 422
    assert SAID in answer.text
    assert visitor.post("/c/climbs/report").status_code == 422
    assert visitor.get("/c/climbs/verdict").status_code == 200


@pytest.mark.parametrize("what", ["question", "plan", "rehearse"])
def test_the_plan(pages, monkeypatch, what):
    from samesky.planning import plan
    from samesky.rehearsal import rehearse

    faults._shown.clear()
    evening.with_one_measure(evening.put(pages))
    with evening.asking(pages) as client:
        if what == "question":
            monkeypatch.setattr(plan_work, "question", broken)
            assert SAID in client.get(evening.at()).text
        elif what == "plan":
            monkeypatch.setattr(plan, "plan", broken)
            answer = client.get(evening.at("/worked"), headers=evening.JSON)
            assert answer.status_code == 422
            assert SAID in answer.json()["problem"]
            assert SAID in client.get(evening.at(), params={"work": "1"}).text
        else:
            monkeypatch.setattr(rehearse, "rehearse", broken)
            sent = {"campaigns": "5", "seed": "1"}
            answer = client.post(evening.at("/rehearse"), data=sent, headers=evening.JSON)
            assert answer.status_code == 422
            assert SAID in answer.json()["problem"]
            # The next is not kept waiting for it.
            again = client.post(evening.at("/rehearse"), data=sent, headers=evening.JSON)
            assert SAID in again.json()["problem"]
        assert evening.typed(client, "", "title", "Still typing")
