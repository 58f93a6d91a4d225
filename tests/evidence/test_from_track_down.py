"""Descents at idle and landing rolls from a track to rows: nothing without the pilot's word, and each its own sizes."""

from __future__ import annotations

import numpy as np
import pytest
import track_campaign
from made_tracks import BEGIN
from way_down import IDLE, way_down
from whole_flights import BAND, as_igc, see, whole_flight

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.evidence.proposal import put
from samesky.evidence.tracks.propose import propose
from samesky.evidence.tracks.words import told
from samesky.instruments.tracks import TrackEstimate, read_track
from samesky.reduction.reduction import reduce_table

MEASURES = ("timed_climb", "idle_descent", "takeoff_roll", "landing_roll")
RUNWAYS = (
    '[runway.13]\nelevation = "300 m"\nheading = "126 deg"\n[runway.31]\nelevation = "300 m"\nheading = "306 deg"\n'
)
TOML = track_campaign.toml(*MEASURES, primary="idle_descent", more=RUNWAYS)
#: A standard day: 15 degrees at the sea, 1013.25 hPa.
AIR = {"oat": 288.15 - 0.0065 * 1150.0, "qnh": 101325.0}


@pytest.fixture(scope="module")
def down(tmp_path_factory):
    made = way_down(np.random.default_rng(20))
    path = tmp_path_factory.mktemp("tracks") / "down.gpx"
    path.write_text(made.gpx, encoding="utf-8")
    return made, read_track(path)


@pytest.fixture
def folder(tmp_path):
    return track_campaign.put(tmp_path / "mine", TOML)


def ask(folder, fixes, measure, **options):
    return propose(read(folder, flown=False), fixes, measure, **{"configuration": "A"} | options)


def test_a_descent_at_idle_between_the_times_told(down, folder):
    made, fixes = down
    band = (900.0, 1400.0)
    offered = ask(folder, fixes, "idle_descent", between=made.idle, band=band, **AIR)
    (row,), (run,) = offered.rows, offered.runs
    start, end = (float(row[name]) * 0.3048 for name in ("from", "to"))
    assert (start, end) == pytest.approx(band[::-1], abs=4 * 6.7)
    assert (start - end) / float(row["elapsed"]) == pytest.approx(IDLE, abs=4 * run.result.standard_uncertainty)
    assert run.result.value == pytest.approx(IDLE, abs=3 * run.result.standard_uncertainty)
    assert any("rests on the times told" in line for line in offered.assumptions)
    assert any("Was the throttle closed" in line for line in offered.questions)
    put(folder, offered)
    campaign = read(folder)
    assert [one for one in check(campaign) if one.kind == "error" and one.row is not None] == []
    reduction = reduce_table(campaign, campaign.tables["idle_descent"])
    value = next(step.value for step in reduction.steps if step.name == "tapeline height")
    assert float(value[0]) == pytest.approx(IDLE, rel=0.02)
    own = {source.name: abs(float(part[0])) for source, part in reduction.contributions}
    assert own["altimeter reading at the end"] == pytest.approx(
        run.result.standard_uncertainty / run.result.value, rel=0.05
    )
    assert own.get("stopwatch", 0.0) == 0.0


@pytest.mark.parametrize("times", ["none", "the whole flight", "the powered descent only by its count"])
def test_a_powered_approach_is_never_taken_in_silence(down, folder, times):
    made, fixes = down
    options = {"expected": 2} if times == "none" else {"between": (fixes.time[0], fixes.time[-1])}
    if times.startswith("the powered"):
        options = {"between": (made.idle[1] + 20, fixes.time[-1]), "expected": 1}
    offered = ask(folder, fixes, "idle_descent", **options, **AIR)
    if times.startswith("the powered"):
        # approach and powered descent are two: still a question
        assert len(offered.found.candidates) == 2
    assert offered.rows == ()
    assert offered.sources == ()
    assert offered.questions[0].startswith("Say from when to when the throttle was closed")
    with pytest.raises(CampaignError, match="gives no row"):
        put(folder, offered)


def test_a_landing_with_the_speed_at_touch_down(down, folder):
    made, fixes = down
    offered = ask(folder, fixes, "landing_roll", touch_down_speed=TrackEstimate(made.touch_down_speed + 0.4, 1.0))
    (row,), (run,) = offered.rows, offered.runs
    assert float(row["ground roll"]) == pytest.approx(made.roll, abs=2.5 * run.result.standard_uncertainty)
    assert row["runway"] == "13"
    assert abs(run.start - made.touched) < 2.0
    assert "lift-off" not in " ".join(offered.questions)
    assert any("touch-down airspeed" in line for line in offered.questions)
    (size,) = [one for one in offered.sources if one.scope == "run"]
    assert size.size == pytest.approx(run.result.standard_uncertainty)
    assert "wheels touched" in size.source
    put(folder, offered)
    campaign = read(folder)
    reduction = reduce_table(campaign, campaign.tables["landing_roll"])
    own = {source.name: abs(float(part[0])) for source, part in reduction.contributions}
    assert own["start and end of the roll"] == pytest.approx(
        run.result.standard_uncertainty / run.result.value, rel=0.03
    )


