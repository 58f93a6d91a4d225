"""Every page of the built book in a real browser, with nothing but the book to talk to.

Debian's Chromium, a local server for the pages, every other address refused. The book is built first where it is not
up to date; the tests are left out only where there is no Chromium.
"""

from __future__ import annotations

import functools
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import build
import built
import pytest

WIDTHS = {"phone": (390, 844), "desk": (1280, 900)}
pytestmark = pytest.mark.browser

#: Contrast of text against what it stands on, for the middle of the page: WCAG 2.1, relative luminance.
CONTRAST = """() => {
  const rgb = c => (c.match(/[\\d.]+/g) || []).map(Number);
  const lum = c => { const [r, g, b] = c.slice(0, 3).map(v => { v /= 255;
      return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
      return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const behind = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor);
      if (c.length === 3 || c[3] > 0.99) return c; } return [255, 255, 255]; };
  let worst = [99, ''];
  for (const e of document.querySelectorAll('article p, article li, article td, article th, article h1, article h2, ' +
      'article a, article figcaption span, article .output pre, article dt, article .highlight span')) {
    if (!e.textContent.trim() || !e.offsetParent) continue;
    const [a, b] = [lum(rgb(getComputedStyle(e).color)), lum(behind(e))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < worst[0]) worst = [ratio, e.tagName + ' ' + e.className + ': ' + e.textContent.trim().slice(0, 60)];
  }
  return worst;
}"""

#: Elements that reach over the right edge, unless something around them scrolls or cuts them off.
TOO_WIDE = """() => {
  const wide = document.documentElement.clientWidth;
  const inside = e => { for (let p = e.parentElement; p && p !== document.body; p = p.parentElement) {
      if (/auto|scroll|hidden|clip/.test(getComputedStyle(p).overflowX)) return true; } return false; };
  return [...document.querySelectorAll('article *')].filter(e => e.offsetParent &&
      e.getBoundingClientRect().right > wide + 1 && !inside(e)).map(e => e.tagName + ' ' + e.className).slice(0, 5);
}"""


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *args) -> None:
        pass


@contextmanager
def serving(folder) -> Iterator[str]:
    """The address at which the folder is served."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Quiet, directory=str(folder)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()


@pytest.fixture(scope="module")
def site(browser):
    assert build.build() == []
    with serving(build.HTML) as address:
        yield address


class Visit:
    """One page opened by someone without a network: what failed and what the console said."""

    def __init__(self, browser, home: str, size: str = "desk", scheme: str = "light") -> None:
        width, height = WIDTHS[size]
        self.troubles: list[str] = []
        self.context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
        self.context.route("**/*", lambda route: self._pass(route, home))
        self.page = self.context.new_page()
        self.page.on("requestfailed", self._failed)
        self.page.on("response", lambda r: self.troubles.append(f"{r.status}: {r.url}") if r.status >= 400 else None)
        self.page.on("pageerror", lambda error: self.troubles.append(f"script: {error}"))
        self.page.on("console", lambda m: self.troubles.append(f"console: {m.text}") if m.type == "error" else None)

    def _failed(self, request) -> None:
        # The icon of the tab is no part of a page's load: going on to the next page calls off what is still on its way.
        if request.failure != "net::ERR_ABORTED":
            self.troubles.append(f"failed: {request.url}")

    def _pass(self, route, home: str) -> None:
        # The browser's own guess at a site icon is not a load of the page.
        if route.request.url.startswith((home, "data:", "blob:")):
            route.continue_()
        else:
            route.abort()

    def open(self, address: str) -> Visit:
        self.page.goto(address, wait_until="load")
        self.page.wait_for_function("() => !window.MathJax || !MathJax.startup || MathJax.startup.document")
        self.page.evaluate("() => window.MathJax && MathJax.startup && MathJax.startup.promise")
        return self

    def close(self) -> None:
        self.context.close()


@pytest.fixture(scope="module")
def visit(browser, site):
    opened: list[Visit] = []

    def start(**options) -> Visit:
        opened.append(Visit(browser, site, **options))
        return opened[-1]

    yield start
    for each in opened:
        each.close()


def names() -> list[str]:
    """Every promised page, and the search page."""
    return [*(f"{name}.html" for name in built.documents(build.BOOK)), "search.html"]


#: Each page is loaded at one width and turned to the other, in one scheme and then, loaded anew, in the other.
@pytest.mark.parametrize(("scheme", "sizes"), [("light", ["desk", "phone"]), ("dark", ["phone", "desk"])])
def test_every_page_opens_alone_fits_and_can_be_read(visit, site, scheme, sizes):
    opened = visit(size=sizes[0], scheme=scheme)
    said, with_mathematics = [], 0
    for name in names():
        opened.page.set_viewport_size(dict(zip(("width", "height"), WIDTHS[sizes[0]], strict=True)))
        opened.open(site + name)
        assert opened.page.evaluate("() => document.documentElement.dataset.theme") == scheme
        said += wrong_pictures(opened.page, name)
        with_mathematics += opened.page.locator(".math").count() > 0
        said += wrong_mathematics(opened.page, name)
        for size in sizes:
            opened.page.set_viewport_size(dict(zip(("width", "height"), WIDTHS[size], strict=True)))
            said += [f"{name}, {size}: {one}" for one in unreadable(opened.page)]
        said += [f"{name}: {trouble}" for trouble in opened.troubles]
        opened.troubles.clear()
    assert said == []
    assert with_mathematics >= 2


def unreadable(page) -> list[str]:
    wide = page.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth")
    said = [f"scrolls sideways by {wide} px"] if wide > 0 else []
    said += [f"reaches over the edge: {each}" for each in page.evaluate(TOO_WIDE)]
    ratio, where = page.evaluate(CONTRAST)
    return [*said, f"contrast {ratio:.1f}: {where}"] if ratio < 4.5 else said


def wrong_mathematics(page, name: str) -> list[str]:
    """Whether every formula is set, by the book's own MathJax and its fonts."""
    written = page.locator(".math").count()
    if not written:
        return []
    fonts = page.evaluate("() => [...document.fonts].filter(f => f.status === 'loaded').map(f => f.family)")
    whole = page.locator("mjx-container").count() >= written and page.locator("mjx-merror").count() == 0
    return [] if whole and any("MJX" in family for family in fonts) else [f"{name}: mathematics that is not set"]


