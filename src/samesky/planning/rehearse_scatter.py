"""How much do runs scatter in the rehearsal? As much as earlier flights documented, where they did."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from samesky import units
from samesky.planning.rehearse_flight import brought_together, written
from samesky.planning.rehearse_scene import HANDLE, Scene, responses
from samesky.simulator.scenario import Fitting
from samesky.simulator.sky import SkyModel

#: Campaigns by which the scatter is found, and their seed.
_CAMPAIGNS, _SEED = 200, 20_260_102


def scatter_of_runs(scene: Scene) -> dict[str, float]:
    """Standard deviation of one run about its campaign, on the scale of the comparison, with drift and rigging off."""
    courses = dict(scene.scenario.sky.courses)
    for name in set(HANDLE.values()):
        courses[name] = replace(courses[name], rate_scatter=0.0, walk=0.0)
    quiet = replace(scene, scenario=replace(scene.scenario, sky=SkyModel(courses), fitting=Fitting()))
    found = {}
    for name, columns in written(quiet, _CAMPAIGNS, np.random.default_rng(_SEED)).items():
        measure = scene.script.tables[name].measure
        y = measure.to_scale(brought_together(quiet, scene.script.tables[name], columns)[2][-1].value)
        # What the sky does to a given run in all campaigns alike is no scatter.
        y = y - y.mean(axis=0)
        about = np.square(y - y.mean(axis=-1, keepdims=True)).sum(axis=-1)
        found[name] = float(np.sqrt(about.mean() / (y.shape[1] - 1)))
    return found


def as_documented(scene: Scene) -> Scene:
    """The scene whose runs scatter as documented, primary measure first; unread scatter of the ground run, the air or
    the engine makes up what readings and pilot leave. A documented scatter that these exceed is not met, and noted."""
    notes = list(scene.notes)
    settled: set[str] = set()
    for name in scene.script.tables:
        wanted = (scene.script.documented or {}).get(name)
        handle = HANDLE[name]
        if wanted is None or handle in settled:
            continue
        settled.add(handle)
        measure = scene.script.tables[name].measure
        answer = abs(responses(scene.scenario, measure, scene.skies[name])[handle])
        scene = _with_scatter(scene, handle, 0.0)
        rest = scatter_of_runs(scene)[name]
        if rest > 1.05 * wanted:
            shown, least = (_shown(scene, name, size) for size in (wanted, rest))
            notes.append(
                f"{measure.title}: {shown} is documented, but the stated readings, gusts and pilot alone scatter by "
                f"{least}; that is what was rehearsed."
            )
        scene = _with_scatter(scene, handle, np.sqrt(max(wanted**2 - rest**2, 0.0)) / answer)
    return replace(scene, notes=tuple(notes))


def _with_scatter(scene: Scene, handle: str, size: float) -> Scene:
    courses = dict(scene.scenario.sky.courses)
    courses[handle] = replace(courses[handle], scatter=float(size), growth=0.0)
    return replace(scene, scenario=replace(scene.scenario, sky=SkyModel(courses)))


def _shown(scene: Scene, name: str, size: float) -> str:
    measure = scene.script.tables[name].measure
    if measure.ratio:
        return f"{100.0 * size:.1f} %"
    unit = scene.script.campaign.asked[name].unit
    return f"{float(units.from_si(size, unit, measure.dimension)):.2g} {unit}"
