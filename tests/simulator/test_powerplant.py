"""Where engine and propeller agree: the torque balance itself, the baseline aeroplane, printed ratios."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from samesky.air.constants import RHO0, T0
from samesky.published import registry
from samesky.simulator.aeroplane.engine import Engine, power_ratio
from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.aeroplane.powerplant import drive
from samesky.simulator.aeroplane.propeller import Propeller
from samesky.simulator.ambient import Ambient, standard

RPM = 60 * 2.22


@pytest.fixture
def baseline():
    return SimAeroplane().drive(standard(0.0))


@pytest.mark.parametrize(
    ("airspeed", "rpm", "thrust", "power"),
    [
        (0.0, 4433, 1807, 63.7),
        (10.0, 4505, 1749, 64.8),
        (20.0, 4590, 1614, 65.9),
        (30.0, 4730, 1448, 67.7),
        (40.0, 4946, 1275, 70.1),
        (50.0, 5237, 1103, 72.4),
    ],
)
def test_baseline_table_of_an_independent_prototype(baseline, airspeed, rpm, thrust, power):
    # A prototype with bisection for the speed, written apart from this package (registry rows S01, S02 are from it).
    force, n = baseline.at(airspeed)
    assert n * RPM == pytest.approx(rpm, abs=0.6)
    assert force == pytest.approx(thrust, abs=0.5)
    assert baseline.shaft_power(airspeed, n) / 1e3 == pytest.approx(power, abs=0.05)


def test_torques_balance_at_any_airspeed_and_air():
    rng = np.random.default_rng(4)
    air = Ambient(rng.uniform(250, 310, 500), rng.uniform(7e4, 1.04e5, 500))
    airspeed = rng.uniform(-5, 55, 500)
    aeroplane = SimAeroplane(
        engine=replace(Engine(), speed_limit=np.inf), propeller=Propeller().repitched(rng.uniform(0.9, 1.1, 500))
    )
    coupled = aeroplane.drive(air)
    _, n = coupled.at(airspeed)
    ratio = power_ratio("A", air.temperature, air.pressure, air.density)
    shaft = aeroplane.engine.power(n * 2.22) * ratio * aeroplane.engine.gear_efficiency
    np.testing.assert_allclose(shaft, coupled.shaft_power(airspeed, n), rtol=1e-9)


def test_engine_power_of_the_baseline():
    # By hand from the torque curve: 140.11 N m (1 - 0.0659 (rpm - 4476.5)^2 / 10^6) times 2 pi rpm / 60.
    np.testing.assert_allclose(Engine().power(np.array([5300, 4476.5]) / 60) / 1e3, [74.29, 65.68], atol=0.005)


def test_rpm_rises_from_static_to_level_as_published_ranges_do(baseline):
    # Row E21: static 2,270 to 2,370 rpm against 2,700 rated is a ratio of 1.14 to 1.19.
    _, static = baseline.at(0.0)
    _, fast = SimAeroplane().drive(standard(304.8)).at(99.03 * 1852 / 3600)
    assert 2700 / 2370 < fast / static < 2700 / 2270
    assert registry.check("E24", fast / static).agrees


def test_static_pull_is_below_the_momentum_bound(baseline):
    # T = (2 rho A P^2)^(1/3) with figure of merit 1; the prototype prints 0.627 of it (row S09).
    thrust, n = baseline.at(0.0)
    area = np.pi * 1.75**2 / 4
    ideal = (2 * RHO0 * area * baseline.shaft_power(0.0, n) ** 2) ** (1 / 3)
    assert registry.check("S09", thrust / ideal).agrees


@pytest.mark.parametrize(("sigma", "ratio"), [(0.9711, 0.9672), (0.9428, 0.9352), (0.8617, 0.8434), (0.6292, 0.5803)])
def test_power_falls_with_density_as_gagg_and_ferrar(sigma, ratio):
    # Rows E01, E02, E05, E15, printed to 0.0001 from sigma printed to 0.0001.
    assert power_ratio("A", T0, 101325.0, sigma * RHO0) == pytest.approx(ratio, abs=1.2e-4)


def test_the_two_density_laws_agree_in_standard_air_at_sea_level_and_differ_in_warm_air():
    assert power_ratio("B", T0, 101325.0, RHO0) == pytest.approx(1.0, abs=1e-12)
    warm = Ambient(T0 + 20, 101325.0)
    assert power_ratio("A", warm.temperature, warm.pressure, warm.density) < power_ratio(
        "B", warm.temperature, warm.pressure, warm.density
    )
    with pytest.raises(ValueError, match="density law 'C'"):
        power_ratio("C", T0, 101325.0, RHO0)


def test_the_pilot_keeps_the_engine_at_its_limit(baseline):
    _, n = baseline.at(60.0)
    assert n * RPM == pytest.approx(5300.0)


def test_a_governor_holds_the_speed_and_stands_on_its_fine_stop_when_it_must():
    governed = replace(Propeller(), governed_speed=5025 / RPM)
    coupled = SimAeroplane(propeller=governed).drive(standard(0.0))
    thrust, n = coupled.at(np.array([0.0, 20.0, 40.0]))
    np.testing.assert_allclose(n * RPM, 5025.0)
    # The whole torque is absorbed: efficiency times shaft power is what the thrust does.
    shaft = Engine().power(5025 / 60) * 0.98
    assert np.all(thrust * [0.0, 20.0, 40.0] < 0.9 * shaft)
    coarse_only = replace(governed, pitch_range=(1.2, 2.5))
    _, slow = SimAeroplane(propeller=coarse_only).drive(standard(0.0)).at(np.array([0.0]))
    _, fixed = SimAeroplane(propeller=Propeller().repitched(1.2)).drive(standard(0.0)).at(np.array([0.0]))
    np.testing.assert_allclose(slow, fixed)
    assert slow < 5025 / RPM


def test_a_fixed_pitch_propeller_of_the_governed_pitch_turns_at_the_governed_speed():
    # Same engine, same speed, found from the other side: the pitch 0.7749 etc. is not looked up but solved by
    # bisection here.
    governed = SimAeroplane(propeller=replace(Propeller(), governed_speed=4900 / RPM)).drive(standard(0.0))
    thrust, _ = governed.at(np.array([25.0]))
    low, high = 0.6, 1.5
    for _ in range(60):
        pitch = 0.5 * (low + high)
        force, n = SimAeroplane(propeller=Propeller().repitched(pitch)).drive(standard(0.0)).at(np.array([25.0]))
        low, high = (pitch, high) if n * RPM > 4900 else (low, pitch)
    np.testing.assert_allclose(thrust, force, rtol=1e-9)


def test_at_idle_the_propeller_brakes_in_the_glide_and_pulls_a_little_at_rest():
    idle = SimAeroplane().drive(standard(0.0), "idle")
    thrust, n = idle.at(np.array([0.5, 30.0, 40.0]))
    assert thrust[0] > 0 > thrust[1] > thrust[2]
    assert np.all(np.diff(n) > 0)
    with pytest.raises(ValueError, match="throttle 'half'"):
        drive(Engine(), Propeller(), RHO0, 1.0, "half")
