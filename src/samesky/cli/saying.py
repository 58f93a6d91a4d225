"""How does the command line speak? Findings, progress, and the stop for input that has to be mended first."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import NoReturn

import typer

from samesky.campaign.messages.words import one_line

#: Exit code for input that has to be mended first.
BAD_INPUT = 2


def sound(folder: Path, flown: bool = True):
    """The campaign, or a stop with every error listed: no arithmetic on what has to be mended first."""
    from samesky.campaign.reading.read import read
    from samesky.checks.check import check as findings_of

    campaign = read(folder, flown)
    errors, _ = sorted_findings(findings_of(campaign))
    if errors:
        list_findings("error", errors, "red")
        stop(f"{counted(errors)} to mend before anything can be computed; `samesky check` lists the warnings too.")
    return campaign


def sorted_findings(findings):
    """Errors and warnings of a list of findings, apart."""
    errors = [finding for finding in findings if finding.kind == "error"]
    warnings = [finding for finding in findings if finding.kind == "warning"]
    return errors, warnings


def counted(errors, warnings=None) -> str:
    """``1 error, 2 warnings``; errors alone where no warnings are given."""
    said = f"{len(errors)} error{'s' * (len(errors) != 1)}"
    return said if warnings is None else f"{said}, {len(warnings)} warning{'s' * (len(warnings) != 1)}"


def list_findings(label: str, findings, colour: str) -> None:
    """Print a line a finding; errors go to the error stream."""
    from samesky.campaign.messages.findings import sentences

    for said in sentences(findings):
        line(label, said, colour)


def line(label: str, text: str, colour: str) -> None:
    """Print a coloured label and a text."""
    typer.secho(f"{label}: ", fg=colour, bold=True, nl=False, err=label == "error")
    typer.echo(one_line(text), err=label == "error")


def stop(message: str) -> NoReturn:
    """Print one message and end with the exit code of bad input."""
    typer.secho(f"samesky: {one_line(message)}", err=True)
    sys.exit(BAD_INPUT)


def json_text(found: object) -> str:
    """What is found for machines: with escapes where the output's code page does not take every sign."""
    from json import dumps

    from samesky.cli.streams import is_unicode

    return dumps(found, indent=2, ensure_ascii=not is_unicode())


def progress_words(first: str):
    """A spinner on a terminal, silence in a pipe; yields a function that changes its words."""
    from contextlib import contextmanager

    @contextmanager
    def spinning():
        from rich.console import Console

        console = Console(stderr=True)
        with console.status(first) as status:
            yield status.update

    return spinning()


def bar(words: str):
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


def say_what_is_ahead(campaign) -> None:
    """Print how many planned runs are not flown yet, and which comes next; nothing where there is none."""
    from samesky.campaign.reading.unflown import next_words, unflown_words

    for said in (unflown_words(campaign), next_words(campaign)):
        if said:
            typer.echo(said)
