"""What does the wind do to the aeroplane, and what is left of it over the ground?

Wind is given by its speed and the direction it blows *from*; all directions in one reference (all true, or all
magnetic), in rad, clockwise from north. Plane geometry in plain SI on arrays that broadcast. The way back, from ground
speeds to airspeed and wind, is in :mod:`samesky.air.legs`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers


class Components(NamedTuple):
    """Wind along and across a direction [m/s]: headwind positive from ahead, crosswind positive from the right."""

    headwind: Floats
    crosswind: Floats


class OverGround(NamedTuple):
    """Ground speed [m/s] and ground track [rad, 0 to 2 pi]."""

    ground_speed: Floats
    track: Floats


def components(speed: Numbers, from_direction: Numbers, runway_heading: Numbers) -> Components:
    """Split a wind into headwind and crosswind on a runway or a leg.

    Parameters
    ----------
    speed : wind speed [m/s]
    from_direction : direction the wind blows from [rad]
    runway_heading : direction of the run [rad], same reference as the wind

    Returns
    -------
    Components
        Headwind (negative: tailwind) and crosswind from the right (negative: from the left) [m/s].

    Examples
    --------
    >>> head, cross = components(25.0, np.radians(140.0), np.radians(170.0))
    >>> round(float(head)), round(float(cross), 1)
    (22, -12.5)
    """
    speed = np.asarray(speed, dtype=float)
    angle = np.asarray(from_direction, dtype=float) - np.asarray(runway_heading, dtype=float)
    return Components(speed * np.cos(angle), speed * np.sin(angle))


def drift_correction(tas: Numbers, track: Numbers, wind_speed: Numbers, wind_from: Numbers) -> Floats:
    """Angle [rad] to steer right of a track so as to stay on it: asin((W/V) sin(d - track)).

    ``tas`` and ``wind_speed`` [m/s], ``track`` and ``wind_from`` [rad]. Raises ValueError where the crosswind is
    stronger than the airspeed, so that no heading holds the track.

    Parameters
    ----------
    tas : true airspeed [m/s]
    track : ground track [rad] clockwise from north
    wind_speed : wind speed [m/s]
    wind_from : direction that the wind blows from [rad], same reference

    Returns
    -------
    ndarray
        [rad], of the shape to which the parameters broadcast.
    """
    crosswind = components(wind_speed, wind_from, track).crosswind
    ratio = crosswind / np.asarray(tas, dtype=float)
    if np.any(np.abs(ratio) > 1):
        raise ValueError("the crosswind is stronger than the true airspeed: no heading holds this track")
    return np.arcsin(ratio)


def ground_speed_on_track(tas: Numbers, track: Numbers, wind_speed: Numbers, wind_from: Numbers) -> Floats:
    """Ground speed [m/s] while holding a track: sqrt(V^2 - Wx^2) - headwind.

    ``tas`` and ``wind_speed`` [m/s], ``track`` and ``wind_from`` [rad]. Raises ValueError where the crosswind is
    stronger than the airspeed. Negative where the headwind is stronger.

    Parameters
    ----------
    tas : true airspeed [m/s]
    track : ground track [rad] clockwise from north
    wind_speed : wind speed [m/s]
    wind_from : direction that the wind blows from [rad], same reference

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.
    """
    headwind, crosswind = components(wind_speed, wind_from, track)
    square = np.asarray(tas, dtype=float) ** 2 - crosswind**2
    if np.any(square < 0):
        raise ValueError("the crosswind is stronger than the true airspeed: no heading holds this track")
    return np.sqrt(square) - headwind


def over_ground(tas: Numbers, heading: Numbers, wind_speed: Numbers, wind_from: Numbers) -> OverGround:
    """Ground speed [m/s] and track [rad] while holding a heading [rad].

    ``tas`` and ``wind_speed`` [m/s], ``wind_from`` [rad]: air vector plus wind vector.

    Parameters
    ----------
    tas : true airspeed [m/s]
    heading : heading [rad] clockwise from north
    wind_speed : wind speed [m/s]
    wind_from : direction that the wind blows from [rad], same reference
    """
    tas, heading = np.asarray(tas, dtype=float), np.asarray(heading, dtype=float)
    wind_speed, wind_from = np.asarray(wind_speed, dtype=float), np.asarray(wind_from, dtype=float)
    east = tas * np.sin(heading) - wind_speed * np.sin(wind_from)
    north = tas * np.cos(heading) - wind_speed * np.cos(wind_from)
    return OverGround(np.hypot(east, north), np.arctan2(east, north) % (2 * np.pi))
