"""On the apron: what the page says is what the functions say, a bad field stops its own card alone."""

from __future__ import annotations

import re
from html import unescape

import httpx
import pytest
from slow_cases import slow_unless

from samesky import apron, units
from samesky.campaign.reading.read import read
from samesky.published.registry import check
from samesky.simulator.examples.catalogue import write_example


@pytest.fixture
def flown(pages):
    return write_example("finer_pitch", pages.root / "finer_pitch")


@pytest.fixture
def client(pages, flown):
    with httpx.Client(base_url=pages.address, headers={"origin": pages.address}, timeout=150) as opened:
        opened.get(pages.door)
        yield opened


def text(html: str) -> str:
    return unescape(" ".join(re.sub(r"<[^>]+>", " ", html).split()))


def card(html: str, anchor: str) -> str:
    found = re.search(rf'<section class="[^"]*" id="card-{anchor}">.*?</section>', html, re.DOTALL)
    return text(found.group())


NOW = {"configuration": "B", "wind from": "250", "wind": "6", "gust": "9", "oat": "14", "dew point": "5", "qnh": "1019"}
NOW |= {"fuel": "35"}


def test_every_card_says_what_its_function_says(client, flown):
    campaign = read(flown)
    html = client.get("/c/finer_pitch/today", params=NOW).text
    knot, kelvin, degree = units.to_si(1.0, "kt", "speed"), units.to_si(14.0, "degC", "temperature"), 3.14159265 / 180
    fuel = units.to_si(35.0, "L", "volume") * campaign.loading.fuel_density
    wind = apron.wind_now(campaign, 6 * knot, 250 * degree, 9 * knot)
    air = apron.air_now(campaign, kelvin, 101_900.0, None, kelvin - 9.0)
    loaded = apron.loading_now(campaign, "B", fuel)
    for anchor, found in (("wind", wind), ("air", air), ("loading", loaded)):
        said = card(html, anchor)
        for sentence in found.sentences:
            assert sentence in said, anchor
    assert card(html, "wind").count("DOES NOT HOLD") == sum(one.holds is False for one in wind.limits) == 1
    # Once is enough, and no programmer's names: no tables in brackets, no files.
    told = " ".join(card(html, anchor) for anchor in ("wind", "air", "loading", "fuel", "speeds"))
    assert ": holds," not in told
    assert "does not hold, by" not in told
    assert not re.search(r"\[[a-z.]+\]|\.csv|\.toml", told)
    for sentence in apron.fuel_to_add(campaign, loaded).sentences:
        assert sentence in card(html, "fuel")
    for one in apron.target_airspeeds(campaign, loaded.mass, "B"):
        assert one.says in card(html, "speeds")


def test_wind_components_of_a_printed_table(client, flown):
    """Runway 17, wind 140 at 25 kt: crosswind 13 kt (registry T1-252), through the page."""
    file = flown / "campaign.toml"
    file.write_text(file.read_text().replace('heading = "230 deg"', 'heading = "170 deg"'))
    html = client.get("/c/finer_pitch/today", params={**NOW, "wind": "25", "wind from": "140", "gust": ""}).text
    said = re.search(r"crosswind ([\d.]+) kt from the left", card(html, "wind"))
    assert check("T1-252", float(said[1])).agrees


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("oat", "abc"),
        ("oat", "1e9"),
        ("qnh", "nan"),
        ("wind", "-3"),
        ("wind from", "400"),
        ("gust", "2"),
        ("fuel", "35 kt"),
        ("dew point", "30"),
        ("clock", "25:00"),
        ("configuration", "<b>Z</b>"),
    ],
)
def test_a_bad_field_is_said_at_the_field_and_the_rest_answers(client, field, typed):
    answer = client.get("/c/finer_pitch/today", params={**NOW, field: typed, "more": "1"})
    assert answer.status_code == 200
    assert "<b>Z" not in answer.text
    box = re.search(rf'data-field="{field}">.*?</div>', answer.text, re.DOTALL).group()
    assert 'aria-invalid="true"' in box
    assert text(re.search(r"<span class=\"wrong\" data-wrong>(.*?)</span>", box, re.DOTALL)[1])
    assert answer.text.count('class="says"') >= 2


