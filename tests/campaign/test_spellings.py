"""Units as pilots write them: read, shown again as written, and through template, pages and workbook unchanged."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest
from sound_campaign import CLIMB, ROLL, TOML
from test_position_error_file import PRINTED

from samesky.campaign.derived.prepare import prepare
from samesky.campaign.messages.findings import is_sound
from samesky.campaign.reading.read import read
from samesky.campaign.tables.grid import Grid
from samesky.checks.check import check
from samesky.exchange.workbook.workbook import as_workbook, read_workbook
from samesky.inference.comparison import compare
from samesky.reduction.reduction import reduce_table

SPELT = {"[°C]": "[ºC]", "[hPa]": "[HPA]", "fuel [L]": "fuel [Ltr]", "[kt]": "[Kts]", "[ft]": "[FEET]"}

SPEEDS = (66, 67, 65, 66)


def spelt(text: str) -> str:
    for old, new in SPELT.items():
        text = text.replace(old, new)
    return text


def test_other_spellings_of_the_units_leave_every_answer_alone(sound):
    plain = compare(read(sound()))
    folder = sound(
        takeoff_roll__csv=spelt(ROLL), timed_climb__csv=spelt(CLIMB), campaign__toml=TOML.replace(" kt", " Knots")
    )
    campaign = read(folder)
    assert is_sound(check(campaign)), [one.sentence() for one in campaign.findings]
    for before, after in zip(plain, compare(campaign), strict=True):
        assert after.percent == before.percent
        assert after.verdict == before.verdict


def test_spellings_go_through_grid_and_workbook_as_they_were_written(sound):
    files = {"campaign.toml": TOML, "takeoff_roll.csv": spelt(ROLL)}
    grid = Grid.from_text(files["takeoff_roll.csv"], "takeoff_roll.csv", ["ground roll"])
    assert next(csv.reader(io.StringIO(grid.to_text()))) == next(csv.reader(io.StringIO(files["takeoff_roll.csv"])))
    back = read_workbook(as_workbook(files)["campaign.xlsx"], "campaign.xlsx")
    assert next(csv.reader(io.StringIO(back["takeoff_roll.csv"]))) == next(
        csv.reader(io.StringIO(files["takeoff_roll.csv"]))
    )


def test_plain_numbers_for_rpm_and_heading(sound):
    toml = TOML.replace('rpm_limit = "5800 rpm"', "rpm_limit = 5800").replace('heading = "90 deg"', "heading = 90")
    campaign = read(sound(campaign__toml=toml.replace('"4700 rpm"', '"4700"')))
    assert is_sound(campaign.findings), [one.sentence() for one in campaign.findings]
    assert campaign.engine.speed_limit == pytest.approx(5800 / 60)
    assert campaign.engine.static_speed_low == pytest.approx(4700 / 60)
    assert campaign.runways["09"].heading == pytest.approx(np.pi / 2)


def test_a_track_without_a_unit_is_in_degrees(sound):
    legs = "date,clock,configuration,altitude [ft],speed 1 [kt],track 1,speed 2 [kt],track 2\n"
    legs += "2025-06-14,11:00,A,2000,90,80,110,260\n2025-06-14,12:00,B,2000,92,80,110,260\n"
    toml = TOML + '\n[measure.level_speed]\nsmallest_difference_that_matters = "2 kt"\n'
    campaign = read(sound(campaign__toml=toml, level_speed__csv=legs))
    assert campaign.tables["level_speed"].columns["track 1"] == pytest.approx(np.radians([80, 80]))


def with_speed(unit: str) -> str:
    head, *rows = CLIMB.strip().splitlines()
    cells = [f"{row},{speed}" for row, speed in zip(rows, SPEEDS, strict=True)]
    return "\n".join([f"{head},airspeed [{unit}]", *cells])


def test_indicated_and_calibrated_airspeeds_are_told_apart_by_their_unit(sound):
    """A column in KCAS has the position error taken out already; one in KIAS, like one in knots, has not."""
    found = {}
    for unit in ("kt", "KIAS", "KCAS"):
        campaign = read(sound(timed_climb__csv=with_speed(unit), position_error__csv=PRINTED))
        assert is_sound(check(campaign)), [one.sentence() for one in check(campaign)]
        found[unit] = prepare(campaign, campaign.tables["timed_climb"])["airspeed"]
        assert campaign.tables["timed_climb"].units["airspeed"] == unit
    assert found["KIAS"] == pytest.approx(found["kt"])
    assert found["KCAS"] * 3600 / 1852 == pytest.approx(SPEEDS)
    assert np.all(np.abs(found["KIAS"] - found["KCAS"]) > 0.3)


def test_a_calibration_cannot_be_written_in_calibrated_airspeeds(sound):
    folder = sound(position_error__csv=PRINTED.replace("airspeed [kt]", "airspeed [KCAS]"))
    (found,) = [one for one in read(folder).findings if one.kind == "error"]
    assert (found.file, found.column) == ("position_error.csv", "airspeed")


def test_a_wind_is_not_read_off_the_airspeed_indicator(sound):
    folder = sound(takeoff_roll__csv=ROLL.replace("headwind [kt]", "headwind [KIAS]"))
    (found,) = [one for one in read(folder).findings if one.kind == "error"]
    assert "headwind [kt]" in found.mend


def test_a_true_airspeed_is_shown_in_knots_whatever_the_indicator_is_said_to_show(sound):
    rows = "date,clock,configuration,oat [C],altitude [ft],airspeed [KIAS]\n"
    rows += "".join(f"2025-06-14,{10 + k}:00,{'AB'[k % 2]},10,2000,{90 + k % 2}\n" for k in range(6))
    toml = TOML + '\n[measure.level_speed]\nsmallest_difference_that_matters = "2 kt"\n'
    campaign = read(sound(campaign__toml=toml, level_speed__csv=rows))
    assert campaign.asked["level_speed"].unit == "kt"


ENTERED = """
[instrument."own system"]
target = "lift-off airspeed"
standard_uncertainty = "2 kt"
scope = "campaign"
"""


def test_what_is_written_as_calibrated_has_no_error_of_the_airspeed_system(sound):
    """The shipped one (5 kt, rectangular) of an indicated airspeed, none of a calibrated one; what is entered stays."""
    for unit, shipped in (("kt", True), ("KIAS", True), ("KCAS", False)):
        folder = sound(
            takeoff_roll__csv=ROLL.replace("lift-off airspeed [kt]", f"lift-off airspeed [{unit}]"),
            campaign__toml=TOML + ENTERED,
        )
        campaign = read(folder)
        reduction = reduce_table(campaign, campaign.tables["takeoff_roll"])
        names = {source.name for source, _ in reduction.contributions}
        assert ("airspeed system" in names) is shipped, (unit, names)
        assert "own system" in names
