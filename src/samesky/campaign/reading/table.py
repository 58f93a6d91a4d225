"""What does one measure's file say, row by row?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from samesky.campaign.messages.findings import Finding, is_sound
from samesky.campaign.model.campaign import UnflownRun
from samesky.campaign.reading.unflown import parted, unflown_runs
from samesky.campaign.tables.cross_checks import cross_check
from samesky.campaign.tables.delimited import split
from samesky.campaign.tables.flown_times import flown_times
from samesky.campaign.tables.header import places
from samesky.campaign.tables.labels import check_exclusions, check_names, fittings, keys, throttled
from samesky.campaign.tables.number_column import number_column
from samesky.campaign.tables.sheet_rows import SheetRows
from samesky.measures.columns import COMMON
from samesky.measures.shape import Column, Measure

#: Columns of words that a table always has, blank where the file has none.
ALWAYS = ("run", "exclude", "notes", "pilot", "runway")


@dataclass(frozen=True, slots=True)
class Context:
    """What the cells are read against.

    ``configurations`` and ``runways`` give each key's label, ``day`` the date of a campaign flown on one day,
    ``fuel_density`` [kg/m^3] turns volumes of fuel into masses.
    """

    configurations: Mapping[str, str]
    runways: Mapping[str, str]
    day: date | None
    fuel_density: float


@dataclass(frozen=True, slots=True)
class TableDraft:
    """One file with its cells read; not yet set in order with the other files. Lengths are the number of rows.

    ``fitted`` holds the installation numbers as written, None where the file has no such column. Other attributes are
    as in :class:`samesky.campaign.model.campaign.RunTable`.
    """

    measure: Measure
    file: str
    rows: np.ndarray
    columns: Mapping[str, np.ndarray]
    text: Mapping[str, list[str]]
    units: Mapping[str, str]
    configuration: np.ndarray
    dates: list[date]
    clock: np.ndarray
    fitted: np.ndarray | None


def columns_of(measure: Measure) -> tuple[Column, ...]:
    """Common and own columns of a measure; an own column stands for a common one of the same name."""
    own = {column.name for column in measure.columns}
    common = COMMON if measure.common else ()
    return tuple(column for column in common if column.name not in own) + tuple(measure.columns)


def read_table(
    text: str, file: str, measure: Measure, context: Context
) -> tuple[TableDraft | None, list[Finding], tuple[UnflownRun, ...]]:
    """The file's text as a :class:`TableDraft`, None where it has errors or no rows that were flown; everything found;
    and the rows that are planned and not flown yet.
    """
    known = columns_of(measure)
    sheet, findings = split(text, file, [column.name for column in known])
    if sheet is None:
        return None, findings, ()
    excused = {"date"} if context.day is not None else set()
    rows = SheetRows(sheet, file, places(sheet, file, known, excused, findings), findings)
    flown, ahead = parted(rows)
    runs = _names(rows, flown)
    numbers = {row for row, _ in flown.rows}
    named = [run for (row, _), run in zip(rows.rows, runs, strict=True) if row in numbers]
    draft = _draft(flown, named, measure, context)
    unflown = unflown_runs(rows, ahead, runs, measure.name, context.configurations, context.runways)
    return (draft if is_sound(findings) and len(draft.rows) else None), findings, unflown


def _names(rows: SheetRows, flown: SheetRows) -> list[str]:
    """The name of every run of the file, counted where no row has one; no two are alike."""
    check_exclusions(rows, rows.words("exclude") or [""] * len(rows))
    runs = rows.words("run") or []
    if not any(runs):
        runs = [str(count) for count in range(1, len(rows) + 1)]
    check_names(rows, runs, {row for row, _ in flown.rows})
    return runs


def _draft(rows: SheetRows, runs: list[str], measure: Measure, context: Context) -> TableDraft:
    """Everything in its place; cells that could not be read are NaN or blank, and have been reported."""
    blank = [""] * len(rows)
    text = {name: rows.words(name) or blank for name in ALWAYS}
    text |= {name: rows.words(name) or blank for name, place in rows.where.items() if place.unit is None}
    text["run"] = runs
    counted = [not reason for reason in text["exclude"]]
    columns, units = {}, {}
    for name, place in rows.where.items():
        if place.unit is not None:
            values = number_column(rows, place, counted, context.fuel_density)
            if not np.all(np.isnan(values)):
                columns[name], units[name] = values, place.unit
    cross_check(rows, columns)
    configuration = blank
    if "configuration" in text and context.configurations:
        configuration = keys(rows, "configuration", text["configuration"], context.configurations, needed=True)
    if context.runways:
        text["runway"] = keys(rows, "runway", text["runway"], context.runways, needed=False)
    if "throttled" in text:
        text["throttled"] = throttled(rows, text["throttled"])
    dates, clock = flown_times(rows, text, context.day)
    return TableDraft(
        measure=measure,
        file=rows.file,
        rows=np.array([row for row, _ in rows.rows], dtype=int),
        columns=columns,
        text=text,
        units=units,
        configuration=np.array(configuration, dtype=object),
        dates=dates,
        clock=clock,
        fitted=fittings(rows, text["installation"]) if any(text.get("installation", [])) else None,
    )
