"""What does the pilot write down of what truly happened?

Each reading is the truth plus the errors of its sources, each with its scope: a new error each run, or one that an
installation, a day or the whole campaign shares. Sources on ``"result"`` (moving air, rigging, unseen drift) and on the
coefficients of corrections fall on nothing here: the sky, the fitting and the physics are simulated as such.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from samesky.instruments.sources import ErrorSource
from samesky.measures import default_sources

#: Columns that the pilot makes an instrument show: the error is in what was flown, not in what is written down.
HELD = (
    "from",
    "to",
    "altitude",
    "first ground speed",
    "second ground speed",
    "first airspeed",
    "second airspeed",
)


def shipped_readings() -> tuple[ErrorSource, ...]:
    """The error sources that the package ships, of everything that is read."""
    return tuple(source for source in default_sources() if source.target != "result")


def checked_readings(share: float = 0.2) -> tuple[ErrorSource, ...]:
    """The shipped sources for instruments that were checked lately: campaign-wide errors at ``share`` of the
    shipped.
    """
    return tuple(
        replace(source, standard_uncertainty=share * source.standard_uncertainty)
        if source.scope == "campaign"
        else source
        for source in shipped_readings()
    )


def read(
    rng: np.random.Generator,
    truth: Mapping[str, np.ndarray],
    sources: Iterable[ErrorSource],
    measure: str,
    installation: np.ndarray,
    day: np.ndarray,
    shared: dict[str, np.ndarray],
) -> dict[str, np.ndarray]:
    """Readings by column.

    Parameters
    ----------
    truth : true columns, each (campaigns, n), SI
    sources : error sources; those that do not apply to ``measure`` or whose target is no column here are passed over
    installation, day : counters (n,) that name whose error a run shares
    shared : errors already drawn by the name of their source: an installation's, a day's or a campaign's error is the
        same whatever is measured. Filled in here.
    """
    columns = dict(truth)
    for source in sources:
        if source.target not in columns or not source.applies_to(measure) or source.standard_uncertainty == 0:
            continue
        value = columns[source.target]
        error = source.standard_uncertainty * _unit_error(rng, source, value.shape, installation, day, shared)
        columns[source.target] = value + error * (value - source.about) if source.relative else value + error
    return columns


def _unit_error(rng, source, shape, installation, day, shared) -> np.ndarray:
    """Errors of unit standard deviation (campaigns, n), or (campaigns, 1) where all runs share one."""
    if source.scope == "run":
        return rng.standard_normal(shape)
    groups = {"installation": installation, "day": day}.get(source.scope, np.zeros(1, dtype=int))
    needed = int(groups.max()) + 1
    drawn = shared.get(source.name, np.empty((shape[0], 0)))
    if drawn.shape[1] < needed:
        fresh = rng.standard_normal((shape[0], needed - drawn.shape[1]))
        drawn = shared[source.name] = np.concatenate([drawn, fresh], axis=1)
    return drawn[:, groups]
