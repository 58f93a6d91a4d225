"""What happens to a track that somebody drops on a page, until its runs have been put into a table?

Its bytes lie in a temporary file only while they are read, under a name of ours and never the upload's. What is kept
is the fixes alone, in memory, under a word that nobody can guess, for one campaign, until they have been used, newer
tracks need the room, or the pages stop.
"""

from __future__ import annotations

import secrets
import shutil
import tempfile
from collections import OrderedDict
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock
from typing import BinaryIO

from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import quoted
from samesky.instruments.tracks import Fixes, TrackError, read_track
from samesky.instruments.tracks.readers.read import READERS
from samesky.worksheets import catalogue as say
from samesky.worksheets.library.uploads import base_name

#: Endings that a track may have; those without a kind of their own are told by their content.
ENDINGS = (*READERS, ".txt", ".log", "")
#: Tracks kept of one campaign, and of all.
MOST, MOST_OF_ALL = 3, 8
#: Fixes kept of all tracks, about 100 MB; the newest track is kept whatever its length.
MOST_FIXES = 1_500_000
#: Longest name of a file that is repeated in messages and notes.
LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class Kept:
    """One track of the campaign in ``folder``."""

    folder: Path
    fixes: Fixes


_kept: OrderedDict[str, Kept] = OrderedDict()
_lock = Lock()


def read_upload(stream: BinaryIO, name: str, date: str | None = None) -> Fixes:
    """The track in an uploaded file; its name tells what kind it claims to be, and names it in messages.

    ``date`` (ISO 8601) is that of a log which tells none itself.

    Raises CampaignError for what is no track, or not the kind that it claims to be.
    """
    shown = base_name(name)[-LONGEST_NAME:]
    if not shown:
        raise cannot("the track", say.UPLOAD_NO_TRACK())
    ending = Path(shown).suffix.lower()
    if ending not in ENDINGS:
        raise cannot(shown, say.UPLOAD_TRACK_KIND(ending=quoted(ending)))
    with tempfile.TemporaryDirectory(prefix="samesky-", ignore_cleanup_errors=True) as place:
        path = Path(place) / f"track{ending}"
        try:
            with path.open("wb") as file:
                shutil.copyfileobj(stream, file)
        except OSError as error:
            raise cannot(shown, say.UPLOAD_NOT_HELD(reason=error.strerror)) from None
        try:
            fixes = read_track(path, date=date)
        except TrackError as error:
            place = f"{shown}, line {error.line}" if error.line else shown
            raise cannot(place, say.UPLOAD_TRACK_UNREADABLE(found=error.found, mend=error.mend)) from None
    return replace(fixes, source=shown)


def keep(folder: Path, fixes: Fixes) -> str:
    """Keep a track of the campaign in ``folder``; give the word to ask for it. The oldest go where there are many."""
    word = secrets.token_urlsafe(16)
    with _lock:
        _kept[word] = Kept(folder, fixes)
        own = [one for one, kept in _kept.items() if kept.folder == folder]
        for old in own[:-MOST]:
            del _kept[old]
        while len(_kept) > MOST_OF_ALL or (len(_kept) > 1 and sum(len(k.fixes) for k in _kept.values()) > MOST_FIXES):
            _kept.popitem(last=False)
    return word


def kept(folder: Path, word: str) -> Fixes:
    """The track of that word. Raises CampaignError where this campaign has none of it, or no longer."""
    with _lock:
        found = _kept.get(word)
        if found is None or found.folder != folder:
            raise cannot("the track", say.UPLOAD_TRACK_GONE())
        _kept.move_to_end(word)
        return found.fixes


def forget(word: str) -> None:
    """Let a track go."""
    with _lock:
        _kept.pop(word, None)
