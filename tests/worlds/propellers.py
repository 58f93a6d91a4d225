"""Propellers of the worlds: blade elements in rings of momentum, whose sections may stall when the aeroplane stands.

Each ring balances the thrust of its blade elements against the momentum of its stream (Glauert, in Durand, Aerodynamic
Theory IV, 1935), with Prandtl's loss at the tips; the induced velocity stands at right angles to the resultant. Section
lift is linear and goes over smoothly into that of a plate; no effect of Reynolds or Mach number. Thrust and torque are
coefficients of advance ratio and blade angle only: T = rho n^2 D^4 C_T, Q = rho n^2 D^5 C_Q.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from scipy.interpolate import RectBivariateSpline

#: Advance ratios of the tables; a little below none, for a following wind.
ADVANCE = np.concatenate([np.linspace(-0.10, 0.10, 11), np.linspace(0.14, 1.60, 53)])
TURNS = np.radians(np.linspace(-4.0, 24.0, 29))
BISECTIONS = 46


@dataclass(frozen=True)
class Section:
    """Lift and drag of a section; angles [rad]. ``stall`` where lift leaves the straight line, ``soft`` how wide."""

    slope: float = 5.9
    zero_lift: float = np.radians(-3.4)
    stall: float = np.radians(11.5)
    soft: float = np.radians(1.8)
    drag: float = 0.0105
    rise: float = 0.0075

    def lift_drag(self, alpha):
        """Coefficients of lift and drag at an angle of attack [rad]."""
        attached = 1.0 / (1.0 + np.exp(np.clip((np.abs(alpha) - self.stall) / self.soft, -40.0, 40.0)))
        straight = self.slope * (alpha - self.zero_lift)
        plate = 1.15 * np.sin(2.0 * alpha)
        lift = attached * straight + (1.0 - attached) * plate
        low = self.drag + self.rise * np.square(np.clip(straight, -1.6, 1.6))
        return lift, attached * low + (1.0 - attached) * (0.02 + 1.7 * np.square(np.sin(alpha)))


@dataclass(frozen=True)
class Propeller:
    """``diameter`` and ``pitch`` [m] (geometric at 0.75 R, chord line); ``chord`` at 0.75 R over the radius.

    ``washout`` [rad] takes angle from the tip and gives it to the root, about 0.75 R. ``stations`` (k, 3) of r/R, c/R,
    angle [rad] replace the built-in planform. ``turned`` [rad] adds to every angle (ground-adjustable).
    """

    diameter: float
    pitch: float = 1.0
    blades: int = 2
    chord: float = 0.150
    washout: float = 0.0
    turned: float = 0.0
    section: Section = Section()
    hub: float = 0.16
    stations: tuple[tuple[float, float, float], ...] = ()

    def rings(self, count: int = 22):
        """Radius, chord [of R], blade angle [rad] and width of rings between hub and tip (count,)."""
        edges = 1.0 - (1.0 - self.hub) * np.cos(np.linspace(0.0, 0.5 * np.pi, count + 1))
        edges = np.sort(edges)
        x = 0.5 * (edges[1:] + edges[:-1])
        if self.stations:
            r, c, angle = np.array(self.stations).T
            return x, np.interp(x, r, c), np.interp(x, r, angle) + self.turned, np.diff(edges)
        planform = np.interp(x, [0.15, 0.30, 0.50, 0.75, 0.90, 1.0], [0.75, 1.10, 1.18, 1.0, 0.75, 0.40])
        angle = np.arctan(self.pitch / (np.pi * self.diameter * x)) - self.washout * (x - 0.75)
        return x, self.chord * planform, angle + self.turned, np.diff(edges)

    def better_by(self, share: float) -> Propeller:
        """Another propeller of the same family: a little more diameter and less pitch."""
        return replace(self, diameter=self.diameter * (1.0 + share), pitch=self.pitch * (1.0 - 2.0 * share))


def coefficients(propeller: Propeller, advance, turn=0.0):
    """Thrust and torque coefficients at advance ratios and blade angles beyond the built ones [rad], broadcast."""
    advance, turn = np.broadcast_arrays(np.asarray(advance, dtype=float), np.asarray(turn, dtype=float))
    x, chord, angle, width = propeller.rings()
    flow = (advance / np.pi)[..., None] * np.ones_like(x)  # V / (Omega R)
    angle = angle + turn[..., None]

    def ring(induced):
        through = flow + induced
        swirl = 0.5 * (x - np.sqrt(np.maximum(x * x - 4.0 * induced * through, 1e-9)))
        around = x - swirl
        phi = np.arctan2(through, around)
        speed2 = through * through + around * around
        lift, drag = propeller.section.lift_drag(angle - phi)
        sine, cosine = np.sin(phi), np.cos(phi)
        blade = 0.5 * speed2 * propeller.blades * chord
        tip = 0.5 * propeller.blades * (1.0 - x) / (x * np.maximum(np.abs(sine), 0.02))
        loss = np.maximum(2.0 / np.pi * np.arccos(np.exp(-np.minimum(tip, 40.0))), 0.05)
        push = blade * (lift * cosine - drag * sine)
        hold = blade * (lift * sine + drag * cosine) * x
        return push, hold, 4.0 * np.pi * x * loss * through * induced

    low = np.where(flow > 0.0, -0.45 * flow, -flow)
    high = np.broadcast_to(0.48 * x, low.shape)  # beyond this the swirl has no root
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        push, _, momentum = ring(middle)
        more = push > momentum
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    push, hold, _ = ring(0.5 * (low + high))
    # T = rho Omega^2 R^4 sum(push dx); C_T = T / (rho n^2 D^4), Omega = 2 pi n, R = D / 2.
    scale = (2.0 * np.pi) ** 2 / 16.0
    return scale * np.sum(push * width, axis=-1), 0.5 * scale * np.sum(hold * width, axis=-1)


@lru_cache(maxsize=64)
def tables(propeller: Propeller) -> tuple[RectBivariateSpline, RectBivariateSpline]:
    """Smooth tables of C_T and C_Q over advance ratio and turn of the blades."""
    thrust, torque = coefficients(propeller, ADVANCE[:, None], TURNS[None, :])
    return RectBivariateSpline(ADVANCE, TURNS, thrust), RectBivariateSpline(ADVANCE, TURNS, torque)
