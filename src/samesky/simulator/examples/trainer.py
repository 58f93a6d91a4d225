"""A second invented aeroplane: a direct-drive fixed-gear trainer.

No product: areas, weights and levels are plausible round figures. Static at about 2,300 rpm and level at about 2,700,
as is common practice for a fixed-pitch propeller on a light direct-drive engine.
"""

from __future__ import annotations

from samesky.simulator.aeroplane.airframe import Airframe
from samesky.simulator.aeroplane.engine import Engine
from samesky.simulator.aeroplane.model import SimAeroplane
from samesky.simulator.aeroplane.propeller import Propeller

TRAINER = SimAeroplane(
    airframe=Airframe(
        wing_area=15.0,
        span=10.0,
        wing_height=0.9,
        oswald=0.72,
        zero_lift_drag=0.044,
        zero_lift_drag_takeoff=0.058,
        zero_lift_drag_landing=0.078,
        ground_lift=0.4,
        most_lift_takeoff=1.7,
        most_lift_landing=1.9,
    ),
    engine=Engine(
        peak_torque=300.0,
        peak_torque_speed=2350 / 60,
        torque_droop=0.10 / (1000 / 60) ** 2,
        speed_limit=2750 / 60,
        gear_ratio=1.0,
        gear_efficiency=1.0,
        idle_speed=750 / 60,
        idle_slope=4.0,
    ),
    propeller=Propeller(
        diameter=1.83,
        static_thrust_coefficient=0.103,
        static_power_coefficient=0.053,
        zero_thrust_advance_ratio=0.93,
    ),
)
