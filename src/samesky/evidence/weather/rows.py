"""Which cells of a file of runs could a weather report fill, and when and on which strip was each run?

The files are read row by row, not as a campaign: one with blank cells in a column of readings is no sound campaign yet,
and is just the one that wants filling.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, time

import numpy as np

from samesky import units
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.model.campaign import Campaign, Runway
from samesky.campaign.reading.table import columns_of
from samesky.campaign.reading.template import header_cell
from samesky.campaign.reading.unflown import parted
from samesky.campaign.tables import cells
from samesky.campaign.tables.delimited import split
from samesky.campaign.tables.flown_times import flown_times
from samesky.campaign.tables.header import Place, places
from samesky.campaign.tables.labels import keys
from samesky.campaign.tables.sheet_rows import SheetRows
from samesky.measures.columns import HEADWIND
from samesky.measures.shape import Column, Measure

#: What a weather report tells, by column, in the order in which it is shown.
TOLD = ("oat", "qnh", "dew point", "headwind", "crosswind", "gust")


@dataclass(frozen=True, slots=True, eq=False)
class WeatherRows:
    """One file of runs made on the ground; arrays (n,), one place a row.

    Attributes
    ----------
    measure : the measure
    file : its name
    rows : numbers in a spreadsheet
    runs : names of the runs
    local : [s] since 1970-01-01 by the clock on the wall, whatever its zone
    heading : [rad, true] of the strip, NaN where not known
    counted : whether the run counts
    columns : the columns of :data:`TOLD` that the file may have
    header : header cell of each, as the file has it or would get it
    unit : the unit of each
    present : which of them the file has
    blank : where the cell is blank, by column
    readings : SI, NaN where blank or unreadable, by column
    own_pressure : whether the pressure is known from the altimeter's reading
    """

    measure: Measure
    file: str
    rows: np.ndarray
    runs: list[str]
    local: np.ndarray
    heading: np.ndarray
    counted: np.ndarray
    columns: Mapping[str, Column]
    header: Mapping[str, str]
    unit: Mapping[str, str]
    present: frozenset[str]
    blank: Mapping[str, np.ndarray]
    readings: Mapping[str, np.ndarray]
    own_pressure: bool


def on_the_ground(measure: Measure) -> bool:
    """Whether the runs of a measure are made on the field, where the report holds: they know a wind along the strip."""
    return HEADWIND.name in {column.name for column in measure.columns}


def weather_rows(campaign: Campaign, file: str, measure: Measure) -> WeatherRows | None:
    """A file of the campaign as :class:`WeatherRows`; None where it holds no run.

    Raises CampaignError for what has to be mended first: a header, a date or a clock that cannot be read.
    """
    known = columns_of(measure)
    sheet, findings = split(campaign.must_be_text(file), file, [column.name for column in known])
    if sheet is None or not sheet.rows:
        return None
    day = campaign.day
    where = places(sheet, file, known, {"date"} if day is not None else set(), findings)
    # What is planned and not flown yet has no hour at which to ask for its weather.
    rows = parted(SheetRows(sheet, file, where, findings))[0]
    text_of = {name: rows.words(name) or [""] * len(rows) for name in ("run", "exclude", "runway", "date", "clock")}
    dates, clock = flown_times(rows, text_of, day)
    strips = keys(rows, "runway", text_of["runway"], {name: name for name in campaign.runways}, needed=False)
    for finding in findings:
        if finding.kind == "error":
            raise CampaignError(finding)
    if not len(rows):
        return None
    columns = {column.name: column for column in known if column.name in TOLD}
    midnight = np.array([datetime.combine(one, time(), UTC).timestamp() for one in dates])
    found = {name: _readings(rows, where.get(name)) for name in columns}
    pressure = where.get("pressure altitude")
    return WeatherRows(
        measure=measure,
        file=file,
        rows=np.array([row for row, _ in rows.rows], dtype=int),
        runs=[name or str(count) for count, name in enumerate(text_of["run"], start=1)],
        local=midnight + 3600.0 * clock,
        heading=np.array([_heading(campaign, strip) for strip in strips]),
        counted=np.array([not reason for reason in text_of["exclude"]], dtype=bool),
        columns=columns,
        header={name: where[name].header if name in where else header_cell(columns[name], measure) for name in columns},
        unit={
            name: where[name].unit if name in where else units.header(header_cell(columns[name], measure))[1]
            for name in columns
        },
        present=frozenset(where.keys() & columns.keys()),
        blank={name: blank for name, (blank, _) in found.items()},
        readings={name: values for name, (_, values) in found.items()},
        own_pressure=pressure is not None and not np.all(_readings(rows, pressure)[0]),
    )


def _heading(campaign: Campaign, strip: str) -> float:
    runways: list[Runway] = list(campaign.runways.values())
    one = campaign.runways.get(strip) or (runways[0] if len(runways) == 1 else None)
    return np.nan if one is None or one.heading is None else one.heading


def _readings(rows: SheetRows, place: Place | None) -> tuple[np.ndarray, np.ndarray]:
    """Where the cells of a column are blank, and their values in SI."""
    if place is None:
        return np.ones(len(rows), dtype=bool), np.full(len(rows), np.nan)
    written = [row_cells[place.index].strip() for _, row_cells in rows.rows]
    values = np.full(len(rows), np.nan)
    for index, cell in enumerate(written):
        try:
            values[index] = cells.number(cell, rows.sheet.comma_is_decimal) if cell else np.nan
        except cells.CellError:
            continue
    blank = np.array([not cell for cell in written], dtype=bool)
    return blank, np.asarray(units.to_si(values, place.unit, place.dimension), dtype=float)
