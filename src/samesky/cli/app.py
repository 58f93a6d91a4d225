"""The one application that the verbs belong to."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import click
import typer
from typer.core import TyperGroup

#: The verbs in the order of the work, as ``--help`` lists them.
GROUPS = {
    "Before flying": ("new", "plan", "cards", "rehearse"),
    "From the runs to the answer": ("check", "reduce", "compare", "report", "pool", "record"),
    "Filling in and handing on": ("worksheet", "track", "film", "weather", "pack", "unpack"),
}


#: Longer than any verb's sentence, so that none is cut short.
_WHOLE = 1000


class Verbs(TyperGroup):
    """Lists the verbs in the order of the work, in groups."""

    # Newer typers carry a click of their own, older ones do not: the ignored overrides are of the same shape in both.
    def list_commands(self, ctx: click.Context) -> list[str]:  # type: ignore[override]
        """Names of the verbs in the order of the work; one that belongs to no group comes last."""
        ordered = [name for names in GROUPS.values() for name in names if name in self.commands]
        return ordered + [name for name in self.commands if name not in ordered]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # type: ignore[override]
        """Write one section a group."""
        rest = tuple(name for name in self.commands if not any(name in names for names in GROUPS.values()))
        groups = {**GROUPS, "More": rest}
        widest = max(map(len, self.commands), default=0)
        for title, names in groups.items():
            rows = [(name.ljust(widest), self.commands[name].get_short_help_str(_WHOLE)) for name in names]
            if rows:
                with formatter.section(title):
                    formatter.write_dl(rows)


app = typer.Typer(
    name="samesky",
    cls=Verbs,
    help="Bring every run to the same sky, and say honestly which configuration suits which flying.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

Folder = Annotated[Path, typer.Argument(metavar="DIR", help="the campaign folder", show_default=False)]


@app.callback(invoke_without_command=True)
def _top(version: Annotated[bool, typer.Option("--version", help="print the version and stop")] = False) -> None:
    if version:
        from samesky import __version__

        typer.echo(__version__)
        raise typer.Exit
