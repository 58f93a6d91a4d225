"""The pages speak to somebody who never sees ``campaign.toml``: no word of the file is left in headings and remarks."""

from __future__ import annotations

import pytest
from worksheet_client import Visitor, campaign_files, put_campaign

from samesky.apron.looks import false_alarm
from samesky.campaign.entries.outline import outline
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.sentences import Said
from samesky.campaign.reading.read import read
from samesky.campaign.reading.template import template_files
from samesky.inference.comparison import compare
from samesky.published.registry import check
from samesky.report import phrases
from samesky.worksheets.answers import answers
from samesky.worksheets.page_words import HELP, away, better, heading, help_words, peeking, sentence

FILE_WORDS = ("[", "column '", "one table", "a table like", "this line", "brackets")


def remarks():
    groups = [group for group in outline(template_files()["campaign.toml"]) if group.path and group.path[0] != "plan"]
    return [text for group in groups for text in [group.help, *(entry.help for entry in group.entries)]]


def test_every_replaced_remark_still_stands_in_the_template():
    everything = " ".join(" ".join(remarks()).split()) + " ".join(
        entry.help for entry in outline(template_files()["campaign.toml"])[0].entries
    )
    assert [said for said in HELP if said not in everything] == []


def test_no_word_of_the_file_is_left_in_a_remark():
    found = {(word, text) for text in remarks() for word in FILE_WORDS if word in help_words(text).lower()}
    assert found == set()


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ((), "Title and question"),
        (("configuration", "A"), "configuration A"),
        (("measure", "timed_climb"), "Measure: timed climb"),
        (("aeroplane", "station", "pilot"), "Station: pilot"),
        (("measure", "takeoff_roll"), "Measure: take-off roll"),
        (("aeroplane", "fuel"), "Fuel"),
        (("aeroplane",), "aeroplane"),
        (("plan", "timed_climb"), "Plan timed climb"),
    ],
)
def test_headings(path, said):
    assert heading(path) == said


def test_a_message_names_the_page_and_the_entry():
    wrong = Finding(
        "error",
        "campaign.toml",
        Said("entry.unit", "found '7': no unit.", 'For example: x = "10 kg"'),
        None,
        "[aeroplane] empty_weight",
    )
    assert sentence(wrong) == "Question, aeroplane, empty weight: found '7': no unit. For example: \"10 kg\""


@pytest.mark.parametrize(
    ("finding", "said"),
    [
        # What a reader finds in a file of ours, line included.
        (("found '20': no unit.", 'For example: smallest_difference_that_matters = "10 m"', 48,
          "[measure.takeoff_roll] smallest difference that matters"),
         "Question, Measure take-off roll, smallest difference that matters: found '20': no unit. "
         'For example: "10 m"'),
        (("is missing.", 'Roughly will do. ground_roll = "… m"', None, "[plan.takeoff_roll] ground_roll"),
         "Plan take-off roll, ground roll: is missing. Roughly will do."),
        (("found '12'.", 'For example: oat = ["…", "…"], at the start and at the end.', 194, "[plan] oat"),
         "Plan, oat: found '12'. One with its unit, or two with a comma between them: at the start and at the end."),
        (("cannot be read.", "Mend the line.", 3, None), "campaign.toml, line 3: cannot be read. Mend the line."),
    ],
)  # fmt: skip
def test_a_message_speaks_of_the_page_and_not_of_lines_of_the_file(finding, said):
    message, mend, line, entry = finding
    assert sentence(Finding("error", "campaign.toml", Said("a.code", message, mend), line, entry)) == said


def test_the_plan_says_in_words_of_the_page_what_is_to_mend(tmp_path):
    files = campaign_files()
    files["campaign.toml"] += '\n[plan]\ndays = 1\nstart = "06:30"\nend = "11:00"\noat = "12"\n'
    put_campaign(tmp_path, files=files)
    page = Visitor(tmp_path).get("/c/climbs/plan").text
    said = page[page.index("Nothing can be planned") : page.index("To the question and its settings")]
    assert "Plan, oat: found" in said
    assert "campaign.toml" not in said
    assert "…" not in said


