"""Where do a track's rows stand in the campaign's file, and is one of them there already?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import plain_name
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.unflown import unflown_places
from samesky.evidence import catalogue as say
from samesky.evidence.fill_planned import filled, moment_of
from samesky.evidence.run_file import RunFile, run_file, with_row
from samesky.evidence.tracks.runs import TrackRun
from samesky.measures import MEASURES

#: Hours by which the same run may begin earlier in the file than in the track: clocks are written to the minute.
SAME_RUN = 1.5 / 60


def with_rows(
    campaign: Campaign,
    measure: str,
    headers: Mapping[str, str],
    rows: Sequence[Mapping[str, str]],
    runs: Sequence[TrackRun],
    places: Sequence[int],
) -> str:
    """The text of the file of runs with the new rows in their places by date and clock.

    Raises CampaignError where the file has changed since, or has such a run already.
    """
    file, day = run_file(campaign, MEASURES[measure]), campaign.day
    grid = file.grid.trimmed()
    for name, cell in headers.items():
        if grid.column(name) is None:
            grid = grid.with_column(cell)
        elif not file.fresh and plain_name(file.header(name)) != plain_name(cell):
            raise cannot(
                file.name,
                say.PUT_HEADER_CHANGED(header=file.header(name), cell=cell),
            )
    waiting = set(unflown_places(grid, list(file.known().values())))
    if not waiting.issuperset(places):
        raise cannot(file.name, say.PUT_PLANNED_ROW_GONE())
    for row, run, place in zip(rows, runs, places or (None,) * len(rows), strict=True):
        moments = _moments(RunFile(file.measure, file.name, grid, False), day)
        own = moment_of(row, day)
        end = own + max(SAME_RUN, (run.end - run.start) / 3600.0)
        twin = next((k for k, moment in enumerate(moments) if moment and own - SAME_RUN < moment < end), None)
        if twin is not None:
            raise cannot(
                file.name,
                say.PUT_RUN_THERE_ALREADY(the_row=row["clock"], get=row.get("date") or day),
                grid.numbers()[1][twin],
            )
        if place is not None:
            grid = filled(grid, place, row)
            continue
        later = next((k for k, moment in enumerate(moments) if moment and moment > own), len(grid.rows))
        grid = with_row(grid, row, later)
    return grid.to_text()


def _moments(file: RunFile, day) -> list[float | None]:
    """Hours of every row from a fixed midnight; None where date or clock cannot be read."""
    return [
        moment_of({"date": date, "clock": clock}, day)
        for date, clock in zip(file.column("date"), file.column("clock"), strict=True)
    ]
