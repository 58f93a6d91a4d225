"""The pages can be read in sunlight, reached without a mouse, named by a screen reader, and used on a phone.

Held against WCAG 2.2: 1.3.1 and 4.1.2 (names), 1.4.6 and 1.4.11 (contrast, by its formula of relative luminance),
1.4.10 (no sideways scrolling at a phone's width), 2.4.2, 2.4.7, 2.5.5 (targets of 44 pixels), 3.1.1.
"""

from __future__ import annotations

import re

import pytest
from table_page import field, kept, open_table
from worksheet_client import STEM, put_campaign

from samesky.worksheets.server.application import STATIC

pytestmark = pytest.mark.browser

PAGES = ["/", "/c/climbs/settings", f"/c/climbs/runs/{STEM}", "/c/climbs/verdict", "/c/climbs/today", "/c/climbs/plan",
         "/nothing"]  # fmt: skip
SPOILT = "fast"


@pytest.fixture
def window(visitor, pages):
    folder = put_campaign(pages.root)
    text = (folder / f"{STEM}.csv").read_text(encoding="utf-8")
    (folder / f"{STEM}.csv").write_text(text.replace("88.3", SPOILT), encoding="utf-8")

    def opened(size="desktop", **options):
        return visitor(size, **options)

    return opened


NAMES = """() => {
    const by = (id) => document.getElementById(id)?.textContent;
    const named = (one) => one.getAttribute("aria-label")?.trim() || one.textContent.trim() || one.title
        || [...(one.labels || [])].map((label) => label.textContent.trim()).join("")
        || (one.getAttribute("aria-labelledby") || "").split(" ").map(by).join("");
    const all = "input:not([type=hidden]), select, textarea, button, a[href], iframe, summary, [role=region]";
    return [...document.querySelectorAll(all)].filter((one) => !(named(one) || "").trim())
        .map((one) => one.outerHTML.slice(0, 120));
}"""

STRUCTURE = """() => {
    const levels = [...document.querySelectorAll("h1, h2, h3, h4")].filter((one) => one.checkVisibility())
        .map((one) => Number(one.tagName[1]));
    const ids = [...document.querySelectorAll("[id]")].map((one) => one.id);
    const names = ["for", "aria-describedby", "aria-labelledby", "list"];
    const refers = names.flatMap((name) => [...document.querySelectorAll(`[${name}]`)]
        .flatMap((one) => one.getAttribute(name).split(" ").filter(Boolean)));
    return {
        lang: document.documentElement.lang,
        title: document.title,
        first: levels[0],
        ones: levels.filter((level) => level === 1).length,
        jumps: levels.filter((level, k) => k && level > levels[k - 1] + 1),
        twice: ids.filter((id, k) => ids.indexOf(id) !== k),
        dangling: refers.filter((id) => !ids.includes(id)),
        mains: document.querySelectorAll("main").length,
        skip: document.querySelector("a")?.getAttribute("href"),
        wide: document.documentElement.scrollWidth - innerWidth,
    };
}"""

TARGETS = """() => {
    const small = [];
    const all = "button, select, textarea, input:not([type=hidden]), summary, a[href]";
    for (const one of document.querySelectorAll(all)) {
        if (!one.checkVisibility() || one.matches(".skip")) continue;
        const label = one.matches("[type=checkbox], [type=radio]") ? one.closest("label") : one;
        const {width, height} = (label || one).getBoundingClientRect();
        if (height && (height < 43.5 || width < 43.5)) {
            small.push(`${Math.round(width)}x${Math.round(height)} ${one.outerHTML.slice(0, 90)}`);
        }
    }
    return small;
}"""


@pytest.mark.parametrize("where", PAGES)
def test_every_page_is_named_and_in_order(window, pages, where):
    page = window()
    page.goto(pages.address + where)
    assert page.evaluate(NAMES) == []
    found = page.evaluate(STRUCTURE)
    assert found["lang"] == "en"
    assert found["title"].strip()
    assert (found["first"], found["ones"], found["mains"], found["skip"]) == (1, 1, 1, "#content")
    assert (found["jumps"], found["twice"], found["dangling"]) == ([], [], [])


@pytest.mark.parametrize("where", PAGES)
def test_every_page_fits_a_phone(window, pages, where):
    page = window("phone")
    page.goto(pages.address + where)
    assert page.evaluate(STRUCTURE)["wide"] <= 0
    assert page.evaluate(TARGETS) == []
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert page.evaluate(STRUCTURE)["wide"] <= 0
    assert page.evaluate(TARGETS) == []


