"""Do the readings of one row agree with each other?"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from samesky.campaign.tables.sheet_rows import SheetRows

#: How far [K] a dew point may stand above the air temperature before one of them must be wrong: in
#: fog they are equal, and either may be off by its reading (assumed).
FOG = 0.6


def cross_check(rows: SheetRows, columns: Mapping[str, np.ndarray]) -> None:
    """Report dew points above the temperature of the air, and legs of which only a half was written down."""
    if "dew point" in columns and "oat" in columns:
        for index in map(int, np.flatnonzero(columns["dew point"] > columns["oat"] + FOG)):
            message = f"the dew point ({_cell(rows, 'dew point', index)}) is above oat ({_cell(rows, 'oat', index)})."
            mend = "Correct one of the two, and check both units: air cannot hold more moisture than at its dew point."
            rows.error(rows.rows[index][0], "dew point", message, mend)
    for name in columns:
        kind, _, leg = name.partition(" ")
        partner = {"speed": "track", "track": "speed"}.get(kind)
        if partner is None or not leg.isdigit():
            continue
        other = columns.get(f"{partner} {leg}", np.full(len(rows), np.nan))
        for index in map(int, np.flatnonzero(np.isfinite(columns[name]) & np.isnan(other))):
            message = f"leg {leg} has a {kind} and no {partner}."
            mend = f"Fill in {partner} {leg}, or empty {name}: a leg needs both."
            rows.error(rows.rows[index][0], f"{partner} {leg}", message, mend)


def _cell(rows: SheetRows, name: str, index: int) -> str:
    place = rows.where[name]
    return f"{rows.rows[index][1][place.index].strip()} {place.unit}"
