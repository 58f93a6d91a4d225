"""Two people change the same settings: nothing is lost, both values are shown, and the person chooses."""

from __future__ import annotations

import threading

import pytest
from parsed_page import fields_of
from worksheet_client import Visitor, put_campaign

from samesky.campaign.toml.section import FILE
from samesky.worksheets.settings.pages import BETWEEN

PATH, NAME = "aeroplane", "empty_weight"
KEY = f"{PATH}{BETWEEN}empty weight"


@pytest.fixture
def folder(tmp_path):
    return put_campaign(tmp_path / "hangar")


@pytest.fixture
def two(folder):
    return Visitor(folder.parent), Visitor(folder.parent)


def kept(visitor, key=KEY):
    return dict(visitor.settings()["entries"])[key]


def test_the_second_is_told_and_overwrites_nothing(two):
    first, second = two
    seen = kept(first)
    assert seen == "325 kg"
    assert first.entry(PATH, NAME, "331 kg", seen).status_code == 200
    answer = second.entry(PATH, NAME, "329 kg", seen)
    assert answer.status_code == 409
    assert answer.json()["there"] == "331 kg"
    assert "changed on another page" in answer.json()["problem"]
    assert kept(first) == "331 kg"
    # Whoever has seen it may write over it.
    assert second.entry(PATH, NAME, "329 kg", "331 kg").status_code == 200
    assert kept(first) == "329 kg"


@pytest.mark.parametrize(("path", "name", "one", "other"), [
    ("", "question", "Which climbs better?", "Which is quieter?"),
    ("configuration.B", "label", "finer", "coarser"),
    ("measure.timed_climb", "smallest_difference_that_matters", "3 %", "4 %"),
    ("measure.timed_climb", "primary", "false", "true"),
    ("instrument.tape", "standard_uncertainty", "1 ft", "2 ft"),
    ("limits", "fuel", "20 kg, 40 kg", "20 kg, 45 kg"),
    ("engine", "gear_ratio", "2.27", "2.58"),
])  # fmt: skip
def test_every_kind_of_entry_is_asked_about(two, path, name, one, other):
    first, second = two
    key = BETWEEN.join(filter(None, [path.replace(".", BETWEEN), name.replace("_", " ")]))
    seen = dict(first.settings()["entries"]).get(key, "")
    assert first.entry(path, name, one, seen).status_code == 200
    answer = second.entry(path, name, other, seen)
    # "primary" was true before: typing what it was is a change as well by now.
    assert answer.status_code == 409, (seen, answer.text)
    assert answer.json()["there"] == kept(first, key)
    assert kept(first, key) == one


def test_both_typed_the_same(two):
    first, second = two
    assert first.entry(PATH, NAME, "331 kg", "325 kg").status_code == 200
    assert second.entry(PATH, NAME, "331 kg", "325 kg").status_code == 200


def test_different_entries_meet_without_a_word(two):
    first, second = two
    assert first.entry(PATH, NAME, "331 kg", "325 kg").status_code == 200
    assert second.entry(PATH, "maximum_weight", "561 kg", "560 kg").status_code == 200
    assert kept(first) == "331 kg"


def test_an_entry_taken_out_or_put_in_meanwhile(two):
    first, second = two
    assert first.entry(PATH, NAME, "", "325 kg").status_code == 200
    answer = second.entry(PATH, NAME, "329 kg", "325 kg")
    assert (answer.status_code, answer.json()["there"]) == (409, "")
    assert "nothing stands there now" in answer.json()["problem"]
    assert first.entry("engine", "power", "80 hp", kept(first, f"engine{BETWEEN}power")).status_code == 200
    assert second.entry("engine", "power", "90 hp", "").status_code == 409


def test_a_change_that_does_not_say_what_it_saw_is_none(two):
    sent = {"path": PATH, "name": NAME, "text": "329 kg"}
    assert two[0].send("/c/climbs/settings/entry", sent).status_code == 422
    assert kept(two[0]) == "325 kg"


