"""What does a propeller do with the power, and what is the most that any could?

Advance ratio, tip Mach numbers, the coefficients of thrust and power, figure of merit; and the bounds of momentum
theory (Rankine and Froude), which no propeller passes: a measured static pull above the bound is a mistake of scale,
of unit or of power, not a good propeller.

Rotational speeds are those of the propeller, in revolutions per second; diameters in metres.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers


def advance_ratio(speed: Numbers, rotational_speed: Numbers, diameter: Numbers) -> Floats:
    """J = V/(n D), true airspeed V [m/s].

    Parameters
    ----------
    speed : true airspeed [m/s]
    rotational_speed : rotational speed [rev/s]
    diameter : diameter of the propeller [m]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return np.asarray(speed, dtype=float) / (np.asarray(rotational_speed, dtype=float) * diameter)


def thrust_coefficient(thrust: Numbers, density: Numbers, rotational_speed: Numbers, diameter: Numbers) -> Floats:
    """CT = T/(rho n^2 D^4), thrust [N], density [kg/m^3].

    Parameters
    ----------
    thrust : thrust [N]
    density : air density [kg/m^3]
    rotational_speed : rotational speed [rev/s]
    diameter : diameter of the propeller [m]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return np.asarray(thrust, dtype=float) / (density * np.square(rotational_speed) * np.power(diameter, 4.0))


def power_coefficient(power: Numbers, density: Numbers, rotational_speed: Numbers, diameter: Numbers) -> Floats:
    """CP = P/(rho n^3 D^5), shaft power [W], density [kg/m^3].

    Parameters
    ----------
    power : shaft power [W]
    density : air density [kg/m^3]
    rotational_speed : rotational speed [rev/s]
    diameter : diameter of the propeller [m]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return np.asarray(power, dtype=float) / (density * np.power(rotational_speed, 3.0) * np.power(diameter, 5.0))


