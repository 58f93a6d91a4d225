"""The plan's page in Chromium, on a desk, on a phone, on paper, and without scripts."""

from __future__ import annotations

import evening
import pytest
from slow_cases import slow_unless

from samesky.planning.output.words import headline

pytestmark = pytest.mark.browser


@pytest.fixture
def folder(pages):
    return evening.put(pages)


@pytest.fixture
def one_measure(folder):
    return evening.with_one_measure(folder)


def no_overflow(page):
    return page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("size", slow_unless(["phone"], ["desktop", "phone"]))
def test_from_the_settings_to_the_cards(visitor, folder, size):
    text = (folder / "campaign.toml").read_text(encoding="utf-8")
    (folder / "campaign.toml").write_text(text.replace('start = "06:20"\n', ""), encoding="utf-8")
    page = visitor(size)
    page.get_by_role("link", name="Two degrees finer").click()
    page.get_by_role("link", name="Plan", exact=True).click()
    alert = page.get_by_role("alert")
    alert.filter(has_text="start is missing").wait_for()
    start = page.locator('[data-group="plan"] [data-entry="start"]')
    assert start.get_attribute("aria-invalid") == "true"
    assert no_overflow(page)
    start.fill("06:20")
    start.blur()
    alert.wait_for(state="detached")
    assert start.get_attribute("aria-invalid") is None
    page.get_by_role("button", name="Work it out").first.click()
    page.get_by_role("heading", name="Run order").wait_for()
    made = evening.whole_plan()
    assert headline(made) in " ".join(page.locator("#worked").inner_text().split())
    assert page.locator("table.order tbody tr").count() == len(made.schedule.blocks)
    assert "06:20 to 06:52" in page.locator("table.order").first.inner_text()
    assert "papers" in page.locator(".planned .caution").first.inner_text()
    assert no_overflow(page)
    with page.context.expect_page() as opened:
        page.get_by_role("button", name="Show the cards").click()
    cards = opened.value
    cards.wait_for_selector(".card")
    assert cards.locator(".card").count() == len(made.schedule.blocks)
    assert no_overflow(cards)
    cards.close()
    # A change afterwards: the plan shown is not of it, and says so until it is worked out again.
    stale = page.locator("[data-stale]")
    assert stale.is_hidden()
    days = page.locator('[data-group="plan"] [data-entry="days"]')
    days.fill("1")
    days.blur()
    stale.wait_for(state="visible")
    stale.get_by_role("button").click()
    stale.wait_for(state="hidden")
    page.locator("table.order").nth(1).wait_for(state="detached")
    page.get_by_role("button", name="Write cards.html into the folder").click()
    page.get_by_role("status").filter(has_text="In the campaign's folder now: cards.html").wait_for()
    assert (folder / "cards.html").is_file()


def test_without_scripts_and_on_paper(visitor, one_measure):
    page = visitor("phone", java_script_enabled=False)
    page.get_by_role("link", name="Two degrees finer").click()
    page.get_by_role("link", name="Plan", exact=True).click()
    page.get_by_role("button", name="Work it out").first.click()
    page.get_by_role("heading", name="Run order").wait_for()
    page.emulate_media(media="print")
    assert page.locator("table.order").first.is_visible()
    assert page.locator("table.order thead").first.is_visible()
    for hidden in (".goes-by", "#cards", "#rehearsal", "[data-work]"):
        assert page.locator(hidden).is_hidden()


def test_a_rehearsal_stands_in_the_page(visitor, one_measure):
    page = visitor("phone")
    page.get_by_role("link", name="Two degrees finer").click()
    page.get_by_role("link", name="Plan", exact=True).click()
    page.get_by_role("button", name="Work it out").first.click()
    page.get_by_label("Campaigns").fill("2")
    page.get_by_role("button", name="Rehearse").click()
    frame = page.frame_locator("[data-rehearsal]")
    frame.get_by_role("heading", level=1).wait_for()
    assert "Two degrees finer" in frame.get_by_role("heading", level=1).inner_text()
    assert no_overflow(page)