def test_titles_tell_the_pages_apart(window, pages):
    page = window()
    titles = []
    for where in PAGES:
        page.goto(pages.address + where)
        titles.append(page.title())
    assert len(set(titles)) == len(titles)


def test_the_first_key_leads_past_the_tabs_and_the_focus_is_seen(window, pages):
    page = window()
    page.goto(pages.address + "/c/climbs/settings")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the content"
    assert page.evaluate("document.activeElement.getBoundingClientRect().left >= 0")
    for _ in range(12):
        page.keyboard.press("Tab")
        style = page.evaluate(
            "(({outlineStyle, outlineWidth}) => [outlineStyle, outlineWidth])(getComputedStyle(document.activeElement))"
        )
        assert style == ["solid", "3px"]


def test_what_is_wrong_is_said_at_its_cell(window, pages):
    page = window()
    open_table(page, pages.address)
    wrong = field(page, 1, "elapsed")
    assert wrong.get_attribute("aria-invalid") == "true"
    assert page.locator("[aria-invalid]").count() == 1
    wrong.focus()
    said = page.locator("[data-cell-says]")
    assert "is text where a number belongs" in said.inner_text()
    assert said.get_attribute("role") == "alert"
    assert wrong.evaluate("(one) => getComputedStyle(one.closest('td'), '::after').content") == '"!"'
    wrong.fill("88.3")
    kept(page)
    assert page.locator("[aria-invalid]").count() == 0
    assert said.inner_text() == ""


def test_keys_move_between_cells(window, pages):
    page = window()
    open_table(page, pages.address)
    here = "[document.activeElement.dataset.r, document.activeElement.dataset.c].join()"
    field(page, 1, "oat").focus()
    start = int(page.evaluate("document.activeElement.dataset.c"))
    for key, place in (
        ("Enter", (2, 0)), ("Shift+Enter", (1, 0)), ("ArrowDown", (2, 0)), ("ArrowUp", (1, 0)), ("End", (1, 0)),
        ("ArrowRight", (1, 1)), ("Home", (1, 1)), ("ArrowLeft", (1, 0)), ("Tab", (1, 1)), ("Shift+Tab", (1, 0)),
    ):  # fmt: skip
        page.keyboard.press(key)
        assert page.evaluate(here) == f"{place[0]},{start + place[1]}", key
    before = field(page, 1, "oat").input_value()
    page.keyboard.type("99")
    page.keyboard.press("Escape")
    assert field(page, 1, "oat").input_value() == before
    kept(page)
    assert field(page, 1, "oat").input_value() == before


def test_a_table_grows_under_the_typing(window, pages):
    page = window()
    open_table(page, pages.address)
    rows = page.locator("tbody tr").count()
    field(page, rows - 1, "run").fill("last")
    kept(page)
    assert page.locator("tbody tr").count() > rows
    labels = page.evaluate("[...document.querySelectorAll('td [data-r]')].map((one) => one.getAttribute('aria-label'))")
    assert len(set(labels)) == len(labels)


def test_without_scripts_a_campaign_is_started_typed_and_saved(window, pages):
    page = window(java_script_enabled=False)
    page.get_by_text("More: choose every measure yourself").click()
    page.get_by_label("Name", exact=True).fill("By hand")
    page.get_by_role("checkbox", name="Take-off roll").uncheck()
    page.get_by_role("checkbox", name="Timed climb").check()
    page.locator(f'input[name="matters.{STEM}"]').fill("2 %")
    page.get_by_role("button", name="Start").click()
    page.goto(f"{pages.address}/c/by-hand/runs/{STEM}")
    elapsed = page.locator("[aria-label^='elapsed [s], row']").first
    page.locator("[aria-label^='run, row']").first.fill("1")
    elapsed.fill("1.5 min")
    page.get_by_role("button", name="Keep what is typed").click()
    assert elapsed.input_value() == "90"
    assert page.get_by_role("status").filter(has_text="1.5 min is 90 s.").count() == 1
    page.get_by_role("link", name="Question").click()
    page.get_by_label("title").fill("By hand, in May")
    page.locator("form", has=page.get_by_label("title")).get_by_role("button", name="Keep").click()
    page.get_by_role("button", name="Save to the files").click()
    folder = pages.root / "by-hand"
    assert 'title = "By hand, in May"' in (folder / "campaign.toml").read_text(encoding="utf-8")
    assert ",90," in (folder / f"{STEM}.csv").read_text(encoding="utf-8")
    assert not (folder / ".unsaved").exists()


