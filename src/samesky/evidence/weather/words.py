"""What do the reports of one aerodrome say at the moment and on the strip of each run?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from samesky.campaign.messages.errors import cannot
from samesky.evidence import catalogue as say
from samesky.evidence.weather.rows import WeatherRows
from samesky.instruments.weather_between import HOUR, Weather, weather_at
from samesky.instruments.weather_report import Report, ReportError, read_reports, wind_at_height

#: How messages call the text of the reports.
REPORTS = "weather reports"
#: Furthest [s] that a report may be from a run that it fills (assumed: reports come every hour or half hour).
OLDEST = 1.5 * HOUR
#: What a report has in words, by column.
GROUPS = {"oat": "temperature", "qnh": "qnh", "dew point": "dew_point", "headwind": "wind_speed"}
GROUPS |= {"crosswind": "wind_speed", "gust": "gust"}


@dataclass(frozen=True, slots=True)
class Heights:
    """Heights [m] of the wing over the strip and of the anemometer, and the roughness length [m] of the grass; assumed.

    See :func:`samesky.instruments.weather_report.wind_at_height`.
    """

    wing: float = 1.5
    anemometer: float = 10.0
    roughness: float = 0.03

    def share(self) -> float:
        """What is left of the reported wind at the height of the wing. Raises CampaignError for impossible heights."""
        try:
            return float(wind_at_height(1.0, self.wing, self.roughness, self.anemometer))
        except ValueError as error:
            raise cannot("wing height", say.WEATHER_WING_HEIGHT(wing=self.wing, error=error)) from None


def reports_near(text: str, times: np.ndarray) -> list[Report]:
    """The reports of a text in order of time; each of the month that brings it nearest to one of the runs (n,) [s].

    Raises CampaignError.
    """
    months = np.unique(np.round(times / (10 * 24 * HOUR)) * 10 * 24 * HOUR)
    found: dict[str, Report] = {}
    try:
        for near in months:
            for report in read_reports(text, float(near)):
                before = found.setdefault(report.text, report)
                if before.time != report.time and max(_gap(before, times), _gap(report, times)) <= 8 * OLDEST:
                    # Two months with runs on this day: whose weather it is cannot be told.
                    raise cannot(REPORTS, say.WEATHER_EITHER_MONTH(text=report.text[:40]))
                if _gap(report, times) < _gap(before, times):
                    found[report.text] = report
    except ReportError as error:
        raise cannot(REPORTS, say.WEATHER_UNREADABLE(error=error)) from None
    reports = sorted(found.values(), key=lambda report: report.time)
    nearest = min(_gap(report, times) for report in reports)
    if nearest > OLDEST:
        raise cannot(REPORTS, say.WEATHER_TOO_FAR(how_long=how_long(nearest)))
    return reports


def _gap(report: Report, times: np.ndarray) -> float:
    return float(np.abs(times - report.time).min())


def how_long(seconds: float) -> str:
    """A time in words, such as ``2 h 20 min``."""
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours // 24} days" if hours >= 48 else f"{hours} h {minutes:02d} min"


def weather_of(reports: Sequence[Report], time: np.ndarray, share: float) -> Weather:
    """The weather at the runs, its mean wind at the height of the wing; NaN for what no report tells."""
    windless = all(math.isnan(report.wind_speed) for report in reports)
    told = [replace(report, wind_speed=0.0) for report in reports] if windless else reports
    weather = weather_at(told, time, oldest=OLDEST)
    # Near the ground gusts are as strong as higher up while the mean wind is not: turbulence stays.
    factor = math.nan if windless else share
    return replace(
        weather,
        east=weather.east * factor,
        north=weather.north * factor,
        wind_uncertainty=weather.wind_uncertainty * factor,
        turbulence=weather.turbulence * (math.nan if windless else 1.0),
    )


def told(weather: Weather, rows: WeatherRows, name: str) -> tuple[np.ndarray, np.ndarray]:
    """What the reports say for a column (n,), and its standard uncertainty [SI]."""
    if name in ("headwind", "crosswind"):
        runway = weather.on_runway(rows.heading)
        return getattr(runway, name), runway.standard_uncertainty
    if name == "gust":
        return weather.gust, np.hypot(weather.wind_uncertainty, weather.turbulence)
    kind = {"oat": "temperature"}.get(name, name.replace(" ", "_"))
    return getattr(weather, kind), getattr(weather, f"{kind}_uncertainty")


def age_of(reports: Sequence[Report], time: np.ndarray, group: str) -> np.ndarray:
    """Time [s] of each run from the nearest report that tells this group; infinite where none does."""
    clocks = [report.time for report in reports if not math.isnan(getattr(report, group))]
    return np.abs(time[:, None] - np.array(clocks)).min(axis=1) if clocks else np.full(time.size, np.inf)
