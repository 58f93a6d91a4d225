"""The plan as a page says what the plan says, works nothing out unasked, and refuses like the command line."""

from __future__ import annotations

import html
import re
import threading

import evening
import httpx
import pytest

from samesky.campaign.reading.read import read
from samesky.planning import plan as planning
from samesky.planning.output import words
from samesky.planning.output.terminal import CAUTION
from samesky.planning.output.to_json import to_json
from samesky.planning.output.words import headline
from samesky.worksheets.draft import Draft
from samesky.worksheets.settings.pages import BETWEEN

HOSTILE = ["<script>alert(1)</script>", "../../etc/passwd", 'B" onload="alert(1)', "\x00", "A", "C" * 5000, "b"]


@pytest.fixture
def folder(pages):
    return evening.put(pages)


@pytest.fixture
def one_measure(folder):
    return evening.with_one_measure(folder)


@pytest.fixture
def client(pages, folder):
    with evening.asking(pages) as opened:
        yield opened


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
    made = evening.whole_plan()
    plain = to_json(made)
    page = client.get(evening.at(), params={"work": "1"}).text
    said = read_off(page)
    assert headline(made) in said
    assert CAUTION in said
    settles, *days, limits = tables(page)
    by_title = {row[0].removesuffix(" decides"): row[1:] for row in settles[1:]}
    assert settles[1][0] == "Timed climb decides"
    for wanted, one in zip(made.question.wanted, plain["measures"], strict=True):
        title = wanted.asked.measure.title[0].upper() + wanted.asked.measure.title[1:]
        runs, matters, found, none, reach, expected, noisier, _ = by_title[title]
        assert (int(runs), matters) == (one["runs"], one["smallest_that_matters"])
        # The page rounds what the plan has, not what JSON has rounded already.
        power = made.powers[wanted.name]
        assert (found, none) == (percent(power.found), percent(power.none))
        assert noisier == percent(power.with_more_scatter)
        names = ("power_difference", "power_no_difference", "power_if_it_scatters_more")
        assert [one[name] for name in names] == pytest.approx(
            [power.found, power.none, power.with_more_scatter], abs=0.0005 + 1e-9
        )
        assert reach == words.reach_words(made, wanted)
        assert expected == words.size(wanted, one["standard_uncertainty"])
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
    assert [row[1] for row in limits[1:]] == [words.within(made.question, one) for one in words.worth_saying(made)]
    assert f"{plain['would_settle_it'][0]['hours']:.1f} h in the field" in said
    # Worked out once, it is there whenever the page is opened; and as a piece of the page it is the same.
    assert "Run order" in client.get(evening.at()).text
    piece = client.get(evening.at("/worked"), params={"other": "B"}, headers=evening.JSON).json()["plan"]
    assert tables(piece) == tables(page)


def test_the_looks_that_the_plan_proposes_are_written_by_one_button(client, one_measure):
    """The runs are those of the plan, stand in the entry beside the number of looks, and are offered no more."""
    evening.typed(client, "plan", "looks", "2")
    made = planning.plan(read(folder_of(client, one_measure), flown=False))
    runs = ", ".join(str(look.after_run) for look in made.looks)
    page = client.get(evening.at(), params={"work": "1"}).text
    names = re.findall(r'data-entry="(\w+)"', page)
    assert names.index("looks_after_runs") == names.index("looks") + 1
    form = next(one for one in re.findall(r"<form.*?</form>", page, re.DOTALL) if "Write it: looks" in one)
    assert f"looks after runs {runs}" in read_off(form)
    sent = {name: html.unescape(value) for name, value in re.findall(r'name="([^"]+)" value="([^"]*)"', form)}
    answer = client.post(re.search(r'action="([^"]+)"', form)[1], data=sent)
    assert answer.status_code == 303
    written = read(folder_of(client, one_measure), flown=False).plan
    assert ", ".join(map(str, written.looks_after)) == runs
    assert "Write it: looks" not in client.get(evening.at(), params={"work": "1"}).text
    # Where another page has written them meanwhile, theirs stay.
    evening.typed(client, "plan", "looks_after_runs", "1, 4")
    assert client.post(re.search(r'action="([^"]+)"', form)[1], data=sent).status_code >= 400
    assert read(folder_of(client, one_measure), flown=False).plan.looks_after == (1, 4)


def folder_of(client, folder):
    """The folder with what was typed, which stands beside the campaign until it is saved."""
    unsaved = folder / ".unsaved"
    return unsaved if unsaved.is_dir() else folder


def test_nothing_is_worked_out_unasked(client, folder, monkeypatch):
    def never(*_):
        raise AssertionError("worked out")

    monkeypatch.setattr(planning, "plan", never)
    monkeypatch.setattr(planning, "plan_for", never)
    page = client.get(evening.at())
    assert page.status_code == 200
    assert "Work it out" in page.text
    assert "Run order" not in page.text
    assert client.get(evening.at("/state"), headers=evening.JSON).status_code == 200
    assert not Draft(folder).changed()


