"""How much do runs scatter in the rehearsal? As much as earlier flights documented, where they did."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from samesky import units
from samesky.inference.comparison import flown_order
from samesky.inference.design import recognise
from samesky.inference.linear import complement
from samesky.rehearsal.flight import brought_together, written
from samesky.rehearsal.scene import HANDLE, Scene, responses
from samesky.simulator.sky import SkyModel

#: Campaigns by which the scatter is found, and their seed.
_CAMPAIGNS, _SEED = 200, 20_260_102
#: Steps by which runs are steadied: scatter is nearly in proportion to what makes it.
_STEPS = 3


def scatter_of_runs(scene: Scene) -> dict[str, float]:
    """Standard deviation of one run as the runs of one block show it, on the scale of the comparison, drift and rigging
    off; where a block is one run, about what the order explains.
    """
    still = {
        name: replace(own, slope=0.0, walk=0.0, day=0.0, fitting=0.0) for name, own in scene.scenario.unseen.items()
    }
    quiet = replace(scene, scenario=replace(scene.scenario, unseen=still))
    script, found = scene.script, {}
    for name, columns in written(quiet, _CAMPAIGNS, np.random.default_rng(_SEED)).items():
        table = script.tables[name]
        y = table.measure.to_scale(brought_together(quiet, table, columns)[2][-1].value)
        design = recognise(flown_order(script.campaign, table, np.ones(len(table.rows), dtype=bool), script.other))
        rows = design.within if design.within is not None and len(design.within) else design.residual
        if not len(rows):
            rows = complement(np.ones((y.shape[1], 1)))
        # What the sky does to a given run in all campaigns alike is no scatter.
        found[name] = float(np.sqrt(np.square((y - y.mean(axis=0)) @ rows.T).mean()))
    return found


def as_documented(scene: Scene) -> Scene:
    """The scene whose runs scatter as documented.

    Unread scatter of the ground run, the air or the engine makes up what readings and pilot leave; where these alone
    scatter more than documented, the pilot flies and reads steadier than stated, and that is noted.
    """
    documented = {name: size for name, size in (scene.script.documented or {}).items() if size > 0}
    if not documented:
        return scene
    scene = _still(scene, {HANDLE[name] for name in documented})
    scene = _with(scene, "scatter", dict.fromkeys(documented, 0.0))
    alone = rest = scatter_of_runs(scene)
    restless = [name for name, size in documented.items() if alone[name] > size]
    for _ in range(_STEPS if restless else 0):
        own = scene.scenario.unseen
        steadier = {name: own[name].steadiness * documented[name] / rest[name] for name in restless}
        scene = _with(scene, "steadiness", steadier)
        rest = scatter_of_runs(scene)
    missing = {}
    for name, size in documented.items():
        measure = scene.script.tables[name].measure
        answer = abs(responses(scene.scenario, measure, scene.skies[name])[HANDLE[name]])
        missing[name] = float(np.sqrt(max(size**2 - rest[name] ** 2, 0.0)) / answer)
    notes = [_note(scene, name, documented[name], alone[name], rest[name]) for name in restless]
    return replace(_with(scene, "scatter", missing), notes=(*scene.notes, *filter(None, notes)))


def _note(scene: Scene, name: str, documented: float, alone: float, flown: float) -> str:
    """What a pilot is told of a scatter below what the entered readings make; empty where it is hardly below."""
    if alone <= 1.05 * documented:
        return ""
    title = scene.script.tables[name].measure.title
    said, makes, reached = (_shown(scene, name, size) for size in (documented, alone, flown))
    if flown > 1.05 * documented:
        return f"{title}: runs are to scatter by {said}, but the air alone makes {reached}; that is what was rehearsed."
    return (
        f"{title}: runs are to scatter by {said}, but the entered reading errors, the gusts and a usual pilot make "
        f"{makes}. Rehearsed is {said}, with steadier hands and readings than entered; the interval is judged by "
        "the reading errors as entered."
    )


def _still(scene: Scene, handles: set[str]) -> Scene:
    courses = dict(scene.scenario.sky.courses)
    courses |= {name: replace(courses[name], scatter=0.0, growth=0.0) for name in handles}
    return replace(scene, scenario=replace(scene.scenario, sky=SkyModel(courses)))


def _with(scene: Scene, part: str, sizes: dict[str, float]) -> Scene:
    unseen: dict[str, Any] = dict(scene.scenario.unseen)
    unseen |= {name: replace(unseen[name], **{part: size}) for name, size in sizes.items()}
    return replace(scene, scenario=replace(scene.scenario, unseen=unseen))


def _shown(scene: Scene, name: str, size: float) -> str:
    measure = scene.script.tables[name].measure
    if measure.ratio:
        return f"{100.0 * size:.1f} %"
    unit = scene.script.campaign.asked[name].unit
    return f"{float(units.from_si(size, unit, measure.dimension)):.2g} {unit}"
