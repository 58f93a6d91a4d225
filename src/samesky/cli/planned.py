"""Verbs on what is still to be flown: plan, cards, rehearse."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from samesky.cli.app import Folder, app
from samesky.cli.engine import Scheduler, engine
from samesky.cli.saying import bar, json_text, progress_words, sound


@app.command()
def plan(
    folder: Folder,
    other: Annotated[
        str | None, typer.Option(help="which configuration beside the baseline, where there are several")
    ] = None,
    details: Annotated[bool, typer.Option("--details", help="print what the chances rest on as well")] = False,
    json: Annotated[bool, typer.Option("--json", help="print all of it for machines")] = False,
    into_tables: Annotated[
        bool, typer.Option("--into-tables", help="put the planned runs into the CSV files, as rows still to fly")
    ] = False,
) -> None:
    """Say what to fly, in which order and how often, when to scrub, and what that can settle."""
    planned = _planned(folder, other)
    if json:
        from samesky.planning.output.to_json import to_json

        typer.echo(json_text(to_json(planned)))
    else:
        from samesky.planning.output.terminal import print_plan

        print_plan(planned, details=details)
    if into_tables:
        from samesky.planning.into_tables import put_into_tables

        for said in put_into_tables(folder, planned).says():
            # What a machine reads stays alone on its stream.
            typer.echo(said, err=json)


@app.command()
def cards(
    folder: Folder,
    paper: Annotated[str, typer.Option(help="a5 or letter-half")] = "a5",
    pdf: Annotated[bool, typer.Option("--pdf", help="write a PDF as well")] = False,
    other: Annotated[
        str | None, typer.Option(help="which configuration beside the baseline, where there are several")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="the HTML file; default DIR/cards.html")] = None,
) -> None:
    """Write the test cards of the plan: one card a block, with a blank for every reading."""
    from samesky.planning.cards.html import on_two_pages, write_cards

    planned = _planned(folder, other)
    for path in write_cards(planned, out if out is not None else folder / "cards.html", paper, pdf):
        typer.echo(f"Cards: {path.resolve()}")
    long = on_two_pages(planned, paper)
    if long:
        typer.echo(long)


@app.command()
def rehearse(
    folder: Folder,
    campaigns: Annotated[int, typer.Option(min=1, help="how many at each true difference")] = 1000,
    seed: Annotated[int, typer.Option(min=0, help="fixes every figure")] = 1,
    jobs: Annotated[int, typer.Option(help="processes; -1 for one a core")] = 1,
    scheduler: Scheduler = None,
    other: Annotated[
        str | None, typer.Option(help="which configuration beside the baseline, where there are several")
    ] = None,
    flown: Annotated[bool, typer.Option("--flown", help="the order in the files, even where there is a plan")] = False,
    files: Annotated[int, typer.Option(min=0, help="how many to send through real files as well")] = 3,
    out: Annotated[Path | None, typer.Option(help="the HTML file; default DIR/rehearsal.html")] = None,
    json: Annotated[bool, typer.Option("--json", help="print the same for machines, write no page")] = False,
) -> None:
    """Fly the campaign many times in a simulated sky with known truth: would it find the difference?"""
    from samesky.rehearsal.rehearse import rehearse as rehearse_campaign
    from samesky.rehearsal.rehearse import with_truth
    from samesky.rehearsal.through_files import through_files

    with engine(scheduler), bar("rehearsing") as step:
        campaign = sound(folder, flown=False)
        found = rehearse_campaign(campaign, campaigns, seed, -1 if scheduler else jobs, other, flown, step)
    if json:
        from samesky.rehearsal.to_json import to_json

        typer.echo(json_text(to_json(found)))
        return
    both = through_files(with_truth(found.scene, 1.0), found.ready, files, seed) if files else []
    from samesky.report.rehearsal_page import write_rehearsal
    from samesky.report.rehearsal_terminal import print_rehearsal

    target = out if out is not None else folder / "rehearsal.html"
    write_rehearsal(found, target, both)
    print_rehearsal(found)
    typer.echo(f"Rehearsal: {target.resolve()}")


def _planned(folder: Path, other: str | None):
    """The plan of a campaign that need not have been flown."""
    from samesky.planning.plan import plan as plan_of

    with progress_words("trying orders") as says:
        campaign = sound(folder, flown=False)
        says("trying orders")
        return plan_of(campaign, other)
