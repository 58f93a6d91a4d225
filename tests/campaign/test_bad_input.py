"""Everything a person can do to a campaign folder: one clear message, or it works where one would expect it to.

Each case spoils the sound campaign in one way. ``says`` are pieces of the one sentence that has to come: where (file,
row, column), what was found, what was expected, how to mend it.
"""

from __future__ import annotations

import os

import pytest
from sound_campaign import CLIMB, ROLL, TOML

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.sentences import Said
from samesky.campaign.reading.read import read
from samesky.campaign.tables import delimited, source_text
from samesky.checks.check import check


def roll(old: str, new: str, count: int = 1) -> dict[str, str]:
    assert old in ROLL
    return {"takeoff_roll__csv": ROLL.replace(old, new, count)}


def toml(old: str, new: str, **more) -> dict[str, str]:
    assert old in TOML
    return {"campaign__toml": TOML.replace(old, new, 1), **more}


def semicolons(text: str, decimal: str = ",") -> str:
    return text.replace(",", ";").replace(".", decimal)


def with_column(text: str, name: str, cells: list[str]) -> str:
    """The table with one more column, before the others."""
    lines = text.strip().split("\n")
    return "\n".join(f"{cell},{line}" for cell, line in zip([name, *cells], lines, strict=True)) + "\n"


LEVEL = """\
run,date,clock,configuration,oat [°C],altitude [ft],speed 1 [kt],track 1 [deg],speed 2 [kt],track 2 [deg],speed 3 [kt],\
track 3 [deg]
1,2025-06-14,11:00,A,9,2000,105,100,95,280,,
2,2025-06-14,11:30,B,9,2000,106,100,94,280,100,10
"""

