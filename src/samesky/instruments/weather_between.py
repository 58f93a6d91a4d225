"""What was the weather at the clock of each run, if the reports came half an hour apart from elsewhere on the field?

Between two reports a quantity is interpolated straight, and what it may have done in between grows from both sides (a
random walk tied at both ends: variance q (t - t0)(t1 - t)/(t1 - t0)); before the first and after the last it is held,
and its variance grows by q for each hour. A report is moreover a mean of two or ten minutes at another place, and a run
lasts seconds: over open country the wind's standard deviation about its mean is a share 1/ln(z/z0) of it, 0.17 at 10 m
over grass (neutral surface layer; Panofsky and Dutton, Atmospheric Turbulence: from memory).

The growth rates are assumed, and arguments.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from samesky.air import wind
from samesky.instruments.sources import ErrorSource
from samesky.instruments.weather_report import Report, ReportError, wind_vector

HOUR = 3600.0
#: Turbulence intensity at 10 m over open grass, 1/ln(10/0.03).
TURBULENCE = 1 / math.log(10 / 0.03)


@dataclass(frozen=True, slots=True)
class Wander:
    """How fast the weather leaves what the last report said: standard deviation after one hour (all assumed)."""

    wind: float = 1.5
    temperature: float = 1.0
    dew_point: float = 1.0
    qnh: float = 60.0


@dataclass(frozen=True, slots=True, eq=False)
class Weather:
    """The weather at the clocks of runs, arrays (n,), each with its standard uncertainty.

    Attributes
    ----------
    east, north : [m/s] where the wind blows to
    wind_uncertainty : [m/s] per axis, of the mean wind over the strip: growth since the reports, rounding, other place
    turbulence : [m/s] per axis, new at each run: what a run of seconds meets of gusts that the mean does not show
    gust : [m/s] the larger of the neighbouring reports' gusts, NaN where neither told one
    temperature, dew_point : [K]; qnh : [Pa]
    age : [s] to the nearest report
    notes : sentences
    """

    east: np.ndarray
    north: np.ndarray
    wind_uncertainty: np.ndarray
    turbulence: np.ndarray
    gust: np.ndarray
    temperature: np.ndarray
    temperature_uncertainty: np.ndarray
    dew_point: np.ndarray
    dew_point_uncertainty: np.ndarray
    qnh: np.ndarray
    qnh_uncertainty: np.ndarray
    age: np.ndarray
    notes: tuple[str, ...]

    def on_runway(self, heading) -> RunwayWind:
        """Headwind and crosswind on a runway of *true* heading [rad] (a number or (n,)), with uncertainties."""
        speed, direction = np.hypot(self.east, self.north), np.arctan2(-self.east, -self.north)
        head, cross = wind.components(speed, direction, heading)
        return RunwayWind(head, cross, self.wind_uncertainty, self.turbulence)


@dataclass(frozen=True, slots=True, eq=False)
class RunwayWind:
    """Headwind and crosswind (from the right) [m/s], (n,): the same uncertainty holds for both."""

    headwind: np.ndarray
    crosswind: np.ndarray
    mean_uncertainty: np.ndarray
    turbulence: np.ndarray

    @property
    def standard_uncertainty(self) -> np.ndarray:
        """Of the wind that one run met [m/s]."""
        return np.hypot(self.mean_uncertainty, self.turbulence)


def weather_at(
    reports: Sequence[Report],
    time,
    *,
    wander: Wander = Wander(),
    elsewhere: float = 0.10,
    run_duration: float = 15.0,
    gust_duration: float = 60.0,
    oldest: float = 1.5 * HOUR,
) -> Weather:
    """The weather at the clocks of runs.

    Parameters
    ----------
    reports : of one station, see :func:`.weather_report.read_reports`
    time : (n,) [s] since 1970-01-01 UTC
    wander : growth of the uncertainty away from a report
    elsewhere : share of the wind by which the strip differs from the anemometer (assumed: a tenth, as for any reading
        at another place and height)
    run_duration : [s] of one run; gusts shorter than it average out within it
    gust_duration : [s] over which gusts are alike (assumed), for the same
    oldest : [s] from the nearest report beyond which a note warns

    Raises
    ------
    ReportError
        no report with a wind
    """
    time = np.atleast_1d(np.asarray(time, dtype=float))
    told = [report for report in reports if not math.isnan(report.wind_speed)]
    if not told:
        raise ReportError("none of the reports tells a wind")
    clocks = np.array([report.time for report in told])
    vectors = np.array([wind_vector(report) for report in told])
    east, growth = _between(clocks, vectors[:, 0], time, wander.wind)
    north, _ = _between(clocks, vectors[:, 1], time, wander.wind)
    own = np.array([_told_uncertainty(report) for report in told])
    speed = np.interp(time, clocks, [report.wind_speed for report in told])
    rounding = np.interp(time, clocks, own)
    # variance of a mean over the run of a process with exponential correlation, as a share of that of an instant
    ratio = run_duration / gust_duration
    kept = 2 * (ratio + math.expm1(-ratio)) / ratio**2
    others = {
        name: _quantity(reports, time, name, spread, rate)
        for name, spread, rate in (
            ("temperature", "temperature_uncertainty", wander.temperature),
            ("dew_point", "temperature_uncertainty", wander.dew_point),
            ("qnh", "qnh_uncertainty", wander.qnh),
        )
    }
    age = np.abs(time[:, None] - np.array([report.time for report in reports])).min(axis=1)
    return Weather(
        east, north, np.sqrt(growth + rounding**2 + (elsewhere * speed) ** 2), TURBULENCE * speed * math.sqrt(kept),
        _gusts(told, clocks, time), *others["temperature"], *others["dew_point"], *others["qnh"], age,
        _notes(reports, age, oldest),
    )  # fmt: skip


def _between(clocks, values, time, rate) -> tuple[np.ndarray, np.ndarray]:
    """Interpolated values and the variance of the tied random walk of ``rate`` per root hour."""
    value = np.interp(time, clocks, values)
    after = np.searchsorted(clocks, time)
    before_first, after_last = after == 0, after == clocks.size
    left, right = clocks[np.maximum(after - 1, 0)], clocks[np.minimum(after, clocks.size - 1)]
    span = np.where(right > left, right - left, 1.0)
    tied = (time - left) * (right - time) / span
    free = np.where(before_first, clocks[0] - time, time - clocks[-1])
    return value, rate**2 / HOUR * np.where(before_first | after_last, free, np.maximum(tied, 0.0))


def _quantity(reports, time, name, spread, rate) -> tuple[np.ndarray, np.ndarray]:
    told = [report for report in reports if not math.isnan(getattr(report, name))]
    if not told:
        return np.full(time.size, np.nan), np.full(time.size, np.nan)
    clocks = np.array([report.time for report in told])
    value, growth = _between(clocks, np.array([getattr(report, name) for report in told]), time, rate)
    rounding = np.interp(time, clocks, [getattr(report, spread) for report in told])
    return value, np.sqrt(growth + rounding**2)


def _told_uncertainty(report: Report) -> float:
    """Standard uncertainty [m/s] per axis of the mean wind as told: rounding, and what VRB leaves open."""
    knot = 1852 / 3600
    if math.isnan(report.wind_from) and report.wind_speed > 0:
        # any direction: a component of W cos(angle) has the standard deviation W/root 2; within a sector, its part
        width = 2 * math.pi if report.sector is None else (report.sector[1] - report.sector[0]) % (2 * math.pi)
        inside = math.sin(width / 2) / (width / 2) if width else 1.0
        return math.hypot(knot / math.sqrt(12), report.wind_speed * math.sqrt((1 - inside**2) / 2))
    return math.hypot(knot / math.sqrt(12), report.wind_speed * math.radians(10) / math.sqrt(12))


def _gusts(told, clocks, time) -> np.ndarray:
    gusts = np.array([report.gust for report in told])
    after = np.searchsorted(clocks, time)
    near = np.stack([gusts[np.maximum(after - 1, 0)], gusts[np.minimum(after, clocks.size - 1)]])
    return np.fmax(near[0], near[1])


def _notes(reports, age, oldest) -> tuple[str, ...]:
    notes = ["a report is a mean of two or ten minutes at another place of the field, its direction true"]
    if (age > oldest).any():
        notes.append(f"{int((age > oldest).sum())} runs are more than {oldest / 60:.0f} min from the nearest report")
    if any(report.kind == "SPECI" for report in reports):
        notes.append("a special report (SPECI) says that the weather changed fast about then")
    if any(report.variable and report.sector is None for report in reports):
        notes.append("the wind was told as variable (VRB): its uncertainty is as large as itself")
    if any(report.variable and report.sector is not None for report in reports):
        notes.append(
            "a variable wind (VRB) with a sector was taken from the sector's middle, shorter by what it wanders"
        )
    return tuple(notes)


def error_sources(weather: Weather, heading: float) -> tuple[ErrorSource, ...]:
    """What a campaign that took its weather from reports has to state, at the typical (root mean square) size.

    The error of the mean wind, the temperature and the setting is shared by the runs of one installation, which lie
    close together between two reports; turbulence is new at each run. ``heading`` [rad] true, of the runway.
    """
    size = {
        "mean": weather.on_runway(heading).mean_uncertainty,
        "turbulence": weather.turbulence,
        "oat": weather.temperature_uncertainty,
        "pressure": weather.qnh_uncertainty,
    }
    typical = {
        name: float(np.sqrt(np.nanmean(np.square(part)))) for name, part in size.items() if not np.isnan(part).all()
    }
    rows = (
        (
            "mean",
            "weather report, mean wind",
            "headwind",
            "installation",
            "time since the report, rounding, other place",
        ),
        ("turbulence", "weather report, gusts within a run", "headwind", "run", "neutral surface layer over grass"),
        ("oat", "weather report, temperature", "oat", "installation", "rounding and time since the report"),
        (
            "pressure",
            "weather report, altimeter setting",
            "pressure",
            "installation",
            "rounding and time since the report",
        ),
    )
    return tuple(
        ErrorSource(name, target, typical[key], scope, f"assumed: {why} (WMO No. 306, FM 15)")
        for key, name, target, scope, why in rows
        if key in typical
    )
