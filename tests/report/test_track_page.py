"""The page of a track: whole, alone, the same twice, honest about what was and was not taken, harmless in a browser."""

from __future__ import annotations

import base64
import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
import track_campaign
from whole_flights import BAND, as_gpx, as_igc, see, whole_flight

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.evidence.proposal import dry_run
from samesky.evidence.tracks.propose import propose
from samesky.instruments.tracks import read_track
from samesky.instruments.tracks.noise import TrackEstimate
from samesky.report import track_figure as figures
from samesky.report.track_page import candidates, offset_words, plus_minus, row, track_page, write_track

TOML = track_campaign.toml("timed_climb", "level_speed", "takeoff_roll", title="Up <b>and</b> away & back")


@pytest.fixture(scope="module")
def flown(tmp_path_factory):
    rng = np.random.default_rng(5)
    seen = see(whole_flight(rng), rng, 1.0, dropouts=1)
    place = tmp_path_factory.mktemp("track")
    (place / "campaign.toml").write_text(TOML, encoding="utf-8")
    (place / "flight.igc").write_text(as_igc(seen), encoding="utf-8", newline="")
    (place / "<script>alert(1)</script>.gpx".replace("/", "_")).write_text(as_gpx(seen), encoding="utf-8")
    return place


ASKED = {
    "climbs": ("timed_climb", {"expected": 3, "band": BAND}),
    "open": ("timed_climb", {}),
    "legs": ("level_speed", {"expected": 3}),
    "roll": ("takeoff_roll", {}),
}


@pytest.fixture(scope="module", params=ASKED)
def shown(request, flown):
    measure, options = ASKED[request.param]
    campaign, fixes = read(flown, flown=False), read_track(flown / "flight.igc")
    offered = propose(campaign, fixes, measure, configuration="A", utc_offset_hours=2.0, **options)
    left = dry_run(read(flown, flown=False), offered).left if offered.rows else ()
    return campaign, fixes, offered, left, track_page(campaign, fixes, offered, left)


def test_the_page_stands_alone_and_closes_every_element(shown, outline):
    page = shown[-1]
    assert not re.search(r'(?:src|href|srcset)="(?!data:|#)', page)
    found = outline(page)
    assert len(found.images) == 2
    assert all(len(image["alt"]) > 60 for image in found.images)
    assert next(level for level, _ in found.headings) == 1
    opened = []

    class Check(HTMLParser):
        def handle_starttag(self, tag, attrs):
            if tag not in ("meta", "img", "source", "br"):
                opened.append(tag)

        def handle_endtag(self, tag):
            assert opened.pop() == tag

    Check().feed(page)
    assert opened == []


def test_the_same_track_gives_the_same_page(shown):
    campaign, fixes, offered, left, page = shown
    assert track_page(campaign, fixes, offered, left) == page


def test_everything_that_was_proposed_is_said(shown, outline):
    _, _, offered, left, page = shown
    text = " ".join(outline(page).text.split())
    for said in (*offered.questions, *(one[:1].upper() + one[1:] for one in offered.assumptions)):
        assert " ".join(said.split()) in text
    for source in offered.sources:
        assert source.size_text() in text
    for finding in left:
        assert finding.message in text
    assert len(candidates(offered)) == len(offered.found.candidates)
    taken = [one[2] for one in candidates(offered)]
    assert sum(one != "not taken" for one in taken) == len(offered.found.chosen)


def test_words_of_the_pictures_name_what_was_taken(shown):
    _, fixes, offered, _, _ = shown
    for alt in (figures.clock_alt(fixes, offered), figures.ground_alt(fixes, offered)):
        if offered.rows:
            assert all(f"{name} from 0" in alt for name, _ in figures.taken(offered))
        else:
            assert "Nothing was taken" in alt
            assert alt.count(" to 07:") == len(offered.found.candidates)


def test_taken_and_passed_over_differ_by_more_than_colour(flown):
    """In grey print: line style, marker and a number tell them apart."""
    campaign, fixes = read(flown, flown=False), read_track(flown / "flight.igc")
    legs = propose(campaign, fixes, "level_speed", configuration="A", expected=3)
    assert figures.passed_over(legs)
    drawn = figures.against_clock(fixes, legs, 7.0)
    lines = [line for axes in drawn.axes for line in axes.lines]
    taken = [line for line in lines if line.get_color() == figures._TAKEN.colour]
    other = [line for line in lines if line.get_color() == figures._ELSE.colour]
    assert {line.get_linestyle() for line in taken} == {"-", "None"}
    assert {line.get_linestyle() for line in other} == {"--", "None"}
    markers = [{line.get_marker() for line in some} - {"None"} for some in (taken, other)]
    assert not markers[0] & markers[1]
    numbers = [text.get_text() for text in drawn.axes[0].texts]
    assert numbers == [f"{run}.{leg}" for run in (1, 2, 3) for leg in (1, 2, 3)]


