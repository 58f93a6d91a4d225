"""What does the equation of motion say of a take-off, in closed form?

Forms that can be worked by hand and held against print: constant acceleration; thrust constant and drag with the
square of speed; the ground-effect factor (B. W. McCormick, Aerodynamics, Aeronautics and Flight Mechanics; J. D.
Anderson, Aircraft Performance and Design, McGraw-Hill, 1999, Example 6.6). A propeller's thrust falls with speed: for
one, integrate.

Caution: handbook distances and their safety factors rule a flight, not these forms.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers


def constant_acceleration_roll(speed: Numbers, acceleration: Numbers) -> Floats:
    """Distance [m] to reach ``speed`` [m/s] at constant ``acceleration`` [m/s^2]: V^2/(2a).

    Parameters
    ----------
    speed : speed at the end of the roll [m/s]
    acceleration : acceleration [m/s^2]

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.
    """
    return np.square(np.asarray(speed, dtype=float)) / (2.0 * np.asarray(acceleration))


def constant_acceleration_time(speed: Numbers, acceleration: Numbers) -> Floats:
    """Time [s] to reach ``speed`` [m/s] at constant ``acceleration`` [m/s^2]: V/a.

    Parameters
    ----------
    speed : speed at the end of the roll [m/s]
    acceleration : acceleration [m/s^2]

    Returns
    -------
    ndarray
        [s], of the shape to which the parameters broadcast.
    """
    return np.asarray(speed, dtype=float) / acceleration


def roll_with_square_drag(speed: Numbers, acceleration: Numbers, drag_constant: Numbers) -> Floats:
    """Distance [m] to ``speed`` [m/s] with a = a0 - k V^2, a0 [m/s^2], k [1/m] not zero: -ln(1 - k V^2/a0)/(2k).

    Parameters
    ----------
    speed : speed at the end of the roll [m/s]
    acceleration : acceleration at rest a0 [m/s^2]
    drag_constant : k [1/m], not zero

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.
    """
    k = np.asarray(drag_constant, dtype=float)
    return -np.log1p(-k * np.square(speed) / acceleration) / (2.0 * k)


def ground_effect(height: Numbers, span: Numbers) -> Floats:
    """Factor on induced drag with the wing ``height`` over the ground, in units of ``span``: (16h/b)^2/(1 + (16h/b)^2).

    McCormick; Anderson (1999), Example 6.6.

    Parameters
    ----------
    height : height of the wing over the ground [unit of ``span``]
    span : wing span [m]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    square = np.square(16.0 * np.asarray(height, dtype=float) / span)
    return square / (1.0 + square)


def lift_off_speed_ratio(weight_ratio: Numbers) -> Floats:
    """Lift-off speed over that at the other weight, at one lift coefficient: sqrt(W2/W1). FAA-H-8083-25A, ch. 10.

    Parameters
    ----------
    weight_ratio : weight over the other weight W2/W1 [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return np.sqrt(np.asarray(weight_ratio, dtype=float))


def square_law_weight(weight_ratio: Numbers) -> Floats:
    """Roll over that at the other weight at constant thrust and lift coefficient: (W2/W1)^2. FAA-H-8083-25A, ch. 10.

    Parameters
    ----------
    weight_ratio : weight over the other weight W2/W1 [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return np.square(np.asarray(weight_ratio, dtype=float))