# Columns of the sound roll: run, date, clock, configuration, oat, qnh, fuel, headwind, lift-off airspeed, ground roll …
ERRORS = {
    # -- the file as a whole
    "empty file": ({"takeoff_roll__csv": ""}, ["takeoff_roll.csv: the file is empty", "run, date, clock"]),
    "blank lines only": ({"takeoff_roll__csv": "\r\n\r\n ,, \n"}, ["takeoff_roll.csv: the file is empty"]),
    "a workbook under the name of a csv": (
        {"takeoff_roll__csv": b"PK\x03\x04\x14\x00\x06\x00\x08\x00\x00\x00!\x00"},
        ["takeoff_roll.csv: the file is not text", "save as CSV"],
    ),
    "bytes of no encoding": ({"takeoff_roll__csv": b"run,date\n1,\x81\x8d\x8f\n"}, ["the file is not text"]),
    "a quotation mark without its partner": (
        roll("gusty", '"gusty'),
        ["takeoff_roll.csv, row 5: the row cannot be taken apart", "quotation mark"],
    ),
    "no header": (
        {"timed_climb__csv": CLIMB.partition("\n")[2]},
        ["timed_climb.csv, row 1: none of the columns is known", "the first row names the columns"],
    ),
    "a file that nobody asked for": (
        {"takeoff_rol__csv": ROLL},
        ["takeoff_rol.csv: the file has runs, but campaign.toml has no [measure]", "Did you mean takeoff_roll.csv?"],
    ),
    # -- the header
    "a missing column": (
        roll("ground roll [ft]", "distance gone [ft]"),
        ["takeoff_roll.csv, row 1, column 'ground roll': the column is missing", "Add a column ground roll [m]"],
    ),
    "a missing column that is misspelt": (
        roll("ground roll [ft]", "grond roll [ft]"),
        ["row 1, column 'ground roll': the column is missing. Rename 'grond roll' to it."],
    ),
    "no clock": (roll(",clock,", ",hours o'clock,"), ["column 'clock': the column is missing"]),
    "a column twice": (
        roll("qnh [hPa]", "oat [°F]"),
        ["row 1, column 'oat': the column stands here twice, as columns 5 and 6", "Keep one"],
    ),
    "a unit that does not fit": (
        roll("ground roll [ft]", "ground roll [kt]"),
        ["row 1, column 'ground roll': found the unit 'kt'", "measures speed", "such as ground roll [m]"],
    ),
    "an unknown unit": (
        roll("ground roll [ft]", "ground roll [fathmos]"),
        ["row 1, column 'ground roll': found the unit 'fathmos'", "not known", "such as ground roll [m]"],
    ),
    "no unit": (
        roll("headwind [kt]", "headwind"),
        ["row 1, column 'headwind': the column has no unit. Write it into the header: headwind [kt]"],
    ),
    "brackets that do not close": (roll("headwind [kt]", "headwind [kt"), ["row 1", "headwind [kt", "name [unit]"]),
    "a column without a name": (
        roll("exclude,notes", "exclude,"),
        ["row 1: column 12 has cells but no name"],
    ),
    # -- the cells
    "text in a number": (
        roll("60,3.0", "60,calm"),
        ["takeoff_roll.csv, row 2, column 'headwind': found 'calm'", "expected a number in kt", "leave the cell blank"],
    ),
    "a unit in a number": (
        roll("44,412", "44,412 ft"),
        ["row 2, column 'ground roll': found '412 ft'", "unit stands in the header, 'ground roll [ft]'"],
    ),
    "NaN": (roll("44,412", "44,NaN"), ["row 2, column 'ground roll': found 'NaN'", "Leave the cell blank"]),
    "infinity": (roll("44,412", "44,inf"), ["row 2, column 'ground roll': found 'inf'", "Leave the cell blank"]),
    "too large for a number": (roll("44,412", "44,1e999"), ["row 2, column 'ground roll': found '1e999'"]),
    "a decimal comma between commas": (
        roll("60,3.0", "60,3,0"),
        ["takeoff_roll.csv, row 2: the row has 13 cells, expected 12", "write 12.5 for 12,5"],
    ),
    "a decimal comma in quotation marks between commas": (
        roll("60,3.0", '60,"3,0"'),
        ["row 2, column 'headwind': found '3,0'", "decimal comma", "Write 3.0, or save the file with semicolons"],
    ),
    "a comma that may mark thousands": (
        roll("44,412", '44,"1,412"'),
        ["row 2, column 'ground roll': found '1,412', which may mark thousands or decimals", "Write 1412 or 1.412."],
    ),
    "a comma and a point": (
        {"takeoff_roll__csv": semicolons(ROLL, ".").replace("412", "1,412.5")},
        ["row 2, column 'ground roll': found '1,412.5'", "both a comma and a point", "1234.5"],
    ),
    "too many cells": (
        {"takeoff_roll__csv": semicolons(ROLL).replace("gusty", "gusty;very")},
        ["row 5: the row has 13 cells, expected 12", "separator inside a note"],
    ),
    "too few cells": (roll("60,3.0,44,412,,", "60,3.0"), ["row 2: the row has 8 cells, expected 12"]),
    "beyond belief": (
        roll("1015", "29.97"),
        ["row 2, column 'qnh': found '29.97' in hPa, expected between 920 and 1080 hPa", "the unit in the header"],
    ),
    "a blank in a needed column": (
        roll("44,412", "44,"),
        ["row 2, column 'ground roll': the cell is blank", "expected a number in ft", "exclude"],
    ),
    "a blank in a column that others fill": (
        roll("60,3.0", "60,"),
        [
            "row 2, column 'headwind': the cell is blank",
            "other rows have a reading",
            "'exclude'",
            "empty the whole column",
        ],
    ),
    "a wrong configuration label": (
        roll("08:00,B", "08:00,C"),
        ["row 4, column 'configuration': found 'C', expected 'A' or 'B'", "campaign.toml"],
    ),
    "a label for the key": (
        roll("08:00,B", "08:00,fine pitch"),
        ["row 4, column 'configuration': found 'fine pitch'", "Did you mean 'B' (fine pitch)?"],
    ),
    "no configuration": (roll("08:00,B", "08:00,"), ["row 4, column 'configuration': the cell is blank"]),
    "a run exactly repeated": (
        roll("4,2025-06-14,08:10", "3b,2025-06-14,08:00,B,13.0,1015,55,2.0,44,398,,\n4,2025-06-14,08:10"),
        ["takeoff_roll.csv, row 5: the row repeats row 4", "Delete the copy"],
    ),
    "a run repeated with its name": (
        roll("4,2025-06-14,08:10", "3,2025-06-14,08:00,B,13.0,1015,55,2.0,44,398,,\n4,2025-06-14,08:10"),
        ["row 5: the row repeats row 4"],
    ),
    "a name twice": (roll("\n4,2025", "\n3,2025"), ["row 5, column 'run': run '3' stands in row 4 too"]),
    "a date that goes back": (
        roll("4,2025-06-14", "4,2025-06-13"),
        ["row 5, column 'date': the date goes back: 2025-06-13 after 2025-06-14", "order flown"],
    ),
    "a clock that goes back": (
        roll("08:10", "07:10"),
        ["row 5, column 'clock': the clock goes back: 07:10 after 08:00", "runs after midnight"],
    ),
    "a date that reads two ways": (
        roll("1,2025-06-14", "1,06/05/2025"),
        ["row 2, column 'date': found '06/05/2025'", "year-month-day"],
    ),
    "no day of the calendar": (
        roll("1,2025-06-14", "1,2025-06-31"),
        ["row 2, column 'date'", "no day of the calendar"],
    ),
    "a year with its figures turned round, before all flying": (
        roll("1,2025-06-14", "1,0205-06-14"),
        ["row 2, column 'date': found '0205-06-14'", "outside the years 1930 to 2100", "Correct the year"],
    ),
    "a year of the next century": (
        roll("9,2025-06-14", "9,2205-06-14"),
        ["row 10, column 'date': found '2205-06-14'", "outside the years 1930 to 2100"],
    ),
    "a year before all flying in the campaign file": (
        toml("baseline", "date = 0205-06-14\nbaseline"),
        ["campaign.toml, line 3, date: found '0205-06-14'", "outside the years 1930 to 2100"],
    ),
    "no clock time": (roll("07:00", "7 ish"), ["row 2, column 'clock': found '7 ish'", "such as 09:05"]),
    "the 25th hour": (roll("10:10", "25:10"), ["row 10, column 'clock': found '25:10'"]),
    "a no where a reason belongs": (
        roll("44,412,,", "44,412,no,"),
        ["row 2, column 'exclude': found 'no', expected a reason", "Empty the cell"],
    ),
    "an unknown runway": (
        {"takeoff_roll__csv": with_column(ROLL, "runway", ["09", "09", "90", *["09"] * 6])},
        ["row 4, column 'runway': found '90', expected '09'", "[runway.NAME]"],
    ),
    "a row that has lost a cell": (
        roll("60,3.0,44,412,,", "60,44,412,,"),
        ["row 2: the row has 11 cells, expected 12", "Keep the separators"],
    ),
    # -- readings that contradict each other
    "a dew point above the temperature": (
        {"takeoff_roll__csv": with_column(ROLL, "dew point [°F]", ["70", *["50"] * 8])},
        ["row 2, column 'dew point': the dew point (70 °F) is above oat (12.0 °C)"],
    ),
    "half a leg": (
        toml(
            "[measure.timed_climb]",
            "[measure.level_speed]",
            timed_climb__csv=None,
            level_speed__csv=LEVEL.replace(",95,280", ",95,", 1),
        )
        | {"campaign__toml": TOML.replace("timed_climb", "level_speed").replace("20 ft/min", "2 kt")},
        [
            "level_speed.csv, row 2, column 'track 2': leg 2 has a speed and no track",
            "Fill in track 2, or empty speed 2",
        ],
    ),
    "a climb upside down": (
        {"timed_climb__csv": CLIMB.replace("1000,2000,62.1", "2000,1000,62.1")},
        ["timed_climb.csv, row 2: run 1: the readings give no rate of climb (at the step 'as flown')"],
    ),
    "a headwind above the lift-off airspeed": (
        roll("60,3.0", "60,50") | {"campaign__toml": TOML.replace('headwind = "8 kt"\n', "")},
        ["takeoff_roll.csv, row 2: run 1: the readings give no ground roll", "'wind'", "contradicts the others"],
    ),
    # -- installations
    "an installation with two configurations": (
        {"takeoff_roll__csv": None, "timed_climb__csv": with_column(CLIMB, "installation", ["1", "1", "2", "3"])},
        ["timed_climb.csv, row 3, column 'installation': fitting 1 has configuration A before and B here"],
    ),
    "an installation that goes back": (
        {"takeoff_roll__csv": None, "timed_climb__csv": with_column(CLIMB, "installation", ["2", "1", "3", "4"])},
        ["row 3, column 'installation': fitting 1 comes after 2"],
    ),
    "installations in one file alone": (
        {"timed_climb__csv": with_column(CLIMB, "installation", ["1", "2", "3", "4"])},
        ["takeoff_roll.csv, column 'installation': the column is missing, while timed_climb.csv has it"],
    ),
    # -- the whole
    "one configuration only": (
        {"takeoff_roll__csv": ROLL.replace(",B,", ",A,"), "timed_climb__csv": None},
        ["takeoff_roll.csv: all 8 runs that count are of configuration A", "Fly B too"],
    ),
    "one run only": (
        {"takeoff_roll__csv": "\n".join(ROLL.split("\n")[:2]), "timed_climb__csv": None},
        ["takeoff_roll.csv: the only run that counts is of configuration A", "Fly B too"],
    ),
    "every run left out": (
        {
            "takeoff_roll__csv": "\n".join(
                line.rpartition(",")[0].rpartition(",")[0] + ",rain," if line[:1].isdigit() else line
                for line in ROLL.split("\n")
            ),
            "timed_climb__csv": None,
        },
        ["takeoff_roll.csv: every run is left out"],
    ),
    "header only": (
        {"takeoff_roll__csv": ROLL.partition("\n")[0] + "\n", "timed_climb__csv": None},
        ["nothing flown yet", "takeoff_roll.csv"],
    ),
    "heavier than allowed": (
        toml('"85 kg"', '"195 kg"', timed_climb__csv=None),
        [
            "takeoff_roll.csv, row 2, column 'fuel'",
            "weighs up to 568.2 kg, more than its maximum of 560.0 kg",
            "papers",
        ],
    ),
    # -- campaign.toml
    "a measure without its smallest difference": (
        toml('primary = true\nsmallest_difference_that_matters = "5 %"', "primary = true"),
        ["campaign.toml, line 50, [measure.takeoff_roll] smallest difference that matters: is missing", '= "5 %"'],
    ),
    "a smallest difference without a unit": (
        toml('"20 ft/min"', "20"),
        ["line 55, [measure.timed_climb] smallest difference that matters: found '20'", "with its unit"],
    ),
    "a smallest difference of the wrong kind": (
        toml('"20 ft/min"', '"20 kg"'),
        ["[measure.timed_climb] smallest difference that matters: found '20 kg'", "measures mass"],
    ),
    "a smallest difference of nothing": (toml('"20 ft/min"', '"0 ft/min"'), ["expected a difference above zero"]),
    "a smallest difference as large as the result": (
        toml('smallest_difference_that_matters = "5 %"', 'smallest_difference_that_matters = "400 ft"'),
        [
            "[measure.takeoff_roll] smallest difference that matters: found '400 ft'",
            "itself is as little as",
            "such as",
        ],
    ),
    "an error in the one table that was flown": (
        {
            "campaign__toml": TOML.replace(
                '[measure.timed_climb]\nsmallest_difference_that_matters = "20 ft/min"\n', ""
            )
            .replace("timed_climb = 1\n", "")
            .replace('"5 %"', "5"),
            "timed_climb__csv": None,
        },
        ["[measure.takeoff_roll] smallest difference that matters: found '5'", "with its unit"],
    ),
    "no primary": (toml("primary = true\n", ""), ["no measure is primary", "takeoff_roll and timed_climb"]),
    "two primaries": (
        toml("[measure.timed_climb]\n", "[measure.timed_climb]\nprimary = true\n"),
        ["takeoff_roll and timed_climb are all primary, expected one"],
    ),
    "primary as text": (toml("primary = true", 'primary = "yes"'), ["primary: found 'yes', expected true or false"]),
    "a free measure without unit and direction": (
        toml("[measure.timed_climb]", "[measure.timed_clim]", timed_climb__csv=None),
        ["[measure.timed_clim]", "lacks unit and better", "Did you mean [measure.timed_climb]?"],
    ),
    "an unknown entry": (
        toml("empty_weight", "emtpy_weight"),
        ["[aeroplane] emtpy weight: is no entry that is known here. Did you mean 'empty_weight'?"],
    ),
    "an unknown table": (
        toml("[engine]", "[motor]"),
        ["campaign.toml, line 37, motor", "is no table that is known here"],
    ),
    "a misspelt entry of a configuration": (
        toml('label = "fine pitch"', 'labl = "fine pitch"'),
        ["[configuration.B] labl: is no entry that is known here. Did you mean 'label'?"],
    ),
    "a number without a unit": (
        toml('"560 kg"', "560"),
        ["line 25, [aeroplane] maximum weight: found '560', expected a mass with its unit", '= "560 kg"'],
    ),
    "a number in the wrong unit": (toml('"560 kg"', '"560 kt"'), ["[aeroplane] maximum weight: found '560 kt'"]),
    "a number beyond belief": (
        toml('"300 ft"', '"300 km"'),
        ["[runway.09] elevation: found '300 km', expected between -0.5 and 6 km"],
    ),
    "limits turned round": (toml('["40 kt", "48 kt"]', '["48 kt", "40 kt"]'), ["the lowest is above the highest"]),
    "an envelope turned round": (toml('"1.60 m"', '"2.60 m"'), ["[aeroplane] cg forward: is behind the aft limit"]),
    "a limit on nothing": (toml('headwind = "8 kt"', 'headwnd = "8 kt"'), ["[limits] headwnd", "'headwind'"]),
    "one configuration described": (
        toml(
            TOML[TOML.index("[configuration.B]") : TOML.index("[swap]")],
            "",
            takeoff_roll__csv=None,
            timed_climb__csv=CLIMB.replace(",B,", ",A,"),
        ),
        ["only [configuration.A] is described, expected two or more"],
    ),
    "an unknown baseline": (toml('baseline = "A"', 'baseline = "C"'), ["baseline: found 'C'", "Write one of A, B"]),
    "a weight for one part alone": (
        toml('weight = "10.3 kg"\n', ""),
        ["[configuration.B]", "has no weight, while [configuration.A] has one"],
    ),
    "an entry without a name of its table": (
        toml("[runway.09]", "[runway]"),
        ["line 45, [runway] elevation: and 3 more stand in a table without a name. Begin", "with [runway.NAME]."],
    ),
    "an unknown kind of swap": (toml('"refit"', '"quick"'), ["[swap] kind: found 'quick', expected 'refit' or 'free'"]),
    "a negative swap": (toml('"30 min"', '"-30 min"'), ["[swap] time: found '-30 min'"]),
    "a mission for nothing": (toml("timed_climb = 1", "timed_clim = 1"), ["[mission.short_strip]", "'timed_climb'"]),
    "a mission with a negative weight": (toml("timed_climb = 1", "timed_climb = -1"), ["expected at least 0"]),
    "a gear ratio in words": (toml("2.31", '"two"'), ["[engine] gear ratio: found 'two', expected a number"]),
    "a number too large for a float": (toml("2.31", "1" + "0" * 400), ["[engine] gear ratio: found '1000", "a number"]),
    "an instrument without a size": (
        toml("[limits]", '[instrument.lasso]\ntarget = "ground roll"\n[limits]'),
        ["[instrument.lasso]", "how large the error is"],
    ),
    "an instrument that disturbs nothing": (
        toml("[limits]", '[instrument.lasso]\ntarget = "grnd roll"\ntolerance = "3 ft"\n[limits]'),
        ["[instrument.lasso] target: found 'grnd roll'", "Did you mean 'ground roll'?"],
    ),
    "an instrument of a scope unheard of": (
        toml("[limits]", '[instrument.lasso]\ntarget = "ground roll"\ntolerance = "3 ft"\nscope = "runs"\n[limits]'),
        ["[instrument.lasso] scope: found 'runs'", "Did you mean 'run'?"],
    ),
    "an instrument in the wrong unit": (
        toml("[limits]", '[instrument.lasso]\ntarget = "ground roll"\ntolerance = "3 kt"\n[limits]'),
        ["[instrument.lasso] tolerance: found '3 kt'", "measures speed"],
    ),
}


