"""From a track to rows of the campaign: the right runs, in the file's own units, and nothing else touched."""

from __future__ import annotations

import csv
import errno
import os
import tomllib

import numpy as np
import pytest
import track_campaign
from whole_flights import BAND, as_gpx, as_igc, see, whole_flight

from samesky.campaign.messages import catalogue
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.sentences import Sentence
from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.evidence.proposal import dry_run, put
from samesky.evidence.tracks.propose import propose
from samesky.instruments.tracks import TrackEstimate, read_track
from samesky.instruments.tracks.fixes import build
from samesky.reduction.reduction import reduce_table

RUNWAYS = """\
[runway.09]
elevation = "120 m"
slope = "0 %"
heading = "90 deg"
[runway.27]
elevation = "120 m"
heading = "270 deg"
"""
TOML = "# mine\n" + track_campaign.toml("timed_climb", "level_speed", "takeoff_roll", more=RUNWAYS)
FOOT, KNOT = 0.3048, 1852 / 3600


@pytest.fixture(scope="module")
def flown(tmp_path_factory):
    """One flight, its truth, and its tracks by kind."""
    rng = np.random.default_rng(20260524)
    flight = whole_flight(rng)
    seen = see(flight, rng, 1.0, dropouts=2)
    place = tmp_path_factory.mktemp("tracks")
    (place / "flight.gpx").write_text(as_gpx(seen), encoding="utf-8")
    (place / "flight.igc").write_text(as_igc(seen), encoding="utf-8", newline="")
    return flight, seen, {kind: read_track(place / f"flight.{kind}") for kind in ("gpx", "igc")}


@pytest.fixture
def folder(tmp_path):
    return track_campaign.put(tmp_path / "mine", TOML)


def ask(folder, fixes, measure, **options):
    options = {"configuration": "A", "utc_offset_hours": 2.0} | options
    return propose(read(folder, flown=False), fixes, measure, **options)


