"""The command line: every verb does its work; bad input is one message, exit code 2, and nothing half-written."""

from __future__ import annotations

import csv
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from samesky import __version__, cli
from samesky.campaign.reading.read import read
from samesky.cli.app import GROUPS
from samesky.inference.comparison import compare
from samesky.simulator.examples.catalogue import EXAMPLES


@pytest.fixture(scope="session")
def examples(tmp_path_factory) -> Path:
    from samesky.simulator.examples.catalogue import write_example

    place = tmp_path_factory.mktemp("told")
    for name in EXAMPLES:
        write_example(name, place / name)
    return place


@pytest.fixture
def campaign(examples, tmp_path) -> Path:
    """A copy of the second example, to be spoilt."""
    folder = tmp_path / "mine"
    folder.mkdir()
    for path in (examples / "warming_day").iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    return folder


def listing(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


# What each verb does.


def test_version(run):
    assert run("--version") == (0, f"{__version__}\n", "")


def test_help_names_every_verb(run):
    code, said, _ = run("--help")
    assert code == 0
    places = [said.index(f"\n  {verb} ") for names in GROUPS.values() for verb in names]
    assert places == sorted(places), "not in the order of the work"
    assert "..." not in said.partition("Options:")[2], "a sentence cut short"
    assert not set("╭╮╰╯│─") & set(said), "boxes"
    assert sum(map(len, GROUPS.values())) == len(re.findall(r"^  [a-z]+  ", said, re.M)), "a verb in no group"


def test_new_writes_a_campaign_to_fill_in_that_can_be_read(run, tmp_path):
    code, said, _ = run("new", tmp_path / "mine")
    assert code == 0
    assert "samesky check" in said
    assert (tmp_path / "mine" / "campaign.toml").is_file()
    code, said, complaint = run("check", tmp_path / "mine")
    assert "Traceback" not in said + complaint


def test_new_writes_each_example_and_lists_them(run, tmp_path):
    code, said, _ = run("new", tmp_path, "--example", "list")
    assert code == 0
    assert [line.partition(":")[0] for line in said.splitlines()] == list(EXAMPLES)
    code, said, _ = run("new", tmp_path / "one", "--example", "warming_day")
    assert code == 0
    assert (tmp_path / "one" / "campaign.toml").is_file()


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_check_counts_runs_and_findings(run, examples, name):
    code, said, complaint = run("check", examples / name)
    assert code == 0
    assert complaint == ""
    counted = 0
    for path in (examples / name).glob("*.csv"):
        counted += sum(not row["exclude"] for row in csv.DictReader(path.open(encoding="utf-8")))
    assert f"{counted} runs counted, 0 errors" in said


def test_very_many_findings_alike_are_one_line(run, campaign):
    path = campaign / "takeoff_roll.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([*lines, *[lines[-1]] * 1000]), encoding="utf-8")
    for verb in ("check", "compare"):
        code, _, complaint = run(verb, campaign)
        assert code == cli.BAD_INPUT
        assert complaint.count("error: ") == 1
        assert "takeoff_roll.csv, rows 12 to 1011: the row repeats" in complaint


def test_very_many_findings_of_one_file_are_counted(run, campaign):
    """Faults of many kinds: no two columns are alike."""
    path = campaign / "takeoff_roll.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    at = next(k for k, line in enumerate(lines) if not line.startswith("#"))
    lines[at] += "," + ",".join(f"note {k} [furlong{k}]" for k in range(40))
    width = lines[at].count(",")
    lines[at + 1 :] = [line + "," * (width - line.count(",")) for line in lines[at + 1 :]]
    path.write_text("\n".join(lines), encoding="utf-8")
    code, said, complaint = run("check", campaign)
    assert "more like these" in said + complaint
    assert code in (0, cli.BAD_INPUT)


def test_check_tells_codes_to_machines(run, campaign):
    path = campaign / "takeoff_roll.csv"
    path.write_text(path.read_text(encoding="utf-8") + path.read_text(encoding="utf-8").splitlines()[-1], "utf-8")
    code, said, complaint = run("check", campaign, "--json")
    assert (code, complaint) == (cli.BAD_INPUT, "")
    (wrong,) = [one for one in json.loads(said) if one["kind"] == "error"]
    assert (wrong["code"], wrong["file"], wrong["row"]) == ("row.repeated", "takeoff_roll.csv", 12)
    assert wrong["facts"] == {"first": 11}


def test_check_warns_of_an_order_that_cannot_tell_drift(run, examples):
    _, said, _ = run("check", examples / "warming_day")
    assert "warning: takeoff_roll.csv: flown all A, then all B" in said


def test_reduce_writes_every_run_with_its_corrections(run, campaign, tmp_path):
    code, said, _ = run("reduce", campaign, "--out", tmp_path / "there")
    assert code == 0
    rows = list(csv.DictReader((tmp_path / "there" / "takeoff_roll.csv").open(encoding="utf-8")))
    assert len(rows) == 10
    for row in rows:
        names = list(row)
        changes = names[names.index("as flown [ft]") + 1 : names.index("reduced [ft]")]
        assert {"wind [ft]", "density [ft]"} <= set(changes)
        total = float(row["as flown [ft]"]) + sum(float(row[name]) for name in changes)
        assert total == pytest.approx(float(row["reduced [ft]"]), abs=0.01)
    assert "take-off roll: 10 runs ->" in said


def test_compare_prints_for_people_and_the_same_for_machines(run, examples):
    code, said, _ = run("compare", examples / "warming_day")
    assert code == 0
    code, machine, _ = run("compare", examples / "warming_day", "--json")
    assert code == 0
    everything = json.loads(machine)
    assert set(everything) == {"measures", "excess_thrust", "propellers", "flying", "hard_limits"}
    # Synthetic campaign without kinds of flying: nothing is answered, and limits stand beside it all the same.
    assert everything["flying"] == {"kinds": [], "over_the_year": None}
    assert {one["limit"] for one in everything["hard_limits"]["limits"]} >= {"tip clearance", "tip Mach", "noise"}
    assert everything["propellers"] is None  # nobody said which propeller is of which
    told = everything["measures"]
    assert [one["measure"] for one in told] == ["takeoff_roll", "timed_climb"]
    # Which fields there are is held by tests/inference/test_comparison.py.
    assert told == [one.to_json() for one in compare(read(examples / "warming_day"))]
    for one in told:
        assert one["interval_95"][0] <= one["interval_90"][0] <= one["difference"]
        assert one["difference"] <= one["interval_90"][1] <= one["interval_95"][1]
        assert one["verdict"] == "not enough data"
        assert f"{abs(one['difference']):.0f}\u00a0{one['unit']}" in said
    assert said.count("Not enough data") == 2


def test_report_writes_one_page_and_prints_the_verdicts(run, campaign):
    before = set(listing(campaign))
    code, said, _ = run("report", campaign)
    assert code == 0
    assert set(listing(campaign)) - before == {"report.html"}
    assert "Take-off roll, the deciding measure: Not enough data." in said
    assert said.splitlines()[-1] == f"Report: {(campaign / 'report.html').resolve()}"
    assert (campaign / "report.html").read_text(encoding="utf-8").rstrip().endswith("</html>")


def test_report_goes_where_it_is_sent_and_makes_the_folder(run, campaign, tmp_path):
    code, _, _ = run("report", campaign, "--out", tmp_path / "new" / "page.html")
    assert code == 0
    assert (tmp_path / "new" / "page.html").is_file()
    assert not (campaign / "report.html").exists()


# What goes wrong, and what is said.


def spoil_toml(folder: Path) -> None:
    (folder / "campaign.toml").write_text('title = "no end\n', encoding="utf-8")


def spoil_label(folder: Path) -> None:
    path = folder / "takeoff_roll.csv"
    path.write_text(path.read_text(encoding="utf-8").replace(",A,", ",C,", 1), encoding="utf-8")


def spoil_number(folder: Path) -> None:
    path = folder / "timed_climb.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    cells = lines[2].split(",")
    cells[lines[0].split(",").index("elapsed [s]")] = "about a minute"
    lines[2] = ",".join(cells)
    path.write_text("\n".join(lines), encoding="utf-8")


def spoil_unit(folder: Path, unit: str = "[strides]") -> None:
    path = folder / "takeoff_roll.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("[ft]", unit, 1), encoding="utf-8")


def spoil_dimension(folder: Path) -> None:
    spoil_unit(folder, "[kg]")


def spoil_everything(folder: Path) -> None:
    for path in folder.glob("*.csv"):
        path.write_bytes(b"")


SPOILT = {
    "a campaign file that is no TOML": (spoil_toml, ("campaign.toml",)),
    "a label that is no configuration": (spoil_label, ("takeoff_roll.csv", "row 2", "'C'")),
    "words for a number": (spoil_number, ("timed_climb.csv", "row 3", "about a minute")),
    "a unit that nobody knows": (spoil_unit, ("takeoff_roll.csv", "'strides'")),
    "a unit that does not fit": (spoil_dimension, ("takeoff_roll.csv", "'kg'", "length")),
    "empty files": (spoil_everything, ("takeoff_roll.csv",)),
}


@pytest.mark.parametrize("verb", ["check", "reduce", "compare", "report"])
@pytest.mark.parametrize("case", SPOILT)
def test_bad_input_is_told_and_nothing_is_written(run, campaign, verb, case):
    spoil, expected = SPOILT[case]
    spoil(campaign)
    before = listing(campaign)
    code, said, complaint = run(verb, campaign)
    assert code == cli.BAD_INPUT
    for words in expected:
        assert words in complaint, complaint
    assert "Traceback" not in said + complaint
    assert listing(campaign) == before
    # One line a thing to mend, and one that says how many there are.
    assert 1 <= complaint.count("\n") <= 3, complaint


PLACES = {
    "nowhere": lambda tmp: tmp / "nowhere",
    "a file": lambda tmp: tmp / "file",
    "an empty folder": lambda tmp: tmp / "empty",
    "no campaign": lambda tmp: tmp / "photos",
}


@pytest.mark.parametrize("verb", ["check", "reduce", "compare", "report"])
@pytest.mark.parametrize("place", PLACES)
def test_a_place_that_is_no_campaign_is_one_message(run, tmp_path, verb, place):
    (tmp_path / "file").write_text("hello")
    (tmp_path / "empty").mkdir()
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "cat.txt").write_text("purr")
    before = listing(tmp_path)
    where = PLACES[place](tmp_path)
    code, said, complaint = run(verb, where)
    assert code == cli.BAD_INPUT
    assert said == ""
    assert complaint.count("\n") == 1, complaint
    assert where.name in complaint
    assert listing(tmp_path) == before