def efficiency(advance: Numbers, thrust_coef: Numbers, power_coef: Numbers) -> Floats:
    """Propulsive efficiency (fraction) eta = J CT/CP = T V/P; advance ratio and coefficients as in this file's head.

    Parameters
    ----------
    advance : advance ratio J [1]
    thrust_coef : thrust coefficient CT [1]
    power_coef : power coefficient CP [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return np.asarray(advance, dtype=float) * thrust_coef / power_coef


def figure_of_merit(thrust_coef: Numbers, power_coef: Numbers) -> Floats:
    """Static thrust's ideal power over the power used: sqrt(2/pi) CT^1.5/CP.

    Parameters
    ----------
    thrust_coef : thrust coefficient CT [1]
    power_coef : power coefficient CP [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return np.sqrt(2.0 / np.pi) * np.asarray(thrust_coef, dtype=float) ** 1.5 / power_coef


def tip_speed(rotational_speed: Numbers, diameter: Numbers) -> Floats:
    """Speed of the blade tip round its circle [m/s]: pi D n.

    Parameters
    ----------
    rotational_speed : rotational speed [rev/s]
    diameter : diameter of the propeller [m]

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.

    Examples
    --------
    A propeller of 1.8 m at 2,400 rpm:

    >>> round(float(tip_speed(2400 / 60, 1.8)), 1)
    226.2
    """
    return np.pi * np.asarray(rotational_speed, dtype=float) * diameter


def helical_tip_speed(speed: Numbers, rotational_speed: Numbers, diameter: Numbers) -> Floats:
    """Speed of the blade tip through the air [m/s] at true airspeed ``speed`` [m/s].

    Parameters
    ----------
    speed : true airspeed [m/s]
    rotational_speed : rotational speed [rev/s]
    diameter : diameter of the propeller [m]

    Returns
    -------
    ndarray
        [m/s], of the shape to which the parameters broadcast.
    """
    return np.hypot(speed, tip_speed(rotational_speed, diameter))


def tip_mach(rotational_speed: Numbers, diameter: Numbers, speed_of_sound: Numbers, speed: Numbers = 0.0) -> Floats:
    """Mach number of the blade tip, helical where the true airspeed ``speed`` [m/s] is given.

    Marked loss of efficiency begins near 0.9 in wind-tunnel tests (J. V. Becker, The High-Speed Frontier, NASA SP-445,
    ch. 4); below that the tip speed hardly matters (F. E. Weick, NACA Report 302, 1928).

    Parameters
    ----------
    rotational_speed : rotational speed [rev/s]
    diameter : diameter of the propeller [m]
    speed_of_sound : speed of sound [m/s]
    speed : true airspeed [m/s]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return helical_tip_speed(speed, rotational_speed, diameter) / speed_of_sound


def disc_area(diameter: Numbers) -> Floats:
    """Area swept [m^2].

    Parameters
    ----------
    diameter : diameter of the propeller [m]

    Returns
    -------
    ndarray
        [m^2], of the shape to which the parameters broadcast.
    """
    return 0.25 * np.pi * np.square(np.asarray(diameter, dtype=float))


def static_thrust(power: Numbers, diameter: Numbers, density: Numbers, merit: Numbers = 1.0) -> Floats:
    """Static thrust [N] of a shaft power [W]: FoM^(2/3) (2 rho A P^2)^(1/3).

    With a figure of merit of 1 this is the bound of momentum theory that no propeller exceeds.

    Parameters
    ----------
    power : shaft power [W]
    diameter : diameter of the propeller [m]
    density : air density [kg/m^3]
    merit : figure of merit [1]

    Returns
    -------
    ndarray
        [N], of the shape to which the parameters broadcast.
    """
    ideal = np.cbrt(2.0 * np.asarray(density) * disc_area(diameter) * np.square(np.asarray(power, dtype=float)))
    return np.asarray(merit) ** (2.0 / 3.0) * ideal


def static_power(thrust: Numbers, diameter: Numbers, density: Numbers, merit: Numbers = 1.0) -> Floats:
    """Shaft power [W] of a static thrust [N]: T^1.5/(FoM sqrt(2 rho A)); the least possible at a merit of 1.

    Parameters
    ----------
    thrust : thrust [N]
    diameter : diameter of the propeller [m]
    density : air density [kg/m^3]
    merit : figure of merit [1]

    Returns
    -------
    ndarray
        [W], of the shape to which the parameters broadcast.
    """
    return np.asarray(thrust, dtype=float) ** 1.5 / (np.asarray(merit) * np.sqrt(2.0 * density * disc_area(diameter)))


def ideal_efficiency(thrust: Numbers, speed: Numbers, diameter: Numbers, density: Numbers) -> Floats:
    """Efficiency bound of momentum theory in forward flight: 2/(1 + sqrt(1 + T/(rho A V^2/2))).

    Parameters
    ----------
    thrust : thrust [N]
    speed : true airspeed [m/s]
    diameter : diameter of the propeller [m]
    density : air density [kg/m^3]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    loading = np.asarray(thrust, dtype=float) / (0.5 * density * disc_area(diameter) * np.square(speed))
    return 2.0 / (1.0 + np.sqrt(1.0 + loading))


def ideal_efficiency_from_coefficients(thrust_coef: Numbers, advance: Numbers) -> Floats:
    """The same bound from coefficients: 2/(1 + sqrt(1 + 8 CT/(pi J^2))).

    Parameters
    ----------
    thrust_coef : thrust coefficient CT [1]
    advance : advance ratio J [1]

    Returns
    -------
    ndarray
        [1], of the shape to which the parameters broadcast.
    """
    return 2.0 / (1.0 + np.sqrt(1.0 + 8.0 * np.asarray(thrust_coef, dtype=float) / (np.pi * np.square(advance))))


def ideal_diameter(thrust: Numbers, speed: Numbers, ideal: Numbers, density: Numbers) -> Floats:
    """Diameter [m] at which the efficiency bound is ``ideal`` for a thrust [N] at a true airspeed [m/s].

    Parameters
    ----------
    thrust : thrust [N]
    speed : true airspeed [m/s]
    ideal : efficiency bound that is wanted [1]
    density : air density [kg/m^3]

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.
    """
    loading = (2.0 / np.asarray(ideal, dtype=float) - 1.0) ** 2 - 1.0
    area = np.asarray(thrust) / (0.5 * density * np.square(speed) * loading)
    return np.sqrt(4.0 * area / np.pi)
