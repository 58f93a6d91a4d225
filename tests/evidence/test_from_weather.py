"""Weather reports in the blank cells of runs: what is filled, what is left, and what it is worth."""

from __future__ import annotations

import csv
import errno
import io
import math
import os
from datetime import UTC, datetime

import numpy as np
import pytest
from sound_campaign import ROLL, TOML

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.campaign.tables.grid import Grid
from samesky.checks.check import check
from samesky.evidence.proposal import put
from samesky.evidence.weather.propose import Heights, propose
from samesky.evidence.weather.words import reports_near
from samesky.published.registry import check as printed
from samesky.reduction.reduction import reduce_table

KNOT = 1852 / 3600
#: The reports' own height, so that a printed wind comes through as printed.
AS_REPORTED = Heights(wing=10.0)


def without(*names: str, text: str = ROLL, blank: bool = False) -> str:
    """The rolls without these columns, or with their cells blank."""
    rows = list(csv.reader(io.StringIO(text)))
    gone = {index for index, cell in enumerate(rows[0]) if cell.partition(" [")[0] in names}
    if blank:
        rows[1:] = [["" if index in gone else cell for index, cell in enumerate(row)] for row in rows[1:]]
        gone = set()
    kept = ([cell for index, cell in enumerate(row) if index not in gone] for row in rows)
    return "\n".join(",".join(row) for row in kept) + "\n"


BARE = without("oat", "qnh", "headwind")


def half_hours(wind="09005KT", rest="12/07 Q1015", first=5, last=9, day=14, station="XXXX"):
    """Reports at 20 and 50 past each hour of UTC; the rolls were flown from 07:00 to 10:10 of local time."""
    return "\n".join(
        f"METAR {station} {day:02d}{hour:02d}{minute}Z {wind} CAVOK {rest}="
        for hour in range(first, last)
        for minute in (20, 50)
    )


def cells(proposal, column):
    return [one.text for one in proposal.fills if one.column == column]


def proposed(folder, reports, offset=2.0, **words):
    return propose(read(folder, flown=False), reports, utc_offset_hours=offset, **words)


# What is filled.


def test_a_printed_wind_comes_through_to_the_cell(sound):
    # rows T1-251, T1-252: runway 17, wind from 140 degrees at 25 kt: 22 kt from ahead, 13 kt across (from the left)
    folder = sound(takeoff_roll__csv=BARE, campaign__toml=TOML.replace('heading = "90 deg"', 'heading = "170 deg"'))
    proposal = proposed(folder, half_hours("14025KT", first=4), heights=AS_REPORTED)
    assert len(cells(proposal, "headwind")) == 9
    for head, cross in zip(cells(proposal, "headwind"), cells(proposal, "crosswind"), strict=True):
        assert printed("T1-251", float(head)).agrees
        assert printed("T1-252", -float(cross)).agrees


def test_the_wind_is_brought_down_to_the_wing(sound):
    # logarithmic law over grass of 0.03 m: ln(1.5/0.03)/ln(10/0.03) of the wind is left
    proposal = proposed(sound(takeoff_roll__csv=BARE), half_hours("09010KT", first=4))
    share = math.log(1.5 / 0.03) / math.log(10 / 0.03)
    assert {float(cell) for cell in cells(proposal, "headwind")} == {round(10 * share, 1)}


def test_values_are_interpolated_to_the_clock_of_each_run(sound):
    reports = "METAR XXXX 140450Z 09005KT 10/06 Q1015=\nMETAR XXXX 140550Z 09005KT 12/06 Q1013\n" + half_hours(
        first=6, last=9
    )
    proposal = proposed(sound(takeoff_roll__csv=BARE), reports)
    # 05:00 and 05:10 UTC: 10 and 20 minutes of 60 on the way from 10 to 12 degrees, and from 1015.5 to 1013.5 hPa
    assert cells(proposal, "oat")[:2] == ["10.3", "10.7"]
    assert [float(cell) for cell in cells(proposal, "qnh")[:2]] == pytest.approx(
        [1015.5 - 2 / 6, 1015.5 - 4 / 6], abs=0.05
    )


