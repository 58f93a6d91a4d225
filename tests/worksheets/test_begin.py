"""The page Start: eight screens that keep nothing, any of them wrong or from elsewhere, and a campaign at the end."""

from __future__ import annotations

import html
import json
import re

import pytest
from worksheet_client import Visitor

from samesky.campaign.reading.read import read
from samesky.campaign.start.questions import questions


def carried(page: str) -> str:
    return html.unescape(re.search(r'name="so_far" value="([^"]*)"', page)[1])


def number(page: str) -> int:
    return int(re.search(r'name="number" value="(\d+)"', page)[1])


def sent(page: str, **typed):
    """What a browser sends of a screen: its answers as they stand, and what was typed."""
    question = questions(json.loads(carried(page)))[number(page)]
    fields = {one.name: one.ready.split(",") if one.kind == "several" else one.ready for one in question.fields}
    return {"so_far": carried(page), "number": str(number(page)), "way": "on", **fields, **typed}


def test_eight_screens_make_a_campaign_with_its_plan(tmp_path):
    visitor = Visitor(tmp_path)
    assert 'href="/begin"' in visitor.get("/").text
    page = visitor.get("/begin").text
    for place in range(8):
        assert number(page) == place
        assert f"Question {place + 1} of 8" in page
        typed = {"title": "Coarse <pitch>"} if place == 0 else {"tools": ["scale", "watch"]} if place == 2 else {}
        answer = visitor.post("/begin", data=sent(page, **typed))
        page = answer.text
    assert answer.status_code == 303
    assert answer.headers["location"] == "/c/coarse-pitch/plan"
    campaign = read(tmp_path / "coarse-pitch")
    assert campaign.title == "Coarse <pitch>"
    assert list(campaign.asked) == ["static_pull", "timed_climb"]
    assert visitor.get("/c/coarse-pitch/plan").status_code == 200


def test_what_is_wrong_is_said_on_its_own_screen_and_nothing_typed_is_lost(tmp_path):
    visitor = Visitor(tmp_path)
    page = visitor.post("/begin", data=sent(visitor.get("/begin").text, title="Mine")).text
    nothing = {key: value for key, value in sent(page).items() if key != "flying"}
    answer = visitor.post("/begin", data=nothing)
    assert answer.status_code == 400
    assert number(answer.text) == 1
    assert "nothing was typed" in answer.text
    assert json.loads(carried(answer.text))["title"] == "Mine"
    back = visitor.post("/begin", data=sent(page, way="back")).text
    assert number(back) == 0
    assert 'value="Mine"' in back


@pytest.mark.parametrize(
    "so_far", ["", "[", "[]", '{"title": 5}', '{"flying": "moon"}', "x" * 30_000, "[" * 15_000, '{"tools": "hammer"}']
)
@pytest.mark.parametrize("place", ["0", "7", "8", "-1", "x", "", "9" * 400, "²"])
def test_what_comes_from_elsewhere_begins_again(tmp_path, so_far, place):
    answer = Visitor(tmp_path).post("/begin", data={"so_far": so_far, "number": place, "way": "on"})
    assert answer.status_code == 200
    assert number(answer.text) in (0, 1)
    assert list(tmp_path.iterdir()) == []
