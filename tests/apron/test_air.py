"""The air on the day: printed density altitudes, a reference library, the closed form of dry air, limits."""

from __future__ import annotations

from dataclasses import replace

import ambiance
import numpy as np
import pytest
import saturday

from samesky.air.atmosphere import geometric
from samesky.apron import air_now
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.reading.read import read
from samesky.planning.plan import plan
from samesky.published.registry import check, row

FT, INHG = 0.3048, 3386.389
LIMITS = ("\n[plan]\n", '\n[limits]\noat = ["5 degC", "20 degC"]\n\n[plan]\n')


@pytest.fixture(scope="module")
def campaign(tmp_path_factory):
    return read(saturday.write(tmp_path_factory.mktemp("air"), LIMITS), flown=False)


@pytest.fixture(scope="module")
def planned(campaign):
    return plan(campaign)


def test_density_altitude_chart_of_the_handbook(campaign):
    """FAA-H-8083-25A ch. 10, Sample Problem 1, row T1-244: dry air, as the chart has it."""
    found = air_now(campaign, oat=(70 - 32) / 1.8 + 273.15, pressure_altitude=5718 * FT)
    assert check("T1-244", found.density_altitude / FT).agrees
    assert not found.moist
    assert found.density_altitude == found.density_altitude_dry
    assert "dry air" in found.sentences[1]


def test_density_altitude_closed_form(campaign):
    """E. Williams' formula behind row T1-245, DA = PA + (Ts/L)(1 - (Ts/T)^0.23498), whose text rounds to 10 ft."""
    found = air_now(campaign, oat=291.15, pressure_altitude=8000 * FT)
    standard, lapse = 288.15 - 0.0065 * 8000 * FT, 0.0065
    closed = 8000 * FT + standard / lapse * (1 - (standard / 291.15) ** 0.234978)
    # The real gas is 0.04 % denser than p/(R T): 4e-4 of density is 13 ft at this height.
    assert found.density_altitude_dry / FT == pytest.approx(closed / FT, abs=16)
    assert found.density_altitude_dry / FT == pytest.approx(row("T1-245").value, abs=20)
    assert found.standard_temperature == pytest.approx(standard)


def test_pressure_altitude_from_the_altimeter_setting(tmp_path):
    """T5-024: elevation 800 ft, 29.72 inHg, about 1 000 ft."""
    folder = saturday.write(tmp_path / "c", ('elevation = "300 ft"', 'elevation = "800 ft"'))
    found = air_now(read(folder, flown=False), oat=288.15, qnh=29.72 * INHG)
    assert check("T5-024", found.pressure_altitude / FT).agrees
    assert found.runway == "27"


def test_moist_air_is_thinner_than_a_chart_says(campaign):
    """T2-065, the weather service's formula for 950 hPa, 35 degC and a dew point of 20 degC (40 ft: its constants)."""
    altitude = float(ambiance.Atmosphere.from_pressure(95000.0).H[0])
    found = air_now(campaign, oat=308.15, pressure_altitude=altitude, dew_point=293.15)
    assert found.pressure == pytest.approx(95000.0, rel=1e-5)
    assert found.density_altitude / FT == pytest.approx(row("T2-065").value, abs=40)
    assert found.moist
    assert found.density_altitude > found.density_altitude_dry + 50
    assert "moist air" in found.sentences[1]
    assert "for dry air" in found.sentences[2]


def test_what_is_said_of_air_taken_as_dry(campaign):
    """T2-067: at 30 degC and sea level saturated air is 538 ft of density altitude above dry air."""
    dry = air_now(campaign, oat=303.15, pressure_altitude=0.0)
    wet = air_now(campaign, oat=303.15, pressure_altitude=0.0, dew_point=303.15)
    assert wet.density_altitude / FT - dry.density_altitude / FT == pytest.approx(row("T2-067").value, abs=6)
    assert "about 540 ft" in dry.notes[0]


@pytest.mark.parametrize("altitude", [-200.0, 0.0, 1500.0, 4000.0])
def test_standard_air_against_a_reference_library(campaign, altitude):
    """ambiance: in standard air the density altitude is the pressure altitude, and the ratio sigma is the table's."""
    theirs = ambiance.Atmosphere(altitude)
    H = float(theirs.H[0])
    found = air_now(campaign, oat=float(theirs.temperature[0]), pressure_altitude=H)
    assert found.density_altitude == pytest.approx(H, abs=5)  # the real gas, 0.04 % of density
    assert found.density_ratio == pytest.approx(float(theirs.density[0]) / 1.225, rel=6e-4)
    assert found.pressure == pytest.approx(float(theirs.pressure[0]), rel=1e-6)


