"""Which rows of a log repeat a position that was not measured anew?

Many loggers write ten rows a second and hold the receiver's position until the next one comes. Row by row such a track
stands and leaps. A position that repeats while the aeroplane moves is one fix, that of its first row; one that repeats
because the aeroplane stands is kept, as often as positions come.
"""

from __future__ import annotations

import numpy as np

#: Ground speed [m/s] from one position to the next beyond which the aeroplane moves; and beyond which it does so surely
#: enough to tell how often positions come (assumed: walking pace, and faster than taxying around corners).
MOVING, SURELY = 2.0, 5.0
#: Steps of the written places within which a slow aeroplane stays at one place by rounding alone: a row beyond a cell
#: lies at most two of its diagonals away.
ROUNDED = 3.0
#: Share of the time between positions by which a stay may be longer and still be one fix.
LONGER = 1.5


def measured(time: np.ndarray, distance: np.ndarray, resolution: float) -> tuple[np.ndarray, float]:
    """Which rows hold a position of their own, (n,) bool, and how often [s] positions come; all, and NaN, where none
    is held.

    Parameters
    ----------
    time : (n,) [s]
    distance : (n - 1,) [m] from each row to the next, zero where the position is written the same again
    resolution : [m] step in which places are written
    """
    every = np.ones(time.size, dtype=bool), float("nan")
    first = np.flatnonzero(np.r_[True, (distance > 0) | (np.diff(time) <= 0)])
    if first.size < 3 or first.size == time.size:
        return every
    count = np.diff(np.r_[first, time.size])
    last = first + count - 1
    # To the next position: the last one has none, and went on as the one before it came.
    away = np.r_[distance[first[1:] - 1], np.nan]
    until = np.r_[time[first[1:]], np.nan]
    with np.errstate(divide="ignore", invalid="ignore"):
        speed = np.where(until > time[first], away / (until - time[first]), 0.0)
    far = away > ROUNDED * resolution
    surely = far & (speed > SURELY)
    if not (surely & (count > 1)).any():
        return every
    interval = float(np.median((until - time[first])[surely]))
    is_held = np.median(count[surely]) > 1
    moving = far & (speed > MOVING)
    moving[-1] = speed[-2] > SURELY
    brief = is_held & (time[last] - time[first] < LONGER * interval)
    kept = ~np.repeat(moving | brief, count)
    kept[first] = True
    for one in np.flatnonzero(~(moving | brief) & (count > 1)) if is_held else ():
        rows = slice(first[one] + 1, last[one] + 1)
        kept[rows] = _as_often(time[rows], until[one] if one + 1 < count.size else time[first[one]], interval)
    return kept, interval


def _as_often(time: np.ndarray, anchor: float, interval: float) -> np.ndarray:
    """Rows nearest to whole intervals from ``anchor`` [s]: while the aeroplane stands, positions come on as before."""
    turn = (time - anchor) / interval
    reach = 0.5 * float(np.median(np.diff(time))) / interval if time.size > 1 else 0.5
    off = turn - np.round(turn)
    return (off >= -reach + 1e-9) & (off < reach + 1e-9) & (np.round(turn) != 0)
