"""Test cards: a card a block, blanks in the file's own order, printable without a network."""

from __future__ import annotations

import html
import math
import re
import sys
from dataclasses import replace

import pytest
import saturday

from samesky import cli
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.campaign.reading.template import template_files
from samesky.planning.cards.html import cards, on_two_pages, write_cards
from samesky.planning.cards.paper import PAPERS, roomiest
from samesky.planning.output import words
from samesky.planning.plan import plan
from samesky.planning.scrub import ScrubLimit

pytestmark = pytest.mark.usefixtures("without_alternatives")

#: A block that fits on one page: two pulls, three rolls, three climbs.
SHORT = (
    ("[plan.static_pull]\n", "[plan.static_pull]\nruns_a_block = 2\n"),
    ("[plan.takeoff_roll]\n", "[plan.takeoff_roll]\nruns_a_block = 3\n"),
    ("[plan.timed_climb]\n", "[plan.timed_climb]\nruns_a_block = 3\n"),
)
ROLL = (
    "run,date,clock,configuration,fuel [L],oat [degF],headwind [mph],ground roll [yd],lift-off airspeed [mph],notes\n"
)


@pytest.fixture(scope="module")
def short(tmp_path_factory):
    folder = saturday.write(tmp_path_factory.mktemp("short"), *SHORT)
    (folder / "takeoff_roll.csv").write_text(ROLL, encoding="utf-8")
    return plan(read(folder, flown=False))


def pages(pdf: bytes) -> int:
    return len(re.findall(rb"/Type /Page\b", pdf))


def test_a_card_a_block_with_every_run_on_it(short):
    made = cards(short)
    assert [card.number for card in made] == [block.number for block in short.schedule.blocks]
    for card, block in zip(made, short.schedule.blocks, strict=True):
        assert sum(len(table.rows) for table in card.tables) == len(card.order) == len(block.runs)
        assert card.heading == block.runs[0].configuration
        rolls = next(table for table in card.tables if "takeoff_roll.csv" in table.title)
        assert list(rolls.rows) == [str(run.number) for run in block.runs if run.measure == "takeoff_roll"]


def test_blanks_stand_in_the_order_of_the_file(short):
    tables = cards(short)[0].tables
    mine = next(table for table in tables if "takeoff_roll" in table.title)
    known = ("run", "date", "configuration")
    assert list(mine.header) == [cell for cell in ROLL.strip().split(",") if cell not in known]
    # Without a file of its own: as `samesky new` writes it, with the unit that the campaign asks for.
    climb = next(table for table in tables if "timed_climb" in table.title)
    header = template_files()["timed_climb.csv"].strip().splitlines()[-1].split(",")
    left = ("run", "date", "configuration", "installation", "pilot", "pressure altitude [ft]", "ballast [kg]")
    assert list(climb.header) == [cell for cell in header if cell not in left]
    pull = next(table for table in tables if "static_pull" in table.title)
    assert "pull [kgf]" in pull.header


def test_aims_are_in_the_unit_of_the_column(short):
    tables = cards(short)[0].tables
    mine = next(table for table in tables if "takeoff_roll" in table.title)
    aim = dict(zip(mine.header, mine.aims, strict=True))
    # 38 kt are 43.7 statute miles an hour (38 x 1852 / 1609.344).
    assert aim["lift-off airspeed [mph]"] == "43.7"
    assert aim["ground roll [yd]"] == ""
    climb = next(table for table in tables if "timed_climb" in table.title)
    aim = dict(zip(climb.header, climb.aims, strict=True))
    assert (aim["from [ft]"], aim["to [ft]"], aim["elapsed [s]"]) == ("1000", "2000", "")


def test_limits_and_cautions_are_on_every_card(short):
    for card in cards(short):
        conditions = [name for name, _, _ in card.limits]
        assert len(conditions) == len(set(conditions))
        assert {"headwind", "lift-off airspeed", "crosswind", "gust less wind"} <= set(conditions)
        assert "papers" in card.stop[0]
        pulling = next(line for line in card.stop if "Two lines" in line)
        for said in (
            "either strong enough alone",
            "several times the pull",
            "hand's breadth ahead",
            "until the first line is taut",
            "feet over them",
            "propeller's plane",
            "only job is to call stop",
            "fire extinguisher",
        ):
            assert said in pulling


def test_a_limit_on_a_card_is_the_narrowest_of_its_measures(short):
    low, high = (
        pick(bound)
        for pick, bound in (
            (max, [limit.low for limit in short.limits if limit.condition == "oat"]),
            (min, [limit.high for limit in short.limits if limit.condition == "oat"]),
        )
    )
    shown = dict((name, band) for name, band, _ in cards(short)[0].limits)["temperature"]
    assert shown == f"{low - 273.15:.0f} to {high - 273.15:.0f} degC"


def test_a_limit_that_nobody_can_meet_is_on_no_card(short):
    """The plan still says of it that it does not bind; a kneeboard has no room for that."""
    deciding = short.question.primary.name
    others = [limit for limit in short.limits if limit.condition != "weight"]
    free = ScrubLimit("weight", deciding, -math.inf, math.inf, 510.0, "derived", "a test")
    said = replace(short, limits=(free, *others))
    assert free in words.worth_saying(said)
    for card in cards(said):
        assert "weight" not in [name for name, _, _ in card.limits]
    tight = replace(free, high=540.0)
    assert ("weight", "at most 540 kg", deciding.replace("_", " ")) in cards(replace(said, limits=(tight,)))[0].limits


