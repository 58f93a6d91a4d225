"""A pilot comes back with a track: from the file to the verdict, in Chromium, on a desk and on a phone."""

from __future__ import annotations

import flown_tracks as flown
import pytest
from flown_tracks import BY_HAND
from slow_cases import slow_unless
from table_page import to_runs

pytestmark = pytest.mark.browser

#: Temperature and altimeter setting were read as well: where one row has them, all need them.
READ = BY_HAND.replace("configuration;", "configuration;oat [degC];qnh [hPa];").replace(";B;", ";B;8.0;1015;")


def no_overflow(page):
    return page.evaluate("document.documentElement.scrollWidth <= innerWidth")


WAYS = [("desktop", True), ("phone", True), ("phone", False)]


@pytest.mark.parametrize(("size", "scripts"), slow_unless(WAYS[1:], WAYS))
def test_from_a_track_to_the_verdict(visitor, pages, tmp_path, size, scripts):
    folder = flown.put_campaign(pages.root, files={"timed_climb.csv": READ})
    (tmp_path / "morning.gpx").write_bytes(flown.flight("gpx"))
    page = visitor(size, java_script_enabled=scripts)
    page.get_by_role("link", name="By track").click()
    page.get_by_role("link", name="Verdict", exact=True).click()
    # three climbs of B read by hand, and none of A: no verdict
    page.get_by_text("nothing to compare").first.wait_for()
    to_runs(page, "Evidence")
    page.get_by_role("heading", name="From a track").wait_for()
    assert no_overflow(page) or not scripts
    page.get_by_label("A GPX, NMEA 0183 or IGC file").set_input_files(tmp_path / "morning.gpx")
    page.get_by_label("What was flown").select_option("timed_climb")
    page.get_by_label("Fitted then").select_option("A")
    page.get_by_role("button", name="Look what is in it").click()
    # the offset was left out: asked for at its field, the file need not be chosen again
    page.get_by_role("alert").filter(has_text="Write such as +02:00").wait_for()
    page.get_by_label("Your clock is ahead of UTC by").fill("+02:00")
    page.get_by_text("More, if you know it").click()
    page.get_by_label("Temperature of these runs").fill("8 degC")
    page.get_by_label("Altimeter setting").fill("1015 hPa")
    page.get_by_role("button", name="Look again").click()
    page.get_by_role("heading", name="Which one is it?").wait_for()
    assert page.get_by_role("button", name="into the table").count() == 0
    assert page.get_by_role("link", name="Take only").count() == 4
    page.get_by_role("link", name="Take only").nth(2).click()
    page.get_by_role("button", name="Put this row into the table").wait_for()
    page.get_by_label("Bottom of the band climbed or descended").fill("700 m")
    page.get_by_label("its top", exact=True).fill("1000 m")
    page.get_by_label("How many of these were flown").fill("3")
    page.get_by_label("Look from").fill("")
    page.get_by_label("Up to", exact=True).first.fill("")
    page.get_by_role("button", name="Look again").click()
    put = page.get_by_role("button", name="Put these 3 rows into the table")
    put.wait_for()
    for picture in page.locator("figure img").all():
        box = picture.bounding_box()
        assert box["height"] > 200
        assert box["x"] + box["width"] <= (390 if size == "phone" else 1366)
        if scripts:
            assert picture.evaluate("one => one.complete && one.naturalWidth > 100")
    if scripts:
        assert no_overflow(page)
    put.click()
    page.get_by_role("status").filter(has_text="3 rows from the track were put in").wait_for()
    assert page.locator('select[name^="c-"]').evaluate_all("all => all.map(one => one.value)")[:6] == list("AAABBB")
    page.get_by_role("link", name="Verdict", exact=True).click()
    page.locator("[data-verdict]").filter(has_text="Timed climb").wait_for()
    assert "nothing to compare" not in page.locator("main").inner_text()
    assert (folder / "timed_climb.csv").read_text(encoding="utf-8") == READ
    page.get_by_role("button", name="Save to the files").click()
    page.get_by_text("Everything is in the campaign's files").wait_for()
    saved = (folder / "timed_climb.csv").read_text(encoding="utf-8")
    assert saved.count("from the track morning.gpx") == 3
    assert all(line in saved for line in READ.splitlines())


@pytest.mark.parametrize("size", slow_unless(["desktop"], ["desktop", "phone"]))
def test_a_track_fills_what_was_planned(visitor, pages, tmp_path, size):
    table = "run,date,clock,configuration,from [ft],to [ft],elapsed [s],notes\n"
    table += "".join(f"{k},2024-05-24,,{key},,,,block {1 + (key == 'B')}\n" for k, key in enumerate("AAAB", 1))
    flown.put_campaign(pages.root, files={"timed_climb.csv": table})
    (tmp_path / "morning.igc").write_bytes(flown.flight("igc"))
    page = visitor(size)
    page.get_by_role("link", name="By track").click()
    to_runs(page, "Evidence")
    page.get_by_label("A GPX, NMEA 0183 or IGC file").set_input_files(tmp_path / "morning.igc")
    page.get_by_label("What was flown").select_option("timed_climb")
    page.get_by_label("Fitted then").select_option("A")
    page.locator("#t-utc_offset").fill("+02:00")
    page.get_by_label("How many of these were flown").fill("3")
    page.get_by_text("More, if you know it").first.click()
    page.locator("#t-bottom").fill("700 m")
    page.locator("#t-top").fill("1000 m")
    page.get_by_role("button", name="Look what is in it").click()
    page.get_by_text("they fill the planned runs 1, 2 and 3 (block 1), in order").wait_for()
    page.wait_for_load_state()
    assert no_overflow(page)
    page.get_by_role("button", name="Put these 3 rows into the table").click()
    page.get_by_role("status").filter(has_text="3 rows from the track were put in").wait_for()
    page.wait_for_load_state()
    assert no_overflow(page)
    assert page.locator('select[name^="c-"]').evaluate_all("all => all.map(one => one.value)")[:4] == list("AAAB")
