"""Was a look planned here, and what does looking unplanned cost?

A verdict read after every block, with flying stopped at the first that pleases, finds differences that are not there:
with five looks at 95 % the chance is 14 %, not 5 % (P. Armitage, C. K. McPherson, B. C. Rowe, J. Royal Statistical
Society A 132 (1969) 235-244, Table 2). So between planned looks no result is told here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samesky.apron.blocks import flown_blocks
from samesky.campaign.model.campaign import Campaign
from samesky.inference.look_status import among
from samesky.inference.looks import SHAPES, Look, crossing_by_look, limits
from samesky.inference.uncertainty import t_quantile
from samesky.planning.plan import Plan


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the plan is flown.

    Attributes
    ----------
    flown : blocks of the plan that are complete (without a plan: all that were flown)
    planned : blocks of the plan, None without one
    begun : runs of the deciding measure in the block that is not complete, of how many; None where none is
    look : the planned look that is due now, None where none is; ``end`` whether it is the end of the plan
    next_look : after which block the next one is; None where there is none
    """

    flown: int
    planned: int | None
    begun: tuple[int, int] | None
    look: Look | None
    end: bool
    next_look: int | None

    @property
    def due(self) -> bool:
        """Whether a verdict was planned to be read here."""
        return self.end or self.look is not None


def progress(campaign: Campaign, measure: str, plan: Plan | None) -> Progress:
    """How far a plan is flown, judged by the runs of the deciding measure that were flown, left-out ones with them."""
    blocks = flown_blocks(campaign)
    if plan is None:
        return Progress(len(blocks), None, None, None, False, None)
    each = [sum(run.measure == measure for run in block.runs) for block in plan.schedule.blocks]
    done, begun = _complete(campaign, blocks, measure, each)
    total = len(each)
    if not plan.looks:
        at_end = done == total and begun is None
        return Progress(done, total, begun, None, at_end, total if done < total else None)
    runs = tuple(one.after_run for one in plan.looks)
    stand = among(campaign, len(runs), plan.question.request.stopping, runs)
    look = stand.look
    later = None if stand.upcoming is None else plan.looks[stand.upcoming - 1].after_block
    return Progress(done, total, begun, look, look is not None and look.number == look.planned, later)


def _complete(campaign: Campaign, blocks, measure: str, each: list[int]) -> tuple[int, tuple[int, int] | None]:
    """Complete blocks of the plan, and (flown, planned) runs of the one begun."""
    if campaign.fitted_anew:
        flown = [sum(table.measure.name == measure for table, _ in block.runs) for block in blocks]
        if not flown:
            return 0, None
        wanted = each[min(len(flown), len(each)) - 1]
        if flown[-1] < wanted:
            return len(flown) - 1, (flown[-1], wanted)
        return len(flown), None
    table = campaign.tables.get(measure)
    count = 0 if table is None else len(table.rows)
    ends = np.cumsum(each)
    done = int(np.searchsorted(ends, count, side="right"))
    rest = count - (int(ends[done - 1]) if done else 0)
    if done == len(each):
        return done + (rest > 0), None
    return done, ((rest, each[done]) if rest else None)


def false_alarm(looks: int) -> float:
    """Chance of claiming a difference that is not there when 95 % is asked for at each of some equally spaced looks."""
    return float(crossing_by_look(np.full(looks, float(t_quantile(0.975, np.inf)))).sum())


def false_alarm_beyond(planned: int, shape: str, more: int = 1) -> float:
    """The same where looks beyond the ``planned`` ones are added at 95 %; the planned ones at their own limits."""
    first = limits(planned, 0.05, SHAPES[shape])
    return float(crossing_by_look(np.concatenate([first, np.full(more, float(t_quantile(0.975, np.inf)))])).sum())
