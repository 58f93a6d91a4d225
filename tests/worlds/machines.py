"""Engine and propeller together: thrust and speed against airspeed, for many runs at once.

Thrust over density and propeller speed hang on airspeed and on kappa = power x factor / density alone; both stand in
smooth tables. A fixed-pitch propeller finds the speed at which the torques meet; a constant-speed one turns its blades
to hold the governed speed, down to its fine stop.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.interpolate import RectBivariateSpline

from tests.worlds.air import RHO_SEA, Air
from tests.worlds.engines import Engine
from tests.worlds.propellers import TURNS, Propeller, tables

SPEEDS = np.concatenate([np.linspace(-4.0, 10.0, 29), np.linspace(11.0, 95.0, 57)])
KAPPAS = np.exp(np.linspace(np.log(0.45), np.log(1.9), 30)) / RHO_SEA


@dataclass(frozen=True)
class Machine:
    """``governed`` [rev/s] of a constant-speed propeller, None where the pitch is fixed; ``scrub``: share of the thrust
    that the stream over the airframe takes."""

    engine: Engine
    propeller: Propeller
    governed: float | None = None
    scrub: float = 0.03

    def kappa(self, air: Air, power=1.0):
        return power * self.engine.factor(air) / air.density

    def thrust(self, speed, air: Air, power=1.0):
        """Net thrust [N] at true airspeed [m/s]."""
        return air.density * _tables(self)[0].ev(*np.broadcast_arrays(speed, self.kappa(air, power)))

    def speed(self, airspeed, air: Air, power=1.0):
        """Propeller speed [rev/s] at true airspeed [m/s]."""
        return _tables(self)[1].ev(*np.broadcast_arrays(airspeed, self.kappa(air, power)))

    def torque(self, airspeed, air: Air, power=1.0):
        """Torque at the propeller [N m]."""
        return power * self.engine.factor(air) * self.engine.torque(self.speed(airspeed, air, power))


@lru_cache(maxsize=128)
def _tables(machine: Machine) -> tuple[RectBivariateSpline, RectBivariateSpline]:
    thrust, speed, _ = equilibrium(machine, SPEEDS[:, None], KAPPAS[None, :])
    return RectBivariateSpline(SPEEDS, KAPPAS, thrust), RectBivariateSpline(SPEEDS, KAPPAS, speed)


def equilibrium(machine: Machine, airspeed, kappa):
    """Thrust over density [m4/s2], propeller speed [rev/s] and turn of the blades [rad] where the torques meet."""
    airspeed, kappa = np.broadcast_arrays(airspeed, kappa)
    diameter = machine.propeller.diameter
    push, hold = tables(machine.propeller)

    def surplus(speed, turn):
        """Torque of the engine over density less that of the propeller."""
        taken = hold.ev(airspeed / (speed * diameter), turn) * speed**2 * diameter**5
        return kappa * machine.engine.torque(speed) - taken

    def bisect(low, high, rising):
        for _ in range(60):
            middle = 0.5 * (low + high)
            more = rising(middle)
            low, high = np.where(more, middle, low), np.where(more, high, middle)
        return 0.5 * (low + high)

    rated = machine.engine.speed / machine.engine.gear
    turn = np.zeros(airspeed.shape)
    if machine.governed is not None:
        # Beyond the fine stop the blades turn until they take what the engine gives at the governed speed.
        turn = bisect(turn, np.full(airspeed.shape, TURNS[-1]), lambda a: surplus(machine.governed, a) > 0.0)
    speed = bisect(
        np.full(airspeed.shape, 0.35 * rated), np.full(airspeed.shape, 1.6 * rated), lambda n: surplus(n, turn) > 0.0
    )
    thrust = push.ev(airspeed / (speed * diameter), turn) * speed**2 * diameter**4
    return (1.0 - machine.scrub) * thrust, speed, turn
