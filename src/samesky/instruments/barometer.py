"""How well is the air pressure known?

A reported altimeter setting is rounded to a whole hectopascal and belongs to another place; a phone's barometer is
good to 1 hPa absolute and 0.12 hPa relative (sensor data sheets, row I11). One hectopascal is 0.1 % of density and
27 ft of altitude (row N12): pressure is the last thing to worry about.
"""

from __future__ import annotations

from samesky.instruments.sources import ErrorSource, rectangular

SOURCES = (
    ErrorSource("altimeter setting", "pressure", rectangular(50.0), "run", "rounding to a whole hectopascal"),
    ErrorSource("altimeter setting elsewhere", "pressure", rectangular(100.0), "day", "assumed: 1 hPa (see row I11)"),
)
