"""Which conditions of a run does the package know by name, in what dimension, and what is believable of them?

Prepared columns are what the corrections work on: some are written down as they are, others follow from what was
written (see :mod:`samesky.campaign.derived.prepare`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from samesky import units
from samesky.aeroplane.loading import AVGAS_DENSITY
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.measures.columns import COMMON
from samesky.measures.shape import Column, Measure

#: Conditions that are computed rather than read from a column of the same name.
COMPUTED = (
    Column("pressure", "pressure", "static pressure at the run", low=30_000.0, high=110_000.0),
    Column("weight", "mass", "mass of the aeroplane", low=50.0, high=20_000.0),
    Column("fuel", "mass", "fuel on board at the start of the run", low=0.0, high=2_000.0),
    Column("slope", "fraction", "slope along the run, uphill positive", low=-0.25, high=0.25),
)


def conditions(measures: Iterable[Measure]) -> dict[str, Column]:
    """Every column with a number, read or computed, that the measures can have, by name."""
    known = {column.name: column for column in COMMON}
    for measure in measures:
        known |= {column.name: column for column in measure.columns}
    known |= {column.name: column for column in COMPUTED}
    return {name: column for name, column in known.items() if column.dimension != "text"}


def dimensions(known: Mapping[str, Column]) -> dict[str, str]:
    """The dimension of each of :func:`conditions`."""
    return {name: column.dimension for name, column in known.items()}


def shown(campaign: Campaign, table: RunTable, name: str, value: float) -> str:
    """A condition [SI] in the unit of its column, else in a usual one."""
    dimension = conditions([table.measure])[name].dimension
    unit = table.units.get(name)
    if name == "fuel" and unit is not None and fits(unit, "volume"):
        density = AVGAS_DENSITY if campaign.loading is None else campaign.loading.fuel_density
        return units.show(float(value) / density, unit, "volume")
    if unit is None or not fits(unit, dimension):
        unit = {"mass": "kg", "pressure": "hPa", "fraction": "%"}.get(
            dimension, units.DIMENSIONS[dimension].examples[0]
        )
    return units.show(float(value), unit, dimension)
