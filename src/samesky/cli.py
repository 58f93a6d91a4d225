"""What can I ask for? The verbs of the command line: thin, no arithmetic, heavy imports inside the verbs."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    name="samesky",
    help="Bring every run to the same sky, and say honestly which configuration suits which flying.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)

Folder = Annotated[Path, typer.Argument(metavar="DIR", help="the campaign folder", show_default=False)]

#: Exit code for input that has to be mended first.
BAD_INPUT = 2


def main() -> None:
    """Run the command line; turn what a user can mend into one message and exit code 2."""
    from samesky.campaign.errors import CampaignError

    try:
        app()
    except CampaignError as error:
        _stop(str(error))
    except BrokenPipeError:
        # The reader of our output (a pager, `head`) has gone: that is not an error of ours.
        sys.stderr.close()
        sys.exit(0)


@app.callback(invoke_without_command=True)
def _top(version: Annotated[bool, typer.Option("--version", help="print the version and stop")] = False) -> None:
    if version:
        from samesky import __version__

        typer.echo(__version__)
        raise typer.Exit


@app.command()
def new(
    folder: Folder,
    example: Annotated[
        str | None, typer.Option(help="write one of the synthetic campaigns instead; 'list' names them")
    ] = None,
) -> None:
    """Write a campaign folder to fill in, explained line by line."""
    if example is None:
        from samesky.campaign.template import write_template

        write_template(folder)
        typer.echo(
            f"Wrote {folder}: start with campaign.toml, then one CSV a measure; delete the files you do not fly."
        )
        typer.echo(f"Then: samesky check {folder}")
        return
    from samesky.simulator.examples import EXAMPLES, write_example

    if example == "list":
        for name, described in EXAMPLES.items():
            typer.echo(f"{name}: {described.summary}")
        return
    write_example(example, folder)
    typer.echo(f"Wrote the synthetic campaign {example!r} to {folder}.")
    typer.echo(f"Then: samesky report {folder}")


@app.command()
def check(folder: Folder) -> None:
    """List what is wrong and what is doubtful, before any arithmetic."""
    from samesky.campaign.check import check as findings_of
    from samesky.campaign.read import read

    campaign = read(folder)
    errors, warnings = _sorted_findings(findings_of(campaign))
    _list("error", errors, "red")
    _list("doubtful", warnings, "yellow")
    runs = sum(int(table.included.sum()) for table in campaign.tables.values())
    typer.echo(
        f"{campaign.title or folder}: {len(campaign.tables)} measure{'s' * (len(campaign.tables) != 1)}, {runs} "
        f"run{'s' * (runs != 1)} counted, {len(errors)} to mend, {len(warnings)} doubtful."
    )
    if errors:
        raise typer.Exit(BAD_INPUT)


@app.command()
def reduce(
    folder: Folder,
    out: Annotated[Path | None, typer.Option(help="folder for the CSV files; default DIR/reduced")] = None,
) -> None:
    """Write each run brought to the common sky, with every correction by name."""
    from samesky.campaign.reduction import reduce_table
    from samesky.campaign.reduction_file import write_reduction

    campaign = _sound(folder)
    target = out if out is not None else folder / "reduced"
    for table in campaign.tables.values():
        reduction = reduce_table(campaign, table)
        path = write_reduction(reduction, campaign.asked[table.measure.name].unit, target)
        typer.echo(f"{table.measure.title}: {len(table.rows)} runs -> {path}")
        for correction, why in reduction.left_out.items():
            _line("not corrected", f"{correction}: {why}", "yellow")
        for doubt in reduction.doubts:
            _line("doubtful", doubt.sentence(), "yellow")


@app.command()
def compare(
    folder: Folder,
    look: Annotated[
        int | None, typer.Option(min=1, help="judge by the limits of this planned look", show_default=False)
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="print the same for machines")] = False,
) -> None:
    """Print the difference, its interval and the verdict of every measure, and what they rest on."""
    from samesky.inference.comparison import compare as compare_campaign
    from samesky.inference.looks import planned_look

    campaign = _sound(folder)
    comparisons = compare_campaign(campaign, look and planned_look(campaign, look))
    if json:
        from json import dumps

        typer.echo(dumps([comparison.to_json() for comparison in comparisons], indent=2, ensure_ascii=False))
        return
    from samesky.report.terminal import print_comparisons

    print_comparisons(campaign, comparisons)


@app.command()
def report(
    folder: Folder,
    out: Annotated[Path | None, typer.Option(help="the HTML file; default DIR/report.html")] = None,
) -> None:
    """Write one self-contained page that others can check."""
    with _progress("reading the runs") as says:
        campaign = _sound(folder)
        says("comparing")
        from samesky.inference.comparison import compare as compare_campaign

        comparisons = compare_campaign(campaign)
        says("drawing the figures")
        from samesky.report.page import write_report

        target = out if out is not None else folder / "report.html"
        write_report(campaign, comparisons, target, progress=says)
    from samesky.report.terminal import print_verdicts

    print_verdicts(campaign, comparisons)
    typer.echo(f"Report: {target.resolve()}")


@app.command()
def plan(
    folder: Folder,
    other: Annotated[
        str | None, typer.Option(help="which configuration beside the baseline, where there are several")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="print the same for machines")] = False,
) -> None:
    """Say what to fly, in which order and how often, when to scrub, and what that can settle."""
    planned = _planned(folder, other)
    if json:
        from json import dumps

        from samesky.planning.machine import to_json

        typer.echo(dumps(to_json(planned), indent=2, ensure_ascii=False))
        return
    from samesky.planning.page import print_plan

    print_plan(planned)


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
    """Write the test cards of the plan: one page a block, with a blank for every reading."""
    from samesky.planning.cards import write_cards

    for path in write_cards(_planned(folder, other), out if out is not None else folder / "cards.html", paper, pdf):
        typer.echo(f"Cards: {path.resolve()}")


@app.command()
def rehearse(
    folder: Folder,
    campaigns: Annotated[int, typer.Option(min=1, help="how many at each true difference")] = 1000,
    seed: Annotated[int, typer.Option(min=0, help="fixes every figure")] = 1,
    jobs: Annotated[int, typer.Option(help="processes; -1 for one a core")] = 1,
    other: Annotated[
        str | None, typer.Option(help="which configuration beside the baseline, where there are several")
    ] = None,
    flown: Annotated[bool, typer.Option("--flown", help="the order in the files, even where there is a plan")] = False,
    files: Annotated[int, typer.Option(min=0, help="how many to send through real files as well")] = 3,
    out: Annotated[Path | None, typer.Option(help="the HTML file; default DIR/rehearsal.html")] = None,
    json: Annotated[bool, typer.Option("--json", help="print the same for machines, write no page")] = False,
) -> None:
    """Fly the campaign many times in a simulated sky with known truth: would it find the difference?"""
    from samesky.planning.rehearse import rehearse as rehearse_campaign
    from samesky.planning.rehearse import with_truth
    from samesky.planning.rehearse_files import through_files

    with _bar("rehearsing") as step:
        campaign = _sound(folder, flown=False)
        found = rehearse_campaign(campaign, campaigns, seed, jobs, other, flown, step)
    if json:
        from json import dumps

        from samesky.planning.rehearse_machine import to_json

        typer.echo(dumps(to_json(found), indent=2, ensure_ascii=False))
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

    with _progress("trying orders") as says:
        campaign = _sound(folder, flown=False)
        says("trying orders")
        return plan_of(campaign, other)


def _sound(folder: Path, flown: bool = True):
    """The campaign, or a stop with every error listed: no arithmetic on what has to be mended first."""
    from samesky.campaign.check import check as findings_of
    from samesky.campaign.read import read

    campaign = read(folder, flown)
    errors, _ = _sorted_findings(findings_of(campaign))
    if errors:
        _list("error", errors, "red")
        _stop(f"{len(errors)} to mend before anything can be computed; `samesky check` lists the doubtful ones too.")
    return campaign


def _sorted_findings(findings):
    errors = [finding for finding in findings if finding.kind == "error"]
    warnings = [finding for finding in findings if finding.kind == "warning"]
    return errors, warnings


def _list(label: str, findings, colour: str) -> None:
    from samesky.campaign.findings import sentences

    for said in sentences(findings):
        _line(label, said, colour)


def _line(label: str, text: str, colour: str) -> None:
    typer.secho(f"{label}: ", fg=colour, bold=True, nl=False, err=label == "error")
    typer.echo(text, err=label == "error")


def _stop(message: str) -> None:
    typer.secho(f"samesky: {message}", err=True)
    sys.exit(BAD_INPUT)


def _progress(first: str):
    """A spinner on a terminal, silence in a pipe; yields a function that changes its words."""
    from contextlib import contextmanager

    @contextmanager
    def spinning():
        from rich.console import Console

        console = Console(stderr=True)
        with console.status(first) as status:
            yield status.update

    return spinning()


def _bar(words: str):
    """A progress bar on a terminal, silence in a pipe; yields a function of steps done and steps in all."""
    from contextlib import contextmanager

    @contextmanager
    def moving():
        from rich.console import Console
        from rich.progress import Progress

        console = Console(stderr=True)
        with Progress(console=console, transient=True, disable=not console.is_terminal) as progress:
            task = progress.add_task(words, total=None)
            yield lambda done, of: progress.update(task, completed=done, total=of)

    return moving()


if __name__ == "__main__":
    main()
