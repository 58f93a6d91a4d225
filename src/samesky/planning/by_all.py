"""What would all measures together say of one of them, if the plan were flown so?

Campaigns are drawn measure by measure, as :mod:`samesky.planning.power` does, and go through the same line of excess
thrust, covariance and hidden drift as the comparison (:mod:`samesky.inference.together`). The difference of thrust is
taken to be alike at every airspeed (assumed): the line may then bend as far as is entered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from samesky.inference.budget import UncertaintyComponent
from samesky.inference.design import Design
from samesky.inference.estimate import Estimate
from samesky.inference.looks import Look
from samesky.inference.result import Scale
from samesky.inference.together.seen import Seen, in_one_air, refused, sight_of
from samesky.inference.together.told import estimate_by_all
from samesky.inference.together.witness import Witness, campaign_wide
from samesky.instruments.sources import ErrorSource
from samesky.planning.power import Chances, MeasurePower, values_drawn
from samesky.planning.question import Question, Wanted
from samesky.reduction.reduction import Reduction

#: What each error source does to each run (n,).
Effects = Sequence[tuple[ErrorSource, np.ndarray]]
#: What one measure brings: the measure, its design, its sources, the scatter of a run, and what its sources do.
Brought = tuple[Wanted, Design, tuple[UncertaintyComponent, ...], float, Effects]


def sights(question: Question, reductions: dict[str, Reduction]) -> dict[str, Seen]:
    """What every measure would see of the excess thrust, by name, at the readings that the plan expects.

    Parameters
    ----------
    question : the question
    reductions : of planned runs, by measure
    """
    pair = (question.campaign.baseline, question.other)
    if refused(question.campaign, *pair):
        return {}
    found = []
    for wanted in question.wanted:
        reduction = reductions[wanted.name]
        used = np.ones(len(reduction.table.rows), dtype=bool)
        scale = Scale(wanted.asked, float(np.mean(reduction.value)))
        sighted = sight_of(question.campaign, reduction, used, pair, scale, 0.0)
        if isinstance(sighted, Seen):
            found.append(sighted)
    return {one.measure: one for one in in_one_air(found)}


def power_by_all(
    own: MeasurePower,
    told: Wanted,
    seen: dict[str, Seen],
    brought: Sequence[Brought],
    margins: tuple[float, float],
    look: Look | None,
    campaigns: int,
) -> MeasurePower | None:
    """What one measure can be expected to answer by all of them; None where they do not tell it.

    Parameters
    ----------
    own : what its own runs can be expected to answer
    told : the measure
    seen : what each measure sees, by name
    brought : what each measure brings
    margins : differences that matter, down and up, on the scale of the comparison
    look : the last planned look, None for the end
    campaigns : how many are drawn
    """
    views = [one for one in (_heard(seen, each, n, campaigns) for n, each in enumerate(brought)) if one is not None]
    target = next((one for one in views if one.measure == told.name), None)
    if target is None:
        return None
    views.sort(key=lambda one: one.sight.airspeed)
    try:
        better = -own.smallest if told.asked.better == "smaller" else own.smallest
        there, alike = (_chances(views, target, size) for size in (better, 0.0))
    except ValueError:
        return None
    level, equal = (look.level, look.equivalence_level) if look else (0.95, 0.90)
    found, none = there.found(own.smallest, level), alike.none(margins, equal)
    standard = float(np.sqrt(np.mean(np.square(there.result.standard_uncertainty))))
    return replace(
        own,
        found=found,
        none=none,
        with_more_scatter=min(found, none),
        uncertainty=standard,
        degrees_of_freedom=float(np.median(there.result.degrees_of_freedom)),
        worst_drift=float(np.mean(there.result.worst_drift)),
        chances=there,
    )


def _heard(seen: dict[str, Seen], brought: Brought, stream: int, campaigns: int) -> Seen | None:
    """What the drawn campaigns of one measure say of no difference at all; None where it sees nothing."""
    wanted, design, parts, scatter, effects = brought
    one = seen.get(wanted.name)
    drawn = None if one is None else values_drawn(design, parts, scatter, campaigns, 1 + stream)
    if one is None or drawn is None or not np.all(np.isfinite(drawn[0].standard_uncertainty)):
        return None
    estimated, values = drawn
    runs = int((design.order.configuration == 0).sum())
    known = scatter / (runs**0.5 * (1.0 if wanted.asked.measure.ratio else abs(one.scale.level)))
    wide = campaign_wide(effects, estimated.weights)
    heard = Witness(wanted.asked.better, design, estimated, values, wide)
    return replace(one, witness=heard, level_known=known)


def _chances(views: Sequence[Seen], target: Seen, size: float) -> Chances:
    """What the campaigns come to on the scale of the comparison, the true difference of this size taken off."""
    force = target.force(size)
    moved = [_moved(one, float(one.on_scale(force))) for one in views]
    by_force = estimate_by_all(moved, next(one for one in moved if one.measure == target.measure))
    slope = float(target.slope(size))
    result: Estimate = replace(
        by_force,
        difference=(by_force.difference - force) / slope,
        standard_uncertainty=by_force.standard_uncertainty / abs(slope),
        worst_drift=by_force.worst_drift / abs(slope),
    )
    spread = np.sqrt(np.mean(np.square(result.standard_uncertainty)))
    return Chances(result, np.full(result.difference.shape, spread))


def _moved(one: Seen, by: float) -> Seen:
    heard = one.own
    estimated = replace(heard.estimate, difference=heard.estimate.difference + by)
    return replace(one, witness=replace(heard, estimate=estimated))
