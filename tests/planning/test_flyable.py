"""A limit at which nobody flies is said in words: where it is cut off, and that a nearer one never is."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import saturday

from samesky.air.altimetry import qnh, static_pressure
from samesky.apron.limits import scrub_bounds
from samesky.campaign.reading.read import read
from samesky.planning.cards.html import cards
from samesky.planning.flyable import DOES_NOT_BIND, SUBSCALE, binds, flyable
from samesky.planning.output import to_json as machine
from samesky.planning.output import words
from samesky.planning.plan import plan
from samesky.planning.scrub import ScrubLimit

KT = 1852 / 3600
INHG = 3386.389  # Pa, NIST SP 811 (2008), table B.8
ELEVATION = 300 * 0.3048


#: At 3 % wind along the line of pull matters from some 9 kt of gusts on; at 10 % beyond anything flown in.
COARSE_PULL = ('smallest_difference_that_matters = "3 %"', 'smallest_difference_that_matters = "10 %"')


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return plan(read(saturday.write(tmp_path_factory.mktemp("saturday"), COARSE_PULL), flown=False))


def limit(condition, low, high, middle=0.0):
    return ScrubLimit(condition, "takeoff_roll", low, high, middle, "derived", "a test")


def ends(question, *given):
    found = flyable(question, limit(*given))
    return found.low, found.high


def test_the_subscale_of_an_altimeter():
    assert pytest.approx((28.1 * INHG, 31.0 * INHG), abs=1.0) == SUBSCALE


def test_weights_that_no_run_has_bind_nobody(made):
    """Saturday: 330 kg empty, 154 kg of crew, 560 kg at most; B is half a kilogram heavier than A."""
    assert ends(made.question, "weight", 483.0, 561.0) == (-math.inf, math.inf)
    assert ends(made.question, "weight", 485.0, 559.0) == (485.0, 559.0)
    assert ends(made.question, "weight", 483.0, 559.0) == (-math.inf, 559.0)
    assert flyable(made.question, limit("weight", 500.0, 490.0)) == limit("weight", 500.0, 490.0)


def test_a_pressure_that_no_subscale_shows_binds_nobody(made):
    """QNH 1017.5 hPa in the middle of the hours; at 300 ft the pressure itself is some 11 hPa less."""
    here = float(static_pressure(101_750.0, ELEVATION))
    for at, bound in ((950.0, False), (953.0, True)):
        low, _ = ends(made.question, "pressure", float(static_pressure(100 * at, ELEVATION)), 1e6, here)
        assert math.isfinite(low) == bound
    for at, bound in ((1051.0, False), (1048.0, True)):
        _, high = ends(made.question, "pressure", 0.0, float(static_pressure(100 * at, ELEVATION)), here)
        assert math.isfinite(high) == bound
    assert float(qnh(here, ELEVATION)) == pytest.approx(101_750.0)


def test_gusts_that_nobody_flies_in_are_no_number_anywhere(made):
    """By its own arithmetic a static pull that may be 10 % off minds gusts from 30 kt on; the roll from 3 kt on."""
    gusts = {one.measure: one for one in made.limits if one.condition == "gust spread"}
    assert gusts["static_pull"].high == math.inf
    assert gusts["takeoff_roll"].high < 5 * KT
    assert words.within(made.question, gusts["static_pull"]) == DOES_NOT_BIND
    told = {(one["condition"], one["measure"]): one for one in machine.to_json(made)["limits"]}
    assert told["gust spread", "static_pull"]["high"] is None
    assert [one.measure for one, _ in scrub_bounds(made, ["gust spread"])] == ["takeoff_roll"]
    for card in cards(made):
        assert DOES_NOT_BIND not in {band for _, band, _ in card.limits}


def test_where_only_such_gusts_are_limited_the_words_stand_in_the_table(made):
    only = replace(made, limits=tuple(one for one in made.limits if one.measure != "takeoff_roll"))
    said = {(one.condition, one.measure): words.within(made.question, one) for one in words.worth_saying(only)}
    assert said["gust spread", "static_pull"] == DOES_NOT_BIND
    assert ("gust spread", "static_pull") not in {(one.condition, one.measure) for one in words.worth_saying(made)}


def test_no_limit_in_the_table_is_wider_than_anybody_flies(made):
    for one in words.worth_saying(made):
        text = words.within(made.question, one)
        assert (text == DOES_NOT_BIND) == (not binds(one))
        assert "inf" not in text
        if text.endswith("kt") and "airspeed" not in one.condition:
            assert abs(float(text.split()[-2])) <= 12.0 / KT
