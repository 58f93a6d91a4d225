"""Which conditions of a run does the package know by name, and in what dimension?

Prepared columns are what the corrections work on: some are written down as they are, others follow from what was
written (see :mod:`samesky.campaign.prepare`).
"""

from __future__ import annotations

from collections.abc import Iterable

from samesky.measures.columns import COMMON
from samesky.measures.shape import Measure

#: Conditions that are computed rather than read from a column of the same name, with their dimension.
COMPUTED = {"pressure": "pressure", "weight": "mass", "fuel": "mass", "slope": "fraction"}


def dimensions(measures: Iterable[Measure]) -> dict[str, str]:
    """Dimension of every column with a number, read or computed, that the measures can have."""
    known = {column.name: column.dimension for column in COMMON}
    for measure in measures:
        known |= {column.name: column.dimension for column in measure.columns}
    known |= COMPUTED
    return {name: dimension for name, dimension in known.items() if dimension != "text"}
