"""How well is the engine speed known?

Engine speed is a result of a fixed-pitch propeller: no correction leans on it, so no reading of it enters a
difference. It decides how near the limit the engine came: keep the margin wider than the tachometer's error.
"""

from __future__ import annotations

from samesky.instruments.sources import ErrorSource, rectangular

SOURCES = (
    ErrorSource("tachometer reading", "rpm", rectangular(10.0 / 60.0), "run", "assumed: to the nearest 20 rpm"),
    ErrorSource(
        "tachometer", "rpm", rectangular(0.02), "campaign", "assumed: mechanical instrument, +-2 %", relative=True
    ),
)
