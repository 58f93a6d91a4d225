"""What does a kept track offer to a campaign as typed, and how do its rows get into what is typed?

The same functions as on the command line, on the folder of the draft; what they would write is kept as typing is.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from threading import Lock

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.read import read_texts
from samesky.evidence.proposal import dry_run
from samesky.evidence.tracks.propose import TrackProposal, propose
from samesky.instruments.tracks import Fixes, TrackError
from samesky.worksheets import catalogue as say
from samesky.worksheets.campaign_context import CampaignContext
from samesky.worksheets.draft import Draft
from samesky.worksheets.evidence import kept_tracks
from samesky.worksheets.evidence.track_form import options, ready
from samesky.worksheets.latest import Latest
from samesky.worksheets.verdict_pages import DRAWING

#: Looks kept: a page that is loaded again, or goes on from there, computes nothing anew.
KEPT = 6

_looks: Latest[tuple, TrackView] = Latest(KEPT)
_looking = Lock()


class StaleError(CampaignError):
    """What a page showed is not of what is typed now."""


@dataclass(frozen=True, slots=True)
class TrackView:
    """What a track offers, at one state of the typing.

    ``version`` is of that state. ``left`` are errors that remain until the pilot has filled in what no track knows;
    ``refusal`` is why the rows cannot be put, ``""`` where they can; ``clock`` and ``ground`` are the pictures, and
    ``part`` says where they are of a part.
    """

    version: str
    campaign: Campaign
    fixes: Fixes
    proposal: TrackProposal
    left: tuple[Finding, ...]
    refusal: str
    clock: object
    ground: object
    part: str


def look(context: CampaignContext, word: str, words: Mapping[str, str]) -> TrackView:
    """What the kept track offers for these words; a second or so where it is new. Raises CampaignError."""
    fixes = kept_tracks.kept(context.draft.folder, word)
    with _looking:
        with context.draft.lock():
            version, files = context.draft.version(), context.draft.files()
        key = (context.draft.folder, version, word, *words.items())
        before = _looks.get(key)
        if before is not None:
            return before
        # On the texts as they are now, so that others can go on typing meanwhile.
        campaign = read_texts(files, flown=False)
        proposal = _proposed(campaign, fixes, words)
        left, refusal = (), ""
        if proposal.rows:
            try:
                left = dry_run(campaign, proposal).left
            except CampaignError as error:
                refusal = error.finding.sentence()
        from samesky.report.track_page import pictures

        with DRAWING:
            made = TrackView(version, campaign, fixes, proposal, left, refusal, *pictures(fixes, proposal))
        return _looks.keep(key, made)


def _proposed(campaign: Campaign, fixes: Fixes, words: Mapping[str, str]) -> TrackProposal:
    ready(campaign)
    asked = options(words, fixes)
    try:
        return propose(campaign, fixes, asked.pop("measure"), **asked)
    except TrackError as error:
        raise cannot(error.file, say.UPLOAD_TRACK_UNREADABLE(found=error.found, mend=error.mend), error.line) from None


def put_rows(context: CampaignContext, word: str, words: Mapping[str, str], version: str) -> TrackProposal:
    """Put what the track offers into what is typed, then let the track go; give what was put.

    Raises StaleError where something was typed since the page of ``version``, CampaignError where there is nothing to
    put or as :func:`samesky.evidence.proposal.put` does; nothing is changed then.
    """
    found = look(context, word, words)
    with context.draft.lock():
        must_be_of(context.draft, version)
        must_be_of(context.draft, found.version)
        keep_all(context.draft, dry_run(context.as_typed(), found.proposal).files)
    kept_tracks.forget(word)
    _looks.forget(lambda key: key[2] == word)
    return found.proposal


def must_be_of(draft: Draft, version: str) -> None:
    """Raises StaleError where the typing is no longer what a page of that version showed."""
    if draft.version() != version:
        raise StaleError(cannot("the campaign", say.PAGE_STALE()).finding)


def keep_all(draft: Draft, texts: Mapping[str, str]) -> None:
    """Keep several files as typed, all of them or none. Raises CampaignError."""
    with draft.lock():
        before = draft.files()
        done: list[str] = []
        try:
            for name, text in texts.items():
                draft.write(name, text)
                done.append(name)
        except CampaignError:
            for name in done:
                with suppress(CampaignError):
                    draft.write(name, before[name]) if name in before else draft.remove(name)
            raise
