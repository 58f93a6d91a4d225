"""How is a campaign handed to a stranger, so that any program can read it and anybody can run it again?

As a Data Package, the open standard of the Data Package working group, version 2.0 (and readable as 1.0): the files as
they are, with ``datapackage.json`` beside them that says what each file is, how its text falls into cells, and what
stands in which column in which unit. Nothing is said that the files do not say: no licence, no author, no date of
today, although the standard would like them.
"""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
from collections.abc import Mapping
from functools import cache
from importlib.resources import files as package_files
from pathlib import PurePosixPath

from samesky import __version__
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.words import plain_name
from samesky.campaign.reading.read import measures_asked
from samesky.campaign.reading.table import columns_of
from samesky.campaign.tables.delimited import split
from samesky.campaign.tables.source_text import decode
from samesky.campaign.toml.parse import parsed
from samesky.campaign.toml.section import FILE
from samesky.exchange.data_package.schema import table
from samesky.exchange.own_files import DESCRIPTION
from samesky.measures import MEASURES
from samesky.measures.airspeed_calibration import CALIBRATION
from samesky.measures.columns import COMMON
from samesky.measures.filmed_rolls import FILMED
from samesky.measures.shape import Column, Measure

#: What tells a stranger how to run the campaign again. Not README.txt, which is the campaign's own.
README = "README_PACKAGE.txt"
PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
_KINDS = {
    ".csv": ("csv", "text/csv"),
    ".toml": ("toml", "application/toml"),
    ".txt": ("txt", "text/plain"),
    ".md": ("md", "text/markdown"),
}


def package(files: Mapping[str, bytes | str]) -> dict[str, bytes]:
    """The files of the data package of a campaign: the campaign's own, how to run it again, and the description.

    Files of an earlier package among them are written anew. The same files give the same bytes.
    """
    own = {name: _bytes(content) for name, content in files.items() if name not in (README, DESCRIPTION)}
    top = _top(own)
    own[README] = _readme(own, top, _measures(own)).encode("utf-8")
    text = json.dumps(describe(own), indent=2, ensure_ascii=False) + "\n"
    return own | {DESCRIPTION: text.encode("utf-8")}


def describe(files: Mapping[str, bytes | str]) -> dict[str, object]:
    """The description (``datapackage.json``) of the files of a campaign; see the module for the standard.

    Each file is a resource, ``campaign.toml`` first. A CSV file of runs is a tabular one, with its dialect and schema,
    unless a plain reader would not get the cells that we get (:func:`samesky.exchange.data_package.schema.table`).
    """
    own = {name: _bytes(content) for name, content in files.items() if name != DESCRIPTION}
    top = _top(own)
    measures = _measures(own)
    title = _line(top.get("title"))
    said: dict[str, object] = {"$schema": PROFILE, "profile": "data-package", "name": slug(title) or "campaign"}
    if title:
        said["title"] = title
    if _line(top.get("question")):
        said["description"] = _line(top.get("question"))
    taken: set[str] = set()
    said["resources"] = [
        _resource(name, own[name], taken, measures) for name in sorted(own, key=lambda name: (name != FILE, name))
    ]
    said["samesky:version"] = __version__
    return said


def columns_for(file: str, measures: Mapping[str, Measure]) -> tuple[Column, ...]:
    """The columns that a file of runs of that name may have; the common ones where no measure has its name."""
    measure = measures.get(plain_name(PurePosixPath(file).stem))
    return COMMON if measure is None else columns_of(measure)


def measures_of(campaign_text: str) -> dict[str, Measure]:
    """The measures that a campaign may have files of, by plain name, its own ones included."""
    known = {**MEASURES, **measures_asked(campaign_text), CALIBRATION.name: CALIBRATION, FILMED.name: FILMED}
    return {plain_name(name): measure for name, measure in known.items()}


def belonging(files: Mapping[str, bytes]) -> tuple[dict[str, bytes], list[str]]:
    """The files without those of measures that are neither asked for nor flown, and the names of these.

    They are the template's, left as they were: reading the campaign takes no notice of them either.
    """
    measure = _top(files).get("measure")
    asked_for = {plain_name(name) for name in measure} if isinstance(measure, dict) else set()
    kept = {
        name: content
        for name, content in files.items()
        if not name.casefold().endswith(".csv")
        or plain_name(PurePosixPath(name).stem) in asked_for
        or _holds_runs(content, name)
    }
    return kept, [name for name in files if name not in kept]


