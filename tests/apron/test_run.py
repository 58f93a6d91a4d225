"""Is this run valid? Its cells, its limits and its readings; and how it stands among its like, as regression has it."""

from __future__ import annotations

import flown_saturday
import numpy as np
import pytest
import saturday
from statsmodels.api import OLS

from samesky.apron import valid_run
from samesky.apron.outlier_check import outlier_check
from samesky.apron.run import _shown
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.planning.plan import plan
from samesky.reduction.reduction import reduce_table

LIMITS = ("\n[plan]\n", '\n[limits]\nheadwind = "6 kt"\ntailwind = "1 kt"\ncrosswind = "5 kt"\n\n[plan]\n')
#: One more roll, as the others were flown.
ROW = {
    "date": "2026-05-09",
    "clock": "10:00",
    "configuration": "A",
    "oat": "10",
    "qnh": "1018",
    "dew point": "5",
    "fuel": "60",
    "ground roll": "252",
    "lift-off airspeed": "38",
    "headwind": "2",
    "gust": "4",
    "crosswind": "1",
    "notes": "refuelled",
}


@pytest.fixture(scope="module")
def campaign(tmp_path_factory):
    return read(flown_saturday.write(tmp_path_factory.mktemp("run"), flown_saturday.rows("AB", 5), LIMITS))


def asked(campaign, **changes):
    row = ROW | {name.replace("_", " "): text for name, text in changes.items()}
    return valid_run(campaign, "takeoff_roll", row)


def test_a_run_as_the_others(campaign):
    found = asked(campaign)
    assert found.verdict == "valid"
    assert found.findings == ()
    assert found.counts
    assert found.row == 12
    assert all(limit.holds for limit in found.limits)
    assert {limit.condition for limit in found.limits} == {"headwind", "tailwind", "crosswind"}
    assert "never a reason" in found.sentences[-1]


def test_it_is_read_and_reduced_as_the_file_would_be(campaign, tmp_path):
    """The answer in memory against the campaign on disk with the row in it; nothing is written meanwhile."""
    before = {path: path.read_bytes() for path in campaign.folder.iterdir()}
    found = asked(campaign)
    assert {path: path.read_bytes() for path in campaign.folder.iterdir()} == before
    folder = flown_saturday.write(tmp_path / "c", "", LIMITS)
    (folder / "takeoff_roll.csv").write_text(found.text, encoding="utf-8")
    there = read(folder)
    assert not [finding for finding in check(there) if finding.row == found.row]
    reduction = reduce_table(there, there.tables["takeoff_roll"])
    assert found.value == pytest.approx(reduction.value[-1], rel=1e-12)
    assert found.corrections["wind"] == pytest.approx(reduction.corrections["wind"][-1], rel=1e-9)


CELLS = {
    "no number": ({"oat": "warm"}, "oat", "a number belongs"),
    "not believable": ({"oat": "99"}, "oat", "expected between"),
    "before the last": ({"clock": "05:00"}, "clock", "the clock goes back"),
    "no such configuration": ({"configuration": "C"}, "configuration", "expected 'A' or 'B'"),
    "moister than saturated": ({"dew_point": "15"}, "dew point", "above oat"),
    "blank": ({"ground_roll": ""}, "ground roll", "blank"),
    "a bare mark": ({"exclude": "no"}, "exclude", "expected a reason"),
}


@pytest.mark.parametrize("name", CELLS)
def test_cells_that_are_wrong(campaign, name):
    changes, column, words = CELLS[name]
    found = asked(campaign, **changes)
    assert found.verdict == "not valid as written"
    assert [finding.column for finding in found.findings] == [column]
    assert words in found.findings[0].message
    assert np.isnan(found.value)
    assert found.outlier is None


def test_too_heavy_is_an_error(campaign):
    found = asked(campaign, fuel="120")
    assert found.verdict == "not valid as written"
    assert "more than its maximum" in found.findings[0].message


def test_outside_a_limit(campaign):
    found = asked(campaign, crosswind="-6.5")
    assert found.verdict == "outside a limit that was fixed before flying"
    limit = next(one for one in found.limits if one.condition == "crosswind" and "own" in one.whose)
    assert limit.holds is False
    assert limit.margin == pytest.approx(-1.5 * 1852 / 3600)
    assert any("beyond it by 1.5 kt" in line for line in found.sentences)
    # [plan] crosswind limit = 8 kt
    assert next(one for one in found.limits if "of the plan" in one.whose).holds is True


