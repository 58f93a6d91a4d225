"""Rolls with known truth, and what a film taken from beside the strip shows of them."""

from __future__ import annotations

import numpy as np

from samesky.instruments.roll_film import FilmSetup, RollFrames


def moment(place, first, fading):
    """Time [s] at which a roll passes a place [m]; it gains ``first`` [m/s2] and loses ``fading`` [1/s] of its speed:
    dv/dt = first - fading v, solved for the time by bisection."""
    low, high = np.zeros(np.broadcast_shapes(np.shape(place), np.shape(first))), 60.0
    high = np.full(low.shape, high)
    for _ in range(60):
        middle = 0.5 * (low + high)
        there = first / fading * (middle - (1.0 - np.exp(-fading * middle)) / fading)
        low, high = np.where(there < place, middle, low), np.where(there < place, high, middle)
    return 0.5 * (low + high)


def films(rng, setup: FilmSetup, rolls: np.ndarray, alike: bool = False, seen=None) -> RollFrames:
    """Frames of rolls [m] (n,), every input off by as much as its tolerance says; ``alike``: camera, markers and frame
    rate are those of one film, else they are drawn anew for each roll; ``seen`` (n, m) which passages are seen."""
    n, m = len(rolls), len(setup.markers)

    def off(tolerance, *shape):
        return rng.uniform(-1.0, 1.0, shape) * tolerance

    k = 1 if alike else n
    stand = setup.markers + off(setup.marker_tolerance, k, m)
    row = setup.marker_offset + off(setup.marker_tolerance, k, 1)
    camera = setup.camera + off(setup.camera_tolerance, k, 1)
    away = setup.camera_distance + off(setup.camera_tolerance, k, 1)
    line, start = off(setup.line_tolerance, n, 1), off(setup.start_tolerance, n, 1)
    rate = setup.frame_rate * (1.0 + off(setup.frame_rate_tolerance, k, 1))
    # Where the line of sight over the marker crosses the line that the wheels really roll on.
    along, across = stand - camera, away + row
    places = camera + along * (away + line) / across
    first, fading = rng.normal(2.9, 0.1, (n, 1)), rng.uniform(0.04, 0.07, (n, 1))

    def frame(place, tolerance):
        t = moment(place - start, first, fading) - rng.uniform(0.0, 1.0, place.shape) * setup.readout
        return np.ceil((t + 5.0) * rate + off(tolerance, *place.shape))

    passages = frame(places, setup.passage_tolerance)
    lift_off = frame(rolls[:, None] + start, setup.lift_off_tolerance)[:, 0]
    brakes = frame(start * 1.0, setup.passage_tolerance)[:, 0]
    if seen is not None:
        passages = np.where(seen, passages, np.nan)
    return RollFrames(passages, brakes, lift_off, np.full(n, np.nan))
