"""How do readings from a film get into the campaign's files: all of them, or none?"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from samesky.campaign.messages.errors import cannot
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.template import measure_file
from samesky.campaign.tables.grid import Grid
from samesky.campaign.tables.write import write_together
from samesky.campaign.toml.section import FILE
from samesky.evidence.film.propose import FilmedRun, Proposal, rows_by_run, toml_text
from samesky.evidence.run_file import run_file
from samesky.measures.filmed_rolls import FILMED


def texts_of(folder: Path | str, proposal: Proposal) -> dict[str, str]:
    """The whole new files that :func:`put` would write, by name, ``campaign.toml`` first.

    Raises CampaignError where a cell has been filled since the proposal was made.
    """
    folder, texts = Path(folder), {}
    if proposal.appended:
        before = toml_text(folder)
        end = "\r\n" if "\r\n" in before else "\n"
        gap = "\n" if before.endswith("\n") or not before else "\n\n"
        texts[FILE] = before + (gap + proposal.appended).replace("\n", end)
    for name in dict.fromkeys(one.file for one in proposal.fills):
        texts[name] = _filled(folder, [one for one in proposal.fills if one.file == name])
    return texts


def put(folder: Path | str, proposal: Proposal) -> list[Path]:
    """Write a proposal into the folder, all or nothing, and give the files that were changed. Raises CampaignError."""
    return write_together(Path(folder), texts_of(folder, proposal))


def fresh_table(campaign: Campaign) -> str:
    """The text of a table of filmed rolls to begin with: a row for each run whose roll is still blank."""
    text = measure_file(FILMED)
    grid = Grid.from_text(text, FILMED.name, [column.name for column in FILMED.columns])
    measure = next((one.measure for name, one in campaign.asked.items() if name == "takeoff_roll"), None)
    if measure is None:
        return text
    file = run_file(campaign.folder, measure)
    blank = [run for run, k in rows_by_run(file).items() if not file.column("ground roll")[k]]
    rows = sorted(blank, key=lambda run: rows_by_run(file)[run])
    return grid.with_rows([{"run": run} for run in rows]).to_text()


def _filled(folder: Path, fills: Sequence[FilmedRun]) -> str:
    name = fills[0].column
    file = run_file(folder, fills[0].measure)
    grid, rows = file.grid, rows_by_run(file)
    if grid.column(name) is None:
        grid = grid.with_column(file.header(name))
    for one in fills:
        index = rows.get(one.run)
        if index is None or file.column(name)[index] or file.unit(name)[0] != one.unit:
            message = "the cell has changed since the proposal was made."
            raise cannot(file.name, message, "Nothing was changed. Look at the film again.", one.row, name)
        grid = grid.with_cell(index, grid.column(name), one.text)
    return grid.to_text()
