"""What does a comparison say to machines?"""

from __future__ import annotations

from collections.abc import Sequence

from samesky.campaign.derived.hard_limits import hard_limits
from samesky.campaign.model.campaign import Campaign
from samesky.inference.propellers.told import propellers
from samesky.inference.result import Comparison
from samesky.inference.together.told import excess_thrust
from samesky.report import missions
from samesky.report.choice.hard_limits import balance


def compared(campaign: Campaign, comparisons: Sequence[Comparison]) -> dict[str, object]:
    """Every measure, all of them together, propellers, which configuration for which flying, and hard limits."""
    pitched = propellers(campaign, comparisons)
    return {
        "measures": [one.to_json() for one in comparisons],
        "excess_thrust": [one.to_json() for one in excess_thrust(campaign, comparisons)],
        "propellers": None if pitched is None else pitched.to_json(),
        "flying": {
            "kinds": [one.to_json() for one in missions.answers(campaign, comparisons)],
            "over_the_year": missions.over_the_year(campaign, comparisons) or None,
        },
        "hard_limits": {
            "limits": [one.to_json() for one in hard_limits(campaign)],
            "balance": balance(campaign),
        },
    }