@pytest.mark.parametrize("paper", PAPERS)
def test_html_and_pdf_whole_in_themselves_one_page_a_block(short, tmp_path, paper):
    page, pdf = write_cards(short, tmp_path / "cards.html", paper, pdf=True)
    text = page.read_text(encoding="utf-8")
    assert not re.search(r"(?:src|href)=|https?://|@import|url\(", text)
    width, height = PAPERS[paper]
    assert f"size: {width}mm {height}mm" in text
    assert text.count('<section class="card"') == len(short.schedule.blocks)
    contents = pdf.read_bytes()
    assert contents.startswith(b"%PDF-")
    assert pages(contents) == len(short.schedule.blocks)
    # A card that is not named is on one page; one that is named may be.
    assert not on_two_pages(short, paper).startswith("Every card")
    box = re.search(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", contents)
    # A point is 1/72 inch.
    assert [float(box[1]), float(box[2])] == pytest.approx([width * 72 / 25.4, height * 72 / 25.4], abs=0.1)


def test_what_a_pilot_writes_is_text_not_markup(tmp_path):
    label = 'label = "coarse <b>& \\"fast\\"</b>"'
    folder = saturday.write(tmp_path, *SHORT, ('label = "coarse"', label))
    made = plan(read(folder, flown=False))
    page, pdf = write_cards(made, tmp_path / "cards.html", pdf=True)
    assert html.escape('coarse <b>& "fast"</b>', quote=False).replace('"', "&#34;") in page.read_text(encoding="utf-8")
    assert pages(pdf.read_bytes()) >= len(made.schedule.blocks)


def test_the_same_plan_gives_the_same_bytes(short, tmp_path):
    first = write_cards(short, tmp_path / "one" / "cards.html", pdf=True)
    second = write_cards(short, tmp_path / "two" / "cards.html", pdf=True)
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]


def test_every_card_that_prints_on_two_pages_is_named_and_a_short_one_is_not(tmp_path):
    for runs, named in ((1, False), (6, None)):
        few = [(text, text + f"runs_a_block = {runs}\n") for text, _ in SHORT]
        made = plan(read(saturday.write(tmp_path / str(runs), *few), flown=False))
        _, pdf = write_cards(made, tmp_path / str(runs) / "cards.html", pdf=True)
        said = on_two_pages(made)
        more = pages(pdf.read_bytes()) - len(made.schedule.blocks)
        assert said or not more
        assert named is None or bool(said) is named


def test_a_long_block_takes_two_pages_rather_than_small_blanks(tmp_path):
    folder = saturday.write(tmp_path, ("[plan.takeoff_roll]\n", "[plan.takeoff_roll]\nruns_a_block = 14\n"))
    made = plan(read(folder, flown=False))
    assert roomiest(cards(made)[0], PAPERS["a5"])[0] == 6.0
    _, pdf = write_cards(made, tmp_path / "cards.html", pdf=True)
    printed, blocks = pages(pdf.read_bytes()), len(made.schedule.blocks)
    assert printed == 2 * blocks
    assert on_two_pages(made).startswith("Every card may need a second page")


def test_where_changing_is_free_each_row_says_what_is_set(tmp_path):
    folder = saturday.write(tmp_path, ('kind = "refit"', 'kind = "free"'), ('time = "30 min"', 'time = "0 min"'))
    card = cards(plan(read(folder, flown=False)))[0]
    rolls = next(table for table in card.tables if "takeoff_roll" in table.title)
    assert "".join(row[-1] for row in rolls.rows) in ("ABBA", "BAAB")
    assert card.heading.replace(" ", "") in ("ABBA", "BAAB")


def test_looks_are_on_the_card_after_which_they_come(tmp_path):
    folder = saturday.write(tmp_path, *SHORT, ("seed = 11", "seed = 11\nlooks = 2"))
    made = plan(read(folder, flown=False))
    for card in cards(made):
        said = [fact for fact in card.facts if "look" in fact]
        assert len(said) == sum(look.after_block == card.number for look in made.looks)


def test_no_such_paper(short, tmp_path):
    with pytest.raises(CampaignError, match="Choose a5 or letter-half"):
        write_cards(short, tmp_path / "cards.html", "napkin")
    assert not list(tmp_path.iterdir())


def test_without_the_library_the_pdf_is_refused_and_nothing_is_written(short, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "reportlab.platypus", None)
    with pytest.raises(CampaignError, match="needs the library reportlab"):
        write_cards(short, tmp_path / "cards.html", pdf=True)
    assert not list(tmp_path.iterdir())


def test_the_verb_writes_beside_the_campaign(tmp_path, monkeypatch, capsys):
    folder = saturday.write(tmp_path, *SHORT)
    monkeypatch.setattr(sys, "argv", ["samesky", "cards", str(folder), "--paper", "letter-half", "--pdf"])
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    assert not stopped.value.code
    assert (folder / "cards.html").is_file()
    assert (folder / "cards.pdf").is_file()
    assert capsys.readouterr().out.count("Cards: ") == 2
