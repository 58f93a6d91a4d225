"""The verb that opens pages for those who would rather not type verbs: worksheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from samesky.cli.app import app
from samesky.cli.saying import stop


@app.command()
def worksheet(
    folder: Annotated[
        Path, typer.Argument(metavar="[DIR]", help="a campaign folder, or the folder that holds several")
    ] = Path(),
    lan: Annotated[bool, typer.Option("--lan", help="on the local network as well, after asking")] = False,
    port: Annotated[int, typer.Option(min=0, max=65535, help="0 takes a free one")] = 0,
    browser: Annotated[bool, typer.Option(help="open the page in the browser of this machine")] = True,
) -> None:
    """Open pages in the browser, on this machine only: type runs in, see the verdict, plan, and ask on the day."""
    missing = _missing()
    if missing:
        stop(
            f"the worksheet pages need {', '.join(missing)}. Install them once, with a network: "
            "pip install 'samesky[worksheets]'"
        )
    from samesky.worksheets.library.folders import CampaignStore
    from samesky.worksheets.server.server import exposes, local_address, serve

    address = None
    if lan:
        address = local_address()
        if address is None:
            stop("this machine has no address on a local network. Join one (a phone's hotspot), or leave out --lan.")
        typer.echo(exposes(CampaignStore.at(folder), address))
        if not typer.confirm("Open the pages to this network?", default=False):
            stop("not opened. Without --lan the pages are on this machine alone.")

    def say(line: str) -> None:
        typer.echo(line)
        if browser and "on this machine" in line:
            import webbrowser

            webbrowser.open(line.rpartition(" ")[2])

    serve(folder, port, address, say)


def _missing() -> list[str]:
    from importlib.util import find_spec

    needs = {
        "starlette": "starlette",
        "uvicorn": "uvicorn",
        "python_multipart": "python-multipart",
        "openpyxl": "openpyxl",
    }
    return [package for module, package in needs.items() if find_spec(module) is None]
