"""What did the film give, how sure is each number, and what was taken for granted? One self-contained page."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from samesky import units
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.tables.write import write_text
from samesky.evidence.film.propose import FilmedRun, FilmProposal
from samesky.measures.filmed_rolls import FILMED
from samesky.report import film_figure as figures
from samesky.report.phrases import number, places_for
from samesky.report.picture import Picture, picture
from samesky.report.rendering import rendered

#: What becomes of the cell of each kind of run.
STATES = {"fill": "blank, is filled", "there": "says so already", "apart": "has a reading, which stays"}


@dataclass(frozen=True, slots=True)
class FilmRow:
    """One run in words: the row of its file, its name, the column, the value with its plus or minus, and its state."""

    file: str
    row: int
    run: str
    column: str
    said: str
    state: str


def shown(proposal: FilmProposal) -> list[FilmRow]:
    """Every run that the film tells something of, each value plus or minus twice its standard uncertainty."""
    return [FilmRow(one.file, one.row, one.run, one.column, plus_minus(one), STATES[one.kind]) for one in proposal.runs]


def tables(proposal: FilmProposal) -> list[tuple[str, str, list[FilmRow]]]:
    """The rows by file and column."""
    rows = shown(proposal)
    return [
        (file, column, [row for row in rows if (row.file, row.column) == (file, column)])
        for file, column in figures.columns_of(proposal)
    ]


def plus_minus(one: FilmedRun) -> str:
    """``151.2 ± 1.3 m``."""
    value, spread = (float(units.from_si(x, one.unit, one.dimension)) for x in (one.value, 2 * one.uncertainty))
    places = places_for(spread)
    return f"{number(value, places)} ± {number(spread, places)} {one.unit}"


def headline(proposal: FilmProposal) -> str:
    """What came of it, in one sentence."""
    count = len(proposal.fills)
    if not proposal.runs:
        return "The film tells nothing of the runs yet."
    if not count:
        return "Nothing to fill in: every cell that the film tells of has a reading."
    files = ", ".join(dict.fromkeys(one.file for one in proposal.fills))
    return f"{count} blank cell{'s' * (count > 1)} of {files} can be filled."


def pictures(proposal: FilmProposal) -> list[tuple[str, Picture]]:
    """A picture of each column that the film tells something of, with what it is called."""
    found = []
    for file, column in figures.columns_of(proposal):

        def draw(width: float, file=file, column=column):
            return figures.by_run(proposal, file, column, width)

        found.append((column, picture(draw, figures.alt(proposal, file, column))))
    return found


def write_film(campaign: Campaign, proposal: FilmProposal, path: Path) -> Path:
    """Write the page; give its path. Raises CampaignError where it cannot be written; then nothing is left behind."""
    text = rendered(
        "film.html",
        campaign=campaign,
        proposal=proposal,
        headline=headline(proposal),
        tables=tables(proposal),
        pictures=pictures(proposal),
        cautions=FILMED.cautions,
    )
    return write_text(Path(path), text)