# ---- contrast, from the style sheets -------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    channels = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    bright, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def colours() -> dict[str, str]:
    text = (STATIC / "worksheet.css").read_text(encoding="utf-8")
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", text))


def test_the_formula_gives_the_printed_extremes():
    """WCAG 2.2: from 1 (no contrast) to 21 (black on white)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == 1


@pytest.mark.parametrize("ink", ["ink", "quiet", "wrong", "doubt", "strong"])
@pytest.mark.parametrize("ground", ["paper", "wash"])
def test_words_can_be_read_in_sunlight(ink, ground):
    assert contrast(colours()[ink], colours()[ground]) >= 7


@pytest.mark.parametrize("ground", ["paper", "wash"])
def test_edges_of_fields_can_be_seen(ground):
    assert contrast(colours()["rule"], colours()[ground]) >= 3


def test_no_colour_is_used_that_is_not_measured():
    for path in STATIC.glob("*.css"):
        text = re.sub(r":root \{[^}]*\}", "", path.read_text(encoding="utf-8"))
        assert re.findall(r"#[0-9a-fA-F]{3,8}\b|rgb|hsl|opacity: 0?\.", text) == [], path.name


HINTS = """() => [...document.querySelectorAll("[placeholder]")]
    .map((one) => getComputedStyle(one, "::placeholder").color)"""
COMPUTED = """() => {
    const words = (one) => [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim());
    const clear = "rgba(0, 0, 0, 0)";
    const ground = (one) => {
        const colour = one ? getComputedStyle(one).backgroundColor : "rgb(255, 255, 255)";
        return colour === clear ? ground(one.parentElement) : colour;
    };
    return [...document.querySelectorAll("body *")].filter((one) => one.checkVisibility() && words(one))
        .map((one) => [getComputedStyle(one).color, ground(one), one.outerHTML.slice(0, 80)]);
}"""


@pytest.mark.parametrize("where", PAGES)
def test_what_is_drawn_has_the_contrast(window, pages, where):
    page = window()
    page.goto(pages.address + where)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    pairs = page.evaluate(COMPUTED)
    assert pairs
    for ink, ground, what in pairs:
        one, other = ("#" + "".join(f"{int(c):02x}" for c in re.findall(r"[\d.]+", text)[:3]) for text in (ink, ground))
        assert contrast(one, other) >= 7, (what, one, other)
    hints = page.evaluate(HINTS)
    for hint in set(hints):
        colour = "#" + "".join(f"{int(c):02x}" for c in re.findall(r"\d+", hint)[:3])
        assert contrast(colour, "#ffffff") >= 7, hint


def test_on_a_phone_finished_runs_are_a_line_each_and_the_tabs_one(window, pages):
    """Twelve rolls and more stand within 4,000 px; a touch opens one, and the next takes the weather of the last."""
    file = pages.root / "climbs" / f"{STEM}.csv"
    file.write_text(file.read_text(encoding="utf-8").replace(SPOILT, "88.3"), encoding="utf-8")
    runs = len([line for line in file.read_text(encoding="utf-8").splitlines() if line[:1].isdigit()])
    page = window("phone")
    page.goto(f"{pages.address}/c/climbs/runs/{STEM}")
    page.wait_for_selector("[data-ready]")
    tops = page.evaluate("[...document.querySelectorAll('[data-tabs] > li:not(.second)')].map((one) => one.offsetTop)")
    assert len(set(tops)) == 1
    assert page.locator("tbody tr.folded").count() == runs > 5
    assert page.locator("tbody tr:visible:not(.folded)").count() == 1
    assert page.evaluate("document.documentElement.scrollHeight") < 4000
    first = page.locator("tbody tr.folded").first
    line = first.inner_text()
    cells = page.locator("tbody tr").first.locator("[data-r]").evaluate_all("all => all.map((one) => one.value)")
    assert line.startswith(f"Run {cells[0]} ")
    first.get_by_role("button").click()
    assert page.locator("tbody tr").first.get_by_label("row").first.is_visible()
    page.locator("[data-same]:visible").last.click()
    page.wait_for_function(
        "document.querySelector('tbody tr:not(.folded):not(.spare) input[aria-label^=oat]').value !== ''"
    )


def test_settings_are_short_and_what_is_wrong_stands_open(window, pages):
    page = window()
    page.goto(f"{pages.address}/c/climbs/settings")
    assert page.evaluate("document.documentElement.scrollHeight") < 3000
    assert page.locator("details.group[open]").count() == 1
