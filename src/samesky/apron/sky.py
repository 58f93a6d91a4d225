"""Which common sky will a measure's runs be brought to, as far as that is known while standing on the apron?"""

from __future__ import annotations

from samesky.campaign.derived.prepare import prepare
from samesky.campaign.model.campaign import Campaign
from samesky.planning.plan import Plan
from samesky.reduction.reduction import common_sky


def sky_of(campaign: Campaign, measure: str, plan: Plan | None = None) -> dict[str, float]:
    """The common sky [SI] of a measure, by condition.

    The campaign's reference, else the mean of the runs that count (as the reduction takes it); where nothing is flown
    yet, what the plan expects. Empty where nobody knows.
    """
    table = campaign.tables.get(measure)
    if table is not None and table.included.any():
        return common_sky(campaign, table, prepare(campaign, table))
    if plan is not None and measure in plan.trials:
        return {name: float(value) for name, value in plan.trials[measure].reduction.sky.items()}
    known = campaign.asked[measure].measure.conditions
    return {name: value for name, value in campaign.reference.items() if name in known}