@pytest.mark.parametrize("case", ERRORS)
def test_one_clear_error(case, sound):
    files, says = ERRORS[case]
    errors = [finding for finding in check(read(sound(**files))) if finding.kind == "error"]
    sentences = [finding.sentence() for finding in errors]
    assert len(sentences) == 1, sentences
    for piece in says:
        assert piece in sentences[0]
    assert errors[0].mend


NO_CAMPAIGN = {
    "no campaign.toml": ({"campaign__toml": None}, ["is no campaign: there is no campaign.toml in it", "samesky new"]),
    "a value without quotation marks": (
        toml('time = "30 min"', "time = 30 min"),
        ["campaign.toml, line 20: the line cannot be read", "time = 30 min", "go in quotes"],
    ),
    "a table twice": (toml("[configuration.B]", "[configuration.A]"), ["campaign.toml, line 12", "stands once"]),
    "an entry twice": (toml('label = "fine pitch"', 'label = "a"\nlabel = "b"'), ["campaign.toml, line 14"]),
    "a binary campaign.toml": ({"campaign__toml": b"\x00\x01\x02"}, ["campaign.toml: the file is not text"]),
    "a table that never closes": ({"campaign__toml": "[swap"}, ["campaign.toml, line 1"]),
}


@pytest.mark.parametrize("case", NO_CAMPAIGN)
def test_nothing_to_read(case, sound):
    files, says = NO_CAMPAIGN[case]
    folder = sound(**files)
    with pytest.raises(CampaignError) as raised:
        read(folder)
    for piece in says:
        assert piece in str(raised.value)