def test_the_stretch_in_the_picture_is_that_of_the_row(shown):
    _, fixes, offered, _, _ = shown
    for run, cells in zip(offered.runs, offered.rows, strict=True):
        assert f"{int((run.start // 3600 + 2) % 24):02d}:{int(run.start // 60 % 60):02d}" == cells["clock"]
    drawn = figures.over_ground(fixes, offered, 3.7)
    thick = [line for line in drawn.axes[0].lines if line.get_linewidth() > 2.0 and line.get_linestyle() == "-"]
    assert len(thick) == len(figures.taken(offered))


def test_a_long_track_is_thinned(flown):
    campaign, fixes = read(flown, flown=False), read_track(flown / "flight.igc")
    many = fixes.select(np.sort(np.r_[np.arange(len(fixes))].repeat(40)))
    many = replace(many, time=np.linspace(fixes.time[0], fixes.time[-1], len(many)), piece=np.zeros(len(many), int))
    offered = propose(campaign, fixes, "timed_climb", configuration="A")
    drawn = figures.over_ground(many, offered, 7.0)
    assert max(line.get_xdata().size for line in drawn.axes[0].lines) < 1.1 * figures.MOST_POINTS


def test_names_of_files_and_titles_are_text(flown):
    campaign = read(flown, flown=False)
    (odd,) = [path for path in flown.iterdir() if path.suffix == ".gpx"]
    fixes = read_track(odd)
    page = track_page(campaign, fixes, propose(campaign, fixes, "timed_climb", configuration="A", expected=4))
    assert "<script>" not in page
    assert "<b>" not in page
    svg = [base64.b64decode(data).decode() for data in re.findall(r"base64,([A-Za-z0-9+/=]+)", page)]
    assert len(svg) == 4
    assert not any("<script" in one for one in svg)


def test_a_page_that_cannot_be_written_is_one_message(flown, tmp_path):
    campaign, fixes = read(flown, flown=False), read_track(flown / "flight.igc")
    offered = propose(campaign, fixes, "timed_climb", configuration="A")
    with pytest.raises(CampaignError, match="is a folder"):
        write_track(campaign, fixes, offered, tmp_path)


@pytest.mark.parametrize(
    ("value", "spread", "unit", "dimension", "text"),
    [
        (5.0, 0.05, "kt", "speed", "9.72 ± 0.19\u00a0kt"),
        (152.4, 1.524, "ft", "length", "500 ± 10\u00a0ft"),
        (80.123, 0.0, "s", "time", "80.12\u00a0s"),
    ],
)
def test_plus_minus_is_twice_the_standard_uncertainty(value, spread, unit, dimension, text):
    assert plus_minus(TrackEstimate(value, spread), unit, dimension) == text


def test_offsets_in_words():
    assert [offset_words(hours) for hours in (0.0, 2.0, -9.5, 5.75)] == ["UTC", "UTC+02:00", "UTC-09:30", "UTC+05:45"]


def test_a_row_in_words(flown):
    campaign, fixes = read(flown, flown=False), read_track(flown / "flight.igc")
    offered = propose(campaign, fixes, "level_speed", configuration="A", expected=3, utc_offset_hours=2.0)
    one = row(offered, 1)
    assert one.run == "2"
    assert one.result.endswith("\u00a0kt")
    assert [name for name, _ in one.readings] == ["altitude", "leg 1", "leg 2", "leg 3"]


@pytest.mark.browser
@pytest.mark.parametrize("width", [390, 1100])
def test_in_a_real_browser_nothing_overflows_and_nothing_is_fetched(browser, shown, tmp_path, width):
    path = tmp_path / "track.html"
    path.write_text(shown[-1], encoding="utf-8")
    context = browser.new_context(viewport={"width": width, "height": 900})
    page = context.new_page()
    fetched = []
    page.on("request", lambda request: fetched.append(request.url))
    page.goto(path.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate("[...document.images].every(image => image.complete && image.naturalWidth > 0)")
    assert fetched
    assert all(url.startswith(("file:", "data:")) for url in fetched)
    context.close()
