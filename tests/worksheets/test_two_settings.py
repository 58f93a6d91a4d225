"""Two windows over the same settings in Chromium: both values are shown, nothing is overwritten unasked."""

from __future__ import annotations

import pytest
from table_page import to_runs, until
from worksheet_client import put_campaign

pytestmark = pytest.mark.browser

WHERE = "/c/climbs/settings"
GROUP = "aeroplane"


@pytest.fixture
def two(visitor, pages):
    put_campaign(pages.root)
    windows = []
    for _ in range(2):
        page = visitor()
        page.goto(pages.address + WHERE)
        page.wait_for_selector("[data-settings]")
        windows.append(page)
    return windows


def entry(page, name: str, group: str = GROUP):
    found = page.locator(f'[data-group="{group}"] [data-entry="{name}"]')
    # Tables are folded: a person opens one before typing into it.
    found.evaluate("one => { for (; one; one = one.parentElement) if (one.tagName === 'DETAILS') one.open = true; }")
    return found


def kept(page) -> None:
    until(page, "!/Keeping what/.test(document.querySelector('[data-kept]').textContent) && !localStorage.length")


def there(page, name: str = "empty weight") -> str:
    state = page.evaluate(f"fetch('{WHERE}/state').then((answer) => answer.json())")
    return {key.rpartition("\x1f")[2]: text for key, text in state["entries"] if key.startswith(GROUP)}[name]


def question(page, name: str = "empty_weight"):
    return entry(page, name).locator("xpath=..").locator("[data-conflict]")


def in_conflict(two, mine="329 kg", theirs="331 kg"):
    first, second = two
    # What the second page shows is old: it does not look while it is busy with its own.
    second.route("**/settings/state**", lambda route: route.abort())
    entry(first, "empty_weight").fill(theirs)
    kept(first)
    entry(second, "empty_weight").fill(mine)
    box = question(second)
    box.wait_for()
    return box


@pytest.mark.parametrize(("choice", "stays"), [("Write mine", "329 kg"), ("Leave theirs", "331 kg")])
def test_the_same_entry_is_asked_about(two, choice, stays):
    box, page = in_conflict(two), two[1]
    assert "you typed “329 kg”, there it is “331 kg” now" in box.inner_text()
    assert there(two[0]) == "331 kg"
    assert entry(page, "empty_weight").input_value() == "329 kg"
    assert "Not kept: empty weight" in page.locator("[data-kept]").inner_text()
    box.get_by_role("button", name=choice).click()
    box.wait_for(state="hidden")
    kept(page)
    assert there(two[0]) == stays
    assert entry(page, "empty_weight").input_value() == stays
    assert "Everything typed is kept" in page.locator("[data-kept]").inner_text()
    assert page.evaluate("document.activeElement.dataset.entry") == "empty_weight"


def test_typing_on_decides_nothing_and_stays(two):
    box, page = in_conflict(two), two[1]
    entry(page, "empty_weight").focus()
    page.keyboard.press("End")
    page.keyboard.type("s", delay=20)
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert "you typed “329 kgs”" in box.inner_text()
    # Others of the page go on meanwhile.
    entry(page, "maximum_weight").fill("561 kg")
    until(page, "localStorage.length === 1 && !localStorage[Object.keys(localStorage)[0]].includes('561')")
    assert there(two[0], "maximum weight") == "561 kg"
    assert there(two[0]) == "331 kg"
    assert box.is_visible()


def test_a_page_loaded_again_asks_again(two):
    in_conflict(two)
    page = two[1]
    page.reload()
    box = question(page)
    box.wait_for()
    assert "you typed “329 kg”, there it is “331 kg” now" in box.inner_text()
    assert there(two[0]) == "331 kg"


def test_an_answer_lost_on_the_way_is_nobody_elses(two):
    _, page = two
    page.route("**/settings/entry", lambda route: (route.fetch(), route.abort()))
    entry(page, "empty_weight").fill("329 kg")
    page.locator("[data-kept].trouble").wait_for()
    entry(page, "empty_weight").fill("328 kg")
    page.unroute("**/settings/entry")
    kept(page)
    assert there(page) == "328 kg"
    assert question(page).is_hidden()


def test_what_another_page_changed_is_shown_soon(two):
    first, second = two
    entry(first, "empty_weight").fill("331 kg")
    entry(second, "maximum_weight").focus()
    until(second, "document.querySelector('[data-group=\"aeroplane\"] [data-entry=empty_weight]').value === '331 kg'")
    # Seen, it may be written over without a question.
    entry(second, "empty_weight").fill("330 kg")
    kept(second)
    assert there(first) == "330 kg"
    assert question(second).is_hidden()


def test_a_decimal_comma_is_shown_as_kept_when_the_field_is_left(two):
    _, page = two
    field = entry(page, "gear_ratio", "engine")
    field.fill("2,58")
    kept(page)
    assert field.input_value() == "2,58"
    page.keyboard.press("Tab")
    until(page, "document.querySelector('[data-entry=gear_ratio]').value === '2.58'")
    kept(page)


def test_what_is_no_value_stays_in_its_field(two):
    _, page = two
    field = entry(page, "gear_ratio", "engine")
    field.fill("two")
    wrong = field.locator("xpath=..").locator("[data-wrong]")
    wrong.filter(has_text="expected a number").wait_for()
    entry(page, "maximum_weight").fill("561 kg")
    kept(page)
    assert field.input_value() == "two"
    assert "expected a number" in wrong.inner_text()


def test_a_measure_begun_has_its_tab_at_once_on_every_page_that_is_open(two, pages):
    first, second = two
    second.goto(pages.address + "/c/climbs/runs/timed_climb")
    tabs = "[...document.querySelectorAll('[data-tabs] a')].map((one) => one.textContent)"
    assert "Static pull" not in first.evaluate(tabs)
    entry(first, "smallest_difference_that_matters", "measure\x1fstatic_pull").fill("3 %")
    until(first, f"{tabs}.includes('Static pull')")
    assert first.locator("[data-tabs] [aria-current]").inner_text() == "Question"
    assert first.locator(".group > summary", has_text="static pull").locator("[data-unused]").is_hidden()
    assert first.get_by_role("button", name="Remove the static pull").is_visible()
    until(second, f"{tabs}.includes('Static pull')")
    assert second.locator("[data-tabs] [aria-current]").inner_text() == "Timed climb"
    to_runs(first, "Static pull")
    first.wait_for_selector("[data-runs]")


def test_a_table_added_elsewhere_comes_when_nobody_types(two):
    first, second = two
    first.get_by_label("Another runway: its name").fill("09")
    first.locator("form.add").filter(has=first.get_by_label("Another runway: its name")).get_by_role("button").click()
    first.locator('[data-group="runway\x1f09"]').wait_for()
    second.locator('[data-group="runway\x1f09"]').wait_for(state="attached")
