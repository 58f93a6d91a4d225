"""Which files in this folder are the campaign's own, and do they lie in it?

A folder that somebody names on the command line may hold links: they are its owner's business, and reading follows
them. Where folders come from elsewhere, or are handed on, a link would show others a file of this machine.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path

from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import quoted
from samesky.campaign.reading.files import is_record
from samesky.campaign.tables.source_text import LARGEST
from samesky.campaign.toml.section import FILE
from samesky.exchange import catalogue as say

#: What a campaign is made of beside ``campaign.toml`` and a record of repeats: files of runs, words, and the
#: description of a data package.
SUFFIXES = (".csv", ".txt", ".md")
DESCRIPTION = "datapackage.json"
#: The report that is handed on beside them; whoever takes a campaign in makes it anew.
REPORT = "report.html"


def is_campaign_file(name: str) -> bool:
    """Whether a file of this name, without folders, is one that a campaign is made of."""
    return (
        name in (FILE, DESCRIPTION)
        or is_record(name)
        or (not name.startswith(".") and name.casefold().endswith(SUFFIXES))
    )


def holds_links(folder: Path | str) -> list[str]:
    """Names in the folder that lead elsewhere (links, junctions), sorted; ``"."`` first where the folder itself does.

    Looks at the folder and at what lies directly in it, hidden or not: reading a campaign goes no deeper. Raises
    CampaignError where the folder cannot be listed.
    """
    folder = Path(folder)
    try:
        here = os.path.realpath(folder)
        whole = folder.absolute()
        found = ["."] if _is_link(os.path.normpath(os.path.join(os.path.realpath(whole.parent), whole.name))) else []
        found += [entry for entry in sorted(os.listdir(folder)) if _is_link(os.path.join(here, entry))]
    except OSError as error:
        raise cannot(folder, say.PACKAGE_FOLDER_NOT_LISTED(reason=error.strerror or error)) from None
    return found


def own_files(folder: Path | str) -> tuple[dict[str, bytes], list[str]]:
    """The campaign's own files in the folder by name, and the names of all else that lies there, both sorted.

    Links are never followed, hidden files and folders never entered: they are among the rest. Raises CampaignError
    where a file cannot be read, or is too large.
    """
    folder = Path(folder)
    links = set(holds_links(folder)) - {"."}
    kept: dict[str, bytes] = {}
    rest: list[str] = []
    for name in sorted(os.listdir(folder)):
        path = os.path.join(folder, name)
        if name in links or not is_campaign_file(name) or not os.path.isfile(path):
            rest.append(name)
        else:
            kept[name] = _read_here(path, name)
    return kept, rest


def _is_link(path: str) -> bool:
    """Whether a path, whose folder is no link, leads elsewhere; one that leads round to itself does as well."""
    return os.path.islink(path) or os.path.normcase(os.path.realpath(path)) != os.path.normcase(path)


def _read_here(path: str, name: str) -> bytes:
    """The bytes of a plain file that is no link even if it has become one since."""
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb") as stream:
            about = os.fstat(handle)
            if not stat.S_ISREG(about.st_mode) or about.st_size > LARGEST:
                raise cannot(
                    name,
                    say.PACKAGE_FILE_TOO_LARGE(
                        st_size=about.st_size / 1000000.0, largest=LARGEST / 1000000.0, name=quoted(name)
                    ),
                )
            return stream.read(LARGEST + 1)
    except OSError as error:
        raise cannot(name, say.PACKAGE_FILE_NOT_READ(reason=error.strerror or error)) from None
