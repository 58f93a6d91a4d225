"""Where did it lift off, how long after the brakes, how fast between the markers, on a film from beside the strip?

A camera that stays in one place beside the strip, turned by hand or not, sees the wheels in line with one marker after
another. Places along the strip are counted from the start line, in m, on the wheel line; parallax is taken off by
:func:`samesky.instruments.video.sighted_position`. The place of lift-off lies between passages at the acceleration that
three of them show (Newton's form of the parabola through them), or at an assumed one where there are only two.

What one run has for itself (its frames, where its wheels stood and rolled) and what all runs of a film share (where the
camera and the markers stand, its frame rate) are kept apart. Tolerances are largest errors believed in: their standard
uncertainty is the tolerance over root three (JCGM 100:2008, 4.3.7); sensitivities are numerical (5.1.3, note 2).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from samesky.instruments import video
from samesky.instruments.sources import rectangular

#: Acceleration [m/s2] of a take-off roll where two passages do not tell it, and its tolerance (common practice).
ACCELERATION = (2.25, 0.75)
#: Most of the time between the last two passages that lift-off may lie after the last one.
BEYOND = 1.0
#: Share of the acceleration that each m/s of speed takes, over that speed [s^2/m^2], and its standard uncertainty
#: (assumed; 0.0012 to 0.0019 in own computations, and wind).
LOSS = (0.0016, 0.0008)
#: Fewest passages on the ground that tell an acceleration.
FEWEST_FOR_GAIN = 3


@dataclass(frozen=True, slots=True, eq=False)
class FilmSetup:
    """How rolls were filmed: lengths [m], places along the strip counted from the start line.

    Attributes
    ----------
    frame_rate : [1/s] mean over the film
    markers : (m,) places of the markers, rising
    marker_offset : of their row from the wheel line, positive beyond it as the camera sees it
    camera, camera_distance : its place along the strip, and how far it stands from the wheel line
    readout : [s] of the rolling shutter, from the first row to the last; the row of the wheels is taken as unknown
    passage_tolerance, lift_off_tolerance : [frames] by which a passage, and lift-off, may be misjudged
    marker_tolerance : how far each marker, and their row, may stand from where they are said to
    camera_tolerance : the same of the camera, along and across
    line_tolerance : how far the wheels may roll beside the line on any run
    start_tolerance : how far from the start line they may stand on any run
    frame_rate_tolerance : as a fraction
    """

    frame_rate: float
    markers: np.ndarray
    marker_offset: float = 0.0
    camera: float = 0.0
    camera_distance: float = 30.0
    readout: float = 0.030
    passage_tolerance: float = 1.0
    lift_off_tolerance: float = 3.0
    marker_tolerance: float = 0.2
    camera_tolerance: float = 1.0
    line_tolerance: float = 1.0
    start_tolerance: float = 0.4
    frame_rate_tolerance: float = 0.001


@dataclass(frozen=True, slots=True, eq=False)
class RollFrames:
    """Frame numbers of n rolls, NaN where not seen: ``passages`` (n, m) at the markers, and each (n,) ``brakes``
    released, ``lift_off``, and by how many frames that may be misjudged (``uncertain``; NaN: as in the set-up).
    """

    passages: np.ndarray
    brakes: np.ndarray
    lift_off: np.ndarray
    uncertain: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Filmed:
    """A quantity of n rolls [SI]: ``value`` (n,), the standard uncertainty that each run has for itself ``own`` (n,),
    and what they share, ``shared`` (k, n): a row for each cause, signed, for one standard uncertainty of it.
    """

    value: np.ndarray
    own: np.ndarray
    shared: np.ndarray

    @property
    def standard_uncertainty(self) -> np.ndarray:
        """Of everything together (n,)."""
        return np.sqrt(self.own**2 + np.sum(self.shared**2, axis=0))

    def select(self, which: np.ndarray) -> Filmed:
        """Some of the runs."""
        return Filmed(self.value[which], self.own[which], self.shared[:, which])

    def alike_and_not(self) -> tuple[float, float]:
        """Of what is shared: the standard uncertainty that all runs have alike, and that by which it differs.

        The mean of the covariances between different runs, and what the mean of the variances exceeds it by.
        """
        covariance = self.shared.T @ self.shared
        count = len(covariance)
        own = float(np.trace(covariance)) / count
        alike = own if count == 1 else max(0.0, (float(covariance.sum()) - own * count) / (count * (count - 1)))
        return float(np.sqrt(alike)), float(np.sqrt(max(0.0, own - alike)))


def ground_roll(setup: FilmSetup, frames: RollFrames) -> Filmed:
    """Distance [m] from the start line to lift-off; NaN where fewer than two passages or no lift-off was seen.

    Raises
    ------
    ValueError
        the camera on the wheel line, or markers behind it
    """
    chosen = _nearest_passages(frames)
    two = chosen[:, 2] < 0
    seen = [_at(frames.passages, chosen[:, k]) for k in range(3)]
    inputs = _places(setup, len(chosen)) | {
        "stretch": (1.0, rectangular(setup.frame_rate_tolerance), True),
        "acceleration": (ACCELERATION[0], rectangular(ACCELERATION[1]) if np.any(two) else 0.0, True),
        "start": (np.zeros(len(chosen)), rectangular(setup.start_tolerance), False),
        "lift-off": _moment(setup, frames.lift_off, _lift_off_tolerance(setup, frames)),
        **{f"passage {k}": _moment(setup, seen[k], setup.passage_tolerance) for k in range(3)},
    }

    def place(given: Mapping[str, np.ndarray]) -> np.ndarray:
        on_line = _on_wheel_line(setup, given)
        x = [_at(on_line, chosen[:, k]) for k in range(3)]
        t = [given[f"passage {k}"] * given["stretch"] for k in range(3)]
        first, second = (x[1] - x[0]) / (t[1] - t[0]), (x[2] - x[1]) / (t[2] - t[1])
        bend = np.where(two, given["acceleration"], 2.0 * (second - first) / (t[2] - t[0]))
        moment = given["lift-off"] * given["stretch"]
        return video.position_between(moment, t[:2], x[:2], bend).value - given["start"]

    return _reckoned(place, inputs)


def time_to_lift_off(setup: FilmSetup, frames: RollFrames) -> Filmed:
    """Time [s] from the frame in which the wheels begin to turn to lift-off; NaN where one of the two was not seen."""
    inputs = {
        "stretch": (1.0, rectangular(setup.frame_rate_tolerance), True),
        "brakes": _moment(setup, frames.brakes, setup.passage_tolerance),
        "lift-off": _moment(setup, frames.lift_off, _lift_off_tolerance(setup, frames)),
    }
    return _reckoned(lambda given: (given["lift-off"] - given["brakes"]) * given["stretch"], inputs)


def speed_between_markers(setup: FilmSetup, frames: RollFrames) -> Filmed:
    """Mean ground speed [m/s] between the first and the last marker passed; NaN where fewer than two were.

    Raises ValueError as :func:`ground_roll`.
    """
    passed = ~np.isnan(frames.passages)
    several = passed.sum(axis=1) >= 2
    ends = [
        np.where(several, passed.argmax(axis=1), -1),
        np.where(several, passed.shape[1] - 1 - passed[:, ::-1].argmax(axis=1), -1),
    ]
    inputs = _places(setup, len(passed)) | {
        "stretch": (1.0, rectangular(setup.frame_rate_tolerance), True),
        **{f"passage {k}": _moment(setup, _at(frames.passages, ends[k]), setup.passage_tolerance) for k in range(2)},
    }

    def speed(given: Mapping[str, np.ndarray]) -> np.ndarray:
        on_line = _on_wheel_line(setup, given)
        times = [given[f"passage {k}"] * given["stretch"] for k in range(2)]
        return video.speed_between(times, [_at(on_line, end) for end in ends]).value

    return _reckoned(speed, inputs)


def time_between_speeds(setup: FilmSetup, frames: RollFrames, first: np.ndarray, second: np.ndarray) -> Filmed:
    """Time [s] from one ground speed [m/s] (n,) to another: that at the acceleration of all passages on the ground.

    A parabola through three passages or more, by least squares, bent as the acceleration of light aeroplanes falls with
    speed. NaN where fewer were seen before lift-off, or where the middle of the two speeds was not reached between
    the first of them and the last.

    Raises ValueError as :func:`ground_roll`.
    """
    aloft = frames.passages > np.where(np.isnan(frames.lift_off), np.inf, frames.lift_off)[:, None]
    passages = np.where(aloft, np.nan, frames.passages)
    seen = ~np.isnan(passages)
    enough = seen.sum(axis=1) >= FEWEST_FOR_GAIN
    inputs = _places(setup, len(passages)) | {
        "stretch": (1.0, rectangular(setup.frame_rate_tolerance), True),
        "loss": (LOSS[0], LOSS[1], True),
        **{
            f"passage {k}": _moment(setup, np.where(seen[:, k], passages[:, k], 0.0), setup.passage_tolerance)
            for k in range(passages.shape[1])
        },
    }

    def elapsed(given: Mapping[str, np.ndarray]) -> np.ndarray:
        moments = np.stack([given[f"passage {k}"] for k in range(passages.shape[1])], axis=1) * given["stretch"]
        middle = np.sum(moments * seen, axis=1, keepdims=True) / np.maximum(seen.sum(axis=1, keepdims=True), 1)
        clock = np.where(seen, moments - middle, 0.0)
        design = np.stack([clock**k for k in range(3)], axis=-1) * seen[..., None]
        places = np.where(seen, _on_wheel_line(setup, given) + np.zeros(seen.shape), 0.0)
        square = np.swapaxes(design, 1, 2) @ design + np.where(enough, 0.0, 1.0)[:, None, None] * np.eye(3)

        def curve(bend: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
            """Speed [m/s] and acceleration [m/s^2] at the middle of the passages, less a change of it ``bend``."""
            straight = np.where(seen, places - bend[:, None] * clock**3 / 6.0, 0.0)
            found = np.linalg.solve(square, np.swapaxes(design, 1, 2) @ straight[..., None])[..., 0]
            return found[:, 1], 2.0 * found[:, 2]

        speed, gain = curve(np.zeros(len(passages)))
        bend = -given["loss"] * speed * np.square(gain)
        speed, gain = curve(bend)
        ends = [speed + gain * of(clock, axis=1) + 0.5 * bend * of(clock, axis=1) ** 2 for of in (np.min, np.max)]
        reached = (ends[0] <= 0.5 * (first + second)) & (0.5 * (first + second) <= ends[1])
        need = [one - speed for one in (first, second)]
        with np.errstate(invalid="ignore"):
            times = [2.0 * one / (gain + np.sqrt(np.square(gain) + 2.0 * bend * one)) for one in need]
        return np.where(enough & reached & (gain > 0.0), times[1] - times[0], np.nan)

    return _reckoned(elapsed, inputs)


def acceleration_seen(setup: FilmSetup, frames: RollFrames) -> np.ndarray:
    """Acceleration [m/s2] that the three passages nearest to lift-off show (n,); NaN where there are fewer."""
    chosen = _nearest_passages(frames)
    on_line = _on_wheel_line(setup, {name: one[0] for name, one in _places(setup, len(chosen)).items()})
    x = [_at(on_line, chosen[:, k]) for k in range(3)]
    t = [_at(frames.passages, chosen[:, k]) / setup.frame_rate for k in range(3)]
    return 2.0 * ((x[2] - x[1]) / (t[2] - t[1]) - (x[1] - x[0]) / (t[1] - t[0])) / (t[2] - t[0])


def too_far_beyond(frames: RollFrames) -> np.ndarray:
    """Whether lift-off lies further after the last passage than the last two are apart, times :data:`BEYOND` (n,)."""
    found = np.zeros(len(frames.lift_off), dtype=bool)
    for index, row in enumerate(frames.passages):
        seen = row[~np.isnan(row)]
        found[index] = seen.size > 1 and frames.lift_off[index] - seen[-1] > BEYOND * (seen[-1] - seen[-2])
    return found


def _nearest_passages(frames: RollFrames) -> np.ndarray:
    """Markers (n, 3): the two passages around lift-off, or nearest to it, and the next nearest; -1 for none."""
    chosen = np.full((len(frames.lift_off), 3), -1)
    for index, row in enumerate(frames.passages):
        seen = np.flatnonzero(~np.isnan(row))
        if seen.size < 2 or np.isnan(frames.lift_off[index]):
            continue
        first = int(np.clip(np.searchsorted(row[seen], frames.lift_off[index]) - 1, 0, seen.size - 2))
        chosen[index, :2] = seen[first : first + 2]
        others = [k for k in (first - 1, first + 2) if 0 <= k < seen.size]
        if others:
            chosen[index, 2] = seen[min(others, key=lambda k: abs(row[seen[k]] - frames.lift_off[index]))]
    return chosen


def _at(table: np.ndarray, column: np.ndarray) -> np.ndarray:
    """The entry of each row (n, m) in its own column, NaN where that is negative."""
    picked = np.take_along_axis(table, np.maximum(column, 0)[:, None], axis=1)[:, 0]
    return np.where(column >= 0, picked, np.nan)


def _moment(setup: FilmSetup, frame: np.ndarray, tolerance) -> tuple[np.ndarray, np.ndarray, bool]:
    seen = video.frame_time(frame, setup.frame_rate, uncertain_frames=tolerance, readout=setup.readout)
    return seen.value, seen.standard_uncertainty, False


def _lift_off_tolerance(setup: FilmSetup, frames: RollFrames) -> np.ndarray:
    return np.where(np.isnan(frames.uncertain), setup.lift_off_tolerance, frames.uncertain)


def _places(setup: FilmSetup, count: int) -> dict[str, tuple]:
    """Where things stand: value, standard uncertainty, and whether all runs share one error."""
    stands, camera = rectangular(setup.marker_tolerance), rectangular(setup.camera_tolerance)
    return {
        **{f"marker {k}": (float(x), stands, True) for k, x in enumerate(setup.markers)},
        "offset": (setup.marker_offset, stands, True),
        "camera": (setup.camera, camera, True),
        "distance": (setup.camera_distance, camera, True),
        "line": (np.zeros(count), rectangular(setup.line_tolerance), False),
    }


def _on_wheel_line(setup: FilmSetup, given: Mapping[str, np.ndarray]) -> np.ndarray:
    """Places (n, m) on the wheel line in line with the markers; ``line`` is how far the wheels roll beyond theirs."""
    markers = np.array([given[f"marker {k}"] for k in range(len(setup.markers))])
    aside = np.asarray(given["line"])[:, None]
    return video.sighted_position(
        markers, given["offset"] - aside, given["camera"], given["distance"] + aside
    ).value  # fmt: skip


def _reckoned(quantity: Callable[[Mapping[str, np.ndarray]], np.ndarray], inputs: Mapping[str, tuple]) -> Filmed:
    """The quantity, and what each input's standard uncertainty does to it by central difference."""
    values = {name: value for name, (value, _, _) in inputs.items()}
    with np.errstate(divide="ignore", invalid="ignore"):
        found = quantity(values)
        own, shared = np.zeros(found.shape), []
        for name, (value, spread, alike) in inputs.items():
            if not np.any(spread):
                continue
            up, down = (quantity(values | {name: value + sign * spread}) for sign in (1.0, -1.0))
            effect = 0.5 * (up - down)
            # A third passage that a roll does not have disturbs nothing.
            effect = np.where(np.isnan(effect) & ~np.isnan(found), 0.0, effect)
            if alike:
                shared.append(effect)
            else:
                own = own + effect**2
    return Filmed(found, np.sqrt(own), np.reshape(np.array(shared), (-1, found.size)))