def listing(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_climbs_by_barometer(flown, folder):
    flight, seen, tracks = flown
    offered = ask(folder, tracks["igc"], "timed_climb", expected=3, band=BAND)
    assert offered.file == "timed_climb.csv"
    assert offered.air is None
    assert [row["clock"][:3] for row in offered.rows] == ["07:", "07:", "07:"]
    for row, run, known in zip(offered.rows, offered.runs, offered.uncertainty, strict=True):
        assert row["date"] == "2024-05-24"
        assert float(row["from"]) * FOOT == pytest.approx(BAND[0], abs=4.0)
        assert float(row["to"]) * FOOT == pytest.approx(BAND[1], abs=4.0)
        moments = seen.truly(np.array([run.start, run.end]))
        truth = np.ptp(flight.at(moments, "pressure_altitude")) / np.ptp(moments)
        rate = (float(row["to"]) - float(row["from"])) * FOOT / float(row["elapsed"])
        assert rate == pytest.approx(truth, abs=4 * run.result.standard_uncertainty)
        assert known["elapsed"].standard_uncertainty == 0.0
        assert "oat" not in row
    assert any("cannot know oat" in question for question in offered.questions)


def test_a_track_alone_becomes_a_campaign_that_reduces(flown, folder):
    flight, _, tracks = flown
    for measure, options in (("timed_climb", {"band": BAND}), ("level_speed", {})):
        offered = ask(folder, tracks["igc"], measure, expected=3, **options)
        assert [path.name for path in put(folder, offered)] == ["campaign.toml", f"{measure}.csv"]
    campaign = read(folder)
    assert [one for one in campaign.findings if one.kind == "error"] == []
    reduction = reduce_table(campaign, campaign.tables["level_speed"])
    np.testing.assert_allclose(reduction.value, flight.airspeeds, atol=0.2)
    targets = {source.target for source, _ in reduction.contributions}
    assert {"speed 1", "speed 2", "speed 3"} <= targets
    size = {s.name: float(part[0]) for s, part in reduction.contributions}["ground speed on leg 1"]
    assert 0.005 < size < 0.05, "a third of the noise of a mean over a leg, not of a display in whole knots"


def test_heights_by_satellite_become_pressure_altitude_where_the_air_is_told(flown, folder):
    flight, seen, tracks = flown
    oat = 288.15 - 0.0065 * np.mean(BAND) + flight.deviation
    offered = ask(folder, tracks["gpx"], "timed_climb", expected=3, band=BAND, oat=oat, qnh=flight.qnh)
    assert offered.air.deviation == pytest.approx(flight.deviation, abs=0.01)
    for row, run in zip(offered.rows, offered.runs, strict=True):
        assert float(row["oat"]) + 273.15 == pytest.approx(oat, abs=0.01)
        moments = seen.truly(np.array([run.start, run.end]))
        truth = flight.at(moments, "pressure_altitude")
        np.testing.assert_allclose([float(row["from"]) * FOOT, float(row["to"]) * FOOT], truth, atol=4 * 6.7)
    (air,) = [one for one in offered.sources if one.name == "height counted by satellite"]
    assert air.size < 0.001
    blind = ask(folder, tracks["gpx"], "timed_climb", expected=3, band=BAND)
    (air,) = [one for one in blind.sources if one.name == "height counted by satellite"]
    assert (air.target, air.scope, round(air.size, 2)) == ("result", "day", 0.05)
    assert any("no temperature is known" in said for said in blind.assumptions)


def test_the_air_of_other_runs_of_the_day_is_used(flown, folder):
    flight, _, tracks = flown
    strip = 288.15 - 0.0065 * 120 + flight.deviation - 273.15
    (folder / "takeoff_roll.csv").write_text(
        "run,date,clock,configuration,runway,oat [degC],qnh [hPa],ground roll [m]\n"
        f"1,2024-05-24,07:00,A,09,{strip:.2f},{flight.qnh / 100:.2f},200\n"
        f"2,2024-05-24,08:30,B,09,{strip:.2f},{flight.qnh / 100:.2f},205\n"
        "3,2024-05-25,08:30,B,09,40,990,205\n",
        encoding="utf-8",
    )
    offered = ask(folder, tracks["gpx"], "timed_climb", expected=4)
    level = 44330.77 * (1 - (flight.qnh / 101325.0) ** 0.190263)
    assert offered.air.deviation == pytest.approx(flight.deviation, abs=0.0065 * abs(level) + 0.1)
    assert offered.air.base[1] - offered.air.base[0] == pytest.approx(level, abs=1.0)
    (air,) = [one for one in offered.sources if one.name == "height counted by satellite"]
    assert 0.005 < air.size < 0.01
    assert all("oat" not in row for row in offered.rows)


def test_nothing_is_chosen_where_the_track_leaves_a_choice(flown, folder):
    offered = ask(folder, flown[2]["igc"], "timed_climb")
    assert offered.rows == ()
    assert offered.sources == ()
    assert offered.questions[0].startswith("Say how many were flown")
    assert sum(question.startswith("Candidate: climb from 07:") for question in offered.questions) == 4
    before = listing(folder)
    with pytest.raises(CampaignError, match="gives no row: 4 climbs found, 1 expected"):
        put(folder, offered)
    assert listing(folder) == before
    one = offered.found.candidates[2]
    chosen = ask(folder, flown[2]["igc"], "timed_climb", between=(one.start - 60, one.end + 60))
    assert len(chosen.rows) == 1


def test_a_band_that_no_climb_covers_is_said_in_the_units_of_the_file(flown, folder):
    offered = ask(folder, flown[2]["igc"], "timed_climb", band=(700.0, 3000.0), expected=3)
    assert offered.rows == ()
    assert "no climb covers 2297 ft to 9843 ft" in offered.found.reason
    assert len(offered.found.candidates) == 4


def test_rows_take_the_units_and_the_order_of_the_file(flown, folder):
    text = "# by hand\nrun;date;clock;configuration;from [m];to [m];elapsed [min];notes\n"
    text += "1;2024-05-24;07:00;A;500;800;1,4;early\n# lunch\n2;2024-05-24;12:00;B;500;800;1,5;late\n"
    (folder / "timed_climb.csv").write_text(text, encoding="utf-8")
    offered = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND)
    put(folder, offered)
    lines = (folder / "timed_climb.csv").read_text(encoding="utf-8").splitlines()
    assert lines[:3] == text.splitlines()[:3]
    assert lines[6:] == text.splitlines()[3:]
    rows = list(csv.reader(lines[3:6], delimiter=";"))
    assert [row[0] for row in rows] == ["3", "4", "5"]
    assert float(rows[0][4]) == pytest.approx(700.0, abs=4.0)
    assert 0.9 < float(rows[0][6]) < 2.5
    assert rows[0][-1].startswith("from the track flight.igc, 05:")
    # runs read by hand keep the sizes of hands, and the pilot is told
    assert "[instrument" not in (folder / "campaign.toml").read_text(encoding="utf-8")
    assert any("read by hand" in said for said in offered.assumptions)


