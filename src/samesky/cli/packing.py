"""Verbs on handing a campaign on: pack, unpack."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from samesky.cli.app import Folder, app
from samesky.cli.saying import counted, line, list_findings, sorted_findings


@app.command()
def pack(
    folder: Folder,
    out: Annotated[
        Path | None,
        typer.Option(help="NAME.zip, NAME.xlsx (a workbook), or a folder; default DIR.zip", show_default=False),
    ] = None,
) -> None:
    """Put the campaign into one file to hand on: a data package that others can check and run again."""
    from samesky.campaign.reading.read import read
    from samesky.checks.check import check as findings_of
    from samesky.exchange import packing

    target = packing.usual_target(folder) if out is None else out
    errors, warnings = sorted_findings(findings_of(read(folder)))
    packed = packing.pack(folder, target)
    for said in packed.left_out:
        line("not packed", said, "yellow")
    typer.echo(f"Checked: {counted(errors, warnings)}; samesky check {folder} lists them.")
    typer.echo(f"Packed {len(packed.files)} files: {target.resolve()}")


@app.command()
def unpack(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="a zip or a workbook", show_default=False)],
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="a new folder, or an empty one", show_default=False)],
) -> None:
    """Make a campaign folder of a zip or a workbook, whole or not at all."""
    from samesky.exchange import packing

    doubts = packing.unpack(file, folder)
    list_findings("warning", doubts, "yellow")
    typer.echo(f"Unpacked {file} to {folder}.")
    typer.echo(f"Then: samesky check {folder}")