def wrong_pictures(page, name: str) -> list[str]:
    pictures = page.evaluate(
        "() => [...document.querySelectorAll('article img')].map(i => [i.naturalWidth, i.alt.length, i.src])"
    )
    said = [f"{name}: a picture not loaded, or without words: {src}" for w, alt, src in pictures if not w or alt <= 20]
    return [*said, f"{name}: fewer than two pictures"] if name.startswith("chapters/") and len(pictures) < 2 else said


def test_solutions_are_folded_and_open(visit, site):
    opened = visit().open(site + "chapters/fair_comparison.html")
    solution = opened.page.locator("div.solution.dropdown").first
    inside = solution.locator(".cell_output").first
    assert not inside.is_visible()
    solution.locator("p.admonition-title").click()
    inside.wait_for(state="visible")


@pytest.mark.parametrize("size", WIDTHS)
def test_search_finds_density_altitude(visit, site, size):
    opened = visit(size=size).open(site + "search.html?q=density+altitude")
    opened.page.wait_for_selector("#search-results li")
    found = opened.page.locator("#search-results li a").all_text_contents()
    assert any("Reducing a take-off roll" in title for title in found)
    assert any("Glossary" in title for title in found)
    assert opened.troubles == []


def test_search_works_from_a_folder_without_a_server(browser, site):
    opened = Visit(browser, "file://")
    opened.open((build.HTML / "search.html").as_uri() + "?q=density+altitude")
    opened.page.wait_for_selector("#search-results li")
    found = opened.page.locator("#search-results li a").all_text_contents()
    opened.close()
    assert any("Reducing a take-off roll" in title for title in found)


def test_a_page_that_asks_the_network_is_caught(browser, tmp_path):
    """The net under the other tests holds: an outside load, a missing file, a wide table."""
    (tmp_path / "bad.html").write_text(
        "<html><body><article><div style='width:2000px'>wide</div><img src='gone.png' alt='x'>"
        "<script src='https://cdn.example.org/x.js'></script></article></body></html>"
    )
    with serving(tmp_path) as address:
        opened = Visit(browser, address, size="phone")
        opened.open(address + "bad.html")
        assert any("cdn.example.org" in trouble for trouble in opened.troubles)
        assert any("404" in trouble for trouble in opened.troubles)
        assert opened.page.evaluate(TOO_WIDE)
        assert opened.page.evaluate("() => document.documentElement.scrollWidth") > 390
        opened.close()
