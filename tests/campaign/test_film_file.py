"""Frames and settings that cannot be: one clear message each, with its place and how to mend it."""

from __future__ import annotations

import json

import film_campaign as filmed
import numpy as np
import pytest

from samesky.campaign.reading.read import read
from samesky.exchange.data_package.verify import verify
from samesky.exchange.packing import pack, unpack


def wrong(folder):
    found = [one for one in read(folder, flown=False).findings if one.file in ("filmed_rolls.csv", "campaign.toml")]
    return [one.sentence() for one in found if one.kind == "error"]


ROW = "3,10300,10700,10770,10835,10890,10810,,"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("3,10300,10700,10690,10835,10890,10810,,", "column 'marker 2': found frame 10690, expected one after"),
        ("3,10300,10700,10700,10835,10890,10810,,", "column 'marker 2': found frame 10700, expected one after"),
        ("3,10300,10700,,10835,10830,10810,,", "column 'marker 4': found frame 10830, expected one after 'marker 3'"),
        ("3,10800,10700,10770,10835,10890,10810,,", "column 'marker 1': found frame 10700, expected one after"),
        ("3,10300,10700,10770,10835,10890,10650,,", "column 'lift-off': found frame 10650, expected one after"),
        ("3,10300,,,,,10300,,", "column 'lift-off': found frame 10300, expected one after"),
        ("3,10300,about 10700,10770,10835,10890,10810,,", "column 'marker 1': found 'about 10700', which is text"),
        ("3,10300,10700,10770.5,10835,10890,10810,,", "column 'marker 2': found '10770.5', expected a whole number"),
        ("3,10300,-10700,10770,10835,10890,10810,,", "column 'marker 1': found '-10700', expected between"),
        ("3,10300,1e99,10770,10835,10890,10810,,", "column 'marker 1': found '1e99', expected between 0 and"),
        ("3,10300,10700,10770,10835,10890,10810,-3,", "column 'uncertain frames': found '-3', expected between"),
        ("3,10300,10700,10770,10835,1089000,10810,,", "column 'marker 4': from marker 3 to marker 4 it took 1.8e+04 s"),
        ("3,10300,10700,10701,10835,10890,10810,,", "column 'marker 2': from marker 1 to marker 2 it took 0.0167 s"),
        (",10300,10700,10770,10835,10890,10810,,", "column 'run': the cell is blank, expected the run"),
        ("2,10300,10700,10770,10835,10890,10810,,", "column 'run': found '2', which row 3 has already"),
        ("3,10300,10700,10770,10835,10890,10810", "the row has 7 cells, expected 9 as in the header"),
    ],
)  # fmt: skip
def test_a_row_that_cannot_be(tmp_path, row, said):
    folder = filmed.put_campaign(tmp_path / "mine", filmed_rolls=filmed.frame_file(run_3=row))
    if said.endswith("in the header"):
        folder = filmed.put_campaign(tmp_path / "other", filmed_rolls=filmed.frame_file(run_3=row + ",,,x"))
        said = "the row has 10 cells, expected 9 as in the header"
    found = wrong(folder)
    assert len(found) == 1, found
    assert found[0].startswith("filmed_rolls.csv, row 4")
    assert said in found[0]
    # and nothing is reckoned from it
    assert read(folder, flown=False).film is None


def test_the_row_itself_is_sound(tmp_path):
    assert wrong(filmed.put_campaign(tmp_path / "mine", filmed_rolls=filmed.frame_file(run_3=ROW))) == []


