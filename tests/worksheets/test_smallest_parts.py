"""The small parts that pages are made of, each by itself: what is listed, named, offered, refused and left alone."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from html import unescape
from types import SimpleNamespace

import pytest
from worksheet_client import STEM, Visitor, campaign_files, put_campaign

from samesky import apron
from samesky.campaign.entries.outline import outline
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.sentences import Said
from samesky.campaign.reading.read import read
from samesky.campaign.reading.template import template_files
from samesky.instruments.tracks.segments.segments import Segment
from samesky.measures import MEASURES
from samesky.measures.filmed_rolls import FILMED
from samesky.simulator.examples.catalogue import write_example
from samesky.worksheets import catalogue as say
from samesky.worksheets.answers import Answers
from samesky.worksheets.draft import UNSAVED, Draft
from samesky.worksheets.evidence import track_form, weather
from samesky.worksheets.evidence.kept_tracks import read_upload
from samesky.worksheets.library.uploads import campaign_texts
from samesky.worksheets.page_words import away
from samesky.worksheets.plan.work import PlanReadiness, rehearsal
from samesky.worksheets.runs.columns import OFFERED, film_file, runs_of
from samesky.worksheets.settings.pages import PARTS, parts
from samesky.worksheets.today.cards import ApronInputs, cards
from samesky.worksheets.today.form import form

CSV = f"{STEM}.csv"


def text(html: str) -> str:
    return unescape(" ".join(re.sub(r"<[^>]+>", " ", html).split()))


# On the apron.


@pytest.fixture(scope="module")
def flown(tmp_path_factory):
    return write_example("finer_pitch", tmp_path_factory.mktemp("hangar") / "finer_pitch")


@pytest.fixture(scope="module")
def campaign(flown):
    return read(flown)


def given(campaign, **texts: str) -> ApronInputs:
    blank = dict.fromkeys((one.name for one in form(campaign, {})), "")
    return ApronInputs.of(
        campaign, form(campaign, blank | {name.replace("_", " "): one for name, one in texts.items()})
    )


def made(campaign, anchor: str, runs=None, **texts: str):
    return next(one for one in cards(given(campaign, **texts), runs) if one.anchor == anchor)


@pytest.mark.parametrize("stem", ["takeoff_roll", "timed_climb", "level_speed"])
def test_the_table_that_is_asked_for_is_the_one_that_is_looked_at(flown, stem):
    visitor = Visitor(flown.parent)
    html = visitor.get("/c/finer_pitch/today", params={"table": stem}).text
    offered = re.findall(r'<option value="([a-z_]+)"( selected)?>', html[html.index('id="table"') :])
    tables = {path.stem for path in flown.glob("*.csv")}
    assert {name for name, _ in offered} == tables
    assert [name for name, chosen in offered if chosen] == [stem]
    said = text(re.search(r'<section class="[^"]*" id="card-run">.*?</section>', html, re.DOTALL).group())
    assert said.startswith(f"The last run typed: {MEASURES[stem].title} ")


@pytest.mark.parametrize(
    ("texts", "asked"),
    [
        ({"oat": "14", "qnh": "1019"}, (287.15, 101_900.0, None)),
        ({"oat": "14", "pressure_altitude": "1200"}, (287.15, None, 365.76)),
        ({"oat": "14", "qnh": "1019", "pressure_altitude": "1200"}, (287.15, None, 365.76)),
    ],
)
def test_an_altimeter_that_was_read_goes_before_a_setting(campaign, texts, asked):
    found = apron.air_now(campaign, *asked)
    card = made(campaign, "air", **texts)
    assert card.needs == ""
    said = " ".join(str(getattr(card, name)) for name in card.__slots__)
    for sentence in found.sentences:
        assert sentence in said


@pytest.mark.parametrize(
    ("texts", "needs"),
    [
        (
            {},
            {
                "air": "Outside air",
                "wind": "Wind",
                "loading": "Fitted now, Fuel on board",
                "speeds": "Fitted now, Fuel on board",
            },
        ),
        ({"oat": "14"}, {"air": "QNH"}),
        ({"configuration": "B"}, {"loading": "Fuel on board", "fuel": "Fuel on board", "speeds": "Fuel on board"}),
        ({"fuel": "35"}, {"loading": "Fitted now", "fuel": "Fitted now", "speeds": "Fitted now"}),
    ],
)
def test_a_card_names_what_it_lacks_and_nothing_else(campaign, texts, needs):
    for anchor, named in needs.items():
        assert made(campaign, anchor, **texts).needs == f"Needs: {named}."


def test_with_all_it_needs_a_card_answers(campaign):
    now = {"configuration": "B", "fuel": "35", "oat": "14", "qnh": "1019", "wind": "0"}
    for anchor in ("wind", "air", "loading", "fuel", "speeds"):
        assert made(campaign, anchor, **now).needs == "", anchor


@pytest.mark.parametrize(("clock", "hours"), [("06:30", 6.5), ("", None), ("25:00", None), ("noon", None)])
def test_the_time_of_day_is_read_or_complained_of_once(campaign, clock, hours):
    one = given(campaign, clock=clock)
    assert (one.hours(), one.hours()) == (hours, hours)
    assert list(one.wrong) == ([] if hours is not None or not clock else ["clock"])
    assert all(repr(clock) in said or clock in said for said in one.wrong.values())


# Tables of runs.


def test_rows_are_numbered_on_beyond_the_last():
    files = campaign_files(3)
    runs = runs_of(CSV, "# a remark\n" + files[CSV], None)
    assert runs.numbers == [3, 4, 5, *range(6, 6 + OFFERED)]
    empty = runs_of(CSV, files[CSV].splitlines()[0] + "\n", None)
    assert empty.numbers == list(range(2, 2 + OFFERED))
    assert len(empty.rows) == OFFERED


def test_a_finding_is_placed_at_its_cell_its_row_or_its_column():
    runs = runs_of(CSV, "run,clock,oat [degC]\n1,07:00,8\n2,07:10,9\n", None)
    said = Said("x", "wrong.")
    findings = [
        Finding("error", CSV, said, 3, "oat"),
        Finding("error", CSV, said, 2, None),
        Finding("error", CSV, said, None, "clock"),
        Finding("error", CSV, said, 99, "rpm"),
        Finding("error", CSV, said, None, None),
        Finding("error", "other.csv", said, 3, "oat"),
    ]
    assert [(row, column) for _, row, column in runs.places(findings)] == [(1, 2), (0, -1), (-1, 1), (-1, -1)]


def test_files_of_one_name_in_two_spellings_come_in_one_order():
    names = ["filmed_rolls.csv", "Filmed rolls.csv", "takeoff_roll.csv", "filmed_rolls.txt"]
    for order in (names, names[::-1]):
        assert list(film_file(order)) == ["Filmed rolls.csv", "filmed_rolls.csv"]
    assert film_file(names)["filmed_rolls.csv"] is FILMED


@pytest.mark.parametrize(("cells", "lines"), [(1, 1), (2, 2), (3, 1), (5, 1)])
def test_a_row_with_three_cells_to_mend_is_one_line(cells, lines):
    found = [Finding("error", CSV, Said("x", "is blank."), 4, f"column {k}") for k in range(cells)]
    doubt = Finding("warning", CSV, Said("y", "is odd."), 5, "oat")
    said = Answers(None, [*found, doubt])
    assert len(said.mend) == lines
    assert (said.mend[0] == f"{CSV}, row 4: still to fill in or to mend: {_listed(cells)}.") == (cells >= 3)
    assert [one for one in said.doubts if "odd" in one] == said.doubts != []


def _listed(cells: int) -> str:
    names = [f"column {k}" for k in range(cells)]
    return f"{', '.join(names[:-1])} and {names[-1]}"


# Settings.


def test_kinds_of_which_there_may_be_several_are_added_where_they_stand():
    shown = {anchor: kinds for anchor, _, _, kinds in parts(outline(template_files()["campaign.toml"]), PARTS)}
    assert shown == {
        "question": [],
        "compared": ["configuration"],
        "asked": ["measure"],
        "flew": ["station"],
        "where": ["runway"],
        "limits": [],
        "readings": ["instrument"],
        "film": [],
        "flying": ["mission"],
    }


@pytest.mark.parametrize(
    ("path", "said"),
    [
        (("measure", "timed_climb"), "Remove the timed climb"),
        (("measure", "cabin_noise"), "Remove cabin noise"),
        (("plan",), "Remove plan"),
        (("runway", "09"), "Remove 09"),
        (("aeroplane", "station", "rear_seat"), "Remove rear seat"),
    ],
)
def test_what_is_taken_away_is_named(path, said):
    assert away(path) == said


def test_following_other_hands_writes_nothing_where_nothing_moved(tmp_path):
    folder = put_campaign(tmp_path)
    draft = Draft(folder)
    draft.write(CSV, campaign_files()[CSV] + "\n")
    before = {path.name: (path.stat().st_ino, path.stat().st_mtime_ns) for path in (folder / UNSAVED).iterdir()}
    draft.follow()
    assert {path.name: (path.stat().st_ino, path.stat().st_mtime_ns) for path in (folder / UNSAVED).iterdir()} == before


# What is sent.


def test_folders_are_the_same_however_their_names_are_written():
    files = campaign_files()
    sent = {"./mine/campaign.toml": files["campaign.toml"].encode(), f"mine//{CSV}": files[CSV].encode()}
    sent |= {"mine/below/takeoff_roll.csv": b"run\n1\n", "other\\level_speed.csv": b"run\n1\n"}
    assert campaign_texts(sent) == files


def test_a_track_without_a_name_is_no_track_at_all(tmp_path):
    for name, code in (("", "upload.no-track"), ("folder/", "upload.no-track"), ("a.doc", "upload.track-kind")):
        with pytest.raises(CampaignError) as refused:
            read_upload((tmp_path / "x").open("w+b"), name)
        assert refused.value.finding.code == code


@pytest.mark.parametrize(
    ("name", "called"), [("C:\\mine\\metar.txt", "metar.txt"), ("", "the file"), ("a/", "the file")]
)
def test_reports_that_are_no_text_are_named_as_they_were_sent(name, called):
    with pytest.raises(CampaignError) as refused:
        weather.text_of(b"\0\1\2\xff", name)
    assert called in str(refused.value)
    assert "mine" not in str(refused.value)
    assert weather.text_of(b"METAR", name) == "METAR"


# Which stretch of a track is meant.


@pytest.mark.parametrize(
    ("typed", "number"),
    [("1", 1), ("200", 200), ("00012", 12), ("0", 0), ("201", 0), ("9" * 5_000, 0), ("1.5", 0), ("\u0664", 0)],
)
def test_how_many_is_a_whole_number(typed, number):
    words = dict.fromkeys(track_form.CALLED, "") | {"measure": "timed_climb", "configuration": "A", "utc_offset": "Z"}
    fixes = SimpleNamespace(time=SimpleNamespace(min=lambda: 0.0, max=lambda: 100.0))
    if number:
        assert track_form.options(words | {"expected": typed}, fixes)["expected"] == number
        return
    with pytest.raises(CampaignError) as refused:
        track_form.options(words | {"expected": typed}, fixes)
    field, said = track_form.place_of(refused.value)
    assert field == "expected"
    assert "200" in said


@pytest.mark.parametrize("name", list(track_form.CALLED))
def test_a_message_stands_at_the_field_that_it_names(name):
    said = say.PAGE_NO_CHANGE()
    assert track_form.place_of(cannot(track_form.CALLED[name], said))[0] == name
    assert track_form.place_of(cannot(f"{track_form.CALLED[name]} and another", said))[0] == name
    assert track_form.place_of(cannot("takeoff_roll.csv", said))[0] == ""


@pytest.mark.parametrize(
    ("first", "last", "low", "high"),
    [
        # Alone within a minute on either side; else half-way to the neighbour.
        (0, 0, 1_000 - 60, 1_100 + 10),
        (1, 1, 1_120 - 10, 1_200 + 20),
        (2, 2, 1_240 - 20, 1_300 + 60),
        (0, 1, 1_000 - 60, 1_200 + 20),
        (3, 3, 2_000 - 60, 2_100 + 60),
    ],
)
def test_a_stretch_is_looked_at_with_what_lies_around_it_and_nothing_of_its_neighbours(first, last, low, high):
    ends = [(1_000, 1_100), (1_120, 1_200), (1_240, 1_300), (2_000, 2_100)]
    candidates = tuple(Segment("climb", float(a), float(b), {}) for a, b in ends)
    proposal = SimpleNamespace(found=SimpleNamespace(candidates=candidates), utc_offset_hours=0.0)
    fixes = SimpleNamespace(time=SimpleNamespace(min=lambda: 0.0, max=lambda: 5_000.0))
    words = track_form.only({"expected": "4", "measure": "timed_climb"}, fixes, proposal, first, last)
    assert (words["from"], words["to"]) == tuple(f"{datetime.fromtimestamp(one, UTC):%H:%M:%S}" for one in (low, high))
    assert (words["expected"], words["date"], words["measure"]) == ("1", "", "timed_climb")


# A plan that cannot be made.


@pytest.mark.parametrize("work", [True, False])
def test_nothing_is_rehearsed_that_is_not_ready(tmp_path, work):
    context = SimpleNamespace(draft=SimpleNamespace(folder=tmp_path))
    fault = Finding("error", CSV, Said("cell.blank", "is blank."), 3, "oat")
    for found in (
        PlanReadiness("1", None, (fault,), (), None, None),
        PlanReadiness("1", None, (), ("B",), "B", fault),
    ):
        with pytest.raises(CampaignError) as refused:
            rehearsal(context, found, 10, 1, work)
        assert refused.value.finding == fault
