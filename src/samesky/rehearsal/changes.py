"""What costs the most, and what would help? The same rehearsal in a world with one thing changed.

Each disturbance is switched off in the world and in what the comparison states; each gain is something that a pilot can
do about it. All act on a :class:`~samesky.rehearsal.scene.Scene`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from samesky.inference.comparison import NO_CLOCK_STEP
from samesky.instruments.airspeed_indicator import INDICATED
from samesky.instruments.sources import RESULT, ErrorSource
from samesky.measures.sensitivity import coefficient_sources
from samesky.rehearsal.scene import GUSTS, HANDLE, Scene, scene
from samesky.rehearsal.script import Script, rows_of, with_block, with_day
from samesky.simulator.sky import SkyModel

#: Readings from which the result itself is computed.
_RESULT_READINGS = (
    *("ground roll", "elapsed", "from", "to", "end altitude", "first ground speed", "second ground speed", "pull"),
    *("fuel flow", *(f"speed {k}" for k in range(1, 9))),
)
_AIR = ("oat", "pressure", "dew point")
#: What is left of something that is switched off: nothing to speak of, but its chances are still drawn, so that all
#: others fall as before and a difference between two worlds is no luck.
_OFF = 1e-9
_PILOT = ("lift_off", "climb", "climb_ends", "descent", "touch_down", "cruise")


@dataclass(frozen=True, slots=True)
class Change:
    """One thing changed: its name, what was done in words, and how."""

    name: str
    says: str
    apply: Callable[[Scene], Scene]


def _scaled(found: Scene, chosen: Callable[[ErrorSource], bool], factor: float) -> Scene:
    """Error sources in the world and in what is stated, made larger or smaller."""

    def turned(sources):
        return tuple(
            replace(one, standard_uncertainty=factor * one.standard_uncertainty) if chosen(one) else one
            for one in sources
        )

    campaign = replace(found.script.campaign, sources=turned(found.script.campaign.sources))
    scenario = replace(found.scenario, sources=turned(found.scenario.sources))
    return replace(found, script=replace(found.script, campaign=campaign), scenario=scenario)


def _faded(found: Scene, name: str, *parts: str) -> Scene:
    course = found.scenario.sky.courses[name]
    return _sky(found, name, **{part: _OFF * getattr(course, part) for part in parts})


def _sky(found: Scene, name: str, **parts: Any) -> Scene:
    courses = dict(found.scenario.sky.courses)
    courses[name] = replace(courses[name], **parts)
    return replace(found, scenario=replace(found.scenario, sky=SkyModel(courses)))


def _readings(*columns: str, scope: str | None = None) -> Callable[[ErrorSource], bool]:
    return lambda one: one.target in columns and one.name != GUSTS and (scope is None or one.scope == scope)


def _of(*columns: str, factor: float = _OFF) -> Callable[[Scene], Scene]:
    return lambda found: _scaled(found, _readings(*columns), factor)


def _of_result(*scopes: str) -> Callable[[ErrorSource], bool]:
    return lambda one: one.target == RESULT and one.scope in scopes


def _no_gusts(found: Scene) -> Scene:
    return _faded(_scaled(found, lambda one: one.name == GUSTS, _OFF), "gust", "level", "rate", "scatter")


def _unseen(found: Scene, *parts: str, handle: str | None = None) -> Scene:
    """What no reading shows of the measures (of one handle) faded."""
    unseen = {
        name: replace(own, **{part: _OFF * getattr(own, part) for part in parts})
        if handle in (None, own.handle)
        else own
        for name, own in found.scenario.unseen.items()
    }
    return replace(found, scenario=replace(found.scenario, unseen=unseen))


def _even_ground(found: Scene) -> Scene:
    return _unseen(_faded(found, "friction", "scatter"), "scatter", handle="friction")


def _no_moving_air(found: Scene) -> Scene:
    found = _unseen(_faded(found, "rising air", "scatter", "growth"), "scatter", "day", handle="rising air")
    return _scaled(_faded(found, "wind gradient", "scatter", "day"), _of_result("run", "day"), _OFF)


def _no_drift(found: Scene) -> Scene:
    return _scaled(_unseen(found, "slope", "walk"), _of_result("straight drift", "wandering"), _OFF)


def _no_rigging(found: Scene) -> Scene:
    return _scaled(_unseen(found, "fitting"), _of_result("installation"), _OFF)


def _no_doubt(found: Scene) -> Scene:
    sure = tuple(
        replace(one, standard_uncertainty=0.0)
        for table in found.script.tables.values()
        for one in coefficient_sources(table.measure)
    )
    campaign = replace(found.script.campaign, sources=found.script.campaign.sources + sure)
    return replace(found, script=replace(found.script, campaign=campaign))


def _rolls(found: Scene) -> bool:
    return any("headwind" in table.columns for table in found.script.tables.values())


def disturbances(found: Scene) -> list[Change]:
    """What can be switched off in this scene, one at a time."""
    handles = {HANDLE[name] for name in found.script.tables}
    aims = {column for table in found.script.tables.values() for column in table.columns} & set(INDICATED)
    listed = [
        (
            _rolls(found),
            Change("wind reading", "wind read without error", lambda s: _scaled(s, _readings("headwind"), 0)),
        ),
        (_rolls(found), Change("gusts", "no gusts", _no_gusts)),
        (
            bool(aims),
            Change("airspeed reading", "airspeed read without error", _of(*INDICATED)),
        ),
        (
            True,
            Change("tape, watch, dial", "the result itself read without error", _of(*_RESULT_READINGS)),
        ),
        (
            "friction" in handles,
            Change("unread scatter of the ground run", "every ground run alike", _even_ground),
        ),
        ("rising air" in handles, Change("rising and sinking air", "air that stands still", _no_moving_air)),
        (True, Change("drift", "no drift that readings miss", _no_drift)),
        (found.script.campaign.fitted_anew, Change("fitting error", "every fitting alike", _no_rigging)),
        (
            True,
            Change("thermometer and altimeter", "air read without error", _of(*_AIR)),
        ),
        (True, Change("weight", "weight known exactly", _of("weight"))),
        (True, Change("doubt of the corrections", "corrections known exactly", _no_doubt)),
    ]
    return [change for applies, change in listed if applies]


def gains(found: Scene) -> list[Change]:
    """What a pilot can do about it."""
    listed = [
        (True, Change("one more block", _block_words(found), _more(with_block))),
        (True, Change("one more day", "the last day again, configurations exchanged", _more(with_day))),
        (
            True,
            Change("every block twice as long", "twice the runs, no further swap", _more(twice_the_runs)),
        ),
        (
            _rolls(found),
            Change("a better wind reading", "half its error", _of("headwind", factor=0.5)),
        ),
        (True, Change("a tighter airspeed band", "half the scatter and the reading error", _tighter)),
        (_rolls(found), Change("a calm hour", "a quarter of the gusts and of the wind", _calm)),
    ]
    return [change for applies, change in listed if applies]


def _block_words(found: Scene) -> str:
    return "one more swap, one more block" if found.script.campaign.fitted_anew else "four more runs"


def _more(how: Callable[[Script], Script]) -> Callable[[Scene], Scene]:
    return lambda found: _longer(found, how)


def _longer(found: Scene, how: Callable[[Script], Script]) -> Scene:
    """The same world with more runs: everything of the sky and the pilot stays as it is."""
    longer = scene(how(found.script))
    pilot = found.scenario.pilot
    if pilot.lift_off is not None and np.ndim(pilot.lift_off):
        pilot = replace(pilot, lift_off=longer.scenario.pilot.lift_off)
    kept = ("effects", "aeroplane", "sky", "sources", "trim", "unseen")
    scenario = replace(longer.scenario, pilot=pilot, **{name: getattr(found.scenario, name) for name in kept})
    return replace(found, script=longer.script, scenario=scenario)


def twice_the_runs(found: Script) -> Script:
    """Every run flown twice, the second one between it and the next."""
    tables = {}
    for name, table in found.tables.items():
        double = rows_of(table, np.repeat(np.arange(len(table.rows)), 2))
        second = np.arange(len(double.rows)) % 2 == 1
        tables[name] = replace(double, hours=double.hours + np.where(second, 0.25 * NO_CLOCK_STEP, 0.0))
    return replace(found, tables=tables)


def _tighter(found: Scene) -> Scene:
    half = {f"{name}_scatter": 0.5 * getattr(found.scenario.pilot, f"{name}_scatter") for name in _PILOT}
    found = replace(found, scenario=replace(found.scenario, pilot=replace(found.scenario.pilot, **half)))
    return _scaled(found, _readings(*INDICATED, scope="run"), 0.5)


def _calm(found: Scene) -> Scene:
    found = _scaled(found, lambda one: one.name == GUSTS, 0.25)
    for name in ("headwind", "crosswind", "gust"):
        course = found.scenario.sky.courses[name]
        parts = ("level", "rate", "rate_scatter", "walk", "day", "scatter")
        found = _sky(found, name, **{part: 0.25 * getattr(course, part) for part in parts})
    return found
