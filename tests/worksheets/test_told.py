"""A page says what was just done, once; an address that somebody made up makes none of them say anything."""

from __future__ import annotations

import re

import pytest
from worksheet_client import STEM, Visitor, put_campaign

from samesky.worksheets.latest import Latest
from samesky.worksheets.server import flash as told

pytestmark = pytest.mark.usefixtures("figures_unprinted")

MADE_UP = "Pay 100 at the desk before you fly"


@pytest.fixture
def visitor(tmp_path):
    put_campaign(tmp_path / "hangar")
    return Visitor(tmp_path / "hangar")


@pytest.mark.parametrize("page", ["settings", f"runs/{STEM}", "verdict", "today", "plan", "evidence"])
def test_no_page_says_what_stands_in_an_address(visitor, page):
    for name in ("said", "message", "note", "problem"):
        answer = visitor.get(f"/c/climbs/{page}", params={name: MADE_UP})
        assert answer.status_code == 200
        assert MADE_UP not in answer.text


def added(visitor) -> str:
    answer = visitor.form(do="convert", column="10", unit="min")
    assert answer.status_code == 303
    return answer.headers["location"]


def test_what_was_done_is_said_once(visitor):
    where = added(visitor)
    assert "brought" not in where
    assert "elapsed: every number was brought from s to min." in visitor.get(where).text
    again = visitor.get(where)
    assert again.status_code == 200
    assert "was brought" not in again.text


def test_the_report_that_was_saved_is_said(visitor):
    where = visitor.post("/c/climbs/report").headers["location"]
    assert "Saved, with report.html beside it." in visitor.get(where).text


def test_the_word_in_the_address_cannot_be_guessed(visitor):
    words = [re.search(r"said=([\w-]+)$", added(visitor)).group(1) for _ in range(3)]
    assert len(set(words)) == 3
    assert min(map(len, words)) >= 16


def test_sentences_that_nobody_fetches_go(monkeypatch):
    monkeypatch.setattr(told, "_waiting", Latest(3))
    for k in range(10):
        told.with_words("/c/climbs", f"sentence {k}")
    assert len(told._waiting) == 3
    assert told.with_words("/c/climbs", "") == "/c/climbs"
    assert told.with_words("/c/climbs?other=B", "x").startswith("/c/climbs?other=B&said=")