def test_what_is_taken_away_is_called_what_its_heading_calls_it():
    assert away(("measure", "takeoff_roll")) == away(("plan", "takeoff_roll")) == "Remove the take-off roll"
    assert away(("aeroplane", "station", "rear_seat")) == "Remove rear seat"


@pytest.mark.parametrize("size", ["20", "5", "0 m", "-5 %", "150 %", "1e999 m", "some", "10 kg", ""])
def test_no_campaign_starts_with_a_difference_that_cannot_be_read(tmp_path, size):
    sent = {"title": "tyres", "measure.takeoff_roll": "on", "matters.takeoff_roll": size, "primary": "takeoff_roll"}
    answer = Visitor(tmp_path).post("/start", data=sent)
    assert (answer.status_code, list(tmp_path.iterdir())) == (422, [])
    assert "of the take-off roll the smallest difference that matters is" in answer.text
    assert "Go back and give" in answer.text


@pytest.mark.parametrize("size", ["20 m", "2,5 %", "65 ft", "5%"])
def test_a_campaign_that_starts_has_nothing_to_mend(tmp_path, size):
    sent = {"title": "tyres", "measure.takeoff_roll": "on", "matters.takeoff_roll": size, "primary": "takeoff_roll"}
    assert Visitor(tmp_path).post("/start", data=sent).status_code == 303
    said = [one for one in read(tmp_path / "tyres").findings if one.kind == "error" and "matters" in str(one.column)]
    assert said == []


def test_better_is_the_measures_own():
    assert (better(("measure", "level_speed"), "smaller"), better(("measure", "noise"), "smaller")) == (
        "larger",
        "smaller",
    )


def test_doubts_of_the_other_runs_are_told_while_one_row_is_unfinished(tmp_path):
    files = campaign_files()
    lines = files["timed_climb.csv"].splitlines(keepends=True)
    names = lines[0].strip().split(",")
    cells = lines[-1].strip("\r\n").split(",")
    cells[names.index("elapsed [s]")] = "soon"
    lines[-1] = ",".join(cells) + "\n"
    files["campaign.toml"] += (
        '\n[limits]\n"entry airspeed" = ["10 kt", "20 kt"]\n' if "[limits]" not in files["campaign.toml"] else ""
    )
    files["campaign.toml"] = files["campaign.toml"].replace('crosswind = "5 kt"', 'fuel = ["1 kg", "2 kg"]')
    files["timed_climb.csv"] = "".join(lines)
    found = answers(files)
    assert found.without
    assert found.comparisons
    assert any("own limit" in doubt for doubt in found.doubts)


def test_the_first_visit_has_nothing_to_mend(tmp_path):
    files = campaign_files(0)
    found = answers(files)
    assert (found.mend, bool(found.errors)) == ([], True)


def test_what_is_left_out_and_what_reading_on_the_way_costs_stand_beside_the_verdict(tmp_path):
    files = campaign_files()
    lines = files["timed_climb.csv"].splitlines(keepends=True)
    files["timed_climb.csv"] = "".join(lines[:-1]) + lines[-1].replace(lines[-1].split(",")[2], "soon", 1)
    put_campaign(tmp_path, files=files)
    page = " ".join(Visitor(tmp_path).get("/c/climbs/verdict").text.split())
    assert page.index("Left out until their rows are mended: run 8 of timed climb") < page.index("decides")
    assert "Do not stop because of this" in page


