"""Two windows over one table: the second is told, nothing is overwritten unasked, and the keyboard alone will do."""

from __future__ import annotations

import pytest
from table_page import cell, field, kept, open_table, until
from worksheet_client import put_campaign

pytestmark = pytest.mark.browser


@pytest.fixture
def two(visitor, pages):
    """Two browsers with the same table open."""
    put_campaign(pages.root)
    windows = []
    for _ in range(2):
        page = visitor()
        open_table(page, pages.address)
        windows.append(page)
    return windows


def in_conflict(two, mine="91", theirs="92", row=2):
    first, second = two
    field(first, row, "elapsed").fill(theirs)
    kept(first)
    field(second, row, "elapsed").fill(mine)
    dialog = second.get_by_role("alertdialog")
    dialog.wait_for()
    return dialog


@pytest.mark.parametrize(("choice", "stays"), [("Write mine", "91"), ("Leave theirs", "92")])
def test_the_same_cell_is_asked_about(two, choice, stays):
    dialog = in_conflict(two)
    said = dialog.inner_text()
    assert "Row 4 was changed on another page" in said
    assert "elapsed [s]: you typed “91”, there it is “92” now." in said
    assert cell(two[0], 2, "elapsed") == "92"
    assert "Not kept" in two[1].locator("[data-kept]").inner_text()
    dialog.get_by_role("button", name=choice).click()
    dialog.wait_for(state="hidden")
    kept(two[1])
    assert cell(two[1], 2, "elapsed") == stays
    assert field(two[1], 2, "elapsed").input_value() == stays
    assert two[1].evaluate("document.activeElement.dataset.r") == "2"
    assert "Everything typed is kept" in two[1].locator("[data-kept]").inner_text()


def test_keys_meant_for_a_cell_decide_nothing(two):
    """The focus comes to the question only when the typing pauses, and to no button: Enter there chooses nothing."""
    dialog = in_conflict(two)
    page = two[1]
    field(page, 2, "notes").focus()
    page.keyboard.type("still typing", delay=30)
    page.keyboard.press("Enter")
    assert dialog.is_visible()
    until(page, "document.activeElement.matches('[data-conflict]')")
    for key in ("Enter", " ", "y"):
        page.keyboard.press(key)
    assert dialog.is_visible()
    assert cell(two[0], 2, "elapsed") == "92"
    assert "notes: you typed “still typing”" in dialog.inner_text()


def test_the_keyboard_alone_will_do(two):
    in_conflict(two)
    page = two[1]
    until(page, "document.activeElement.matches('[data-conflict]')")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Write mine"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Leave theirs"
    page.keyboard.press("Enter")
    page.get_by_role("alertdialog").wait_for(state="hidden")
    kept(page)
    assert cell(page, 2, "elapsed") == "92"


def test_all_cells_of_the_row_are_one_question_and_other_rows_go_on(two):
    first, second = two
    for name, text in (("elapsed", "92"), ("notes", "theirs")):
        field(first, 2, name).fill(text)
    kept(first)
    field(second, 2, "elapsed").fill("91")
    field(second, 2, "notes").fill("mine")
    field(second, 5, "notes").fill("another row")
    dialog = second.get_by_role("alertdialog")
    dialog.wait_for()
    until(second, "document.querySelectorAll('[data-conflict] li').length === 2")
    until(second, "document.querySelectorAll('.waiting').length === 2")
    assert cell(first, 5, "notes") == "another row"
    dialog.get_by_role("button", name="Write mine").click()
    kept(second)
    assert (cell(first, 2, "elapsed"), cell(first, 2, "notes")) == ("91", "mine")


def test_different_rows_meet_without_a_word(two):
    first, second = two
    field(first, 0, "notes").fill("first")
    field(second, 1, "notes").fill("second")
    kept(first), kept(second)
    assert (cell(first, 0, "notes"), cell(first, 1, "notes")) == ("first", "second")
    # Each sees the other's soon.
    until(first, "[...document.querySelectorAll('[data-r=\"1\"]')].some((one) => one.value === 'second')")
    assert first.get_by_role("alertdialog").count() == 0


def test_a_row_deleted_meanwhile_takes_no_typing_to_the_next(two):
    first, second = two
    first.on("dialog", lambda dialog: dialog.accept())
    first.get_by_role("button", name="Delete row 3", exact=True).click()
    until(first, "document.querySelector('[data-cell-says]').textContent.includes('was deleted')")
    field(second, 4, "elapsed").fill("1")
    dialog = second.get_by_role("alertdialog")
    dialog.wait_for()
    dialog.get_by_role("button", name="Leave theirs").click()
    kept(second)
    assert "1" not in {cell(second, row, "elapsed") for row in range(7)}


def test_a_page_loaded_again_still_knows_what_it_saw(two, pages):
    """Typed while the pages could not be reached, then loaded again: the other's change meanwhile is asked about."""
    first, second = two
    second.route("**/cell", lambda route: route.abort())
    field(second, 2, "elapsed").fill("91")
    second.locator("[data-kept].trouble").wait_for()
    field(first, 2, "elapsed").fill("92")
    kept(first)
    second.on("dialog", lambda dialog: dialog.accept())
    second.unroute("**/cell")
    second.reload()
    dialog = second.get_by_role("alertdialog")
    dialog.wait_for()
    assert "you typed “91”, there it is “92” now" in dialog.inner_text()
    assert cell(first, 2, "elapsed") == "92"


def test_two_windows_of_one_browser_keep_apart_what_they_have_not_sent(two):
    first, _ = two
    beside = first.context.new_page()
    beside.goto(first.url)
    for page in (first, beside):
        page.route("**/cell", lambda route: route.abort())
    field(first, 0, "notes").fill("in the first")
    field(beside, 1, "notes").fill("in the second")
    beside.locator("[data-kept].trouble").wait_for()
    stored = beside.evaluate(
        "Object.entries(localStorage).filter(([key]) => key.startsWith('samesky')).map(([, text]) => text)"
    )
    assert "in the first" in stored[0]
    assert "in the second" in stored[0]
    beside.unroute("**/cell")
    until(beside, "!document.querySelector('.waiting')")
    assert cell(beside, 1, "notes") == "in the second"
    assert "in the first" in str(beside.evaluate("Object.values(localStorage)"))
    first.unroute("**/cell")
    kept(first)
    assert cell(first, 0, "notes") == "in the first"
    assert first.evaluate("Object.keys(localStorage).length") == 0
