"""How heavy was it, and where did it balance?

Mass and centre of gravity from stations, from the fuel on board and from the mass and arm of the changed part. Arms aft
of the datum are positive. The rules are those of the weight-and-balance chapter of the FAA Pilot's Handbook of
Aeronautical Knowledge (FAA-H-8083-25): every one is the moment sum, said in the form that a question needs.

Caution: this arithmetic serves a fair comparison. The aircraft's own weighing report, its approved limits and the
people licensed to change it decide whether it may fly.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    #: Pairs of mass [kg] and arm [m].
    MassesAndArms = Iterable[tuple[float, float]]
    from samesky.arrays import Floats, Numbers

#: Aviation gasoline, planning value 6 lb/US gal (FAA-H-8083-25, weight-and-balance chapter) [kg/m^3].
AVGAS_DENSITY = 6.0 * 0.45359237 / 3.785411784e-3


@dataclass(frozen=True, slots=True)
class Loading:
    """What is on board, besides the fuel and the changed part.

    Attributes
    ----------
    empty_mass : [kg], without the part that the configurations exchange (or with it, where parts count as differences)
    empty_arm : [m], None where unknown; then the centre of gravity is unknown too
    stations : name -> (mass [kg], arm [m] or None)
    fuel_arm : [m] or None
    fuel_density : [kg/m^3]
    max_mass : [kg] or None
    cg_forward, cg_aft : limits of the centre of gravity [m] or None
    tail_arm : where the tail carries its load [m] or None
    ballast_arm : where ballast for the centre of gravity is secured [m] or None
    """

    empty_mass: float
    empty_arm: float | None = None
    stations: Mapping[str, tuple[float, float | None]] = field(default_factory=dict)
    fuel_arm: float | None = None
    fuel_density: float = AVGAS_DENSITY
    max_mass: float | None = None
    cg_forward: float | None = None
    cg_aft: float | None = None
    tail_arm: float | None = None
    ballast_arm: float | None = None

    def mass_at(self, fuel_mass: Numbers, part_mass: Numbers = 0.0, part_arm: Numbers | None = None) -> Floats:
        """Mass of the aeroplane [kg] with this fuel [kg] and this changed part [kg]; shapes broadcast.

        ``part_arm`` is not needed for the mass; it is taken so that the call reads like :meth:`cg_at`.

        Parameters
        ----------
        fuel_mass : fuel on board [kg]
        part_mass : mass of the changed part [kg]
        part_arm : arm of the changed part [m], None where unknown

        Returns
        -------
        ndarray
            [kg], of the shape to which the parameters broadcast.
        """
        fixed = self.empty_mass + sum(mass for mass, _ in self.stations.values())
        return fixed + np.asarray(fuel_mass, dtype=float) + np.asarray(part_mass, dtype=float)

    def cg_at(self, fuel_mass: Numbers, part_mass: Numbers = 0.0, part_arm: Numbers | None = None) -> Floats:
        """Centre of gravity [m aft of datum]; NaN where an arm that carries mass is unknown. Shapes broadcast.

        Parameters
        ----------
        fuel_mass : fuel on board [kg]
        part_mass : mass of the changed part [kg]
        part_arm : arm of the changed part [m], None where unknown

        Returns
        -------
        ndarray
            [m aft of datum], of the shape to which the parameters broadcast.
        """
        fixed = [moment_of(mass, arm) for mass, arm in ((self.empty_mass, self.empty_arm), *self.stations.values())]
        moment = np.sum(fixed) + moment_of(fuel_mass, self.fuel_arm) + moment_of(part_mass, part_arm)
        return moment / self.mass_at(fuel_mass, part_mass)


def moment_of(mass: Numbers, arm: Numbers | None) -> Floats:
    """Moment [kg m] of a mass [kg] at an arm [m]; nothing weighs nothing anywhere, an unknown arm (None) gives NaN.

    Parameters
    ----------
    mass : mass [kg]
    arm : arm [m], None where unknown

    Returns
    -------
    ndarray
        [kg m], of the shape to which the parameters broadcast.
    """
    mass = np.asarray(mass, dtype=float)
    arm = np.asarray(np.nan if arm is None else arm, dtype=float)
    return np.where(mass == 0.0, 0.0, mass * arm)


def centre_of_gravity(masses: npt.ArrayLike, arms: npt.ArrayLike) -> float:
    """Centre of gravity [m] of masses [kg] (n,) at arms [m] (n,): sum of moments over sum of masses.

    Parameters
    ----------
    masses : masses [kg], (n,)
    arms : arms [m], (n,)

    Returns
    -------
    float
        [m].

    Examples
    --------
    >>> round(centre_of_gravity([480.0, 90.0, 50.0], [0.33, 0.60, 1.10]), 3)
    0.431
    """
    masses = np.asarray(masses, dtype=float)
    return float(np.sum(masses * np.asarray(arms, dtype=float)) / np.sum(masses))


def cg_shift(total_mass: Numbers, moved_mass: Numbers, old_arm: Numbers, new_arm: Numbers) -> Floats:
    """Change of the centre of gravity [m] when ``moved_mass`` [kg] goes from ``old_arm`` to ``new_arm`` [m].

    Parameters
    ----------
    total_mass : mass of the whole aeroplane [kg]
    moved_mass : mass that is moved [kg]
    old_arm : arm from which it is moved [m]
    new_arm : arm to which it is moved [m]

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.
    """
    return np.asarray(moved_mass, dtype=float) * (np.asarray(new_arm) - old_arm) / total_mass


def mass_to_shift(total_mass: Numbers, wanted_shift: Numbers, distance: Numbers) -> Floats:
    """Mass [kg] to move over ``distance`` [m] so that the centre of gravity moves by ``wanted_shift`` [m].

    Parameters
    ----------
    total_mass : mass of the whole aeroplane [kg]
    wanted_shift : change of the centre of gravity that is wanted [m]
    distance : distance over which mass is moved [m]

    Returns
    -------
    ndarray
        [kg], of the shape to which the parameters broadcast.
    """
    return np.asarray(total_mass, dtype=float) * wanted_shift / distance


def add_mass(total_mass: Numbers, cg: Numbers, mass: Numbers, arm: Numbers) -> tuple[Floats, Floats]:
    """New (mass [kg], centre of gravity [m]) after adding ``mass`` at ``arm``; a negative mass is a removal.

    Parameters
    ----------
    total_mass : mass of the whole aeroplane [kg]
    cg : centre of gravity [m]
    mass : mass [kg]
    arm : arm, aft of the datum positive [m]

    Returns
    -------
    tuple of ndarray
        Mass [kg] and centre of gravity [m], of the broadcast shape.
    """
    new_mass = np.asarray(total_mass, dtype=float) + mass
    return new_mass, (np.asarray(total_mass) * cg + np.asarray(mass) * arm) / new_mass


def equipment_change(total_mass: float, cg: float, removed: MassesAndArms, added: MassesAndArms) -> tuple[float, float]:
    """New (mass [kg], centre of gravity [m]) after an exchange: ``removed`` and ``added`` hold (mass, arm) pairs.

    Removal and addition go into one moment table, so that no intermediate rounding creeps in.

    Parameters
    ----------
    total_mass : mass of the whole aeroplane [kg]
    cg : centre of gravity [m]
    removed : pairs of mass [kg] and arm [m] taken out
    added : pairs of mass [kg] and arm [m] put in

    Returns
    -------
    tuple of float
        Mass [kg] and centre of gravity [m].
    """
    changes = [(-mass, arm) for mass, arm in removed] + [(mass, arm) for mass, arm in added]
    mass = total_mass + sum(change for change, _ in changes)
    return mass, (total_mass * cg + sum(change * arm for change, arm in changes)) / mass


def part_change(total_mass: Numbers, cg: Numbers, old_mass: Numbers, new_mass: Numbers, arm: Numbers) -> Floats:
    """Change of the centre of gravity [m] when a part at ``arm`` is exchanged: dm (x - cg) / (m + dm).

    Parameters
    ----------
    total_mass : mass of the whole aeroplane [kg]
    cg : centre of gravity [m]
    old_mass : mass of the old part [kg]
    new_mass : mass of the new part [kg]
    arm : arm, aft of the datum positive [m]

    Returns
    -------
    ndarray
        [m], of the shape to which the parameters broadcast.
    """
    change = np.asarray(new_mass, dtype=float) - old_mass
    return change * (np.asarray(arm) - cg) / (np.asarray(total_mass) + change)


def ballast_to_match(mass: Numbers, cg: Numbers, wanted_mass: Numbers, wanted_cg: Numbers) -> tuple[Floats, Floats]:
    """Ballast (mass [kg], arm [m]) that brings an aeroplane to a wanted mass and centre of gravity.

    A negative mass says that something of that mass has to come out at that arm. The arm is NaN where the masses agree
    and the centres do not: then moving mass, not adding it, is the answer (:func:`mass_to_shift`).

    Parameters
    ----------
    mass : mass [kg]
    cg : centre of gravity [m]
    wanted_mass : mass that is wanted [kg]
    wanted_cg : centre of gravity that is wanted [m]

    Returns
    -------
    tuple of ndarray
        Mass [kg] and arm [m] of the ballast, of the broadcast shape.
    """
    ballast = np.asarray(wanted_mass, dtype=float) - mass
    moment = np.asarray(wanted_mass) * np.asarray(wanted_cg) - np.asarray(mass) * np.asarray(cg)
    return ballast, np.where(ballast == 0.0, np.nan, moment / np.where(ballast == 0.0, 1.0, ballast))


def fuel_mass(volume: Numbers, density: Numbers = AVGAS_DENSITY) -> Floats:
    """Mass [kg] of a fuel volume [m^3] of this density [kg/m^3].

    Parameters
    ----------
    volume : volume of fuel [m^3]
    density : density of the fuel [kg/m^3]

    Returns
    -------
    ndarray
        [kg], of the shape to which the parameters broadcast.
    """
    return np.asarray(volume, dtype=float) * density


def mass_after(
    start_mass: Numbers, fuel_flow: Numbers, hours_flown: Numbers, density: Numbers = AVGAS_DENSITY
) -> Floats:
    """Mass [kg] after burning ``fuel_flow`` [m^3/s] for ``hours_flown`` [h] from ``start_mass`` [kg].

    Parameters
    ----------
    start_mass : mass before the flight [kg]
    fuel_flow : fuel flow [m^3/s]
    hours_flown : time flown [h]
    density : density of the fuel [kg/m^3]

    Returns
    -------
    ndarray
        [kg], of the shape to which the parameters broadcast.
    """
    return np.asarray(start_mass, dtype=float) - fuel_mass(np.asarray(fuel_flow) * hours_flown * 3600.0, density)
