"""The page of a table in a browser: its cells by row and column name, and waiting for what it is to show."""

from __future__ import annotations

import time

from worksheet_client import STEM, index

WHERE = f"/c/climbs/runs/{STEM}"


def until(page, expression: str, seconds: float = 120) -> None:
    """Wait until an expression is true; the pages' policy forbids the browser to wait for one by itself."""
    end = time.monotonic() + seconds
    while not page.evaluate(expression):
        assert time.monotonic() < end, expression
        page.wait_for_timeout(50)


def until_none(page, selector: str, seconds: float = 120) -> None:
    """Wait until nothing on the page matches any more; fails only where it does not become less for so long."""
    least, end = None, 0.0
    while left := page.locator(selector).count():
        if least is None or left < least:
            least, end = left, time.monotonic() + seconds
        assert time.monotonic() < end, f"{left} of {selector} are left, and no fewer for {seconds:g} s"
        page.wait_for_timeout(50)


def state(page) -> dict:
    return page.evaluate(f"fetch('{WHERE}/state').then((answer) => answer.json())")


def column(page, name: str) -> int:
    return index(page.evaluate("JSON.parse(document.querySelector('[data-state]').textContent).header"), name)


def field(page, row: int, name: str):
    return page.locator(f'[data-r="{row}"][data-c="{column(page, name)}"]')


def cell(page, row: int, name: str) -> str:
    """What the pages keep of a cell."""
    return state(page)["rows"][row][column(page, name)]


def kept(page) -> None:
    """Wait until nothing typed waits: as long as one cell after the other is kept, however slow the machine is."""
    until_none(page, ".waiting")


def open_table(page, address: str) -> None:
    page.goto(address + WHERE)
    page.wait_for_selector("[data-ready] [data-runs]")


def to_runs(page, tab):
    """Go to a tab of the runs; from another part of the campaign by way of the tab Runs."""
    link = page.get_by_role("link", name=tab, exact=True)
    if not link.count():
        page.get_by_role("link", name="Runs", exact=True).click()
    link.click()
