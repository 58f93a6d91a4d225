"""From an empty folder over a plan to the verdict, on a phone: the planned order stands in the table, and only what was
read is typed. Everything outside is blocked, and the page is loaded again in the middle.

The readings are those of a synthetic campaign; the verdict is held against the command line's.
"""

from __future__ import annotations

import csv
import re

import pytest

from samesky.campaign.reading.read import read
from samesky.campaign.reading.unflown import planned_runs
from samesky.inference.comparison import compare
from samesky.report import phrases
from samesky.simulator.examples.catalogue import write_example

pytestmark = pytest.mark.browser

STEM = "timed_climb"
#: What the plan goes by: its own entries, and those of the climb.
PLAN = {"days": "1", "first_date": "2026-05-09", "start": "06:00", "end": "09:00", "fuel": "40 L", "reserve": "15 L"}
PLAN |= {"burn": "18 L/h"}
CLIMB = {
    "time": "8 min",
    "runs_a_block": "2",
    "from": "1000 ft",
    "to": "2500 ft",
    "elapsed": "90 s",
    "scatter": "1.5 %",
}
#: Readings of a climb that are typed.
READ = ("oat", "fuel", "rpm", "from", "to", "elapsed")


@pytest.fixture(scope="module")
def scribbled(tmp_path_factory):
    """Readings of climbs by configuration, without their units."""
    folder = write_example("finer_pitch", tmp_path_factory.mktemp("cards") / "finer_pitch")
    with (folder / f"{STEM}.csv").open(encoding="utf-8") as stream:
        rows = [{name.partition(" [")[0]: cell for name, cell in row.items()} for row in csv.DictReader(stream)]
    return {key: [row for row in rows if row["configuration"] == key] for key in "AB"}


def no_overflow(page):
    return page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def start(page):
    page.get_by_text("More: choose every measure yourself").click()
    page.get_by_label("Name", exact=True).fill("Finer pitch, as planned")
    page.get_by_label("A, what it is compared with").fill("as it came")
    page.get_by_label("B, the change").fill("two degrees finer")
    page.get_by_role("checkbox", name="Take-off roll").uncheck()
    page.get_by_role("checkbox", name="Timed climb").check()
    page.locator(f'input[type=radio][value="{STEM}"]').check()
    page.locator(f'input[name="matters.{STEM}"]').fill("2 %")
    page.get_by_role("button", name="Start").click()


def opened(page, part):
    """The part stands on the page, and its scripts listen to what is typed."""
    page.locator(part).first.wait_for()
    page.wait_for_load_state()


def plan(page):
    page.get_by_role("link", name="Plan", exact=True).click()
    opened(page, "[data-plan]")
    for name, text in PLAN.items():
        page.locator(f'[data-group="plan"] [data-entry="{name}"]').fill(text)
    page.get_by_role("button", name="Plan the timed climb").click()
    opened(page, f'[data-group$="{STEM}"]')
    for name, text in CLIMB.items():
        page.locator(f'[data-group$="{STEM}"] [data-entry="{name}"]').fill(text)
    page.get_by_role("button", name="Work it out").first.click()
    page.locator("#worked").wait_for()


def field(page, row, name):
    return page.locator(f'tr[data-row="{row}"] td[data-of^="{name}"]').locator("input, select")


def type_run(page, row, readings, minutes):
    field(page, row, "clock").fill(f"{6 + minutes // 60:02d}:{minutes % 60:02d}")
    for name in READ:
        field(page, row, name).fill(readings[name])


def test_planned_on_the_page_and_flown_row_by_row(visitor, pages, scribbled):
    page = visitor("phone")
    start(page)
    plan(page)
    folder = pages.root / "finer-pitch-as-planned"
    into = page.get_by_role("region", name="Into the tables")
    assert "all of it or nothing" in into.inner_text()
    assert no_overflow(page)
    into.get_by_role("button", name="into the tables").click()
    opened(page, "[data-runs]")
    # Every row stands there as planned; none is an error, none counts.
    order = [one.configuration for one in planned_runs(read(folder / ".unsaved", flown=False))]
    count = len(order)
    assert count >= 6
    assert set(order) == {"A", "B"}
    assert page.locator("tr.unflown").count() == count
    assert page.locator("td.wrong, tr.wrong").count() == 0
    assert page.locator("[data-mend]").inner_text().strip() == ""
    assert [field(page, row, "configuration").input_value() for row in range(count)] == order
    ahead = page.locator("[data-verdict] .ahead")
    assert ahead.inner_text() == f"Next run: {order[0]}, block 1 (timed climb, run 1)."
    assert no_overflow(page)

    left = {key: iter(rows) for key, rows in scribbled.items()}
    flown = [next(left[key]) for key in order]
    minutes = 0
    for row, key in enumerate(order):
        minutes += 8 if row == 0 or key == order[row - 1] else 50
        if row == 2:
            # The next one is found without counting; the page is closed in the middle of it, and opened again.
            page.get_by_role("link", name="Next run", exact=True).click()
            assert page.evaluate("location.hash") == "#row-3"
            field(page, row, "clock").fill("06:55")
            page.reload()
            opened(page, "[data-runs]")
            assert field(page, row, "clock").input_value() == "06:55"
            page.locator(f'tr[data-row="{row}"].wrong').wait_for()
            assert page.locator("tr.wrong").count() == 1
            assert page.locator("tr.unflown").count() == count - 3
        type_run(page, row, flown[row], minutes)
        page.locator(".waiting").first.wait_for(state="detached")
        page.locator(f'tr[data-row="{row}"].unflown').wait_for(state="detached")
        if row + 1 < count:
            ahead.filter(has_text=f"run {row + 2})").wait_for()
            assert ahead.inner_text().startswith(f"Next run: {order[row + 1]}, block ")
    ahead.wait_for(state="detached")
    assert page.locator("td.wrong").count() == 0
    page.locator("[data-verdict] .so-far").wait_for()
    said = " ".join(page.locator("[data-verdict]").inner_text().split())

    page.get_by_role("button", name="Save to the files").click()
    page.get_by_role("status").filter(has_text="In the campaign's files now").wait_for()
    campaign = read(folder)
    assert not campaign.unflown
    (one,) = compare(campaign)
    assert sum(one.runs.values()) == count
    assert " ".join(phrases.sentence(one).split()) in said
    assert campaign.tables[STEM].text["notes"][-1].startswith("block ")
    page.get_by_role("link", name="Verdict", exact=True).click()
    page.frame_locator("iframe").locator("#fooled-head").wait_for()
    assert no_overflow(page)


def test_on_the_day_the_next_run_is_said_and_leads_to_its_table(visitor, pages, scribbled):
    page = visitor("phone")
    start(page)
    plan(page)
    page.get_by_role("button", name="into the tables").click()
    opened(page, "[data-runs]")
    page.get_by_role("link", name="On the day").click()
    card = page.locator("#card-next")
    assert re.fullmatch(r"[AB], block 1", card.locator(".says").inner_text())
    assert no_overflow(page)
    card.get_by_role("link", name="To the table: Timed climb").click()
    opened(page, "[data-runs]")
    assert page.url.endswith(f"/runs/{STEM}")
