"""Is a verdict due now, or would reading one be a look that nobody paid for?

Where ``[plan]`` fixes more than one look, the limits of each hold after the runs of the deciding measure that were
stated beforehand (``looks_after_runs``) and nowhere else. The rows tell how far the flying is. A run that was left out
or called off counts as flown, and no longer once another is flown in its place: look k is due while the count of look
k lies between the runs that count and the runs with these. Where the plan does not say after which runs, nothing in
the files can tell, and no verdict is told of itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from samesky.campaign.model.campaign import Campaign
from samesky.inference import explain, verdict
from samesky.inference.looks import Look
from samesky.inference.result import Comparison, Drift, Naive

#: What chance does to those who read on the way, and why no number is shown.
_WHY = "What they say is not told before: whoever reads it on the way finds differences that are not there."


@dataclass(frozen=True, slots=True)
class LookStatus:
    """How far the flying is among the planned looks.

    Attributes
    ----------
    measure : title of the deciding measure
    flown, counted : its runs, with and without those left out or called off
    after : runs after which the looks come; empty where the plan does not say
    planned, shape : how many looks, with which limits
    """

    measure: str
    flown: int
    counted: int
    after: tuple[int, ...]
    planned: int
    shape: str

    @property
    def look(self) -> Look | None:
        """The look that is due now, None between looks."""
        due = [k for k, runs in enumerate(self.after, start=1) if self.counted <= runs <= self.flown]
        return Look(due[-1], self.planned, self.shape) if due else None

    @property
    def upcoming(self) -> int | None:
        """Number of the next look, None beyond the last or where nobody knows."""
        return next((k for k, runs in enumerate(self.after, start=1) if runs > self.counted), None)

    @property
    def to_go(self) -> int | None:
        """Runs until the next look, None where there is none."""
        return None if self.upcoming is None else self.after[self.upcoming - 1] - self.counted

    def why_not(self) -> str:
        """Why no verdict is told now, for a pilot; empty at a planned look."""
        if self.look is not None:
            return ""
        missing = self.flown - self.counted
        out = f" ({_runs(missing)} left out)" if missing else ""
        said = f"{_runs(self.flown)} of the {self.measure} {'is' if self.flown == 1 else 'are'} flown{out}"
        if not self.after:
            return (
                f"No verdict: [plan] fixes {self.planned} looks, but not after which runs. {said}, and nothing in the "
                "files tells whether a look was planned here. Write in [plan] after which runs of it they come "
                "(looks_after_runs, as `samesky plan` lists it), or, at a planned look K, ask with --look K."
            )
        if self.upcoming is not None:
            return (
                f"No verdict between planned looks. {said}; look {self.upcoming} of {self.planned} comes after "
                f"{_runs(self.after[self.upcoming - 1])}: {self.to_go} to go. {_WHY}"
            )
        beyond = self.counted - self.after[-1]
        return (
            f"No verdict: {said}, {beyond} more than the last planned look has. A verdict now is a look that no limit "
            f"was fixed for; --look {self.planned} judges by the last one's, which holds only if nobody had seen a "
            "result when more was flown."
        )


def look_status(campaign: Campaign) -> LookStatus | None:
    """Where the flying stands among the looks that the campaign states; None where no more than one was planned.

    Parameters
    ----------
    campaign : the campaign
    """
    plan = campaign.plan
    if plan is None or plan.looks < 2:
        return None
    return among(campaign, plan.looks, plan.stopping, plan.looks_after)


def among(campaign: Campaign, planned: int, shape: str, after: tuple[int, ...]) -> LookStatus:
    """Where the flying stands among so many looks, which come after these runs of the deciding measure.

    Parameters
    ----------
    campaign : the campaign
    planned : number of looks planned
    shape : family of the limits
    after : runs after which each look is planned
    """
    name = next((key for key, asked in campaign.asked.items() if asked.primary), None)
    title = "deciding measure" if name is None else campaign.asked[name].measure.title
    table = None if name is None else campaign.tables.get(name)
    flown, counted = (0, 0) if table is None else (len(table.rows), int(table.included.sum()))
    off = sum(one.measure == name and bool(one.called_off) for one in campaign.unflown)
    return LookStatus(title, flown + off, counted, after, planned, shape)


def withheld(comparison: Comparison, why: str) -> Comparison:
    """The comparison without anything that tells its result: what was flown, and how it would be compared, stay.

    Parameters
    ----------
    comparison : the comparison
    why : why nothing is told yet
    """
    unknown, nothing = math.nan, (math.nan, math.nan)
    return replace(
        comparison,
        difference=unknown,
        percent=unknown,
        interval_95=nothing,
        interval_90=nothing,
        percent_95=nothing,
        standard_uncertainty=unknown,
        degrees_of_freedom=unknown,
        verdict=verdict.WITHHELD,
        assumption=comparison.design.assumption,
        warnings=(
            *explain.before_results(comparison),
            *(doubt.sentence() for doubt in comparison.reduction.doubts),
        ),
        settle="",
        levels=dict.fromkeys(comparison.levels, unknown),
        raw_difference=unknown,
        raw_percent=unknown,
        contributions=(),
        budget=(),
        naive=Naive(unknown, unknown, nothing, ""),
        drift=Drift(comparison.drift.unit, *[unknown] * 6),
        p=unknown,
        p_holm=unknown,
        exact_p=unknown,
        exact_test="",
        conditional="",
        unmet="",
        ranking="",
        hangs_on="",
        withheld=why,
    )


def _runs(count: int) -> str:
    return f"{count} run{'' if count == 1 else 's'}"
