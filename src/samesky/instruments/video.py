"""When did it pass the marker, and where did it lift off, on a film taken with a telephone?

Frame numbers become times (with the read-out time of a rolling shutter), pixels and marker passages become distances
along the runway (with parallax), and what the eye cannot decide, such as a lift-off frame known to within a few frames,
becomes metres. Uncertainties are propagated by the law of propagation (JCGM 100:2008, 5.1.2) with numerical
sensitivities (5.1.3, note 2).

Along the runway distances x are measured on the *wheel line*; offsets are positive away from the camera. All lengths in
m, times in s, angles in rad; image positions in pixels, rows counted from the row that is read first.

A frame spread evenly over its interval T has the standard uncertainty T/sqrt(12) (JCGM 100:2008, 4.3.7). Typical
read-out times, 15 to 32 ms, are in row I12 (calibration table of an open camera-to-motion-sensor project): measure the
own camera's, for instance on a ceiling fan, or keep the marker and the wheels near one row, where it cancels.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np


class Measured(NamedTuple):
    """A value and its standard uncertainty, arrays of one shape, in the same unit."""

    value: np.ndarray
    standard_uncertainty: np.ndarray


def propagate(function: Callable[..., np.ndarray], *inputs: Measured | tuple | float) -> Measured:
    """Value and standard uncertainty of a function of independent inputs, each a value or (value, uncertainty)."""
    pairs = [item if isinstance(item, tuple) else (item, 0.0) for item in inputs]
    values = [np.asarray(value, dtype=float) for value, _ in pairs]
    variance = np.zeros(np.broadcast_shapes(*(np.shape(part) for pair in pairs for part in pair)))
    for index, (_, spread) in enumerate(pairs):
        spread = np.asarray(spread, dtype=float)
        if not np.any(spread):
            continue
        ends = [[*values[:index], values[index] + side * spread, *values[index + 1 :]] for side in (1, -1)]
        variance = variance + ((function(*ends[0]) - function(*ends[1])) / 2) ** 2
    return Measured(np.asarray(function(*values), dtype=float), np.sqrt(variance))


def frame_quantisation(frame_rate):
    """Standard uncertainty [s] of a moment that lies somewhere within one frame, at ``frame_rate`` [1/s]: T/sqrt(12).

    Examples
    --------
    >>> round(float(frame_quantisation(30.0)), 4)
    0.0096
    """
    return 1 / (np.asarray(frame_rate, dtype=float) * math.sqrt(12))


def frame_time(
    frame, frame_rate, *, uncertain_frames=0.0, readout=0.0, readout_uncertainty=0.0, row=None, rate_uncertainty=0.0
) -> Measured:
    """Moment [s] after frame 0 at which something is seen in a frame.

    Parameters
    ----------
    frame : number of the frame, counted from 0
    frame_rate : [1/s]; the mean rate over the film, not the nominal one, where the two differ
    uncertain_frames : the event may lie this many frames earlier or later (half width, even chances)
    readout : [s] from the first row to the last of a rolling shutter; 0 for a global shutter
    readout_uncertainty : [s] standard
    row : 0 (read first) to 1 (read last) where the event is seen; None if unknown: then anywhere
    rate_uncertainty : relative standard uncertainty of the frame rate

    Returns
    -------
    Measured
        [s] the frame's own width enters as T/sqrt(12), the half width as n T/sqrt(3)

    Raises
    ------
    ValueError : a row outside 0 to 1
    """
    frame, interval = np.asarray(frame, dtype=float), 1 / np.asarray(frame_rate, dtype=float)
    place = 0.5 if row is None else np.asarray(row, dtype=float)
    if np.any((place < 0) | (place > 1)):
        raise ValueError("row must lie between 0 (read first) and 1 (read last)")
    anywhere = readout / math.sqrt(12) if row is None else 0.0
    variance = (
        frame_quantisation(frame_rate) ** 2
        + (np.asarray(uncertain_frames, dtype=float) * interval) ** 2 / 3
        + anywhere**2
        + (place * readout_uncertainty) ** 2
        + (frame * interval * rate_uncertainty) ** 2
    )
    return Measured(frame * interval + place * readout, np.sqrt(variance))


def rolling_shutter_shift(speed, readout, row_difference=1.0):
    """Distance [m] that an aeroplane at ``speed`` [m/s] covers while the shutter reads from one row to another.

    ``row_difference`` is the share of the picture's height between the two; the shift is a bias unless it is taken off.

    Examples
    --------
    >>> round(float(rolling_shutter_shift(19.5, 0.030)), 1)
    0.6
    """
    return np.asarray(speed, dtype=float) * readout * row_difference


def elapsed(frame_a, frame_b, frame_rate, *, uncertain_frames=0.0, row_difference=0.0, readout=(0.0, 0.0), rate=0.0):
    """Time [s] between two events of one film.

    ``uncertain_frames`` (one number or a pair) is the half width of each; ``row_difference`` the share of the picture's
    height by which the second is lower (read later); ``readout`` (value, standard uncertainty) [s]; ``rate`` the
    relative standard uncertainty of the frame rate. Two frame widths enter, each even: together T/sqrt(6). That an
    event is named by the first frame that shows it, half a frame late on average, is alike at both ends and drops out.

    Returns
    -------
    Measured
    """
    half = np.broadcast_to(np.asarray(uncertain_frames, dtype=float), (2,))
    interval = 1 / np.asarray(frame_rate, dtype=float)
    frames = np.asarray(frame_b, dtype=float) - np.asarray(frame_a, dtype=float)
    value = frames * interval + row_difference * readout[0]
    variance = interval**2 * (1 / 6 + np.sum(half**2) / 3) + (row_difference * readout[1]) ** 2
    return Measured(value, np.sqrt(variance + (frames * interval * rate) ** 2))


def sighted_position(marker, offset, camera, distance) -> Measured:
    """Place [m] on the wheel line that the camera sees in line with a marker beside the runway: parallax taken off.

    x = x_c + (x_m - x_c) D / (D + o), similar triangles.

    Parameters
    ----------
    marker : place of the marker along the runway [m]
    offset : of the marker from the wheel line [m], positive beyond it, negative on the camera's side
    camera : place of the camera along the runway [m]
    distance : of the camera from the wheel line [m], across

    Each may be a number or (value, standard uncertainty).

    Raises
    ------
    ValueError
        the camera on the wheel line, or a marker behind the camera
    """
    across, beyond = (np.asarray(x[0] if isinstance(x, tuple) else x, dtype=float) for x in (distance, offset))
    if np.any(across <= 0) or np.any(across + beyond <= 0):
        raise ValueError("the camera must stand beside the wheel line, and the marker in front of the camera")
    return propagate(lambda m, o, c, d: c + (m - c) * d / (d + o), marker, offset, camera, distance)


def parallax_error(marker, offset, camera, distance) -> Measured:
    """What is wrong [m] if the wheels are taken to be at the marker when the camera sees them in line with it."""
    seen = sighted_position(marker, offset, camera, distance)
    return Measured(
        np.asarray(marker[0] if isinstance(marker, tuple) else marker) - seen.value, seen.standard_uncertainty
    )


def camera_position(pixel, *, camera, distance, pointing=0.0, focal_length, centre) -> Measured:
    """Place [m] on the wheel line seen at an image column by one fixed camera (pinhole).

    x = x_c + D tan(pointing + arctan((u - u_0)/f))

    Parameters
    ----------
    pixel : column u [pixel], to the right
    camera, distance : as in :func:`sighted_position`, x growing to the right of the picture
    pointing : of the optical axis from straight across the runway [rad], positive to the right
    focal_length : f [pixel]; centre : column u_0 of the optical axis [pixel]

    Each may be a number or (value, standard uncertainty). Lens distortion is not taken off: keep to the middle of a
    wide-angle picture.
    """
    return propagate(
        lambda u, c, d, a, f, u0: c + d * np.tan(a + np.arctan((u - u0) / f)),
        pixel, camera, distance, pointing, focal_length, centre,
    )  # fmt: skip


def position_from_markers(pixel, marker_pixels, markers) -> Measured:
    """Place [m] on a line seen at an image column, from three or more marks *on that line* at known places.

    A picture of a line is a projective map of it, x = (a u + b)/(c u + 1), whatever the camera's place and direction
    (cross ratio; R. Hartley and A. Zisserman, Multiple View Geometry, 2.5: from memory). Three marks fix it, more are
    fitted by least squares. No camera geometry is needed; marks off the line first go through
    :func:`sighted_position`.

    Parameters
    ----------
    pixel : columns u (...,) or (value, standard uncertainty)
    marker_pixels, markers : (m,) columns and places [m], m >= 3; each also as (values, standard uncertainties)

    Raises
    ------
    ValueError
        fewer than three marks, or marks that coincide in the picture
    """
    columns = marker_pixels[0] if isinstance(marker_pixels, tuple) else marker_pixels
    places = markers[0] if isinstance(markers, tuple) else markers
    if np.size(columns) < 3 or np.size(columns) != np.size(places):
        raise ValueError("a line needs three or more marks, each with its column and its place")
    if np.unique(columns).size < np.size(columns):
        raise ValueError("two marks coincide in the picture")
    # every mark errs on its own: one input each
    single = [
        (float(np.ravel(v)[k]), float(s)) for v, s in map(_spread, (marker_pixels, markers)) for k, s in enumerate(s)
    ]
    count = np.size(columns)

    def place(u, *marks):
        seen, known = np.array(marks[:count], dtype=float), np.array(marks[count:], dtype=float)
        middle, width = seen.mean(), np.ptp(seen)
        scaled = (seen - middle) / width
        rows = np.column_stack([scaled, np.ones(count), -scaled * known])
        a, b, c = np.linalg.lstsq(rows, known, rcond=None)[0]
        there = (u - middle) / width
        return (a * there + b) / (c * there + 1)

    return propagate(place, pixel, *single)


def _spread(item) -> tuple[np.ndarray, np.ndarray]:
    values, spread = item if isinstance(item, tuple) else (item, 0.0)
    values = np.ravel(np.asarray(values, dtype=float))
    return values, np.broadcast_to(np.asarray(spread, dtype=float), values.shape)


def position_between(time, times, places, acceleration=(0.0, 0.0)) -> Measured:
    """Place [m] at a moment between two marker passages, at a known acceleration.

    x = x_1 + (x_2 - x_1)(t - t_1)/(t_2 - t_1) + a (t - t_1)(t - t_2)/2

    Parameters
    ----------
    time, acceleration : [s], [m/s2], each (value, standard uncertainty) or a number; a take-off roll of a light
        aeroplane gains 1.5 to 3 m/s2 (common practice): leaving it out shifts the place by up to a (t2 - t1)^2 / 8
    times, places : pairs, each entry (value, standard uncertainty) or a number
    """
    (first, second), (begin, end) = times, places

    def place(t, t1, t2, x1, x2, a):
        return x1 + (x2 - x1) * (t - t1) / (t2 - t1) + a * (t - t1) * (t - t2) / 2

    return propagate(place, time, first, second, begin, end, acceleration)


def speed_between(times, places) -> Measured:
    """Mean ground speed [m/s] between two marker passages: times [s] and places [m] as in :func:`position_between`."""
    (first, second), (begin, end) = times, places
    return propagate(lambda t1, t2, x1, x2: (x2 - x1) / (t2 - t1), first, second, begin, end)


def lift_off_uncertainty(speed, frame_rate, uncertain_frames, readout=0.0):
    """Standard uncertainty [m] of a lift-off place whose frame is known to within ``uncertain_frames`` either way.

    ``speed`` [m/s], ``frame_rate`` [1/s], ``readout`` [s] of a rolling shutter where the row is unknown.
    """
    seen = frame_time(0, frame_rate, uncertain_frames=uncertain_frames, readout=readout)
    return np.asarray(speed, dtype=float) * seen.standard_uncertainty