@pytest.mark.parametrize(
    ("verb", "out"), [("report", "taken"), ("report", "file/page.html"), ("reduce", "file/there"), ("reduce", "file")]
)
def test_an_unwritable_output_is_one_message_and_leaves_nothing(run, campaign, tmp_path, verb, out):
    (tmp_path / "taken").mkdir()
    (tmp_path / "file").write_text("mine")
    before = listing(tmp_path)
    code, said, complaint = run(verb, campaign, "--out", tmp_path / out)
    assert code == cli.BAD_INPUT
    assert complaint.count("\n") == 1, complaint
    assert "Traceback" not in said + complaint
    assert listing(tmp_path) == before
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


@pytest.mark.parametrize("words", [("new", "mine", "--example", "warmingday"), ("new", "full")])
def test_new_refuses_what_it_does_not_know_or_would_overwrite(run, tmp_path, monkeypatch, words):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "campaign.toml").write_text("mine")
    before = listing(tmp_path)
    code, _, complaint = run(*words)
    assert code == cli.BAD_INPUT
    assert complaint.count("\n") == 1
    assert listing(tmp_path) == before


def test_an_unknown_verb_is_refused_by_the_command_line_itself(run):
    code, _, complaint = run("conjure", "mine")
    assert code == 2
    assert "No such command" in complaint


