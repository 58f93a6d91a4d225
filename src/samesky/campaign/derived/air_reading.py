"""Where were wind and temperature read, and what were they where the aeroplane was?

Wind: a mast stands at 10 m, a wing at a man's height. Over open grass the logarithmic law of neutral air
(:func:`samesky.instruments.weather_report.wind_at_height`) leaves 0.67 of it at 1.5 m; other grass and other air leave
0.55 to 0.8. Temperature: what a thermometer reads on the ground is brought to the middle of a band by the standard
lapse; in an inversion, or over a strip in the sun, the air aloft differs from that by some degrees, which change by the
hour.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from samesky.air.constants import LAPSE_RATE
from samesky.campaign.model.campaign import AirReading
from samesky.instruments.sources import ErrorSource
from samesky.instruments.weather_report import wind_at_height
from samesky.instruments.wind_reading import SOURCES
from samesky.measures import MEASURES
from samesky.measures.columns import HEADWIND

#: Source of error, shipped, that the wind at the wing is not that of the reading.
HEIGHT = "height of the wind reading"
#: Its standard uncertainty, a share of the wind, where the wind was brought down from a mast (assumed).
MAST = 0.15
#: Name and standard uncertainty [K] of a temperature aloft that was read on the ground (assumed: inversions of 2 to 5 K
#: are common in the calm of the morning, and go within hours).
GROUND, INVERSION = "temperature aloft, read on the ground", 2.0
#: Measures on the ground, in the wind.
IN_WIND = tuple(one.name for one in MEASURES.values() if HEADWIND in one.columns)
#: Measures that go through a band.
BANDS = tuple(one.name for one in MEASURES.values() if {"from", "to"} <= set(one.conditions))


def wind_share(reading: AirReading) -> float:
    """Wind at the height of the wing over that of the reading."""
    if reading.wind_height is None:
        return 1.0
    return float(wind_at_height(1.0, reading.wing_height, measured_at=reading.wind_height))


def aloft(reading: AirReading, runs: Mapping[str, np.ndarray], elevation: np.ndarray) -> np.ndarray | float:
    """What the middle of the band [K] differs by from a temperature read on a strip at ``elevation`` [m] (n,).

    Zero where it was read aloft; where the strip is not known, no lapse (alike for runs through one band).
    """
    if not reading.ground_temperature:
        return 0.0
    middle = 0.5 * (runs["from"] + runs["to"])
    return np.where(np.isnan(elevation), 0.0, -LAPSE_RATE * (middle - np.nan_to_num(elevation)))


def with_reading(sources: tuple[ErrorSource, ...], reading: AirReading) -> tuple[ErrorSource, ...]:
    """The error sources, with what a reading at another place adds."""
    found = sources
    if reading.wind_height is not None:
        why = f"assumed: wind read at {reading.wind_height:g} m, brought to {reading.wing_height:g} m by the log law"
        shipped = next(one.standard_uncertainty for one in SOURCES if one.name == HEIGHT)
        found = tuple(
            replace(one, standard_uncertainty=MAST, source=why, measures=IN_WIND)
            if one.name == HEIGHT and one.standard_uncertainty == shipped
            else one
            for one in found
        )
    if reading.ground_temperature and not any(one.name == GROUND for one in found):
        why = "assumed: inversions and the heat over the strip, other ones at each fitting; the standard lapse between"
        found = (*found, ErrorSource(GROUND, "oat", INVERSION, "installation", why, measures=BANDS))
    return found


def said(reading: AirReading, measure: str) -> tuple[str, ...]:
    """Sentences for the report: what was done with readings that were taken elsewhere."""
    found = []
    if reading.wind_height is not None and measure in IN_WIND:
        found.append(
            f"The wind was read at {reading.wind_height:g} m: {100 * wind_share(reading):.0f} % of it is taken to "
            f"have blown at the wing ({reading.wing_height:g} m) (standard uncertainty: {100 * MAST:.0f} % of it)."
        )
    if reading.ground_temperature and measure in BANDS:
        found.append(
            "The temperature was read on the ground and brought to the middle of the band by the standard lapse; an "
            f"inversion makes the air aloft another one (standard uncertainty {INVERSION:g} K, in the budget). Read it "
            "aloft, at the middle of the band, to be rid of that."
        )
    return tuple(found)
