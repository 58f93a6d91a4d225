"""From a film to the runs: blank cells alone, readings stay, its own errors in this measure alone, all or none."""

from __future__ import annotations

import dataclasses
import errno
import os
import tomllib

import film_campaign as filmed
import numpy as np
import pytest
from filmed import films

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.evidence.film.propose import propose
from samesky.evidence.film.put import fresh_table
from samesky.evidence.film.sources import assumed
from samesky.evidence.proposal import dry_run, put
from samesky.instruments.roll_film import ground_roll, time_between_speeds
from samesky.reduction.reduction import reduce_table


def errors(folder):
    return [one.sentence() for one in check(read(folder)) if one.kind == "error"]


def test_a_morning_is_filled_and_can_be_compared(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine")
    assert any("the cell is blank" in one for one in errors(folder))
    before = {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()}
    proposal = propose(read(folder, flown=False))
    assert len(proposal.fills) == 12
    assert {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir()} == before
    written = put(folder, proposal)
    assert [path.name for path in written] == ["campaign.toml", "takeoff_roll.csv"]
    assert errors(folder) == []
    campaign = read(folder)
    rolls = campaign.tables["takeoff_roll"].columns["ground roll"]
    # the same frames straight through the instrument, and the truth within what is stated
    seen = films(np.random.default_rng(4), filmed.SETUP, filmed.TRUTH, alike=True)
    straight = ground_roll(filmed.SETUP, seen)
    np.testing.assert_allclose(rolls, straight.value, atol=0.1)
    assert np.all(np.abs(rolls - filmed.TRUTH) < 3 * straight.standard_uncertainty)
    text = (folder / "campaign.toml").read_text(encoding="utf-8")
    assert text.startswith(filmed.TOML)
    # nothing else of the runs' file has changed
    lines = zip(
        before["takeoff_roll.csv"].splitlines(), (folder / "takeoff_roll.csv").read_text().splitlines(), strict=True
    )
    assert all([a.split(",")[k] == b.split(",")[k] for k in (0, 1, 2, 4, 5)] for a, b in lines)


def test_what_the_film_is_worth_is_stated_for_the_roll_alone(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine", campaign=filmed.TOML + LANDING)
    put(folder, propose(read(folder, flown=False)))
    campaign = read(folder, flown=False)
    seen = films(np.random.default_rng(4), filmed.SETUP, filmed.TRUTH, alike=True)
    straight = ground_roll(filmed.SETUP, seen)
    by_name = {one.name: one for one in campaign.sources if one.applies_to("takeoff_roll")}
    own = by_name["start and end of the roll"]
    assert (own.target, own.scope, own.measures) == ("ground roll", "run", ("takeoff_roll",))
    assert own.standard_uncertainty == pytest.approx(np.sqrt(np.mean(straight.own**2)), rel=6e-3)
    shared = by_name["camera and markers for ground roll"]
    assert (shared.scope, shared.measures) == ("campaign", ("takeoff_roll",))
    assert shared.standard_uncertainty == pytest.approx(straight.alike_and_not()[0], rel=6e-3)
    # the shipped error of the tape that the markers were laid with stays; so does that of a landing seen by hand
    assert by_name["tape and markers"].relative
    landing = [one for one in campaign.sources if one.name == own.name and one.applies_to("landing_roll")]
    assert [one.standard_uncertainty for one in landing] == [1.5]
    # and it reaches the runs: their uncertainty from the ends is the film's, on the scale of a ratio
    reduction = reduce_table(campaign, campaign.tables["takeoff_roll"])
    effects = {source.name: effect for source, effect in reduction.contributions}
    rolls = campaign.tables["takeoff_roll"].columns["ground roll"]
    np.testing.assert_allclose(np.abs(effects[own.name]), own.standard_uncertainty / rolls, rtol=2e-3)


LANDING = """
[measure.landing_roll]
smallest_difference_that_matters = "5 %"
"""


def test_a_reading_stays_and_is_held_against_the_film(tmp_path):
    runs = filmed.roll_file({2: "141", 5: "160", 7: "see film"})
    folder = filmed.put_campaign(tmp_path / "mine", takeoff_roll=runs)
    proposal = propose(read(folder, flown=False))
    kinds = {one.run: one.kind for one in proposal.runs}
    assert [run for run, kind in kinds.items() if kind == "apart"] == ["2", "5", "7"]
    assert len(proposal.fills) == 9
    said = " ".join(one.sentence() for one in proposal.doubted)
    assert "row 6, column 'ground roll': run 5: the reading differs from the film" in said
    assert "run 7: the cell holds no number" in said
    assert "run 2" not in said
    assert [one for one in proposal.left if "agrees" in one] == [one for one in proposal.left if one.startswith("Run ")]
    (stays,) = [one for one in proposal.left if "agrees" in one]
    assert stays.startswith("Run 2 (takeoff_roll.csv, row 3): the reading of 141 m stays; the film gives 1")
    put(folder, proposal)
    after = (folder / "takeoff_roll.csv").read_text(encoding="utf-8").splitlines()
    assert [after[k].split(",")[3] for k in (2, 5, 7)] == ["141", "160", "see film"]
    assert all(line.split(",")[3] for line in after)
    # other runs of the column were read by hand: the larger error holds for all of it
    assert any("read by hand" in one for one in proposal.notes)
    assert "start_and_end_of_the_roll" not in (folder / "campaign.toml").read_text(encoding="utf-8")


def test_what_was_filled_says_so_already_and_is_not_taken_for_a_reading_by_hand(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine")
    put(folder, propose(read(folder, flown=False)))
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    again = propose(read(folder, flown=False))
    assert {one.kind for one in again.runs} == {"there"}
    assert not again.fills
    assert not again.doubted
    assert not any("by hand" in one for one in again.notes)
    assert put(folder, again) == []
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    # a second day: its runs are added, and the film is still all that the column was read with
    day_two = "13,10:00,A,,,\n"
    (folder / "takeoff_roll.csv").write_text((before["takeoff_roll.csv"].decode() + day_two), encoding="utf-8")
    frames = filmed.frame_file().splitlines()
    more = frames[1].split(",")
    (folder / "filmed_rolls.csv").write_text("\n".join([*frames, ",".join(["13", *more[1:]])]) + "\n", encoding="utf-8")
    second = propose(read(folder, flown=False))
    assert [one.run for one in second.fills] == ["13"]
    assert not any("by hand" in one for one in second.notes)
    assert "campaign.toml" not in second.texts(read(folder, flown=False))


def test_feet_are_feet_and_a_run_that_is_not_there_is_named(tmp_path):
    runs = filmed.roll_file(unit="ft").replace("\n12,", "\ntwelve,")
    folder = filmed.put_campaign(tmp_path / "mine", takeoff_roll="\n\n" + runs)
    proposal = propose(read(folder, flown=False))
    first = proposal.runs[0]
    assert first.unit == "ft"
    assert float(first.text) == pytest.approx(filmed.TRUTH[0] / 0.3048, rel=0.03)
    # two blank lines stand above the header, which a spreadsheet counts
    assert first.row == 4
    assert [one for one in proposal.left if "Run 12 (filmed_rolls.csv, row 13)" in one and "no run of that name" in one]


def test_free_measures_of_time_and_of_speed_are_given_as_well(tmp_path):
    asked = (
        '[measure.time_to_lift_off]\nunit = "s"\nbetter = "smaller"\nsmallest_difference_that_matters = "0.3 s"\n'
        '[measure.speed_between_markers]\nunit = "kt"\nbetter = "larger"\nsmallest_difference_that_matters = "1 kt"\n'
    )
    runs = filmed.roll_file()
    files = {
        "time_to_lift_off": runs.replace("ground roll [m]", "time to lift off [s]"),
        "speed_between_markers": runs.replace("ground roll [m]", "speed between markers [kt]"),
    }
    folder = filmed.put_campaign(tmp_path / "mine", campaign=filmed.TOML + asked, **files)
    proposal = propose(read(folder, flown=False))
    assert len(proposal.fills) == 36
    put(folder, proposal)
    assert errors(folder) == []
    campaign = read(folder)
    frames = [line.split(",") for line in filmed.frame_file().splitlines()[1:]]
    times = [(int(row[6]) - int(row[1])) / 60 for row in frames]
    np.testing.assert_allclose(campaign.tables["time_to_lift_off"].columns["time to lift off"], times, atol=0.01)
    # 75 m between the first and the last marker, seen 6 m further off than the wheels: 35/41 of it
    speeds = [75.0 * 35 / 41 / ((int(row[5]) - int(row[2])) / 60) for row in frames]
    table = campaign.tables["speed_between_markers"]
    np.testing.assert_allclose(table.columns["speed between markers"], speeds, rtol=3e-3)
    names = {one.name for one in campaign.sources}
    assert {"frames of time to lift off", "frames of speed between markers"} <= names


def test_what_cannot_be_told_is_said_and_not_guessed(tmp_path):
    frames = filmed.frame_file(
        run_3="3,,10700,,,,10800,,", run_4="4,,,,,,,,", run_5="5,,10600,10660,,,11200,,", run_6="6,,10600,,10750,,,,"
    )
    folder = filmed.put_campaign(tmp_path / "mine", filmed_rolls=frames)
    proposal = propose(read(folder, flown=False))
    told = {one.run for one in proposal.fills}
    assert not told & {"3", "4", "5", "6"}
    left = " ".join(proposal.left)
    assert "Run 3 (filmed_rolls.csv, row 4): the film needs lift-off and two marker passages" in left
    assert "Run 5 (filmed_rolls.csv, row 6): it lifts off too far beyond the last marker" in left
    assert "Run 6" in left
    assert "Run 4" not in left


def test_a_run_that_is_only_planned_is_not_made_a_flown_one(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine", takeoff_roll=filmed.roll_file().replace("4,07:40,B", "4,,B"))
    proposal = propose(read(folder, flown=False))
    assert any("Run 4 " in one and "no clock for it yet" in one for one in proposal.left)
    put(folder, proposal)
    assert errors(folder) == []


def test_nothing_is_put_where_a_cell_was_filled_meanwhile(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine")
    proposal = propose(read(folder, flown=False))
    (folder / "takeoff_roll.csv").write_text(filmed.roll_file({3: "130"}), encoding="utf-8")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with pytest.raises(CampaignError, match="row 4, column 'ground roll': the cell has changed"):
        put(folder, proposal)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_full_disk_leaves_all_as_it_was(tmp_path, monkeypatch):
    folder = filmed.put_campaign(tmp_path / "mine")
    proposal = propose(read(folder, flown=False))
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    replace, done = os.replace, []

    def full(source, target):
        done.append(target)
        if len(done) == 2:
            raise OSError(errno.ENOSPC, "No space left on device")
        return replace(source, target)

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(CampaignError, match="No space left"):
        put(folder, proposal)
    assert len(done) >= 2
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_what_the_campaign_states_itself_is_not_written_twice_nor_made_less(tmp_path):
    own = (
        '\n[instrument.start_and_end_of_the_roll]\ntarget = "ground roll"\nscope = "run"\nstandard_uncertainty = "{}"\n'
    )
    folder = filmed.put_campaign(tmp_path / "wide", campaign=filmed.TOML + own.format("3 m"))
    campaign = read(folder, flown=False)
    assert "start_and_end" not in propose(campaign).texts(campaign).get("campaign.toml", "")[len(campaign.toml) :]
    folder = filmed.put_campaign(tmp_path / "narrow", campaign=filmed.TOML + own.format("0.1 m"))
    with pytest.raises(CampaignError, match="states less than this film is known to"):
        propose(read(folder, flown=False))


def test_line_ends_of_the_settings_stay(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine", campaign=filmed.TOML.replace("\n", "\r\n"))
    text = dry_run(read(folder, flown=False), propose(read(folder, flown=False))).files["campaign.toml"]
    assert text.count("\n") == text.count("\r\n")


def test_a_table_to_begin_with_has_the_runs_that_lack_a_roll(tmp_path):
    folder = filmed.put_campaign(
        tmp_path / "mine", filmed_rolls="", takeoff_roll=filmed.roll_file({1: "140", 4: "120"})
    )
    text = fresh_table(read(folder, flown=False))
    header, *rows = [line for line in text.splitlines() if not line.startswith("#")]
    assert header.startswith("run,brakes released,marker 1,")
    assert "[" not in header
    assert [row.split(",")[0] for row in rows] == [str(k) for k in range(1, 13) if k not in (1, 4)]
    (folder / "filmed_rolls.csv").write_text(text, encoding="utf-8")
    # typed no further, it is no fault of the campaign
    assert not [one for one in read(folder, flown=False).findings if one.file == "filmed_rolls.csv"]


def test_lines_across_the_strip_need_no_camera(tmp_path):
    lines = filmed.TOML.replace(
        'marker_offset = "6 m"\ncamera = "120 m"\ncamera_distance = "35 m"', 'marker_offset = "0 m"'
    )
    folder = filmed.put_campaign(tmp_path / "mine", campaign=lines)
    proposal = propose(read(folder, flown=False))
    assert any("no parallax" in one for one in proposal.notes)
    setup = read(folder, flown=False).film.setup
    seen = films(np.random.default_rng(4), setup, filmed.TRUTH, alike=True)
    found = ground_roll(setup, seen)
    assert np.all(np.abs(found.value - filmed.TRUTH) < 3 * found.standard_uncertainty)


GAIN = '[measure.ground_acceleration]\nsmallest_difference_that_matters = "5 %"\n[film]'


def test_the_time_between_two_ground_speeds_is_filled_beside_the_roll(tmp_path):
    """The agreed speeds are typed in, the frames tell the time, and no display and no watch were read."""
    gains = ["run,clock,configuration,first ground speed [m/s],second ground speed [m/s],elapsed [s],exclude,notes"]
    gains += [f"{k},{7 + k // 6:02d}:{k % 6 * 10:02d},{key},16,22,,," for k, key in enumerate(filmed.ORDER, start=1)]
    toml = filmed.TOML.replace("[film]", GAIN)
    toml = toml.replace('["90 m", "115 m", "140 m", "165 m"]', '["55 m", "85 m", "115 m", "145 m"]')
    setup = dataclasses.replace(filmed.SETUP, markers=np.array([55.0, 85.0, 115.0, 145.0]))
    seen = films(np.random.default_rng(4), setup, filmed.TRUTH, alike=True)
    cells = np.column_stack([seen.brakes, seen.passages, seen.lift_off]) + 10_000
    rows = [",".join([str(k), *(f"{one:.0f}" for one in row), "", ""]) for k, row in enumerate(cells, start=1)]
    frames = "\n".join([filmed.HEADER, *rows])
    folder = filmed.put_campaign(
        tmp_path / "mine", campaign=toml, filmed_rolls=frames + "\n", ground_acceleration="\n".join(gains) + "\n"
    )
    proposal = propose(read(folder, flown=False))
    told = [one for one in proposal.runs if one.column == "elapsed"]
    assert len(told) == 12
    straight = time_between_speeds(setup, seen, np.full(12, 16.0), np.full(12, 22.0))
    np.testing.assert_allclose([one.value for one in told], straight.value, rtol=1e-3)
    assert {one.kind for one in told} == {"fill"}
    put(folder, proposal)
    campaign = read(folder)
    reduced = reduce_table(campaign, campaign.tables["ground_acceleration"])
    own = {source.name: float(np.max(np.abs(size))) for source, size in reduced.contributions}
    assert "first ground speed on the display" not in own
    assert own["stopwatch"] > 0.0


def test_without_the_two_speeds_the_film_says_what_is_missing(tmp_path):
    rows = "run,clock,configuration,first ground speed [m/s],second ground speed [m/s],elapsed [s]\n1,07:10,A,,,\n"
    toml = filmed.TOML.replace("[film]", GAIN)
    folder = filmed.put_campaign(tmp_path / "mine", campaign=toml, ground_acceleration=rows)
    proposal = propose(read(folder, flown=False))
    assert any("the two ground speeds typed in" in one for one in proposal.left)


@pytest.mark.parametrize("camera", [20.0, 120.0, 240.0])
def test_the_parallax_that_is_told_is_the_largest_of_any_marker(tmp_path, camera):
    """Similar triangles: a marker 6 m beside the line is seen across it a part of its way to the camera further off."""
    toml = filmed.TOML.replace('camera = "120 m"', f'camera = "{camera:g} m"')
    film = read(filmed.put_campaign(tmp_path / "mine", campaign=toml), flown=False).film
    largest = max(abs(marker - camera) * 6 / (35 + 6) for marker in (90, 115, 140, 165))
    other = max(abs(marker - camera) * 6 / 35 for marker in (90, 115, 140, 165))
    (said,) = [one for one in assumed(film) if "parallax was taken off" in one]
    assert f"up to {largest:.1f} m" in said or f"up to {other:.1f} m" in said


def test_what_each_error_of_the_film_rests_on_is_written_beside_it(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine")
    put(folder, propose(read(folder, flown=False)))
    tables = tomllib.loads((folder / "campaign.toml").read_text(encoding="utf-8"))["instrument"]
    said = {name: entry["source"] for name, entry in tables.items()}
    assert said["start_and_end_of_the_roll"].startswith("film: 60 frames a second, lift-off within ")
    assert said["camera_and_markers_for_ground_roll"].startswith("film: markers within 0.")
    assert "camera within" in said["camera_and_markers_for_ground_roll"]


def test_a_film_that_the_campaign_does_not_describe_is_refused_at_its_place(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine", campaign=filmed.TOML.partition("[film]")[0])
    with pytest.raises(CampaignError, match=r"\[film\]: there are filmed rolls"):
        propose(read(folder, flown=False))
