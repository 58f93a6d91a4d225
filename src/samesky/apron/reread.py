"""What would the campaign be with one more row? In memory: no file is written.

The real reader, on the text of the campaign's own files with the row added to it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from samesky.apron.fields import fuel_density, wrong
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import did_you_mean, plain_name, quoted
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.assemble import assemble
from samesky.campaign.reading.table import Context, columns_of, read_table
from samesky.campaign.reading.template import columns_shown, header_cell
from samesky.campaign.tables.grid import Grid
from samesky.campaign.tables.source_text import read_text
from samesky.measures.shape import Measure


def texts_of(campaign: Campaign, files: Mapping[str, str] | None = None) -> dict[str, tuple[str, str]]:
    """(file name, text) of each measure's file, by measure; ``files`` are texts by file name that come first."""
    names = {plain_name(name): name for name in campaign.asked}
    found = {}
    if campaign.folder is not None and campaign.folder.is_dir():
        for path in sorted(campaign.folder.iterdir()):
            if path.suffix.casefold() == ".csv" and plain_name(path.stem) in names:
                text, findings = read_text(path)
                if text is None:
                    raise cannot(path.name, findings[0].message, findings[0].mend)
                found[names[plain_name(path.stem)]] = (path.name, text)
    for file, text in (files or {}).items():
        stem = plain_name(file.rpartition(".")[0] or file)
        if stem in names:
            found[names[stem]] = (file, text)
    return found


def with_row(measure: Measure, file: str, text: str | None, cells: Mapping[str, str]) -> tuple[str, str, int]:
    """The file's text as a grid writes it, the text with the row added, and the row's number in a spreadsheet.

    A column that the measure knows and the file lacks is added in its usual unit; the run's number counts on where none
    is given. Raises CampaignError for a name that is no column.
    """
    columns = {plain_name(column.name): column for column in columns_of(measure)}
    if text is None:
        grid = Grid(tuple(header_cell(column, measure) for column in columns_shown(measure)))
    else:
        grid = Grid.from_text(text, file, [column.name for column in columns.values()]).trimmed()
    before = grid.to_text()
    row = {}
    for name, cell in cells.items():
        plain = plain_name(name.partition("[")[0])
        if grid.column(plain) is None:
            if plain not in columns:
                mend = did_you_mean(plain, columns, "Leave it out, or put it into 'notes'.")
                raise wrong(name, f"{quoted(name)} is no column that {file} may have.", mend)
            if not cell.strip():
                continue
            grid = grid.with_column(header_cell(columns[plain], measure))
        row[plain] = cell
    if grid.column("run") is not None and not row.get("run", "").strip():
        row["run"] = str(len(grid.rows) + 1)
    grid = grid.with_rows([row])
    return before, grid.to_text(), grid.numbers()[1][-1]


def reread(campaign: Campaign, texts: Mapping[str, tuple[str, str]]) -> Campaign:
    """The campaign with its tables read anew from these texts; what reading found stands in ``findings``."""
    findings: list[Finding] = [finding for finding in campaign.findings if finding.file.endswith(".toml")]
    context = Context(
        configurations={key: one.label for key, one in campaign.configurations.items()},
        runways={name: name for name in campaign.runways},
        day=campaign.day,
        fuel_density=fuel_density(campaign),
    )
    drafts, unflown = [], []
    for name, (file, text) in texts.items():
        draft, found, ahead = read_table(text, file, campaign.asked[name].measure, context)
        findings += found
        unflown += ahead
        if draft is not None:
            drafts.append(draft)
    tables = assemble(drafts, findings)
    return replace(campaign, tables=tables, findings=tuple(findings), unflown=tuple(unflown))
