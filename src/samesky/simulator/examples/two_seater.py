"""What four of the examples write of their invented two-seater and of its strip, for ``campaign.toml``."""

from __future__ import annotations

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
