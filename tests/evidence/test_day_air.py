"""The air of a day: from what is given, from other runs, or not known and then as uncertain as days are."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from sound_campaign import TOML

from samesky.air import atmosphere
from samesky.campaign.reading.read import read
from samesky.evidence.day_air import UNKNOWN_DEVIATION, UNKNOWN_LEVEL, air_of_day

DAY = date(2025, 6, 14)
FOOT = 0.3048


def test_rows_of_the_day_between_which_it_was(sound):
    """At 07:30, between rows at 07:20 (climb: 8 degC at 1,500 ft) and 08:00 (strip: 13 degC, qnh 1015)."""
    campaign = read(sound())
    air = air_of_day(campaign, DAY, 7.5, 800.0)
    climb = 281.15 - (288.15 - 0.0065 * 1500 * FOOT)
    strip_altitude = 300 * FOOT + float(atmosphere.pressure_altitude(101_500.0))
    strip = 286.15 - (288.15 - 0.0065 * strip_altitude)
    assert air.deviation == pytest.approx(climb + (strip - climb) * 10 / 40, abs=0.01)
    assert air.base[0] == pytest.approx(300 * FOOT)
    assert air.base[1] - air.base[0] == pytest.approx(float(atmosphere.pressure_altitude(101_500.0)), abs=0.01)
    assert air.asks() == ()
    assert air.rate_uncertainty(1.2) == pytest.approx(2.0 / 288.15, rel=0.02)


def test_another_day_says_nothing(sound):
    air = air_of_day(read(sound()), date(2025, 6, 15), 7.5, 800.0)
    assert (air.deviation, air.u_deviation, air.u_level) == (0.0, UNKNOWN_DEVIATION, UNKNOWN_LEVEL)
    assert "say oat and qnh" in air.asks()[0]


def test_a_campaign_of_one_day_needs_no_dates(sound):
    roll = "run,clock,configuration,oat [°C],qnh [hPa],fuel [L],ground roll [ft]\n"
    roll += "1,07:00,A,20,1013.25,60,412\n2,08:00,B,20,1013.25,58,405\n"
    folder = sound(campaign__toml='date = "2025-06-14"\n' + TOML, takeoff_roll__csv=roll, timed_climb__csv=None)
    air = air_of_day(read(folder), DAY, 7.2, 800.0)
    assert air.deviation == pytest.approx(293.15 - (288.15 - 0.0065 * 300 * FOOT), abs=0.01)
    assert air_of_day(read(folder), date(2025, 6, 13), 7.2, 800.0).u_deviation == UNKNOWN_DEVIATION


def test_what_is_given_goes_before_what_stands_in_rows(sound):
    air = air_of_day(read(sound()), DAY, 7.5, 1000.0, oat=290.0, qnh=100_000.0)
    there = float(air.pressure_altitude(np.array([1000.0]))[0])
    assert float(atmosphere.temperature(there)) + air.deviation == pytest.approx(290.0, abs=1e-3)
    assert air.base[1] - air.base[0] == pytest.approx(float(atmosphere.pressure_altitude(100_000.0)), abs=0.01)
    assert air.u_deviation == 0.0
    known = air_of_day(read(sound()), DAY, 7.5, 1000.0, oat=290.0, pressure_altitude=1000.0)
    assert known.deviation == pytest.approx(290.0 - 281.65)


def test_what_is_not_known_is_as_uncertain_as_days_are(sound):
    """Rates taken as they are on days that scatter as is stated: their errors scatter as is stated."""
    air = air_of_day(read(sound()), date(2025, 6, 15), 7.5, 800.0)
    days = np.random.default_rng(1).normal(0.0, UNKNOWN_DEVIATION, 20_000)
    standard = float(atmosphere.temperature(800.0))
    error = 1.0 / (standard / (standard + days)) - 1.0
    assert np.std(error) == pytest.approx(air.rate_uncertainty(0.0), rel=0.03)
    # 10 hPa at sea level are 83 m
    assert float(atmosphere.pressure_altitude(100_325.0)) == pytest.approx(UNKNOWN_LEVEL, abs=1.0)
