"""The pages stop while somebody types: it is said, nothing goes, and what was not sent is kept when they are back.

The pages run in a process of their own, which is killed and started anew.
"""

from __future__ import annotations

import pytest
from real_server import RealServer
from table_page import cell, field, kept, open_table, state, until
from worksheet_client import STEM, put_campaign

pytestmark = pytest.mark.browser

KEPT = "document.querySelector('[data-kept]').textContent"


@pytest.fixture
def running(tmp_path):
    folder = put_campaign(tmp_path / "hangar")
    servers = [RealServer(folder.parent)]

    def again():
        servers.append(RealServer(folder.parent))
        return servers[-1]

    yield folder, servers[0], again
    for one in servers:
        if one.process.poll() is None:
            one.kill()


@pytest.fixture
def window(browser, running):
    context = browser.new_context()
    page = context.new_page()
    context.route("**/*", lambda route: route.continue_() if "//127.0.0.1:" in route.request.url else route.abort())
    page.on("dialog", lambda dialog: dialog.dismiss())
    page.goto(f"{running[1].address}/?key={running[1].key}")
    open_table(page, running[1].address)
    yield page
    context.close()


def stored(page):
    return page.evaluate("Object.entries(localStorage).map(([key, text]) => `${key} ${text}`).join()")


def test_what_is_typed_while_the_pages_are_gone_is_kept_when_they_are_back(running, window):
    _, first, again = running
    field(window, 0, "notes").fill("before")
    kept(window)
    assert stored(window) == ""
    first.kill()
    for row, text in enumerate(("one", "two", "three")):
        field(window, row, "exclude").fill(text)
    until(window, f"{KEPT}.includes('do not answer')")
    assert "kept in this browser" in window.locator("[data-kept]").inner_text()
    assert all(text in stored(window) for text in ("one", "two", "three"))
    # Leaving is asked about, and the page stays.
    window.evaluate("document.querySelector('a[href*=settings]').click()")
    window.wait_for_timeout(300)
    assert field(window, 2, "exclude").input_value() == "three"

    second = again()
    assert second.address == first.address
    until(window, f"{KEPT}.includes('started anew')")
    # The new address is opened once, in another window of this browser.
    beside = window.context.new_page()
    beside.goto(f"{second.address}/?key={second.key}")
    kept(window)
    assert [cell(window, row, "exclude") for row in range(3)] == ["one", "two", "three"]
    assert cell(window, 0, "notes") == "before"
    until(window, "localStorage.length === 0")
    assert f"{STEM}.csv" in window.locator("[data-kept]").inner_text()


def test_a_tab_that_was_closed_sends_what_it_had_not_when_the_page_is_opened_again(running, window):
    _, first, again = running
    first.kill()
    field(window, 1, "notes").fill("typed into nothing")
    until(window, f"{KEPT}.includes('do not answer')")
    context = window.context
    window.close(run_before_unload=False)

    second = again()
    page = context.new_page()
    page.goto(f"{second.address}/?key={second.key}")
    page.goto(f"{second.address}/c/climbs/verdict")
    until(page, f"{KEPT}.includes('not sent yet: timed climb')")
    open_table(page, second.address)
    kept(page)
    assert cell(page, 1, "notes") == "typed into nothing"
    assert state(page)["changed"] == [f"{STEM}.csv"]


def test_a_paste_that_does_not_arrive_says_so(running, window):
    _, first, _ = running
    first.kill()
    field(window, 9, "run").focus()
    window.evaluate(
        """() => {
            const data = new DataTransfer();
            data.setData("text/plain", "9\\n10");
            document.activeElement.dispatchEvent(
                new ClipboardEvent("paste", {clipboardData: data, bubbles: true, cancelable: true}));
        }"""
    )
    until(window, "document.querySelector('[data-cell-says]').textContent.includes('Not pasted')")


def test_one_cell_that_cannot_be_kept_stops_no_other(running, window):
    """The answer to one cell is a failure, time and again; the next ones go on."""
    field(window, 0, "notes")

    def answered(route):
        poison = '"text":"poison"' in route.request.post_data
        route.fulfill(status=500, json={"problem": "x"}) if poison else route.continue_()

    window.route("**/cell", answered)
    field(window, 0, "notes").fill("poison")
    field(window, 1, "notes").fill("sound")
    field(window, 2, "notes").fill("sound as well")
    until(window, "document.querySelectorAll('.waiting').length === 1")
    assert (cell(window, 1, "notes"), cell(window, 2, "notes")) == ("sound", "sound as well")
    assert "poison" in stored(window)


def test_a_page_is_left_with_everything_sent(running, window):
    """Save at once after the last key: the file has it."""
    folder = running[0]
    for row in range(5):
        field(window, row, "notes").fill(f"last words {row}")
    window.get_by_role("button", name="Save to the files").evaluate(
        "(button) => { button.hidden = false; button.click(); }"
    )
    window.get_by_role("status").filter(has_text="In the campaign's files now").wait_for()
    saved = (folder / f"{STEM}.csv").read_text(encoding="utf-8")
    assert all(f"last words {row}" in saved for row in range(5))
    assert not (folder / ".unsaved").exists()

    open_table(window, running[1].address)
    field(window, 0, "elapsed").fill("95.1")
    field(window, 1, "elapsed").fill("85.1")
    window.get_by_role("link", name="Verdict", exact=True).click()
    window.wait_for_url("**/verdict")
    window.frame_locator("iframe").locator("#fooled-head").wait_for()
    assert "95.1" in (folder / ".unsaved" / f"{STEM}.csv").read_text(encoding="utf-8")
    assert "85.1" in (folder / ".unsaved" / f"{STEM}.csv").read_text(encoding="utf-8")


def test_more_than_a_closing_page_may_send_can_be_pasted(running, window):
    """Browsers refuse requests above 64 kB that outlive their page."""
    field(window, 9, "run").focus()
    window.evaluate(
        """() => {
            const data = new DataTransfer();
            const rows = [...Array(500).keys()].map((k) => [k + 9, ...Array(14).fill(""), "x".repeat(200)].join("\\t"));
            data.setData("text/plain", rows.join("\\n"));
            document.activeElement.dispatchEvent(
                new ClipboardEvent("paste", {clipboardData: data, bubbles: true, cancelable: true}));
        }"""
    )
    until(window, "document.querySelector('[data-cell-says]').textContent.includes('500 rows pasted')")
