"""What was typed and not yet saved, and how is nothing of it lost?

Typing goes into a folder ``.unsaved`` inside the campaign's own: a whole campaign, in the same files, each written
beside and renamed before the page is told that it is kept. A crash, a closed tab or a pulled plug leaves it there.
Saving puts its files in the campaign's place; where one of these was changed meanwhile by other hands (an editor, the
command line), saving stops, and goes on only over a copy of it.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import threading
from dataclasses import dataclass
from pathlib import Path

from samesky.campaign.errors import CampaignError, cannot
from samesky.campaign.sections import FILE
from samesky.campaign.source_text import read_text
from samesky.campaign.write import write_folder, write_text

#: Folder of what is typed; the reader of campaigns does not look into folders.
UNSAVED = ".unsaved"
#: Folder of what was typed and thrown away last.
THROWN = ".thrown-away"
#: What the saved files were when typing began: SHA-256 of each.
BASED_ON = "based_on.json"
#: Added to the name of a file that other hands had changed before it was replaced; not read as a table.
BEFORE = ".before-saving"

_LOCKS: dict[Path, threading.RLock] = {}
_LOCKS_LOCK = threading.Lock()


class ChangedOutsideError(CampaignError):
    """Saved files were changed by other hands since typing began; ``files`` names them."""

    def __init__(self, files: list[str]):
        message = "was changed by other hands (an editor, the command line) since you began to type."
        mend = f"Save over it, and it is kept beside as {files[0]}{BEFORE}; or throw your typing away and take it."
        super().__init__(cannot(", ".join(files), message, mend).finding)
        self.files = files


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
        return self.folder / UNSAVED if (self.folder / UNSAVED / FILE).is_file() else self.folder

    def files(self) -> dict[str, str]:
        """``campaign.toml`` and every CSV file, as typed. Raises CampaignError for a file that cannot be read."""
        return _texts(self.place)

    def saved(self) -> dict[str, str]:
        """The same, as saved."""
        return _texts(self.folder)

    def changed(self) -> list[str]:
        """Names of the files in which typing differs from what is saved."""
        if self.place == self.folder:
            return []
        typed, saved = self.files(), self.saved()
        return [name for name in {**typed, **saved} if typed.get(name) != saved.get(name)]

    def version(self) -> str:
        """A word that is the same as long as nothing typed or saved has changed."""
        digest = hashlib.sha256(self.place.name.encode())
        for name, text in sorted(self.files().items()):
            digest.update(f"{name}\0{text}\0".encode("utf-8", "surrogatepass"))
        return digest.hexdigest()[:24]

    def write(self, name: str, text: str) -> None:
        """Keep a file as typed. Raises CampaignError where it cannot be written; what was kept before stays."""
        self._begin()
        write_text(self.folder / UNSAVED / name, text)

    def remove(self, name: str) -> None:
        """Leave a file out of what is typed; saving removes it."""
        self._begin()
        (self.folder / UNSAVED / name).unlink(missing_ok=True)

    def save(self, over: bool = False) -> list[str]:
        """Put what is typed in the campaign's own files; give the names of those that changed.

        Raises ChangedOutsideError unless ``over``, and CampaignError where a file cannot be written: what was not saved
        is then still kept as typed.
        """
        names = self.changed()
        if names:
            typed, saved, based = self.files(), self.saved(), self._based_on()
            foreign = [name for name in names if name in saved and based.get(name) != _sha(saved[name])]
            if foreign and not over:
                raise ChangedOutsideError(foreign)
            for name in foreign:
                write_text(self.folder / f"{name}{BEFORE}", saved[name])
            for name in names:
                if name in typed:
                    write_text(self.folder / name, typed[name])
                else:
                    (self.folder / name).unlink(missing_ok=True)
        shutil.rmtree(self.folder / UNSAVED, ignore_errors=True)
        return names

    def throw_away(self) -> None:
        """Go back to what is saved; what was typed stays in a folder until the next time."""
        if self.place != self.folder:
            shutil.rmtree(self.folder / THROWN, ignore_errors=True)
            os.replace(self.folder / UNSAVED, self.folder / THROWN)

    def _begin(self) -> None:
        if self.place == self.folder:
            # What a crash between two steps may have left behind holds no campaign.toml, so nothing typed.
            shutil.rmtree(self.folder / UNSAVED, ignore_errors=True)
            saved = self.saved()
            based = {name: _sha(text) for name, text in saved.items()}
            write_folder(self.folder / UNSAVED, {**saved, BASED_ON: json.dumps(based, indent=1)})

    def _based_on(self) -> dict[str, str]:
        try:
            found = json.loads((self.folder / UNSAVED / BASED_ON).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return found if isinstance(found, dict) else {}


def _texts(folder: Path) -> dict[str, str]:
    found = {}
    for path in sorted(folder.iterdir()):
        wanted = path.name == FILE or path.suffix.casefold() == ".csv"
        if wanted and not path.name.startswith(".") and not path.is_symlink() and path.is_file():
            text, findings = read_text(path)
            if text is None:
                raise CampaignError(findings[0])
            found[path.name] = text
    return found


def _sha(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