@pytest.mark.parametrize(("oat", "words"), [("23", "beyond it by 3.0 degC"), ("18", ": 2.0 degC to spare")])
def test_degrees_to_spare_are_a_difference(tmp_path, oat, words):
    """Between 5 and 20 degC: 3 degrees too warm are 3 degrees, not 3 K as a temperature (-270 degC)."""
    limits = (LIMITS[0], LIMITS[1].replace("[limits]\n", '[limits]\noat = ["5 degC", "20 degC"]\n'))
    here = read(flown_saturday.write(tmp_path / "c", flown_saturday.rows("AB", 2), limits))
    limit = next(one for one in asked(here, oat=oat).limits if one.condition == "temperature")
    assert words in limit.says


def test_a_tailwind_is_a_headwind_below_none(campaign):
    found = asked(campaign, headwind="-2.5")
    limit = next(one for one in found.limits if one.condition == "tailwind")
    assert limit.holds is False
    assert limit.margin == pytest.approx(-1.5 * 1852 / 3600)
    assert next(one for one in found.limits if one.condition == "headwind").holds is True


def test_the_plans_limits_to_scrub_at(campaign):
    planned = plan(campaign)
    gusty = valid_run(campaign, "takeoff_roll", ROW | {"gust": "9"}, plan=planned)
    limit = next(one for one in gusty.limits if one.condition == "gust less mean wind")
    theirs = next(one for one in planned.limits if (one.condition, one.measure) == ("gust spread", "takeoff_roll"))
    assert limit.high == theirs.high
    # 9 kt less a mean wind of 2 kt along and 1 kt across.
    assert limit.now[0] == pytest.approx((9 - np.hypot(2, 1)) * 1852 / 3600)


def test_fuel(campaign):
    low = asked(campaign, fuel="15")
    assert low.verdict == "valid, with a doubt"
    assert "below the reserve" in low.findings[0].message
    assert "fuel rises" in asked(campaign, notes="").findings[0].message


def test_airspeeds_that_contradict_each_other(campaign):
    row = {
        "date": "2026-05-09",
        "clock": "10:05",
        "configuration": "A",
        "oat": "8",
        "fuel": "36",
        "from": "1000",
        "to": "2000",
        "elapsed": "62",
        "entry airspeed": "60",
        "exit airspeed": "55",
        "airspeed": "60",
    }
    found = valid_run(campaign, "timed_climb", row)
    assert found.verdict == "valid, with a doubt"
    assert "entry airspeed 60.0 kt and exit airspeed 55.0 kt differ by more than 5 %" in found.findings[0].message
    steady = valid_run(campaign, "timed_climb", row | {"exit airspeed": "59"})
    assert steady.verdict == "valid"


def test_beyond_the_range_of_a_correction(campaign):
    found = asked(campaign, headwind="5.5", gust="6")
    assert found.verdict == "valid, with a doubt"
    assert "the wind correction is believed for headwinds up to 10 %" in found.findings[0].message


def test_a_left_out_run_does_not_count(campaign):
    found = asked(campaign, exclude="dog on the strip", ground_roll="400")
    assert not found.counts
    assert found.outlier is None
    assert any("left out" in line for line in found.sentences)


def test_a_run_that_stands_out_counts_all_the_same(campaign):
    """A slow roll in good order: said to stand out, and valid."""
    found = asked(campaign, ground_roll="305")
    assert found.outlier.stands_out
    assert found.verdict == "valid"
    assert found.counts
    assert any("It stands out" in line and "against the card" in line for line in found.sentences)
    assert "never a reason to leave a run out" in found.sentences[-1]
    assert not any("leave it out" in line.casefold() for line in found.sentences)


def test_a_run_as_far_off_as_only_a_slip_is_doubted_and_counts(campaign):
    """A quarter longer than every roll of its like: the reading is asked after, the run stays in."""
    found = asked(campaign, ground_roll="330")
    assert found.verdict == "valid, with a doubt"
    assert [finding.column for finding in found.findings] == ["ground roll"]
    assert "the run counts as it stands" in found.findings[0].mend
    assert found.counts
    assert found.outlier.stands_out
    assert not any("leave it out" in line.casefold() for line in found.sentences)


