"""What did the airfield's weather report say, and what is it worth over our strip?

Decodes METAR and SPECI reports (WMO No. 306, Manual on Codes, FM 15 and FM 16; ICAO Annex 3, appendix 3): station,
time, wind with gusts and sector, temperature, dew point, altimeter setting. Groups that reduce nothing (visibility,
weather, cloud, trend) are passed over. Interpolation to the clocks of runs is in :mod:`.weather_between`.

Rules used (WMO No. 306 part A, regulations 15.5, 15.11, 15.12; those marked * from memory): wind is a ten-minute mean
(two minutes in local reports and in the United States), direction true to the nearest 10 degrees; gusts are told from
10 kt (5 m/s) above the mean; VRB where it wanders by 180 degrees or more, or is below 3 kt; temperatures rounded to
whole degrees*; QNH in hPa rounded *down*, so that half a hPa is added here*. Remarks of the United States give
temperatures in tenths (T group) and the altimeter setting in hundredths of an inch.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

CELSIUS, INCH_OF_MERCURY = 273.15, 3386.388640341
SPEEDS = {"KT": 1852 / 3600, "MPS": 1.0, "KMH": 1 / 3.6}
DAY = 86_400.0

_WIND = re.compile(r"(VRB|\d{3}|///)(P?)(\d{2,3}|//)(?:G(P?)(\d{2,3}))?(KT|MPS|KMH)$")
_SECTOR = re.compile(r"(\d{3})V(\d{3})$")
_TEMPERATURES = re.compile(r"(M?\d{2}|//)/(M?\d{2}|//)?$")
_SETTING = re.compile(r"([QA])(\d{4}|////)$")
_TIME = re.compile(r"(\d{2})(\d{2})(\d{2})Z$")
_TENTHS = re.compile(r"T([01])(\d{3})(?:([01])(\d{3}))?$")
_TREND = ("NOSIG", "BECMG", "TEMPO", "INTER", "RMK", "PROB30", "PROB40")


class ReportError(ValueError):
    """A weather report that cannot be used: what was found, and what was expected."""


@dataclass(frozen=True, slots=True)
class Report:
    """One decoded report, NaN where a group is missing.

    Attributes
    ----------
    station : location indicator
    time : [s] since 1970-01-01 UTC
    kind : ``"METAR"`` or ``"SPECI"``
    wind_from : [rad] true; NaN where calm or variable
    wind_speed, gust : [m/s]; gust NaN where none was told
    sector : (from, to) [rad] clockwise, between which the direction wandered, or None
    variable : the direction was told as VRB
    temperature, dew_point : [K]
    qnh : [Pa]
    temperature_uncertainty : [K] standard, from the rounding of the report
    qnh_uncertainty : [Pa] standard, from the rounding of the report
    text : the report as read
    """

    station: str
    time: float
    kind: str
    wind_from: float
    wind_speed: float
    gust: float
    sector: tuple[float, float] | None
    variable: bool
    temperature: float
    dew_point: float
    qnh: float
    temperature_uncertainty: float
    qnh_uncertainty: float
    text: str


def read_reports(text: str, near: float) -> list[Report]:
    """Every report in a pasted text or a file's content, in order of time, corrected ones in place of their firsts.

    Parameters
    ----------
    text : reports one a line or ended by ``=``; a report may run over several lines; forecasts and NIL reports are
        passed over
    near : [s] since 1970-01-01 UTC, any moment of the flying; reports give the day of the month only, and the month
        that brings them nearest to this moment is taken

    Raises
    ------
    ReportError
        no report at all, or a report without a station, a legible time or a wind group where one belongs
    """
    found: dict[tuple[str, float, str], Report] = {}
    for one in _split(text):
        report = decode(one, near)
        if report is not None:
            found[report.station, report.time, report.kind] = report
    if not found:
        raise ReportError(
            "no METAR or SPECI report in the text; expected such as METAR XXXX 221630Z 24008KT ... 17/12 Q1018"
        )
    stations = {report.station for report in found.values()}
    if len(stations) > 1:
        raise ReportError(f"reports of several stations ({', '.join(sorted(stations))}); keep those of the nearest one")
    return sorted(found.values(), key=lambda report: report.time)


def _split(text: str) -> list[str]:
    """Cut a text into reports: at ``=``, and at lines that begin one."""
    begins = re.compile(r"\s*(METAR|SPECI|TAF|(COR\s+)?[A-Z][A-Z0-9]{3}\s+\d{6}Z)\b")
    parts: list[str] = []
    open_report = False
    for line in text.upper().splitlines():
        for piece in re.split(r"(?<==)", line):
            if not piece.strip(" =\t"):
                continue
            if open_report and not begins.match(piece):
                parts[-1] += " " + piece.strip(" =\t")
            else:
                parts.append(piece.strip(" =\t"))
            open_report = not piece.rstrip().endswith("=")
    return [part for part in parts if begins.match(part) and not part.startswith("TAF")]


def decode(text: str, near: float) -> Report | None:
    """One report; None for NIL (none was made). Raises ReportError; see :func:`read_reports`."""
    groups = text.upper().replace("=", " ").split()
    kind = groups.pop(0) if groups and groups[0] in ("METAR", "SPECI") else "METAR"
    groups = [group for group in groups if group not in ("COR", "AUTO")]
    if len(groups) < 2 or not re.fullmatch(r"[A-Z][A-Z0-9]{3}", groups[0]):
        raise ReportError(f"{text[:60]!r}: expected a location indicator of four letters and a time")
    station, clock = groups[0], _TIME.match(groups[1])
    if not clock:
        raise ReportError(f"{text[:60]!r}: the time is {groups[1]!r}, expected day, hour and minute such as 221630Z")
    if "NIL" in groups:
        return None
    day, hour, minute = (int(part) for part in clock.groups())
    time = _moment(day, hour, minute, near, text)
    body = groups[2:]
    ends = next((index for index, group in enumerate(body) if group in _TREND), len(body))
    wind = next((match for group in body[:3] if (match := _WIND.match(group))), None)
    if wind is None:
        raise ReportError(f"{text[:60]!r}: no wind group, expected such as 24008KT or VRB02KT behind the time")
    sector = next((match for group in body[:4] if (match := _SECTOR.match(group))), None)
    temperature, dew_point, temperature_uncertainty = _temperatures(body, ends)
    qnh, qnh_uncertainty = _setting(body[:ends], text)
    speed, direction, gust = _wind(wind, text)
    return Report(
        station, time, kind, direction, speed, gust,
        (math.radians(int(sector[1])), math.radians(int(sector[2]))) if sector else None,
        wind[1] == "VRB", temperature, dew_point, qnh, temperature_uncertainty, qnh_uncertainty, " ".join(text.split()),
    )  # fmt: skip


def _moment(day: int, hour: int, minute: int, near: float, text: str) -> float:
    """The moment nearest to ``near`` that has this day of the month."""
    here = datetime.fromtimestamp(near, UTC)
    moments = []
    for shift in (-1, 0, 1):
        months = here.year * 12 + here.month - 1 + shift
        try:
            moments.append(datetime(months // 12, months % 12 + 1, day, hour, minute, tzinfo=UTC).timestamp())
        except ValueError:
            continue
    if not moments:
        raise ReportError(
            f"{text[:60]!r}: day {day:02d}, {hour:02d}:{minute:02d} is no time of day or no day of the month"
        )
    return min(moments, key=lambda moment: abs(moment - near))


def _wind(match: re.Match, text: str) -> tuple[float, float, float]:
    direction, _, speed, _, gust, unit = match.groups()
    scale = SPEEDS[unit]
    if speed == "//":
        return math.nan, math.nan, math.nan
    value = int(speed) * scale
    if direction in ("VRB", "///") or value == 0:
        angle = math.nan
    elif int(direction) > 360:
        raise ReportError(f"{text[:60]!r}: a wind from {direction} degrees")
    else:
        angle = math.radians(int(direction) % 360)
    return value, angle, int(gust) * scale if gust else math.nan


def _degrees(text: str | None) -> float:
    if not text or "/" in text:
        return math.nan
    return (-int(text[1:]) if text.startswith("M") else int(text)) + CELSIUS


def _temperatures(body: list[str], ends: int) -> tuple[float, float, float]:
    """Temperature, dew point, and the standard uncertainty of either from its rounding."""
    whole = next((match for group in body[:ends] if (match := _TEMPERATURES.match(group))), None)
    temperature, dew_point = (_degrees(whole[1]), _degrees(whole[2])) if whole else (math.nan, math.nan)
    for group in body[ends:]:
        if tenths := _TENTHS.match(group):
            temperature = (-1 if tenths[1] == "1" else 1) * int(tenths[2]) / 10 + CELSIUS
            if tenths[4]:
                dew_point = (-1 if tenths[3] == "1" else 1) * int(tenths[4]) / 10 + CELSIUS
            return temperature, dew_point, 0.1 / math.sqrt(12)
    return temperature, dew_point, 1 / math.sqrt(12)


def _setting(body: list[str], text: str) -> tuple[float, float]:
    """Altimeter setting and its standard uncertainty; hectopascals first where both units are given."""
    settings = {match[1]: match[2] for group in body if (match := _SETTING.match(group)) and match[2] != "////"}
    if "Q" in settings:
        value, spread = (int(settings["Q"]) + 0.5) * 100.0, 100.0 / math.sqrt(12)
    elif "A" in settings:
        value, spread = int(settings["A"]) / 100 * INCH_OF_MERCURY, 0.01 * INCH_OF_MERCURY / math.sqrt(12)
    else:
        return math.nan, math.nan
    if not 85_000 <= value <= 109_000:
        raise ReportError(f"{text[:60]!r}: an altimeter setting of {value / 100:.0f} hPa")
    return value, spread


def wind_vector(report: Report) -> tuple[float, float]:
    """East and north component [m/s] of where the wind blows *to*; zero where calm, or variable without a sector.

    A variable wind with a sector is taken from the sector's middle, a calm one from nowhere.
    """
    direction, kept = report.wind_from, 1.0
    if math.isnan(direction):
        if report.sector is None:
            return (0.0, 0.0) if not math.isnan(report.wind_speed) else (math.nan, math.nan)
        first, last = report.sector
        half = ((last - first) % (2 * math.pi)) / 2
        # the mean vector over the sector is shorter than the wind
        direction, kept = first + half, math.sin(half) / half if half else 1.0
    speed = report.wind_speed * kept
    return -speed * math.sin(direction), -speed * math.cos(direction)


def wind_at_height(speed, height, roughness=0.03, measured_at=10.0):
    """Wind speed [m/s] at ``height`` [m] from that at ``measured_at`` [m], by the logarithmic law of neutral air.

    ``roughness`` [m]: 0.03 for open flat grass (WMO No. 8, Guide to instruments, classification of terrain), to which
    the 10 m of airfield anemometers also belong. At 1.5 m, the wing of a low-wing aeroplane, 0.67 of it is left.
    Raises ValueError for a height at or below the roughness length.
    """
    height = np.asarray(height, dtype=float)
    if np.any(height <= roughness):
        raise ValueError("the height must be above the roughness length")
    return np.asarray(speed, dtype=float) * np.log(height / roughness) / np.log(measured_at / roughness)