def test_no_such_folder_and_a_file_for_a_folder(tmp_path):
    with pytest.raises(CampaignError, match="there is no such folder"):
        read(tmp_path / "nowhere")
    with pytest.raises(CampaignError, match="there is no such folder"):
        read(tmp_path / ("x" * 300))
    (tmp_path / "file").write_text("x")
    with pytest.raises(CampaignError, match="is a file, expected the folder of a campaign"):
        read(tmp_path / "file")


WARNINGS = {
    "an unknown column": (
        roll("headwind [kt]", "headwnd [kt]"),
        ["takeoff_roll.csv, row 1, column 'headwnd'", "not used", "Did you mean 'headwind'?"],
    ),
    "Windows western text": (
        {"takeoff_roll__csv": ROLL.encode("cp1252")},
        ["takeoff_roll.csv, row 1: the file is not UTF-8", "cp1252"],
    ),
    "an exclusion without a reason": (
        roll("baulked by a dog", "x"),
        ["row 7, column 'exclude': found 'x'", "Write why"],
    ),
    "a measure without its file": (
        {"timed_climb__csv": None},
        ["campaign.toml, [measure.timed_climb]: there is no file timed_climb.csv", "or delete the table"],
    ),
    "a measure not flown yet": (
        {"timed_climb__csv": CLIMB.partition("\n")[0]},
        ["timed_climb.csv: nothing flown yet: there is a header and no run"],
    ),
    "a part of other weight without its arm": (
        toml('weight = "10.3 kg"\narm = "-0.90 m"', 'weight = "10.3 kg"'),
        ["[configuration.B]: has no arm, while the parts differ in weight"],
    ),
    "wind above the campaign's own limit": (
        roll("60,3.0", "60,8.5"),
        ["row 2, column 'headwind': run 1: headwind above the campaign's own limit of 8.00 kt (furthest 8.50 kt)"],
    ),
    "a tailwind": (roll("60,3.0", "60,-2"), ["run 1: tailwind above the campaign's own limit of 1.00 kt"]),
    "lift-off too slow": (
        roll("3.0,44,", "3.0,39,"),
        ["run 1: lift-off airspeed below the campaign's own limit of 40.0 kt (furthest 39.0 kt)"],
    ),
    "fuel that rises": (
        {"takeoff_roll__csv": ROLL.replace("1015,58", "1015,62"), "timed_climb__csv": CLIMB},
        ["takeoff_roll.csv, row 3, column 'fuel': fuel rises from run 1 to run 2: refuelled?", "notes"],
    ),
    "an engine above its limit": (
        {"timed_climb__csv": CLIMB.replace("5350", "5850")},
        ["timed_climb.csv, row 3, column 'rpm': run 2: engine speed above the limit of 5800 rpm (highest 5850 rpm)"],
    ),
    "balanced outside the envelope": (
        toml('cg_aft = "2.05 m"', 'cg_aft = "1.80 m"', timed_climb__csv=None),
        ["centre of gravity at", "outside 1.600 to 1.800 m aft of the datum", "the approved envelope decides"],
    ),
    "one run of a configuration": (
        {"takeoff_roll__csv": "\n".join(ROLL.split("\n")[:4]) + "\n", "timed_climb__csv": CLIMB},
        ["takeoff_roll.csv: there is one run only of B: its scatter cannot be seen"],
    ),
    "unequal effort": (
        {"takeoff_roll__csv": ROLL.replace("08:10,B", "08:10,A").replace("10:10,B", "10:10,A")},
        ["takeoff_roll.csv: the effort is unequal: 6 of A and 2 of B that count"],
    ),
    "a year with its figures turned round on the last day": (
        {"takeoff_roll__csv": ROLL.replace("9,2025-06-14", "9,2052-06-14")},
        [
            "takeoff_roll.csv, row 10, column 'date': the date 2052-06-14 comes 27 years after 2025-06-14",
            "Correct the year",
        ],
    ),
    "one file in another year": (
        {"timed_climb__csv": CLIMB.replace("2025", "2022")},
        ["takeoff_roll.csv, row 2, column 'date': the date 2025-06-14 comes 3 years after 2022-06-14"],
    ),
    "one day of a year that is not likely": (
        {"takeoff_roll__csv": ROLL.replace("2025", "2052"), "timed_climb__csv": CLIMB.replace("2025", "2052")},
        ["takeoff_roll.csv, row 2, column 'date': the date 2052-06-14 is outside the years 1980 to 2050"],
    ),
    "a swap quicker than possible": (
        roll("08:00", "07:15"),
        ["takeoff_roll.csv, row 4, column 'clock': run 3 (B) begins 5 min after run 2", "a swap takes 30 min"],
    ),
}