@pytest.mark.parametrize(
    ("stated", "says"),
    [
        ("looks_after_runs = [6, 16]", "look 2 of 2 comes after 16 runs: 8 to go"),
        ("looks = 2", "not after which runs"),
        ("looks_after_runs = [4, 7]", "1 more than the last planned look has"),
    ],
)
def test_between_planned_looks_no_page_tells_a_result(tmp_path, stated, says):
    files = campaign_files()
    files["campaign.toml"] += f"\n[plan]\n{stated}\n"
    put_campaign(tmp_path, files=files)
    visitor = Visitor(tmp_path)
    for where in ("verdict", "runs/timed_climb", "report.html", "report.html?download=1"):
        page = " ".join(visitor.get(f"/c/climbs/{where}").text.split())
        assert says in page, where
        assert "8 runs (4 A and 4 B)" in page, where
        for word in ("interval of", "95 % interval", "is better", "Not enough data</p>", "Do not stop because of this"):
            assert word not in page, (where, word)


def test_at_a_planned_look_the_pages_say_what_the_command_line_says(tmp_path):
    files = campaign_files()
    files["campaign.toml"] += "\n[plan]\nlooks_after_runs = [8, 16]\n"
    folder = put_campaign(tmp_path, files=files)
    (one,) = compare(read(folder))
    assert (one.look.number, one.look.planned) == (1, 2)
    page = Visitor(tmp_path).get("/c/climbs/verdict").text
    assert phrases.sentence(one) in page
    assert phrases.headline(one) in page
    assert "This is look 1 of 2" in Visitor(tmp_path).get("/c/climbs/report.html").text
    assert "Do not stop because of this" not in page


@pytest.mark.parametrize(
    ("ticked", "decides", "status"),
    [("timed_climb", "takeoff_roll", 303), ("takeoff_roll", "timed_climb", 422), ("timed_climb", "timed_climb", 303)],
)
def test_a_measure_that_is_to_decide_is_never_swapped_in_silence(tmp_path, ticked, decides, status):
    # The roll decides where nobody chose: with one measure alone ticked there is nothing to choose.
    sent = {"title": "tyres", f"measure.{ticked}": "on", f"matters.{ticked}": "5 %", "primary": decides}
    answer = Visitor(tmp_path).post("/start", data=sent)
    assert answer.status_code == status, answer.text


def test_no_report_goes_out_without_a_run_and_one_looked_at_names_it(tmp_path):
    files = campaign_files()
    lines = files["timed_climb.csv"].splitlines(keepends=True)
    files["timed_climb.csv"] = "".join(lines[:-1]) + lines[-1].replace(lines[-1].split(",")[2], "soon", 1)
    put_campaign(tmp_path, files=files)
    visitor = Visitor(tmp_path)
    refused = visitor.get("/c/climbs/report.html?download=1")
    assert (refused.status_code, "run 8 of timed climb is not finished" in refused.text) == (422, True)
    assert "Left out until their rows are mended: run 8 of timed climb" in visitor.get("/c/climbs/report.html").text


def test_cautions_of_the_day_are_in_sight_and_fuel_is_said_to_be_that_before_the_run(tmp_path):
    put_campaign(tmp_path)
    page = Visitor(tmp_path).get("/c/climbs/today").text
    assert "at its start: less is left now, gauge it" in page
    folded = "".join(part.partition("</details>")[0] for part in page.split("<details>")[1:])
    assert "Engine stopped, magnetos off" in page
    assert "Engine stopped, magnetos off" not in folded


def test_what_reading_on_the_way_costs():
    """Armitage, McPherson and Rowe (1969), Table 2: 0.142 at five looks."""
    assert check("PEEK-5", false_alarm(5)).agrees
    assert "each of 5 blocks" in peeking()
    assert peeking().endswith("14 times in 100 instead of 5.")


@pytest.mark.parametrize(("rows", "shown"), [(0, True), (8, False)])
def test_cautions_of_a_measure_stand_open_before_its_first_run(tmp_path, rows, shown):
    put_campaign(tmp_path, rows=rows)
    page = Visitor(tmp_path).get("/c/climbs/runs/timed_climb").text
    assert ('<details class="caution" open>' in page) is shown
    assert '<details class="caution"' in page
