"""Is every member of a zip what a plain file in a folder may be, going by its name and what the directory says of it?

Members that are to be unpacked must also have names that every machine can write.
"""

from __future__ import annotations

import re
import stat
import unicodedata
import zipfile
from collections.abc import Sequence
from pathlib import PurePosixPath

from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import quoted
from samesky.exchange import catalogue as say

#: Longest name of a member, folders included [characters].
LONGEST_NAME = 200
#: Endings of archives; one inside the archive is refused.
ARCHIVES = (".zip", ".7z", ".rar", ".gz", ".tgz", ".tar", ".bz2", ".xz", ".zst", ".jar", ".cab", ".iso")

_SYSTEMS_OWN = {"__macosx", "thumbs.db", "desktop.ini"}
#: Names that one system keeps for devices, whatever their ending.
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
#: Bits of the general purpose flag (ISO/IEC 21320-1 forbids them): encrypted, strongly encrypted, directory encrypted.
_ENCRYPTED = 0x0001 | 0x0040 | 0x2000
_PATCH = 0x0020


def is_systems(name: str) -> bool:
    """Whether a member was put there by an operating system, or hidden, and is not a person's."""
    parts = [part.casefold() for part in name.split("/")]
    return any(part.startswith(".") or part in _SYSTEMS_OWN for part in parts)


def refuse_names(infos: Sequence[zipfile.ZipInfo], wanted: Sequence[bool], file: str) -> None:
    """Raise CampaignError at the first member that is no plain file, or that shares its name with another.

    ``wanted`` says which members are to be unpacked.
    """
    seen: dict[str, str] = {}
    for info, unpacked in zip(infos, wanted, strict=True):
        name = info.orig_filename
        wrong = _wrong_name(name) or _wrong_member(info) or (_not_everywhere(name) if unpacked else "")
        if wrong:
            raise cannot(file, say.ZIP_NAME(name=quoted(name), wrong=wrong))
        same = unicodedata.normalize("NFC", name.rstrip("/")).casefold()
        if same in seen:
            raise cannot(
                file,
                say.ZIP_SAME_NAME(seen=quoted(seen[same]), name=quoted(name)),
            )
        seen[same] = name
    files = {same for same, name in seen.items() if not name.endswith("/")}
    for same in seen:
        for above in map(str, PurePosixPath(same).parents):
            if above in files:
                both = f"{quoted(seen[above])} is a file and a folder at once"
                raise cannot(file, say.ZIP_FOLDER_AND_FILE(both=both))


def _wrong_name(name: str) -> str:
    """What is wrong with a member's name, unpacked or not; blank where nothing is."""
    if "\0" in name:
        return "has a NUL in its name"
    if len(name) > LONGEST_NAME:
        return f"has a name of {len(name)} characters, expected at most {LONGEST_NAME}"
    if "\\" in name:
        return "has a backslash in its name"
    if name.startswith("/"):
        return "names a place on the whole machine (an absolute path)"
    if re.match(r"[A-Za-z]:", name):
        return "names a drive"
    parts = name.removesuffix("/").split("/")
    if ".." in parts:
        return "would leave the folder ('..')"
    return "" if all(part.strip() and part != "." for part in parts) else "has a blank or a dot in place of a name"


def _wrong_member(info: zipfile.ZipInfo) -> str:
    """What the directory says of a member that no plain file has; blank where nothing is."""
    mode = stat.S_IFMT(info.external_attr >> 16)
    if mode == stat.S_IFLNK:
        return "is a link to another place"
    if mode not in (0, stat.S_IFREG, stat.S_IFDIR):
        return "is a device or a pipe, not a file"
    if info.flag_bits & _ENCRYPTED:
        return "is encrypted"
    if info.flag_bits & _PATCH:
        return "is a patch to another file"
    if info.orig_filename.casefold().endswith(ARCHIVES):
        return "is an archive inside the archive"
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "is packed in an unusual way (expected stored or deflated)"
    return "" if info.volume == 0 else "lies in another part of a zip in several parts"


def _not_everywhere(name: str) -> str:
    """Whether some machine cannot write a file of that name."""
    if any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp") or c in '<>:"|?*' for c in name):
        return "has a sign in its name that not every machine can write"
    parts = name.removesuffix("/").split("/")
    if any(part.rstrip(". ") != part or part.partition(".")[0].strip().casefold() in _DEVICES for part in parts):
        return "has a name that not every machine can write"
    return ""
