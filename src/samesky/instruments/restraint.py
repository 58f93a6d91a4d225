"""What does the rope do to a static pull, and the pull to the rope?

A tied-down aeroplane is held by a line, a scale in it, and by whatever else touches the ground. The scale shows what is
left for the line; the line is loaded by more than the pull where it slopes, spreads, or is jerked. Statics and one
energy balance, so the closed forms can be worked by hand (any text on mechanics); the tests integrate the equation of
motion instead.

Caution: these are least loads of a perfect line. Rated gear, at several times the pull, chosen by somebody who knows
lifting gear, is the rule; nothing here replaces the aircraft's papers.
"""

from __future__ import annotations

import numpy as np

from samesky.air.constants import G0


def line_load(pull, angle=0.0, held_elsewhere=0.0):
    """Load [N] in a single line, which is what a scale in it shows: (T - H)/cos(angle).

    Parameters
    ----------
    pull : horizontal pull T of the propeller [N]
    angle : between the line and the pull [rad], up, down or aside
    held_elsewhere : H [N], taken by wheels, chocks or brakes; negative where the wheels push forward
    """
    return (np.asarray(pull, dtype=float) - held_elsewhere) / np.cos(angle)


def leg_load(pull, half_angle):
    """Load [N] in each of two equal legs of a bridle, ``half_angle`` [rad] off the line of pull: T/(2 cos)."""
    return np.asarray(pull, dtype=float) / (2.0 * np.cos(half_angle))


def peak_load(pull, stiffness, slack=0.0):
    """Highest load [N] in an elastic line on which a constant pull [N] is let go: T (1 + sqrt(1 + 2 k s/T)).

    Energy balance without friction, T (s + x) = k x^2/2. Twice the pull from a line just taut; more with ``slack`` s
    [m], and more the stiffer the line, ``stiffness`` k [N/m].
    """
    pull = np.asarray(pull, dtype=float)
    return pull * (1.0 + np.sqrt(1.0 + 2.0 * np.asarray(stiffness) * np.asarray(slack) / pull))


def stored_energy(load, stiffness):
    """Energy [J] in an elastic line under a load [N]: F^2/(2 k). It is what comes back when the line parts."""
    return np.square(np.asarray(load, dtype=float)) / (2.0 * np.asarray(stiffness))


def rolling_resistance(mass, friction):
    """Most that free wheels can hold [N]: mu m g, ``friction`` the rolling-friction coefficient, lift neglected."""
    return np.asarray(friction, dtype=float) * mass * G0
