"""What does the film of the rolls, as typed, put into the runs as typed?

The same functions as on the command line, on the folder of the draft; what they would write is kept as typing is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.findings import Finding
from samesky.campaign.toml.section import FILE
from samesky.evidence.film.propose import FilmProposal, propose, wanted
from samesky.evidence.film.put import fresh_table
from samesky.evidence.proposal import dry_run
from samesky.measures.filmed_rolls import FILMED
from samesky.worksheets.answers import Answers
from samesky.worksheets.campaign_context import CampaignContext
from samesky.worksheets.evidence.track import keep_all, must_be_of
from samesky.worksheets.page_words import sentence
from samesky.worksheets.runs.columns import film_file

#: The file of the frames where one is begun.
FILM_FILE = f"{FILMED.name}.csv"


@dataclass(frozen=True, slots=True)
class FilmState:
    """How far the film is: the ``file`` of its frames, ``""`` for none yet; whether anything is ``asked`` that it can
    give; whether it is ``told`` how it was filmed; how many rolls have frames; and what there is ``to_mend``.
    """

    file: str
    asked: bool
    told: bool
    rolls: int
    to_mend: tuple[str, ...]


def state_of(said: Answers, files: Mapping[str, str]) -> FilmState:
    """How far the film is, from the campaign as typed."""
    file = next(iter(film_file(files)), "")
    wrong = [one for one in said.findings if one.kind == "error" and is_of_film(one, file)]
    film = None if said.campaign is None else said.campaign.film
    rolls = 0 if film is None else int((film.frames.passages == film.frames.passages).any(axis=1).sum())
    told = film is not None and film.setup is not None
    asked = said.campaign is not None and bool(wanted(said.campaign))
    return FilmState(file, asked, told, rolls, tuple(sentence(one) for one in wrong[:8]))


def is_of_film(finding: Finding, file: str) -> bool:
    """Whether a finding is about the film: its table, or how it was filmed."""
    if finding.file == FILE:
        return (finding.column or "").startswith("[film]")
    return finding.file == file


def begin(context: CampaignContext) -> str:
    """Begin the table of frames where there is none; give its file. Raises CampaignError."""
    with context.draft.lock():
        file = next(iter(film_file(context.draft.files())), "")
        if not file:
            file = FILM_FILE
            context.draft.write(file, fresh_table(context.as_typed()))
    return file


def look(context: CampaignContext) -> tuple[str, FilmProposal]:
    """The version of the typing, and what the film offers for it; some milliseconds. Raises CampaignError."""
    with context.draft.lock():
        return context.draft.version(), propose(context.as_typed())


def fill(context: CampaignContext, version: str) -> FilmProposal:
    """Fill what the film offers into what is typed, all of it or nothing; give what was filled.

    Raises StaleError where something was typed since the page of ``version``, CampaignError as
    :func:`samesky.evidence.proposal.put` does; nothing is changed then.
    """
    with context.draft.lock():
        must_be_of(context.draft, version)
        _, proposal = look(context)
        keep_all(context.draft, dry_run(context.as_typed(), proposal).files)
    return proposal


def words_of(error: CampaignError) -> str:
    """What is wrong, for somebody at a page."""
    return sentence(error.finding)