# What each verb does not load: the time of a start is in these.

HEAVY = (
    "numpy",
    "scipy",
    "scipy.stats",
    "scipy.special",
    "pandas",
    "matplotlib",
    "matplotlib.pyplot",
    "pint",
    "jinja2",
)


def loaded(*words: str | Path) -> set[str]:
    program = (
        "import sys\n"
        f"sys.argv = ['samesky', *{[str(word) for word in words]!r}]\n"
        "from samesky.cli import main\n"
        "try:\n    main()\nexcept SystemExit as stop:\n    assert not stop.code, stop.code\n"
        f"print('loaded', *[name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)\n"
    )
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    return set(ran.stderr.splitlines()[-1].split()[1:])


def test_help_loads_nothing_heavy():
    assert loaded("--help") == set()


def test_check_loads_numpy_only(examples):
    assert loaded("check", examples / "finer_pitch") == {"numpy"}


def test_reduce_loads_numpy_only(examples, tmp_path):
    assert loaded("reduce", examples / "finer_pitch", "--out", tmp_path) == {"numpy"}


@pytest.mark.parametrize("extra", [(), ("--json",)])
def test_compare_loads_no_plotting_no_tables_and_no_statistics_package(examples, extra):
    assert not loaded("compare", examples / "finer_pitch", *extra) & {
        "scipy.stats",
        "pandas",
        "matplotlib",
        "pint",
        "jinja2",
    }


def test_report_opens_no_plotting_window_and_no_tables(examples, tmp_path):
    found = loaded("report", examples / "warming_day", "--out", tmp_path / "page.html")
    assert "matplotlib" in found
    assert not found & {"scipy.stats", "pandas", "matplotlib.pyplot", "pint"}
