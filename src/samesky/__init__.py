"""Same Sky: fair comparison of two configurations of one light aeroplane, from a few noisy runs.

The work in its order: :func:`read` a folder, :func:`check` it, :func:`reduce` its runs to the same sky, :func:`compare`
the configurations, :func:`write_report`; before flying :func:`plan` and :func:`rehearse`. Each takes the folder, or the
campaign that was read from it. Everything is loaded when it is first asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from samesky.campaign.messages.errors import CampaignError
    from samesky.campaign.messages.findings import Finding
    from samesky.campaign.model.campaign import Campaign, RunTable
    from samesky.campaign.reading.read import read
    from samesky.inference.result import Comparison
    from samesky.planning.plan import Plan
    from samesky.public import check, compare, plan, reduce, rehearse, write_report
    from samesky.reduction.reduction import Reduction
    from samesky.rehearsal.rehearse import Rehearsal
    from samesky.simulator.examples.catalogue import write_example

__version__ = "0.1.0"

__all__ = [
    "Campaign",
    "CampaignError",
    "Comparison",
    "Finding",
    "Plan",
    "Reduction",
    "Rehearsal",
    "RunTable",
    "__version__",
    "check",
    "compare",
    "plan",
    "read",
    "reduce",
    "rehearse",
    "write_example",
    "write_report",
]

#: Where each public name lives.
_WHERE = {
    "Campaign": "samesky.campaign.model.campaign",
    "CampaignError": "samesky.campaign.messages.errors",
    "Comparison": "samesky.inference.result",
    "Finding": "samesky.campaign.messages.findings",
    "Plan": "samesky.planning.plan",
    "Reduction": "samesky.reduction.reduction",
    "Rehearsal": "samesky.rehearsal.rehearse",
    "RunTable": "samesky.campaign.model.campaign",
    "check": "samesky.public",
    "compare": "samesky.public",
    "plan": "samesky.public",
    "read": "samesky.campaign.reading.read",
    "reduce": "samesky.public",
    "rehearse": "samesky.public",
    "write_example": "samesky.simulator.examples.catalogue",
    "write_report": "samesky.public",
}


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found = globals()[name] = getattr(import_module(_WHERE[name]), name)
    return found


def __dir__() -> list[str]:
    return sorted(set(globals()) | set(__all__))
