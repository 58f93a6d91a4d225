"""Parts of a reduction by hand: sky, runs taken along, what is doubted and refused, sources, the file of results."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from sound_campaign import ROLL

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.instruments.sources import ErrorSource
from samesky.measures import default_sources, power
from samesky.measures.shape import Limit, Step
from samesky.reduction.csv_file import reduction_text, write_reduction, write_reductions
from samesky.reduction.reduction import (
    _doubts,
    _why,
    common_sky,
    own_sky,
    reduce_table,
    sources_of,
    steps_of,
    too_far,
    whole_runs,
)

NAN = np.nan


@pytest.fixture
def roll(sound):
    campaign = read(sound())
    return campaign, campaign.tables["takeoff_roll"]


def few(table, n=4, out=()):
    """The first rows of a table, none left out but those named."""
    return replace(
        table,
        rows=table.rows[:n],
        columns={key: values[:n] for key, values in table.columns.items()},
        text={key: values[:n] for key, values in table.text.items()}
        | {"exclude": ["a gust" if k in out else "" for k in range(n)]},
        configuration=table.configuration[:n],
        installation=table.installation[:n],
        day=table.day[:n],
        hours=table.hours[:n],
    )


def test_the_sky_is_the_reference_else_the_mean_of_what_counts(roll):
    campaign, table = roll
    four = few(table, out=(3,))
    runs = {"oat": np.array([280.0, 281.0, 285.0, 999.0]), "headwind": np.array([1.0, NAN, 2.0, 3.0])}
    sky = common_sky(campaign, four, runs)
    assert sky == {"oat": pytest.approx(282.0)}
    told = replace(campaign, reference={"oat": 288.15, "headwind": 0.0})
    assert common_sky(told, four, runs) == {"oat": 288.15, "headwind": 0.0}
    assert common_sky(campaign, few(table, out=(0, 1, 2, 3)), runs) == {}


def test_a_configuration_meant_for_another_speed_has_a_sky_of_its_own(roll):
    campaign, table = roll
    four = few(table)
    own = dict(campaign.configurations)
    for key, speed in (("A", 19.0), ("B", 21.0)):
        own[key] = replace(own[key], own_speeds={"lift-off airspeed": speed, "airspeed": 30.0})
    two = replace(campaign, configurations=own)
    whole = np.array([True, True, False, True])
    sky = own_sky(two, four, {"oat": 288.0, "lift-off airspeed": 20.0}, whole)
    assert set(sky) == {"oat", "lift-off airspeed"}
    assert sky["oat"] == 288.0
    assert sky["lift-off airspeed"].tolist() == [{"A": 19.0, "B": 21.0}[key] for key in four.configuration[whole]]
    assert own_sky(campaign, four, {"oat": 288.0}, whole) == {"oat": 288.0}


def test_a_left_out_run_goes_along_with_every_reading_that_the_others_have(roll):
    _, table = roll
    five = few(table, 5, out=(3, 4))
    runs = {"oat": np.array([1.0, 1.0, 1.0, 1.0, 1.0]), "headwind": np.array([1.0, 1.0, 1.0, NAN, 1.0])}
    assert whole_runs(five, runs).tolist() == [True, True, True, False, True]
    # What a counted run lacks is asked of nobody.
    runs["fuel"] = np.array([1.0, NAN, 1.0, 1.0, NAN])
    assert whole_runs(five, runs).tolist() == [True, True, True, False, True]


def test_runs_not_taken_along_have_no_value_in_any_step(roll):
    campaign, table = roll
    four = few(table, out=(1,))
    columns = dict(four.columns)
    columns["headwind"] = np.where(np.arange(4) == 1, NAN, 1.5)
    four = replace(four, columns=columns)
    found = reduce_table(campaign, four)
    assert np.isnan(found.value).tolist() == [False, True, False, False]
    assert np.isnan(found.standard_uncertainty).tolist() == [False, True, False, False]
    assert all(np.isnan(size).tolist() == [False, True, False, False] for _, size in found.contributions)
    _, whole, steps = steps_of(campaign, four, found.runs)
    assert whole.tolist() == [True, False, True, True]
    assert [step.name for step in steps] == ["as flown", *found.corrections]
    assert sum(found.corrections.values())[0] == pytest.approx(found.value[0] - steps[0].value[0])


def test_the_uncertainty_of_a_run_is_the_root_sum_square_of_its_sources_drifts_aside(roll):
    campaign, table = roll
    four = few(table)
    sources = (
        ErrorSource("tape", "ground roll", 3.0, "run", "test"),
        ErrorSource("fitting", "result", 0.04, "installation", "test", relative=True),
        ErrorSource("drift", "result", 9.0, "straight drift", "test", relative=True),
    )
    bare = replace(
        four.measure,
        coefficients=tuple(replace(c, standard_uncertainty=0.0) for c in four.measure.coefficients),
        sources=(),
    )
    found = reduce_table(replace(campaign, sources=sources), replace(four, measure=bare))
    by_name = {source.name: size for source, size in found.contributions}
    root = np.sqrt(by_name["tape"] ** 2 + by_name["fitting"] ** 2)
    assert by_name["fitting"] == pytest.approx(0.04, rel=1e-3)
    # By ratio: a share of the value.
    assert found.standard_uncertainty == pytest.approx(root * found.value, rel=1e-6)
    silent = reduce_table(replace(campaign, sources=()), replace(four, measure=bare))
    assert silent.standard_uncertainty == pytest.approx(np.zeros(4), abs=1e-12)


def test_a_calibrated_airspeed_has_no_error_of_the_airspeed_system(roll):
    campaign, table = roll
    system = [one for one in default_sources() if one.name == "airspeed system"] or [
        one for one in default_sources() if "system" in one.name and one.target == "lift-off airspeed"
    ]
    names = {one.name for one in sources_of(campaign, table)}
    assert {one.name for one in system} <= names
    calibrated = replace(table, units={**table.units, "lift-off airspeed": "KCAS"})
    left = sources_of(campaign, calibrated)
    gone = set(campaign.sources) - set(left)
    assert {one.target for one in gone} == {"lift-off airspeed"}
    assert gone <= set(default_sources())
    # One that is entered stays, and so does that of a column that is read as indicated.
    entered = ErrorSource(system[0].name, "lift-off airspeed", 1.23, "campaign", "entered")
    assert entered in sources_of(replace(campaign, sources=(*campaign.sources, entered)), calibrated)
    other = [one for one in campaign.sources if one.name == system[0].name and one.target != "lift-off airspeed"]
    assert set(other) <= set(left)


@pytest.mark.parametrize(("factor", "refused"), [(1.24, False), (1.26, True), (1 / 1.24, False), (1 / 1.26, True)])
def test_the_air_may_change_a_run_by_a_quarter(roll, factor, refused):
    _, table = roll
    four, before = few(table, out=(3,)), np.array([100.0, 110.0, 120.0, 130.0])
    steps = [
        Step("as flown", before),
        Step("wind", 2.0 * before),
        Step(power.CORRECTION, 2.0 * before * np.array([1.0, factor, 1.0, 9.0])),
        Step("weight", 9.0 * before),
    ]
    found = too_far(four, steps)
    assert (found is not None) is refused
    if refused:
        assert found.kind == "error"
        assert found.row == four.rows[1]
        assert f"{25:.0f} %" in found.sentence()
        assert "26 %" in found.sentence()
    assert too_far(four, steps[:2]) is None


def doubts_of(table, made, *limits, plausible=None, value=None):
    measure = replace(table.measure, limits=limits, plausible=plausible)
    n = len(table.rows)
    value = np.full(n, 50.0) if value is None else value
    return _doubts(replace(table, measure=measure), {}, {}, np.ones(n, dtype=bool), made, value)


def test_a_correction_is_doubted_beyond_its_range_where_it_was_made(roll):
    _, table = roll
    four = few(table)
    sizes = np.array([0.9, 1.0, 1.1, 1.2])

    def limit(low, high, correction="wind"):
        return Limit(correction, "is believed so far", lambda runs, sky: sizes, low, high)

    for one, row in (
        (limit(0.95, None), four.rows[0]),
        (limit(None, 1.15), four.rows[3]),
        (limit(0.9, 1.2), None),
        (limit(None, None), None),
    ):
        found = doubts_of(four, ["wind"], one)
        assert [each.row for each in found] == ([] if row is None else [row])
        assert all(each.kind == "warning" and "is believed so far" in each.sentence() for each in found)
    assert doubts_of(four, [], limit(0.95, None)) == []
    # One that no measure makes: the run stands as flown, and is doubted.
    assert len(doubts_of(four, [], limit(0.95, None, "temper"))) == 1
    assert len(doubts_of(few(table, out=(0,)), ["wind"], limit(0.95, None))) == 0


def test_a_result_beyond_belief_is_shown(roll):
    _, table = roll
    four = few(table)
    (found,) = doubts_of(four, [], plausible=(10.0, 90.0), value=np.array([50.0, 95.5, 60.0, 5.0]))
    assert found.row == four.rows[1]
    assert "95.5 m" in found.sentence()
    assert "runs 2 and 4" in found.sentence()
    # Of a run left out nothing is said, nor its value in place of another's.
    (found,) = doubts_of(few(table, out=(1,)), [], plausible=(10.0, 90.0), value=np.array([50.0, 95.5, 60.0, 5.0]))
    assert found.row == four.rows[3]
    assert "5 m" in found.sentence().replace("5.00 m", "5 m")
    assert doubts_of(few(table, out=(1, 3)), [], plausible=(10.0, 90.0), value=np.array([50.0, 95.5, 60.0, 5.0])) == []
    assert doubts_of(four, [], plausible=(10.0, 90.0)) == []
    assert doubts_of(four, [], plausible=None, value=np.full(4, 1e9)) == []


def test_why_a_correction_was_not_made(sound):
    def left_out(**files):
        campaign = read(sound(**files))
        return reduce_table(campaign, campaign.tables["takeoff_roll"])

    assert left_out().left_out == {} or "wind" not in left_out().left_out
    no_wind = left_out(takeoff_roll__csv=ROLL.replace("headwind [kt]", "breeze [kt]"))
    assert "no column 'headwind'" in no_wind.left_out["wind"]
    assert "wind" not in no_wind.corrections
    gap = left_out(takeoff_roll__csv=ROLL.replace(",3,", ",,", 1))
    assert "wind" in gap.left_out or "wind" in gap.corrections


def test_each_reason_for_a_correction_left_out(roll):
    campaign, table = roll
    three = few(table, 3)
    both = {"headwind": np.ones(3), "oat": np.full(3, 288.0)}
    measure = replace(three.measure, needs={"wind": ("headwind", "oat"), "free": ()}, conditions=("headwind",))
    three = replace(three, measure=measure)
    assert _why(campaign, three, both, {"headwind": 1.0}, "wind") == "it does not apply to these readings"
    assert _why(campaign, three, both, {}, "wind") == "the common sky has no headwind"
    assert _why(campaign, three, both, {"headwind": 1.0}, "free") == "it does not apply to these readings"
    hole = {**both, "headwind": np.array([1.0, NAN, 1.0])}
    assert "headwind" in _why(campaign, three, hole, {}, "wind")
    assert "common sky" not in _why(campaign, three, hole, {}, "wind")
    assert "headwind" in _why(campaign, three, {"oat": both["oat"]}, {"headwind": 1.0}, "wind")


def test_a_calibration_of_the_campaigns_own_does_not_err_where_calibrated_speeds_are_written(roll):
    campaign, table = roll
    own = ErrorSource("position error", "lift-off airspeed", 0.5, "campaign", "calibration")
    other = replace(own, target="airspeed")
    system = SimpleNamespace(fit=SimpleNamespace(error_sources=lambda: (own, other)))
    known = replace(campaign, airspeed_system=system, sources=(*campaign.sources, own, other))
    assert {own, other} <= set(sources_of(known, table))
    left = sources_of(known, replace(table, units={**table.units, "lift-off airspeed": "KCAS"}))
    assert own not in left
    assert other in left
    # A reading error of the same column is no error of the system.
    reading = [one for one in campaign.sources if one.target == "lift-off airspeed" and "reading" in one.name]
    assert reading
    assert set(reading) <= set(left)


# -- the file of results -----------------------------------------------------------------------------------------------


def rows_of(text: str) -> list[list[str]]:
    return [line.split(",") for line in text.strip().splitlines()]


def test_results_have_six_figures_of_the_largest_and_differences_no_zero_of_their_own(roll):
    campaign, table = roll
    four = few(table)
    found = reduce_table(campaign, four)
    value = np.array([123.456789, 99.0, NAN, -0.000001])
    made = replace(
        found,
        steps=[Step("as flown", np.array([123.456789, 99.0, 50.0, 1.0]))],
        value=value,
        corrections={"wind": np.array([1.5, -0.0000001, 0.25, NAN])},
        standard_uncertainty=np.array([2.0, 2.0, 2.0, 2.0]),
    )
    header, *rows = rows_of(reduction_text(made, "m"))
    assert header == [
        "run",
        "row",
        "configuration",
        "installation",
        "as flown [m]",
        "wind [m]",
        "reduced [m]",
        "standard uncertainty [m]",
        "exclude",
    ]
    assert rows[0][1:8] == [str(four.rows[0]), four.configuration[0], "1", "123.457", "1.500", "123.457", "2.000"]
    assert [row[6] for row in rows] == ["123.457", "99.000", "", "0.000"]
    assert [row[5] for row in rows] == ["1.500", "0.000", "0.250", ""]
    small = replace(made, steps=[Step("as flown", np.array([-0.123456, 0.01, 0.0, NAN]))])
    assert rows_of(reduction_text(small, "m"))[1][4] == "-0.123456"
    warm = replace(four.measure, dimension="temperature")
    degrees = replace(made, table=replace(four, measure=warm), steps=[Step("as flown", np.full(4, 300.15))])
    _, first, *_ = rows_of(reduction_text(degrees, "degC"))
    assert (float(first[4]), float(first[5]), float(first[7])) == (27.0, 1.5, 2.0)


def test_files_are_written_into_a_folder_old_or_new(roll, tmp_path):
    campaign, table = roll
    found = reduce_table(campaign, table)
    fresh = write_reduction(found, "m", tmp_path / "new" / "folder")
    assert fresh == tmp_path / "new" / "folder" / "takeoff_roll.csv"
    assert fresh.read_text() == reduction_text(found, "m")
    again = write_reductions([(found, "ft")], str(tmp_path / "new" / "folder"))
    assert [path.name for path in again] == ["takeoff_roll.csv"]
    assert fresh.read_text() == reduction_text(found, "ft")
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(CampaignError):
        write_reduction(found, "m", tmp_path / "file")
