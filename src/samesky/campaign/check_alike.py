"""Were both configurations flown in the same conditions, or does a condition go with the configuration?

A correction is an estimate. Where every run of one side had more wind, more weight or warmer air than every run of the
other, the correction alone stands between the condition and the answer.
"""

from __future__ import annotations

import numpy as np

from samesky import units
from samesky.campaign.conditions import conditions
from samesky.campaign.findings import Finding
from samesky.campaign.model import Campaign, RunTable
from samesky.campaign.words import listed
from samesky.measures.shape import Runs

#: Fewest runs a side before "every run of the one above every run of the other" means anything: by chance alone three
#: a side do so once in ten times, four once in thirty-five.
FEWEST = 4
#: Conditions that are looked at, with the unit in which they are shown. Airspeeds are looked at elsewhere.
LOOKED_AT = {"weight": "kg", "headwind": "kt", "oat": "degC"}
#: Differences of the means [SI] below which a condition is alike whatever its order (assumed): 3 kg, half a knot, 2 K.
SMALL = {"weight": 3.0, "headwind": 0.26, "oat": 2.0}


def alike_findings(campaign: Campaign, table: RunTable, runs: Runs) -> list[Finding]:
    """One warning for each configuration whose (prepared) runs all lay on one side of the baseline in a condition."""
    found = []
    for key in campaign.configurations:
        apart = []
        for name, unit in LOOKED_AT.items():
            if key == campaign.baseline or name not in runs or name not in table.measure.conditions:
                continue
            first, other = (_counted(table, runs[name], side) for side in (campaign.baseline, key))
            if name == "weight":
                # What the part itself weighs is the change, not a condition of the day.
                other = other - (campaign.configurations[key].mass - campaign.configurations[campaign.baseline].mass)
            if min(first.size, other.size) < FEWEST or abs(other.mean() - first.mean()) < SMALL[name]:
                continue
            if other.min() > first.max() or other.max() < first.min():
                dimension = conditions([table.measure])[name].dimension
                means = [units.show(float(side.mean()), unit, dimension) for side in (first, other)]
                apart.append(f"{name} ({means[0]} against {means[1]})")
        if apart:
            message = (
                f"every run of {key} lay on one side of every run of {campaign.baseline} in {listed(apart)}: only the "
                "correction tells that from the configuration."
            )
            mend = "Match it next time: the same fuel or ballast at the start of each block, and a return to the first."
            found.append(Finding("warning", table.file, message, mend))
    return found


def _counted(table: RunTable, values: np.ndarray, key: str) -> np.ndarray:
    side = values[table.included & (table.configuration == key)]
    return side[np.isfinite(side)]
