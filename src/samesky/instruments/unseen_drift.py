"""How far does the air wander unseen while you swap?

After every correction something still drifts: a freshening breeze that the readings miss, the grass drying, the sun on
the slope, the pilot warming up or tiring. Straight drift grows with the hours, wandering with their root. An order
that returns to the first configuration removes most of it; a single swap takes all of it.

Sizes are assumed, per hour and per root hour, as fractions of the reduced result; a campaign that returns to A tells
its own.
"""

from __future__ import annotations

from samesky.instruments.sources import RESULT, ErrorSource


def unseen_drift(straight: float, wandering: float) -> tuple[ErrorSource, ...]:
    """Unseen drift of a result: fractions of it per hour, and per root hour; each measure states its own."""
    sizes = {"steady drift": ("straight drift", straight), "random drift": ("wandering", wandering)}
    return tuple(
        ErrorSource(name, RESULT, size, scope, "assumed: what readings and corrections miss", True)
        for name, (scope, size) in sizes.items()
    )