@pytest.mark.parametrize("case", WARNINGS)
def test_one_clear_doubt(case, sound):
    files, says = WARNINGS[case]
    sound_doubts = {finding.sentence() for finding in check(read(sound()))}
    findings = check(read(sound(**files)))
    assert not [finding.sentence() for finding in findings if finding.kind == "error"]
    sentences = [finding.sentence() for finding in findings]
    fitting = [sentence for sentence in sentences if all(piece in sentence for piece in says)]
    assert len(fitting) == 1, sentences
    assert fitting[0] not in sound_doubts


def test_days_of_flying_less_than_two_years_apart_give_no_doubt(sound):
    text = ROLL.replace("8,2025-06-14", "8,2027-05-14").replace("9,2025-06-14", "9,2027-05-14")
    findings = check(read(sound(takeoff_roll__csv=text)))
    assert not [finding.sentence() for finding in findings if finding.column == "date"]


def test_the_sound_campaign_gives_no_finding(sound):
    assert [finding.sentence() for finding in check(read(sound()))] == []


#: Spellings of the same campaign that a person expects to work, and that must read to the same numbers.
WORKS = {
    "a byte-order mark": {
        "takeoff_roll__csv": b"\xef\xbb\xbf" + ROLL.encode(),
        "campaign__toml": b"\xef\xbb\xbf" + TOML.encode(),
    },
    "Windows line ends": {
        "takeoff_roll__csv": ROLL.replace("\n", "\r\n"),
        "campaign__toml": TOML.replace("\n", "\r\n"),
    },
    "old line ends": {"takeoff_roll__csv": ROLL.replace("\n", "\r")},
    "UTF-16 as some spreadsheets write it": {"takeoff_roll__csv": ROLL.replace(",", "\t").encode("utf-16")},
    "semicolons": {"takeoff_roll__csv": semicolons(ROLL, ".")},
    "semicolons and decimal commas": {"takeoff_roll__csv": semicolons(ROLL)},
    "tabs": {"takeoff_roll__csv": ROLL.replace(",", "\t")},
    "tabs and decimal commas": {"takeoff_roll__csv": ROLL.replace(",", "\t").replace(".", ",")},
    "capitals and underscores": {
        "takeoff_roll__csv": ROLL.replace("ground roll", "Ground_Roll").replace("run,date", "Run,DATE")
    },
    "blank lines and remarks": {
        "takeoff_roll__csv": "# morning, calm\n\n" + ROLL.replace("\n3,", '\n# swap; "B" on\n,,,\n3,')
    },
    "remarks that a spreadsheet wrapped up": {"takeoff_roll__csv": '"# morning, calm",,,,\n' + ROLL},
    "no line end at the end": {"takeoff_roll__csv": ROLL.rstrip("\n")},
    "notes left off": {"takeoff_roll__csv": ROLL.replace(",,\n", "\n")},
    "cells beyond the header, blank": {"takeoff_roll__csv": ROLL.replace("\n", ",,\n")},
    "blanks round cells": {"takeoff_roll__csv": ROLL.replace(",", " , ")},
    "small labels": {"takeoff_roll__csv": ROLL.replace(",B,", ",b,")},
    "other units": {
        "takeoff_roll__csv": ROLL.replace("headwind [kt]", "headwind [km/h]")
        .replace(",3.0,", ",5.556,")
        .replace(",3.5,", ",6.482,")
        .replace(",2.0,", ",3.704,")
        .replace(",2.5,", ",4.63,")
        .replace(",4.0,", ",7.408,")
        .replace(",4.5,", ",8.334,")
        .replace(",5.0,", ",9.26,")
    },
    "the date in the campaign file": {
        "campaign__toml": TOML.replace("baseline", 'date = "2025-06-14"\nbaseline', 1),
        "takeoff_roll__csv": ROLL.replace("date,", "").replace("2025-06-14,", ""),
    },
    "a date as TOML knows it": {
        "campaign__toml": TOML.replace("baseline", "date = 2025-06-14\nbaseline", 1),
        "takeoff_roll__csv": ROLL.replace("date,", "").replace("2025-06-14,", ""),
    },
    "a date with its time as TOML knows them": {
        "campaign__toml": TOML.replace("baseline", "date = 2025-06-14T07:00:00Z\nbaseline", 1),
        "takeoff_roll__csv": ROLL.replace("date,", "").replace("2025-06-14,", ""),
    },
    "other dates": {"takeoff_roll__csv": ROLL.replace("2025-06-14", "14.6.2025")},
    "a date with midnight beside it": {"takeoff_roll__csv": ROLL.replace("2025-06-14", "2025-06-14 00:00:00")},
    "clock times with a twelve-hour clock": {"takeoff_roll__csv": ROLL.replace("07:00", "7:00 am")},
    "clock times without a colon": {"takeoff_roll__csv": ROLL.replace("07:00", "0700").replace("10:10", "1010")},
    "a true minus sign and blanks in thousands": {
        "takeoff_roll__csv": ROLL.replace("qnh [hPa]", "qnh [Pa]")
        .replace("1015", "101\u202f500")
        .replace("1014", "101\u00a0400")
    },
    "entries with blanks": {
        "campaign__toml": TOML.replace("maximum_weight", '"maximum weight"').replace("[engine]", "[ Engine ]")
    },
    "a file name with capitals": {"takeoff_roll__csv": None, "Takeoff Roll__CSV": ROLL},
    "a file of the template that was not filled in": {"landing_roll__csv": "run,date,clock,configuration\n"},
    "a file that is not ours": {"photographs__txt": "x", ".~lock__csv": "x", ".hidden__csv": "x"},
}


