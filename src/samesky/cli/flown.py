"""Verbs on what was flown: new, check, reduce, compare, report."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import typer

from samesky.cli.app import Folder, app
from samesky.cli.saying import (
    BAD_INPUT,
    counted,
    json_text,
    line,
    list_findings,
    progress_words,
    say_what_is_ahead,
    sorted_findings,
    sound,
)


@app.command()
def new(
    folder: Folder,
    example: Annotated[
        str | None, typer.Option(help="write one of the synthetic campaigns instead; 'list' names them")
    ] = None,
    xlsx: Annotated[bool, typer.Option("--xlsx", help="one workbook in place of campaign.toml and the CSVs")] = False,
    questions: Annotated[
        bool, typer.Option("--ask", help="ask eight questions, then write only what is needed, the plan and its cards")
    ] = False,
) -> None:
    """Write a campaign folder to fill in, explained line by line."""
    if questions:
        if example is not None or xlsx:
            raise typer.BadParameter("--ask goes with no other option of new")
        _new_by_asking(folder)
        return
    if example is None:
        from samesky.campaign.reading.template import template_files, write_fresh

        files: Mapping[str, str | bytes] = template_files(workbook=xlsx)
        if xlsx:
            from samesky.exchange.workbook.workbook import as_workbook

            files = as_workbook(template_files(workbook=True))
        write_fresh(folder, files)
        if xlsx:
            typer.echo(f"Wrote {folder / 'campaign.xlsx'}: start with its sheet 'campaign', then one sheet a measure.")
        else:
            typer.echo(
                f"Wrote {folder}: start with campaign.toml, then one CSV a measure; delete the files you do not fly."
            )
        _next(folder, xlsx, "check")
        return
    from samesky.simulator.examples.catalogue import EXAMPLES, write_example

    if example == "list":
        for name, described in EXAMPLES.items():
            typer.echo(f"{name}: {described.summary}")
        return
    if xlsx:
        _write_example_as_workbook(example, folder)
    else:
        write_example(example, folder)
    typer.echo(f"Wrote the synthetic campaign {example!r} to {folder}.")
    _next(folder, xlsx, "report")


def _new_by_asking(folder: Path) -> None:
    """The folder from eight answers, and what can be flown with it: the plan, and its cards."""
    from samesky.campaign.reading.template import refuse_unless_empty, write_fresh
    from samesky.campaign.start.files import campaign_files
    from samesky.cli.asking import ask
    from samesky.cli.planned import cards, plan

    # Nobody answers eight questions for a folder that cannot be written.
    refuse_unless_empty(folder)
    write_fresh(folder, campaign_files(ask()))
    typer.echo(f"\nWrote {folder}.\n")
    plan(folder)
    cards(folder)
    typer.echo(f"Another plan: change campaign.toml, then samesky plan {folder}. After flying: samesky check {folder}")


def _next(folder: Path, xlsx: bool, verb: str) -> None:
    if xlsx:
        named = folder if folder.name not in ("", "..") else folder.resolve()
        new_folder = named.with_name(f"{named.name}_files")
        typer.echo(f"Then: samesky unpack {folder / 'campaign.xlsx'} {new_folder}")
        typer.echo(f"      samesky {verb} {new_folder}")
    else:
        typer.echo(f"Then: samesky {verb} {folder}")


def _write_example_as_workbook(example: str, folder: Path) -> None:
    from samesky.campaign.reading.template import write_fresh
    from samesky.exchange.workbook.workbook import as_workbook
    from samesky.simulator.examples.catalogue import example_files

    files = example_files(example)
    write_fresh(folder, as_workbook({name: files[name] for name in sorted(files)}))


@app.command()
def check(
    folder: Folder,
    json: Annotated[bool, typer.Option("--json", help="print the same for machines, each with its code")] = False,
) -> None:
    """List errors and warnings, before any arithmetic."""
    from samesky.campaign.reading.read import read
    from samesky.checks.check import check as findings_of
    from samesky.exchange.data_package.verify import verify

    campaign = read(folder)
    errors, warnings = sorted_findings([*findings_of(campaign), *verify(folder)])
    if json:
        typer.echo(json_text([finding.to_json() for finding in (*errors, *warnings)]))
        if errors:
            raise typer.Exit(BAD_INPUT)
        return
    list_findings("error", errors, "red")
    list_findings("warning", warnings, "yellow")
    if campaign.airspeed_system is not None:
        typer.echo(campaign.airspeed_system.sentence())
    runs = sum(int(table.included.sum()) for table in campaign.tables.values())
    typer.echo(
        f"{campaign.title or folder}: {len(campaign.tables)} measure{'s' * (len(campaign.tables) != 1)}, {runs} "
        f"run{'s' * (runs != 1)} counted, {counted(errors, warnings)}."
    )
    say_what_is_ahead(campaign)
    if errors:
        raise typer.Exit(BAD_INPUT)


@app.command()
def reduce(
    folder: Folder,
    out: Annotated[Path | None, typer.Option(help="folder for the CSV files; default DIR/reduced")] = None,
) -> None:
    """Write each run brought to the common sky, with every correction by name."""
    from samesky.reduction.csv_file import write_reductions
    from samesky.reduction.reduction import reduce_table

    campaign = sound(folder)
    target = out if out is not None else folder / "reduced"
    reductions = [reduce_table(campaign, table) for table in campaign.tables.values()]
    paths = write_reductions([(one, campaign.asked[one.table.measure.name].unit) for one in reductions], target)
    for reduction, path in zip(reductions, paths, strict=True):
        table = reduction.table
        typer.echo(f"{table.measure.title}: {len(table.rows)} runs -> {path}")
        for correction, why in reduction.left_out.items():
            line("not corrected", f"{correction}: {why}", "yellow")
        for doubt in reduction.doubts:
            line("warning", doubt.sentence(), "yellow")


@app.command()
def compare(
    folder: Folder,
    look: Annotated[
        int | None, typer.Option(min=1, help="judge by the limits of this planned look", show_default=False)
    ] = None,
    details: Annotated[bool, typer.Option("--details", help="print what each answer rests on as well")] = False,
    picture: Annotated[
        Path | None, typer.Option(help="write the figure of excess thrust as well: FILE.png or FILE.svg")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="print all of it for machines")] = False,
) -> None:
    """Print the difference, its interval and the verdict of every measure."""
    from samesky.inference.comparison import compare as compare_campaign
    from samesky.inference.looks import planned_look

    campaign = sound(folder)
    comparisons = compare_campaign(campaign, planned_look(campaign, look) if look else None)
    if picture is not None:
        from samesky.report.excess_thrust_figure import write_excess_thrust

        for path in write_excess_thrust(campaign, comparisons, picture):
            typer.echo(f"Picture: {path.resolve()}", err=json)
    if json:
        from samesky.report.choice.to_json import compared

        typer.echo(json_text(compared(campaign, comparisons)))
        return
    from samesky.report.terminal import print_answers

    print_answers(campaign, comparisons, details=details)
    if comparisons and not details:
        typer.echo("What each answer rests on: samesky compare DIR --details. Every run: samesky report DIR.")
    say_what_is_ahead(campaign)


@app.command()
def report(
    folder: Folder,
    out: Annotated[Path | None, typer.Option(help="the HTML file; default DIR/report.html")] = None,
    look: Annotated[
        int | None, typer.Option(min=1, help="judge by the limits of this planned look", show_default=False)
    ] = None,
) -> None:
    """Write one self-contained page that others can check."""
    with progress_words("reading the runs") as says:
        campaign = sound(folder)
        says("comparing")
        from samesky.inference.comparison import compare as compare_campaign
        from samesky.inference.looks import planned_look

        comparisons = compare_campaign(campaign, planned_look(campaign, look) if look else None)
        says("drawing the figures")
        from samesky.report.page import write_report

        target = out if out is not None else folder / "report.html"
        write_report(campaign, comparisons, target, progress=says)
    from samesky.report.terminal import print_answers

    print_answers(campaign, comparisons)
    typer.echo(f"Report: {target.resolve()}")
