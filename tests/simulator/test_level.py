"""Top speed, acceleration to it, and cruise, against an independent prototype, scipy and energy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from samesky.air.constants import G0
from samesky.simulator.aeroplane.model import Effect, SimAeroplane
from samesky.simulator.ambient import Ambient, calibrated_airspeed, standard, true_airspeed
from samesky.simulator.motion.cruise import cruise_fuel
from samesky.simulator.motion.level import acceleration, speed_when_read, top_speed

KNOT, FOOT = 1852 / 3600, 0.3048
# The prototype leaves the engine's limit out for the top speed.
BASE = SimAeroplane(engine=replace(SimAeroplane().engine, speed_limit=np.inf))
LAW_B = replace(BASE, engine=replace(BASE.engine, density_law="B"))
AIR = standard(1000 * FOOT)


def baseline(aeroplane=BASE, mass=540.0, air=AIR, rising_air=0.0):
    return top_speed(aeroplane, air, mass, rising_air)[0]


def test_baseline_of_an_independent_prototype():
    speed, rpm = top_speed(BASE, AIR, 540.0)
    assert speed / KNOT == pytest.approx(99.0, abs=0.05)
    assert calibrated_airspeed(speed, AIR.density) / KNOT == pytest.approx(97.6, abs=0.05)
    assert rpm * 60 == pytest.approx(5262, abs=1)


SENSITIVITIES = {
    "10 kg": (-0.12, lambda s: {"mass": 540.0 + 10 * s}),
    "1 degC, law A": (-0.04, lambda s: {"air": Ambient(AIR.temperature + s, AIR.pressure)}),
    "1 degC, law B": (0.05, lambda s: {"air": Ambient(AIR.temperature + s, AIR.pressure), "aeroplane": LAW_B}),
    "1 hPa": (0.01, lambda s: {"air": Ambient(AIR.temperature, AIR.pressure + 100 * s)}),
    "1 % power": (0.44, lambda s: {"aeroplane": Effect(power=1 + 0.01 * s).apply(BASE)}),
    "0.1 m/s rising air": (0.40, lambda s: {"rising_air": 0.1 * s}),
    "1 % drag": (-0.37, lambda s: {"aeroplane": Effect(drag=1 + 0.01 * s).apply(BASE)}),
    "100 m": (-0.12, lambda s: {"air": standard(1000 * FOOT + 100.0 * s)}),
    "1 % thrust": (0.40, lambda s: {"aeroplane": Effect(thrust=1 + 0.01 * s).apply(BASE)}),
    "1 % pitch": (0.03, lambda s: {"aeroplane": Effect(pitch=1 + 0.01 * s).apply(BASE)}),
    "1 % diameter": (-0.27, lambda s: {"aeroplane": Effect(diameter=1 + 0.01 * s).apply(BASE)}),
}


@pytest.mark.parametrize("name", SENSITIVITIES)
def test_sensitivities_of_an_independent_prototype(name):
    percent, change = SENSITIVITIES[name]
    found = (baseline(**change(1)) - baseline(**change(-1))) / 2 / baseline() * 100
    assert found == pytest.approx(percent, abs=0.01)


def test_thrust_balances_drag_at_the_top_speed():
    coupled = BASE.drive(AIR)

    def excess(speed):
        return coupled.at(np.array([speed]))[0][0] - BASE.airframe.drag(AIR.density, speed, 540.0 * G0)

    assert baseline() == pytest.approx(brentq(excess, 40.0, 70.0, xtol=1e-10), rel=1e-9)


def test_many_runs_take_the_same_path_as_one():
    masses = np.array([[500.0, 540.0], [580.0, 620.0]])
    np.testing.assert_allclose(baseline(mass=masses), [[baseline(mass=m) for m in row] for row in masses], rtol=1e-9)


def test_no_level_flight_is_not_a_number():
    # Too heavy to fly level at any speed; too fast and too slow for the search.
    assert np.isnan(baseline(mass=3000.0))
    assert np.isnan(baseline(aeroplane=Effect(drag=0.01, pitch=4.0).apply(BASE)))
    assert np.isnan(baseline(aeroplane=Effect(drag=30.0).apply(BASE), mass=50.0))


def test_acceleration_agrees_with_a_step_by_step_solver():
    pull = acceleration(BASE, AIR, 540.0)
    solution = solve_ivp(lambda t, v: pull(v), (0, 40), (35.0,), rtol=1e-10, atol=1e-10)
    assert speed_when_read(BASE, AIR, 540.0, 35.0, 40.0) == pytest.approx(solution.y[0, -1], rel=1e-7)


def test_a_reading_taken_early_is_too_low():
    early = speed_when_read(BASE, AIR, 540.0, 40.0, 30.0)
    late = speed_when_read(BASE, AIR, 540.0, 40.0, 150.0)
    assert early < late - 0.5 < baseline()


def test_cruise_fuel_is_the_power_for_level_flight():
    # Fuel times heat value: 0.285 kg/kWh of engine power that gives thrust = drag, by bisection on the speed here.
    calibrated, mass = 80 * KNOT, 540.0
    flow, rpm = cruise_fuel(BASE, AIR, mass, calibrated)
    speed = true_airspeed(calibrated, AIR.density)
    propeller, drag = BASE.propeller, BASE.airframe.drag(AIR.density, speed, mass * G0)

    def short(n):
        return propeller.thrust_coefficient(speed / (n * 1.75)) * AIR.density * n**2 * 1.75**4 - drag

    n = brentq(short, 25.0, 60.0, xtol=1e-12)
    power = propeller.power_coefficient(speed / (n * 1.75)) * AIR.density * n**3 * 1.75**5 / 0.98
    assert rpm == pytest.approx(n * 2.22, rel=1e-9)
    assert flow == pytest.approx(power * 0.285 / 3.6e6 / 720.0, rel=1e-9)


def test_less_drag_saves_fuel_and_more_than_full_throttle_is_not_a_number():
    flow, _ = cruise_fuel(BASE, AIR, 540.0, 80 * KNOT)
    clean, _ = cruise_fuel(Effect(drag=0.96).apply(BASE), AIR, 540.0, 80 * KNOT)
    assert clean < flow
    assert np.isnan(cruise_fuel(BASE, AIR, 540.0, 99 * KNOT)[0])
