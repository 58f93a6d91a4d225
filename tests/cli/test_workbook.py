"""One workbook in place of many files: written, filled in, unpacked, and judged like any campaign."""

from __future__ import annotations

import openpyxl

from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.simulator.examples.catalogue import write_example


def test_an_example_through_a_workbook_gives_the_same_answer(run, tmp_path):
    code, out, _ = run("new", tmp_path / "book", "--xlsx", "--example", "warming_day")
    assert code == 0
    assert {path.name for path in (tmp_path / "book").iterdir()} == {"campaign.xlsx", "TRUTH.md"}
    assert f"samesky unpack {tmp_path / 'book' / 'campaign.xlsx'} {tmp_path / 'book_files'}" in out
    assert run("unpack", tmp_path / "book" / "campaign.xlsx", tmp_path / "book_files")[0] == 0
    plain = compare(read(write_example("warming_day", tmp_path / "plain")))
    again = compare(read(tmp_path / "book_files"))
    assert [one.to_json() for one in again] == [one.to_json() for one in plain]


def test_a_fresh_workbook_is_filled_in_and_checked(run, tmp_path):
    code, out, _ = run("new", tmp_path / "mine", "--xlsx")
    assert code == 0
    assert {path.name for path in (tmp_path / "mine").iterdir()} == {"campaign.xlsx", "README.txt"}
    assert "samesky unpack" in (tmp_path / "mine" / "README.txt").read_text()
    path = tmp_path / "mine" / "campaign.xlsx"
    book = openpyxl.load_workbook(path)
    sheet = book["static_pull"]
    names = [cell.value.partition(" [")[0] for cell in sheet[1]]
    for run_number, (key, pull) in enumerate([("A", 1800), ("B", 1850), ("B", 1845), ("A", 1795)], start=1):
        typed = {"run": run_number, "date": "2025-05-09", "clock": f"0{run_number + 5}:30", "configuration": key}
        typed |= {"pull": pull, "oat": 12.5, "qnh": 1018, "rpm": 2300}
        sheet.append([typed.get(name) for name in names])
    book.save(path)
    assert run("unpack", path, tmp_path / "files")[0] == 0
    code, out, err = run("check", tmp_path / "files")
    assert (code, err) == (0, "")
    assert "4 runs counted, 0 errors" in out


def test_a_formula_stops_with_its_cell(run, tmp_path):
    run("new", tmp_path / "mine", "--xlsx")
    path = tmp_path / "mine" / "campaign.xlsx"
    book = openpyxl.load_workbook(path)
    book["static_pull"]["A2"] = "=1+1"
    book.save(path)
    code, out, err = run("unpack", path, tmp_path / "files")
    assert (code, out) == (2, "")
    assert "campaign.xlsx, sheet 'static_pull', cell A2: found the formula '=1+1', expected a value." in err
    assert not (tmp_path / "files").exists()


def test_nobody_s_files_are_overwritten(run, tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    for words in (("--xlsx",), ("--xlsx", "--example", "warming_day")):
        code, _, err = run("new", tmp_path, *words)
        assert code == 2
        assert "the folder is not empty" in err
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]
