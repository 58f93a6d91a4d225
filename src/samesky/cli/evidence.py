"""The verb that takes runs out of what pilots carry: satellite tracks."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from samesky.cli import catalogue as say
from samesky.cli.app import Folder, app
from samesky.cli.saying import line, stop

#: How messages name what was given.
OPTIONS = {
    name: f"--{name.replace('_', '-')}"
    for name in (
        *("measure", "from", "to", "date", "utc_offset", "bottom", "top", "legs", "lift_off_speed"),
        *("touch_down_speed", "first_speed", "second_speed", "oat", "qnh"),
    )
}


@app.command()
def track(
    folder: Folder,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="a GPX, NMEA 0183 or IGC file", show_default=False)],
    measure: Annotated[
        str,
        typer.Option(help="such as timed_climb or takeoff_roll; a wrong one is answered with all", show_default=False),
    ],
    configuration: Annotated[str, typer.Option(help="which one was flown", show_default=False)],
    expected: Annotated[int, typer.Option(min=1, max=200, help="how many runs were flown: all of them are taken")] = 1,
    start: Annotated[str | None, typer.Option("--from", help="look from this local clock time on, HH:MM")] = None,
    end: Annotated[str | None, typer.Option("--to", help="look up to this local clock time, HH:MM")] = None,
    date: Annotated[
        str | None, typer.Option(help="of these times, for a track of several days or a log without one")
    ] = None,
    utc_offset: Annotated[str, typer.Option(help="how far the clock of the runs is ahead of UTC")] = "+00:00",
    bottom: Annotated[
        str | None, typer.Option(help='lower end of each climb or descent, pressure altitude, "1000 ft"')
    ] = None,
    top: Annotated[str | None, typer.Option(help="upper end of each climb or descent")] = None,
    legs: Annotated[int | None, typer.Option(min=2, max=8, help="how many level legs make a run")] = None,
    lift_off_speed: Annotated[
        str | None, typer.Option(help="over the ground; without it the heights tell the lift-off")
    ] = None,
    touch_down_speed: Annotated[
        str | None, typer.Option(help="over the ground; without it a landing roll is hardly known")
    ] = None,
    first_speed: Annotated[
        str | None, typer.Option(help="over the ground, where the time of an acceleration begins")
    ] = None,
    second_speed: Annotated[str | None, typer.Option(help="and where it ends")] = None,
    oat: Annotated[str | None, typer.Option(help='temperature where these runs were flown, "12 degC"')] = None,
    qnh: Annotated[str | None, typer.Option(help='altimeter setting of these runs, "1018 hPa"')] = None,
    installation: Annotated[str, typer.Option(help="number of the fitting, where the file counts them")] = "",
    write: Annotated[bool, typer.Option("--write", help="write it; without this nothing is changed")] = False,
    out: Annotated[Path | None, typer.Option(help="the HTML page; default DIR/track.html")] = None,
) -> None:
    """Find climbs, descents, level legs, rolls or accelerations in a satellite track and put them in as runs."""
    from samesky.campaign.messages.errors import cannot
    from samesky.campaign.reading.read import read
    from samesky.evidence.local_clock import date_said, moments
    from samesky.evidence.local_clock import utc_offset as hours_of
    from samesky.evidence.proposal import dry_run, put
    from samesky.evidence.tracks.propose import propose
    from samesky.evidence.tracks.words import told
    from samesky.instruments.tracks import TrackError, read_track

    offset = hours_of(utc_offset, OPTIONS["utc_offset"])
    campaign = read(folder, flown=False)
    _sound_settings(campaign)
    words = {"bottom": bottom, "top": top, "legs": legs, "lift_off_speed": lift_off_speed}
    words |= {"touch_down_speed": touch_down_speed, "oat": oat, "qnh": qnh}
    words |= {"first_speed": first_speed, "second_speed": second_speed}
    said = told(measure, words, OPTIONS)
    try:
        fixes = read_track(file, date=date_said(date, OPTIONS["date"]).isoformat() if date else None)
        span = float(fixes.time.min()), float(fixes.time.max())
        between = moments(start, end, date, span, offset, OPTIONS)
        proposal = propose(
            campaign, fixes, measure, configuration=configuration, between=between, utc_offset_hours=offset,
            expected=expected, installation=installation, **said,
        )  # fmt: skip
    except TrackError as error:
        raise cannot(error.file, say.TRACK_UNREADABLE(found=error.found, mend=error.mend), error.line) from None
    trial = dry_run(campaign, proposal) if proposal.rows else None
    written = put(folder, proposal) if write and proposal.rows else []
    _show(proposal)
    left = () if trial is None else trial.left
    for finding in left:
        line("to fill in", finding.sentence(), "yellow")
    for path in written:
        typer.echo(f"Wrote {path}")
    if written:
        typer.echo(f"Then: samesky check {folder}")
    else:
        more = " The same with --write adds these rows." if proposal.rows else ""
        typer.echo(f"Nothing was written into the campaign.{more}")
    from samesky.report.track_page import write_track

    target = out if out is not None else folder / "track.html"
    typer.echo(f"Look at the pictures: {write_track(campaign, fixes, proposal, target, left).resolve()}")
    if write and not written:
        stop("nothing was written: the track does not say which; what to tell it stands above.")


def _sound_settings(campaign) -> None:
    """Stop at the first error of ``campaign.toml``: rows of a campaign that cannot be read would help nobody."""
    from samesky.campaign.messages.errors import CampaignError
    from samesky.campaign.toml.section import FILE

    for finding in campaign.findings:
        if finding.kind == "error" and finding.file == FILE:
            raise CampaignError(finding)


def _show(proposal) -> None:
    from samesky.report.track_page import headline, row

    typer.echo(headline(proposal))
    typer.echo(f"{proposal.found.reason}.")
    for index in range(len(proposal.runs)):
        one = row(proposal, index)
        readings = ", ".join(f"{name} {text}" for name, text in one.readings)
        typer.echo(f"run {one.run}, {one.clock}: {one.result} ({readings})")
    if proposal.planned:
        line("planned", proposal.planned, "green" if proposal.places else "yellow")
    for assumed in proposal.assumptions:
        line("assumed", assumed, "cyan")
    for question in proposal.questions:
        line("to say", question, "yellow")
    for source in proposal.sources:
        line(
            "error source",
            f"{source.name}: {source.size_text()} on {source.target}, alike within a {source.scope}",
            "cyan",
        )
