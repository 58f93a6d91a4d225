"""The planned order in the tables of the pages: what the command line would write, kept as typing is; and what the
pages then say of rows that nobody has flown yet."""

from __future__ import annotations

import html
import re
import shutil

import evening
import pytest
from worksheet_client import STEM, Visitor, campaign_files, put_campaign

from samesky.campaign.reading.read import read
from samesky.campaign.reading.unflown import next_words, planned_runs, unflown_words
from samesky.inference.comparison import compare
from samesky.planning import catalogue as say
from samesky.planning import plan as planning
from samesky.planning.into_tables import put_into_tables
from samesky.report import phrases
from samesky.worksheets.answers import NO_RUN, answers
from samesky.worksheets.draft import UNSAVED, Draft, NotKeptError

CSV = f"{STEM}.csv"
PLANNED = "".join(f"{20 + k},2026-05-23,,{'AB'[k % 2]},{{}}\n" for k in range(4))
FLOWN = "run,date,clock,configuration,from [ft],to [ft],elapsed [s]\n"
FLOWN += "1,2026-05-08,09:00,A,1000,2000,60\n2,2026-05-08,09:30,B,1000,2000,58\n"


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "hangar" / evening.NAME
    shutil.copytree(evening.DATA, place)
    return evening.with_one_measure(place)


@pytest.fixture
def visitor(folder):
    return Visitor(folder.parent)


def text(page: str) -> str:
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", page).split()))


def section(page: str) -> str:
    return text(re.search(r'<section[^>]*aria-labelledby="tables">.*?</section>', page, re.DOTALL).group())


def version(page: str) -> str:
    return re.search(r'name="version" value="(\w+)"', page)[1]


def worked(visitor) -> str:
    answer = visitor.get(evening.at(), params={"other": "B", "work": "1"})
    assert answer.status_code == 200
    return answer.text


def put(visitor, page: str):
    return visitor.post(evening.at("/tables"), data={"other": "B", "version": version(page)})


def with_planned_rows() -> dict[str, str]:
    """The climbs of one morning, with four planned rows below."""
    files = campaign_files()
    blanks = "," * (files[CSV].splitlines()[0].count(",") - 4)
    return files | {CSV: files[CSV] + PLANNED.replace("{}", blanks)}


def test_one_button_puts_what_the_command_line_would(visitor, folder, tmp_path):
    page = worked(visitor)
    made = planning.plan(read(folder, flown=False))
    count = len(made.schedule.runs_of(STEM))
    said = section(page)
    assert f"Timed climb: {count} rows (runs 1 to {count}) into {CSV}." in said
    assert said.index("Clock and readings stay blank.") < said.index(f"Put {count} runs into the tables")
    answer = put(visitor, page)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith(f"/c/{evening.NAME}/runs/{STEM}?")
    twin = shutil.copytree(folder, tmp_path / "twin", ignore=shutil.ignore_patterns(UNSAVED))
    put_into_tables(twin, made)
    assert Draft(folder).files()[CSV] == (twin / CSV).read_text(encoding="utf-8")
    # Typed, not saved: the files change when the pilot says so.
    assert not (folder / CSV).exists()
    table = visitor.get(answer.headers["location"]).text
    assert f"{count} planned runs are in the tables." in text(table)
    assert table.count('class="unflown"') == count
    # The plan is known still, and the button has nothing left to do.
    again = visitor.get(evening.at(), params={"other": "B"}).text
    assert "The tables hold this plan already" in section(again)
    assert "into the tables</button>" not in again
    assert visitor.get(evening.at("/cards.html"), params={"other": "B"}).status_code == 200


def test_what_was_typed_since_the_page_was_shown_stops_it(visitor, folder):
    page = worked(visitor)
    draft = Draft(folder)
    with draft.lock():
        draft.write(CSV, FLOWN)
    before = draft.files()
    answer = put(visitor, page)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith(f"/c/{evening.NAME}/plan?other=B&work=1")
    assert draft.files() == before
    shown = visitor.get(answer.headers["location"]).text
    assert "Something was typed or saved since this was shown" in text(shown)
    assert "below the 2 rows there" in section(shown)
    assert put(visitor, shown).status_code == 303
    assert draft.files()[CSV].startswith(before[CSV])


def test_a_plan_that_does_not_fit_is_refused_before_the_button(visitor, folder):
    (folder / CSV).write_text(FLOWN.replace("2026-05-08", "2026-05-09"), encoding="utf-8")
    page = worked(visitor)
    said = section(page)
    assert "not put into the tables" in said
    assert "Plan, first date: is 2026-05-09, and runs were flown until 2026-05-09" in said
    assert "into the tables</button>" not in page
    answer = visitor.post(
        evening.at("/tables"), data={"other": "B", "version": Draft(folder).version()}, headers=evening.JSON
    )
    assert answer.status_code == 422
    assert not (folder / UNSAVED).exists()


def test_a_disk_that_refuses_one_file_gets_none(folder, monkeypatch):
    """Two measures, and the second file is not taken."""
    text = (evening.DATA / "campaign.toml").read_text(encoding="utf-8")
    (folder / "campaign.toml").write_text(text.replace("days = 2", "days = 1"), encoding="utf-8")
    visitor, write, done = Visitor(folder.parent), Draft.write, []
    page = worked(visitor)

    def full(self, name, text):
        done.append(name)
        if len(done) == 2:
            raise NotKeptError(planning.refuse(say.PLAN_NONE()).finding)
        write(self, name, text)

    monkeypatch.setattr(Draft, "write", full)
    answer = put(visitor, page)
    assert answer.status_code == 507
    assert len(done) == 2
    assert list(Draft(folder).files()) == ["campaign.toml"]