def test_columns_are_filled_in_the_unit_of_their_header(sound):
    text = without("oat", "qnh", "headwind", blank=True)
    text = (
        text.replace("oat [°C]", "oat [degF]")
        .replace("qnh [hPa]", "qnh [inHg]")
        .replace("headwind [kt]", "headwind [m/s]")
    )
    folder = sound(takeoff_roll__csv=text)
    proposal = proposed(folder, half_hours("09010KT", "15/07 A2992", first=4), heights=AS_REPORTED)
    assert {float(cell) for cell in cells(proposal, "oat")} == {59.0}
    assert {float(cell) for cell in cells(proposal, "qnh")} == {29.92}
    assert {float(cell) for cell in cells(proposal, "headwind")} == {5.1}
    put(folder, proposal)
    campaign = read(folder)
    assert not [one for one in check(campaign) if one.kind == "error"]
    assert campaign.tables["takeoff_roll"].columns["oat"][0] == pytest.approx(288.15)


def test_a_written_file_keeps_every_other_cell_and_gains_usual_units(sound):
    text = "# mown the day before\n\n" + BARE.replace("5,2025", "# tea\n5,2025", 1)
    folder = sound(takeoff_roll__csv=text)
    put(folder, proposed(folder, half_hours(first=4)))
    lines = (folder / "takeoff_roll.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0] == "# mown the day before"
    assert "# tea" in lines
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    for before, after in zip(csv.DictReader(io.StringIO(BARE)), rows, strict=True):
        assert {name: after[name] for name in before} == before
        assert (after["oat [degC]"], after["qnh [hPa]"], after["dew point [degC]"]) == ("12.0", "1015.5", "7.0")
        assert "headwind [kt]" in after
    campaign = read(folder)
    assert not [one for one in check(campaign) if one.kind == "error"]
    assert not reduce_table(campaign, campaign.tables["takeoff_roll"]).left_out


def test_clocks_are_local_and_months_may_end_between(sound):
    # 31 May, 23:20 UTC, is 1 June, 01:20, two hours ahead
    text = BARE.replace("2025-06-14", "2025-06-01")
    for hour in (7, 8, 9, 10):
        text = text.replace(f",{hour:02d}:", f",{hour - 6:02d}:")
    reports = half_hours(rest="08/05 Q1020", first=22, last=24, day=31) + "\n" + half_hours(first=0, last=3, day=1)
    proposal = proposed(sound(takeoff_roll__csv=text, timed_climb__csv=None), reports)
    assert cells(proposal, "oat")[0] == "8.0"
    assert cells(proposal, "oat")[-1] == "12.0"
    with pytest.raises(CampaignError, match="away from it"):
        proposed(sound(takeoff_roll__csv=text, timed_climb__csv=None), reports, offset=-8.0)


def test_calm_and_variable_winds_are_no_wind_and_the_second_is_worth_less(sound):
    folder = sound(takeoff_roll__csv=BARE)
    calm = proposed(folder, half_hours("00000KT", first=4))
    variable = proposed(folder, half_hours("VRB06KT", first=4))
    for proposal in (calm, variable):
        assert {float(cell) for cell in cells(proposal, "headwind")} == {0.0}
    spread = [next(one.uncertainty for one in p.fills if one.column == "headwind") for p in (calm, variable)]
    assert spread[1] > spread[0] + 3 * KNOT * 0.6
    assert any("VRB" in note for note in variable.notes)


# What is left blank, and why.


def test_climbs_keep_the_air_of_their_own_height(sound):
    proposal = proposed(sound(takeoff_roll__csv=BARE), half_hours(first=4))
    assert {one.file for one in proposal.fills} == {"takeoff_roll.csv"}
    assert any(said.startswith("timed_climb") and "own height" in said for said in proposal.left)


@pytest.mark.parametrize(
    ("reports", "column", "said"),
    [
        (half_hours(rest="12/ Q1015", first=4), "dew point", "no report tells it"),
        (half_hours(rest="// Q1015", first=4), "oat", "no report tells it"),
        (half_hours(rest="12/07", first=4), "qnh", "no report tells it"),
        (half_hours("/////KT", first=4), "headwind", "no report tells it"),
        (half_hours(first=4), "gust", "10 kt above the mean"),
        (half_hours(first=4, last=6), "oat", "2 h 20 min from run"),
    ],
)
def test_what_no_report_tells_stays_blank_and_says_so(sound, reports, column, said):
    proposal = proposed(sound(takeoff_roll__csv=BARE), reports)
    assert not cells(proposal, column)
    assert any(f"takeoff_roll.csv, {column}: " in one and said in one for one in proposal.left), proposal.left


def test_without_a_heading_there_is_no_wind_to_fill(sound):
    folder = sound(takeoff_roll__csv=BARE, campaign__toml=TOML.replace('heading = "90 deg"\n', ""))
    proposal = proposed(folder, half_hours(first=4))
    assert cells(proposal, "oat")
    assert not cells(proposal, "headwind")
    assert any("heading" in said for said in proposal.left)


def test_a_column_is_filled_for_all_runs_or_none_so_that_nothing_becomes_unsound(sound):
    folder = sound(takeoff_roll__csv=BARE)
    put(folder, proposed(folder, half_hours(first=4, last=7) + "\nMETAR XXXX 140850Z 09005KT Q1015"))
    campaign = read(folder)
    assert not [one for one in check(campaign) if one.kind == "error"]
    assert "qnh" in campaign.tables["takeoff_roll"].columns


@pytest.mark.parametrize(
    ("reports", "said"),
    [
        ("", "no METAR or SPECI"),
        (half_hours(first=4) + "\n" + half_hours(first=4, station="YYYY"), "several stations (XXXX, YYYY)"),
        (half_hours(first=17, last=20), "9 h 10 min away"),
        (half_hours(first=4, day=20), "days away"),
    ],
)
def test_reports_that_cannot_be_meant_are_refused(sound, reports, said):
    with pytest.raises(CampaignError) as refused:
        proposed(sound(takeoff_roll__csv=BARE), reports)
    assert said in str(refused.value)


def test_the_same_day_of_two_months_is_refused(sound):
    text = BARE.replace("8,2025-06-14", "8,2025-07-14").replace("9,2025-06-14", "9,2025-07-14")
    with pytest.raises(CampaignError, match="either month"):
        proposed(sound(takeoff_roll__csv=text), half_hours(first=4))


# The pilot's own readings.


def test_a_reading_is_never_overwritten_and_doubted_where_it_is_far_off(sound):
    folder = sound(takeoff_roll__csv=ROLL.replace("14.0,1014,50,4.0", "22.0,1014,50,4.0"))
    before = (folder / "takeoff_roll.csv").read_text(encoding="utf-8")
    proposal = proposed(folder, half_hours(rest="13/07 Q1014", first=4))
    assert {one.column for one in proposal.fills} == {"dew point", "crosswind"}
    doubts = [one for one in proposal.doubted if one.column == "oat"]
    assert len(doubts) == 1
    assert "run 5:" in doubts[0].message
    assert doubts[0].row == 6
    assert "°C" in doubts[0].message
    assert not [one for one in proposal.doubted if one.column != "oat"]
    put(folder, proposal)
    after = list(csv.DictReader(io.StringIO((folder / "takeoff_roll.csv").read_text(encoding="utf-8"))))
    for old, new in zip(csv.DictReader(io.StringIO(before)), after, strict=True):
        assert {name: new[name] for name in old} == old


def test_a_cell_typed_in_the_meantime_stops_it_all(sound):
    folder = sound(takeoff_roll__csv=without("oat", blank=True))
    proposal = proposed(folder, half_hours(first=4))
    typed = ROLL.replace("12.0", "12.5")
    (folder / "takeoff_roll.csv").write_text(typed, encoding="utf-8")
    with pytest.raises(CampaignError, match="changed since"):
        put(folder, proposal)
    assert (folder / "takeoff_roll.csv").read_text(encoding="utf-8") == typed
    assert (folder / "campaign.toml").read_text(encoding="utf-8") == TOML


def test_a_full_disk_leaves_all_as_it_was(sound, monkeypatch):
    folder = sound(takeoff_roll__csv=BARE)
    proposal = proposed(folder, half_hours(first=4))
    before = {path.name: path.read_bytes() for path in folder.iterdir()}

    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("samesky.campaign.tables.write.os.replace", full)
    with pytest.raises(CampaignError, match="No space"):
        put(folder, proposal)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


# What it is worth.


def contributions(folder, table):
    campaign = read(folder)
    reduction = reduce_table(campaign, campaign.tables[table])
    return {source.name: (source, size) for source, size in reduction.contributions}, reduction


def test_the_reports_errors_take_the_place_of_the_readings_errors_where_they_were_filled(sound):
    folder = sound(takeoff_roll__csv=BARE)
    put(folder, proposed(folder, half_hours(first=4)))
    rolls, _ = contributions(folder, "takeoff_roll")
    assert {"weather report temperature", "weather report mean wind", "weather report gusts within a run"} <= set(rolls)
    assert rolls["weather report mean wind"][0].scope == "installation"
    assert not {"thermometer reading", "thermometer in the sun", "wind reading", "altimeter setting"} & set(rolls)
    # that the wing is elsewhere than the reading holds for a report too
    assert "height of the wind reading" in rolls
    climbs, _ = contributions(folder, "timed_climb")
    assert "thermometer reading" in climbs
    assert not any(name.startswith("weather") for name in climbs)


def test_a_mixed_column_gets_the_wider_of_the_two(sound):
    mixed = ROLL.replace(",3.0,44,412", ",,44,412")
    folder = sound(takeoff_roll__csv=mixed)
    assert any(one.kind == "error" for one in read(folder).findings)
    proposal = proposed(folder, half_hours("09008KT", first=4))
    assert cells(proposal, "headwind")
    assert any("wider of the two" in note for note in proposal.notes)
    put(folder, proposal)
    rolls, _ = contributions(folder, "takeoff_roll")
    assert "weather report mean wind" in rolls
    assert "wind reading" not in rolls
    # a poor windsock is worth less than the report
    poor = TOML + '\n[instrument.wind_reading]\nstandard_uncertainty = "4 kt"\n'
    folder = sound(takeoff_roll__csv=mixed, campaign__toml=poor)
    put(folder, proposed(folder, half_hours("09008KT", first=4)))
    rolls, _ = contributions(folder, "takeoff_roll")
    assert "weather report mean wind" not in rolls
    assert rolls["wind reading"][0].standard_uncertainty == pytest.approx(4 * KNOT)


def test_the_campaigns_own_figures_are_left_and_said(sound):
    own = TOML + '\n[instrument.thermometer_reading]\ntolerance = "0.2 K"\n'
    folder = sound(takeoff_roll__csv=BARE, campaign__toml=own)
    proposal = proposed(folder, half_hours(first=4))
    assert any("[instrument.thermometer_reading] is the campaign's own" in note for note in proposal.notes)
    put(folder, proposal)
    rolls, _ = contributions(folder, "takeoff_roll")
    assert rolls["thermometer reading"][0].standard_uncertainty == pytest.approx(0.2 / math.sqrt(3))


def test_a_second_time_fills_the_new_runs_and_states_the_wider(sound):
    lines = BARE.splitlines(keepends=True)
    folder = sound(takeoff_roll__csv="".join(lines[:6]))
    put(folder, proposed(folder, half_hours(first=4)))
    first = read(folder)
    assert proposed(folder, half_hours(first=4)).fills == ()
    path = folder / "takeoff_roll.csv"
    grid = Grid.from_text(path.read_text(encoding="utf-8"), path.name, ["run"])
    more = [dict(row) for row in csv.DictReader(lines[:1] + lines[7:])]
    named = [{name.partition(" [")[0]: cell for name, cell in row.items()} for row in more]
    path.write_text(grid.with_rows(named).to_text(), encoding="utf-8")
    second = proposed(folder, half_hours("09015KT", first=4))
    # What the first reports filled is no reading of the pilot's.
    assert not any("own readings" in note for note in second.notes)
    put(folder, second)
    campaign = read(folder)
    assert not [one for one in check(campaign) if one.kind == "error"]
    assert len(campaign.tables["takeoff_roll"].rows) == 8
    assert (folder / "campaign.toml").read_text(encoding="utf-8").count("From weather reports") == 1
    size = [
        next(s.standard_uncertainty for s in one.sources if s.name == "weather report mean wind")
        for one in (first, campaign)
    ]
    assert size[1] > 1.5 * size[0]


def test_filled_temperatures_are_as_good_as_they_say(sound):
    """Simulated mornings: a temperature that walks 1 K a root hour, reported hourly to the degree (as stated)."""
    rng = np.random.default_rng(5)
    minutes = np.array(
        [60 * h + m for h, m in ((7, 0), (7, 10), (8, 0), (8, 10), (9, 0), (9, 10), (9, 20), (10, 0), (10, 10))]
    )
    folder, inside, count = sound(takeoff_roll__csv=BARE), 0, 0
    campaign = read(folder, flown=False)
    for _ in range(120):
        walk = 12.3 + rng.uniform() + np.cumsum(rng.normal(0, math.sqrt(1 / 60), 24 * 60))
        reports = "\n".join(
            f"METAR XXXX 14{hour:02d}50Z 09005KT {round(walk[60 * hour + 170]):02d}/01 Q1015" for hour in range(4, 10)
        )
        proposal = propose(campaign, reports, utc_offset_hours=2.0)
        fills = [one for one in proposal.fills if one.column == "oat"]
        error = np.array([one.value - 273.15 for one in fills]) - walk[minutes]
        inside += int(np.sum(np.abs(error) < 1.96 * np.array([one.uncertainty for one in fills])))
        count += len(fills)
    # Runs of a morning share their reports: about four of the nine are independent. Rounding is rectangular, so that a
    # little more than 95 % lie within 1.96 standard uncertainties; the band is three Monte Carlo errors of 480.
    assert count == 120 * 9
    assert 0.95 - 3 * math.sqrt(0.95 * 0.05 / 480) <= inside / count <= 0.995


def test_rows_that_are_planned_and_not_flown_yet_are_left_alone(sound):
    planned = BARE + "10,2025-06-15,,A,,,,,block 5\n"
    flown = proposed(sound(takeoff_roll__csv=BARE), half_hours(first=4)).fills
    folder = sound(takeoff_roll__csv=planned)
    proposal = proposed(folder, half_hours(first=4))
    assert proposal.fills == flown
    put(folder, proposal)
    assert [one.run for one in read(folder).unflown] == ["10"]
    assert not [finding for finding in check(read(folder)) if finding.kind == "error"]
    head = BARE.splitlines(keepends=True)[0]
    with pytest.raises(CampaignError, match="no run on the ground"):
        proposed(sound(takeoff_roll__csv=head + "1,2025-06-14,,A,,,,,\n"), half_hours(first=4))


@pytest.mark.parametrize(
    ("wind", "told"),
    [
        ("09005KT", []),
        ("VRB03KT", ["is filled in as none"]),
        ("VRB03KT 060V120", ["told with a sector"]),
    ],
)
def test_a_variable_wind_is_told_as_what_it_was_filled_in_as(sound, wind, told):
    notes = proposed(sound(takeoff_roll__csv=BARE), half_hours(wind, first=4)).notes
    variable = [note for note in notes if "VRB" in note]
    assert len(variable) == len(told)
    assert all(said in note for said, note in zip(told, variable, strict=True))


def test_a_crosswind_is_written_with_either_sign(sound):
    """20 kt from 180 degrees on runway 09; the pilot wrote it from the left on one run, too little of it on another."""
    rows = list(csv.reader(io.StringIO(ROLL)))
    for k, row in enumerate(rows):
        row.insert(8, "crosswind [kt]" if k == 0 else {1: "-20", 2: "2"}.get(k, "20"))
    folder = sound(takeoff_roll__csv="\n".join(map(",".join, rows)) + "\n")
    reports = half_hours("18020KT", first=4)
    doubts = [one for one in proposed(folder, reports, heights=AS_REPORTED).doubted if one.column == "crosswind"]
    assert [one.row for one in doubts] == [3]
    assert "run 2:" in doubts[0].message


def test_a_pressure_altitude_that_was_read_needs_no_setting_from_the_report(sound):
    def rolls(cells: str) -> str:
        rows = list(csv.reader(io.StringIO(without("qnh"))))
        for k, row in enumerate(rows):
            row.insert(5, "pressure altitude [ft]" if k == 0 else cells)
        return "\n".join(map(",".join, rows)) + "\n"

    read_there = proposed(sound(takeoff_roll__csv=rolls("250")), half_hours(first=4))
    assert not cells(read_there, "qnh")
    assert any("qnh" in said for said in read_there.left)
    assert len(cells(proposed(sound(takeoff_roll__csv=rolls("")), half_hours(first=4)), "qnh")) == 9


def _seconds(*when: int) -> float:
    return datetime(*when, tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    ("runs", "month"),
    [
        ([(2025, 6, 14, 6), (2025, 7, 2, 6)], 6),
        ([(2025, 6, 28, 6), (2025, 7, 14, 6)], 7),
        ([(2025, 6, 14, 6)], 6),
        ([(2025, 5, 31, 6), (2025, 6, 14, 6), (2025, 7, 31, 6)], 6),
    ],
)
def test_a_report_is_of_the_month_that_brings_it_nearest_to_a_run(runs, month):
    """A report says day and hour, and no month (WMO Manual on Codes, FM 15: the group YYGGggZ)."""
    (report,) = reports_near(
        "METAR XXXX 140550Z 09005KT CAVOK 12/07 Q1015=", np.array([_seconds(*run) for run in runs])
    )
    assert report.time == _seconds(2025, month, 14, 5, 50)
