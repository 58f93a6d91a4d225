"""How still is the air?

Rising or sinking air goes straight into a rate of climb or of descent, and into level speed through the throttle hand
that holds the height. A wind that changes with height does it too: 1 kt per 100 m along the track is worth 1.6 % of
the climb in this project's own simulation; its sign belongs to the day and to the heading.
"""

from __future__ import annotations

from samesky.instruments.sources import RESULT, ErrorSource

SOURCES = (
    ErrorSource(
        "rising and sinking air",
        RESULT,
        0.15,
        "run",
        "assumed: 0.15 m/s over a climb in the calm of the morning",
        measures=("timed_climb", "idle_descent"),
    ),
    ErrorSource(
        "rising and sinking air",
        RESULT,
        0.004,
        "run",
        "assumed: 0.1 m/s, worth 0.4 % of level speed in own simulation",
        relative=True,
        measures=("level_speed",),
    ),
    ErrorSource(
        "wind that changes with height",
        RESULT,
        0.008,
        "day",
        "assumed: 0.5 kt per 100 m along the track, 1.6 % of the climb per 1 kt in own simulation",
        relative=True,
        measures=("timed_climb", "idle_descent"),
    ),
)