@pytest.mark.parametrize("case", WORKS)
def test_works_as_one_would_expect(case, sound):
    expected = read(sound()).tables["takeoff_roll"]
    campaign = read(sound(**WORKS[case]))
    assert [finding.sentence() for finding in check(campaign)] == []
    table = campaign.tables["takeoff_roll"]
    assert list(table.configuration) == list(expected.configuration)
    assert table.text["exclude"] == expected.text["exclude"]
    assert table.hours == pytest.approx(expected.hours)
    assert table.columns.keys() == expected.columns.keys()
    for name, values in expected.columns.items():
        assert table.columns[name] == pytest.approx(values, nan_ok=True), name


def test_a_pipe_for_a_file_is_refused_without_waiting(sound):
    folder = sound(takeoff_roll__csv=None)
    os.mkfifo(folder / "takeoff_roll.csv")
    sentences = [finding.sentence() for finding in read(folder).findings if finding.kind == "error"]
    assert len(sentences) == 1
    assert "takeoff_roll.csv: it is a device or a pipe, not a file" in sentences[0]


def test_a_huge_file_is_refused_by_its_size(sound, monkeypatch):
    monkeypatch.setattr(source_text, "LARGEST", 1_400_000)
    huge = ROLL + "# padding\n" * 180_000
    (finding,) = [finding for finding in read(sound(takeoff_roll__csv=huge)).findings if finding.kind == "error"]
    assert finding.message == "the file is 1.8 MB; a file of runs may have at most 1.4 MB."


