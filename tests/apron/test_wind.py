"""The wind on the day: a printed wind-component chart, plane trigonometry, worst cases over ranges, limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
import saturday

from samesky.apron import direction, wind_now
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.planning.plan import plan
from samesky.published.registry import check

KT, DEG = 1852 / 3600, math.pi / 180
LIMITS = '\n[limits]\nheadwind = "5 kt"\ntailwind = "2 kt"\ncrosswind = "6 kt"\ngust = "12 kt"\n\n[plan]\n'


@pytest.fixture(scope="module")
def campaign(tmp_path_factory):
    return read(saturday.write(tmp_path_factory.mktemp("wind"), ("\n[plan]\n", LIMITS)), flown=False)


def limit(found, condition, whose="own"):
    return next(one for one in found.limits if one.condition.startswith(condition) and whose in one.whose)


def on(tmp_path, heading):
    return read(saturday.write(tmp_path / "c", ('"270 deg"', f'"{heading} deg"')), flown=False)


def test_wind_component_chart_of_the_handbook(tmp_path):
    """FAA-H-8083-25B ch. 11, Sample Problem 10: runway 17, wind 140 degrees at 25 kt (rows T1-251, T1-252)."""
    found = wind_now(on(tmp_path, 170), 25 * KT, 140 * DEG)
    assert check("T1-251", found.headwind[0] / KT).agrees
    assert check("T1-252", -found.crosswind[0] / KT).agrees
    assert found.side == "left"
    assert found.headwind[0] == found.headwind[1]


def test_magnetic_directions_are_made_true(tmp_path):
    """Runway 170 true; 130 degrees magnetic with 10 degrees of easterly variation is the chart's 140 true."""
    found = wind_now(on(tmp_path, 170), 25 * KT, 130 * DEG, variation=10 * DEG)
    assert check("T1-251", found.headwind[0] / KT).agrees
    assert "true" in found.notes[0]


def test_gusts_come_from_where_the_wind_does(campaign):
    found = wind_now(campaign, 6 * KT, 300 * DEG, gust=10 * KT)
    assert found.gust_headwind[0] == pytest.approx(10 * KT * math.cos(30 * DEG))
    assert found.gust_crosswind[0] == pytest.approx(10 * KT * math.sin(30 * DEG))
    assert found.side == "right"


@pytest.mark.parametrize(("low", "high"), [(250, 290), (201, 304), (350, 20), (80, 100), (170, 370 - 360)])
def test_the_worst_of_a_range_of_directions(campaign, low, high):
    """Against a fine search over the arc, clockwise from the first to the second."""
    found = wind_now(campaign, 8 * KT, (low * DEG, high * DEG))
    arc = (low + np.linspace(0, (high - low) % 360, 200_001)) * DEG - 270 * DEG
    for ends, part in ((found.headwind, np.cos(arc)), (found.crosswind, np.sin(arc))):
        assert ends == pytest.approx((8 * KT * part.min(), 8 * KT * part.max()), abs=1e-6)


def test_a_wind_from_anywhere_may_blow_across_or_behind(campaign):
    found = wind_now(campaign, 4 * KT, None)
    assert found.headwind == pytest.approx((-4 * KT, 4 * KT))
    assert found.crosswind == pytest.approx((-4 * KT, 4 * KT))
    assert limit(found, "tailwind").holds is False
    assert "at the worst of it" in limit(found, "tailwind").says
    assert found.holds is False


def test_safety_is_held_against_the_gust_and_the_correction_against_the_mean(campaign):
    found = wind_now(campaign, 5 * KT, 330 * DEG, gust=8 * KT)
    cross = limit(found, "crosswind")
    assert cross.holds is False
    assert cross.margin == pytest.approx((6 - 8 * math.sin(60 * DEG)) * KT)
    assert limit(found, "headwind").holds is True
    assert limit(found, "headwind").margin == pytest.approx((5 - 2.5) * KT)
    # [plan] crosswind limit = 8 kt
    papers = limit(found, "crosswind", "of the plan")
    assert papers.holds is True
    assert papers.margin == pytest.approx((8 - 8 * math.sin(60 * DEG)) * KT)
    assert limit(found, "gust").margin == pytest.approx(4 * KT)


