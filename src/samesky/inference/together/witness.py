"""What one measure says of a difference, as all measures together hear it: of one campaign, or of many at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from samesky.inference.design import Design
from samesky.inference.estimate import Estimate
from samesky.instruments.sources import ErrorSource

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers
    from samesky.inference.result import Comparison

    #: Effect on a difference of each error of the whole campaign, by source and by what it disturbs.
    Wide = Mapping[tuple[str, str], Numbers]


@dataclass(frozen=True, slots=True, eq=False)
class Witness:
    """One measure as compared; arrays have the leading shape of the campaigns, () for one.

    Attributes
    ----------
    better : ``"smaller"`` or ``"larger"``
    design : the comparison that the flown order supports
    estimate : of the difference
    values : of the runs, on the scale of the comparison, (..., n)
    wide : what each error of the whole campaign does to the difference, by its source and target, (...)
    """

    better: str
    design: Design
    estimate: Estimate
    values: Floats
    wide: Wide


def witness(comparison: Comparison) -> Witness:
    """What a comparison says.

    Parameters
    ----------
    comparison : the comparison
    """
    reduction, used = comparison.reduction, comparison.used
    effects = [(source, np.broadcast_to(size, used.shape)[used]) for source, size in reduction.contributions]
    return Witness(
        comparison.better,
        comparison.design,
        comparison.estimate,
        reduction.table.measure.to_scale(reduction.value[used]),
        campaign_wide(effects, comparison.weights),
    )


def campaign_wide(effects: Iterable[tuple[ErrorSource, Floats]], weights: Floats) -> Wide:
    """What each error of the whole campaign does to a difference with these weights.

    Parameters
    ----------
    effects : of each source on every run, (..., n)
    weights : of the runs, (..., n)
    """
    own: dict[tuple[str, str], Numbers] = {}
    for source, size in effects:
        if source.scope == "campaign":
            key = (source.name, source.target)
            own[key] = own.get(key, 0.0) + (np.asarray(weights) * size).sum(axis=-1)
    return own
