"""How well is the air temperature known?

A cabin or panel thermometer reads to a degree, and its own error (sun, exhaust, a warm panel) is much the same all
campaign long; the heat of the day's sun on it is the day's.
"""

from __future__ import annotations

from samesky.instruments.sources import ErrorSource, rectangular

SOURCES = (
    ErrorSource(
        "thermometer reading", "oat", rectangular(1.0), "run", "assumed: to the degree, lag and shade of the moment"
    ),
    ErrorSource(
        "thermometer in the sun", "oat", rectangular(1.5), "day", "assumed: radiation and heat soak of the day"
    ),
    ErrorSource("thermometer calibration", "oat", rectangular(2.0), "campaign", "assumed: panel thermometer, +-2 degC"),
    ErrorSource("dew point", "dew point", rectangular(3.0), "day", "assumed: reported elsewhere, +-3 degC"),
)
