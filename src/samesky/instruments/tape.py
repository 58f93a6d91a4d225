"""How well is the length of a roll known?

What limits it is seeing where the wheels leave or touch, not the tape: observers beside markers judge to a metre or
two, a camera square to the strip at 30 frames a second to 0.2 m by its frames (row I13) and to 0.6 m by its rolling
shutter (row I12). The tape's own stretch is common to the campaign.
"""

from __future__ import annotations

from samesky.instruments.sources import ErrorSource

SOURCES = (
    ErrorSource(
        "start and end of the roll",
        "ground roll",
        1.5,
        "run",
        "assumed: about 1 m at each end, observers at markers; a camera does better (rows I12, I13)",
    ),
    ErrorSource(
        "tape and markers", "ground roll", 0.005, "campaign", "assumed: stretch and lie of a long tape", relative=True
    ),
    ErrorSource(
        "slope of the strip", "slope", 0.002, "campaign", "assumed: 0.2 %, from a map or a level", relative=False
    ),
)
