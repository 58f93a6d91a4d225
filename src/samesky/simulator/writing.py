"""How does a simulated campaign come to look as a pilot writes it?

Readings in the pilot's own units, rounded as dials and tapes are read, clock times, fuel in litres, altimeter
setting, reasons for leaving runs out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

import numpy as np

from samesky import units
from samesky.air import altimetry
from samesky.campaign.settings.conditions import conditions
from samesky.measures import MEASURES
from samesky.simulator.campaign_sim import simulate
from samesky.simulator.scenario import Scenario
from samesky.simulator.schedule import RunPlan

#: Header cells, and rows of cells.
Table = tuple[Sequence[str], Sequence[Sequence[object]]]


@dataclass(frozen=True, slots=True)
class Written:
    """How one column is written: its unit, and the step to which it is read."""

    unit: str
    step: float


@dataclass(frozen=True, slots=True)
class Remark:
    """What a pilot notes of one run; ``exclude`` is the reason for leaving it out, ``factors`` what went wrong with
    it, ``throttled`` that the engine was held back for its limit.
    """

    notes: str = ""
    exclude: str = ""
    factors: Mapping[str, float] = field(default_factory=dict)
    throttled: bool = False


@dataclass(frozen=True, slots=True)
class Hand:
    """How a pilot keeps the files: columns by name in written order, elevation of the strip [m], first day, fuel
    [kg/L].
    """

    columns: Mapping[str, Written]
    elevation: float
    first_day: date
    fuel_density: float


def campaign_tables(
    scenario: Scenario,
    hand: Hand,
    rng: np.random.Generator,
    remarks: Mapping[tuple[str, int], Remark] | None = None,
    with_installation: bool = False,
) -> dict[str, Table]:
    """Fly one campaign of the scenario; header and rows of every measure's file.

    ``remarks`` by measure and index of the run in its plan. Together with a ``campaign.toml`` the tables go to
    :func:`samesky.campaign.tables.write.write_campaign`.
    """
    flown = simulate(scenario, 1, rng)
    tables = {}
    for measure, plan in scenario.schedule.items():
        readings = {name: values[0] for name, values in flown.columns[measure].items()}
        own = {index: remark for (name, index), remark in (remarks or {}).items() if name == measure}
        tables[measure] = table(measure, plan, readings, hand, own, with_installation)
    return tables


def table(
    measure: str,
    plan: RunPlan,
    readings: Mapping[str, np.ndarray],
    hand: Hand,
    remarks: Mapping[int, Remark],
    with_installation: bool,
) -> Table:
    """Header and rows of a measure's file, from its plan and its readings (n,) [SI], in flown order."""
    written = {name: how for name, how in hand.columns.items() if name in ("fuel", "qnh") or name in readings}
    if "pressure" not in readings or "from" in readings or "altitude" in readings:
        written.pop("qnh", None)
    header = ["run", "date", "clock", "configuration", *(["installation"] if with_installation else [])]
    held_back = any(remark.throttled for remark in remarks.values())
    header += [f"{name} [{how.unit}]" for name, how in written.items()]
    header += [*(["throttled"] if held_back else []), "exclude", "notes"]
    rows = []
    for number, index in enumerate(np.argsort(plan.hours, kind="stable"), start=1):
        remark = remarks.get(int(index), Remark())
        minute = round(float(plan.hours[index]) * 60)
        day = hand.first_day + timedelta(days=minute // 1440)
        clock = f"{minute % 1440 // 60:02d}:{minute % 60:02d}"
        row: list[object] = [number, day.isoformat(), clock, str(plan.configuration[index])]
        row += [int(plan.installation[index]) + 1] if with_installation else []
        for name, how in written.items():
            value = _value(measure, name, how, plan, readings, hand, index) * remark.factors.get(name, 1.0)
            row.append(_rounded(value, how.step))
        row += ["yes" if remark.throttled else ""] if held_back else []
        rows.append([*row, remark.exclude, remark.notes])
    return header, rows


def _value(measure, name, how, plan, readings, hand, index) -> float:
    if name == "fuel":
        return float(plan.fuel[index]) / hand.fuel_density
    if name == "qnh":
        return float(units.from_si(altimetry.qnh(readings["pressure"][index], hand.elevation), how.unit, "pressure"))
    return float(units.from_si(readings[name][index], how.unit, conditions([MEASURES[measure]])[name].dimension))


def _rounded(value: float, step: float) -> str:
    """The value at the nearest step, with as many decimals as the step has."""
    decimals = max(0, -int(Decimal(str(step)).normalize().as_tuple().exponent))
    return f"{round(value / step) * step + 0.0:.{decimals}f}"
