"""What four of the examples share: an invented two-seater and its strip, and how their pilots write things down."""

from __future__ import annotations

from samesky.simulator.writing import Written

FUEL_DENSITY = 0.72

#: Columns in written order; an example whose pilot writes fewer, or otherwise, says so.
COLUMNS = {
    "oat": Written("degC", 0.5),
    "qnh": Written("hPa", 1),
    "dew point": Written("degC", 1),
    "fuel": Written("L", 0.5),
    "rpm": Written("rpm", 50),
    "pull": Written("kgf", 0.5),
    "ground roll": Written("ft", 1),
    "from": Written("ft", 10),
    "to": Written("ft", 10),
    "altitude": Written("ft", 10),
    "elapsed": Written("s", 0.1),
    "entry airspeed": Written("kt", 1),
    "exit airspeed": Written("kt", 1),
    "lift-off airspeed": Written("kt", 1),
    "airspeed": Written("kt", 0.5),
    "headwind": Written("kt", 0.5),
    "gust": Written("kt", 0.5),
    "crosswind": Written("kt", 0.5),
}
#: What is written of take-off rolls and climbs alone.
FEW = ("oat", "qnh", "fuel", "ground roll", "from", "to", "elapsed", "lift-off airspeed", "headwind")

AEROPLANE = """\
[aeroplane]
empty_weight = "325 kg"
empty_arm = "0.40 m"
maximum_weight = "560 kg"
cg_forward = "0.38 m"
cg_aft = "0.56 m"
[aeroplane.station.crew]
weight = "154 kg"
arm = "0.55 m"
[aeroplane.station.locker]
weight = "6 kg"
arm = "1.00 m"
[aeroplane.fuel]
arm = "0.75 m"
weight_per_volume = "0.72 kg/L"
"""

STRIP = """\
[runway.strip]
elevation = "310 ft"
slope = "0.4 %"
heading = "230 deg"
surface = "short dry grass"
"""