def test_one_run_is_never_put_twice(flown, folder):
    offered = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND)
    put(folder, offered)
    before = listing(folder)
    with pytest.raises(CampaignError, match="is there already"):
        put(folder, offered)
    # nor by another receiver of the same flight, whose clock is a few seconds off
    oat = 288.15 - 0.0065 * np.mean(BAND) + flown[0].deviation
    other = ask(folder, flown[2]["gpx"], "timed_climb", expected=3, band=BAND, oat=oat, qnh=flown[0].qnh)
    with pytest.raises(CampaignError, match="is there already"):
        put(folder, other)
    assert listing(folder) == before


def test_what_stands_in_the_campaign_stays_to_the_letter(flown, folder):
    for text in (TOML.rstrip("\n"), TOML.replace("\n", "\r\n"), "\ufeff" + TOML):
        (folder / "campaign.toml").write_bytes(text.encode("utf-8"))
        for path in folder.glob("*.csv"):
            path.unlink()
        put(folder, ask(folder, flown[2]["igc"], "level_speed", expected=3))
        after = (folder / "campaign.toml").read_bytes()
        assert after.startswith(text.encode("utf-8"))
        found = tomllib.loads(after.decode("utf-8-sig"))["instrument"]
        assert {"ground_speed_on_leg_1", "track_of_leg_3", "altimeter_scale"} <= set(found)
        assert after.count(b"\r\n") in (0, after.count(b"\n"))


def test_a_second_track_of_the_same_receiver_adds_rows_alone(flown, folder):
    put(folder, ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND))
    rng = np.random.default_rng(7)
    seen = see(whole_flight(rng), rng, 1.0)
    seen.clock += 7 * 86_400
    (folder.parent / "next.igc").write_text(as_igc(seen).replace("HFDTE240524", "HFDTE310524"), newline="")
    fixes = read_track(folder.parent / "next.igc")
    offered = ask(folder, fixes, "timed_climb", expected=3, band=BAND, configuration="b")
    assert [path.name for path in put(folder, offered)] == ["timed_climb.csv"]
    campaign = read(folder)
    assert check(campaign) == [] or all(one.kind == "warning" for one in check(campaign))
    assert list(campaign.tables["timed_climb"].configuration) == ["A"] * 3 + ["B"] * 3
    # the worse track, by satellite, needs more than is stated, and says what to write
    worse = ask(folder, flown[2]["gpx"], "timed_climb", expected=4, utc_offset_hours=14.0)
    with pytest.raises(CampaignError, match="Write there by hand"):
        put(folder, worse)


def test_cells_that_only_the_pilot_knows_are_left_and_told(flown, folder, monkeypatch):
    (folder / "timed_climb.csv").write_text(
        "run,date,clock,configuration,oat [degC],from [ft],to [ft],elapsed [s]\n1,2024-05-23,07:00,B,12,1000,2000,70\n",
        encoding="utf-8",
    )
    offered = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND)
    # Worded anew it is the same finding, and stops nothing.
    worded = Sentence("cell.blank-among-others", "nothing stands here.", "Fill it in.")
    for one in (catalogue.CELL_BLANK_AMONG_OTHERS, worded):
        monkeypatch.setattr(catalogue, "CELL_BLANK_AMONG_OTHERS", one)
        left = dry_run(read(folder, flown=False), offered).left
        assert [(one.column, one.code) for one in left] == [("oat", "cell.blank-among-others")]
    assert left[0].words() == "nothing stands here. Fill it in."
    put(folder, offered)
    assert "from the track" in (folder / "timed_climb.csv").read_text(encoding="utf-8")