def test_other_pages_answer_while_a_plan_is_worked_out(client, one_measure, pages, monkeypatch):
    begun, go_on, answers = threading.Event(), threading.Event(), []
    real = planning.plan

    def slow(*asked):
        begun.set()
        assert go_on.wait(30)
        return real(*asked)

    monkeypatch.setattr(planning, "plan", slow)
    work = threading.Thread(target=lambda: answers.append(client.get(evening.at("/worked"), headers=evening.JSON)))
    work.start()
    try:
        assert begun.wait(30)
        with httpx.Client(base_url=pages.address, cookies=client.cookies, timeout=10) as other:
            assert other.get(evening.at()).status_code == 200
            assert other.get(f"/c/{evening.NAME}/settings").status_code == 200
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
        ("plan", "burn", "soon", "holds no number"),
    ],
)
def test_what_is_wrong_stands_at_its_entry(client, folder, path, name, text, says):
    evening.typed(client, path, name, text)
    page = client.get(evening.at(), params={"work": "1"}).text
    key = BETWEEN.join([path, name.replace("_", " ")])
    entry = re.search(rf'<div class="entry" data-key="{re.escape(key)}">(.*?)</div>', page, re.DOTALL)[1]
    wrong = read_off(re.search(r"data-wrong>(.*?)</span>", entry, re.DOTALL)[1])
    assert says in wrong
    assert 'aria-invalid="true"' in entry
    assert "Run order" not in page
    state = client.get(evening.at("/state"), headers=evening.JSON).json()
    assert says in dict(map(tuple, state["wrong"]))[key]
    answer = client.get(evening.at("/worked"), headers=evening.JSON)
    assert answer.status_code == 422
    assert says in answer.json()["problem"]


def test_what_cannot_be_flown_is_said_when_it_is_worked_out(client, folder):
    evening.typed(client, "plan", "end", "06:40")
    assert "nothing can be flown" not in client.get(evening.at()).text
    page = client.get(evening.at(), params={"work": "1"})
    assert page.status_code == 200
    assert "nothing can be flown" in page.text
    assert "Run order" not in page.text
    assert "nothing can be flown" in client.get(evening.at("/worked"), headers=evening.JSON).json()["problem"]


def test_a_campaign_without_a_plan_is_asked_for_one(client, folder):
    text = (folder / "campaign.toml").read_text(encoding="utf-8").partition("[plan]")[0]
    (folder / "campaign.toml").write_text(text, encoding="utf-8")
    page = client.get(evening.at(), params={"work": "1"}).text
    assert "Nothing to go by yet" in page
    assert 'name="e.reserve"' in page
    assert page.count("Plan the ") == 4
    sent = {"path": "plan", "do": "add", "name": "timed_climb"}
    answer = client.post(f"/c/{evening.NAME}/settings/group", data=sent)
    assert answer.headers["location"].startswith(evening.at())
    page = client.get(evening.at()).text
    assert page.count("Plan the ") == 3
    assert f'data-group="plan{BETWEEN}timed_climb"' in page


def test_what_is_wrong_elsewhere_is_sent_elsewhere(client, folder):
    evening.typed(client, "swap", "time", "soon")
    page = client.get(evening.at(), params={"work": "1"}).text
    assert "Nothing can be planned before this is mended" in page
    assert f'href="/c/{evening.NAME}/settings"' in page
    assert client.get(evening.at("/worked"), headers=evening.JSON).status_code == 422


def test_a_file_that_cannot_be_taken_apart_is_said_to_be_so(client, folder):
    (folder / "campaign.toml").write_text("title = [", encoding="utf-8")
    page = client.get(evening.at(), params={"work": "1"})
    assert page.status_code == 200
    assert "cannot be taken apart" in page.text
    assert client.get(evening.at("/cards.html"), headers=evening.JSON).status_code == 422


def with_third(folder):
    text = (folder / "campaign.toml").read_text(encoding="utf-8")
    third = '[configuration.C]\nlabel = "four <i>degrees</i> finer"\n\n[swap]'
    (folder / "campaign.toml").write_text(text.replace("[swap]", third), encoding="utf-8")


def test_of_several_one_is_chosen(client, one_measure):
    with_third(one_measure)
    page = client.get(evening.at(), params={"work": "1"}).text
    assert '<option value="C">C: four &lt;i&gt;degrees&lt;/i&gt; finer</option>' in page
    assert "Run order" not in page
    answer = client.get(evening.at("/worked"), headers=evening.JSON)
    assert (answer.status_code, "not chosen" in answer.json()["problem"]) == (422, True)
    page = client.get(evening.at(), params={"work": "1", "other": "C"}).text
    made = planning.plan(read(one_measure, flown=False), "C")
    blocks = [row for day in tables(page)[1:-1] for row in day[1:]]
    assert [row[2] for row in blocks] == [" ".join(block.configurations) for block in made.schedule.blocks]
    assert {row[2] for row in blocks} == {"A", "C"}
    assert "<i>degrees" not in page


@pytest.mark.parametrize("other", HOSTILE)
def test_a_configuration_that_is_none(client, folder, other):
    page = client.get(evening.at(), params={"work": "1", "other": other})
    assert page.status_code == 200
    assert "is no configuration beside A" in page.text
    assert "<script>alert" not in page.text
    assert 'onload="alert' not in page.text
    assert len(page.text) < 40_000
    assert "Run order" not in page.text
    for place in ("/worked", "/cards.html", "/cards.pdf"):
        answer = client.get(evening.at(place), params={"other": other}, headers=evening.JSON)
        assert answer.status_code == 422
        assert len(answer.text) < 300
