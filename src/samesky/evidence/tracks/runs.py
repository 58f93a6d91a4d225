"""What does one climb or descent, one set of legs or one roll of a track fill into a row, and how sure is each number?

Readings are keyed by the columns of the measure's file, SI, each with its standard uncertainty. What a receiver's noise
does to a run is put where it acts: on the height between the ends of a climb (its time is satellite time), on each
leg's ground speed and track, on the length of a roll.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from samesky.evidence.day_air import DayAir
from samesky.evidence.run_file import RunFile
from samesky.evidence.stated_sources import StatedSource
from samesky.instruments.tracks import noise as noises
from samesky.instruments.tracks.noise import Noise, TrackEstimate
from samesky.instruments.tracks.segments.segments import Segment
from samesky.measures.speeds import from_legs

#: Standard uncertainty [m] of the absolute height that a logger's barometer shows: 1 hPa (sensor data sheets, row I11).
BAROMETER_LEVEL = 8.3
_BY_HAND = "; for runs from tracks only"


@dataclass(frozen=True, slots=True)
class TrackRun:
    """One run found in a track.

    Attributes
    ----------
    start, end : [s] since 1970-01-01 UTC
    segments : the climb or descent, the roll, or the legs in order of time
    readings : by column, SI
    result : the measure's own number as flown [SI]: rate of climb or sink, true airspeed, ground roll
    note : what a pilot should know of this run
    """

    start: float
    end: float
    segments: tuple[Segment, ...]
    readings: dict[str, TrackEstimate]
    result: TrackEstimate
    note: str = ""


def band_run(way: Segment) -> TrackRun:
    """The row of a climb or descent: both heights as pressure altitude, and the satellite time between."""
    values = way.values
    rate = values["rate of climb" if "rate of climb" in values else "rate of descent"]
    readings = {"from": values["from"], "to": values["to"], "elapsed": TrackEstimate(values["elapsed"].value, 0.0)}
    return TrackRun(way.start, way.end, (way,), readings, rate, "; ".join(way.notes))


def height_between(way: Segment) -> TrackEstimate:
    """Height [m] between the ends of a climb or descent, positive: better known than either end."""
    return way.values["gain" if "gain" in way.values else "loss"]


def legs_run(legs: Sequence[Segment], altitude: TrackEstimate | None, noise: Noise | None = None) -> TrackRun:
    """The row of a set of level legs: ground speed and track of each, and the true airspeed that follows.

    ``noise`` is that of the positions where speeds were worked out from them: see :func:`run_on`.
    """
    readings = {} if altitude is None else {"altitude": altitude}
    wider = 1.0 if noise is None else run_on(legs, noise)
    for number, leg in enumerate(legs, start=1):
        readings[f"speed {number}"] = _wider(leg.values["ground speed"], wider)
        readings[f"track {number}"] = _wider(leg.values["track"], wider)
    notes = list(dict.fromkeys(note for leg in legs for note in leg.notes))
    airspeed = _wider(airspeed_of(legs), wider)
    return TrackRun(legs[0].start, legs[-1].end, tuple(legs), readings, airspeed, "; ".join(notes))


def _wider(reading: TrackEstimate, factor: float) -> TrackEstimate:
    return TrackEstimate(reading.value, factor * reading.standard_uncertainty)


def airspeed_of(legs: Sequence[Segment]) -> TrackEstimate:
    """True airspeed [m/s] from legs and its standard uncertainty, by central differences (JCGM 100:2008, 5.1.3)."""
    value, change, _ = _slopes(legs)
    return TrackEstimate(value, float(np.sqrt(np.sum(np.square(change)))))


def _slopes(legs: Sequence[Segment]) -> tuple[float, np.ndarray, np.ndarray]:
    """True airspeed [m/s], its change (2 n,) by one standard uncertainty of each speed and track, and these."""
    speed = np.array([leg.values["ground speed"].value for leg in legs])
    track = np.array([leg.values["track"].value for leg in legs])
    spread = np.array([leg.values[name].standard_uncertainty for name in ("ground speed", "track") for leg in legs])
    push = np.diag(spread)
    up, down = (np.r_[speed, track] + sign * push for sign in (+1.0, -1.0))
    count = speed.size
    change = 0.5 * (from_legs(up[:, :count], up[:, count:]) - from_legs(down[:, :count], down[:, count:]))
    return float(from_legs(speed[None], track[None])[0]), change, spread


def run_on(legs: Sequence[Segment], noise: Noise) -> float:
    """Factor, at least 1, by which the airspeed from legs is less sure than legs with errors of their own would give.

    A speed worked out from positions is wrong by the drift of the position's error over its leg. An error that wanders
    about nothing comes back on the next leg what it went on this one (Gauss-Markov: autocorrelation exp(-|dt|/tau)),
    and there the aeroplane flies the other way: both errors push the airspeed to one side.
    """
    _, change, spread = _slopes(legs)
    count = len(legs)
    slope = change / spread
    track = np.array([leg.values["track"].value for leg in legs])
    speed = np.array([leg.values["ground speed"].value for leg in legs])
    along, across = np.array([np.sin(track), np.cos(track)]), np.array([np.cos(track), -np.sin(track)])
    weight = slope[:count] * along + slope[count:] / speed * across  # (2, n): change by an error east or north
    ends = np.array([[leg.start, leg.end] for leg in legs])
    alike = np.exp(-np.abs(ends[:, None, :, None] - ends[None, :, None, :]) / noise.correlation_time)
    length = ends[:, 1] - ends[:, 0]
    shared = (alike[..., 0, 0] + alike[..., 1, 1] - alike[..., 0, 1] - alike[..., 1, 0]) / np.outer(length, length)
    each = weight.T @ weight * shared
    return max(1.0, float(np.sqrt(each.sum() / np.trace(each)))) if np.isfinite(each).all() else 1.0


def roll_run(roll: Segment) -> TrackRun:
    """The row of a take-off or landing roll."""
    return TrackRun(
        roll.start, roll.end, (roll,), {"ground roll": roll.values["roll"]}, roll.values["roll"], "; ".join(roll.notes)
    )


def gain_run(gain: Segment, first: float, second: float) -> TrackRun:
    """The row of an acceleration on the ground: the two ground speeds [m/s] as agreed, and the time between them."""
    readings = {
        "first ground speed": TrackEstimate(first, 0.0),
        "second ground speed": TrackEstimate(second, 0.0),
        "elapsed": gain.values["elapsed"],
    }
    return TrackRun(gain.start, gain.end, (gain,), readings, gain.values["acceleration"], "; ".join(gain.notes))


def gain_sources(runs: Sequence[TrackRun], file: RunFile, noise: Noise) -> list[StatedSource]:
    """Error sources of accelerations on the ground: the time at its own size; no display was read."""
    if not runs:
        return []
    name, size = file.measure.name, _typical(runs, "elapsed")[0]
    how = f"track: line through the fixes between the two speeds ({_plain(noise)})"
    return [
        _stated("stopwatch", "elapsed", "run", size, file.unit("elapsed"), how, name, runs),
        *(
            _stated(
                f"{which} ground speed on the display", f"{which} ground speed", "run", 0.0,
                file.unit(f"{which} ground speed"), "track: no display was read", name, runs,
            )
            for which in ("first", "second")
        ),
    ]  # fmt: skip


def _typical(runs: Sequence[TrackRun], column: str) -> tuple[float, float]:
    """Root mean square of the standard uncertainties of a column, and the mean of its values [SI]."""
    own = [run.readings[column] for run in runs if column in run.readings]
    u = np.sqrt(np.mean([one.standard_uncertainty**2 for one in own]))
    return float(u), float(np.mean([abs(one.value) for one in own]))


def band_sources(
    runs: Sequence[TrackRun], file: RunFile, noise: Noise, air: DayAir | None, density_exponent: float
) -> list[StatedSource]:
    """Error sources of climbs and descents: the height between at its own size, nothing for watch and altimeter."""
    if not runs:
        return []
    gained = float(np.sqrt(np.mean([height_between(run.segments[0]).standard_uncertainty ** 2 for run in runs])))
    what = "gained" if "gain" in runs[0].segments[0].values else "lost"
    name, scope = file.measure.name, "run"
    length, time = file.unit("from"), file.unit("elapsed")
    how = f"track: height {what}, fitted through noise alike over {noise.correlation_time:g} s ({_plain(noise)})"
    found = [
        _stated("altimeter reading at the end", "to", scope, gained, file.unit("to"), how, name, runs),
        _stated(
            "altimeter reading at the start", "from", scope, 0.0, length,
            "track: counted in that of the end, for both lie on one fitted curve", name, runs,
        ),
        _stated("stopwatch", "elapsed", scope, 0.0, time, "track: satellite time", name, runs),
        _stated(
            "altimeter scale at the start", "from", "campaign", 0.0, length,
            "track: no altimeter was read", name, runs,
        ),
        _stated(
            "altimeter scale at the end", "to", "campaign", 0.0, file.unit("to"),
            "track: no altimeter was read", name, runs,
        ),
    ]  # fmt: skip
    size = 0.0 if air is None else air.rate_uncertainty(density_exponent)
    if size > 0:
        found.append(
            StatedSource(
                "height counted by satellite", "result", "day", size, "%", "fraction",
                "track: geometric height taken to pressure altitude with what is known of the day's air "
                f"({air.u_deviation:g} K, {air.u_level:.0f} m)",
                (name,), float(np.mean([run.result.value for run in runs])),
            )
        )  # fmt: skip
    return found


def legs_sources(runs: Sequence[TrackRun], file: RunFile, noise: Noise, by_satellite: bool) -> list[StatedSource]:
    """Error sources of legs: ground speed and track of each at its own size, and the height."""
    if not runs:
        return []
    most = max(len(run.segments) for run in runs)
    found, name = [], file.measure.name
    # One receiver reads every leg alike: one size for all, from all of them together.
    sizes = {
        target: float(
            np.sqrt(
                np.mean(
                    [
                        run.readings[f"{target} {leg}"].standard_uncertainty ** 2
                        for run in runs
                        for leg in range(1, len(run.segments) + 1)
                    ]
                )
            )
        )
        for target in ("speed", "track")
    }
    for leg in range(1, most + 1):
        for what, target, said in (
            ("ground speed on leg", "speed", "mean over the leg"),
            ("track of leg", "track", "direction of the mean velocity over the leg"),
        ):
            column = f"{target} {leg}"
            how = f"track: {said}, noise alike over {noise.correlation_time:g} s ({_plain(noise)})"
            unit = file.unit(column)
            found.append(_stated(f"{what} {leg}", column, "run", sizes[target], unit, how, name, runs))
    if all("altitude" in run.readings for run in runs):
        size = _typical(runs, "altitude")[0]
        how = "track: height counted by satellite" if by_satellite else "track: barometer of the logger, 1 hPa"
        scope = "day" if by_satellite else "campaign"
        found.append(_stated("altimeter scale", "altitude", scope, size, file.unit("altitude"), how, name, runs))
    return found


def roll_sources(runs: Sequence[TrackRun], file: RunFile, noise: Noise) -> list[StatedSource]:
    """Error sources of rolls: the length at its own size; there was no tape."""
    if not runs:
        return []
    size, mean = _typical(runs, "ground roll")
    name = file.measure.name
    event = "left" if name == "takeoff_roll" else "touched"
    how = f"track: where it stood and where the wheels {event} the ground ({_plain(noise)})"
    return [
        _stated("start and end of the roll", "ground roll", "run", size, file.unit("ground roll"), how, name, runs),
        StatedSource(
            "tape and markers", "ground roll", "campaign", 0.0, "%", "fraction",
            "track: no tape was laid" + _BY_HAND, (name,), mean,
        ),
    ]  # fmt: skip


def _stated(
    name: str, target: str, scope: str, size: float, unit: tuple[str, str], how: str, measure: str, runs
) -> StatedSource:
    typical = _typical(runs, target)[1]
    return StatedSource(name, target, scope, size, *unit, how + _BY_HAND, (measure,), typical or 1.0)


def _plain(noise: Noise) -> str:
    """The noise's source in ASCII words: it goes into a file that may be in any spelling of letters."""
    return noise.source.encode("ascii", errors="replace").decode("ascii")


def height_noise(by_satellite: bool) -> Noise:
    """Noise of the heights that the climb was fitted through."""
    return noises.ALTITUDE if by_satellite else noises.PRESSURE_ALTITUDE
