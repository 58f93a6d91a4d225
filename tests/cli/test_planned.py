"""The verb ``plan`` puts its order into the files, and the other verbs know what is still to be flown."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import openpyxl
import pytest
import saturday

from samesky.campaign.entries.edit import without_group
from samesky.campaign.reading.read import read
from samesky.campaign.reading.unflown import next_words, planned_runs
from samesky.planning.plan import plan

#: Two measures and steady rolls: one day settles it, so that nobody has to search for what would.
SETTLED = [("days = 2", "days = 1"), ('scatter = "6 %"', 'scatter = "2 %"')]


@pytest.fixture(scope="module")
def two_measures(tmp_path_factory):
    place = saturday.write(tmp_path_factory.mktemp("planned") / "mine", *SETTLED)
    text = (place / "campaign.toml").read_text(encoding="utf-8")
    for kind in ("plan", "measure"):
        text = without_group(text, (kind, "timed_climb"))
    (place / "campaign.toml").write_text(text, encoding="utf-8")
    return place


@pytest.fixture
def folder(two_measures, tmp_path):
    return Path(shutil.copytree(two_measures, tmp_path / "mine"))


def expected(made):
    return [(run.measure, str(run.number)) for block in made.schedule.blocks for run in block.runs]


def test_the_plan_into_the_tables(run, folder):
    made = plan(read(folder, flown=False))
    run("plan", folder)
    assert not list(folder.glob("*.csv")), "only where it is asked for"
    code, out, err = run("plan", folder, "--into-tables")
    assert (code, err) == (0, "")
    assert "\nTake-off roll: " in out
    assert [(one.measure, one.run) for one in planned_runs(read(folder, flown=False))] == expected(made)
    code, out, err = run("plan", folder, "--into-tables", "--json")
    assert json.loads(out)
    assert err.endswith("nothing would change.\n")


def test_what_cannot_be_put_is_said_and_nothing_written(run, folder):
    text = "date,clock,configuration,ground roll [ft]\n2026-05-09,07:00,A,410\n2026-05-09,08:00,B,400\n"
    (folder / "takeoff_roll.csv").write_text(text, encoding="utf-8")
    code, _, err = run("plan", folder, "--into-tables")
    assert code == 2
    assert "[plan] first date: is 2026-05-09, and runs were flown until 2026-05-09" in err
    assert [path.name for path in folder.glob("*.csv")] == ["takeoff_roll.csv"]
    assert (folder / "takeoff_roll.csv").read_text(encoding="utf-8") == text


def test_check_and_compare_say_what_is_ahead(run, folder):
    text = "run,date,clock,configuration,ground roll [ft],notes\n"
    text += "".join(f"{k},2026-05-02,0{k + 6}:00,{'ABBA'[k % 4]},{400 + k},\n" for k in range(3))
    (folder / "takeoff_roll.csv").write_text(text, encoding="utf-8")
    run("plan", folder, "--into-tables")
    ahead = read(folder)
    said = f"{len(ahead.unflown)} planned runs are not flown yet: "
    for verb in ("check", "compare"):
        code, out, err = run(verb, folder)
        assert (code, err) == (0, "")
        assert said in out
        assert out.endswith(f"{next_words(ahead)}\n")
    assert "3 runs counted, 0 errors" in run("check", folder)[1]
    assert "planned" not in run("compare", folder, "--json")[1]
    run("report", folder)
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert said in page
    assert "Nothing on this page rests on them." in page


def test_planned_rows_go_through_a_workbook_and_back(run, folder, tmp_path):
    run("plan", folder, "--into-tables")
    before = {path.name: path.read_bytes() for path in [*folder.glob("*.csv"), folder / "campaign.toml"]}
    assert run("pack", folder, "--out", tmp_path / "all.xlsx")[0] == 0
    assert run("unpack", tmp_path / "all.xlsx", tmp_path / "back")[0] == 0
    assert {name: (tmp_path / "back" / name).read_bytes() for name in before} == before
    assert run("pack", folder, "--out", tmp_path / "all.zip")[0] == 0
    assert run("unpack", tmp_path / "all.zip", tmp_path / "zipped")[0] == 0
    assert read(tmp_path / "zipped", flown=False).unflown == read(folder, flown=False).unflown
    assert run("check", tmp_path / "zipped")[2].count("error:") == 1


def test_rows_planned_by_hand_in_a_fresh_workbook_are_planned_rows(run, tmp_path):
    run("new", tmp_path / "mine", "--xlsx")
    path = tmp_path / "mine" / "campaign.xlsx"
    book = openpyxl.load_workbook(path)
    sheet = book["static_pull"]
    names = [cell.value.partition(" [")[0] for cell in sheet[1]]
    for number, key in enumerate("ABA", start=1):
        typed = {"run": number, "date": "2026-05-09", "configuration": key, "notes": f"block {number}"}
        sheet.append([typed.get(name) for name in names])
    book.save(path)
    assert run("unpack", path, tmp_path / "files")[0] == 0
    campaign = read(tmp_path / "files")
    assert [(one.run, one.date, one.configuration, one.block) for one in campaign.unflown] == [
        ("1", "2026-05-09", "A", 1),
        ("2", "2026-05-09", "B", 2),
        ("3", "2026-05-09", "A", 3),
    ]
    code, out, err = run("check", tmp_path / "files")
    assert code == 2
    assert err.count("error:") == 1
    assert "all 3 rows of static_pull.csv are planned runs" in err
    assert out.endswith("Next run: A, block 1 (static pull, run 1).\n")
