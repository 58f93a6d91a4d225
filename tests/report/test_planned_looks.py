"""Planned looks and left-out runs on the page, in the terminal and in JSON, through the command line."""

from __future__ import annotations

import json
import re

import pytest

from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.report import phrases
from samesky.simulator.examples.catalogue import write_example

pytestmark = pytest.mark.usefixtures("figures_unprinted")

#: finer_pitch: the timed climb decides, 20 runs of it.
RUNS = 20


@pytest.fixture
def folder(tmp_path):
    return write_example("finer_pitch", tmp_path / "flown")


@pytest.fixture
def spoken(run):
    def command(*words) -> str:
        code, out, _ = run(*words)
        assert code == 0
        return " ".join(out.replace("\u00a0", " ").split())

    return command


def with_looks(folder, entry):
    path = folder / "campaign.toml"
    path.write_text(f"{path.read_text(encoding='utf-8')}\n[plan]\n{entry}\n", encoding="utf-8")
    return folder


def page(folder) -> str:
    text = (folder / "report.html").read_text(encoding="utf-8").replace("\u00a0", " ")
    return " ".join(re.sub(r"<[^>]+>", " ", text.partition("<body>")[2]).split())


def test_between_looks_terminal_page_and_json_say_the_same_and_no_result(spoken, folder):
    asked = compare(read(folder))
    assert sum(next(one for one in asked if one.primary).runs.values()) == RUNS
    with_looks(folder, f"looks_after_runs = [10, {RUNS + 6}]")
    said = (
        f"No verdict between planned looks. {RUNS} runs of the timed climb are flown; look 2 of 2 comes after "
        f"{RUNS + 6} runs: 6 to go."
    )
    texts = [spoken("compare", folder), spoken("report", folder), page(folder)]
    html = (folder / "report.html").read_text(encoding="utf-8")
    for text in texts:
        assert said in text
        assert f"{RUNS} runs (" in text
        assert "is better" not in text
        for one in asked:
            for told in (phrases.difference(one), phrases.interval(one, one.interval_95), phrases.sentence(one)):
                assert told.replace("\u00a0", " ") not in text
    assert "<img" not in html
    assert 'href="#figures"' not in html
    everything = json.loads(spoken("compare", folder, "--json"))
    machine = everything["measures"]
    # Nor is a difference of thrust told, which would tell the results in another unit.
    for pair in everything["excess_thrust"]:
        assert (pair["points"], pair["predicted"], pair["agreement_p"]) == ([], {}, None)
        assert pair["refused"].partition(" What")[0] == said
    assert {one["withheld"].partition(" What")[0] for one in machine} == {said}
    assert {one["verdict"] for one in machine} == {None}
    assert {one["difference"] for one in machine} == {None}


def test_at_a_look_its_interval_is_shown_and_named(spoken, folder):
    with_looks(folder, f"looks_after_runs = [{RUNS}, {2 * RUNS}]")
    (climb,) = [one for one in compare(read(folder)) if one.primary]
    texts = [spoken("compare", folder), spoken("report", folder), page(folder)]
    shown = phrases.interval(climb, climb.interval).replace("\u00a0", " ")
    assert shown != phrases.interval(climb, climb.interval_95).replace("\u00a0", " ")
    assert phrases.changes(climb, climb.interval).replace("\u00a0", " ") in texts[0]
    assert shown in texts[2]
    assert phrases.sentence(climb).replace("\u00a0", " ") in texts[1]
    assert f"99.48 % ({100 * climb.equivalence_level:.4g} %) interval" in texts[2]
    assert "This is look 1 of 2" in texts[2]
    assert "95 % interval lies" not in texts[2]
    # A mission is weighed once, at the end.
    assert "Keep both and swap" not in texts[1]
    assert "Short strip" not in texts[1]


def test_a_report_at_a_look_that_is_asked_for(spoken, folder):
    with_looks(folder, "looks = 2")
    assert "not after which runs" in spoken("report", folder)
    assert "B is better" in spoken("report", folder, "--look", 1)
    assert "This is look 1 of 2" in page(folder)


def test_runs_left_out_stand_in_the_headline_with_why(spoken, folder):
    path = folder / "timed_climb.csv"
    header, *rows = path.read_text(encoding="utf-8").splitlines()
    column = header.split(",").index("exclude")

    def without(row, why):
        cells = row.split(",")
        cells[column] = why
        return ",".join(cells)

    rows[2], rows[5], rows[6] = (
        without(rows[2], "a gust"),
        without(rows[5], "other traffic"),
        without(rows[6], "a gust"),
    )
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    before = sum(not row.split(",")[column] for row in rows)
    names = [row.split(",")[header.split(",").index("run")] for row in rows]
    (climb,) = [one for one in compare(read(folder)) if one.primary]
    said = f"left out: runs {names[2]} and {names[6]} (a gust) and run {names[5]} (other traffic)"
    for text in (spoken("compare", folder), spoken("report", folder), page(folder)):
        assert f"{before} of {RUNS} runs (" in text
        assert said in text
    told = json.loads(spoken("compare", folder, "--json"))["measures"]
    machine = next(one for one in told if one["measure"] == "timed_climb")
    assert machine["left_out"] == [
        {"run": names[2], "why": "a gust"},
        {"run": names[5], "why": "other traffic"},
        {"run": names[6], "why": "a gust"},
    ]
    assert sum(machine["runs"].values()) == before == sum(climb.runs.values())


def test_where_every_run_counts_nothing_is_said_of_left_out_ones(spoken, folder):
    machine = json.loads(spoken("compare", folder, "--json"))["measures"]
    for one in machine:
        table = read(folder).tables[one["measure"]]
        assert [each["run"] for each in one["left_out"]] == [
            name for name, why in zip(table.text["run"], table.text["exclude"], strict=True) if why
        ]
