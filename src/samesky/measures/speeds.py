"""How fast through the air was a level run?

From the airspeed indicator, made true in the air of the run; or from ground speeds and tracks that satellite
navigation showed on two or more legs (:mod:`samesky.air.legs`), which no error of the airspeed system can touch.
Legs are preferred where a run has enough of them.
"""

from __future__ import annotations

import numpy as np

from samesky.air import atmosphere, legs
from samesky.measures import conditions as given
from samesky.measures.columns import MOST_LEGS
from samesky.measures.shape import Runs, Sky, has

#: Legs less spread than this (assumed) (see :func:`samesky.air.legs.spread`) cannot tell airspeed from wind.
LEAST_SPREAD = 0.1


def legs_of(runs: Runs) -> tuple[np.ndarray, np.ndarray] | None:
    """Ground speeds [m/s] and tracks [rad] of the runs, legs on a new last axis, NaN where not flown; None if none."""
    numbers = [leg for leg in range(1, MOST_LEGS + 1) if f"speed {leg}" in runs and f"track {leg}" in runs]
    if not numbers:
        return None
    speed = np.stack([np.asarray(runs[f"speed {leg}"], dtype=float) for leg in numbers], axis=-1)
    track = np.stack([np.asarray(runs[f"track {leg}"], dtype=float) for leg in numbers], axis=-1)
    flown = ~np.isnan(speed + track)
    return np.where(flown, speed, np.nan), np.where(flown, track, np.nan)


def from_legs(speed: np.ndarray, track: np.ndarray) -> np.ndarray:
    """True airspeed [m/s] of runs (..., n) from legs (..., n, legs); NaN where the legs cannot tell it from the wind.

    Three or more legs are solved. Two legs on reciprocal tracks are averaged, which is low by about Wx^2/(2V) in a
    crosswind Wx: in a difference on one line and in one wind that is Wx^2/(2V^2) of the difference only.
    """
    count = (~np.isnan(speed)).sum(axis=-1)
    solvable = (count >= 3) & (legs.spread(track) >= LEAST_SPREAD)
    airspeed = np.where(count == 2, np.nansum(speed, axis=-1) / 2.0, np.nan)
    if np.any(solvable):
        airspeed[solvable] = legs.airspeed_from_tracks(speed[solvable], track[solvable]).tas
    return airspeed


def two_leg_angle(runs: Runs, sky: Sky) -> np.ndarray:
    """How far [rad] two legs are from reciprocal tracks, 0 to pi; NaN where not just two legs were flown."""
    found = legs_of(runs)
    if found is None:
        return np.full(np.shape(runs["altitude"]), np.nan)
    track = found[1]
    between = np.hypot(np.nansum(np.sin(track), axis=-1), np.nansum(np.cos(track), axis=-1))
    apart = 2.0 * np.arcsin(np.minimum(0.5 * between, 1.0))
    return np.where((~np.isnan(track)).sum(axis=-1) == 2, apart, np.nan)


def as_shown(runs: Runs) -> np.ndarray:
    """What the panel showed [m/s]: the mean ground speed of the legs, else the indicated airspeed."""
    shown = given.column_or_nan(runs, "airspeed") + np.zeros(np.shape(runs["altitude"]))
    found = legs_of(runs)
    if found is None:
        return shown
    count = (~np.isnan(found[0])).sum(axis=-1)
    return np.where(count > 0, np.nansum(found[0], axis=-1) / np.maximum(count, 1), shown)


def pressure_of(conditions: given.Conditions) -> np.ndarray:
    """Static pressure [Pa] at the pressure altitude of a level run: what the altimeter itself measures."""
    return atmosphere.pressure(conditions["altitude"])


def true_of(runs: Runs) -> np.ndarray | None:
    """True airspeed [m/s] of every run; None where not every run has enough legs, or an airspeed and a temperature."""
    airspeed = np.full(np.shape(as_shown(runs)), np.nan)
    found = legs_of(runs)
    if found is not None:
        airspeed = from_legs(*found)
    if has(runs, "oat", "altitude") and "airspeed" in runs:
        indicated = given.true_airspeed(runs["airspeed"], runs, pressure_of(runs))
        alone = np.isnan(airspeed) if found is None else (~np.isnan(found[0])).sum(axis=-1) < 2
        airspeed = np.where(alone, indicated, airspeed)
    return None if np.any(np.isnan(airspeed)) else airspeed


def level_density_ratio(runs: Runs, sky: Sky) -> np.ndarray:
    """Density over that of the common sky (..., n), at the runs' pressure altitudes; NaN where unknown."""
    if not given.both(runs, sky, "oat", "altitude"):
        return np.asarray(np.nan)
    return given.density(runs, pressure_of(runs)) / given.density(sky, pressure_of(sky))
