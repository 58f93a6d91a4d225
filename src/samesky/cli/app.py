"""The one application that the verbs belong to."""

from __future__ import annotations

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


@app.callback(invoke_without_command=True)
def _top(version: Annotated[bool, typer.Option("--version", help="print the version and stop")] = False) -> None:
    if version:
        from samesky import __version__

        typer.echo(__version__)
        raise typer.Exit
