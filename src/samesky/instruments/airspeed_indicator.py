"""How well does the airspeed indicator tell the airspeed?

The error of the system (position of the ports, the instrument's scale) is one and the same for every run of an
aeroplane: 14 CFR 23.1323(b) allowed 3 % or 5 kt, whichever is greater (row N04). The eye, the needle's lag and a bumpy
day are new each run. Sources of one name and a shared scope are one error, whichever column they fall on.
"""

from __future__ import annotations

from samesky.instruments.sources import ErrorSource, rectangular

KNOT = 1852.0 / 3600.0
#: Columns in which an airspeed stands as the indicator showed it.
INDICATED = (
    "airspeed",
    "lift-off airspeed",
    "touch-down airspeed",
    "entry airspeed",
    "exit airspeed",
    "first airspeed",
    "second airspeed",
)
#: Name of the source that a calibration takes the place of.
SYSTEM = "airspeed system"
_SYSTEM = "14 CFR 23.1323(b), 5 kt as a rectangular distribution (row N04)"
_GLANCE = "assumed: 0.8 kt, a glance at a moving needle"
_STEADY = "assumed: 0.5 kt, a needle held steady and read for a while"
_PASSING = "assumed: 0.6 kt, a needle passing its mark in air that is not quite still; a filmed dial does no better"

SOURCES = (
    *(ErrorSource(SYSTEM, column, rectangular(5 * KNOT), "campaign", _SYSTEM) for column in INDICATED),
    *(
        ErrorSource("airspeed reading", column, 0.8 * KNOT, "run", _GLANCE)
        for column in ("lift-off airspeed", "touch-down airspeed")
    ),
    ErrorSource("airspeed reading", "airspeed", 0.5 * KNOT, "run", _STEADY),
    ErrorSource("airspeed reading at entry", "entry airspeed", 0.5 * KNOT, "run", _STEADY),
    ErrorSource("airspeed reading at exit", "exit airspeed", 0.5 * KNOT, "run", _STEADY),
    ErrorSource("first airspeed reading", "first airspeed", 0.6 * KNOT, "run", _PASSING),
    ErrorSource("second airspeed reading", "second airspeed", 0.6 * KNOT, "run", _PASSING),
)
