"""What does the equation of motion say of a take-off, in closed form?

Forms that can be worked by hand and held against print: constant acceleration; thrust constant and drag with the
square of speed (J. D. Anderson, Aircraft Performance and Design, McGraw-Hill, 1999, Example 6.6); the ground-effect
factor (B. W. McCormick, Aerodynamics, Aeronautics and Flight Mechanics); the airborne arc to an obstacle. A
propeller's thrust falls with speed: for one, integrate.

Caution: handbook distances and their safety factors rule a flight, not these forms.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.air.constants import G0

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


def drag_bracket(
    zero_lift: Numbers, lift: Numbers, parasite_rise: Numbers, induced: Numbers, friction: Numbers
) -> Floats:
    """Drag coefficient less the friction that lift takes off the wheels: CD0 + (k1 + k) CL^2 - mu CL.

    ``parasite_rise`` is k1, ``induced`` the induced-drag factor k with ground effect. Anderson (1999), eq. 6.86.

    Parameters
    ----------
    zero_lift : drag coefficient without lift CD0 [1]
    lift : lift coefficient CL [1]
    parasite_rise : rise of parasite drag with lift k1 [1]
    induced : induced-drag factor k with ground effect [1]
    friction : rolling friction mu [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return np.asarray(zero_lift) + (np.asarray(parasite_rise) + induced) * np.square(lift) - np.asarray(friction) * lift


def anderson_roll(
    speed: Numbers,
    drag_constant: Numbers,
    thrust_constant: Numbers,
    rotation_time: Numbers = 0.0,
    gravity: Numbers = G0,
) -> Floats:
    """Ground roll: ln(1 + (K_A/K_T) V^2)/(2 g K_A) + N V, in any consistent units.

    ``drag_constant`` K_A = -rho/(2 W/S) times :func:`drag_bracket`; ``thrust_constant`` K_T = T/W - mu;
    ``rotation_time`` N, about 1 s for small and 3 s for large aeroplanes. Zero wind, level. Anderson (1999), eq. 6.90.

    Parameters
    ----------
    speed : speed at the end of the roll [m/s]
    drag_constant : K_A = -rho/(2 W/S) times :func:`drag_bracket` [1/m]
    thrust_constant : K_T = T/W - mu [1]
    rotation_time : N, time of rotation [s]
    gravity : acceleration of gravity [m/s^2]

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.
    """
    ratio = np.asarray(drag_constant, dtype=float) / thrust_constant
    return np.log1p(ratio * np.square(speed)) / (2.0 * gravity * drag_constant) + np.asarray(rotation_time) * speed


def airborne_distance(
    stall_speed: Numbers, obstacle_height: Numbers, gravity: Numbers = G0
) -> tuple[Floats, Floats, Floats]:
    """Arc after lift-off: (pull-up radius, obstacle angle [rad], distance), consistent units.

    R = 6.96 V_stall^2/g (load factor 1.19 at 1.15 V_stall), cos(angle) = 1 - h/R, distance R sin(angle). Anderson
    (1999), Example 6.6.

    Parameters
    ----------
    stall_speed : stalling speed [m/s]
    obstacle_height : height of the obstacle [m]
    gravity : acceleration of gravity [m/s^2]

    Returns
    -------
    tuple of ndarray
        Pull-up radius [m], obstacle angle [rad] and distance [m], of the broadcast shape.
    """
    radius = 6.96 * np.square(np.asarray(stall_speed, dtype=float)) / gravity
    angle = np.arccos(1.0 - np.asarray(obstacle_height) / radius)
    return radius, angle, radius * np.sin(angle)


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


def square_law_wind(headwind_share: Numbers) -> Floats:
    """Roll over that in still air at constant acceleration: (1 - Vw/V)^2; a tailwind is negative. NAVWEPS 00-80T-80.

    Parameters
    ----------
    headwind_share : headwind over the speed at lift-off Vw/V [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return np.square(1.0 - np.asarray(headwind_share, dtype=float))
