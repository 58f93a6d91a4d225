"""How far does the air wander unseen while you swap?

After every correction something still drifts: a freshening breeze that the readings miss, the grass drying, the sun on
the slope, the pilot warming up or tiring. Straight drift grows with the hours, wandering with their root. An order
that returns to the first configuration removes most of it; a single swap takes all of it.

Sizes are assumed, per hour and per root hour, as fractions of the reduced result; a campaign that returns to A tells
its own.
"""

from __future__ import annotations

from samesky.instruments.sources import RESULT, ErrorSource

#: (straight drift per hour, wandering per root hour), as fractions of the result, by measure.
DRIFT = {
    "takeoff_roll": (0.02, 0.01),
    "landing_roll": (0.02, 0.01),
    "timed_climb": (0.01, 0.01),
    "idle_descent": (0.01, 0.01),
    "static_pull": (0.003, 0.003),
    "level_speed": (0.003, 0.003),
    "cruise_fuel": (0.005, 0.005),
}

SOURCES = tuple(
    ErrorSource(
        f"unseen {scope}", RESULT, size, scope, "assumed: what readings and corrections miss", True, measures=(measure,)
    )
    for measure, sizes in DRIFT.items()
    for scope, size in zip(("straight drift", "wandering"), sizes, strict=True)
)
