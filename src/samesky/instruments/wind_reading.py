"""How well is the wind over the run known?

A reading at one place and moment stands for the mean along the strip at wing height. Regulators distrust reported wind
by half: performance may count at most 50 % of a headwind and must count 150 % of a tailwind (14 CFR 25.105(d)(1), row
N09). What one reading misses by chance is new each run; that a hand-held reading at head height is not the wind at the
wing is a share of the wind, alike in the whole campaign.
"""

from __future__ import annotations

from samesky.instruments.airspeed_indicator import KNOT
from samesky.instruments.sources import ErrorSource

SOURCES = (
    ErrorSource(
        "wind reading",
        "headwind",
        0.8 * KNOT,
        "run",
        "assumed: 0.8 kt, hand-held anemometer read during the run; estimate more for a windsock (see row N09)",
    ),
    ErrorSource(
        "height of the wind reading",
        "headwind",
        0.10,
        "campaign",
        "assumed: wind at the wing differs from that at the reading by about a tenth of itself",
        relative=True,
        measures=("takeoff_roll", "landing_roll", "ground_acceleration"),
    ),
)
