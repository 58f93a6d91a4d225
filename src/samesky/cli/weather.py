"""The verb that fills blank cells from weather reports."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from samesky.cli import catalogue as say
from samesky.cli.app import Folder, app
from samesky.cli.saying import line


@app.command()
def weather(
    folder: Folder,
    reports: Annotated[
        str, typer.Argument(metavar="FILE|-", help="METAR and SPECI reports of one aerodrome; - reads what is piped in")
    ],
    utc_offset: Annotated[
        str, typer.Option(help="how far the clocks of the runs are ahead of UTC, such as +02:00", show_default=False)
    ],
    wing_height: Annotated[str, typer.Option(help="of the wing over the strip")] = "1.5 m",
    write: Annotated[bool, typer.Option("--write", help="write it; without this nothing is changed")] = False,
) -> None:
    """Fill blank cells of runs on the ground from the airfield's weather reports; no reading is replaced."""
    from samesky import units
    from samesky.campaign.messages.errors import cannot
    from samesky.campaign.reading.read import read
    from samesky.evidence.local_clock import utc_offset as hours_of
    from samesky.evidence.proposal import put
    from samesky.evidence.weather.propose import Heights, propose

    try:
        wing = units.parse(wing_height, "length")
    except units.UnitError as error:
        raise cannot("--wing-height", say.WEATHER_WING_HEIGHT_UNREADABLE(error=error)) from None
    hours = hours_of(utc_offset, "--utc-offset")
    proposal = propose(read(folder, flown=False), _text(reports), utc_offset_hours=hours, heights=Heights(wing))
    _show(proposal)
    if not proposal.fills:
        typer.echo("Nothing to fill in.")
    elif write:
        for path in put(folder, proposal):
            typer.echo(f"Wrote {path}")
        typer.echo(f"Then: samesky check {folder}")
    else:
        typer.echo("Nothing was written. The same with --write fills the cells in.")


def _text(name: str) -> str:
    from samesky.campaign.messages.errors import CampaignError, cannot
    from samesky.campaign.tables.source_text import LARGEST, decode, read_text

    if name == "-":
        data = sys.stdin.buffer.read(LARGEST + 1)
        if len(data) > LARGEST:
            raise cannot("-", say.WEATHER_TOO_MUCH_PIPED())
        text, findings = decode(data, "-")
    else:
        text, findings = read_text(Path(name))
    if text is None:
        raise CampaignError(findings[0])
    return text


def _show(proposal) -> None:
    first, last = proposal.found[0], proposal.found[-1]
    typer.echo(f"{len(proposal.found)} reports of {first.station}: {_clock(first.time)} to {_clock(last.time)} UTC.")
    cells: dict[tuple[str, int, str], list[str]] = {}
    for one in proposal.fills:
        cells.setdefault((one.file, one.row, one.run), []).append(f"{one.column} {one.text} {one.unit}")
    for (file, row, run), said in cells.items():
        typer.echo(f"{file}, row {row}, run {run}: {', '.join(said)}")
    for note in proposal.notes:
        typer.echo(note)
    for said in proposal.left:
        line("left blank", said, "yellow")
    for doubt in proposal.doubted:
        line("warning", doubt.sentence(), "yellow")


def _clock(time: float) -> str:
    from datetime import UTC, datetime

    return datetime.fromtimestamp(time, UTC).strftime("%Y-%m-%d %H:%M")
