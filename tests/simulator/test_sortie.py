"""A flight strung together must be the simulator's own roll, climb and level speed, and obey wind triangle and air."""

from __future__ import annotations

import numpy as np
import pytest
from one_sortie import AIR, HEADING, KNOT, MASS, TRACKS, WIND, WIND_FROM, flown

from samesky.air.legs import airspeed_from_tracks
from samesky.instruments.weather_report import wind_at_height
from samesky.simulator.examples.trainer import TRAINER
from samesky.simulator.motion.climb import time_through_band
from samesky.simulator.motion.level import top_speed
from samesky.simulator.motion.sortie import STEP
from samesky.simulator.motion.takeoff import roll


def test_the_roll_is_that_of_the_simulator():
    flight = flown()
    headwind = WIND * wind_at_height(1.0, TRAINER.airframe.wing_height) * np.cos(WIND_FROM - HEADING)
    length, seconds = roll(TRAINER, AIR, MASS, 45 * KNOT, headwind)
    assert flight.roll == pytest.approx(float(length), abs=0.05)
    start, end = flight.spans["roll"]
    assert end - start == pytest.approx(float(seconds), abs=STEP)
    assert flight.at(start, "ground_speed") == 0
    # at lift-off it is still on the ground, three seconds later it climbs
    assert flight.at(end, "height") == 120.0
    assert flight.rate(end + 3, end + 5, "height") > 3.0


def test_the_climb_takes_the_simulators_time():
    flight = flown()
    band = np.array([300.0, 900.0])
    moments = np.interp(band, flight.pressure_altitude, flight.time)
    elapsed, _ = time_through_band(TRAINER, AIR, flight.pressure_altitude[0], *band, MASS, 70 * KNOT, points=8)
    assert np.diff(moments)[0] == pytest.approx(float(elapsed), rel=2e-3)


def test_the_legs_are_flown_at_top_speed_on_their_tracks():
    flight = flown()
    air = AIR.at_pressure_altitude(flight.pressure_altitude[0], 1000.0)
    middles = [np.mean(flight.spans[f"leg {number}"]) for number in (1, 2, 3)]
    airspeed = flight.at(middles, "airspeed")
    np.testing.assert_allclose(airspeed, top_speed(TRAINER, air, MASS)[0], rtol=1e-3)
    np.testing.assert_allclose(flight.at(middles, "track") % (2 * np.pi), TRACKS, atol=1e-9)
    # closed form: Gray's circle through the three ground velocities gives airspeed and wind back
    found = airspeed_from_tracks(flight.at(middles, "ground_speed"), TRACKS)
    assert found.tas == pytest.approx(airspeed[1], abs=1e-3)
    assert (found.wind_speed, found.wind_from) == pytest.approx((WIND, WIND_FROM), abs=1e-3)
    # positions are the ground speeds summed
    first, last = flight.spans["leg 2"]
    way = np.hypot(flight.rate(first, last, "east"), flight.rate(first, last, "north"))
    assert way == pytest.approx(float(flight.at(middles[1], "ground_speed")), rel=1e-6)


def test_pressure_altitude_follows_the_warm_air_step_by_step():
    flight = flown()
    # hydrostatic, dHp = (Ts/T) dZ, one step after the other
    level = flight.pressure_altitude[0]
    warmer = 291.15 - (288.15 - 0.0065 * level)
    for rise in np.diff(flight.height):
        standard = 288.15 - 0.0065 * level
        level += rise * standard / (standard + warmer)
    assert level == pytest.approx(flight.pressure_altitude[-1], abs=0.02)
    assert level == pytest.approx(1000.0, abs=1.0)


def test_a_height_beyond_the_ceiling_is_refused():
    with pytest.raises(ValueError, match="does not climb"):
        flown(9000.0)
