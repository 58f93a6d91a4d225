"""The plan as a page says what the plan says, works nothing out unasked, and refuses like the command line."""

from __future__ import annotations

import html
import re
import shutil
import sys
import threading
from pathlib import Path

import httpx
import pytest

from samesky import cli
from samesky.campaign.outline_edit import with_entry, without_group
from samesky.campaign.read import read
from samesky.planning import plan as planning
from samesky.planning import shown
from samesky.planning.machine import to_json
from samesky.planning.page import CAUTION, headline
from samesky.worksheets import plan_work
from samesky.worksheets.draft import Draft
from samesky.worksheets.settings_pages import BETWEEN

DATA = Path(__file__).resolve().parents[2] / "data_synthetic" / "finer_pitch_planned"
NAME = "evening"
JSON = {"accept": "application/json"}
HOSTILE = ["<script>alert(1)</script>", "../../etc/passwd", 'B" onload="alert(1)', "\x00", "A", "C" * 5000, "b"]


@pytest.fixture
def folder(pages):
    return Path(shutil.copytree(DATA, pages.root / NAME))


@pytest.fixture
def client(pages, folder):
    with httpx.Client(base_url=pages.address, headers={"origin": pages.address}, timeout=60) as opened:
        opened.get(pages.door)
        yield opened


@pytest.fixture
def one_measure(folder):
    """The same evening with the timed climb alone, on one day: seconds less."""
    text = (folder / "campaign.toml").read_text(encoding="utf-8")
    for name in ("takeoff_roll", "static_pull", "level_speed"):
        text = without_group(without_group(text, ("plan", name)), ("measure", name))
    for mission in ("short_strip", "cross_country", "everyday"):
        text = without_group(text, ("mission", mission))
    text = with_entry(with_entry(text, ("plan",), "days", "1"), ("plan",), "looks", "")
    (folder / "campaign.toml").write_text(text, encoding="utf-8")
    return folder


def at(place: str = "") -> str:
    return f"/c/{NAME}/plan{place}"


def typed(client, path, name, text):
    answer = client.post(f"/c/{NAME}/settings/entry", json={"path": path, "name": name, "text": text}, headers=JSON)
    assert answer.status_code == 200, answer.text
    return answer.json()


def tables(page: str) -> list[list[list[str]]]:
    """Every table of a page as rows of cells as read."""
    return [
        [
            [read_off(cell) for cell in re.findall(r"<t[hd]\b[^>]*>(.*?)</t[hd]>", row, re.DOTALL)]
            for row in re.findall(r"<tr\b.*?</tr>", table, re.DOTALL)
        ]
        for table in re.findall(r"<table\b.*?</table>", page, re.DOTALL)
    ]


