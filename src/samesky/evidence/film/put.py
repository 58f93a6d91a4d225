"""How do readings from a film get into a file of runs, and how is a table of its frames begun?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.template import measure_file
from samesky.campaign.tables.grid import Grid
from samesky.evidence.proposal import changed_meanwhile
from samesky.evidence.run_file import RunFile, run_file
from samesky.measures.filmed_rolls import FILMED
from samesky.measures.shape import Measure


@dataclass(frozen=True, slots=True)
class FilmedRun:
    """What the film says of one run of one measure.

    ``index`` is the row in the film's table from 0, ``row`` that in the ``measure``'s ``file`` as a spreadsheet shows
    it; ``text`` is what goes, or would go, into the cell, in ``unit``; ``value`` and its standard ``uncertainty`` SI.
    ``kind`` is "fill" for a blank cell, "there" for a cell that says the same, "apart" for one that says otherwise:
    its ``reading`` [SI] stays.
    """

    index: int
    run: str
    measure: Measure
    file: str
    row: int
    column: str
    text: str
    unit: str
    value: float
    uncertainty: float
    kind: str
    reading: float

    @property
    def dimension(self) -> str:
        """Of the column that it fills."""
        return next(one.dimension for one in self.measure.columns if one.name == self.column)


def fresh_table(campaign: Campaign) -> str:
    """The text of a table of filmed rolls to begin with: a row for each run whose roll is still blank."""
    text = measure_file(FILMED)
    grid = Grid.from_text(text, FILMED.name, [column.name for column in FILMED.columns])
    measure = next((one.measure for name, one in campaign.asked.items() if name == "takeoff_roll"), None)
    if measure is None:
        return text
    file = run_file(campaign, measure)
    blank = [run for run, k in rows_by_run(file).items() if not file.column("ground roll")[k]]
    rows = sorted(blank, key=lambda run: rows_by_run(file)[run])
    return grid.with_rows([{"run": run} for run in rows]).to_text()


def filled_text(campaign: Campaign, fills: Sequence[FilmedRun]) -> str:
    """The text of a file of runs with its cells filled. Raises CampaignError where one has been filled meanwhile."""
    name = fills[0].column
    file = run_file(campaign, fills[0].measure)
    grid, rows = file.grid, rows_by_run(file)
    if grid.column(name) is None:
        grid = grid.with_column(file.header(name))
    for one in fills:
        index = rows.get(one.run)
        if index is None or file.column(name)[index] or file.unit(name)[0] != one.unit:
            raise changed_meanwhile(file.name, one.row, name)
        grid = grid.with_cell(index, grid.column(name), one.text)
    return grid.to_text()


def rows_by_run(file: RunFile) -> dict[str, int]:
    """Index of the row of each run, by its name; counted from 1 where the file names none."""
    filled = [k for k, row in enumerate(file.grid.rows) if any(cell.strip() for cell in row)]
    names = file.column("run")
    if not any(names):
        return {str(count): k for count, k in enumerate(filled, start=1)}
    return {names[k]: k for k in reversed(filled) if names[k]}
