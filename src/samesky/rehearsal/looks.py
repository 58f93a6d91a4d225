"""After which runs is a rehearsed campaign judged, and by which limits? At the planned looks, as it will be flown.

Where ``[plan]`` fixes several looks, no verdict is told between them (:mod:`samesky.inference.look_status`), each has
its own limits (:mod:`samesky.inference.looks`), and the flying ends at the first that decides.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from samesky.inference.looks import Look
from samesky.rehearsal.script import Script


@dataclass(frozen=True, slots=True, eq=False)
class Stage:
    """A moment at which the campaign is judged: its ``look`` (None: only the end is looked at), and by measure the
    ``rows`` (k,) flown by then.
    """

    look: Look | None
    rows: Mapping[str, np.ndarray]


def stages(script: Script) -> tuple[Stage, ...]:
    """The moments at which a script is judged, the last one last.

    A look that the runs do not reach, or at which one configuration is still to come, decides nothing and is left out.
    Where none remains, the whole is judged once, by the limits of the last look.
    """
    whole = {name: np.arange(len(table.rows)) for name, table in script.tables.items()}
    request = script.campaign.plan
    if request is None or request.looks < 2:
        return (Stage(None, whole),)
    deciding = script.tables[script.primary]
    found = []
    for number, share in enumerate(script.looks_at, start=1):
        after = round(share * len(deciding.rows))
        rows = flown_by(script, min(after, len(deciding.rows)))
        reached = after <= len(deciding.rows)
        if reached and np.unique(deciding.configuration[rows[script.primary]]).size == 2:
            found.append(Stage(Look(number, request.looks, request.stopping), rows))
    if not found:
        return (Stage(Look(request.looks, request.looks, request.stopping), whole),)
    # Nothing calls off the other measures at the last one.
    last = Stage(found[-1].look, {**whole, script.primary: found[-1].rows[script.primary]})
    return (*found[:-1], last)


def flown_by(script: Script, after: int) -> dict[str, np.ndarray]:
    """Rows by measure that are flown once ``after`` runs of the deciding one are; none of the next block."""
    deciding = script.tables[script.primary]
    sequence = np.argsort(deciding.hours, kind="stable")
    first, rest = sequence[:after], sequence[after:]
    until = deciding.hours[rest[0]] if rest.size else np.inf
    newest = deciding.installation[first].max(initial=0) if rest.size else np.inf
    found = {}
    for name, table in script.tables.items():
        seen = table.hours < until
        if script.campaign.fitted_anew:
            seen &= table.installation <= newest
        found[name] = np.flatnonzero(seen)
    return {**found, script.primary: np.sort(first)}
