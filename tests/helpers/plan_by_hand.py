"""A plan whose order and runs are given, so that what is said of it can be held without a search."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from types import SimpleNamespace

import saturday

from samesky.campaign.reading.read import read
from samesky.planning import orders
from samesky.planning import plan as planning
from samesky.planning.plan import Plan
from samesky.planning.question import Question, question
from samesky.planning.schedule import laid_out
from samesky.planning.search import last_look
from samesky.planning.trial import Bench

#: Two days of three blocks, A B A and B A B.
ORDER = (tuple("ABA"), tuple("BAB"))
RUNS = {"static_pull": 1, "takeoff_roll": 2, "timed_climb": 1}


def asked(folder: Path, *changes: tuple[str, str]) -> Question:
    """The question of the Saturday campaign with pieces of its text exchanged."""
    return question(read(saturday.write(folder, *changes), flown=False))


def by_hand(
    wanted: Question, order: Sequence[Sequence[str]] = ORDER, runs: Mapping[str, int] | None = None, **more
) -> Plan:
    """The plan of this order and these runs a block; ``more`` goes to ``laid_out``."""
    runs = runs or RUNS
    schedule, why = laid_out(wanted, order, runs, **more)
    assert schedule is not None, why
    bench, chosen = Bench(wanted), SimpleNamespace(schedule=schedule)
    trials = {one.name: bench.exact(schedule, one, last_look(wanted)) for one in wanted.wanted}
    return Plan(
        question=wanted,
        order=tuple(tuple(day) for day in order),
        runs_a_block=runs,
        schedule=schedule,
        powers={name: trial.power for name, trial in trials.items()},
        trials=trials,
        limits=planning._limits(wanted, trials),
        drift=orders.left_by_drift(trials[wanted.primary.name].design),
        looks=planning._looks(wanted, chosen, bench),
        alternatives=(),
        notes=planning._notes(wanted, chosen, trials),
    )
