"""Take-offs of a point mass with wings: how the aeroplane leaves the ground follows from lift and the pilot's hand.

Speed, flight path and height are integrated with scipy's solver from thrust, drag with ground effect, rolling friction
and an angle of attack that the pilot pitches to; the wheels leave the ground where lift carries the weight. The pilot
rotates slowly or fast, lets it fly off or hauls it off, holds it down in ground effect to gather speed or not, and then
pitches to a climb at some leisure. Nothing here says how the height grows, and nothing is shared with the other flights
made up for the tests.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from made_tracks import STEP, Flight, flight
from scipy.integrate import solve_ivp

G, RHO = 9.80665, 1.19
DEGREE = np.pi / 180


@dataclass
class Left:
    """A take-off with its truth: moments [s] of brakes and lift-off, speed there [m/s], length of the roll [m]."""

    truth: Flight
    began: float
    lifted: float
    lift_off_speed: float
    roll: float


def climb_out(rng, gradual: bool = True, slope: float | None = None) -> Left:
    """One take-off; ``gradual`` pilots pitch slowly and stay low, others rotate smartly into a steady climb."""
    mass, wing, span = rng.uniform(450, 650), rng.uniform(10, 14), rng.uniform(8.5, 10.5)
    static, fade = rng.uniform(0.30, 0.42) * mass * G, rng.uniform(0.010, 0.014)
    drag0, friction = rng.uniform(0.035, 0.05), rng.uniform(0.04, 0.07)
    slope = rng.normal(0.0, 0.005) if slope is None else slope
    lift_slope, zero = rng.uniform(4.2, 5.0), -3.0 * DEGREE
    induced = 1.0 / (np.pi * 0.78 * span**2 / wing)
    stall = np.sqrt(2 * mass * G / (RHO * wing * rng.uniform(1.6, 2.0)))
    sitting = rng.uniform(0.0, 3.0) * DEGREE
    rotate_at = stall * rng.uniform(1.0, 1.15)
    pitch_rate = (rng.uniform(1.0, 2.5) if gradual else rng.uniform(4.0, 6.0)) * DEGREE
    held_down = rng.exponential(2.0) if gradual else 0.0
    climb_at = rotate_at * (rng.uniform(1.15, 1.4) if gradual else rng.uniform(1.08, 1.15))
    leisure = rng.uniform(2.0, 5.0) if gradual else rng.uniform(1.0, 2.0)

    def forces(speed, height, attack):
        lift_coefficient = np.clip(lift_slope * (attack - zero), 0.0, 2.0)
        near = (16 * (height + 0.8) / span) ** 2
        drag_coefficient = drag0 + induced * near / (1 + near) * lift_coefficient**2
        pressure = 0.5 * RHO * speed**2 * wing
        return static * (1 - fade * speed), pressure * lift_coefficient, pressure * drag_coefficient

    def on_ground(_, state):
        speed, pitch = state[0], state[2]
        thrust, lift, drag = forces(speed, 0.0, pitch)
        load = max(mass * G - lift, 0.0)
        rate = pitch_rate if speed >= rotate_at else 0.0
        # The tail may touch: no further than this.
        rate = rate if pitch < 13 * DEGREE else 0.0
        return [(thrust - drag - friction * load) / mass - G * slope, speed, rate]

    def flies(_, state):
        return forces(state[0], 0.0, state[2])[1] - mass * G

    flies.terminal, flies.direction = True, 1
    rolling = solve_ivp(
        on_ground, (0, 90), [0.0, 0.0, sitting], events=flies, max_step=0.1, rtol=1e-8, dense_output=True
    )
    off = rolling.t[-1]
    speed, way, pitch = rolling.y[:, -1]

    def in_the_air(time, state):
        speed, path, height, pitch = state
        thrust, lift, drag = forces(speed, height, pitch - path)
        since = time - off
        level = max(since - held_down, 0.0) / leisure
        wanted = (1 - np.exp(-level)) * np.arcsin(
            np.clip((thrust - drag) / (mass * G) - 0.4 * (climb_at - speed) / 10, 0.0, 0.25)
        )
        # The pilot holds the path wanted by the stick: angle of attack for it, at the pitch rate of his hand.
        hold = zero + 2 * mass * G / (RHO * wing * lift_slope * speed**2)
        rate = np.clip((wanted + hold - pitch) / 0.6, -3 * pitch_rate, 3 * pitch_rate)
        turn = (lift - mass * G * np.cos(path)) / (mass * speed)
        if height <= 0.0 and path <= slope and turn < 0:
            turn = 0.0
        return [(thrust - drag) / mass - G * np.sin(path), turn, speed * np.sin(path), rate]

    airborne = solve_ivp(
        in_the_air, (off, off + 45), [speed, slope, 0.0, pitch], max_step=0.1, rtol=1e-7, dense_output=True
    )
    wait = rng.uniform(15, 25)
    clock = np.arange(0.0, wait + off + 44, STEP) - wait
    speeds = np.where(clock < 0, 0.0, np.where(clock < off, rolling.sol(np.clip(clock, 0, off))[0], 0.0))
    up = airborne.sol(np.clip(clock, off, off + 45))
    speeds = np.where(clock >= off, up[0] * np.cos(up[1]), speeds)
    climb = np.where(clock >= off, up[0] * np.sin(up[1]), slope * speeds)
    truth = flight(speeds, np.full(clock.size, rng.uniform(0, 6.2)), climb, 140.0)
    return Left(truth, wait, wait + off, float(speed), float(way))