def read_off(piece: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", piece)).split())


def percent(probability: float) -> str:
    return f"{min(round(100 * probability), 99)} %"


def test_the_page_says_what_the_plan_says(client, folder):
    made = planning.plan(read(folder, flown=False))
    plain = to_json(made)
    page = client.get(at(), params={"work": "1"}).text
    said = read_off(page)
    assert headline(made) in said
    assert CAUTION in said
    settles, *days, limits = tables(page)
    by_title = {row[0].removesuffix(" decides"): row[1:] for row in settles[1:]}
    assert settles[1][0] == "Timed climb decides"
    for wanted, one in zip(made.question.wanted, plain["measures"], strict=True):
        title = wanted.asked.measure.title[0].upper() + wanted.asked.measure.title[1:]
        runs, matters, found, none, reach, expected, careful, _ = by_title[title]
        assert (int(runs), matters) == (one["runs"], one["smallest_that_matters"])
        assert (found, none) == (percent(one["power_difference"]), percent(one["power_no_difference"]))
        assert careful == percent(one["power_if_it_scatters_more"])
        assert reach == shown.reach_words(made, wanted)
        assert expected == shown.size(wanted, one["standard_uncertainty"])
    rows = [row for day in days for row in day[1:]]
    assert len(days) == plain["days"]
    assert [len(day) - 1 for day in days] == [len(day) for day in plain["order"]]
    for row, block in zip(rows, plain["blocks"], strict=True):
        number, times, fly, before, runs, _, weight = row
        assert number == f"Block {block['block']}"
        assert times == f"{block['start']} to {block['end']}"
        assert fly.split() == block["configurations"]
        assert before == ", ".join(filter(None, [f"fit {fly}", block["before"]]))
        flown = [f"{run['clock']} {run['measure'].replace('_', ' ')} {run['run']}" for run in block["runs"]]
        assert runs == " ".join(flown)
        weights = [run["weight"] for run in block["runs"]]
        assert weight == f"{max(weights):.0f} to {min(weights):.0f} kg"
    assert [row[1] for row in limits[1:]] == [shown.within(made.question, one) for one in shown.worth_saying(made)]
    assert f"{plain['would_settle_it'][0]['hours']:.1f} h in the field" in said
    # Worked out once, it is there whenever the page is opened; and as a piece of the page it is the same.
    assert "Run order" in client.get(at()).text
    piece = client.get(at("/worked"), params={"other": "B"}, headers=JSON).json()["plan"]
    assert tables(piece) == tables(page)


def test_nothing_is_worked_out_unasked(client, folder, monkeypatch):
    def never(*_):
        raise AssertionError("worked out")

    monkeypatch.setattr(planning, "plan", never)
    monkeypatch.setattr(planning, "plan_for", never)
    page = client.get(at())
    assert page.status_code == 200
    assert "Work it out" in page.text
    assert "Run order" not in page.text
    assert client.get(at("/state"), headers=JSON).status_code == 200
    assert not Draft(folder).changed()


def test_other_pages_answer_while_a_plan_is_worked_out(client, one_measure, pages, monkeypatch):
    begun, go_on, answers = threading.Event(), threading.Event(), []
    real = planning.plan

    def slow(*asked):
        begun.set()
        assert go_on.wait(30)
        return real(*asked)

    monkeypatch.setattr(planning, "plan", slow)
    work = threading.Thread(target=lambda: answers.append(client.get(at("/worked"), headers=JSON)))
    work.start()
    try:
        assert begun.wait(30)
        with httpx.Client(base_url=pages.address, cookies=client.cookies, timeout=10) as other:
            assert other.get(at()).status_code == 200
            assert other.get(f"/c/{NAME}/settings").status_code == 200
    finally:
        go_on.set()
        work.join(60)
    assert answers[0].status_code == 200


@pytest.mark.parametrize(
    ("path", "name", "text", "says"),
    [
        ("plan", "start", "", "start is missing"),
        ("plan", "end", "05:00", "no daylight"),
        ("plan", "fuel", "14 L", "no fuel to fly with"),
        ("plan", "fuel", "200 L", "more than its maximum"),
        (f"plan{BETWEEN}timed_climb", "time", "", "how long one run takes"),
        (f"plan{BETWEEN}takeoff_roll", "ground_roll", "", "what you expect to read as"),
        ("plan", "burn", "soon", "burn"),
    ],
)
def test_what_is_wrong_stands_at_its_entry(client, folder, path, name, text, says):
    typed(client, path, name, text)
    page = client.get(at(), params={"work": "1"}).text
    key = BETWEEN.join([path, name.replace("_", " ")])
    entry = re.search(rf'<div class="entry" data-key="{re.escape(key)}">(.*?)</div>', page, re.DOTALL)[1]
    wrong = read_off(re.search(r"data-wrong>(.*?)</span>", entry, re.DOTALL)[1])
    assert says in wrong
    assert 'aria-invalid="true"' in entry
    assert "Run order" not in page
    state = client.get(at("/state"), headers=JSON).json()
    assert says in dict(map(tuple, state["wrong"]))[key]
    answer = client.get(at("/worked"), headers=JSON)
    assert answer.status_code == 422
    assert says in answer.json()["problem"]


def test_what_cannot_be_flown_is_said_when_it_is_worked_out(client, folder):
    typed(client, "plan", "end", "06:40")
    assert "nothing can be flown" not in client.get(at()).text
    page = client.get(at(), params={"work": "1"})
    assert page.status_code == 200
    assert "nothing can be flown" in page.text
    assert "Run order" not in page.text
    assert "nothing can be flown" in client.get(at("/worked"), headers=JSON).json()["problem"]


def test_a_campaign_without_a_plan_is_asked_for_one(client, folder):
    text = (folder / "campaign.toml").read_text(encoding="utf-8").partition("[plan]")[0]
    (folder / "campaign.toml").write_text(text, encoding="utf-8")
    page = client.get(at(), params={"work": "1"}).text
    assert "Nothing to go by yet" in page
    assert 'name="e.reserve"' in page
    assert page.count("Plan the ") == 4
    sent = {"path": "plan", "do": "add", "name": "timed_climb"}
    answer = client.post(f"/c/{NAME}/settings/group", data=sent)
    assert answer.headers["location"].startswith(at())
    page = client.get(at()).text
    assert page.count("Plan the ") == 3
    assert f'data-group="plan{BETWEEN}timed_climb"' in page


def test_what_is_wrong_elsewhere_is_sent_elsewhere(client, folder):
    typed(client, "swap", "time", "soon")
    page = client.get(at(), params={"work": "1"}).text
    assert "Nothing can be planned before this is mended" in page
    assert f'href="/c/{NAME}/settings"' in page
    assert client.get(at("/worked"), headers=JSON).status_code == 422


def test_a_file_that_cannot_be_taken_apart_is_said_to_be_so(client, folder):
    (folder / "campaign.toml").write_text("title = [", encoding="utf-8")
    page = client.get(at(), params={"work": "1"})
    assert page.status_code == 200
    assert "cannot be taken apart" in page.text
    assert client.get(at("/cards.html"), headers=JSON).status_code == 422


def with_third(folder):
    text = (folder / "campaign.toml").read_text(encoding="utf-8")
    third = '[configuration.C]\nlabel = "four <i>degrees</i> finer"\n\n[swap]'
    (folder / "campaign.toml").write_text(text.replace("[swap]", third), encoding="utf-8")


def test_of_several_one_is_chosen(client, one_measure):
    with_third(one_measure)
    page = client.get(at(), params={"work": "1"}).text
    assert '<option value="C">C: four &lt;i&gt;degrees&lt;/i&gt; finer</option>' in page
    assert "Run order" not in page
    answer = client.get(at("/worked"), headers=JSON)
    assert (answer.status_code, "not chosen" in answer.json()["problem"]) == (422, True)
    page = client.get(at(), params={"work": "1", "other": "C"}).text
    made = planning.plan(read(one_measure, flown=False), "C")
    blocks = [row for day in tables(page)[1:-1] for row in day[1:]]
    assert [row[2] for row in blocks] == [" ".join(block.configurations) for block in made.schedule.blocks]
    assert {row[2] for row in blocks} == {"A", "C"}
    assert "<i>degrees" not in page


@pytest.mark.parametrize("other", HOSTILE)
def test_a_configuration_that_is_none(client, folder, other):
    page = client.get(at(), params={"work": "1", "other": other})
    assert page.status_code == 200
    assert "is no configuration beside A" in page.text
    assert "<script>alert" not in page.text
    assert 'onload="alert' not in page.text
    assert len(page.text) < 40_000
    assert "Run order" not in page.text
    for place in ("/worked", "/cards.html", "/cards.pdf"):
        answer = client.get(at(place), params={"other": other}, headers=JSON)
        assert answer.status_code == 422
        assert len(answer.text) < 300


def by_the_command_line(folder, monkeypatch, *asked):
    monkeypatch.setattr(sys, "argv", ["samesky", asked[0], str(folder), *asked[1:]])
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    assert not stopped.value.code


@pytest.mark.parametrize("paper", ["a5", "letter-half"])
def test_cards_are_those_of_the_command_line(client, folder, tmp_path, monkeypatch, paper):
    pytest.importorskip("reportlab")
    target = tmp_path / "by_hand" / "cards.html"
    by_the_command_line(folder, monkeypatch, "cards", "--paper", paper, "--pdf", "--out", str(target))
    shown_cards = client.get(at("/cards.html"), params={"other": "B", "paper": paper})
    assert shown_cards.content == target.read_bytes()
    policy = shown_cards.headers["content-security-policy"]
    assert "script-src" not in policy
    assert "default-src 'none'" in policy
    pdf = client.get(at("/cards.pdf"), params={"paper": paper})
    assert pdf.headers["content-type"] == "application/pdf"
    assert "attachment" in pdf.headers["content-disposition"]
    assert pdf.content == target.with_suffix(".pdf").read_bytes()
    assert not (folder / "cards.html").exists()
    answer = client.post(at("/cards"), data={"other": "B", "paper": paper})
    assert answer.status_code == 303
    assert (folder / "cards.html").read_bytes() == target.read_bytes()
    assert "In the campaign's folder now: cards.html" in html.unescape(client.get(answer.headers["location"]).text)
    # Looking at them, or writing them, is no typing.
    assert not Draft(folder).changed()


def test_blanks_follow_the_table_as_it_is_typed_now(client, folder):
    client.get(at("/worked"), headers=JSON)
    Draft(folder).write("takeoff_roll.csv", "run,date,clock,configuration,ground roll [yd],notes\n")
    page = client.get(at("/cards.html")).text
    assert "ground roll [yd]" in page
    assert "ground roll [ft]" not in page


@pytest.mark.parametrize("paper", ["napkin", "<b>a5</b>", "A5", "../a5", "\x00", "a" * 3000])
def test_a_paper_that_is_none(client, one_measure, paper):
    for place in ("/cards.html", "/cards.pdf"):
        answer = client.get(at(place), params={"paper": paper}, headers=JSON)
        assert answer.status_code == 422
        assert "Choose a5 or letter-half." in answer.json()["problem"]
    assert "<b>a5" not in client.get(at("/cards.html"), params={"paper": paper}).text
    assert client.post(at("/cards"), data={"paper": paper}).status_code == 422
    assert not (one_measure / "cards.html").exists()


def test_without_the_library_one_message_and_the_cards_all_the_same(client, one_measure, monkeypatch):
    monkeypatch.setitem(sys.modules, "reportlab.platypus", None)
    answer = client.get(at("/cards.pdf"), headers=JSON)
    assert answer.status_code == 422
    assert "needs the library reportlab" in answer.json()["problem"]
    assert "samesky[cards]" in answer.json()["problem"]
    assert client.get(at("/cards.html")).status_code == 200


def test_cards_that_cannot_be_written_are_said_to_be_so(client, one_measure):
    (one_measure / "cards.html").mkdir()
    answer = client.post(at("/cards"), data={"paper": "a5"})
    assert answer.status_code == 422
    assert "cards.html" in answer.text
    assert not list((one_measure / "cards.html").iterdir())


def test_a_rehearsal_is_that_of_the_command_line(client, one_measure, tmp_path, monkeypatch):
    asked = {"other": "B", "campaigns": "3", "seed": "7"}
    before = client.get(at("/rehearsal.html"), params=asked, headers=JSON)
    assert before.status_code == 422
    assert "Press Rehearse" in before.json()["problem"]
    answer = client.post(at("/rehearse"), data=asked, headers=JSON)
    assert answer.status_code == 200
    flown = client.get(answer.json()["page"])
    target = tmp_path / "rehearsal.html"
    by_the_command_line(one_measure, monkeypatch, "rehearse", "--campaigns", "3", "--seed", "7", "--out", str(target))
    assert flown.content == target.read_bytes()
    assert "script-src" not in flown.headers["content-security-policy"]
    assert "frame-ancestors 'self'" in flown.headers["content-security-policy"]
    # As a plain form: back to the page, with the rehearsal in it and its numbers in the form.
    answer = client.post(at("/rehearse"), data=asked)
    page = client.get(answer.headers["location"]).text
    assert 'src="/c/evening/plan/rehearsal.html?other=B&amp;campaigns=3&amp;seed=7"' in page
    assert 'name="campaigns" value="3"' in page
    # What has changed since is not what was rehearsed.
    typed(client, "plan", "end", "10:30")
    assert client.get(at("/rehearsal.html"), params=asked, headers=JSON).status_code == 422


def test_rehearsals_go_one_at_a_time(client, one_measure):
    with plan_work._rehearsing:
        answer = client.post(at("/rehearse"), data={"campaigns": "3", "seed": "1"}, headers=JSON)
        assert answer.status_code == 422
        assert "one at a time" in answer.json()["problem"]
        assert client.get(at()).status_code == 200


@pytest.mark.parametrize(
    ("campaigns", "seed"),
    [("0", "1"), ("1001", "1"), ("9" * 400, "1"), ("-3", "1"), ("3.5", "1"), ("٣", "1"), ("", ""), ("3", "x<b>")],
)
def test_numbers_that_are_none(client, folder, campaigns, seed, monkeypatch):
    monkeypatch.setattr(plan_work, "_rehearsed", None)
    answer = client.post(at("/rehearse"), data={"campaigns": campaigns, "seed": seed}, headers=JSON)
    assert answer.status_code == 422
    assert "Give a whole number" in answer.json()["problem"]
    assert len(answer.text) < 300
    assert client.get(at(), params={"campaigns": campaigns, "seed": seed}).status_code == 200


# ---- In the browser ---------------------------------------------------------------------------------------------


def no_overflow(page):
    return page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.browser
@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_from_the_settings_to_the_cards(visitor, folder, size):
    text = (folder / "campaign.toml").read_text(encoding="utf-8")
    (folder / "campaign.toml").write_text(text.replace('start = "06:20"\n', ""), encoding="utf-8")
    page = visitor(size)
    page.get_by_role("link", name="Two degrees finer").click()
    page.get_by_role("link", name="Plan", exact=True).click()
    alert = page.get_by_role("alert")
    alert.filter(has_text="start is missing").wait_for()
    start = page.locator('[data-group="plan"] [data-entry="start"]')
    assert start.get_attribute("aria-invalid") == "true"
    assert no_overflow(page)
    start.fill("06:20")
    start.blur()
    alert.wait_for(state="detached")
    assert start.get_attribute("aria-invalid") is None
    page.get_by_role("button", name="Work it out").first.click()
    page.get_by_role("heading", name="Run order").wait_for()
    made = planning.plan(read(DATA, flown=False))
    assert headline(made) in read_off(page.locator("#worked").inner_text())
    assert page.locator("table.order tbody tr").count() == len(made.schedule.blocks)
    assert "06:20 to 06:52" in page.locator("table.order").first.inner_text()
    assert "papers" in page.locator(".planned .caution").first.inner_text()
    assert no_overflow(page)
    with page.context.expect_page() as opened:
        page.get_by_role("button", name="Show the cards").click()
    cards = opened.value
    cards.wait_for_selector(".card")
    assert cards.locator(".card").count() == len(made.schedule.blocks)
    assert no_overflow(cards)
    cards.close()
    # A change afterwards: the plan shown is not of it, and says so until it is worked out again.
    stale = page.locator("[data-stale]")
    assert stale.is_hidden()
    days = page.locator('[data-group="plan"] [data-entry="days"]')
    days.fill("1")
    days.blur()
    stale.wait_for(state="visible")
    stale.get_by_role("button").click()
    stale.wait_for(state="hidden")
    page.locator("table.order").nth(1).wait_for(state="detached")
    page.get_by_role("button", name="Write cards.html into the folder").click()
    page.get_by_role("status").filter(has_text="In the campaign's folder now: cards.html").wait_for()
    assert (folder / "cards.html").is_file()


@pytest.mark.browser
def test_without_scripts_and_on_paper(visitor, one_measure):
    page = visitor("phone", java_script_enabled=False)
    page.get_by_role("link", name="Two degrees finer").click()
    page.get_by_role("link", name="Plan", exact=True).click()
    page.get_by_role("button", name="Work it out").first.click()
    page.get_by_role("heading", name="Run order").wait_for()
    page.emulate_media(media="print")
    assert page.locator("table.order").first.is_visible()
    assert page.locator("table.order thead").first.is_visible()
    for hidden in (".goes-by", "#cards", "#rehearsal", "[data-work]"):
        assert page.locator(hidden).is_hidden()


@pytest.mark.browser
def test_a_rehearsal_stands_in_the_page(visitor, one_measure):
    page = visitor("phone")
    page.get_by_role("link", name="Two degrees finer").click()
    page.get_by_role("link", name="Plan", exact=True).click()
    page.get_by_role("button", name="Work it out").first.click()
    page.get_by_label("Campaigns").fill("2")
    page.get_by_role("button", name="Rehearse").click()
    frame = page.frame_locator("[data-rehearsal]")
    frame.get_by_role("heading", level=1).wait_for(timeout=60_000)
    assert "Two degrees finer" in frame.get_by_role("heading", level=1).inner_text()
    assert no_overflow(page)