def test_an_editor_is_other_hands_as_well(two, folder):
    text = (folder / FILE).read_text(encoding="utf-8")
    (folder / FILE).write_text(text.replace('"325 kg"', '"340 kg"'), encoding="utf-8")
    answer = two[0].entry(PATH, NAME, "329 kg", "325 kg")
    assert (answer.status_code, answer.json()["there"]) == (409, "340 kg")


def group_form(visitor, path="aeroplane") -> dict[str, str]:
    """The fields of one table, as a browser without scripts would send them."""
    return fields_of(visitor.get("/c/climbs/settings").text, "data-group", path)


def test_without_scripts_what_was_not_touched_stays_as_it_is_by_now(two):
    first, second = two
    sent = group_form(second)
    assert first.entry(PATH, NAME, "331 kg").status_code == 200
    sent["e.maximum_weight"] = "561 kg"
    assert second.post("/c/climbs/settings/group", data={**sent, "do": "keep"}).status_code == 303
    assert kept(first) == "331 kg"
    assert kept(first, f"aeroplane{BETWEEN}maximum weight") == "561 kg"


def test_without_scripts_the_same_entry_is_told_with_both(two):
    first, second = two
    sent = group_form(second)
    assert first.entry(PATH, NAME, "331 kg").status_code == 200
    sent |= {"e.maximum_weight": "561 kg", "e.empty_weight": "329 kg"}
    answer = second.post("/c/climbs/settings/group", data={**sent, "do": "keep"})
    assert answer.status_code == 409
    assert "331 kg" in answer.text
    # All of it or none.
    assert kept(first) == "331 kg"
    assert kept(first, f"aeroplane{BETWEEN}maximum weight") == "560 kg"


def test_a_table_changed_meanwhile_is_not_taken_away_unseen(two):
    first, second = two
    sent = group_form(second, f"configuration{BETWEEN}B")
    assert first.entry("configuration.B", "label", "finer still").status_code == 200
    gone = {**sent, "do": "remove"}
    assert second.post("/c/climbs/settings/group", data=gone).status_code == 409
    assert kept(first, f"configuration{BETWEEN}B{BETWEEN}label") == "finer still"
    gone = {**group_form(second, f"configuration{BETWEEN}B"), "do": "remove"}
    assert second.post("/c/climbs/settings/group", data=gone).status_code == 303


def test_eight_at_once_lose_nothing(folder):
    """Every value that was acknowledged was there: each next one has seen it, and who had not was told."""
    told = []

    def one(k):
        visitor = Visitor(folder.parent)
        answer = visitor.entry(PATH, NAME, f"{330 + k} kg", "325 kg")
        told.append((k, answer.status_code, answer.json().get("there")))

    threads = [threading.Thread(target=one, args=(k,)) for k in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    (winner,) = [k for k, status, _ in told if status == 200]
    assert {there for _, status, there in told if status == 409} == {f"{330 + winner} kg"}
    assert len(told) == 8


def test_a_page_that_is_open_is_told_what_changed(two):
    first, second = two
    version = second.settings()["version"]
    where = "/c/climbs/settings/state"
    assert second.get(where, params={"version": version}).status_code == 204
    assert first.entry(PATH, NAME, "331 kg").status_code == 200
    answer = second.get(where, params={"version": version})
    assert dict(answer.json()["entries"])[KEY] == "331 kg"


# ---- a tab at once -------------------------------------------------------------------------------------------------


def test_a_measure_that_is_begun_has_its_tab_in_the_same_answer(two):
    first, second = two
    before = first.settings()["tabs"]
    assert "static_pull" not in before
    answer = first.entry("measure.static_pull", "smallest_difference_that_matters", "3 %").json()
    assert 'href="/c/climbs/runs/static_pull"' in answer["tabs"]
    assert f"measure{BETWEEN}static_pull" in answer["on"]
    # On every page that is open.
    for where in ("runs/timed_climb", "verdict"):
        state = second.get(f"/c/climbs/{where}/state").json()
        assert 'href="/c/climbs/runs/static_pull"' in state["tabs"]
    assert second.get("/c/climbs/runs/static_pull").status_code == 200
