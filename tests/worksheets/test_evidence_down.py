"""Descents and landings on the evidence page: asked for like all others, and nothing put without a word."""

from __future__ import annotations

import re
from html import unescape

import flown_tracks as flown
import numpy as np
import pytest
from way_down import way_down
from worksheet_client import Visitor

from samesky.evidence.tracks.rows import local

pytestmark = pytest.mark.usefixtures("drawn_once")

TOML = flown.TOML.replace("timed_climb", "idle_descent").replace("level_speed", "landing_roll").replace("2 kt", "5 %")
DESCENT = {"measure": "idle_descent", "configuration": "A", "utc_offset": "+02:00", "expected": "1"}
DESCENT |= {"oat": "7.5 degC", "qnh": "1013 hPa"}
LANDING = {"measure": "landing_roll", "configuration": "A", "utc_offset": "+02:00", "expected": "1"}


@pytest.fixture(scope="module")
def made():
    return way_down(np.random.default_rng(20))


@pytest.fixture
def folder(tmp_path):
    return flown.put_campaign(tmp_path / "hangar", files={"campaign.toml": TOML})


@pytest.fixture
def visitor(tmp_path, folder):
    return Visitor(tmp_path / "hangar")


def looked(visitor, made, words):
    return flown.looked(visitor, words, data=made.gpx.encode("ascii"), file="down.gpx")[1]


def same_as_the_command_line(tmp_path, monkeypatch, made, words, folder):
    elsewhere = flown.put_campaign(tmp_path / "elsewhere", files={"campaign.toml": TOML})
    (tmp_path / "down.gpx").write_text(made.gpx, encoding="utf-8")
    flown.by_the_command_line(
        monkeypatch, "track", elsewhere, tmp_path / "down.gpx", *flown.options(words), "--write",
        "--out", tmp_path / "page.html",
    )  # fmt: skip
    assert flown.typed(folder) == flown.typed(elsewhere)


def test_the_form_asks_what_these_measures_need(visitor):
    page = visitor.get("/c/mine/evidence").text
    assert '<option value="idle_descent">' in page
    assert '<option value="landing_roll">' in page
    for label in ("Ground speed at touch-down", "Bottom of the band climbed or descended"):
        assert label in page
    for other in ("Ground speed at lift-off", "Level legs of one run"):
        assert other not in page


def test_a_descent_is_the_pilots_to_say(visitor, made, folder, tmp_path, monkeypatch):
    page = looked(visitor, made, DESCENT | {"expected": "3"})
    shown = flown.said(page.text)
    assert "a powered approach looks the same: say between which times the throttle was closed" in shown
    assert "/put" not in page.text
    page = looked(visitor, made, DESCENT)
    shown = flown.said(page.text)
    assert "3 descents found, 1 expected" in shown
    assert "were flown and count" not in shown, "of all of them at once nobody can say that they were at idle"
    links = re.findall(r'<a class="button" href="([^"]+)" aria-label="Take only the descent', page.text)
    assert len(links) == 3
    alone = visitor.get(unescape(links[0]))
    shown = flown.said(alone.text)
    assert "1 descent for idle_descent.csv" in shown
    assert "Was the throttle closed" in shown
    assert "height lost" in shown
    answer = flown.put(visitor, alone.text)
    assert answer.status_code == 303
    words = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]+)"', alone.text))
    words = {name: unescape(text) for name, text in words.items() if name != "version"}
    same_as_the_command_line(tmp_path, monkeypatch, made, words, folder)


def test_a_descent_between_the_times_typed(visitor, made, folder, tmp_path, monkeypatch):
    first, last = (f"{local(moment, 2.0):%H:%M:%S}" for moment in made.idle)
    words = DESCENT | {"from": first, "to": last, "bottom": "900 m", "top": "1400 m"}
    page = looked(visitor, made, words)
    assert "1 descent for idle_descent.csv" in flown.said(page.text)
    assert flown.put(visitor, page.text).status_code == 303
    same_as_the_command_line(tmp_path, monkeypatch, made, words, folder)


def test_a_landing_by_heights_alone_is_not_put(visitor, made, folder, tmp_path, monkeypatch):
    page = looked(visitor, made, LANDING)
    shown = flown.said(page.text)
    assert "too little to compare; say the ground speed at touch-down" in shown
    assert "/put" not in page.text
    words = LANDING | {"touch_down_speed": f"{made.touch_down_speed * 3.6:.0f} km/h"}
    page = looked(visitor, made, words)
    assert "1 landing roll for landing_roll.csv" in flown.said(page.text)
    assert "Take only this one" not in page.text
    assert flown.put(visitor, page.text).status_code == 303
    same_as_the_command_line(tmp_path, monkeypatch, made, words, folder)


def test_a_slip_stands_at_its_field(visitor, made):
    page = looked(visitor, made, LANDING | {"touch_down_speed": "fast"}).text
    field = re.search(r'data-field="touch_down_speed">(.*?)</div>', page, re.DOTALL)[1]
    assert 'aria-invalid="true"' in field
    assert 'role="alert"' in field
