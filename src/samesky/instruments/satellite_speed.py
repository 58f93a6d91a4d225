"""How well does satellite navigation tell ground speed and track?

Velocity is good to 0.2 m/s per axis at 95 % (NAVSTAR user-equipment introduction, row I07), modules are sold as
0.05 m/s (row I08); a display in whole knots adds 0.29 kt by rounding (half a knot, rectangular). Pilots fly a leg less
steadily than that.
"""

from __future__ import annotations

import math

from samesky.instruments.airspeed_indicator import KNOT
from samesky.instruments.sources import ErrorSource, rectangular

#: Receiver 0.2 m/s at 95 % (two standard uncertainties), and the rounding of the display to a whole knot [m/s].
GROUND_SPEED = math.hypot(0.2 / 2.0, rectangular(0.5 * KNOT))
#: Display of the track in whole degrees, and holding it [rad].
TRACK = math.radians(math.hypot(rectangular(0.5), 0.5))
#: How old the speed on a display is that is renewed once a second, and the gain of speed on the ground in which that
#: counts [m/s^2] (common practice: 1.5 to 3).
RENEWED, GAIN = rectangular(0.5), 2.2
_DISPLAY = (
    "assumed: a display in whole knots, renewed once a second, read while the speed grows by 2.2 m/s each second; a "
    "record of the fixes does far better"
)

#: What a display shows while the speed grows.
ON_THE_RUN = tuple(
    ErrorSource(
        f"{which} ground speed on the display",
        f"{which} ground speed",
        math.hypot(GROUND_SPEED, RENEWED * GAIN),
        "run",
        _DISPLAY,
    )
    for which in ("first", "second")
)

SOURCES = ON_THE_RUN + tuple(
    source
    for leg in range(1, 9)
    for source in (
        ErrorSource(
            f"ground speed on leg {leg}",
            f"speed {leg}",
            GROUND_SPEED,
            "run",
            "0.2 m/s at 95 % (row I07) and a display in whole knots",
        ),
        ErrorSource(
            f"track of leg {leg}",
            f"track {leg}",
            TRACK,
            "run",
            "assumed: display in whole degrees, held to half a degree",
        ),
    )
)