def test_limits_hold_or_not(campaign, planned):
    warm = air_now(campaign, oat=294.15, qnh=101800.0, plan=planned)
    own = next(limit for limit in warm.limits if "own" in limit.whose)
    assert own.holds is False
    assert own.margin == pytest.approx(-1.0)
    assert "beyond it by 1.0 degC (your own limits)" in own.says
    assert "allowed 5.0 degC to 20.0 degC" in own.says
    cold = next(one for one in air_now(campaign, oat=276.15, qnh=101800.0).limits if "own" in one.whose)
    assert cold.holds is False
    assert cold.margin == pytest.approx(-2.0)
    cool = air_now(campaign, oat=283.15, qnh=101800.0, plan=planned)
    assert all(limit.holds for limit in cool.limits)
    scrub = {(one.condition, one.low) for one in planned.limits if one.measure == "takeoff_roll"}
    assert ("oat", next(one.low for one in cool.limits if "take-off roll: " in one.whose)) in scrub
    # The correction's own range: density against that of the common sky, from the gas law.
    ratio = next(limit for limit in cool.limits if "density correction of the take-off" in limit.whose)
    sky = planned.trials["takeoff_roll"].reduction.sky
    assert ratio.now[0] == pytest.approx(101800 / 101750 * sky["oat"] / 283.15, abs=3e-4)
    assert (ratio.low, ratio.high) == (0.95, 1.05)


def test_a_pressure_limit_is_said_as_an_altimeter_setting(campaign, planned):
    # Power by pressure is known so well that the plan has no usable limit of it: one is given.
    statics = next(one for one in planned.limits if one.condition == "pressure" and one.measure == "static_pull")
    statics = replace(statics, low=98_000.0, high=103_000.0)
    found = air_now(campaign, oat=283.15, qnh=101800.0, plan=replace(planned, limits=(statics,)))
    limit = next(one for one in found.limits if one.condition == "QNH")
    assert limit.low / statics.low == pytest.approx(101800 / found.pressure, rel=1e-3)
    assert " hPa" in limit.says
    assert not [one for one in found.limits if one.condition == "pressure"]


@pytest.mark.parametrize("missing", ["low", "high"])
def test_one_end_alone_is_an_altimeter_setting_too(campaign, planned, missing):
    """A setting and its static pressure by the ICAO standard atmosphere of a reference library, at 300 ft."""
    end = {"low": -np.inf, "high": np.inf}
    statics = next(one for one in planned.limits if one.condition == "pressure" and one.measure == "static_pull")
    one = replace(statics, **{"low": 98_000.0, "high": 103_000.0, missing: end[missing]})
    found = air_now(campaign, oat=283.15, qnh=101800.0, plan=replace(planned, limits=(one,)))
    limit = next(one for one in found.limits if one.condition == "QNH")
    given, other = ("high", "low") if missing == "low" else ("low", "high")
    standard = 101325 / ambiance.Atmosphere(geometric(300 * FT)).pressure[0]
    assert getattr(limit, other) is None
    assert getattr(limit, given) / getattr(one, given) == pytest.approx(standard, rel=3e-4)
    assert ("at most" if missing == "low" else "at least") in limit.says


WRONG = {
    "nothing read": ({}, "qnh", "nothing is written"),
    "both": ({"qnh": 1e5, "pressure_altitude": 0.0}, "pressure altitude", "Give one of the two"),
    "a slip of the unit": ({"qnh": 1018.0}, "qnh", "expected between 920 and 1080 hPa"),
    "degrees for kelvin": ({"oat": 12.0, "qnh": 1e5}, "oat", "expected between -50 and 55 degC"),
    "no number": ({"oat": float("nan"), "qnh": 1e5}, "oat", "found no number"),
    "moister than saturated": ({"qnh": 1e5, "dew_point": 290.0}, "dew point", "above the temperature of the air"),
    "no such strip": ({"qnh": 1e5, "runway": "72"}, "runway", "The campaign has '27'."),
    "too high": ({"pressure_altitude": 9000.0}, "pressure altitude", "expected between"),
}


@pytest.mark.parametrize("name", WRONG)
def test_bad_readings_are_refused_at_their_field(campaign, name):
    given, field, words = WRONG[name]
    with pytest.raises(CampaignError) as caught:
        air_now(campaign, **{"oat": 283.15, **given})
    assert caught.value.finding.column == field
    assert words in caught.value.finding.sentence()
    assert caught.value.finding.mend


def test_a_setting_needs_the_elevation(tmp_path):
    found = read(saturday.write(tmp_path / "c", ('elevation = "300 ft"\n', "")), flown=False)
    with pytest.raises(CampaignError, match="the elevation of 27 has to be known"):
        air_now(found, oat=283.15, qnh=1e5)
    assert np.isfinite(air_now(found, oat=283.15, pressure_altitude=90.0).density)


def test_a_measure_in_the_air_before_one_on_the_ground_hides_no_limit(campaign, planned):
    """The density limit of the roll is told wherever its table stands among those of the climb."""
    turned = replace(campaign, asked=dict(reversed(campaign.asked.items())))
    hot = {"oat": 273.15 + 45, "pressure_altitude": 9000 * FT}
    told = [
        {(one.condition, one.says) for one in air_now(each, plan=planned, **hot).limits} for each in (campaign, turned)
    ]
    assert told[0] == told[1]
    assert any("density" in condition for condition, _ in told[0])
