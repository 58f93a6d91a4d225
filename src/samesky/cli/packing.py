"""Verbs on handing a campaign on: pack, unpack."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from samesky.cli.app import Folder, app
from samesky.cli.saying import counted, line, list_findings, sorted_findings

if TYPE_CHECKING:
    from samesky.campaign.model.campaign import Campaign


@app.command()
def pack(
    folder: Folder,
    out: Annotated[
        Path | None,
        typer.Option(help="NAME.zip, NAME.xlsx (a workbook), or a folder; default DIR.zip", show_default=False),
    ] = None,
    report: Annotated[bool, typer.Option(help="put report.html in, made anew from the files")] = True,
) -> None:
    """Put the campaign into one file to hand on: a data package that others can check and run again."""
    from samesky.campaign.reading.read import read
    from samesky.checks.check import check as findings_of
    from samesky.exchange import packing

    target = packing.usual_target(folder) if out is None else out
    campaign = read(folder)
    errors, warnings = sorted_findings(findings_of(campaign))
    # A workbook has no place for a page, and what has to be mended has no report.
    page = "" if errors or not report or target.suffix.casefold() == packing.WORKBOOK else _report(campaign)
    packed = packing.pack(folder, target, page)
    for said in packed.left_out:
        line("not packed", said, "yellow")
    typer.echo(f"Checked: {counted(errors, warnings)}; samesky check {folder} lists them.")
    typer.echo(f"Packed {len(packed.files)} files: {target.resolve()}")


def _report(campaign: Campaign) -> str:
    """The page of the report; blank where nothing is there to compare."""
    from samesky.inference.comparison import compare
    from samesky.report.page import page

    comparisons = compare(campaign)
    return page(campaign, comparisons) if comparisons else ""


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