def test_a_huge_file_is_refused_by_its_rows(sound, monkeypatch):
    monkeypatch.setattr(delimited, "MOST_ROWS", 6)
    (finding,) = [finding for finding in read(sound()).findings if finding.kind == "error"]
    assert finding.sentence().startswith("takeoff_roll.csv, row 7: the file has more than 6 rows. Write one row a run")


def test_rows_are_those_that_a_spreadsheet_shows(sound):
    text = "# a remark\n\n" + ROLL.replace("60,3.0", "60,calm")
    (finding,) = [finding for finding in read(sound(takeoff_roll__csv=text)).findings if finding.kind == "error"]
    assert finding.row == 4


def test_a_note_over_two_lines_is_one_row(sound):
    text = ROLL.replace("gusty", '"gusty,\nand late"').replace("48,,44", "48,calm,44")
    (finding,) = [finding for finding in read(sound(takeoff_roll__csv=text)).findings if finding.kind == "error"]
    assert finding.row == 7


def test_every_error_is_listed_not_only_the_first(sound):
    text = ROLL.replace("60,3.0", "60,calm").replace("07:10", "late").replace("08:10,B", "08:10,C")
    errors = [finding for finding in read(sound(takeoff_roll__csv=text)).findings if finding.kind == "error"]
    assert {finding.row for finding in errors} == {2, 3, 5}


def test_many_errors_of_one_kind_are_counted(sound):
    text = (
        ROLL.replace("[kt],ground roll [ft]", "[kt],ground roll [ft]")
        .replace(",44,", ",slow,")
        .replace(",45,", ",slow,")
    )
    findings = read(sound(takeoff_roll__csv=text)).findings
    errors = [finding for finding in findings if finding.column == "lift-off airspeed"]
    assert len(errors) == 6
    assert "more cells are no numbers" in errors[-1].message


def test_runs_may_differ_in_their_number_of_legs(sound):
    toml_text = TOML.replace("timed_climb", "level_speed").replace("20 ft/min", "2 kt")
    campaign = read(sound(campaign__toml=toml_text, timed_climb__csv=None, level_speed__csv=LEVEL))
    assert not [finding.sentence() for finding in campaign.findings if finding.kind == "error"]
    assert list(campaign.tables["level_speed"].columns["speed 3"] > 0) == [False, True]


def test_a_message_holds_no_sign_that_moves_the_cursor():
    said = Finding("error", "a.csv", Said("a.code", "found \x1b[2J\u202egusty\x07", "Write\tit\nanew."), 2).sentence()
    assert said == "a.csv, row 2: found  [2J gusty  Write it anew."