def hash_of(content: bytes) -> str:
    """The hash of a file as a description gives it."""
    return "sha256:" + hashlib.sha256(content).hexdigest()


def slug(text: str) -> str:
    """Text as a name that the standard takes: lower-case letters and digits with ``-`` and ``_``; may be blank."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii").casefold()
    return re.sub(r"[^a-z0-9_]+", "-", plain)[:60].strip("-_")


def _bytes(content: bytes | str) -> bytes:
    return content.encode("utf-8") if isinstance(content, str) else content


def _toml(own: Mapping[str, bytes]) -> str:
    return decode(own.get(FILE, b""), FILE)[0] or ""


def _top(own: Mapping[str, bytes]) -> dict[str, object]:
    """What ``campaign.toml`` says; nothing where it cannot be read, which reading the campaign reports."""
    try:
        return parsed(_toml(own))
    except CampaignError:
        return {}


def _measures(own: Mapping[str, bytes]) -> dict[str, Measure]:
    return measures_of(_toml(own))


def _holds_runs(content: bytes, file: str) -> bool:
    """Whether a file has a row below its header; one that cannot be taken apart counts as if it had."""
    text, _ = decode(content, file)
    sheet, _ = (None, []) if text is None else split(text, file, [column.name for column in COMMON])
    return bool(sheet.rows) if sheet is not None else bool(content.strip())


def _line(value: object) -> str:
    return " ".join(value.split()) if isinstance(value, str) else ""


def _resource(name: str, content: bytes, taken: set[str], measures: Mapping[str, Measure]) -> dict[str, object]:
    path = PurePosixPath(name)
    form, media = _KINDS.get(path.suffix.casefold(), ("", ""))
    stem = slug(path.stem) or "file"
    short = next(one for one in (stem, *(f"{stem}-{n}" for n in range(2, len(taken) + 3))) if one not in taken)
    taken.add(short)
    said: dict[str, object] = {"name": short, "path": name}
    described = None
    if form == "csv":
        text, _ = decode(content, name)
        described = None if text is None else table(text, name, columns_for(name, measures))
        measure = measures.get(plain_name(path.stem))
        if measure is not None:
            said |= {
                "title": measure.title,
                "description": f"One run a row, in the order flown; they give the {measure.result}.",
            }
    elif name == FILE:
        said["title"] = "What was asked, what flew, how it was read"
    if described is not None:
        said |= {"type": "table", "profile": "tabular-data-resource"}
    if form:
        said |= {"format": form, "mediatype": media}
    said |= {"encoding": _encoding(content), "bytes": len(content), "hash": hash_of(content)}
    return said | (described or {})


def _encoding(content: bytes) -> str:
    """The name (of those registered with IANA) of the encoding that :func:`decode` reads the bytes in."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return "windows-1252"
    return "utf-8"


def _readme(own: Mapping[str, bytes], top: Mapping[str, object], measures: Mapping[str, Measure]) -> str:
    says = {FILE: "what was asked, what flew, how it was read, and what was taken as known"}
    for name in sorted(own, key=lambda name: (not name.casefold().endswith(".csv"), name)):
        measure = measures.get(plain_name(PurePosixPath(name).stem))
        runs = f"{measure.title if measure else 'runs'}: one row a run, in the order flown"
        says.setdefault(name, runs if name.casefold().endswith(".csv") else "words that belong to the campaign")
    says[DESCRIPTION] = "what each file is, column by column, for programs (Data Package 2.0)"
    return _template().render(
        title=_line(top.get("title")) or "A campaign",
        question=_line(top.get("question")),
        files=says,
        width=max(map(len, says)),
        version=__version__,
        description=DESCRIPTION,
    )


@cache
def _template():
    from jinja2 import Environment, StrictUndefined

    text = (package_files("samesky.campaign") / "templates" / "package.txt").read_text(encoding="utf-8")
    return Environment(undefined=StrictUndefined, keep_trailing_newline=True, autoescape=False).from_string(text)
