"""The landing roll against scipy's solver and plain physics."""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp

from samesky.air.constants import G0
from samesky.simulator.aeroplane.model import Effect, SimAeroplane
from samesky.simulator.ambient import standard
from samesky.simulator.motion.landing import landing_roll

KNOT = 1852 / 3600
BASE, AIR = SimAeroplane(), standard(0.0)


def test_agrees_with_a_step_by_step_solver():
    coupled, frame = BASE.drive(AIR, "idle"), BASE.airframe
    mass, headwind, grip = 540.0, 2.0, 0.05 + 0.25
    square = (16 * 1.9 / 9.5) ** 2

    def motion(t, state):
        airspeed = state[1] + headwind
        q = 0.5 * AIR.density * airspeed**2 * 12.5
        drag = q * (0.095 + 12.5 / (np.pi * 0.75 * 9.5**2) * square / (1 + square) * 0.25**2)
        thrust = coupled.at(np.array([airspeed]))[0][0]
        return state[1], (thrust - drag - grip * (mass * G0 - q * 0.25)) / mass

    def stopped(t, state):
        return state[1]

    stopped.terminal = True
    start = 40 * KNOT - headwind
    solution = solve_ivp(motion, (0, 60), (0.0, start), events=stopped, rtol=1e-10, atol=1e-10)
    length, time = landing_roll(BASE, AIR, mass, 40 * KNOT, headwind)
    np.testing.assert_allclose(length, solution.y[0, -1], rtol=1e-6)
    np.testing.assert_allclose(time, solution.t[-1], rtol=1e-6)
    assert frame.braking == 0.25


def test_wind_slope_and_a_finer_propeller_shorten_it():
    base, _ = landing_roll(BASE, AIR, 540.0, 40 * KNOT)
    for shorter in (
        landing_roll(BASE, AIR, 540.0, 40 * KNOT, headwind=3.0)[0],
        landing_roll(BASE, AIR, 540.0, 40 * KNOT, slope=0.02)[0],
        landing_roll(Effect(pitch=0.9).apply(BASE), AIR, 540.0, 40 * KNOT)[0],
        landing_roll(BASE, AIR, 540.0, 38 * KNOT)[0],
    ):
        assert shorter < base
