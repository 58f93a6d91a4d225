"""How much do the air formulas cost beside the bare numpy expression, and beside general-purpose libraries?

Prints ratios; asserts no time. Run with ``pytest tests/benchmarks --benchmark-only``.
"""

from __future__ import annotations

import timeit

import ambiance
import fluids.atmosphere
import numpy as np
import psychrolib
import pytest
from short_form import size

from samesky.air import airspeed, atmosphere, legs, moisture, wind
from samesky.units import to_si

MANY = size(1_000_000, 10_000)
RNG = np.random.default_rng(11)
H = RNG.uniform(-300, 6000, MANY)
P = RNG.uniform(6e4, 1.04e5, MANY)
T = RNG.uniform(263, 308, MANY)
DEW = T - RNG.uniform(0.5, 15, MANY)
CAS = RNG.uniform(20, 70, MANY)
DIRECTION = RNG.uniform(0, 2 * np.pi, MANY)


def bare_pressure(h):
    return 101325.0 * (1 - 0.0065 / 288.15 * h) ** 5.25588


def bare_pressure_altitude(p):
    return 288.15 / 0.0065 * (1 - (p / 101325.0) ** 0.190263)


def bare_cas_to_tas(cas, p, t):
    qc = 101325.0 * ((1 + 0.2 * (cas / 340.294) ** 2) ** 3.5 - 1)
    return np.sqrt(5 * ((qc / p + 1) ** (2 / 7) - 1)) * np.sqrt(401.874 * t)


def bare_cipm(p, T, td):
    """CIPM-2007 as the paper writes it, without a thought for its range."""
    t, d = T - 273.15, td - 273.15
    e = np.exp(1.2378847e-5 * td**2 - 1.9121316e-2 * td + 33.93711047 - 6343.1645 / td)
    x = (1.00062 + 3.14e-8 * p + 5.6e-7 * d**2) * e / p
    z = 1 - p / T * (
        1.58123e-6
        - 2.9331e-8 * t
        + 1.1043e-10 * t**2
        + (5.707e-6 - 2.051e-8 * t) * x
        + (1.9898e-4 - 2.376e-6 * t) * x**2
    )
    z = z + (p / T) ** 2 * (1.83e-11 - 0.765e-8 * x**2)
    return p * 0.02896546 / (z * 8.314472 * T) * (1 - x * (1 - 0.01801528 / 0.02896546))


def bare_density(p, t, td):
    e = 611.2 * np.exp(17.62 * (td - 273.15) / (td - 30.03))
    return p / (287.05287 * t) * (1 - 0.378 * e / p)


def bare_components(speed, blows_from, heading):
    return speed * np.cos(blows_from - heading), speed * np.sin(blows_from - heading)


PAIRS = {
    "pressure": (atmosphere.pressure, bare_pressure, (H,)),
    "pressure altitude": (atmosphere.pressure_altitude, bare_pressure_altitude, (P,)),
    "calibrated to true airspeed": (airspeed.cas_to_tas, bare_cas_to_tas, (CAS, P, T)),
    "moist density, beside CIPM-2007": (moisture.density, bare_cipm, (P, T, DEW)),
    "moist density, beside a perfect gas": (moisture.density, bare_density, (P, T, DEW)),
    "wind components": (wind.components, bare_components, (CAS, DIRECTION, 1.0)),
    "knots to SI": (lambda x: to_si(x, "kt", "speed"), lambda x: x * 0.5144444444444445, (CAS,)),
}


def best(function, *arguments, repeat: int = 5) -> float:
    return min(timeit.repeat(lambda: function(*arguments), number=1, repeat=repeat))


@pytest.mark.parametrize("name", PAIRS)
def test_beside_the_bare_formula(benchmark, name):
    ours, bare, arguments = PAIRS[name]
    benchmark.pedantic(ours, arguments, rounds=5, warmup_rounds=1)
    ratio = benchmark.stats.stats.min / best(bare, *arguments)
    benchmark.extra_info["times the bare formula"] = round(ratio, 2)
    print(f"\n{name}: {ratio:.2f} times the bare formula at {MANY} points")


def test_beside_ambiance(benchmark):
    """Temperature, pressure, density, speed of sound and viscosity at a million geometric altitudes."""

    def ours():
        h = atmosphere.geopotential(H)
        t = atmosphere.temperature(h)
        return atmosphere.pressure(h), atmosphere.density(h), atmosphere.speed_of_sound(t), atmosphere.viscosity(t)

    def theirs():
        air = ambiance.Atmosphere(H)
        return air.pressure, air.density, air.speed_of_sound, air.dynamic_viscosity

    benchmark.pedantic(ours, rounds=3, warmup_rounds=1)
    ratio = benchmark.stats.stats.min / best(theirs, repeat=2)
    print(f"\natmosphere: {ratio:.3f} times the time of ambiance at {MANY} points")


def test_beside_fluids(benchmark):
    """fluids makes one object an altitude: timed over 1000 of them and scaled."""
    few = H[:1000]
    benchmark.pedantic(lambda: (atmosphere.pressure(H), atmosphere.density(H)), rounds=3, warmup_rounds=1)
    theirs = best(lambda: [fluids.atmosphere.ATMOSPHERE_1976(z) for z in few], repeat=2) * MANY / few.size
    print(f"\natmosphere: {benchmark.stats.stats.min / theirs:.5f} times the time of fluids at {MANY} points")


def test_beside_psychrolib(benchmark):
    """psychrolib takes one point at a time: timed over 1000 of them and scaled."""
    psychrolib.SetUnitSystem(psychrolib.SI)

    def theirs():
        for p, t, td in zip(P[:1000], T[:1000] - 273.15, DEW[:1000] - 273.15, strict=True):
            psychrolib.GetMoistAirDensity(t, psychrolib.GetHumRatioFromTDewPoint(td, p), p)

    benchmark.pedantic(moisture.density, (P, T, DEW), rounds=3, warmup_rounds=1)
    ratio = benchmark.stats.stats.min / (best(theirs, repeat=2) * MANY / 1000)
    print(f"\nmoist density: {ratio:.5f} times the time of psychrolib at {MANY} points")


def test_four_legs_a_hundred_thousand_times(benchmark):
    """Beside one numpy.linalg.lstsq a case, timed over 1000 cases and scaled."""
    many = 100_000
    tracks = np.radians([0, 90, 180, 270])
    ground = wind.ground_speed_on_track(50.0, tracks, 5.0, 1.0) + RNG.normal(0, 0.3, (many, 4))

    def one_by_one():
        for g in ground[:1000]:
            rows = np.column_stack((np.ones(4), 2 * g * np.sin(tracks), 2 * g * np.cos(tracks)))
            np.linalg.lstsq(rows, g * g, rcond=None)

    benchmark.pedantic(legs.airspeed_from_tracks, (ground, tracks), rounds=3, warmup_rounds=1)
    ratio = benchmark.stats.stats.min / (best(one_by_one, repeat=2) * many / 1000)
    print(f"\nfour legs: {ratio:.3f} times one least-squares call a case")
