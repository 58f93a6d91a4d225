"""What flies in the simulator? An airframe, an engine and a propeller; and what a configuration changes of them.

The default is an invented two-seat aeroplane with a geared engine: no product, only plausible figures.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from samesky.simulator.aeroplane.airframe import Airframe
from samesky.simulator.aeroplane.engine import Engine, power_ratio
from samesky.simulator.aeroplane.powerplant import Drive, drive
from samesky.simulator.aeroplane.propeller import Propeller
from samesky.simulator.ambient import Ambient
from samesky.simulator.values import Value


@dataclass(frozen=True, slots=True)
class SimAeroplane:
    """An aeroplane with known truth."""

    airframe: Airframe = field(default_factory=Airframe)
    engine: Engine = field(default_factory=Engine)
    propeller: Propeller = field(default_factory=Propeller)

    def drive(self, air: Ambient, throttle: str = "full") -> Drive:
        """Engine and propeller in this air, throttle ``"full"`` or ``"idle"``."""
        density = air.density
        ratio = power_ratio(self.engine.density_law, air.temperature, air.pressure, density)
        return drive(self.engine, self.propeller, density, ratio, throttle)


@dataclass(frozen=True, slots=True)
class Effect:
    """What a configuration really changes: factors on the aeroplane's own values, and a mass [kg].

    ``thrust`` at the same torque; ``pitch``, ``diameter`` of the propeller; ``drag`` on every zero-lift drag
    coefficient; ``most_lift`` on the maximum lift coefficients (which set lift-off and touch-down speed); ``power``
    of the engine. Values may be arrays, so that each campaign, run or installation has its own.
    """

    thrust: Value = 1.0
    pitch: Value = 1.0
    diameter: Value = 1.0
    drag: Value = 1.0
    most_lift: Value = 1.0
    power: Value = 1.0
    mass: float = 0.0

    def apply(self, aeroplane: SimAeroplane) -> SimAeroplane:
        """The aeroplane in this configuration."""
        frame = aeroplane.airframe
        airframe = replace(
            frame,
            zero_lift_drag=frame.zero_lift_drag * self.drag,
            zero_lift_drag_takeoff=frame.zero_lift_drag_takeoff * self.drag,
            zero_lift_drag_landing=frame.zero_lift_drag_landing * self.drag,
            most_lift_takeoff=frame.most_lift_takeoff * self.most_lift,
            most_lift_landing=frame.most_lift_landing * self.most_lift,
        )
        engine = replace(aeroplane.engine, power_factor=aeroplane.engine.power_factor * self.power)
        propeller = aeroplane.propeller.repitched(self.pitch).resized(self.diameter).with_thrust(self.thrust)
        return SimAeroplane(airframe, engine, propeller)
