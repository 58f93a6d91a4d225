"""The verb for a film: begins a table, shows first, writes when told, refuses in one message."""

from __future__ import annotations

import film_campaign as filmed
import pytest


def texts(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.suffix != ".html"}


def test_from_nothing_to_a_sound_campaign(run, tmp_path):
    folder = filmed.put_campaign(tmp_path / "mine", filmed_rolls="")
    code, _, complaint = run("film", folder)
    assert code == 2
    assert "filmed_rolls.csv: no filmed roll is written down. Begin its table: samesky film DIR --begin" in complaint
    code, said, _ = run("film", folder, "--begin")
    assert code == 0
    # who stands where comes before anything is filmed
    assert "never in line with a propeller" in said
    assert "ahead of a roll" in said
    code, _, complaint = run("film", folder, "--begin")
    assert code == 2
    assert "is there already" in complaint
    (folder / "filmed_rolls.csv").write_text(filmed.frame_file(), encoding="utf-8")
    before = texts(folder)
    code, said, _ = run("film", folder)
    assert code == 0
    assert "takeoff_roll.csv, row 2, run 1: ground roll 13" in said
    assert " ± " in said
    assert "parallax was taken off" in said
    assert "start and end of the roll: " in said
    assert "Nothing was written. The same with --write fills 12 cells." in said
    assert texts(folder) == before
    page = (folder / "film.html").read_text(encoding="utf-8")
    assert "never in line with a propeller" in page
    assert page.count("<img") == 1
    code, said, _ = run("film", folder, "--write", "--out", tmp_path / "elsewhere.html")
    assert code == 0
    assert "Wrote " in said
    assert (tmp_path / "elsewhere.html").is_file()
    code, said, complaint = run("check", folder)
    assert code == 0, complaint
    code, said, _ = run("film", folder, "--write")
    assert code == 0
    assert "Nothing to fill in." in said


def test_it_is_named_in_the_help_and_in_a_fresh_campaign(run, tmp_path):
    assert "film" in run("--help")[1]
    run("new", tmp_path / "fresh")
    assert "# [film]" in (tmp_path / "fresh" / "campaign.toml").read_text(encoding="utf-8")
    assert "filmed_rolls.csv" in (tmp_path / "fresh" / "README.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("files", "said"),
    [
        ({"filmed_rolls": filmed.frame_file(run_3="3,,10700,10690,,,,,")}, "column 'marker 2': found frame"),
        ({"filmed_rolls": "frames,of,nothing\n1,2,3\n"}, "none of the columns is known"),
        ({"filmed_rolls": "\x00\x01"}, "filmed_rolls.csv"),
        ({"campaign": filmed.TOML.replace("frame_rate = 60", "frame_rate = 0")}, "[film] frame rate: found 0"),
        ({"campaign": filmed.TOML.replace(filmed.FILM, "")}, "how they were filmed is not said"),
        (
            {"campaign": filmed.TOML.replace("[measure.takeoff_roll]", "[measure.static_pull]")},
            "asks for nothing that a film of rolls can give",
        ),
    ],
)  # fmt: skip
def test_bad_input_is_one_message_and_changes_nothing(run, tmp_path, files, said):
    folder = filmed.put_campaign(tmp_path / "mine", **files)
    before = texts(folder)
    code, out, complaint = run("film", folder, "--write")
    assert code == 2
    assert said in complaint
    assert len(complaint.strip().splitlines()) == 1
    assert "Traceback" not in out + complaint
    assert texts(folder) == before
    assert not (folder / "film.html").exists()


def test_check_knows_the_file(run, tmp_path):
    folder = filmed.put_campaign(
        tmp_path / "mine", filmed_rolls=filmed.frame_file(run_3="3,,10700,10690,,,,,"),
        takeoff_roll=filmed.roll_file({k: "130" for k in range(1, 13)}),
    )  # fmt: skip
    code, _, complaint = run("check", folder)
    assert code == 2
    assert "filmed_rolls.csv, row 4, column 'marker 2'" in complaint