def test_installations_are_those_of_the_runs_beside(flown, folder):
    head = "run,date,clock,configuration,installation,from [ft],to [ft],elapsed [s]\n"
    (folder / "timed_climb.csv").write_text(
        head + "1,2024-05-24,07:00,A,4,1000,2000,70\n2,2024-05-24,12:00,B,5,1000,2000,70\n", encoding="utf-8"
    )
    offered = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND)
    assert [row["installation"] for row in offered.rows] == ["4", "4", "4"]
    put(folder, offered)
    (folder / "timed_climb.csv").write_text(
        head + "1,2024-05-24,07:00,A,4,1000,2000,70\n2,2024-05-24,12:00,A,5,1000,2000,70\n", encoding="utf-8"
    )
    with pytest.raises(CampaignError, match="Say which"):
        ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND)
    assert ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND, installation="5").rows


def test_a_run_that_began_in_the_same_minute_is_one_just_before(flown, folder):
    """The take-off of a climb: its fitting is the climb's, not that of the morning before."""
    climb = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND).rows[0]
    head = "run,date,clock,configuration,installation,ground roll [m]\n"
    early, same = (f"{k},2024-05-24,{clock},A,{k + 3},140\n" for k, clock in ((1, "06:00"), (2, climb["clock"][:5])))
    (folder / "takeoff_roll.csv").write_text(head + early + same, encoding="utf-8")
    rows = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND).rows
    assert [row["installation"] for row in rows] == ["5", "5", "5"]


def test_a_campaign_of_one_day_needs_no_date(flown, folder):
    (folder / "campaign.toml").write_text('date = "2024-05-24"\n' + TOML, encoding="utf-8")
    (folder / "timed_climb.csv").write_text("clock,configuration,from [ft],to [ft],elapsed [s]\n", encoding="utf-8")
    offered = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND)
    assert "date" not in offered.rows[0]
    assert "run" not in offered.rows[0]
    put(folder, offered)
    assert len(read(folder).tables["timed_climb"].rows) == 3
    # on another day the column comes along
    early = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND, utc_offset_hours=-9.0)
    assert early.rows[0]["date"] == "2024-05-23"


def test_the_local_clock(flown, folder):
    for hours, clock, day in ((0.0, "05:", "2024-05-24"), (-9.5, "20:", "2024-05-23"), (5.75, "11:", "2024-05-24")):
        row = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND, utc_offset_hours=hours).rows[0]
        assert (row["clock"][:3], row["date"]) == (clock, day)


def test_a_roll_knows_its_strip_and_its_size(flown, folder):
    flight, _, tracks = flown
    direction = np.degrees(flight.track[0])
    (folder / "campaign.toml").write_text(TOML.replace("90 deg", f"{direction % 360:.0f} deg"), encoding="utf-8")
    # The heights alone know a roll to tens of metres: no row, and the speed is asked for.
    open_ = ask(folder, tracks["igc"], "takeoff_roll")
    assert not open_.rows
    assert "say the ground speed at lift-off" in open_.found.reason
    said = TrackEstimate(flight.lift_off_speed, 0.5)
    offered = ask(folder, tracks["igc"], "takeoff_roll", lift_off_speed=said)
    (row,), (run,) = offered.rows, offered.runs
    assert row["runway"] == "09"
    assert float(row["ground roll"]) == pytest.approx(flight.roll, abs=3 * run.result.standard_uncertainty)
    (size,) = [one for one in offered.sources if one.target == "ground roll" and one.scope == "run"]
    assert size.name == "start and end of the roll"
    assert size.size == pytest.approx(run.result.standard_uncertainty)
    put(folder, offered)
    roll = reduce_table(read(folder), read(folder).tables["takeoff_roll"])
    own = {s.name: float(part[0]) for s, part in roll.contributions}
    assert own["start and end of the roll"] == pytest.approx(
        run.result.standard_uncertainty / run.result.value, rel=0.02
    )
    assert "tape and markers" not in own


