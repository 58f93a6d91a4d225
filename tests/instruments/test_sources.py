"""Documented error sources: where print gives a tolerance, the standard uncertainty follows from it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from samesky.instruments import airspeed_indicator, satellite_speed, stopwatch
from samesky.instruments.sources import SCOPES, ErrorSource, rectangular
from samesky.measures import MEASURES, default_sources
from samesky.published.registry import check, row

FOOT, KNOT = 0.3048, 1852 / 3600
SOURCES = default_sources()


def find(name, target) -> ErrorSource:
    return next(source for source in SOURCES if (source.name, source.target) == (name, target))


def test_sources_are_well_formed():
    assert len(SOURCES) > 40
    assert {source.scope for source in SOURCES} == set(SCOPES)
    assert all(source.source for source in SOURCES)
    assert len({(s.name, s.target, s.measures) for s in SOURCES}) == len(SOURCES), "one name and target twice"
    assert {name for source in SOURCES for name in source.measures} <= set(MEASURES)


def test_every_named_row_is_in_the_registry():
    import re

    for source in SOURCES:
        for row_id in re.findall(r"\b(?:[A-Z]\d{2}|T\d-\d{3})\b", source.source):
            assert row(row_id).id == row_id


def test_every_target_is_a_column_or_the_result():
    known = {"result", "pressure", "weight"} | {c.name for measure in MEASURES.values() for c in measure.columns}
    from samesky.measures.columns import COMMON

    assert {source.target for source in SOURCES} <= known | {column.name for column in COMMON}


def test_rectangular_tolerance():
    # JCGM 100:2008 4.3.7: a/root(3); numerically, the scatter of a million even draws.
    draws = np.random.default_rng(5).uniform(-2.0, 2.0, 1_000_000)
    assert rectangular(2.0) == pytest.approx(draws.std(), rel=2e-3)


def test_stopwatch_against_print():
    u = find("stopwatch", "elapsed").standard_uncertainty
    found = check("I06", (100 * u / 65.0, 100 * u / 7.5))
    assert found.agrees, found
    hand = max(row("I01").numbers[1], row("I01").numbers[3], row("I02").numbers[1])
    assert hand < stopwatch.ONE_INSTANT < 2 * hand, "a needle is harder to time than a sprinter, not twice as hard"


def test_altimeter_scale_against_print():
    assert find("altimeter scale at the start", "from").standard_uncertainty == pytest.approx(
        row("N01").value * FOOT / math.sqrt(3)
    )
    reading = find("altimeter reading at the start", "from").standard_uncertainty
    assert reading < rectangular(row("N03").numbers[0] * FOOT), "below what friction may do to a still instrument"


def test_knot_against_print():
    found = check("T6-017", airspeed_indicator.KNOT / FOOT)
    assert found.agrees, found


def test_airspeed_system_against_print():
    assert "5 kt" in row("N04").printed
    assert find("airspeed system", "airspeed").standard_uncertainty == pytest.approx(5 * KNOT / math.sqrt(3))


def test_satellite_speed_against_print():
    receiver = row("I07").value / 2
    rounding = 0.29 * KNOT  # half a knot, rectangular: 0.29 kt
    assert pytest.approx(math.hypot(receiver, rounding), rel=0.01) == satellite_speed.GROUND_SPEED


def test_camera_frames_against_print():
    # I13: a thirtieth of a second, even: 0.0096 s, 0.19 m at 19.5 m/s. A camera does better than observers.
    frame = rectangular(0.5 / 30)
    assert f"{frame:.4f} s" in row("I13").printed
    assert f"{frame * 19.5:.2f} m" in row("I13").printed
    assert frame * 19.5 < find("start and end of the roll", "ground roll").standard_uncertainty


def test_rigging_follows_from_the_pitch_setting():
    # 0.3 degrees at 3/4 radius of P/D 0.5 and 0.6: dp/p = db/(sin b cos b), tan b = (P/D)/(0.75 pi)
    blade = np.arctan(np.array([0.5, 0.6]) / (0.75 * np.pi))
    pitch = np.radians(0.3) / (np.sin(blade) * np.cos(blade))
    assert pitch == pytest.approx(0.02, rel=0.35)
    for measure, per_pitch in {"takeoff_roll": 0.50, "static_pull": 0.46, "timed_climb": 0.42}.items():
        source = next(s for s in SOURCES if s.name == "fitting error" and s.measures == (measure,))
        assert source.scope == "installation"
        assert source.standard_uncertainty == pytest.approx(per_pitch * rectangular(0.02), rel=0.2)


def test_drifts_come_in_pairs():
    for measure in MEASURES:
        scopes = {s.scope for s in SOURCES if s.name.endswith(" drift") and s.applies_to(measure)}
        assert scopes == {"straight drift", "wandering"}


def test_bad_sources_are_refused():
    with pytest.raises(ValueError, match="scope"):
        ErrorSource("x", "result", 0.1, "afternoon", "test")
    with pytest.raises(ValueError, match="zero or more"):
        ErrorSource("x", "result", -0.1, "run", "test")
    with pytest.raises(ValueError, match="degrees of freedom"):
        ErrorSource("x", "result", 0.1, "run", "test", degrees_of_freedom=0)


#: What each default says of itself in words, and the standard uncertainty that this is in SI: +- and "to the nearest"
#: are even within the limits (over root three, JCGM 100:2008, 4.3.7), a plain size is one standard uncertainty.
SAID = [
    ("fuel flow reading", "fuel flow", "1 %", 0.01),
    ("fuel meter factor", "fuel flow", "+-3 %", 0.03 / math.sqrt(3)),
    ("tachometer reading", "rpm", "nearest 20 rpm", 10 / 60 / math.sqrt(3)),
    ("tachometer", "rpm", "+-2 %", 0.02 / math.sqrt(3)),
    ("slope of the strip", "slope", "0.2 %", 0.002),
    ("pull reading", "pull", "0.5 %", 0.005),
    ("scale", "pull", "+-1 %", 0.01 / math.sqrt(3)),
    ("stopwatch", "elapsed", "0.1 s at each end", math.sqrt(0.1**2 + 0.1**2)),
    ("altimeter setting", "pressure", "whole hectopascal", 50 / math.sqrt(3)),
    ("altimeter setting elsewhere", "pressure", "1 hPa", 100 / math.sqrt(3)),
    ("altimeter reading at the start", "from", "10 ft at each end", 10 * FOOT),
    ("altimeter reading at the end", "to", "10 ft at each end", 10 * FOOT),
    ("altimeter scale at the start", "from", "+-20 ft", 20 * FOOT / math.sqrt(3)),
    ("altimeter scale at the end", "to", "+-25 ft", 25 * FOOT / math.sqrt(3)),
    ("altimeter scale", "altitude", "+-30 ft", 30 * FOOT / math.sqrt(3)),
    ("thermometer reading", "oat", "to the degree", 1 / math.sqrt(3)),
    ("thermometer calibration", "oat", "+-2 degC", 2 / math.sqrt(3)),
    ("dew point", "dew point", "+-3 degC", 3 / math.sqrt(3)),
    ("airspeed reading", "lift-off airspeed", "0.8 kt", 0.8 * KNOT),
    ("airspeed reading", "touch-down airspeed", "0.8 kt", 0.8 * KNOT),
    ("airspeed reading", "airspeed", "0.5 kt", 0.5 * KNOT),
    ("airspeed reading at entry", "entry airspeed", "0.5 kt", 0.5 * KNOT),
    ("airspeed reading at exit", "exit airspeed", "0.5 kt", 0.5 * KNOT),
    ("wind reading", "headwind", "0.8 kt", 0.8 * KNOT),
    ("height of the wind reading", "headwind", "a tenth of itself", 0.1),
    ("ground speed on leg 3", "speed 3", "0.2 m/s at 95 % (row I07) and a display in whole knots",
     math.hypot(0.1, 0.5 * KNOT / math.sqrt(3))),
    ("track of leg 8", "track 8", "whole degrees, held to half a degree",
     math.radians(math.hypot(0.5 / math.sqrt(3), 0.5))),
]  # fmt: skip


@pytest.mark.parametrize(("name", "target", "words", "size"), SAID)
def test_a_default_is_as_large_as_its_own_sentence_says(name, target, words, size):
    source = find(name, target)
    assert words in source.source
    assert source.standard_uncertainty == pytest.approx(size, rel=1e-9)
    assert source.relative == (("%" in words and "m/s" not in words and target != "slope") or "itself" in words)


def test_what_belongs_to_an_instrument_is_shared_by_the_campaign_and_what_the_eye_does_is_new_each_run():
    for source in SOURCES:
        if "reading" in source.name and source.name != "height of the wind reading":
            assert source.scope == "run", source.name
        if any(word in source.name for word in ("scale", "system", "factor", "calibration", "loading sheet", "tape")):
            assert source.scope == "campaign", source.name


def test_still_air_of_a_level_run_is_a_share_and_of_a_climb_a_rate():
    rising = {source.measures: source for source in SOURCES if source.name == "rising and sinking air"}
    climb, level = rising[("timed_climb", "idle_descent")], rising[("level_speed",)]
    assert "0.15 m/s" in climb.source
    assert (climb.standard_uncertainty, climb.relative) == (0.15, False)
    assert "0.4 %" in level.source
    assert (level.standard_uncertainty, level.relative) == (0.004, True)
