"""What air was it, as far as the campaign's own rows say, and what does it make of a height counted by satellite?

A satellite counts metres, the campaign's files count pressure altitude. Between the two stand the day's temperature
(a layer of pressure is thick where the air is warm: :mod:`samesky.air.warm_column`) and its pressure at sea level.
Both may be given, or stand in other runs of the same day; where they do not, what is not known becomes an uncertainty.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

import numpy as np

from samesky.air import altimetry, atmosphere, warm_column
from samesky.campaign.derived.prepare import prepare
from samesky.campaign.model.campaign import Campaign, RunTable

#: Standard uncertainties, assumed: of the day's temperature where nobody wrote it down (against the standard
#: atmosphere) and where it comes from other runs of the day [K]; of the pressure at sea level where nobody wrote it
#: down, as height [m]: 10 hPa.
UNKNOWN_DEVIATION, BORROWED_DEVIATION, UNKNOWN_LEVEL = 15.0, 2.0, 83.0
#: Scale height of density in the lower air [m], rounded.
SCALE_HEIGHT = 10_000.0


@dataclass(frozen=True, slots=True)
class DayAir:
    """The air of a day, for turning heights into pressure altitudes.

    Attributes
    ----------
    deviation : from the standard temperature [K]
    base : (height, pressure altitude) [m] of one and the same place
    u_deviation, u_level : standard uncertainties [K], [m]
    said : how it is known, in sentences
    """

    deviation: float
    base: tuple[float, float]
    u_deviation: float
    u_level: float
    said: tuple[str, ...]

    def pressure_altitude(self, height: np.ndarray) -> np.ndarray:
        """Pressure altitude [m] of heights [m], shape as given."""
        return warm_column.pressure_altitude_at(height, self.deviation, *self.base)

    def rate_uncertainty(self, density_exponent: float) -> float:
        """Relative standard uncertainty of a rate of climb: the stretched band, and the density at its middle."""
        stretched = self.u_deviation / atmosphere.T0
        return math.hypot(stretched, density_exponent * self.u_level / SCALE_HEIGHT)

    def altitude_uncertainty(self, height: float) -> float:
        """Standard uncertainty [m] of the pressure altitude of a height [m]."""
        return math.hypot(self.u_level, self.u_deviation / atmosphere.T0 * (height - self.base[0]))

    def asks(self) -> tuple[str, ...]:
        """What the pilot may still say of this air; nothing where it is known well enough."""
        missing = [
            name
            for name, unknown in (
                ("oat", self.u_deviation >= UNKNOWN_DEVIATION),
                ("qnh", self.u_level >= UNKNOWN_LEVEL),
            )
            if unknown
        ]
        if not missing:
            return ()
        return (
            f"Heights are counted by satellite and not by pressure: say {' and '.join(missing)} of these runs if you "
            "know it, before the rows are written. Without it the campaign counts with what the day may have been.",
        )


def air_of_day(
    campaign: Campaign,
    day: date,
    hours: float,
    height: float,
    oat: float | None = None,
    qnh: float | None = None,
    pressure_altitude: float | None = None,
) -> DayAir:
    """What is known of the air of a day.

    Parameters
    ----------
    day, hours : local date and hours since midnight of the runs that are looked for
    height : [m] by satellite, where ``oat`` [K] was read
    pressure_altitude : [m] of that place, where it is known better than through ``height``
    oat, qnh : [K], [Pa] as the pilot says; else from the rows of that day, interpolated in time
    """
    rows = [_rows(campaign, table, day) for table in campaign.tables.values()]
    strip = _elevation(campaign)
    said = []
    level, u_level = 0.0, UNKNOWN_LEVEL
    if qnh is None:
        found = _interpolated(rows, "qnh", hours)
        if found is not None:
            qnh = found
            said.append(f"qnh {qnh / 100:.0f} hPa is that of other runs of the day")
    if qnh is not None:
        level, u_level = float(altimetry.pressure_altitude_from_qnh(qnh, 0.0)), 5.0
    else:
        said.append("qnh is not known: pressure altitude may be off by 83 m (10 hPa, assumed)")
    # An altimeter set to qnh shows the elevation of its place: there the two heights are tied together.
    base = (strip, strip + level)
    if oat is not None:
        near = base[1] + height - base[0] if pressure_altitude is None else pressure_altitude
        deviation = float(warm_column.deviation(oat, near))
        for _ in range(3 if pressure_altitude is None else 0):
            near = float(warm_column.pressure_altitude_at(height, deviation, *base))
            deviation = float(warm_column.deviation(oat, near))
        said.append(f"heights were turned into pressure altitude with oat {oat - 273.15:.1f} degC as given")
        return DayAir(deviation, base, 0.0, u_level, tuple(said))
    deviation = _interpolated(rows, "deviation", hours)
    if deviation is None:
        said.append(
            f"no temperature is known: a band of pressure altitude may be {UNKNOWN_DEVIATION / atmosphere.T0:.0%} "
            f"thicker or thinner ({UNKNOWN_DEVIATION:g} K from standard, assumed)"
        )
        return DayAir(0.0, base, UNKNOWN_DEVIATION, u_level, tuple(said))
    said.append(
        f"heights were turned into pressure altitude with the temperature of other runs of the day "
        f"({deviation:+.1f} K from standard, known to {BORROWED_DEVIATION:g} K, assumed)"
    )
    return DayAir(deviation, base, BORROWED_DEVIATION, u_level, tuple(said))


def _elevation(campaign: Campaign) -> float:
    known = {strip.elevation for strip in campaign.runways.values() if strip.elevation is not None}
    return known.pop() if len(known) == 1 else 0.0


def _rows(campaign: Campaign, table: RunTable, day: date) -> dict[str, np.ndarray]:
    """Hours, qnh and deviation from the standard temperature of a table's runs of that day."""
    first = campaign.first_day
    own = np.floor(table.hours / 24.0) == (np.inf if first is None else (day - first).days)
    runs = prepare(campaign, table)
    found = {"hours": table.hours[own] % 24.0}
    if "qnh" in runs:
        found["qnh"] = runs["qnh"][own]
    if "oat" in runs and "pressure" in runs:
        # A row without a reading is no reading: it is left out of the interpolation, not out of the campaign.
        found["deviation"] = warm_column.deviation(runs["oat"], atmosphere.pressure_altitude(runs["pressure"]))[own]
    return found


def _interpolated(rows: list[dict[str, np.ndarray]], name: str, hours: float) -> float | None:
    """The quantity at that hour of the day, straight between the runs on both sides, flat beyond the last ones."""
    pairs = [
        (float(hour), float(value))
        for one in rows
        if name in one
        for hour, value in zip(one["hours"], one[name], strict=True)
        if math.isfinite(value)
    ]
    if not pairs:
        return None
    clock = sorted({hour for hour, _ in pairs})
    means = [float(np.mean([value for other, value in pairs if other == hour])) for hour in clock]
    return float(np.interp(hours, clock, means))