def test_a_roll_gives_its_acceleration_as_well(flown, folder):
    """Time between two ground speeds, from the same fixes, with no lift-off to be told."""
    flight, _, tracks = flown
    toml = TOML + '[measure.ground_acceleration]\nsmallest_difference_that_matters = "3 %"\n'
    (folder / "campaign.toml").write_text(toml, encoding="utf-8")
    roll = ask(folder, tracks["igc"], "takeoff_roll", lift_off_speed=TrackEstimate(flight.lift_off_speed, 0.5))
    assert any("look for ground_acceleration" in one for one in roll.questions)
    offered = ask(folder, tracks["igc"], "ground_acceleration", marks=(10 * KNOT, 28 * KNOT))
    (row,), (run,) = offered.rows, offered.runs
    lifted = int(np.argmax(flight.speed > flight.lift_off_speed))
    times = [np.interp(knots * KNOT, flight.speed[:lifted], flight.time[:lifted]) for knots in (10, 28)]
    truth = 18 * KNOT / (times[1] - times[0])
    assert run.result.value == pytest.approx(truth, abs=3 * run.result.standard_uncertainty)
    assert 0.002 < run.result.standard_uncertainty / run.result.value < 0.03
    assert (float(row["first ground speed"]), float(row["second ground speed"])) == pytest.approx(
        (10.0, 28.0), abs=0.01
    )
    put(folder, offered)
    campaign = read(folder)
    reduced = reduce_table(campaign, campaign.tables["ground_acceleration"])
    assert reduced.steps[0].value[0] == pytest.approx(run.result.value, rel=5e-3)
    own = {source.name: float(size[0]) for source, size in reduced.contributions}
    assert abs(own["stopwatch"]) == pytest.approx(run.result.standard_uncertainty / run.result.value, rel=0.02)
    assert not any("display" in name for name in own), "no display was read"


def test_speeds_of_an_acceleration_are_those_of_the_runs_that_are_there(flown, folder):
    toml = TOML + '[measure.ground_acceleration]\nsmallest_difference_that_matters = "3 %"\n'
    (folder / "campaign.toml").write_text(toml, encoding="utf-8")
    usual = ask(folder, flown[2]["igc"], "ground_acceleration")
    assert usual.runs[0].readings["second ground speed"].value == pytest.approx(25 * KNOT)
    put(folder, ask(folder, flown[2]["igc"], "ground_acceleration", marks=(4.0, 12.0)))
    again = ask(folder, flown[2]["igc"], "ground_acceleration")
    assert again.runs[0].readings["first ground speed"].value == pytest.approx(4.0, abs=0.01)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (
            {"measure": "cruise_fuel"},
            "it can give timed_climb, idle_descent, level_speed, takeoff_roll, landing_roll or ground_acceleration",
        ),
        ({"measure": "timed_clim"}, "Did you mean 'timed_climb'"),
        ({"configuration": "C"}, "no configuration 'C'"),
        ({"between": (0.0, 1.0)}, "no fixes between these times"),
    ],
)
def test_what_cannot_be_meant_is_said(flown, folder, options, says):
    options = {"measure": "timed_climb"} | options
    with pytest.raises(CampaignError) as caught:
        ask(folder, flown[2]["igc"], options.pop("measure"), **options)
    assert says in str(caught.value)


def test_a_header_without_a_unit_is_refused(flown, folder):
    (folder / "timed_climb.csv").write_text("run,date,clock,configuration,from,to [ft],elapsed [s]\n", encoding="utf-8")
    with pytest.raises(CampaignError, match=r"Write it as from \[ft\]"):
        ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND)