@pytest.mark.parametrize("sent", [{}, {"version": "x" * 24}, {"other": "<b>", "version": ""}, {"other": "C"}])
def test_nothing_is_put_for_a_made_up_form(visitor, folder, sent):
    assert visitor.post(evening.at("/tables"), data=sent).status_code in (303, 422)
    assert not (folder / UNSAVED).exists()


def test_planned_rows_change_no_verdict_and_are_nothing_to_mend(tmp_path):
    files = with_planned_rows()
    found = answers(files)
    assert found.errors == found.mend == []
    (one,), (theirs,) = found.comparisons, compare(read(put_campaign(tmp_path, "reference")))
    assert one.to_json() == theirs.to_json()
    assert found.ahead == ("Next run: A (timed climb, run 20).", f"runs/{STEM}")
    assert found.unflown == "4 planned runs are not flown yet: 4 x timed climb."


def test_before_the_first_run_nothing_is_to_mend(tmp_path):
    files = with_planned_rows()
    header, *rows = files[CSV].splitlines(keepends=True)
    files[CSV] = header + "".join(rows[-4:])
    found = answers(files)
    assert (found.waiting, found.mend, found.comparisons) == (NO_RUN, [], [])
    assert found.ahead[0].startswith("Next run: A")


def test_a_planned_row_that_is_begun_is_to_mend_at_its_cells(tmp_path):
    files = with_planned_rows()
    visitor = Visitor(tmp_path)
    put_campaign(tmp_path, files=files)
    state = visitor.state()
    assert state["unflown"] == [8, 9, 10, 11]
    assert state["next"] == 8
    assert not [mark for mark in state["marks"] if mark["row"] >= 8]
    state = visitor.cell(8, "clock", "09:40").json()
    assert (state["unflown"], state["next"]) == ([9, 10, 11], 9)
    marked = {
        state["header"][mark["column"]] for mark in state["marks"] if mark["row"] == 8 and mark["kind"] == "error"
    }
    assert {"elapsed [s]", "from [ft]"} <= marked
    assert not [mark for mark in state["marks"] if mark["row"] > 8]
    # Called off: it stays, and the next one comes up.
    state = visitor.cell(9, "exclude", "gusts").json()
    assert (state["unflown"], state["next"]) == ([9, 10, 11], 10)
    assert "run 22" in state["verdict"]


def test_cautions_stand_open_until_something_was_flown(tmp_path):
    files = with_planned_rows()
    header, *rows = files[CSV].splitlines(keepends=True)
    put_campaign(tmp_path, files=files | {CSV: header + "".join(rows[-4:])})
    visitor = Visitor(tmp_path)
    assert '<details class="caution" open>' in visitor.get(f"/c/climbs/runs/{STEM}").text
    visitor.cell(0, "clock", "09:40")
    assert '<details class="caution" open>' not in visitor.get(f"/c/climbs/runs/{STEM}").text


@pytest.mark.parametrize("key", ["A", "B"])
def test_on_the_day_the_next_run_stands_first(tmp_path, key):
    files = with_planned_rows()
    files[CSV] = files[CSV].replace("\n20,2026-05-23,,A", f"\n20,2026-05-23,,{key}")
    folder = put_campaign(tmp_path, files=files)
    visitor, campaign = Visitor(tmp_path), read(folder)
    page = visitor.get("/c/climbs/today").text
    cards = re.findall(r'<section class="card[^"]*" id="card-(\w+)">(.*?)</section>', page, re.DOTALL)
    assert cards[0][0] == "next"
    said = text(cards[0][1])
    first = planned_runs(campaign)[0]
    assert (first.run, first.configuration) == ("20", key)
    assert f"Next run {key} " in said
    assert f"Timed climb, run {first.run}" in said
    assert campaign.configurations[first.configuration].label in said
    assert unflown_words(campaign) in said
    assert f'href="runs/{STEM}"' in cards[0][1]
    last = campaign.tables[STEM].configuration[-1]
    assert (f"The last run was flown with {last}" in said) is (last != first.configuration)
    # The last run typed is the last that was flown.
    assert "At the common sky its" in text(dict(cards)["run"])
    # One that is begun is the last, though planned ones stand below it.
    visitor.cell(8, "clock", "09:40")
    begun = visitor.get("/c/climbs/today").text
    assert "This run is not valid as written" in text(begun[begun.index('id="card-run"') :])
    plain = put_campaign(tmp_path, "plain")
    assert "card-next" not in visitor.get("/c/plain/today").text
    assert next_words(read(plain)) == ""


def test_the_panel_beside_every_table_says_what_comes_next(tmp_path):
    put_campaign(tmp_path, files=with_planned_rows())
    page = Visitor(tmp_path).get(f"/c/climbs/runs/{STEM}").text
    panel = page[page.index('id="panel-title"') :]
    assert f'<a href="/c/climbs/runs/{STEM}">Next run: A (timed climb, run 20).</a>' in panel
    (one,) = compare(read(tmp_path / "climbs"))
    assert phrases.sentence(one) in html.unescape(panel)
    assert 'href="#row-9" data-next-run' in page


def test_a_row_without_a_number_comes_next_without_one(tmp_path):
    files = with_planned_rows()
    files[CSV] = files[CSV].replace("\n20,2026-05-23,,A", "\n,2026-05-23,,A")
    put_campaign(tmp_path, files=files)
    panel = Visitor(tmp_path).get(f"/c/climbs/runs/{STEM}").text
    assert "Next run: A (timed climb)." in panel
