"""Which texts make up a campaign, and can each be read as text at all?

A campaign is ``campaign.toml``, the CSV files beside it and a record of earlier repeats, whether they stand in a folder
or are only thought of: all of the reader works on the texts that are gathered here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import plain_name
from samesky.campaign.tables.source_text import decode, read_text
from samesky.campaign.toml.section import FILE

#: How the name of a record of earlier repeats ends.
RECORD = "record.toml"
#: Text of each file by name, None for what is no text; and what was found while making text of it.
Sources = dict[str, tuple[str | None, list[Finding]]]


def stem_of(file: str) -> str:
    """The name of a file without its ending, in the spelling in which names are compared."""
    return plain_name(file.rpartition(".")[0] or file)


def is_table(file: str) -> bool:
    """Whether a file of this name is read as a table; hidden ones are passed over."""
    return file.casefold().endswith(".csv") and not file.startswith(".")


def is_record(file: str) -> bool:
    """Whether a file of this name is a record of earlier repeats; other TOML files are none of the campaign's."""
    return file.casefold().endswith(RECORD) and not file.startswith(".")


def named(files: Iterable[str], name: str) -> str | None:
    """The first CSV file of that name, whatever its spelling; None where there is none."""
    return next((file for file in files if is_table(file) and stem_of(file) == plain_name(name)), None)


def sources_in(folder: Path) -> Sources:
    """The files of a campaign's folder, ``campaign.toml`` first. Raises CampaignError where it cannot be listed."""
    try:
        paths = sorted(path for path in folder.iterdir() if is_table(path.name) or is_record(path.name))
    except OSError as error:
        raise cannot(folder, say.FOLDER_NOT_LISTED(reason=error.strerror)) from None
    return {path.name: read_text(path) for path in (folder / FILE, *paths)}


def sources_of(files: Mapping[str, str | bytes | None]) -> Sources:
    """The same of files in memory: text, bytes as they stand on a disk, or None for what is known to be no text."""
    names = [
        name for name in (FILE, *sorted(name for name in files if is_table(name) or is_record(name))) if name in files
    ]
    return {name: _decoded(name, files[name]) for name in names}


def _decoded(name: str, content: str | bytes | None) -> tuple[str | None, list[Finding]]:
    if isinstance(content, str):
        return content, []
    # A zero byte is in no text file: one message for all that is none.
    return decode(b"\0" if content is None else content, name)


def texts_in(folder: Path) -> dict[str, str]:
    """Text of every file of a campaign's folder, by name. Raises CampaignError for one that cannot be read."""
    texts = {}
    for name, (text, findings) in sources_in(folder).items():
        if text is None:
            raise CampaignError(findings[0])
        texts[name] = text
    return texts
