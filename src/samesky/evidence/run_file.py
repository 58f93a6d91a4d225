"""What columns does a measure's file have, in which units, and what does a number look like in one of its cells?

For whoever puts runs into a file that somebody else began: the file as a grid of text, or a fresh one of the template
where the folder has none yet.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

from samesky import units
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.messages.words import briefly, quoted
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.table import columns_of
from samesky.campaign.reading.template import header_cell, measure_file
from samesky.campaign.tables.grid import Grid
from samesky.evidence import catalogue as say
from samesky.measures import MEASURES
from samesky.measures.shape import Column, Measure


@dataclass(frozen=True, slots=True)
class RunFile:
    """One measure's file: its name, its cells, and whether it is still to be made."""

    measure: Measure
    name: str
    grid: Grid
    fresh: bool

    def known(self) -> dict[str, Column]:
        """Every column that the measure knows, by name."""
        return {column.name: column for column in columns_of(self.measure)}

    def header(self, name: str) -> str:
        """The header cell of a column: the file's own, else that of the template."""
        at = self.grid.column(name)
        return header_cell(self.known()[name], self.measure) if at is None else self.grid.header[at]

    def unit(self, name: str) -> tuple[str, str]:
        """Unit and dimension in which the file writes a column. Raises CampaignError where the header has none."""
        column, cell = self.known()[name], self.header(name)
        try:
            unit = units.header(cell)[1]
            if unit is None:
                unit = column.name if fits(column.name, column.dimension) else ""
            units.to_si(1.0, unit, column.dimension)
        except units.UnitError as wrong:
            raise cannot(
                self.name,
                say.HEADER_UNIT_NOT_WRITABLE(
                    cell=quoted(cell), wrong=briefly(wrong), header_cell=header_cell(column, self.measure)
                ),
                self.grid.numbers()[0],
                name,
            ) from None
        return unit, column.dimension

    def text(self, name: str, value: float, uncertainty: float) -> str:
        """A value [SI] as the text of a cell in the file's own unit, rounded to a fifth of its uncertainty or finer."""
        unit, dimension = self.unit(name)
        shown = float(units.from_si(value, unit, dimension))
        difference = "temperature difference" if dimension == "temperature" else dimension
        spread = abs(float(units.from_si(uncertainty, unit, difference)))
        places = 2 if not spread > 0 else min(6, max(0, -math.floor(math.log10(spread / 5.0))))
        return f"{shown:.{places}f}"

    def column(self, name: str) -> list[str]:
        """The cells of a column, blank where the file does not have it."""
        at = self.grid.column(name)
        # A row that was written short has no such cell.
        return [row[at].strip() if at is not None and at < len(row) else "" for row in self.grid.rows]


def run_file(campaign: Campaign, measure: Measure) -> RunFile:
    """The measure's file in the campaign, whatever the spelling of its name; a fresh one where there is none.

    Raises CampaignError where a file is there and cannot be read.
    """
    written = campaign.text_of(measure.name)
    name, text = written or (f"{measure.name}.csv", "")
    if not text.strip():
        return RunFile(measure, name, _fresh(measure.name), True)
    grid = Grid.from_text(text, name, [column.name for column in columns_of(measure)])
    return RunFile(measure, name, grid, False)


@cache
def _fresh(name: str) -> Grid:
    """The template's grid of a measure; a grid never changes, so that one serves all."""
    measure = MEASURES[name]
    return Grid.from_text(measure_file(measure), f"{name}.csv", [column.name for column in columns_of(measure)])


def with_row(grid: Grid, cells: Mapping[str, str], place: int) -> Grid:
    """The grid with one row put in before row ``place``; remarks keep the rows that they stand before."""
    row = [""] * len(grid.header)
    for name, text in cells.items():
        index = grid.column(name)
        if index is None:
            raise KeyError(name)
        row[index] = " ".join(text.split())
    remarks = tuple((before + (before >= place and before >= 0), line) for before, line in grid.remarks)
    if place == len(grid.rows):
        # Remarks at the end of the file, such as the template's, stay above what is added.
        remarks = grid.remarks
    return replace(grid, rows=(*grid.rows[:place], tuple(row), *grid.rows[place:]), remarks=remarks)