def test_standing_is_the_externally_studentised_residual():
    """statsmodels, a mean alone: the same t, for every run of a sample."""
    y = np.random.default_rng(5).normal(3.0, 0.2, size=9)
    theirs = OLS(y, np.ones((9, 1))).fit().get_influence().resid_studentized_external
    for k in range(9):
        found = outlier_check(y[k], np.delete(y, k))
        assert found.t == pytest.approx(theirs[k])
        assert found.others == 8


def test_one_run_in_a_hundred_stands_out_by_chance():
    """10 000 honest runs against five others each; three Monte Carlo standard errors."""
    y = np.random.default_rng(11).standard_normal((10_000, 6))
    share = np.mean([outlier_check(row[0], row[1:]).stands_out for row in y])
    assert share == pytest.approx(0.01, abs=3 * np.sqrt(0.01 * 0.99 / 10_000))


def test_nothing_is_said_of_few():
    assert outlier_check(1.0, np.array([1.0, 1.1])) is None
    assert not outlier_check(1.0, np.ones(4)).stands_out


def test_the_first_run_of_a_new_file(tmp_path):
    """A file that is not there yet begins with the columns of a fresh one, in the unit that the campaign asks for."""
    campaign = read(saturday.write(tmp_path / "c"), flown=False)
    found = valid_run(campaign, "takeoff_roll", ROW)
    assert found.verdict == "valid"
    assert found.row == 2
    assert "ground roll [ft]" in found.text
    assert not (campaign.folder / "takeoff_roll.csv").exists()


def test_a_draft_stands_in_place_of_the_file(campaign):
    draft = flown_saturday.HEADER + flown_saturday.rows("A", 2)
    found = valid_run(campaign, "takeoff_roll", ROW, files={"takeoff_roll.csv": draft})
    assert found.row == 4


def test_a_column_that_the_file_lacks_is_added(campaign):
    assert "rpm" in asked(campaign, rpm="5000").text.splitlines()[0]
    with pytest.raises(CampaignError) as caught:
        asked(campaign, ground_rol="250")
    assert "Did you mean 'ground roll'?" in caught.value.finding.mend
    with pytest.raises(CampaignError, match="no measure of this campaign"):
        valid_run(campaign, "takeof_roll", ROW)


def test_errors_elsewhere_keep_its_result_from_being_known(campaign):
    draft = flown_saturday.HEADER + flown_saturday.rows("A", 2).replace(",38,", ",x,", 1)
    found = valid_run(campaign, "takeoff_roll", ROW, files={"takeoff_roll.csv": draft})
    assert found.findings == ()
    assert np.isnan(found.value)
    assert found.verdict.startswith("not known")
    assert any("1 other error in the campaign" in line and "row 2" in line for line in found.sentences)


def test_a_campaign_of_one_day_has_its_date_from_the_top(tmp_path):
    text = "".join(line.replace("2026-05-09,", "", 1) + "\n" for line in flown_saturday.rows("AB", 3).splitlines())
    folder = saturday.write(tmp_path / "c", ('baseline = "A"', 'date = "2026-05-09"\nbaseline = "A"'))
    header = flown_saturday.HEADER.replace("date,", "")
    (folder / "takeoff_roll.csv").write_text(header + text, encoding="utf-8")
    row = {name: cell for name, cell in ROW.items() if name != "date"}
    assert valid_run(read(folder), "takeoff_roll", row).verdict == "valid"


def test_a_reading_whose_column_has_no_unit_for_it_is_shown_in_the_usual_one(campaign):
    table = campaign.tables["takeoff_roll"]
    assert _shown(campaign, table, "headwind", "pressure", 101_300.0) == "1013.0 hPa"
    assert _shown(campaign, table, "headwind", "temperature difference", 2.0) == "2.0 degC"
    assert _shown(campaign, table, "headwind", "speed", 1852 / 3600) == "1.0 kt"


def test_the_others_average_is_that_of_their_rolls_as_ratios(campaign):
    """Geometric mean of the rolls of A at the common sky."""
    table = campaign.tables["takeoff_roll"]
    value = reduce_table(campaign, table).value[table.configuration == "A"] / 0.3048
    (said,) = [one for one in asked(campaign, ground_roll="300").sentences if "on average" in one]
    average = float(said.split(" have ")[1].split(" ft")[0].replace(",", ""))
    assert average == pytest.approx(np.exp(np.log(value).mean()), rel=0.01)
