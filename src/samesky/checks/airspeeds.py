"""Is the airspeed system known at the airspeeds that were flown?"""

from __future__ import annotations

import numpy as np

from samesky import units
from samesky.campaign.messages.findings import Finding
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.model.named_runs import named_runs
from samesky.checks import catalogue as say
from samesky.instruments.airspeed_indicator import INDICATED
from samesky.spellings import is_calibrated


def airspeed_findings(campaign: Campaign, table: RunTable) -> list[Finding]:
    """Counted runs outside the airspeeds at which the position error was found, a doubt a column."""
    system = campaign.airspeed_system
    found: list[Finding] = []
    if system is None:
        return found
    for name in INDICATED:
        values = table.columns.get(name)
        if values is None or is_calibrated(table.units.get(name)):
            continue
        where = np.flatnonzero(system.fit.outside(values) & table.included)
        named = named_runs(table, where)
        if named is None:
            continue
        ends = [units.from_si(end, table.units[name], "speed") for end in (values[where].min(), values[where].max())]
        shown = " to ".join(dict.fromkeys(f"{end:.0f}" for end in ends))
        found.append(
            Finding(
                "warning",
                table.file,
                say.AIRSPEED_EXTRAPOLATED(
                    named=named[0], name=name, shown=shown, unit=table.units[name], speed_range=system.speed_range()
                ),
                named[1],
                name,
            )
        )
    return found
