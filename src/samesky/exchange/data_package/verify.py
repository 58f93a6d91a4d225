"""Is the data package in this folder still what its description says?

The description is somebody else's text: it is taken apart with suspicion, and no file outside the folder is ever
opened, nor any address. What has changed since packing is a doubt; what is malformed or leads elsewhere, an error.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import stat
import unicodedata
from collections.abc import Collection, Mapping
from dataclasses import replace
from itertools import zip_longest
from pathlib import Path

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.sentences import Said
from samesky.campaign.messages.words import listed, one_line, quoted
from samesky.campaign.tables import cells
from samesky.campaign.tables.source_text import LARGEST, decode
from samesky.campaign.toml.section import FILE
from samesky.exchange import catalogue as say
from samesky.exchange.data_package.describe import belonging, columns_for, measures_of
from samesky.exchange.data_package.schema import header_names
from samesky.exchange.own_files import DESCRIPTION, own_files
from samesky.measures.shape import Measure

#: Largest description that is read [bytes], and most resources: ours have some kilobytes and a file a measure.
LARGEST_DESCRIPTION = 2_000_000
MOST_RESOURCES = 500
#: Hashes that a description may give, by the standard's prefix; without one it is MD5.
HASHES = {"md5": 32, "sha1": 40, "sha256": 64, "sha384": 96, "sha512": 128}

#: Signs that print nothing, or change what is printed around them: a message would say something else.
_UNSEEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}
_ADDRESS = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:")


def verify(folder: Path | str) -> list[Finding]:
    """What is wrong or doubtful about the data package in a folder; nothing where there is no ``datapackage.json``.

    Errors for a description that is malformed or names a file outside the folder; warnings for files that have
    changed, gone or come since. Raises nothing for whatever the description says.
    """
    folder = Path(folder)
    if not os.path.lexists(folder / DESCRIPTION):
        return []
    findings: list[Finding] = []
    resources = _resources(folder, findings)
    if resources is None:
        return findings
    try:
        own, _ = own_files(folder)
    except CampaignError as error:
        return [*findings, error.finding]
    text, _ = decode(own.get(FILE, b""), FILE)
    measures = measures_of(text or "")
    described: set[str] = set()
    names: set[str] = set()
    for number, resource in enumerate(resources, start=1):
        described |= _verified(folder, number, resource, measures, names, described, findings)
    kept, _ = belonging(own)
    for name in sorted(set(kept) - described - {DESCRIPTION}):
        findings.append(Finding("warning", one_line(name), say.PACKAGE_FILE_NOT_DESCRIBED(description=DESCRIPTION)))
    return findings


def _resources(folder: Path, findings: list[Finding]) -> list[object] | None:
    """The resources of the description, None where there is no telling them; what is wrong goes to ``findings``."""

    def refuse(said: Said) -> list[object] | None:
        findings.append(Finding("error", DESCRIPTION, said))
        return None

    try:
        about = os.lstat(folder / DESCRIPTION)
        if not stat.S_ISREG(about.st_mode):
            return refuse(say.PACKAGE_LINK())
        if about.st_size > LARGEST_DESCRIPTION:
            return refuse(say.PACKAGE_TOO_LARGE(st_size=about.st_size / 1000000.0))
        said = json.loads((folder / DESCRIPTION).read_bytes().decode("utf-8-sig"), parse_constant=_no_constant)
    except OSError as error:
        return refuse(say.PACKAGE_FILE_NOT_READ(reason=error.strerror or error))
    except UnicodeDecodeError:
        return refuse(say.PACKAGE_NO_TEXT())
    except json.JSONDecodeError as error:
        return refuse(say.PACKAGE_NO_JSON(msg=error.msg, lineno=error.lineno, colno=error.colno))
    except RecursionError:
        return refuse(say.PACKAGE_TOO_DEEP())
    except ValueError as error:
        return refuse(say.PACKAGE_NO_JSON_VALUE(error=error))
    if not isinstance(said, dict):
        return refuse(say.PACKAGE_NO_OBJECT(said=_a(said)))
    resources = said.get("resources")
    if not isinstance(resources, list) or not resources:
        return refuse(say.PACKAGE_NO_LIST(resources=_a(resources)))
    if len(resources) > MOST_RESOURCES:
        return refuse(say.PACKAGE_TOO_MANY(count=len(resources)))
    return resources


def _no_constant(text: str) -> None:
    raise ValueError(f"{text} is no number that JSON has")


def _a(value: object) -> str:
    """What kind of thing was found, in words."""
    if value is None:
        return "nothing"
    if isinstance(value, (dict, list)):
        kind = "object" if isinstance(value, dict) else "list"
        return f"{'an' if kind == 'object' else 'a'} {kind}" if value else f"an empty {kind}"
    return quoted(value)


def _verified(
    folder: Path,
    number: int,
    resource: object,
    measures: Mapping[str, Measure],
    names: set[str],
    seen: Collection[str],
    findings: list[Finding],
) -> set[str]:
    """The paths that a resource describes, after its files were held against what it says.

    ``names`` are those of the resources before, ``seen`` their paths, which are not read again.
    """

    def error(said: Said) -> None:
        found = replace(said, message=f"resource {number}: {said.message}")
        findings.append(Finding("error", DESCRIPTION, found))

    if not isinstance(resource, dict):
        error(say.PACKAGE_RESOURCE_NO_OBJECT(resource=_a(resource)))
        return set()
    if "data" in resource and "path" not in resource:
        return set()  # which the standard allows: the data stand in the description itself, and no file does
    paths = resource.get("path")
    paths = [paths] if isinstance(paths, str) else paths
    if not isinstance(paths, list) or not paths or not all(isinstance(path, str) for path in paths):
        error(say.PACKAGE_PATH_MISSING(get=_a(resource.get("path"))))
        return set()
    if not isinstance(resource.get("name"), str) or not resource["name"]:
        error(say.PACKAGE_NAME_MISSING(get=_a(resource.get("name"))))
    elif resource["name"] in names:
        error(say.PACKAGE_NAME_TWICE(resource=quoted(resource["name"])))
    else:
        names.add(resource["name"])
    for path in paths:
        wrong = _leads_elsewhere(folder, path)
        if wrong:
            error(say.PACKAGE_PATH_ELSEWHERE(path=quoted(path), wrong=wrong))
        elif path not in seen:
            # Size and hash of several files are those of all in one, which nothing here can tell apart.
            _held_against(folder, path, resource if len(paths) == 1 else {}, measures, error, findings)
    return set(paths)


def _leads_elsewhere(folder: Path, path: str) -> str:
    """Why a path is none of a file in the folder (the standard's rule); blank where it is one."""
    if _ADDRESS.match(path):
        return "is an address, or names a drive"
    if path.startswith("/") or "\\" in path or any(unicodedata.category(sign) in _UNSEEN for sign in path):
        return "is no relative path"
    parts = path.split("/")
    if ".." in parts:
        return "leaves the folder"
    if len(path) > 1000 or any(not part or part.startswith(".") for part in parts):
        return "is hidden, or no name of a file"
    try:
        here = os.path.realpath(folder)
        if os.path.normcase(os.path.realpath(os.path.join(here, path))) != os.path.normcase(os.path.join(here, path)):
            return "is a link to another place"
    except (OSError, ValueError):
        return "is no name of a file"
    return ""


def _held_against(folder: Path, path: str, resource: Mapping[str, object], measures, error, findings) -> None:
    """Compare one file with the size, the hash and the header that its resource gives."""

    def doubt(said: Said) -> None:
        findings.append(Finding("warning", one_line(path), said))

    size, told, schema = (resource.get(key) for key in ("bytes", "hash", "schema"))
    if size is not None and (isinstance(size, bool) or not isinstance(size, int) or size < 0):
        error(say.PACKAGE_BYTES(size=_a(size), path=quoted(path)))
        size = None
    algorithm, digest = _hash(told)
    if told is not None and not digest:
        error(say.PACKAGE_HASH(told=_a(told), hashes=listed(HASHES, "or")))
    fields = _field_names(schema)
    if isinstance(schema, dict) and fields is None:
        error(say.PACKAGE_SCHEMA())
    if not os.path.isfile(folder / path):
        doubt(say.PACKAGE_FILE_GONE(description=DESCRIPTION))
        return
    try:
        content = _content(folder / path)
    except OSError as wrong:
        doubt(say.PACKAGE_FILE_NOT_READ(reason=wrong.strerror or wrong))
        return
    if content is None:
        doubt(say.PACKAGE_FILE_TOO_LARGE_TO_HOLD(largest=LARGEST / 1000000.0, description=DESCRIPTION))
        return
    differs = digest and hashlib.new(algorithm, content, usedforsecurity=False).hexdigest() != digest.casefold()
    if differs or size not in (None, len(content)):
        doubt(say.PACKAGE_FILE_CHANGED(description=DESCRIPTION))
    if fields is not None and path.casefold().endswith(".csv"):
        text, _ = decode(content, path)
        header = None if text is None else header_names(text, path, columns_for(path, measures))
        told_names = [cells.words(one) for one in fields]
        if header is not None and told_names != header:
            doubt(say.PACKAGE_COLUMNS_DIFFER(first_apart=_first_apart(header, told_names)))


def _content(path: Path) -> bytes | None:
    """The bytes of a file; None where it is larger than any that is read."""
    with open(path, "rb") as stream:
        content = stream.read(LARGEST + 1)
    return None if len(content) > LARGEST else content


def _hash(told: object) -> tuple[str, str]:
    """Algorithm and digest of a hash as the standard writes it; a blank digest where it is none."""
    if not isinstance(told, str):
        return "", ""
    algorithm, _, digest = told.rpartition(":")
    algorithm = algorithm.casefold() or "md5"
    known = HASHES.get(algorithm) == len(digest) and re.fullmatch(r"[0-9A-Fa-f]+", digest)
    return (algorithm, digest) if known else ("", "")


def _field_names(schema: object) -> list[str] | None:
    """Names of the fields of a schema; None where there are none, or one has no name."""
    fields = schema.get("fields") if isinstance(schema, dict) else None
    if not isinstance(fields, list):
        return None
    names = [field.get("name") if isinstance(field, dict) else None for field in fields]
    told = [name for name in names if isinstance(name, str)]
    return told if len(told) == len(names) else None


def _first_apart(found: list[str], told: list[str]) -> str:
    """The first column in which two headers differ, in words."""
    for number, (one, other) in enumerate(zip_longest(found, told), start=1):
        if one != other:
            there, described = ("nothing" if name is None else quoted(name) for name in (one, other))
            return f"column {number} is {there}, described is {described}"
    return ""
