"""How well does an altimeter mark the ends of a band?

Its scale error belongs to the instrument and is common to the campaign; its friction and the pilot's eye are new each
run. 14 CFR 43 Appendix E allows a scale error of 20 ft near sea level and 30 ft at 3 000 ft (row N01, from memory) and
friction of 70 ft (row N03), most of which a running engine shakes out.
"""

from __future__ import annotations

from samesky.instruments.sources import ErrorSource, rectangular

FOOT = 0.3048
_READING = "assumed: 10 ft at each end, needle in motion, engine shaking out most of the 70 ft of friction (row N03)"
_LEVEL = "assumed: 7 ft, the change of a needle that hardly moves, filmed or read at both ends"
_SCALE = "14 CFR 43 App. E table I, +-{} ft as a rectangular distribution (row N01, from memory)"

SOURCES = (
    ErrorSource("altimeter reading at the start", "from", 10 * FOOT, "run", _READING),
    ErrorSource("altimeter reading at the end", "to", 10 * FOOT, "run", _READING),
    ErrorSource("altimeter scale at the start", "from", rectangular(20 * FOOT), "campaign", _SCALE.format(20)),
    ErrorSource("altimeter scale at the end", "to", rectangular(25 * FOOT), "campaign", _SCALE.format(25)),
    ErrorSource("altimeter reading at the second airspeed", "end altitude", 7 * FOOT, "run", _LEVEL),
    ErrorSource("altimeter scale", "end altitude", rectangular(30 * FOOT), "campaign", _SCALE.format(30)),
    ErrorSource("altimeter scale", "altitude", rectangular(30 * FOOT), "campaign", _SCALE.format(30)),
)
