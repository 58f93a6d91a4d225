"""The verb that takes rolls out of frame numbers of a film."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from samesky.cli import catalogue as say
from samesky.cli.app import Folder, app
from samesky.cli.saying import line, stop


@app.command()
def film(
    folder: Folder,
    begin: Annotated[bool, typer.Option("--begin", help="write filmed_rolls.csv to fill in, and stop")] = False,
    write: Annotated[bool, typer.Option("--write", help="write it; without this nothing is changed")] = False,
    out: Annotated[Path | None, typer.Option(help="the HTML page; default DIR/film.html")] = None,
) -> None:
    """Fill blank ground rolls from the frame numbers of a film; no reading is replaced."""
    from samesky.campaign.reading.read import read
    from samesky.evidence.film.propose import propose
    from samesky.evidence.proposal import put
    from samesky.report.film_page import shown, write_film

    campaign = read(folder, flown=False)
    if begin:
        _begin(folder, campaign)
        return
    proposal = propose(campaign)
    written = put(folder, proposal) if write and proposal.fills else []
    for row in shown(proposal):
        typer.echo(f"{row.file}, row {row.row}, run {row.run}: {row.column} {row.said} (its cell: {row.state})")
    for note in proposal.notes:
        line("assumed", note, "cyan")
    for said in proposal.left:
        line("left as it is", said, "yellow")
    for doubt in proposal.doubted:
        line("warning", doubt.sentence(), "yellow")
    for source in proposal.sources if proposal.fills else ():
        article = "an" if source.scope == "installation" else "a"
        said = f"{source.name}: {source.size_text()} on {source.target}, alike within {article} {source.scope}"
        line("error source", said, "cyan")
    for path in written:
        typer.echo(f"Wrote {path}")
    if written:
        typer.echo(f"Then: samesky check {folder}")
    elif proposal.fills:
        count = len(proposal.fills)
        typer.echo(f"Nothing was written. The same with --write fills {count} cell{'s' * (count > 1)}.")
    else:
        typer.echo("Nothing to fill in.")
    target = out if out is not None else folder / "film.html"
    typer.echo(f"Look at the picture: {write_film(campaign, proposal, target).resolve()}")
    if write and not written and not proposal.runs:
        stop("nothing was written: no filmed roll could be used; why stands with each above.")


def _begin(folder: Path, campaign) -> None:
    from samesky.campaign.messages.errors import cannot
    from samesky.campaign.reading.files import named
    from samesky.campaign.tables.write import write_text
    from samesky.evidence.film.put import fresh_table
    from samesky.measures.filmed_rolls import FILMED

    there = named(campaign.texts, FILMED.name)
    if there is not None:
        raise cannot(there, say.FILM_THERE_ALREADY())
    typer.echo(f"Wrote {write_text(folder / f'{FILMED.name}.csv', fresh_table(campaign))}")
    typer.echo(f"Write a frame number a cell, and [film] in campaign.toml how; then: samesky film {folder}")
    for caution in FILMED.cautions:
        line("caution", caution, "yellow")
