"""How does a propeller's line run when its pitch is changed? Its tilt and its bend, as simulated.

Tilt: change of the logarithm of a result for one of the logarithm of the engine speed, finer pitch turning faster. From
own simulation with the shape of an open set of a two-blade 9 x 6.75 in propeller (Deters, Ananda and Selig, AIAA
2014-2151, 2014) and the effect of pitch on two open 10 x 4.7 and 11 x 4.7 in ones (Brandt and Selig, AIAA 2011-1255,
2011: C_T0 ~ q^0.33, C_P0 ~ q^0.78), pitch changed by a quarter either way: per level engine speed roll -1.0 to -1.3,
climb 0.5 to 1.4, pull 1.0 to 1.1, top speed -0.3 to 0.1. Those sets do not stall when standing; blades that do tilt
more. The standard uncertainties are wide enough for both: blade elements of three aeroplanes that share nothing with
that simulation, turned by up to three degrees either way, lie within two of them in nine steps of ten.

Bend: how far a line lies from its chord, in the middle between two settings, as a share of the square of the change of
ln(level engine speed) between them.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Known:
    """A value of own simulation with its standard uncertainty [1]."""

    value: float
    uncertainty: float


ROLL, GROUND, CLIMB, PULL, SPEED = (
    "takeoff_roll",
    "ground_acceleration",
    "timed_climb",
    "static_pull",
    "level_speed",
)
#: Abscissae beside the top speed: engine speed in level flight and in the static pull, by the measure that shows it.
LEVEL_RPM, STATIC_RPM = "level_rpm", "static_rpm"
#: By abscissa and measure.
TILT = {
    LEVEL_RPM: {
        ROLL: Known(-1.1, 0.3),
        GROUND: Known(1.1, 0.3),
        CLIMB: Known(1.2, 0.6),
        PULL: Known(1.2, 0.4),
        SPEED: Known(0.0, 0.3),
    },
    STATIC_RPM: {
        ROLL: Known(-1.9, 0.8),
        GROUND: Known(1.9, 0.8),
        CLIMB: Known(2.2, 1.2),
        PULL: Known(2.1, 0.9),
        SPEED: Known(0.1, 0.5),
    },
}
#: By what is read, of own simulation and of the blade elements named above.
BEND = {
    ROLL: Known(-0.3, 0.25),
    GROUND: Known(0.3, 0.25),
    CLIMB: Known(0.5, 0.4),
    PULL: Known(0.4, 0.3),
    SPEED: Known(0.25, 0.2),
    LEVEL_RPM: Known(0.0, 0.0),
    STATIC_RPM: Known(-0.15, 0.15),
}
