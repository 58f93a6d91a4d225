"""How well is the fuel flow known?

A flow meter's factor is its own and lasts the campaign; its reading wanders with the pump and the return line.
"""

from __future__ import annotations

from samesky.instruments.sources import ErrorSource, rectangular

SOURCES = (
    ErrorSource("fuel flow reading", "fuel flow", 0.01, "run", "assumed: 1 %, averaged over a leg", relative=True),
    ErrorSource(
        "fuel meter factor", "fuel flow", rectangular(0.03), "campaign", "assumed: +-3 % uncalibrated", relative=True
    ),
)
