"""How well is the weight of a run known?

Fuel is read or dipped run by run; people, bags and the empty weight are the same error all campaign long.
"""

from __future__ import annotations

from samesky.instruments.sources import ErrorSource

SOURCES = (
    ErrorSource("fuel on board", "weight", 2.0, "run", "assumed: dipstick or sight gauge to about 3 litres"),
    ErrorSource("loading sheet", "weight", 5.0, "campaign", "assumed: empty weight, people and bags"),
)
