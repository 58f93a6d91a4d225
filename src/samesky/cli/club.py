"""Verbs on several campaigns: pool, record."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from samesky.cli.app import app
from samesky.cli.engine import Scheduler, engine
from samesky.cli.saying import bar, json_text

Folders = Annotated[list[Path], typer.Argument(metavar="DIR...", help="campaign folders", show_default=False)]


@app.command()
def pool(
    folders: Folders,
    measure: Annotated[str | None, typer.Option(help="only this measure, as its file is called")] = None,
    jobs: Annotated[int, typer.Option(help="processes; -1 for one a core")] = 1,
    scheduler: Scheduler = None,
    out: Annotated[Path | None, typer.Option(help="write a page as well")] = None,
    json: Annotated[bool, typer.Option("--json", help="print the same for machines")] = False,
) -> None:
    """Join campaigns that asked the same question: what do they say together?"""
    from samesky.club.pool import pool as pool_campaigns

    with engine(scheduler), bar("reading campaigns") as step:
        found = pool_campaigns(folders, measure, -1 if scheduler else jobs, step)
    if json:
        from samesky.report.pool.words import to_json

        typer.echo(json_text(to_json(found)))
    else:
        from samesky.report.pool.terminal import lines

        for said in lines(found):
            typer.echo(said)
    if out is not None:
        from samesky.report.pool.page import write_pool

        typer.echo(f"Pool: {write_pool(found, out).resolve()}", err=json)


@app.command()
def record(
    folders: Folders,
    out: Annotated[
        Path | None, typer.Option(help="write the file that new campaigns name, such as my_record.toml")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="print the same for machines")] = False,
) -> None:
    """Pool how far your own repeats scatter, measure by measure, for campaigns with few runs."""
    from samesky.club import record as club_record

    found = club_record.record(folders)
    if json:
        typer.echo(json_text(club_record.to_json(found)))
    else:
        for said in club_record.said(found):
            typer.echo(said)
    if out is not None:
        typer.echo(f"Record: {club_record.write_record(found, out).resolve()}", err=json)
