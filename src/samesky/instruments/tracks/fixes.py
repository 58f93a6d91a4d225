"""What is a track, whatever the receiver that wrote it?

A track is a row of fixes: where, when, how high, how fast and which way. The readers of this package (GPX, NMEA, IGC)
all end here: duplicates and single wild clocks are dropped, breaks are marked so that no segment reaches across one,
and ground speed and track are worked out from the positions where the receiver gave none, and flagged as such.

Local metres use the radii of curvature of the WGS 84 ellipsoid (NIMA TR8350.2: a = 6 378 137 m, 1/f = 298.257 223 563).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from samesky.instruments.tracks.readers.errors import TrackError
from samesky.instruments.tracks.readers.held import measured

SEMI_MAJOR_AXIS = 6_378_137.0
ECCENTRICITY_SQUARED = (2 - 1 / 298.257223563) / 298.257223563

#: A silence longer than this many median intervals, and than this many seconds, breaks the track.
BREAK_INTERVALS, BREAK_SECONDS = 5.0, 5.0
#: A step whose implied speed [m/s] differs more than this from the speeds at both its ends is a jump, not a silence.
JUMP_SPEED = 25.0


@dataclass(frozen=True, slots=True, eq=False)
class Fixes:
    """One track. All arrays have shape (n,) and time never decreases within a piece.

    Attributes
    ----------
    time : [s] since 1970-01-01 00:00 UTC
    latitude, longitude : [rad] WGS 84, north and east positive
    altitude : [m] by satellite, NaN where absent
    pressure_altitude : [m] above 1013.25 hPa, NaN where the logger has no barometer
    ground_speed : [m/s]
    track : [rad] true, 0 to 2 pi, the direction of movement over the ground
    computed : bool, ground speed and track of this fix were worked out from the positions
    piece : int, number of the unbroken stretch that the fix belongs to
    source : name of the file
    notes : what was dropped or found odd, in sentences
    """

    time: np.ndarray
    latitude: np.ndarray
    longitude: np.ndarray
    altitude: np.ndarray
    pressure_altitude: np.ndarray
    ground_speed: np.ndarray
    track: np.ndarray
    computed: np.ndarray
    piece: np.ndarray
    source: str = "track"
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        return self.time.size

    def select(self, chosen: np.ndarray | slice) -> Fixes:
        """The fixes of a mask, a slice or an index array, as a track of their own."""
        return replace(self, **{name: getattr(self, name)[chosen] for name in ARRAYS})

    def between(self, start: float, end: float) -> Fixes:
        """The fixes from ``start`` to ``end`` [s], both included."""
        return self.select((self.time >= start) & (self.time <= end))

    @property
    def interval(self) -> float:
        """Median time between fixes [s]; NaN for a single fix."""
        step = np.diff(self.time)
        step = step[step > 0]
        return float(np.median(step)) if step.size else float("nan")

    def heights(self) -> tuple[np.ndarray, str]:
        """The better of the two altitudes [m] and its name: pressure altitude where every fix has one."""
        if len(self) and not np.isnan(self.pressure_altitude).any():
            return self.pressure_altitude, "pressure altitude"
        return self.altitude, "satellite altitude"


ARRAYS = (
    "time", "latitude", "longitude", "altitude", "pressure_altitude", "ground_speed", "track", "computed", "piece",
)  # fmt: skip


def local_metres(latitude, longitude, origin=None, height=0.0) -> tuple[np.ndarray, np.ndarray]:
    """East and north distances [m], shape as given, from ``origin`` (latitude, longitude) [rad] (default: first fix).

    Good to about 1 part in 10 000 within 10 km of the origin below 70 degrees of latitude; ``height`` [m] above the
    ellipsoid. Radii of curvature of the meridian and of the prime vertical, WGS 84 (NIMA TR8350.2).
    """
    latitude, longitude = np.asarray(latitude, dtype=float), np.asarray(longitude, dtype=float)
    latitude_0, longitude_0 = (latitude.flat[0], longitude.flat[0]) if origin is None else origin
    middle = latitude_0 + (latitude - latitude_0) / 2
    root = np.sqrt(1 - ECCENTRICITY_SQUARED * np.sin(middle) ** 2)
    meridian = SEMI_MAJOR_AXIS * (1 - ECCENTRICITY_SQUARED) / root**3 + height
    vertical = SEMI_MAJOR_AXIS / root + height
    turn = (longitude - longitude_0 + np.pi) % (2 * np.pi) - np.pi
    return vertical * np.cos(middle) * turn, meridian * (latitude - latitude_0)


def path_metres(latitude, longitude) -> tuple[np.ndarray, np.ndarray]:
    """East and north [m] of a path, shape as given, from its first point, every step measured where it was made.

    Steps, speeds and directions are right however far the path leads; ends that lie far apart are not, for meridians
    converge: where they matter, near their origin, :func:`local_metres` serves.
    """
    latitude, longitude = np.asarray(latitude, dtype=float), np.asarray(longitude, dtype=float)
    here = latitude[:-1], longitude[:-1]
    steps = local_metres(latitude[1:], longitude[1:], here)
    east, north = (np.r_[0.0, np.cumsum(step)] for step in steps)
    return east, north


#: Steps [deg] in which receivers write places: decimals of a degree, of a minute (IGC: thousandths, 1.85 m).
PLACE_STEPS = (1e-4, 1 / 6_000, 1 / 60_000, 1e-5, 1 / 600_000, 1e-6)


def rounding_of_places(fixes: Fixes) -> float:
    """Standard deviation [m] along one axis of the rounding of the written places (uniform: step / sqrt 12).

    Zero for places written more finely than all of :data:`PLACE_STEPS`.
    """
    east, north = _step_of_places(fixes.latitude, fixes.longitude)
    return float(np.sqrt((east**2 + north**2) / 2 / 12))


def _step_of_places(latitude: np.ndarray, longitude: np.ndarray) -> tuple[float, float]:
    """East and north [m] of the coarsest of :data:`PLACE_STEPS` that all places fit; zeros where none does."""
    degrees = np.degrees(np.r_[latitude, longitude])
    for step in PLACE_STEPS if latitude.size >= 5 else ():
        multiple = degrees / step
        if (np.abs(multiple - np.round(multiple)) < 1e-3).all():
            corner = (np.array([place[0], place[0] + np.radians(step)]) for place in (latitude, longitude))
            east, north = local_metres(*corner)
            return float(east[1]), float(north[1])
    return 0.0, 0.0


def build(
    time, latitude, longitude, altitude=None, *, pressure_altitude=None, ground_speed=None, track=None,
    source: str = "track", notes: tuple[str, ...] = (),
) -> Fixes:  # fmt: skip
    """Make a clean track of raw columns, shape (n,), NaN where absent; units as in :class:`Fixes`.

    Fixes without time or place, second fixes of one instant, single wild clocks and rows that hold the position before
    (:mod:`.held`) are dropped, each with a note.
    A silence, a clock that was set back or forward, and a leap of the position begin a new piece, each with a note.

    Raises
    ------
    TrackError
        fewer than two fixes with time and place, or an impossible position
    """
    size = np.size(time)
    given = (time, latitude, longitude, altitude, pressure_altitude, ground_speed, track)
    raw = np.array([np.full(size, np.nan) if column is None else np.asarray(column, dtype=float) for column in given])
    raw[~np.isfinite(raw)] = np.nan  # a damaged digit can write 1e999
    said = list(notes)
    usable = np.isfinite(raw[:3]).all(axis=0)
    _drop(said, size - int(usable.sum()), "without time or position dropped")
    raw = raw[:, usable]
    for row, what in ((3, "heights by satellite"), (4, "pressure altitudes")):
        if raw.shape[1] > 1 and (raw[row] == 0).all():  # so write receivers that have none
            raw[row] = np.nan
            said.append(f"{what} are zero throughout: taken as not recorded")
    if (np.abs(raw[1]) > np.pi / 2).any() or (np.abs(raw[2]) > 2 * np.pi).any():
        raise TrackError(source, "a latitude beyond 90 or a longitude beyond 360 degrees", "Check the file's units.")
    raw = _without_held(_without_repeats(raw, said), said)
    if raw.shape[1] < 2:
        raise TrackError(source, f"{raw.shape[1]} usable fixes", "A track needs at least two fixes with a time each.")
    piece = _pieces(raw, said)
    speed, direction, computed = _movement(raw, piece)
    if computed.any():
        said.append(f"{computed.sum()} of {piece.size} ground speeds worked out from positions, none was recorded")
    return Fixes(
        time=raw[0], latitude=raw[1], longitude=raw[2], altitude=raw[3], pressure_altitude=raw[4],
        ground_speed=speed, track=direction, computed=computed, piece=piece, source=source, notes=tuple(said),
    )  # fmt: skip


def _drop(notes: list[str], count: int, what: str) -> None:
    if count:
        notes.append(f"{count} fix{'es' * (count > 1)} {what}")


def _without_repeats(raw: np.ndarray, notes: list[str]) -> np.ndarray:
    """Drop single clocks that leap ahead or back and come home, then second fixes of one instant."""
    time = raw[0]
    wild = np.zeros(time.size, dtype=bool)
    if time.size > 2:
        before, here, after = time[:-2], time[1:-1], time[2:]
        wild[1:-1] = (after > before) & ((here > after) | (here < before))
    _drop(notes, int(wild.sum()), "with a clock out of step with both neighbours dropped")
    raw = raw[:, ~wild]
    repeat = np.r_[False, np.diff(raw[0]) == 0] if raw.shape[1] else np.zeros(0, dtype=bool)
    moved = repeat.copy()
    moved[1:] &= (np.diff(raw[1]) != 0) | (np.diff(raw[2]) != 0)
    _drop(notes, int((repeat & ~moved).sum()), "repeating the one before dropped")
    _drop(notes, int(moved.sum()), "with the time of the one before but another position dropped: first one kept")
    return raw[:, ~repeat]


def _without_held(raw: np.ndarray, notes: list[str]) -> np.ndarray:
    """Drop rows that say a position again which was not measured anew."""
    if not ((np.diff(raw[1]) == 0) & (np.diff(raw[2]) == 0)).any():
        return raw
    east, north = path_metres(raw[1], raw[2])
    kept, interval = measured(raw[0], np.hypot(np.diff(east), np.diff(north)), max(_step_of_places(raw[1], raw[2])))
    again = int((~kept).sum())
    if again:
        notes.append(
            f"{again} of {kept.size} rows repeat the position before them while the clock goes on: each position is "
            f"taken as the one fix that it is, and one comes every {interval:.2g} s"
        )
    return raw[:, kept]


def _pieces(raw: np.ndarray, notes: list[str]) -> np.ndarray:
    """Number the unbroken stretches and say why each break is one."""
    time, latitude, longitude, speed = raw[0], raw[1], raw[2], raw[5]
    step = np.diff(time)
    forward = step[step > 0]
    longest = max(BREAK_SECONDS, BREAK_INTERVALS * float(np.median(forward))) if forward.size else BREAK_SECONDS
    east, north = path_metres(latitude, longitude)
    distance = np.hypot(np.diff(east), np.diff(north))
    implied = distance / np.where(step > 0, step, np.nan)
    # where no speed was recorded, the neighbouring steps say how fast it went
    left = np.r_[np.nan, implied[:-1]] if np.isnan(speed).any() else speed[:-1]
    right = np.r_[implied[1:], np.nan] if np.isnan(speed).any() else speed[1:]
    nearest = np.fmin(np.abs(implied - left), np.abs(implied - right))
    back = step < 0
    leap = ~back & (nearest > JUMP_SPEED)
    silent = ~back & (step > longest)
    broken = back | leap | silent
    clock = silent & leap
    for at in np.flatnonzero(broken)[:20]:
        if back[at]:
            what = f"the clock went back by {-step[at]:.0f} s"
        elif clock[at]:
            what = f"time jump of {step[at]:.0f} s: the way covered does not fit the speed"
        elif silent[at]:
            what = f"dropout of {step[at]:.0f} s"
        else:
            what = f"the position leapt by {distance[at]:.0f} m"
        notes.append(f"{what} after fix {at + 1}; no segment reaches across")
    if broken.sum() > 20:
        notes.append(f"{broken.sum() - 20} more breaks")
    return np.r_[0, np.cumsum(broken)]


def _movement(raw: np.ndarray, piece: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Ground speed and track, from central differences of the position where the receiver gave none."""
    speed, direction = raw[5].copy(), raw[6].copy()
    # a receiver at rest gives no direction: that alone is no reason to replace its speed
    direction[np.isnan(direction) & (speed < 1.0)] = 0.0
    computed = np.isnan(speed) | np.isnan(direction)
    if computed.any():
        east, north = path_metres(raw[1], raw[2])
        bounds = np.r_[0, np.flatnonzero(np.diff(piece)) + 1, piece.size]
        for first, last in pairwise(bounds):
            missing = np.flatnonzero(computed[first:last]) + first
            if last - first < 2 or not missing.size:
                continue
            v_east = np.gradient(east[first:last], raw[0, first:last])[missing - first]
            v_north = np.gradient(north[first:last], raw[0, first:last])[missing - first]
            speed[missing] = np.hypot(v_east, v_north)
            direction[missing] = np.arctan2(v_east, v_north)
    return speed, direction % (2 * np.pi), computed
