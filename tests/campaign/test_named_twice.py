"""Two files of one measure, and entries of a configuration that nobody reads: named, never passed over in silence."""

from __future__ import annotations

import pytest
from sound_campaign import ROLL, TOML

from samesky.campaign.reading.read import read


def named(folder, *words):
    return [one for one in read(folder).findings if all(word in one.sentence() for word in words)]


@pytest.mark.parametrize("twin", ["takeoff roll.csv", "Takeoff_Roll.CSV", "takeoff  roll.csv"])
def test_two_files_that_read_as_one_measure_are_an_error_that_names_both(sound, twin):
    folder = sound()
    (folder / twin).write_text(ROLL, encoding="utf-8")
    found = named(folder, twin.replace("  ", " "), "takeoff_roll.csv")
    assert [one.kind for one in found] == ["error"]


def test_two_files_of_the_same_calibration_are_an_error(sound):
    folder = sound()
    for name in ("position_error.csv", "position error.csv"):
        (folder / name).write_text("run\n", encoding="utf-8")
    assert any(one.kind == "error" for one in named(folder, "position_error.csv", "position error.csv"))


def spoilt(sound, entry):
    return sound(campaign__toml=TOML.replace('label = "fine pitch"\n', f'label = "fine pitch"\n{entry}\n'))


@pytest.mark.parametrize("entry", ['mass = "11 kg"', 'wt = "11 kg"', 'gewicht = "11 kg"', "Masse = 11"])
def test_what_looks_like_a_weight_under_another_name_is_warned_of_by_name(sound, entry):
    folder = sound(campaign__toml=TOML.replace('weight = "10.3 kg"\n', f"{entry}\n"))
    (found,) = named(folder, "Did you mean 'weight'?")
    assert (found.kind, found.file) == ("warning", "campaign.toml")
    assert entry.partition(" ")[0].casefold() in found.sentence().casefold()
    assert found.row


def test_an_entry_that_nobody_knows_is_warned_of_and_kept(sound):
    folder = spoilt(sound, 'frobnication = "some"')
    (found,) = named(folder, "frobnication")
    assert found.kind == "warning"
    assert "weight" in found.mend
    assert read(folder).configurations["B"].details["frobnication"] == "some"


@pytest.mark.parametrize(
    "entry",
    [
        'blades = "3"',
        'pitch_setting = "16 deg"',
        "hours = 120",
        'colour = "white"',
        'tyre_pressure = "2 bar"',
        'notes = "x"',
    ],
)
def test_details_on_the_list_stay_details_without_a_word(sound, entry):
    assert not named(spoilt(sound, entry), "configuration.B")


def test_a_weight_that_is_there_is_not_offered_again(sound):
    folder = spoilt(sound, 'mass = "11 kg"')
    (found,) = named(folder, "mass")
    assert "Did you mean" not in found.sentence()
