"""Is a unit one that people know, and of the dimension at hand?"""

from __future__ import annotations

from samesky import units


def fits(unit: str, dimension: str) -> bool:
    """Whether the unit is known and of the dimension."""
    try:
        units.to_si(1.0, unit, dimension)
    except units.UnitError:
        return False
    return True