def settings(**changed: str) -> str:
    """The settings with entries of ``[film]`` replaced; ``""`` leaves one out."""
    lines = []
    for line in filmed.TOML.splitlines():
        name = line.partition(" = ")[0]
        text = changed.pop(name, None)
        lines += [line] if text is None else [f"{name} = {text}"] * bool(text)
    return "\n".join([*lines, *(f"{name} = {text}" for name, text in changed.items())]) + "\n"


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"frame_rate": "0"}, "frame rate: found 0, expected between 1 and 10000"),
        ({"frame_rate": "-60"}, "frame rate: found -60, expected between"),
        ({"frame_rate": '"sixty"'}, "frame rate: found 'sixty', expected a number"),
        ({"frame_rate": ""}, "frame rate: is missing. Count it on a film of a running clock"),
        ({"markers": '["90 m", "90 m", "140 m"]'}, "markers: '90 m' and '90 m' coincide; expected each 1 m or more"),
        ({"markers": '["90 m", "80 m", "140 m"]'}, "markers: '90 m' and '80 m' do not rise"),
        ({"markers": '["90 m", "90.5 m"]'}, "markers: '90 m' and '90.5 m' are too close"),
        ({"markers": '["90 m"]'}, "markers: found a list of 1, expected a list of 2 to 8 places"),
        ({"markers": '"90 m"'}, "markers: found '90 m', expected a list of 2 to 8 places"),
        ({"markers": "[90, 120]"}, "markers: found '90', expected a place with its unit"),
        ({"markers": '["90 kt", "120 kt"]'}, "markers: found '90 kt'"),
        ({"markers": '["90 m", "9e9 m"]'}, "markers: found '9e9 m', expected a place with its unit, within 5000 m"),
        ({"markers": ""}, "markers: is missing. Where do they stand"),
        ({"marker_offset": ""}, "marker offset: is missing. How far beyond"),
        ({"marker_offset": '"-35 m"'}, "marker offset: puts the markers on the camera or behind it"),
        ({"camera": ""}, "camera: is missing. Where along the strip did the camera stand"),
        ({"camera_distance": ""}, "camera distance: is missing. How far from the line"),
        ({"camera_distance": '"0 m"'}, "camera distance: found '0 m', expected between 0.5 and 2000 m"),
        ({"line_tolerance": '"40 m"'}, "camera distance: 35 m is no more than the tolerances"),
        ({"readout": '"20 s"'}, "readout: found '20 s', expected between 0 and 0.2 s"),
        ({"lift_off_tolerance": "-1"}, "lift off tolerance: found -1, expected between"),
        ({"framerate": "50", "frame_rate": ""}, "framerate: is no entry that is known here. Did you mean 'frame_rate'"),
    ],
)
def test_a_setting_that_cannot_be(tmp_path, changed, said):
    folder = filmed.put_campaign(tmp_path / "mine", campaign=settings(**changed))
    found = wrong(folder)
    assert len(found) == 1, found
    assert found[0].startswith("campaign.toml, line ")
    assert "[film] " + said in found[0]


def test_frames_without_a_word_on_how_they_were_filmed(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine", campaign=filmed.TOML.replace(filmed.FILM, ""))
    assert wrong(folder) == [
        "campaign.toml, [film]: there are filmed rolls; how they were filmed is not said. Give frame_rate, markers, "
        "marker_offset, camera and camera_distance."
    ]


def test_a_marker_more_than_there_are_places(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine", campaign=settings(markers='["90 m", "115 m", "140 m"]'))
    found = wrong(folder)
    assert len(found) == 1
    assert "row 2, column 'marker 4': a passage is written at marker 4, and [film] markers has 3 places" in found[0]


def test_a_measure_may_not_have_the_name_of_the_film(tmp_path):
    asked = '[measure.filmed_rolls]\nunit = "m"\nbetter = "smaller"\nsmallest_difference_that_matters = "1 m"\n'
    folder = filmed.put_campaign(tmp_path / "mine", campaign=filmed.TOML + asked)
    assert any("holds the frames of filmed rolls, and no measure" in one for one in wrong(folder))


def test_the_name_of_the_file_may_be_spelled_as_people_do(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine")
    (folder / "filmed_rolls.csv").rename(folder / "Filmed Rolls.CSV")
    assert read(folder, flown=False).film.file == "Filmed Rolls.CSV"
    assert not [one for one in read(folder, flown=False).findings if one.file == "Filmed Rolls.CSV"]


def test_hardly_believable_acceleration_is_a_doubt(tmp_path):
    frames = filmed.frame_file(run_3="3,10300,10700,10770,10775,10890,10772,,")
    folder = filmed.put_campaign(tmp_path / "mine", filmed_rolls=frames)
    found = read(folder, flown=False).findings
    assert any("which no roll has" in one.message or "m/s; expected" in one.message for one in found)


def test_a_package_describes_it_and_a_workbook_carries_it(tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine")
    pack(folder, tmp_path / "package")
    assert verify(tmp_path / "package") == []
    described = json.loads((tmp_path / "package" / "datapackage.json").read_text(encoding="utf-8"))
    [resource] = [one for one in described["resources"] if one["path"] == "filmed_rolls.csv"]
    assert resource["title"] == "filmed rolls"
    fields = {one["name"]: one for one in resource["schema"]["fields"]}
    assert (fields["marker 2"]["type"], fields["marker 2"]["unit"]) == ("number", "1")
    assert "in line with marker 2" in fields["marker 2"]["description"]
    pack(folder, tmp_path / "mine.xlsx")
    unpack(tmp_path / "mine.xlsx", tmp_path / "back")
    first, second = read(folder, flown=False).film, read(tmp_path / "back", flown=False).film
    assert first.runs == second.runs
    np.testing.assert_array_equal(first.frames.passages, second.frames.passages)
    np.testing.assert_array_equal(first.setup.markers, second.setup.markers)
