"""How fast were we through the air, if we only know how fast we were over the ground?

All of it assumes the same true airspeed on every leg, level flight and no sideslip, and, but for
:func:`airspeed_in_changing_wind`, the same wind. Legs on *tracks*
(what a satellite receiver shows) and legs on *headings* (what a compass shows) need different formulas: mixing them up
costs about Wx^2/(2V). Ground speeds are [m/s], directions [rad] clockwise from north. The last axis is the legs.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers


class AirFromLegs(NamedTuple):
    """True airspeed [m/s], wind speed [m/s], direction the wind blows from [rad, 0 to 2 pi]."""

    tas: Floats
    wind_speed: Floats
    wind_from: Floats


#: Least sine-and-cosine spread of the legs (assumed): three legs inside an arc of about 60 degrees fall below it.
_LEAST_SPREAD = 0.06


#: Rounds of Gauss-Newton: the model is nearly linear, and each squares what the one before left.
_ROUNDS = 4


def _speeds(*speeds: Numbers) -> list[Floats]:
    arrays = [np.asarray(speed, dtype=float) for speed in speeds]
    if any(np.any(array <= 0) for array in arrays):
        raise ValueError("every ground speed must be more than zero")
    return arrays


def _legs(ground_speed: Numbers, track: Numbers) -> tuple[Floats, ...]:
    """Both as arrays of one shape (..., n), n >= 3, or a ValueError."""
    (g,), track = _speeds(ground_speed), np.asarray(track, dtype=float)
    if g.shape[-1:] != track.shape[-1:] or g.ndim == 0 or g.shape[-1] < 3:
        raise ValueError("airspeed and wind need three or more legs, each with a ground speed and a track")
    return np.broadcast_arrays(g, track)


def spread(track: Numbers) -> Floats:
    """How well legs on these tracks (..., n) [rad] separate airspeed from wind [1].

    The least singular value of the rows (1, sin, cos), over root n: 0.71 for legs evenly round the compass, 0 for
    legs on one line. NaN marks a leg not flown.

    Parameters
    ----------
    track : ground tracks [rad], last axis the legs; NaN for a leg not flown

    Returns
    -------
    ndarray
        [1], of the shape of ``track`` less its last axis: 0 for legs on one line to 0.71 for legs evenly round the
        compass.
    """
    track = np.asarray(track, dtype=float)
    flown = ~np.isnan(track)
    rows = np.where(flown[..., None], np.stack((np.ones_like(track), np.sin(track), np.cos(track)), axis=-1), 0.0)
    squares = np.linalg.eigvalsh(np.swapaxes(rows, -1, -2) @ rows)[..., 0] / np.maximum(flown.sum(axis=-1), 1)
    return np.sqrt(np.maximum(squares, 0.0))


def airspeed_from_tracks(ground_speed: Numbers, track: Numbers) -> AirFromLegs:
    """True airspeed and wind from three or more legs flown on known tracks.

    The tips of the ground-velocity vectors lie on a circle whose radius is the airspeed and whose centre is the wind
    vector; for every leg  GS^2 = K + 2 GS (wE sin(track) + wN cos(track)),  K = V^2 - W^2. Three legs solve it
    exactly, more by linear least squares.

    Parameters
    ----------
    ground_speed : (..., n) [m/s], n >= 3; NaN marks a leg not flown
    track : (..., n) [rad], one reference throughout; broadcasts against the speeds

    Returns
    -------
    AirFromLegs
        Each of shape (...,).

    Raises
    ------
    ValueError
        With fewer than three legs, a speed of zero, or tracks too close together to tell airspeed from wind.

    Notes
    -----
    Geometry after D. Gray, Using GPS to accurately establish True Airspeed, 1998. An algebraic circle fit: it weights
    legs by their ground speed, which matters little while the wind is well below the airspeed.

    Examples
    --------
    >>> air = airspeed_from_tracks([140.0, 112.0, 120.0], np.radians([192.0, 283.0, 20.0]))
    >>> round(float(air.tas), 1)
    130.0
    """
    g, track = _legs(ground_speed, track)
    flown = ~np.isnan(g + track)
    if np.any(flown.sum(axis=-1) < 3):
        raise ValueError("airspeed and wind need three or more legs, each with a ground speed and a track")
    if np.any(spread(np.where(flown, track, np.nan)) < _LEAST_SPREAD):
        raise ValueError(
            "the tracks are too close together to tell airspeed from wind: spread the legs over 180 degrees or more, "
            "best 90 or 120 degrees apart"
        )
    g, track = np.where(flown, g, 0.0), np.where(flown, track, 0.0)
    scale = g.sum(axis=-1, keepdims=True) / flown.sum(axis=-1, keepdims=True)
    u = g / scale  # in units of the mean speed, so that the three unknowns are of one size
    rows = np.stack((flown.astype(float), 2 * u * np.sin(track), 2 * u * np.cos(track)), axis=-1)
    k, east, north = np.moveaxis(_least_squares(rows, u * u), -1, 0)
    scale = scale[..., 0]
    tas = scale * np.sqrt(np.maximum(k + east * east + north * north, 0))
    return AirFromLegs(tas, scale * np.hypot(east, north), np.arctan2(-east, -north) % (2 * np.pi))


def _least_squares(rows: Floats, right: Floats) -> Floats:
    """Solve many small least-squares problems (..., n, 3) x (..., n) at once, by QR."""
    q, r = np.linalg.qr(rows)
    return np.linalg.solve(r, np.einsum("...ni,...n->...i", q, right)[..., None])[..., 0]


def airspeed_in_changing_wind(
    ground_speed: Numbers, track: Numbers, change: float, scatter: float, expected: tuple[float, float] = (0.0, 0.0)
) -> Floats:
    """True airspeed [m/s] from legs flown one after the other in a wind that changes steadily from leg to leg.

    Unknown are the airspeed V, the wind halfway and its change from one leg to the next; a leg at track t shows

        GS = w . t + sqrt(V^2 - (w x t)^2),   w = w0 + tau w1,

    with tau counting legs from the middle of those flown. Of the change is known beforehand that each component lies
    within ``change`` of what is ``expected`` (standard uncertainty), of each ground speed that it lies within
    ``scatter`` of the model (Bayesian least squares, Gauss-Newton from the answer in a steady wind). Five legs and more
    tell part of the change, which is taken out; three and four tell nothing of it; and where six or more are flown out
    and back in the reverse order it cancels.

    Parameters
    ----------
    ground_speed, track : (..., n) as for :func:`airspeed_from_tracks`, in the order flown, evenly spaced in time; NaN
        marks a leg not flown
    change : [m/s] a leg, east and north alike
    scatter : [m/s] of the ground speed of one leg
    expected : [m/s] a leg, towards east and towards north

    Returns
    -------
    (...,) [m/s]

    Raises
    ------
    ValueError
        as :func:`airspeed_from_tracks`
    """
    g, track = _legs(ground_speed, track)
    steady = airspeed_from_tracks(g, track)
    flown = ~np.isnan(g + track)
    order = np.where(flown, np.cumsum(flown, axis=-1), np.nan)
    tau = np.where(flown, order - np.nanmean(order, axis=-1, keepdims=True), 0.0)
    sine, cosine = np.where(flown, np.sin(track), 0.0), np.where(flown, np.cos(track), 1.0)
    g, weight = np.where(flown, g, 0.0), flown / scatter
    towards = steady.wind_from + np.pi
    unknown = np.stack(
        np.broadcast_arrays(
            steady.tas, steady.wind_speed * np.sin(towards), steady.wind_speed * np.cos(towards), *expected
        ),
        axis=-1,
    )
    prior = np.diag([0.0, 0.0, 0.0, change**-2, change**-2])
    for _ in range(_ROUNDS):
        v, east, north, east_change, north_change = (unknown[..., k, None] for k in range(5))
        east, north = east + tau * east_change, north + tau * north_change
        along, across = east * sine + north * cosine, east * cosine - north * sine
        through = np.sqrt(np.maximum(v**2 - across**2, 1e-12))
        slopes = [v / through, sine - across / through * cosine, cosine + across / through * sine]
        slopes += [tau * slopes[1], tau * slopes[2]]
        rows = np.stack(slopes, axis=-1) * weight[..., None]
        missed = (g - along - through) * weight
        gain = np.einsum("...ni,...n->...i", rows, missed)
        gain = gain + prior.diagonal() * (np.array([0.0, 0.0, 0.0, *expected]) - unknown)
        normal = np.einsum("...ni,...nj->...ij", rows, rows) + prior
        unknown = unknown + np.linalg.solve(normal, gain[..., None])[..., 0]
    return unknown[..., 0]


def sets_of_three(ground_speed: Numbers, track: Numbers) -> AirFromLegs:
    """The same from every set of three among n >= 3 legs, one set in each place of the last axis.

    Published practice with four legs: quote the mean and the sample standard deviation of the four airspeeds; a
    spread below about 1 kt is held to be good. Parameters and errors as :func:`airspeed_from_tracks`.

    Parameters
    ----------
    ground_speed : ground speeds [m/s], last axis the legs
    track : ground tracks [rad], last axis the legs
    """
    g, track = _legs(ground_speed, track)
    sets = list(combinations(range(g.shape[-1]), 3))
    return airspeed_from_tracks(g[..., sets], track[..., sets])


def horseshoe(first: Numbers, across: Numbers, back: Numbers) -> AirFromLegs:
    """True airspeed and wind from three tracks each 90 degrees right of the one before: out, across, back.

    Ground speeds [m/s]; ``wind_from`` is counted from the first track. On one circle the products of opposite speeds
    are equal, so the missing fourth leg would have read first x back / across. The same answer as
    :func:`airspeed_from_tracks`, by hand.

    Parameters
    ----------
    first : ground speed on the first leg [m/s]
    across : ground speed on the second leg [m/s]
    back : ground speed on the way back [m/s]
    """
    first, across, back = _speeds(first, across, back)
    along = (first - back) / 2
    right = (across - first * back / across) / 2
    tas = np.sqrt(first * back + along**2 + right**2)
    return AirFromLegs(tas, np.hypot(along, right), np.arctan2(-right, -along) % (2 * np.pi))


def airspeed_from_headings_120(one: Numbers, two: Numbers, three: Numbers) -> tuple[Floats, Floats]:
    """True airspeed and wind speed [m/s] from ground speeds on three HEADINGS 120 degrees apart.

    E. Williams, Aviation Formulary. Exact for headings, wrong for tracks; needs an airspeed above the wind. Returns
    (tas, wind_speed). Raises ValueError where no such airspeed exists.

    Parameters
    ----------
    one : ground speed on one heading [m/s]
    two : ground speed 120 degrees from it [m/s]
    three : ground speed on the third heading [m/s]

    Returns
    -------
    tuple of ndarray
        True airspeed and wind speed [m/s], of the broadcast shape.
    """
    one, two, three = _speeds(one, two, three)
    mean = (one**2 + two**2 + three**2) / 3
    mu = ((one**2 / mean - 1) ** 2 + (two**2 / mean - 1) ** 2 + (three**2 / mean - 1) ** 2) / 6
    if np.any(mu > 0.25):
        raise ValueError("these ground speeds fit no airspeed above the wind on headings 120 degrees apart")
    b = 0.5 + np.sqrt(0.25 - mu)
    return np.sqrt(mean * b), np.sqrt(mean * mu / b)


def airspeed_from_headings_90(first: Numbers, across: Numbers, back: Numbers) -> tuple[Floats, Floats]:
    """True airspeed and wind speed [m/s] from ground speeds on three HEADINGS each 90 degrees from the one before.

    J. T. Lowry, Performance of Light Aircraft, AIAA 1999, p. 31 (north, east, south; any first heading will do).
    Needs an airspeed above the wind. Returns (tas, wind_speed). Raises ValueError where no such airspeed exists.

    Parameters
    ----------
    first : ground speed on the first leg [m/s]
    across : ground speed on the second leg [m/s]
    back : ground speed on the way back [m/s]

    Returns
    -------
    tuple of ndarray
        True airspeed and wind speed [m/s], of the broadcast shape.
    """
    first, across, back = _speeds(first, across, back)
    p = (first**2 + back**2) / 2
    q = np.hypot(back**2 - first**2, 2 * across**2 - first**2 - back**2) / 4
    if np.any(p < 2 * q):
        raise ValueError("these ground speeds fit no airspeed above the wind on headings 90 degrees apart")
    tas = np.sqrt((p + np.sqrt(p * p - 4 * q * q)) / 2)
    return tas, q / tas


def airspeed_from_reciprocal_tracks(out: Numbers, back: Numbers, crosswind: Numbers = 0.0) -> tuple[Floats, Floats]:
    """True airspeed and headwind on the way out [m/s] from two opposite TRACKS.

    sqrt(mean^2 + Wx^2): without a known crosswind Wx the plain mean understates the airspeed by about Wx^2/(2V).
    Returns (tas, headwind).

    Parameters
    ----------
    out : ground speed on the way out [m/s]
    back : ground speed on the way back [m/s]
    crosswind : wind across the legs [m/s]

    Returns
    -------
    tuple of ndarray
        True airspeed and headwind on the way out [m/s], of the broadcast shape.
    """
    out, back = _speeds(out, back)
    return np.hypot((out + back) / 2, crosswind), (back - out) / 2


def airspeed_from_reciprocal_headings(out: Numbers, back: Numbers, crosswind: Numbers = 0.0) -> tuple[Floats, Floats]:
    """True airspeed and headwind on the way out [m/s] from two opposite HEADINGS.

    Without a known crosswind Wx the plain mean overstates the airspeed by about Wx^2/(2V). Returns (tas, headwind).
    Raises ValueError where the crosswind exceeds a ground speed.

    Parameters
    ----------
    out : ground speed on the way out [m/s]
    back : ground speed on the way back [m/s]
    crosswind : wind across the legs [m/s]

    Returns
    -------
    tuple of ndarray
        True airspeed and headwind on the way out [m/s], of the broadcast shape.
    """
    out, back = _speeds(out, back)
    if np.any(np.minimum(out, back) < np.abs(crosswind)):
        raise ValueError("the crosswind is more than the ground speed: these were not opposite headings")
    along_out, along_back = (np.sqrt(speed**2 - np.square(crosswind)) for speed in (out, back))
    return (along_out + along_back) / 2, (along_back - along_out) / 2
