"""Which campaigns are here, and how is one more put beside them?

The store is one folder. A page may name only what stands in it: names are compared with the folder's own entries, so
that no name can lead elsewhere, and a campaign that holds a link is not opened, so that nothing outside is read.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from threading import Lock

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.tables.write import write_folder
from samesky.campaign.toml.parse import parsed
from samesky.campaign.toml.section import FILE
from samesky.exchange.own_files import holds_links
from samesky.worksheets import catalogue as say
from samesky.worksheets.draft import UNSAVED, Draft

#: Longest name of a folder made here.
LONGEST = 60
#: Names that one of the usual systems keeps for devices.
_DEVICES = {"con", "prn", "aux", "nul", *(f"{kind}{k}" for kind in ("com", "lpt") for k in range(1, 10))}

_putting = Lock()


@dataclass(frozen=True, slots=True)
class StoredCampaign:
    """One campaign on the store; ``unsaved`` where typing has not been saved to its files."""

    name: str
    title: str
    unsaved: bool


@dataclass(frozen=True, slots=True)
class CampaignStore:
    """The folder ``root``; where ``only`` is given, that one campaign in it and no other."""

    root: Path
    only: str | None = None

    @classmethod
    def at(cls, folder: Path) -> CampaignStore:
        """The store at a folder: a campaign alone, or a folder of campaigns.

        Raises CampaignError where there is no such folder: a mistyped name is no wish for an empty store.
        """
        # os.path, unlike pathlib, answers for names that the file system cannot even look up.
        if os.path.exists(folder) and not os.path.isdir(folder):
            raise cannot(folder, say.SHELF_IS_A_FILE())
        # Where a link leads is its owner's business as long as it is they who name it.
        try:
            found = Path(os.path.realpath(folder))
        except (OSError, ValueError) as error:
            raise cannot(folder, say.SHELF_NO_NAME(error=error)) from None
        if os.path.isfile(found / FILE):
            return cls(found.parent, found.name)
        if not os.path.isdir(found):
            raise cannot(folder, say.SHELF_NOT_THERE())
        return cls(found)

    def campaigns(self) -> list[StoredCampaign]:
        """Every campaign here, by name."""
        return [
            StoredCampaign(name, _title(self.root / name), (self.root / name / UNSAVED).is_dir())
            for name in self._names()
        ]

    def folder(self, name: str) -> Path:
        """The folder of a campaign. Raises CampaignError where there is none of that name, or where it holds a link."""
        if name not in self._names():
            raise cannot(name, say.SHELF_NO_SUCH_CAMPAIGN())
        folder = self.root / name
        if links := [*_links(folder), *_links(folder / UNSAVED)]:
            raise cannot(name, say.SHELF_LINK(link=links[0]))
        return folder

    def put(self, title: str, files: Mapping[str, str]) -> str:
        """Put the files of a new campaign on the store, under a name made from its title; give the name.

        A title that is taken gets a number. Raises CampaignError where nothing can be written, or where the store holds
        one campaign alone.
        """
        if self.only is not None:
            raise cannot(self.only, say.SHELF_ONE_CAMPAIGN())
        stem = folder_name(title)
        # One after another, or two of one title would be written into one folder.
        with _putting:
            try:
                taken = {name.casefold() for name in os.listdir(self.root)}
            except OSError as error:
                raise self._unlisted(error) from None
            names = (stem, *(f"{stem}-{k}" for k in range(2, 10_000)))
            name = next(one for one in names if one.casefold() not in taken)
            write_folder(self.root / name, files, lasting=True)
        return name

    def _names(self) -> list[str]:
        try:
            found = sorted(
                entry.name
                for entry in os.scandir(self.root)
                if (entry.name == self.only if self.only is not None else not entry.name.startswith("."))
                and entry.name.isprintable()
                and entry.is_dir(follow_symlinks=False)
                and os.path.isfile(Path(entry.path) / FILE)
            )
        except OSError as error:
            raise self._unlisted(error) from None
        return found

    def _unlisted(self, error: OSError):
        return cannot(self.root, say.SHELF_NOT_LISTED(reason=error.strerror))


def folder_name(title: str) -> str:
    """A title as the name of a folder: small letters of the Latin alphabet, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    name = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:LONGEST].strip("-")
    return f"campaign-{name}".strip("-") if not name or name in _DEVICES else name


def _links(folder: Path) -> list[str]:
    """Links in a folder; none where there is no such folder, or none any more (typing was saved just now)."""
    try:
        return [name for name in holds_links(folder) if name != "."]
    except CampaignError:
        if folder.is_dir():
            raise
        return []


def _title(folder: Path) -> str:
    from samesky.campaign.tables.source_text import read_text

    place = Draft(folder).place
    if (place / FILE).is_symlink():
        return folder.name
    text, _ = read_text(place / FILE)
    return title_of(text or "") or folder.name


def title_of(text: str) -> str:
    """The title in the text of ``campaign.toml``; ``""`` where it has none, or cannot be read."""
    try:
        title = parsed(text).get("title", "")
    except CampaignError:
        return ""
    return title.strip() if isinstance(title, str) else ""
