"""What does the pilot write down of what truly happened?

Each reading is the truth plus the errors of its sources, each with its scope: a new error each run, or one that an
installation, a day or the whole campaign shares. A source on ``"result"`` falls on the measure's own result; a source
on a coefficient of a correction has nothing to fall on here, since the simulated physics does not use it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from samesky.instruments.sources import RESULT, ErrorSource


def read(
    rng: np.random.Generator,
    truth: Mapping[str, np.ndarray],
    sources: Iterable[ErrorSource],
    measure: str,
    result: str,
    installation: np.ndarray,
    day: np.ndarray,
    hours: np.ndarray,
    shared: dict[str, np.ndarray],
) -> dict[str, np.ndarray]:
    """Readings by column.

    Parameters
    ----------
    truth : true columns, each (campaigns, n), SI
    sources : error sources; those that do not apply to ``measure`` or have no column here are passed over
    result : the column that a source on the result disturbs
    installation, day : counters (n,) that name whose error a run shares; hours : (n,) [h]
    shared : errors already drawn for other measures by the name of their source; an installation's, a day's or a
        campaign's error is the same whatever is measured. Filled in here.
    """
    columns = dict(truth)
    for source in sources:
        column = result if source.target == RESULT else source.target
        if column not in columns or not source.applies_to(measure) or source.standard_uncertainty == 0:
            continue
        value = columns[column]
        error = source.standard_uncertainty * _unit_error(rng, source, value.shape[0], installation, day, hours, shared)
        columns[column] = value * (1 + error) if source.relative else value + error
    return columns


def _unit_error(rng, source, campaigns, installation, day, hours, shared) -> np.ndarray:
    """Errors of unit standard deviation (campaigns, n), or (campaigns, 1) where all runs share one."""
    if source.scope == "run":
        return rng.standard_normal((campaigns, len(hours)))
    if source.scope == "straight drift":
        return rng.standard_normal((campaigns, 1)) * (hours - hours.min())
    if source.scope == "wandering":
        order = np.argsort(hours, kind="stable")
        gaps = np.diff(hours[order], prepend=hours[order][0])
        walk = np.empty((campaigns, len(hours)))
        walk[:, order] = np.cumsum(rng.standard_normal((campaigns, len(hours))) * np.sqrt(gaps), axis=1)
        return walk
    groups = {"installation": installation, "day": day, "campaign": np.zeros(len(hours), dtype=int)}[source.scope]
    needed = int(groups.max()) + 1
    drawn = shared.get(source.name)
    if drawn is None or drawn.shape[1] < needed:
        fresh = rng.standard_normal((campaigns, needed - (0 if drawn is None else drawn.shape[1])))
        drawn = shared[source.name] = fresh if drawn is None else np.concatenate([drawn, fresh], axis=1)
    return drawn[:, :1] if source.scope == "campaign" else drawn[:, groups]
