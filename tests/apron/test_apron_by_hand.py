"""Small parts of the apron's answers: a limit against the moment, winds in words, blocks flown, speeds to keep to."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import flown_saturday
import numpy as np
import pytest
import saturday

from samesky.apron import fields
from samesky.apron.blocks import counterpart, flown_blocks
from samesky.apron.gain import _longer
from samesky.apron.limits import OWN, all_hold, held, scrub_bounds
from samesky.apron.looks import _complete
from samesky.apron.outlier_check import outlier_check
from samesky.apron.speeds import ONE_AIRSPEED, ONE_LIFT, RESULT, UNKNOWN, _band, _reference, _rule, _says
from samesky.apron.today import _trend
from samesky.apron.wind import _across, _along, _side, _sizes
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.planning.scrub import ScrubLimit

KT = 1852 / 3600
#: Pieces of the sentences held here.
WORST, EITHER = "beyond it at the worst of it by", "crosswind 0 kt to 3 kt from either side"
SAME = "(the same on every run, whatever the weight; from the plan)"
LIKE, BEYOND = "the same lift coefficient on every run", "beyond the campaign's own limit: the limit stands."
NEITHER = "neither the runs nor the plan say which airspeed, or at which weight"


def knots(value: float) -> str:
    return f"{value:g} kt"


@pytest.mark.parametrize(
    ("bounds", "now", "margin", "holds", "says"),
    [
        ((None, 8.0), (3.0, 5.0), 3.0, True, "Wind 3 kt to 5 kt, allowed at most 8 kt: 3 kt to spare (mine)."),
        ((None, 8.0), (5.0, 5.0), 3.0, True, "Wind 5 kt, allowed at most 8 kt: 3 kt to spare (mine)."),
        ((None, 8.0), (5.0, 9.0), -1.0, False, f"Wind 5 kt to 9 kt, allowed at most 8 kt: {WORST} 1 kt (mine)."),
        ((None, 8.0), (9.0, 10.0), -2.0, False, "Wind 9 kt to 10 kt, allowed at most 8 kt: beyond it by 2 kt (mine)."),
        ((2.0, None), (1.0, 5.0), -1.0, False, f"Wind 1 kt to 5 kt, allowed at least 2 kt: {WORST} 1 kt (mine)."),
        ((2.0, 8.0), (2.0, 8.0), 0.0, True, "Wind 2 kt to 8 kt, allowed 2 kt to 8 kt: 0 kt to spare (mine)."),
        ((2.0, 8.0), (4.0, 5.0), 2.0, True, "Wind 4 kt to 5 kt, allowed 2 kt to 8 kt: 2 kt to spare (mine)."),
        ((9.0, 8.0), (8.5, 8.5), -0.5, False, "Wind 8.5 kt, allowed no usable limit here: beyond it by 0.5 kt (mine)."),
    ],
)  # fmt: skip
def test_a_limit_against_the_moment(bounds, now, margin, holds, says):
    found = held("wind", "mine", bounds, now, knots)
    assert (found.margin, found.holds, found.says) == (pytest.approx(margin), holds, says)
    assert (found.low, found.high) == bounds


def test_a_limit_that_nobody_can_tell_and_none_at_all():
    found = held("wind", "mine", (None, 8.0), None, knots, "no heading is entered")
    assert found.says == "Wind is allowed at most 8 kt, but no heading is entered (mine)."
    assert found.holds is None
    assert math.isnan(found.margin)
    assert held("wind", "mine", (None, None), (1.0, 1.0), knots) is None
    assert held("wind", "mine", (-math.inf, math.inf), (1.0, 1.0), knots) is None
    # A last digit is no reason to scrub; spare sizes may be written otherwise.
    assert held("wind", "mine", (None, 8.0), (8.0 + 1e-10, 8.0 + 1e-10), knots).holds
    assert not held("wind", "mine", (None, 8.0), (8.0 + 1e-7, 8.0 + 1e-7), knots).holds
    assert (
        held("oat", "mine", (None, 288.15), (287.15, 287.15), knots, spare=lambda x: f"{x:g} K").says.count("1 K to")
        == 1
    )


@pytest.mark.parametrize(
    ("answers", "all_of_them"),
    [((True, True), True), ((True, False, None), False), ((True, None), None), ((), None)],
)
def test_whether_all_hold(answers, all_of_them):
    assert all_hold(SimpleNamespace(holds=one) for one in answers) is all_of_them


def test_limits_of_the_plan_that_can_be_met():
    def limit(condition, rule="derived", high=3.0, measure="takeoff_roll"):
        return ScrubLimit(condition, measure, -math.inf, high, 0.0, rule, "a test")

    wanted = SimpleNamespace(asked=SimpleNamespace(measure=SimpleNamespace(title="take-off roll")), name="takeoff_roll")
    plan = SimpleNamespace(
        limits=(
            limit("headwind"), limit("oat"), limit("crosswind", "papers"), limit("headwind", high=math.inf),
            limit("headwind", measure="static_pull"),
        ),
        question=SimpleNamespace(wanted=(wanted,)),
    )  # fmt: skip
    found = scrub_bounds(plan, ("headwind", "crosswind"))
    assert [(one.condition, whose) for one, whose in found] == [
        ("headwind", "the plan, for the take-off roll: a test"), ("headwind", "the plan, for the static pull: a test"),
    ]  # fmt: skip
    assert scrub_bounds(None, ("headwind",)) == []


@pytest.mark.parametrize(
    ("ends", "along", "side", "across", "sizes"),
    [
        ((3.0, 5.0), "headwind 3 kt to 5 kt", "right", "crosswind 3 kt to 5 kt from the right", (3.0, 5.0)),
        ((4.0, 4.0), "headwind 4 kt", "right", "crosswind 4 kt from the right", (4.0, 4.0)),
        ((-5.0, -3.0), "tailwind 3 kt to 5 kt", "left", "crosswind 3 kt to 5 kt from the left", (3.0, 5.0)),
        ((-2.0, 3.0), "tailwind 2 kt to headwind 3 kt", "either side", EITHER, (0.0, 3.0)),
        ((-3.0, 2.0), "tailwind 3 kt to headwind 2 kt", "either side", EITHER, (0.0, 3.0)),
        ((0.0, 0.0), "headwind 0 kt", "none", "no crosswind", (0.0, 0.0)),
        ((-0.001, 0.002), "headwind 0.001 kt to 0.002 kt", "none", "no crosswind", (0.0, 0.002)),
        ((0.0, 2.0), "headwind 0 kt to 2 kt", "right", "crosswind 0 kt to 2 kt from the right", (0.0, 2.0)),
        ((-2.0, 0.0), "tailwind 2 kt to headwind 0 kt", "left", "crosswind 0 kt to 2 kt from the left", (0.0, 2.0)),
    ],
)  # fmt: skip
def test_winds_in_words(ends, along, side, across, sizes):
    assert _along(ends, knots) == along
    assert _side(ends) == side
    assert _across(ends, knots) == across
    assert _sizes(ends) == pytest.approx(sizes)
    assert _side(None) == ""


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("240", 240),
        ("0", 0),
        ("360", 360),
        ("240°", 240),
        ("90 deg", 90),
        ("210-270", (210, 270)),
        ("210V270", (210, 270)),
        ("350 to 20", (350, 20)),
        ("VRB", None),
        ("variable", None),
    ],
)
def test_where_a_wind_comes_from(text, found):
    told = fields.direction("from", text)
    if found is None:
        assert told is None
    else:
        assert np.degrees(told) == pytest.approx(found)


@pytest.mark.parametrize(
    ("text", "said"),
    [("361", "found '361'"), ("-1", "found"), ("210-400", "found"), ("north", "found"), ("", "nothing is written")],
)
def test_what_is_no_direction(text, said):
    with pytest.raises(CampaignError, match=said):
        fields.direction("from", text)


def test_what_is_believable_of_a_field():
    assert fields.bounded("wind", 10.0, 0.0, 10.0, "kt", "speed") == 10.0
    assert fields.bounded("wind", -3.0, None, 10.0, "kt", "speed") == -3.0
    assert fields.bounded("wind", 30.0, 0.0, None, "kt", "speed") == 30.0
    assert fields.believable("oat", 288.15, "degC") == 288.15
    for value, said in (
        (10.1, "kt"),
        (-0.1, "kt"),
        (math.nan, "found no number"),
        (math.inf, "found no number"),
        (None, "nothing is written"),
    ):
        with pytest.raises(CampaignError, match=said):
            fields.bounded("wind", value, 0.0, 10.0, "kt", "speed")
    assert fields.number("wind", " 12,5 ", "speed", "kt") == pytest.approx(12.5 * KT)
    assert fields.number("oat", "54 °F", "temperature", "degC") == pytest.approx(285.372, abs=1e-3)
    assert fields.number("wind", "  ", "speed", "kt") is None
    with pytest.raises(CampaignError, match="fast"):
        fields.number("wind", "fast", "speed", "kt")


def test_units_that_the_pilot_writes(tmp_path):
    campaign = read(flown_saturday.write(tmp_path / "c", flown_saturday.rows("AB")))
    assert fields.unit_of(campaign, ("headwind", "gust"), "speed", "m/s") == "kt"
    assert fields.unit_of(campaign, ("no such",), "speed", "m/s") == "m/s"
    assert fields.unit_of(campaign, ("fuel",), "mass", "kg") == "kg"
    assert (fields.mass_unit(campaign), fields.arm_unit(campaign), fields.fuel_unit(campaign)) == ("kg", "m", "L")
    assert fields.fuel_words(campaign, 36.0) == "50.0 L"
    assert fields.fuel_density(campaign) == pytest.approx(720.0)
    bare = replace(campaign, loading=None, tables={}, plan=None)
    assert (fields.fuel_unit(bare), fields.fuel_density(bare)) == ("L", pytest.approx(720.0, rel=0.01))
    planned = replace(campaign, tables={}, plan=replace(campaign.plan, fuel_unit="kg"))
    assert fields.fuel_words(planned, 36.0) == "36.0 kg"
    assert fields.strip(campaign).name == fields.strip(campaign, "27").name == "27"
    assert fields.strip(replace(campaign, runways={})) is None
    with pytest.raises(CampaignError, match="09"):
        fields.strip(campaign, "09")
    assert fields.configured(campaign, "B") == "B"
    with pytest.raises(CampaignError, match="'C'"):
        fields.configured(campaign, "C")


# -- blocks ------------------------------------------------------------------------------------------------------------


def test_blocks_and_the_run_that_stands_where_the_next_will(tmp_path):
    campaign = read(flown_saturday.write(tmp_path / "c", flown_saturday.rows("ABA", 3)))
    blocks = flown_blocks(campaign)
    assert [(one.configuration, one.installation, one.day, len(one.runs)) for one in blocks] == [
        ("A", 0, 0, 3),
        ("B", 1, 0, 3),
        ("A", 2, 0, 3),
    ]
    # The next of B begins a block: it stands as the first of the last A. The next of A is the fourth: the last of B.
    assert counterpart(campaign, "B")[1] == 6
    assert counterpart(campaign, "A")[1] == 5
    assert flown_blocks(replace(campaign, tables={})) == []


@pytest.mark.parametrize(
    ("runs", "expected"),
    [
        (0, (0, None)),
        (2, (0, (2, 4))),
        (4, (1, None)),
        (5, (1, (1, 4))),
        (8, (2, None)),
        (12, (3, None)),
        (13, (4, None)),
    ],
)
def test_blocks_of_a_plan_that_are_complete_where_changing_is_free(runs, expected):
    table = SimpleNamespace(rows=range(runs))
    campaign = SimpleNamespace(fitted_anew=False, tables={"roll": table} if runs else {})
    assert _complete(campaign, [], "roll", [4, 4, 4]) == expected


@pytest.mark.parametrize(
    ("flown", "expected"),
    [
        ((), (0, None)),
        ((4,), (1, None)),
        ((4, 3), (1, (3, 5))),
        ((4, 5), (2, None)),
        ((4, 5, 4), (2, (4, 5))),
        ((4, 6), (2, None)),
    ],
)
def test_blocks_of_a_plan_that_are_complete_where_parts_are_fitted(flown, expected):
    roll, climb = (SimpleNamespace(measure=SimpleNamespace(name=name)) for name in ("roll", "climb"))
    blocks = [SimpleNamespace(runs=[(roll, 0)] * n + [(climb, 0)] * 2) for n in flown]
    assert _complete(SimpleNamespace(fitted_anew=True), blocks, "roll", [4, 5]) == expected


def test_one_more_block_is_flown_at_the_mean_readings(tmp_path):
    campaign = read(flown_saturday.write(tmp_path / "c", flown_saturday.rows("AB", 3)))
    table = campaign.tables["takeoff_roll"]
    longer = _longer(campaign, table, ("A", "B"), 2, 1.0)
    assert list(longer.configuration[6:]) == ["A", "A", "B", "B"]
    assert longer.installation.tolist() == [0, 0, 0, 1, 1, 1, 2, 2, 3, 3]
    assert longer.hours[6:] - table.hours[-1] == pytest.approx([0.25, 0.5, 0.75, 1.0])
    assert longer.rows[6:].tolist() == (table.rows[-1] + np.arange(1, 5)).tolist()
    assert longer.columns["ground roll"][6:] == pytest.approx(np.full(4, table.columns["ground roll"].mean()))
    assert longer.text["run"][6:] == ["next 1", "next 2", "next 3", "next 4"]
    assert longer.text["exclude"][6:] == [""] * 4
    assert longer.day.tolist() == [0] * 10
    # Where parts are fitted anew the same configuration again is another fitting; where changing is free it is not.
    assert _longer(campaign, table, ("B",), 2, 1.0).installation[6:].tolist() == [2, 2]
    free = replace(campaign, fitted_anew=False)
    assert _longer(free, table, ("B", "A"), 1, 1.0).installation[6:].tolist() == [1, 2]


# -- runs and winds ----------------------------------------------------------------------------------------------------


def test_a_run_stands_out_below_one_in_a_hundred_and_nothing_is_said_of_two():
    """t = (y - mean) / (s sqrt(1 + 1/n)): 2 from three of mean 1 and scatter 1."""
    found = outlier_check(3.0, np.array([0.0, 1.0, 2.0, np.nan]))
    assert (found.others, found.mean, found.scatter) == (3, 1.0, 1.0)
    assert found.t == pytest.approx(2.0 / math.sqrt(4.0 / 3.0))
    assert outlier_check(3.0, np.array([0.0, 1.0])) is None
    assert outlier_check(math.nan, np.arange(3.0)) is None
    assert replace(found, p=0.0099).stands_out
    assert not replace(found, p=0.01).stands_out
    assert not replace(found, p=math.nan).stands_out


def test_a_trend_of_the_wind_is_a_straight_line_through_the_day():
    hours = np.array([7.0, 7.5, 8.0, 8.5])
    head = (np.array([4.0, 3.0, 2.0, 1.0])) * KT
    table = SimpleNamespace(
        hours=hours, columns={"headwind": head, "crosswind": np.array([-1.0, -2.0, -3.0, -4.0]) * KT}
    )
    runs = [(table, k) for k in range(4)]
    tail = _trend(runs, "tailwind", OWN, (None, 2.0 * KT), 1.0, "kt")
    assert (tail.readings, tail.now / KT, tail.rate / KT, tail.then / KT) == pytest.approx((4, -1.0, 2.0, 1.0))
    assert tail.limit.holds
    cross = _trend(runs, "crosswind", OWN, (None, 5.5 * KT), 1.0, "kt")
    assert (cross.rate / KT, cross.then / KT, cross.limit.holds) == (pytest.approx(2.0), pytest.approx(6.0), False)
    assert cross.limit.now == pytest.approx((4.0 * KT, 6.0 * KT))
    assert cross.limit.condition == "crosswind by the end of one more block"
    assert _trend(runs, "crosswind", OWN, (None, None), 1.0, "kt") is None
    assert _trend(runs, "gust", OWN, (None, 9.0), 1.0, "kt") is None
    assert _trend(runs[:1] * 4, "headwind", OWN, (None, 9.0), 1.0, "kt") is None, "at one clock nothing trends"


# -- speeds ------------------------------------------------------------------------------------------------------------

LIFT = "lift-off airspeed"


@pytest.fixture(scope="module")
def unflown(tmp_path_factory):
    return read(saturday.write(tmp_path_factory.mktemp("speeds")), flown=False)


def test_which_speed_is_kept_to_and_where_it_is_from(unflown):
    """What is entered for a configuration, then the plan, the reference, the mean of the runs, then nothing."""
    own = {**unflown.configurations, "B": replace(unflown.configurations["B"], own_speeds={LIFT: 21.0})}
    entered = replace(unflown, configurations=own, reference={LIFT: 19.0})
    assert _reference(entered, "takeoff_roll", LIFT, "B", {LIFT: 18.0}) == (21.0, "what is entered for B")
    assert _reference(entered, "takeoff_roll", LIFT, "A", {LIFT: 18.0}) == (pytest.approx(38 * KT), "the plan")
    unplanned = replace(entered, plan=None)
    assert _reference(unplanned, "takeoff_roll", LIFT, None, {LIFT: 18.0}) == (
        19.0,
        "the reference entered under Question",
    )
    silent = replace(unplanned, reference={})
    assert _reference(silent, "takeoff_roll", LIFT, "A", {LIFT: 18.0}) == (18.0, "the mean of the runs that count")
    assert _reference(silent, "takeoff_roll", LIFT, "A", {}) == (None, "nothing")


def test_what_the_reduction_takes_for_granted_of_a_speed(unflown):
    roll, climb = unflown.asked["takeoff_roll"], unflown.asked["timed_climb"]
    assert _rule(unflown, roll, LIFT) == ONE_AIRSPEED
    unread = replace(unflown, plan=None)
    assert _rule(unread, roll, LIFT) == ONE_LIFT
    assert _rule(unflown, climb, "airspeed") == _rule(unread, climb, "airspeed") == ONE_AIRSPEED
    assert _rule(unflown, climb, "entry airspeed") == RESULT
    table = SimpleNamespace(columns={LIFT: np.ones(2)})
    assert _rule(replace(unread, tables={"takeoff_roll": table}), roll, LIFT) == ONE_AIRSPEED
    assert _rule(replace(unflown, tables={"takeoff_roll": SimpleNamespace(columns={})}), roll, LIFT) == ONE_LIFT


def test_the_narrowest_band_of_all(unflown):
    """The correction is believed within 10 % of the lift-off speed kept to."""
    roll = unflown.asked["takeoff_roll"]
    (own,) = [limit for limit in roll.measure.limits if limit.correction == LIFT]
    assert _band(unflown, roll, LIFT, 20.0, None) == pytest.approx((own.low * 20.0, own.high * 20.0))
    assert _band(unflown, roll, LIFT, None, None) == (None, None)
    limited = replace(unflown, limits={LIFT: (19.0, None)})
    assert _band(limited, roll, LIFT, 20.0, None) == pytest.approx((19.0, own.high * 20.0))
    limits = (
        ScrubLimit(LIFT, "takeoff_roll", 19.5, math.inf, 20.0, "derived", ""),
        ScrubLimit(LIFT, "landing_roll", 19.9, 20.1, 20.0, "derived", ""),
        ScrubLimit("airspeed", "takeoff_roll", 19.9, 20.1, 20.0, "derived", ""),
        ScrubLimit(LIFT, "takeoff_roll", -math.inf, 20.5, 20.0, "derived", ""),
    )
    assert _band(unflown, roll, LIFT, 20.0, SimpleNamespace(limits=limits)) == (19.5, 20.5)


@pytest.mark.parametrize(
    ("rule", "speeds", "weights", "says"),
    [
        (RESULT, (None,) * 5, "", "Roll: none to hold; it is what the run finds out."),
        (ONE_AIRSPEED, (38.0, 38.0, 38.0, 36.0, 40.0), "520 kg",
         f"Roll: 38 kt as indicated, within 36 kt to 40 kt {SAME}."),
        (ONE_AIRSPEED, (38.0, 38.0, 39.0, 36.0, None), "520 kg",
         f"Roll: 38 kt as indicated {SAME}. The same lift coefficient would be 39 kt at 520 kg."),
        (ONE_AIRSPEED, (37.0, 38.0, None, None, 40.0), "520 kg",
         f"Roll: 37 kt as indicated {SAME}. The rule alone gives 38 kt, {BEYOND}"),
        (ONE_LIFT, (39.0, 39.0, 38.0, None, None), "520 kg",
         f"Roll: 39 kt as indicated ({LIKE}, at 520 kg; from the plan)."),
        (UNKNOWN, (None,) * 5, "", f"Roll: not known, as {NEITHER}."),
    ],
)  # fmt: skip
def test_a_speed_in_words(rule, speeds, weights, says):
    assert _says("Roll", rule, speeds, "the plan", weights, 1.2, knots) == says


def test_an_unknown_speed_says_what_weight_does_to_it():
    said = _says("Roll", UNKNOWN, (None,) * 5, "nothing", "520 kg", -1.2, knots)
    assert "it is -1.2 % at the same lift coefficient" in said
    assert "nothing says which airspeed the others were flown at" in said
