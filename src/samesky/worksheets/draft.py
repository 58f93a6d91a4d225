"""What was typed and not yet saved, and how is nothing of it lost?

Typing goes into a folder ``.unsaved`` inside the campaign's own: a whole campaign, in the same files, each written
beside, put on the disk and renamed before the page is told that it is kept. A crash, a closed tab or a pulled plug
leaves it there. Saving puts its files in the campaign's place; where one of these was changed meanwhile by other hands
(an editor, the command line), saving stops, and goes on only over a copy of it. A file that nobody typed in follows
what other hands make of it.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import threading
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.reading.files import is_record
from samesky.campaign.tables.source_text import LARGEST, read_text
from samesky.campaign.tables.write import write_folder, write_text
from samesky.campaign.toml.section import FILE
from samesky.worksheets import catalogue as say

#: Folder of what is typed; the reader of campaigns does not look into folders.
UNSAVED = ".unsaved"
#: Folder of what was typed and thrown away last.
THROWN = ".thrown-away"
#: What the saved files were when typing began: SHA-256 of each.
BASED_ON = "based_on.json"
#: Added to the name of a file that other hands had changed before it was replaced; not read as a table.
BEFORE = ".before-saving"
#: Name of a folder that is done with; what a crash leaves of it goes when typing begins anew.
DONE = f".{UNSAVED}.done.part"

_LOCKS: dict[Path, threading.RLock] = {}
_LOCKS_LOCK = threading.Lock()


class ChangedOutsideError(CampaignError):
    """Saved files were changed by other hands since typing began; ``files`` names them."""

    def __init__(self, files: list[str], beside: str):
        super().__init__(cannot(", ".join(files), say.DRAFT_CHANGED_OUTSIDE(beside=beside)).finding)
        self.files = files


class NotKeptError(CampaignError):
    """The disk did not take what was typed; it may later."""


@dataclass(frozen=True, slots=True)
class Draft:
    """The typing in one campaign ``folder``; use it within :meth:`lock`."""

    folder: Path

    def lock(self) -> threading.RLock:
        """The lock of this campaign: one change at a time."""
        with _LOCKS_LOCK:
            return _LOCKS.setdefault(self.folder, threading.RLock())

    @property
    def place(self) -> Path:
        """The folder to read: what is typed where there is any, else what is saved."""
        unsaved = self.folder / UNSAVED
        typed = (unsaved / FILE).is_file() and not (unsaved / FILE).is_symlink() and not unsaved.is_symlink()
        return unsaved if typed else self.folder

    def files(self) -> dict[str, str]:
        """``campaign.toml``, every CSV file and a record of repeats, as typed.

        Raises CampaignError for a file that cannot be read.
        """
        return _texts(self.place)

    def saved(self) -> dict[str, str]:
        """The same, as saved."""
        return _texts(self.folder)

    def changed(self) -> list[str]:
        """Names of the files in which typing differs from what is saved."""
        if self.place == self.folder:
            return []
        typed, saved, based = self.files(), self.saved(), self._based_on()
        return [
            name
            for name in {**typed, **saved}
            if typed.get(name) != saved.get(name) and not _untouched(name, typed, based)
        ]

    def version(self) -> str:
        """A word that is the same as long as nothing typed or saved has changed."""
        digest = hashlib.sha256(self.place.name.encode("utf-8", "surrogatepass"))
        for texts in (self.files(), self.saved() if self.place != self.folder else {}):
            for name, text in sorted(texts.items()):
                digest.update(f"{name}\0{text}\0".encode("utf-8", "surrogatepass"))
        return digest.hexdigest()[:24]

    def write(self, name: str, text: str) -> None:
        """Keep a file as typed.

        Raises NotKeptError where the disk does not take it, CampaignError for a text that no file can hold; what was
        kept before stays.
        """
        # What no text file holds would leave one that cannot be read again.
        text = text.encode("utf-8", "replace").decode("utf-8").replace("\0", "")
        if len(text.encode("utf-8")) > LARGEST:
            raise cannot(name, say.DRAFT_TOO_LARGE(largest=LARGEST / 1000000.0))
        with _keeping(name):
            self._begin()
            write_text(self.folder / UNSAVED / name, text, lasting=True)

    def remove(self, name: str) -> None:
        """Leave a file out of what is typed; saving removes it."""
        with _keeping(name):
            self._begin()
            (self.folder / UNSAVED / name).unlink(missing_ok=True)

    def save(self, over: bool = False) -> list[str]:
        """Put what is typed in the campaign's own files; give the names of those that changed.

        Raises ChangedOutsideError unless ``over``, and CampaignError where a file cannot be written: what was not saved
        is then still kept as typed.
        """
        names = self.changed()
        if names:
            typed, saved, based = self.files(), self.saved(), self._based_on() or {}
            foreign = [name for name in names if name in saved and based.get(name) != _sha(saved[name])]
            if foreign and not over:
                raise ChangedOutsideError(foreign, self._beside(foreign[0]).name)
            for name in foreign:
                write_text(self._beside(name), saved[name], lasting=True)
            for name in names:
                if name in typed:
                    write_text(self.folder / name, typed[name], lasting=True)
                else:
                    _remove(self.folder / name)
        # All of it goes at once: half a campaign left here would look as if the other half had been deleted.
        with suppress(OSError):
            self._put_away(UNSAVED, DONE)
            shutil.rmtree(self.folder / DONE, ignore_errors=True)
        return names

    def throw_away(self) -> None:
        """Go back to what is saved; what was typed stays in a folder until the next time. Raises CampaignError."""
        if self.place != self.folder:
            try:
                self._put_away(UNSAVED, THROWN)
            except OSError as error:
                raise cannot("what was typed", say.DRAFT_NOT_THROWN_AWAY(reason=error.strerror)) from None

    def follow(self) -> None:
        """Take over what other hands saved in files that nobody has typed in."""
        with self.lock():
            if self.place == self.folder or not (based := self._based_on()):
                return
            typed, saved = self.files(), self.saved()
            moved = [
                name
                for name in {**typed, **saved}
                if typed.get(name) != saved.get(name) and _untouched(name, typed, based)
            ]
            # Where the disk does not take it, the next look tries again.
            with suppress(CampaignError, OSError):
                for name in moved:
                    if name in saved:
                        write_text(self.folder / UNSAVED / name, saved[name], lasting=True)
                        based[name] = _sha(saved[name])
                    elif name != FILE:
                        (self.folder / UNSAVED / name).unlink()
                        del based[name]
                if moved:
                    write_text(self.folder / UNSAVED / BASED_ON, json.dumps(based, indent=1), lasting=True)

    def _begin(self) -> None:
        if self.place == self.folder:
            # What a crash between two steps may have left behind holds no campaign.toml, so nothing typed.
            for left in (UNSAVED, *(path.name for path in self.folder.glob(f".{UNSAVED}.*.part"))):
                shutil.rmtree(self.folder / left, ignore_errors=True)
            saved = self.saved()
            based = {name: _sha(text) for name, text in saved.items()}
            files = {**saved, BASED_ON: json.dumps(based, indent=1)}
            write_folder(self.folder / UNSAVED, files, lasting=True)

    def _put_away(self, name: str, new: str) -> None:
        """Rename a folder, in the place of an older one of that name."""
        if (self.folder / new).exists():
            if new != DONE:
                self._put_away(new, DONE)
            shutil.rmtree(self.folder / DONE)
        if (self.folder / name).exists():
            os.replace(self.folder / name, self.folder / new)

    def _beside(self, name: str) -> Path:
        """Where a file of other hands is kept: an earlier one is not lost to a later."""
        names = (f"{name}{BEFORE}", *(f"{name}{BEFORE}-{k}" for k in range(2, 1000)))
        return next(path for path in (self.folder / one for one in names) if not os.path.lexists(path))

    def _based_on(self) -> dict[str, str] | None:
        """What the files were when typing began; None where that is not known."""
        try:
            found = json.loads((self.folder / UNSAVED / BASED_ON).read_text(encoding="utf-8"))
        except (OSError, ValueError, RecursionError):
            return None
        return found if isinstance(found, dict) else None


def _remove(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise cannot(path.name, say.DRAFT_NOT_REMOVED(reason=error.strerror)) from None


def _untouched(name: str, typed: dict[str, str], based: dict[str, str] | None) -> bool:
    """Whether a file is as it was when typing began: nobody typed in it."""
    return based is not None and based.get(name) == (_sha(typed[name]) if name in typed else None)


@contextmanager
def _keeping(name: str):
    """Says of what the disk refuses within that the typing was not kept."""
    try:
        yield
    except (CampaignError, OSError) as error:
        cause: BaseException | None = error
        while isinstance(cause, CampaignError):
            cause = cause.__cause__
        if not isinstance(cause, OSError):
            raise
        raise NotKeptError(cannot(name, say.DRAFT_NOT_KEPT(reason=cause.strerror or cause)).finding) from cause


def _texts(folder: Path) -> dict[str, str]:
    found = {}
    try:
        paths = sorted(folder.iterdir())
    except OSError as error:
        raise cannot(folder.name, say.DRAFT_NOT_LISTED(reason=error.strerror)) from None
    for path in paths:
        wanted = path.name == FILE or path.suffix.casefold() == ".csv" or is_record(path.name)
        if wanted and not path.name.startswith(".") and not path.is_symlink() and path.is_file():
            text, findings = read_text(path)
            if text is None:
                raise CampaignError(findings[0])
            found[path.name] = text
    return found


def _sha(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
