"""How fast is the simulator? Ratios are printed, times never asserted."""

from __future__ import annotations

import time

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from short_form import size, sizes

from samesky.inference.budget import UncertaintyComponent
from samesky.inference.design import recognise
from samesky.inference.estimate import estimate
from samesky.inference.order import FlownOrder
from samesky.measures import MEASURES, default_sources
from samesky.measures.sensitivity import sensitivities
from samesky.simulator.aeroplane.model import Effect, SimAeroplane
from samesky.simulator.ambient import Ambient, true_airspeed
from samesky.simulator.campaign_sim import simulate
from samesky.simulator.motion.equations import distance_and_time
from samesky.simulator.motion.takeoff import roll, roll_acceleration
from samesky.simulator.scenario import Fitting, Scenario
from samesky.simulator.schedule import blocks

KNOT = 1852 / 3600
ROLLS = size(100_000, 1_000)


def conditions(n):
    rng = np.random.default_rng(1)
    air = Ambient(rng.normal(288.0, 5.0, n), rng.normal(1.0e5, 500.0, n))
    return air, rng.normal(540.0, 10.0, n), rng.normal(38.0, 1.5, n) * KNOT, rng.normal(2.0, 1.0, n)


def by_steps(aeroplane, air, mass, lift_off, wind):
    """One roll by scipy's solver at the accuracy of a millionth."""
    end = float(true_airspeed(lift_off, air.density) - wind)
    pull = roll_acceleration(aeroplane, air, mass, wind, 0.0, end, 0.0, 0.05)
    airborne = lambda t, y: y[1] - end  # noqa: E731
    airborne.terminal = True
    return solve_ivp(lambda t, y: (y[1], float(pull(y[1]))), (0, 60), (0.0, 0.0), events=airborne, rtol=1e-7, atol=1e-7)


def test_rolls_against_a_loop_over_a_solver(benchmark):
    aeroplane = SimAeroplane()
    air, mass, lift_off, wind = conditions(ROLLS)
    lengths, _ = benchmark(roll, aeroplane, air, mass, lift_off, wind, points=6)
    few = 40
    start = time.perf_counter()
    steps = [
        by_steps(aeroplane, Ambient(air.temperature[i], air.pressure[i]), mass[i], lift_off[i], wind[i]).y[0, -1]
        for i in range(few)
    ]
    each = (time.perf_counter() - start) / few
    own = benchmark.stats.stats.median / ROLLS
    worst = np.max(np.abs(np.array(steps) / lengths[:few] - 1))
    print(
        f"\n{ROLLS} rolls: {own * 1e6:.2f} us each, solve_ivp {each * 1e3:.2f} ms each: {each / own:.0f} times faster"
    )
    print(f"largest relative difference between the two {worst:.1e}")
    exact = np.log(2 / (2 - 4e-5 * (250 / 3.6) ** 2)) / (2 * 4e-5)
    ours, _ = distance_and_time(lambda v: 2 - 4e-5 * v * v, 0.0, 250 / 3.6, points=6)
    print(f"error against the closed form {abs(ours / exact - 1):.1e}")


@pytest.fixture(scope="module")
def scenario():
    measures = ("static_pull", "takeoff_roll", "timed_climb", "level_speed")
    schedule = blocks("ABBA", dict.fromkeys(measures, 3), minutes=dict.fromkeys(measures, 5.0), swap_minutes=30)
    return Scenario({"A": Effect(), "B": Effect(thrust=1.03)}, schedule, fitting=Fitting(pitch=0.003))


def test_campaigns_in_memory(benchmark, scenario):
    benchmark(simulate, scenario, 1000, np.random.default_rng(1))
    print(f"\n{1000 / benchmark.stats.stats.median:.0f} campaigns of four measures, twelve runs each, a second")


def test_campaigns_from_sky_to_interval(benchmark, scenario):
    """Simulate, reduce and compare in memory, error sources included; the design is recognised once for all."""
    rng, prepared = np.random.default_rng(1), {}
    first = simulate(scenario, 1, rng)
    for name, plan in scenario.schedule.items():
        measure = MEASURES[name]
        columns = {column: values[0] for column, values in first.columns[name].items()}
        sky = {
            condition: float(np.mean(columns[condition])) for condition in measure.conditions if condition in columns
        }
        design = recognise(FlownOrder(plan.configuration == "B", plan.installation, plan.day, plan.hours, True))
        contributions = sensitivities(measure, columns, sky, default_sources())
        parts = tuple(
            UncertaintyComponent(
                source.name, source.scope, np.broadcast_to(size, plan.hours.shape), source.degrees_of_freedom
            )
            for source, size in contributions
        )
        prepared[name] = measure, sky, measure.coefficient_values(), design, parts

    def whole(campaigns=1000):
        flown, found = simulate(scenario, campaigns, rng), []
        for name, (measure, sky, coefficients, design, parts) in prepared.items():
            value = measure.reduce(flown.columns[name], sky, coefficients)[-1].value
            result = estimate(design, measure.to_scale(value), parts)
            found.append(result.interval(0.95) + result.interval(0.90))
        return found

    found = benchmark(whole)
    assert all(np.shape(end) == (1000,) for ends in found for end in ends)
    print(
        f"\n{1000 / benchmark.stats.stats.median:.0f} campaigns of four measures simulated, reduced, compared a second"
    )


def test_cost_is_linear_in_campaigns(benchmark, scenario):
    def cost(campaigns, batch=1000):
        rng = np.random.default_rng(1)
        start = time.perf_counter()
        for _ in range(max(1, campaigns // batch)):
            simulate(scenario, min(campaigns, batch), rng)
        return (time.perf_counter() - start) / campaigns

    costs = benchmark.pedantic(lambda: {n: cost(n) for n in sizes(100, 1000, 10_000, 100_000, below=100)}, rounds=1)
    print("\n" + ", ".join(f"{n} campaigns {each * 1e6:.0f} us each" for n, each in costs.items()))