def test_a_landing_by_heights_alone_gives_no_row(down, folder):
    offered = ask(folder, down[1], "landing_roll")
    assert offered.rows == ()
    assert "say the ground speed at touch-down" in offered.found.reason
    assert len(offered.found.candidates) == 1


def test_four_measures_of_one_campaign_keep_their_own_sizes(down, folder, tmp_path):
    """Climb and descent, take-off and landing share the names of their error sources, and nothing else."""
    rng = np.random.default_rng(21)
    rising = whole_flight(rng)
    (tmp_path / "up.igc").write_text(as_igc(see(rising, rng, 1.0, dropouts=0)), newline="")
    up, (made, fixes) = read_track(tmp_path / "up.igc"), down
    later = {"touch_down_speed": TrackEstimate(made.touch_down_speed, 1.0)}
    asked = [
        (up, "timed_climb", {"expected": 3, "band": BAND}),
        (fixes, "idle_descent", {"between": made.idle, "band": (900.0, 1400.0), **AIR}),
        (up, "takeoff_roll", {"lift_off_speed": TrackEstimate(rising.lift_off_speed, 0.5)}),
        (fixes, "landing_roll", later),
    ]
    sizes = {}
    for track, measure, options in asked:
        offered = ask(folder, track, measure, **options)
        put(folder, offered)
        sizes[measure] = {one.name: one.size for one in offered.sources}
    campaign = read(folder)
    assert [one for one in campaign.findings if one.kind == "error"] == []
    for measure, own in sizes.items():
        for name, size in own.items():
            stated = [one for one in campaign.sources if one.name == name and one.applies_to(measure)]
            assert len(stated) == 1, (measure, name)
            assert stated[0].standard_uncertainty == pytest.approx(size, rel=0.02), (measure, name)
    # a second descent of the same receiver has nothing more to state
    again = ask(folder, fixes, "idle_descent", between=made.idle, band=(950.0, 1400.0), **AIR)
    text = (folder / "campaign.toml").read_text(encoding="utf-8")
    (folder / "idle_descent.csv").unlink()
    put(folder, again)
    assert (folder / "campaign.toml").read_text(encoding="utf-8") == text


def test_a_receiver_with_another_day_is_asked_after(down, folder):
    made, fixes = down
    said = {"touch_down_speed": TrackEstimate(made.touch_down_speed, 1.0), "utc_offset_hours": 2.0}
    head = "run,date,clock,configuration,ground roll [m]\n"
    (folder / "landing_roll.csv").write_text(head + "1,2024-04-30,07:00,B,200\n", encoding="utf-8")
    offered = ask(folder, fixes, "landing_roll", **said)
    clock = offered.rows[0]["clock"]
    hour = f"{int(clock[:2]) - 2:02d}{clock[2:]}"
    (asked,) = [one for one in offered.questions if "by your clock" in one]
    assert f"begin at {clock} on 2024-05-01 by your clock ({hour} by the receiver, as UTC)?" in asked
    assert "weeks away" not in asked
    # 1024 weeks later, by an old receiver
    (folder / "landing_roll.csv").write_text(head + "1,2043-12-15,07:00,B,200\n", encoding="utf-8")
    (asked,) = [one for one in ask(folder, fixes, "landing_roll", **said).questions if "by your clock" in one]
    assert "1024 weeks away: the week count of an old receiver begins anew" in asked


CALLED = {name: f"--{name}" for name in ("measure", "bottom", "top", "legs", "lift_off_speed", "touch_down_speed")}


@pytest.mark.parametrize(
    ("measure", "said", "says"),
    [
        ("landing_roll", {"lift_off_speed": "40 kt"}, "belongs to takeoff_roll"),
        ("takeoff_roll", {"touch_down_speed": "40 kt"}, "belongs to landing_roll"),
        ("level_speed", {"bottom": "900 m", "top": "1200 m"}, "belong to timed_climb and idle_descent"),
        ("idle_descent", {"bottom": "900 m"}, "only one of them"),
        ("landing_roll", {"touch_down_speed": "400 kt"}, "hard to believe"),
    ],
)
def test_what_belongs_to_another_measure_is_not_passed_over(measure, said, says):
    with pytest.raises(CampaignError) as caught:
        told(measure, said, CALLED)
    assert says in str(caught.value)


def test_what_is_told_arrives():
    found = told("idle_descent", {"bottom": "900 m", "top": "1200 m"}, CALLED)
    assert found["band"] == (900.0, 1200.0)
    speed = told("landing_roll", {"touch_down_speed": "40 kt"}, CALLED)["touch_down_speed"]
    assert (speed.value, speed.standard_uncertainty) == (pytest.approx(40 * 1852 / 3600), 1.0)


def test_the_truth_of_the_test(down):
    made, fixes = down
    first, last = (made.truth.at(moment - BEGIN, "height") for moment in made.idle)
    assert first - last == pytest.approx(700.0, abs=5.0)
    assert fixes.piece.max() == 0
