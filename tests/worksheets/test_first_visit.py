"""A first visit, from an empty folder to a saved report, in Chromium with everything outside blocked.

The numbers typed are those of a synthetic campaign; what the pages say is held against the command line's answer.
"""

from __future__ import annotations

import csv
import json
import re

import pytest
from slow_cases import slow_unless
from table_page import kept, to_runs

from samesky import cli
from samesky.campaign.reading.read import read
from samesky.inference.comparison import compare
from samesky.simulator.examples.catalogue import write_example

pytestmark = pytest.mark.browser

STEM = "timed_climb"


@pytest.fixture(scope="module")
def scribbled(tmp_path_factory):
    """Header names and rows of the climbs of one morning, as from cards."""
    folder = write_example("finer_pitch", tmp_path_factory.mktemp("cards") / "finer_pitch")
    with (folder / f"{STEM}.csv").open(encoding="utf-8") as stream:
        rows = [row for row in csv.DictReader(stream) if row["date"] == "2026-05-09"]
    return rows[:8]


def fill_in(page, title):
    page.get_by_text("More: choose every measure yourself").click()
    page.get_by_label("Name", exact=True).fill(title)
    page.get_by_label("Question").fill("Which one climbs better?")
    page.get_by_label("A, what it is compared with").fill("as it came")
    page.get_by_label("B, the change").fill("two degrees finer")
    page.get_by_role("checkbox", name="Take-off roll").uncheck()
    page.get_by_role("checkbox", name="Timed climb").check()
    page.locator(f'input[type=radio][value="{STEM}"]').check()
    page.locator(f'input[name="matters.{STEM}"]').fill("2 %")


def start(page, title="Finer pitch, first look"):
    fill_in(page, title)
    page.get_by_role("button", name="Start").click()


def table(page):
    to_runs(page, "Timed climb")
    # What is pasted before the page listens goes where the browser puts it.
    page.wait_for_selector("[data-ready] [data-runs]")


def columns(page) -> dict[str, int]:
    header = json.loads(page.locator("[data-state]").text_content())["header"]
    return {cell.partition(" [")[0]: k for k, cell in enumerate(header)}


def field(page, row, column):
    return page.locator(f'[data-r="{row}"][data-c="{column}"]')


def type_in(page, at, row, cells):
    for name, text in cells.items():
        column = at.get(name.partition(" [")[0])
        if column is None or not text:
            continue
        one = field(page, row, column)
        if name == "configuration":
            one.select_option(text)
        else:
            one.fill(text)


def test_what_is_typed_before_the_page_listens_is_kept(visitor, pages):
    """A slow machine shows the table before its script is there."""
    page = visitor()
    start(page)
    page.wait_for_url("**/c/**")
    held = []
    page.route("**/worksheet.js", lambda route: held.append(route))
    page.goto(f"{pages.address}/c/finer-pitch-first-look/runs/{STEM}", wait_until="commit")
    at = columns(page)
    type_in(page, at, 0, {"run": "1", "configuration": "B", "notes": "typed early"})
    assert page.locator("[data-ready]").count() == 0
    held.pop().continue_()
    page.wait_for_selector("[data-ready]")
    kept(page)
    page.unroute("**/worksheet.js")
    page.reload()
    assert [field(page, 0, at[name]).input_value() for name in ("run", "configuration", "notes")] == [
        "1", "B", "typed early",
    ]  # fmt: skip
    page.route("**/worksheet.js", lambda route: held.append(route))
    page.goto(f"{pages.address}/c/finer-pitch-first-look/settings", wait_until="commit")
    page.locator('[data-group=""] [data-entry="question"]').fill("Typed early?")
    held.pop().continue_()
    page.wait_for_selector("[data-ready]")
    page.locator("[data-kept]").filter(has_text="campaign.toml").wait_for()
    assert "Typed early?" in (pages.root / "finer-pitch-first-look" / ".unsaved" / "campaign.toml").read_text("utf-8")


def test_what_matters_is_asked_for_of_what_is_ticked(visitor, pages):
    page = visitor()
    page.get_by_text("More: choose every measure yourself").click()
    page.get_by_label("Name", exact=True).fill("Undecided")
    page.get_by_role("checkbox", name="Timed climb").check()
    field = page.locator(f'input[name="matters.{STEM}"]')
    page.locator('input[name="matters.takeoff_roll"]').fill("10 ft")
    page.get_by_role("button", name="Start").click()
    # The browser stays, and takes the pilot to the field.
    assert field.evaluate("one => document.activeElement === one && !one.validity.valid")
    assert list(pages.root.iterdir()) == []
    field.fill("2 %")
    page.get_by_role("button", name="Start").click()
    page.wait_for_url("**/c/undecided/**")


