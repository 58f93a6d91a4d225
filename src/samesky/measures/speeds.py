"""How fast through the air was a level run?

From the airspeed indicator, made true in the air of the run; or from ground speeds and tracks that satellite
navigation showed on two or more legs (:mod:`samesky.air.legs`), which no error of the airspeed system can touch.
Legs are preferred where a run has enough of them.

The wind changes while the legs are flown. A steady change is taken out as far as the legs tell it apart, and what they
leave is in the budget: the change from leg to leg is a coefficient of the measure, zero and uncertain, new at each run.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.air import atmosphere, legs
from samesky.instruments.sources import ErrorSource
from samesky.measures import conditions as given
from samesky.measures.columns import MOST_LEGS
from samesky.measures.shape import Coefficient, Coefficients, Runs, Sky, has

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Legs less spread than this (assumed) (see :func:`samesky.air.legs.spread`) cannot tell airspeed from wind.
LEAST_SPREAD = 0.1
#: Standard uncertainty [m/s] of the change of the wind from one leg to the next, in each component, and scatter [m/s]
#: of the ground speed of one leg about that of the mean airspeed and wind (both assumed: legs of two minutes, winds
#: that wander by some knots in an hour, and an airspeed held to about half a knot).
WIND_CHANGE, LEG_SCATTER = 0.15, 0.3
EAST, NORTH = "wind change east", "wind change north"
_CHANGES = "assumed: 0.3 kt in either direction from one leg to the next"
#: The coefficients and error sources of every measure that takes its airspeed from legs.
COEFFICIENTS = tuple(
    Coefficient(name, 0.0, WIND_CHANGE, f"change of the wind from leg to leg towards {name[12:]} [m/s]", _CHANGES)
    for name in (EAST, NORTH)
)
SOURCES = tuple(ErrorSource(name, name, WIND_CHANGE, "run", _CHANGES) for name in (EAST, NORTH))


#: What is assumed of legs.
ASSUMED = (
    "Legs of one run are flown one after the other at one airspeed and altitude; tracks, not headings, of one north.",
    "A wind that changes steadily from leg to leg stays in the result of three and four legs, is taken out in part "
    "with five and more, and cancels where six or more are flown out and back in the reverse order; what is left of it "
    "is in the budget.",
)


def legs_of(runs: Runs) -> tuple[Floats, Floats] | None:
    """Ground speeds [m/s] and tracks [rad] of the runs, legs on a new last axis, NaN where not flown; None if none.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)

    Returns
    -------
    tuple of ndarray or None
        Ground speeds [m/s] and tracks [rad], (..., n, legs).
    """
    numbers = [leg for leg in range(1, MOST_LEGS + 1) if f"speed {leg}" in runs and f"track {leg}" in runs]
    if not numbers:
        return None
    columns = [np.asarray(runs[f"{what} {leg}"], dtype=float) for what in ("speed", "track") for leg in numbers]
    legs_flown = np.stack(np.broadcast_arrays(*columns), axis=-1)
    speed, track = legs_flown[..., : len(numbers)], legs_flown[..., len(numbers) :]
    flown = ~np.isnan(speed + track)
    return np.where(flown, speed, np.nan), np.where(flown, track, np.nan)


def from_legs(speed: Floats, track: Floats, wind_change: tuple[float, float] = (0.0, 0.0)) -> Floats:
    """True airspeed [m/s] of runs (..., n) from legs (..., n, legs); NaN where the legs cannot tell it from the wind.

    Three or more legs are solved, with a wind that may change steadily from leg to leg: by ``wind_change`` [m/s]
    towards east and north beforehand, and by what the legs tell. Two legs on reciprocal tracks are averaged, which is
    low by about Wx^2/(2V) in a crosswind Wx: in a difference on one line and in one wind that is Wx^2/(2V^2) of the
    difference only.

    Parameters
    ----------
    speed : ground speeds [m/s], (..., n, legs); NaN where not flown
    track : ground tracks [rad], (..., n, legs); NaN where not flown
    wind_change : change of the wind from leg to leg [m/s], towards east and north

    Returns
    -------
    ndarray
        [m/s], (..., n), the last axis the runs.
    """
    flown = ~np.isnan(speed)
    count = flown.sum(axis=-1)
    solvable = (count >= 3) & (legs.spread(track) >= LEAST_SPREAD)
    # The second of two legs has the change more of wind along its track than the first: half of it in the mean.
    east, north = wind_change
    turns = np.where(flown, np.cumsum(flown, axis=-1) - 1.5, np.nan)
    steady = speed - turns * (east * np.sin(track) + north * np.cos(track))
    airspeed = np.where(count == 2, np.nansum(steady, axis=-1) / 2.0, np.nan)
    if np.any(solvable):
        airspeed[solvable] = legs.airspeed_in_changing_wind(
            speed[solvable], track[solvable], WIND_CHANGE, LEG_SCATTER, wind_change
        )
    return airspeed


def two_leg_angle(runs: Runs, sky: Sky) -> Floats:
    """How far [rad] two legs are from reciprocal tracks, 0 to pi; NaN where not just two legs were flown.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs

    Returns
    -------
    ndarray
        [rad], (..., n), the last axis the runs.
    """
    found = legs_of(runs)
    if found is None:
        return np.full(np.shape(runs["altitude"]), np.nan)
    track = found[1]
    between = np.hypot(np.nansum(np.sin(track), axis=-1), np.nansum(np.cos(track), axis=-1))
    apart = 2.0 * np.arcsin(np.minimum(0.5 * between, 1.0))
    return np.where((~np.isnan(track)).sum(axis=-1) == 2, apart, np.nan)


def as_shown(runs: Runs) -> Floats:
    """What the panel showed [m/s]: the mean ground speed of the legs, else the indicated airspeed.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)

    Returns
    -------
    ndarray
        [m/s], (..., n), the last axis the runs.
    """
    shown = given.column_or_nan(runs, "airspeed") + np.zeros(np.shape(runs["altitude"]))
    found = legs_of(runs)
    if found is None:
        return shown
    count = (~np.isnan(found[0])).sum(axis=-1)
    return np.where(count > 0, np.nansum(found[0], axis=-1) / np.maximum(count, 1), shown)


def pressure_of(conditions: given.Conditions) -> Floats:
    """Static pressure [Pa] at the pressure altitude of a level run: what the altimeter itself measures.

    Parameters
    ----------
    conditions : prepared columns of runs or sky [SI], by name

    Returns
    -------
    ndarray
        [Pa], (..., n), the last axis the runs.
    """
    return atmosphere.pressure(conditions["altitude"])


def true_of(runs: Runs, coefficients: Coefficients) -> Floats | None:
    """True airspeed [m/s] of every run; None where not every run has enough legs, or an airspeed and a temperature.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    coefficients : values of the coefficients, by name

    Returns
    -------
    ndarray or None
        [m/s], (..., n), the last axis the runs.
    """
    airspeed = np.full(np.shape(as_shown(runs)), np.nan)
    found = legs_of(runs)
    if found is not None:
        airspeed = from_legs(*found, (float(coefficients[EAST]), float(coefficients[NORTH])))
    if has(runs, "oat", "altitude") and "airspeed" in runs:
        indicated = given.true_airspeed(runs["airspeed"], runs, pressure_of(runs))
        alone = np.isnan(airspeed) if found is None else (~np.isnan(found[0])).sum(axis=-1) < 2
        airspeed = np.where(alone, indicated, airspeed)
    return None if np.any(np.isnan(airspeed)) else airspeed


def level_density_ratio(runs: Runs, sky: Sky) -> Floats:
    """Density over that of the common sky (..., n), at the runs' pressure altitudes; NaN where unknown.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs

    Returns
    -------
    ndarray
        [1], (..., n), the last axis the runs.
    """
    if not given.both(runs, sky, "oat", "altitude"):
        return np.asarray(np.nan)
    return given.density(runs, pressure_of(runs)) / given.density(sky, pressure_of(sky))
