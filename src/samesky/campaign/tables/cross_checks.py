"""Do the readings of one row agree with each other?"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from samesky.campaign.messages import catalogue as say
from samesky.campaign.tables.sheet_rows import SheetRows

#: How far [K] a dew point may stand above the air temperature before one of them must be wrong: in
#: fog they are equal, and either may be off by its reading (assumed).
FOG = 0.6


def cross_check(rows: SheetRows, columns: Mapping[str, np.ndarray]) -> None:
    """Report dew points above the temperature of the air, and legs of which only a half was written down."""
    if "dew point" in columns and "oat" in columns:
        for index in map(int, np.flatnonzero(columns["dew point"] > columns["oat"] + FOG)):
            rows.error(
                rows.rows[index][0],
                "dew point",
                say.ROW_DEW_POINT_ABOVE_OAT(cell=_cell(rows, "dew point", index), cell2=_cell(rows, "oat", index)),
            )
    for name in columns:
        kind, _, leg = name.partition(" ")
        partner = {"speed": "track", "track": "speed"}.get(kind)
        if partner is None or not leg.isdigit():
            continue
        other = columns.get(f"{partner} {leg}", np.full(len(rows), np.nan))
        for index in map(int, np.flatnonzero(np.isfinite(columns[name]) & np.isnan(other))):
            rows.error(
                rows.rows[index][0],
                f"{partner} {leg}",
                say.ROW_HALF_A_LEG(leg=leg, sort=kind, partner=partner, name=name),
            )


def _cell(rows: SheetRows, name: str, index: int) -> str:
    place = rows.where[name]
    return f"{rows.rows[index][1][place.index].strip()} {place.unit}"