def test_a_button_pressed_twice_starts_one_campaign(visitor, pages):
    page = visitor()
    held = []
    page.route("**/start", lambda route: held.append(route))
    fill_in(page, "Twice")
    # The second click comes while what the first one sent is on its way.
    page.get_by_role("button", name="Start").evaluate(
        "button => new Promise(done => {"
        " button.click(); setTimeout(() => { button.click(); setTimeout(done, 200); }, 200); })"
    )
    assert len(held) == 1
    held.pop().continue_()
    page.wait_for_url("**/c/twice/**")
    # Back there, the same form starts another one.
    page.goto(pages.address)
    page.unroute("**/start")
    start(page, "Twice")
    page.wait_for_url("**/c/twice-2/**")
    assert sorted(one.name for one in pages.root.iterdir()) == ["twice", "twice-2"]


@pytest.mark.parametrize("size", slow_unless(["desktop"], ["desktop", "phone"]))
def test_from_an_empty_folder_to_a_saved_report(visitor, pages, scribbled, size):
    page = visitor(size)
    start(page)
    folder = pages.root / "finer-pitch-first-look"
    assert (folder / "campaign.toml").is_file()
    table(page)
    at = columns(page)
    for row, cells in enumerate(scribbled[:3]):
        type_in(page, at, row, cells)
    # Closed in the middle, without a word; and opened again.
    type_in(page, at, 3, {"run": "4", "notes": "typed just before"})
    page.reload()
    kept(page)
    assert field(page, 2, at["elapsed"]).input_value() == scribbled[2]["elapsed [s]"]
    assert field(page, 3, at["notes"]).input_value() == "typed just before"
    type_in(page, at, 3, scribbled[3])
    field(page, 3, at["notes"]).fill("")
    kept(page)
    # The rest was in a spreadsheet: with its header each column finds its place, and the rows stand below.
    paste(page, "\n".join("\t".join(cells) for cells in (scribbled[0], *(run.values() for run in scribbled[4:]))))
    page.locator("[data-cell-says]").filter(has_text="4 runs taken").wait_for()
    said = page.locator("[data-verdict]").inner_text()
    assert "B gives" in said or "The runs allow" in said
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")

    page.get_by_role("button", name="Save to the files").click()
    page.get_by_role("status").filter(has_text="In the campaign's files now").wait_for()
    page.get_by_role("link", name="Verdict", exact=True).click()
    frame = page.frame_locator("iframe")
    frame.locator("#fooled-head").click()
    frame.locator("#fooled").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.get_by_role("button", name="Save, and write the report into the folder").click()
    page.get_by_role("status").filter(has_text="report.html").wait_for()

    # What the pages said is what the files say.
    campaign = read(folder)
    (one,) = compare(campaign)
    assert one.runs == {"A": 4, "B": 4}
    report = (folder / "report.html").read_text(encoding="utf-8")
    from samesky.report import phrases

    assert plain(phrases.sentence(one)) in plain(said)
    assert phrases.sentence(one) in report
    assert not (folder / ".unsaved").exists()
    assert [run["elapsed [s]"] for run in scribbled] == [
        row["elapsed [s]"] for row in csv.DictReader(lines_without_remarks(folder / f"{STEM}.csv"))
    ]


def plain(text):
    return " ".join(re.sub(r"\s", " ", text).split())


def lines_without_remarks(path):
    return [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]


def test_the_command_line_reads_what_the_pages_saved(visitor, pages, scribbled, monkeypatch, capsys):
    page = visitor()
    start(page)
    table(page)
    header = "\t".join(scribbled[0])
    rows = "\n".join("\t".join(run.values()) for run in scribbled)
    paste(page, f"{header}\n{rows}")
    page.locator("[data-kept]").filter(has_text="Not yet").wait_for()
    page.get_by_role("button", name="Save to the files").click()
    page.get_by_role("status").filter(has_text="In the campaign's files now").wait_for()
    monkeypatch.setattr("sys.argv", ["samesky", "check", str(pages.root / "finer-pitch-first-look")])
    with pytest.raises(SystemExit) as stop:
        cli.main()
    assert not stop.value.code
    assert "8 runs counted, 0 errors" in capsys.readouterr().out


def paste(page, text, row=0, column=0):
    field(page, row, column).focus()
    page.evaluate(
        """text => {
            const data = new DataTransfer();
            data.setData("text/plain", text);
            document.activeElement.dispatchEvent(
                new ClipboardEvent("paste", {clipboardData: data, bubbles: true, cancelable: true}));
        }""",
        text,
    )