def test_a_full_disk_leaves_everything_as_it_was(flown, folder, monkeypatch):
    put(folder, ask(folder, flown[2]["igc"], "level_speed", expected=3))
    offered = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND)
    before = listing(folder)
    honest, count = os.replace, []

    def full(source, target):
        count.append(target)
        if str(target).endswith(".csv"):
            raise OSError(errno.ENOSPC, "No space left on device")
        return honest(source, target)

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(CampaignError, match="No space left"):
        put(folder, offered)
    assert [str(one).rpartition("/")[2] for one in count] == ["campaign.toml", "timed_climb.csv", "campaign.toml"]
    assert listing(folder) == before


def test_rows_that_would_break_the_campaign_are_not_written(flown, folder):
    """A climb that goes down: the check finds what the finder should have, and stops it."""
    from dataclasses import replace

    offered = ask(folder, flown[2]["igc"], "timed_climb", expected=3, band=BAND)
    wrong = replace(offered, rows=({**offered.rows[0], "to": "1"}, *offered.rows[1:]))
    before = listing(folder)
    with pytest.raises(CampaignError):
        put(folder, wrong)
    assert listing(folder) == before


def test_fixes_without_heights_are_left_aside_not_refused(flown, folder):
    fixes = flown[2]["igc"]
    pressure = fixes.pressure_altitude.copy()
    pressure[100] = np.nan
    holed = build(
        fixes.time, fixes.latitude, fixes.longitude, fixes.altitude, pressure_altitude=pressure,
        ground_speed=fixes.ground_speed, track=fixes.track,
    )  # fmt: skip
    offered = ask(folder, holed, "timed_climb", expected=4)
    assert len(offered.rows) == 4
    assert offered.air is None, "one gap in the barometer is no reason to take the satellite's heights"
    assert any("without a height left aside" in said for said in offered.assumptions)


def test_four_flights_and_nothing_else_make_a_campaign(folder, tmp_path):
    """A, B, B, A of one and the same aeroplane, each seen by a logger: no difference is claimed, and all is sound."""
    from samesky.inference.comparison import compare

    for number, key in enumerate("ABBA"):
        rng = np.random.default_rng([9, number])
        seen = see(whole_flight(rng), rng, 1.0)
        seen.clock += 3600 * number
        (tmp_path / f"{number}.igc").write_text(as_igc(seen), encoding="utf-8", newline="")
        fixes = read_track(tmp_path / f"{number}.igc")
        for measure, options in (("timed_climb", {"band": BAND}), ("level_speed", {})):
            put(folder, ask(folder, fixes, measure, configuration=key, expected=3, **options))
    campaign = read(folder)
    assert [one for one in check(campaign) if one.kind == "error"] == []
    assert {name: len(table.rows) for name, table in campaign.tables.items()} == {"timed_climb": 12, "level_speed": 12}
    for one in compare(campaign):
        low, high = one.interval_95
        assert low < 0.0 < high


@pytest.mark.parametrize("step", [1.0, 0.1])
def test_a_rounded_track_widens_the_track_alone(step):
    """A receiver that writes whole degrees: 0.29 degrees of each track stay, the ground speed is as good as ever."""
    from made_tracks import Receiver, box_of_legs

    from samesky.instruments.tracks import level_legs

    rng = np.random.default_rng(8)
    clock, latitude, longitude, height, speed, track = Receiver().see(box_of_legs(rng, tracks=(0.3, 1.9)), rng)
    rounded = np.radians(np.round(np.degrees(track) / step) * step)
    fine, coarse = (
        level_legs(build(clock, latitude, longitude, pressure_altitude=height, ground_speed=speed, track=one)).chosen
        for one in (track, rounded)
    )
    for before, after in zip(fine, coarse, strict=True):
        known = after.values["track"].standard_uncertainty
        assert np.degrees(known) > step / np.sqrt(12)
        assert abs(after.values["track"].value - before.values["track"].value) < 3 * known
        ratio = after.values["ground speed"].standard_uncertainty / before.values["ground speed"].standard_uncertainty
        assert ratio == pytest.approx(1.0, abs=0.02)
        assert after.notes == before.notes