def test_what_is_missing_is_named(client):
    html = client.get("/c/finer_pitch/today", params=dict.fromkeys(NOW, "")).text
    assert card(html, "wind").endswith("Needs: Wind.")
    assert "Needs: Outside air." in card(html, "air")
    assert "Needs: Fitted now, Fuel on board." in card(html, "loading")


def test_fields_are_filled_from_the_last_run_and_say_so(client):
    html = client.get("/c/finer_pitch/today").text
    assert 'value="1019"' in html
    assert "from run 20, take-off roll" in text(html)


def test_the_last_run_typed_is_looked_at(client, flown):
    file = flown / "takeoff_roll.csv"
    lines = file.read_text().splitlines()
    cells = lines[-1].split(",")
    cells[8] = "19700"
    file.write_text("\n".join([*lines[:-1], ",".join(cells)]) + "\n")
    said = card(client.get("/c/finer_pitch/today", params={**NOW, "table": "takeoff_roll"}).text, "run")
    assert "19700" in said


def test_one_more_block_has_its_answer(client, flown):
    answer = client.get("/c/finer_pitch/today/more", params=NOW | {"wind": "2", "gust": "", "clock": "12:30"}).json()
    campaign = read(flown)
    said = text(answer["cards"])
    knot = units.to_si(1.0, "kt", "speed")
    wind = apron.wind_now(campaign, 2 * knot, 250 * 3.14159265 / 180)
    fuel = units.to_si(35.0, "L", "volume") * campaign.loading.fuel_density
    assert apron.one_more_or_stop(campaign, 12.5, fuel, wind=wind).says in said


def test_a_campaign_with_nothing_in_it_still_has_a_page(client, flown):
    bare = flown.parent / "bare"
    bare.mkdir()
    (bare / "campaign.toml").write_text('[configuration.A]\nlabel = "a"\n[configuration.B]\nlabel = "b"\n')
    answer = client.get("/c/bare/today", params=NOW | {"more": "1"})
    assert answer.status_code == 200
    (bare / "campaign.toml").write_text("title = \n")
    assert "cannot be read yet" in client.get("/c/bare/today").text
    assert client.get("/c/bare/today/cards").status_code == 422
    assert client.get("/c/bare/today/more").status_code == 422


@pytest.mark.browser
@pytest.mark.parametrize("size", slow_unless(["phone"], ["desktop", "phone"]))
def test_answers_follow_the_fields_and_outlive_a_reload(visitor, pages, size):
    write_example("finer_pitch", pages.root / "finer_pitch")
    page = visitor(size)
    page.goto(f"{pages.address}/c/finer_pitch/today")
    page.get_by_label("Wind kt").fill("6")
    page.get_by_label("Wind from").fill("250")
    page.get_by_text("Do not fly now: a limit on the wind does not hold.").first.wait_for()
    page.reload()
    page.locator("#card-wind .says").filter(has_text="does not hold").wait_for()
    assert page.get_by_label("Wind kt").input_value() == "6"
    page.get_by_label("Wind kt").fill("2")
    page.locator("#card-wind .says").filter(has_text="The limits on the wind hold").wait_for()
    page.get_by_label("Outside air").fill("warm")
    page.locator('[data-field="oat"] [data-wrong]').filter(has_text="warm").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.get_by_role("button", name="One more block").click()
    page.locator("#card-more .says").wait_for()
    pages.running.should_exit = True
    page.wait_for_timeout(400)
    page.get_by_label("Wind kt").fill("3")
    page.get_by_text("The pages do not answer").wait_for()
