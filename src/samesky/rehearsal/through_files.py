"""Do the files say the same? Some rehearsed campaigns written as a pilot would, read back, checked and compared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from samesky import units
from samesky.campaign.messages.errors import cannot
from samesky.campaign.model.campaign import RunTable
from samesky.campaign.reading.read import read_texts
from samesky.campaign.tables.write import Table, campaign_files
from samesky.checks.check import check
from samesky.inference import verdict
from samesky.inference.comparison import compare
from samesky.measures.columns import COMMON
from samesky.rehearsal import catalogue as say
from samesky.rehearsal.flight import Ready, judged, written
from samesky.rehearsal.scene import Scene

#: Day on which a rehearsed campaign begins where no date is planned.
_FIRST_DAY = date(2026, 5, 9)
#: To which step people read, by dimension: (unit, step).
_READ_TO = {
    "temperature": ("degC", 0.5),
    "pressure": ("hPa", 1.0),
    "speed": ("kt", 1.0),
    "length": ("ft", 1.0),
    "time": ("s", 0.1),
    "mass": ("kg", 0.5),
    "force": ("kgf", 0.5),
    "angle": ("deg", 1.0),
    "rotational speed": ("rpm", 10.0),
    "fraction": ("1", 0.001),
    "volume flow": ("L/h", 0.1),
}


@dataclass(frozen=True, slots=True)
class Both:
    """One campaign and measure both ways, on the scale of the comparison: difference, half width and verdict code in
    memory and through files; ``errors`` that checking the files found.
    """

    measure: str
    in_memory: tuple[float, float, int]
    through_files: tuple[float, float, int]
    errors: tuple[str, ...]

    @property
    def agree(self) -> bool:
        """Whether both ways give the same verdict."""
        return self.in_memory[2] == self.through_files[2] and not self.errors


def through_files(
    scene: Scene, prepared: Mapping[str, Ready], campaigns: int, seed: int, as_read: bool = True
) -> list[Both]:
    """``campaigns`` campaigns both ways, flown to the last look.

    ``as_read`` rounds to the steps of dials and tapes; else nothing is rounded.

    Raises CampaignError where the campaign was not read from a ``campaign.toml``, with which the files are read.
    """
    campaign = scene.script.campaign
    if not campaign.toml:
        raise cannot("campaign", say.REHEARSAL_NO_SETTINGS())
    system = campaign.airspeed_system
    others = {} if system is None else {system.file: campaign.must_be_text(system.file)}
    look = prepared[scene.script.primary].look
    found = []
    for one in np.random.SeedSequence(seed).spawn(campaigns):
        columns = written(scene, 1, np.random.default_rng(one))
        if as_read:
            columns = {name: rounded(scene.script.tables[name], values) for name, values in columns.items()}
        tables = {
            name: file_of(scene, prepared[name].table, prepared[name].flown(values)) for name, values in columns.items()
        }
        flown = read_texts(campaign_files(campaign.toml, tables, others))
        errors = tuple(one.sentence() for one in check(flown) if one.kind == "error")
        compared = {} if errors else {one.measure: one for one in compare(flown, look)}
        for name, values in columns.items():
            estimate, code = judged(scene, name, prepared[name], values)
            memory = (*_both_numbers(estimate), int(code[0]))
            files = (np.nan, np.nan, -1)
            if name in compared:
                result = compared[name]
                files = (*_both_numbers(result.estimate), _code(result))
            found.append(Both(name, memory, files, errors))
    return found


def _both_numbers(estimate) -> tuple[float, float]:
    low, high = estimate.interval(0.95)
    return float(np.ravel(estimate.difference)[0]), float(np.ravel(high - low)[0]) / 2.0


def _code(compared) -> int:
    """Number of a verdict, before Holm's adjustment, which a rehearsal leaves out."""
    estimate, scale = compared.estimate, compared.scale
    margins = verdict.margins(
        scale.asked.smallest, scale.asked.smallest_is_fraction, scale.asked.measure.ratio, scale.level
    )
    sure, alike = (compared.look.level, compared.look.equivalence_level) if compared.look else (0.95, 0.90)
    ends = estimate.interval(sure), estimate.equivalence_interval(alike)
    return int(verdict.judge(*ends, *margins, scale.asked.better))


def rounded(table: RunTable, columns: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """The columns (n,) [SI] as people read them off: rounded to the step of the dial."""
    found = {}
    for name, values in columns.items():
        unit, step = _READ_TO[_dimension(table, name)]
        shown = np.round(units.from_si(values, unit, _dimension(table, name)) / step) * step
        found[name] = np.asarray(units.to_si(shown, unit, _dimension(table, name)), dtype=float)
    return found


def _dimension(table: RunTable, name: str) -> str:
    if name == "fuel":
        return "mass"
    return next(one.dimension for one in (*table.measure.columns, *COMMON) if one.name == name)


def file_of(scene: Scene, table: RunTable, columns: Mapping[str, np.ndarray]) -> Table:
    """Header and rows of the file of one campaign; ``columns`` (1, n) [SI]."""
    request = scene.script.campaign.plan
    first = (request.first_date if request else None) or _FIRST_DAY
    shown = {key: _READ_TO[_dimension(table, key)][0] for key in columns}
    text = {key: values for key, values in table.text.items() if key == "runway" and any(values)}
    header = ["run", "date", "clock", "configuration", "installation", *text]
    header += [f"{key} [{unit}]" for key, unit in shown.items()]
    cells = {
        key: units.from_si(np.asarray(columns[key])[0], unit, _dimension(table, key)) for key, unit in shown.items()
    }
    rows = []
    for number, index in enumerate(np.argsort(table.hours, kind="stable"), start=1):
        minute = round(float(table.hours[index]) * 60.0)
        day = first + timedelta(days=minute // 1440)
        row = [number, day.isoformat(), f"{minute % 1440 // 60:02d}:{minute % 60:02d}", str(table.configuration[index])]
        row += [int(table.installation[index]) + 1, *(values[index] for values in text.values())]
        rows.append(row + [_cell(values[index]) for values in cells.values()])
    return header, rows


def _cell(value: float) -> str:
    return "" if np.isnan(value) else repr(float(np.round(value, 12)))
