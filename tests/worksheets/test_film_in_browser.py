"""A pilot comes back with frame numbers on a card: from an empty table to the verdict, in Chromium."""

from __future__ import annotations

import film_campaign as filmed
import pytest
from slow_cases import slow_unless
from table_page import to_runs

pytestmark = pytest.mark.browser

#: How it was filmed, by the words beside the fields.
SAID = {
    "frame rate": "60", "markers": "90 m, 115 m, 165 m", "marker offset": "6 m", "camera": "120 m",
    "camera distance": "35 m", "readout": "20 ms",
}  # fmt: skip

#: Places in a row of the frames of what a fresh table has columns for: brakes, three of the four markers, lift-off.
SHOWN = (1, 2, 3, 5, 6)
PASTE = """text => { const data = new DataTransfer(); data.setData('text/plain', text);
    document.activeElement.dispatchEvent(new ClipboardEvent('paste', {clipboardData: data, bubbles: true,
    cancelable: true})); }"""


def no_overflow(page):
    return page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("size", slow_unless(["phone"], ["phone", "desktop"]))
def test_from_frames_on_a_card_to_the_verdict(visitor, pages, size):
    folder = filmed.put_campaign(pages.root / "mine", filmed_rolls="", campaign=filmed.TOML.replace(filmed.FILM, ""))
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    page = visitor(size)
    page.get_by_role("link", name="Rolls on film").click()
    to_runs(page, "Evidence")
    page.get_by_role("heading", name="From a film").wait_for()
    assert page.get_by_text("never in line with a propeller").first.is_visible()
    assert no_overflow(page)
    page.get_by_role("button", name="Start a table of filmed rolls").click()
    page.get_by_role("status").filter(has_text="Type one row a roll").wait_for()
    # the page listens once it offers to delete a row
    page.locator("tr[data-row='0'] [data-delete]").wait_for()
    # the runs whose roll is blank stand there already; the card gives the frames
    rows = [line.split(",") for line in filmed.frame_file().splitlines()[1:]]
    first = rows[0]
    order = {"marker 1": first[2], "marker 2": first[2], "marker 3": first[5], "lift-off": first[6]}
    number = page.locator("tr[data-row='0'] th.nr").inner_text().split()[-1]
    for name, text in order.items():
        page.get_by_label(f"{name}, row {number}", exact=True).fill(text)
        page.keyboard.press("Tab")
    # marker 2 was written as marker 1: said at its cell
    cell = page.get_by_label(f"marker 2, row {number}", exact=True)
    page.locator('input[aria-label^="marker 2"][aria-invalid="true"]').wait_for()
    cell.fill(first[3])
    page.keyboard.press("Tab")
    page.locator('input[aria-label^="marker 2"][aria-invalid="true"]').wait_for(state="detached")
    assert no_overflow(page)
    # the other runs are copied from a spreadsheet, from "brakes released" to "lift-off"
    page.get_by_label(f"brakes released, row {int(number) + 1}", exact=True).focus()
    block = "\n".join("\t".join(row[k] for k in SHOWN) for row in rows[1:])
    page.evaluate(PASTE, block)
    page.get_by_text("11 rows pasted").wait_for()
    assert no_overflow(page)
    to_runs(page, "Evidence")
    page.get_by_role("link", name="Look what the film gives").click()
    page.get_by_role("alert").filter(has_text="how they were filmed is not said").wait_for()
    assert page.get_by_role("button", name="Fill these").count() == 0
    page.get_by_role("link", name="How it was filmed").click()
    # the link opens the part that it leads to
    part = page.locator("#film[open]")
    part.wait_for()
    for name, words in SAID.items():
        part.get_by_label(name, exact=True).fill(words)
        page.keyboard.press("Tab")
    to_runs(page, "Evidence")
    page.get_by_role("link", name="Look what the film gives").click()
    put = page.get_by_role("button", name="Fill these 12 cells")
    put.wait_for()
    picture = page.locator("figure img")
    box = picture.bounding_box()
    assert box["height"] > 200
    assert box["x"] + box["width"] <= (390 if size == "phone" else 1366)
    assert picture.evaluate("one => one.complete && one.naturalWidth > 100")
    assert "run 1 1" in picture.get_attribute("alt")
    assert no_overflow(page)
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before
    put.click()
    page.get_by_role("status").filter(has_text="12 cells were filled from the film").wait_for()
    page.get_by_role("link", name="Verdict", exact=True).click()
    page.locator("[data-verdict]").filter(has_text="Take-off roll").wait_for()
    page.get_by_role("button", name="Save to the files").click()
    page.get_by_text("Everything is in the campaign's files").wait_for()
    saved = (folder / "takeoff_roll.csv").read_text(encoding="utf-8").splitlines()
    assert all(float(line.split(",")[3]) > 100 for line in saved[1:])
    assert "[instrument.start_and_end_of_the_roll]" in (folder / "campaign.toml").read_text(encoding="utf-8")
