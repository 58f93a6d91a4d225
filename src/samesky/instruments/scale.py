"""How well does a scale tell the pull?

A verified class III scale of 0.1 kg divisions is good to 0.1 % of a static pull in service (row N08, from the limits
of the UK's non-automatic weighing rules); an unverified hanging scale deserves 1 %. What moves from run to run is the
needle in the gusts, not the scale.
"""

from __future__ import annotations

from samesky.instruments.sources import ErrorSource, rectangular

SOURCES = (
    ErrorSource("pull reading", "pull", 0.005, "run", "assumed: 0.5 % of a pull that gusts keep moving", relative=True),
    ErrorSource(
        "scale",
        "pull",
        rectangular(0.01),
        "campaign",
        "unverified hanging scale, +-1 % as a rectangular distribution (note to row N08)",
        relative=True,
    ),
)
