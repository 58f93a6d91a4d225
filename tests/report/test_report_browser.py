"""The page in Chromium: no request, no sideways scroll, readable on a phone, whole in print."""

from __future__ import annotations

import io

import pytest
from slow_cases import slow_unless

from samesky.simulator.examples.catalogue import EXAMPLES

pypdf = pytest.importorskip("pypdf")

#: The richest example with every run, the others with all tests.
pytestmark = [
    pytest.mark.browser,
    pytest.mark.parametrize("example", slow_unless(["finer_pitch"], sorted(EXAMPLES)), indirect=True),
]


@pytest.fixture
def opened(browser, example):
    """Opens the page of an example at a width with the network cut; fails on any request or message."""
    contexts, asked, told = [], [], []

    def at(width: int, scheme: str = "light"):
        context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme, offline=True)
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.on("console", lambda message: told.append(message.text))
        page.on("dialog", lambda dialog: (told.append(dialog.message), dialog.dismiss()))
        page.goto(example.path.as_uri())
        return page

    yield at
    for context in contexts:
        context.close()
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    assert told == []


def unfold(page):
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")


def test_on_a_phone_the_page_is_short_until_it_is_unfolded(opened):
    page = opened(390)
    assert page.evaluate("document.documentElement.scrollHeight") < 8000
    assert page.evaluate("[...document.querySelectorAll('summary')].every(s => s.getBoundingClientRect().height >= 44)")
    before = page.evaluate("document.documentElement.scrollHeight")
    page.click("summary >> nth=0")
    assert page.evaluate("document.documentElement.scrollHeight") > before


def test_the_first_sheet_is_the_club_s_whole_and_alone(opened):
    page = opened(1200)
    sheets = pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages
    first = " ".join(sheets[0].extract_text().split())
    assert "Limits beside it" in first
    assert "Nothing here promises" in first
    assert "Each answer in full" not in first
    assert len(sheets) <= 18


@pytest.mark.parametrize("width", [320, 390, 700, 900, 1200])
def test_nothing_scrolls_sideways(opened, width):
    page = opened(width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    unfold(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    wide = page.evaluate(
        "[...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > innerWidth + 1)"
        ".map(e => e.tagName + ' ' + e.textContent.slice(0, 40))"
    )
    assert [one for one in wide if not one.startswith(("THEAD", "TR ", "TH "))] == []


def test_every_figure_is_drawn_and_a_phone_gets_its_own(opened):
    chosen = {}
    for width in (390, 1200):
        page = opened(width)
        unfold(page)
        found = page.evaluate(
            "[...document.images].filter(i => i.getBoundingClientRect().width)"
            ".map(i => [i.complete && i.naturalWidth > 0, i.currentSrc])"
        )
        assert found
        assert all(drawn for drawn, _ in found)
        chosen[width] = [source for _, source in found]
    assert not set(chosen[390]) & set(chosen[1200])


def test_text_on_a_phone_is_large_enough_to_read(opened):
    page = opened(390)
    unfold(page)
    sizes = page.evaluate(
        "[...document.querySelectorAll('p, li, td, dd, figcaption')].filter(e => e.textContent.trim())"
        ".map(e => parseFloat(getComputedStyle(e).fontSize))"
    )
    assert min(sizes) >= 13


def test_a_dark_screen_turns_page_and_figures(opened):
    page = opened(900, "dark")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(21, 24, 28)"
    shade = page.evaluate(
        """async () => {
          const image = document.images[0]; await image.decode();
          const canvas = document.createElement('canvas'); canvas.width = canvas.height = 8;
          const pen = canvas.getContext('2d'); pen.drawImage(image, 0, 0, 8, 8, 0, 0, 8, 8);
          return [...pen.getImageData(2, 2, 1, 1).data];
        }"""
    )
    assert sum(shade[:3]) < 3 * 64


def test_in_print_every_run_and_reason_is_there(opened, example):
    page = opened(1200)
    printed = pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    assert {tuple(round(float(side)) for side in sheet.mediabox[2:]) for sheet in printed.pages} == {(595, 842)}
    text = " ".join(" ".join(sheet.extract_text() for sheet in printed.pages).split())
    for table in example.campaign.tables.values():
        for clock in table.text["clock"]:
            assert clock in text
        for reason in table.text["exclude"]:
            assert reason in text