def test_a_tailwind_gust_is_worse_than_the_mean(campaign):
    found = wind_now(campaign, 1.5 * KT, 90 * DEG, gust=3 * KT)
    assert limit(found, "tailwind").margin == pytest.approx(-1 * KT)
    assert limit(found, "tailwind").now[1] == pytest.approx(3 * KT)
    assert "Tailwind" in limit(found, "tailwind").says


def test_a_wind_on_the_limit_is_inside(campaign):
    assert limit(wind_now(campaign, 5 * KT, 270 * DEG), "headwind").holds is True


def test_the_plans_limits_to_scrub_at(campaign):
    planned = plan(campaign)
    found = wind_now(campaign, 4 * KT, 270 * DEG, gust=9 * KT, plan=planned)
    theirs = {one.condition: one for one in planned.limits if one.measure == "takeoff_roll"}
    gust = limit(found, "gust less mean", "take-off roll")
    assert gust.high == theirs["gust spread"].high
    assert gust.now == pytest.approx((5 * KT, 5 * KT))
    head = limit(found, "headwind", "take-off roll")
    assert (head.low, head.high) == (theirs["headwind"].low, theirs["headwind"].high)
    assert head.holds == (theirs["headwind"].low <= 4 * KT <= theirs["headwind"].high)


def test_without_a_heading_nobody_can_tell(tmp_path):
    changes = (("\n[plan]\n", LIMITS), ('heading = "270 deg"\n', ""), ('wind_from = "290 deg"\n', ""))
    found = wind_now(read(saturday.write(tmp_path / "c", *changes), flown=False), 5 * KT, 1.0)
    assert found.holds is None
    assert found.crosswind is None
    assert limit(found, "crosswind").holds is None
    assert math.isnan(limit(found, "crosswind").margin)
    assert "but the heading of 27 is not entered" in limit(found, "crosswind").says
    assert "heading of 27" in found.sentences[0]


DIRECTIONS = {
    "240": 240 * DEG,
    " 240 deg": 240 * DEG,
    "240°": 240 * DEG,
    "360": 2 * math.pi,
    "210-270": (210 * DEG, 270 * DEG),
    "210V270": (210 * DEG, 270 * DEG),
    "350 to 020": (350 * DEG, 20 * DEG),
    "VRB": None,
    "variable": None,
}


@pytest.mark.parametrize("text", DIRECTIONS)
def test_directions_as_people_write_them(text):
    assert direction("wind from", text) == DIRECTIONS[text]


@pytest.mark.parametrize("text", ["", "west", "400", "210-400", "-10", "nan", "1e999"])
def test_directions_that_are_none(text):
    with pytest.raises(CampaignError) as caught:
        direction("wind from", text)
    assert caught.value.finding.column == "wind from"


WRONG = {
    "a gust below the wind": ({"gust": 2.0}, "gust", "below the mean wind"),
    "a hurricane": ({"speed": 80.0}, "wind", "expected between 0 and"),
    "less than none": ({"speed": -1.0}, "wind", "expected between 0 and"),
    "no number": ({"speed": float("nan")}, "wind", "found no number"),
    "degrees for radians": ({"from_direction": 240.0}, "wind from", "expected between"),
    "variation in degrees": ({"variation": 10.0}, "variation", "expected between -60 and 60 deg"),
    "no such strip": ({"runway": "9"}, "runway", "no runway of this campaign"),
}


@pytest.mark.parametrize("name", WRONG)
def test_bad_readings_are_refused_at_their_field(campaign, name):
    given, field, words = WRONG[name]
    with pytest.raises(CampaignError) as caught:
        wind_now(campaign, **{"speed": 3.0, "from_direction": 1.0, **given})
    assert caught.value.finding.column == field
    assert words in caught.value.finding.sentence()


def test_a_gust_no_stronger_than_the_wind_is_believed_and_a_weaker_one_is_not(campaign):
    assert wind_now(campaign, 8 * KT, 270 * DEG, gust=8 * KT).gust_headwind[0] == pytest.approx(8 * KT)
    with pytest.raises(CampaignError, match="gust"):
        wind_now(campaign, 8 * KT, 270 * DEG, gust=7.9 * KT)
