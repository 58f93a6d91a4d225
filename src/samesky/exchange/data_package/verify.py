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
from itertools import zip_longest
from pathlib import Path

from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import listed, one_line, quoted
from samesky.campaign.tables import cells
from samesky.campaign.tables.source_text import LARGEST, decode
from samesky.campaign.toml.section import FILE
from samesky.exchange.data_package.describe import belonging, columns_for, measures_of
from samesky.exchange.data_package.schema import header_names
from samesky.exchange.own_files import DESCRIPTION, own_files
from samesky.measures.shape import Measure

#: Largest description that is read [bytes], and most resources: ours have some kilobytes and a file a measure.
LARGEST_DESCRIPTION = 2_000_000
MOST_RESOURCES = 500
#: Hashes that a description may give, by the standard's prefix; without one it is MD5.
HASHES = {"md5": 32, "sha1": 40, "sha256": 64, "sha384": 96, "sha512": 128}

PACK_AGAIN = "If that was meant, pack again: samesky pack DIR --out DIR"
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
        findings.append(Finding("warning", one_line(name), f"the file is not described in {DESCRIPTION}.", PACK_AGAIN))
    return findings


def _resources(folder: Path, findings: list[Finding]) -> list[object] | None:
    """The resources of the description, None where there is no telling them; what is wrong goes to ``findings``."""

    def refuse(message: str, mend: str = "Pack the campaign again, or delete the file.") -> None:
        findings.append(Finding("error", DESCRIPTION, message, mend))

    try:
        about = os.lstat(folder / DESCRIPTION)
        if not stat.S_ISREG(about.st_mode):
            return refuse("it is a link, a folder or a device; it was not opened.")
        if about.st_size > LARGEST_DESCRIPTION:
            return refuse(f"the description is {about.st_size / 1e6:.3g} MB, expected some kilobytes.")
        said = json.loads((folder / DESCRIPTION).read_bytes().decode("utf-8-sig"), parse_constant=_no_constant)
    except OSError as error:
        return refuse(f"the file cannot be read ({error.strerror or error}).", "Check that you may open it.")
    except UnicodeDecodeError:
        return refuse("the file is not text in UTF-8, as JSON is.")
    except json.JSONDecodeError as error:
        return refuse(f"it is not JSON: {error.msg} at line {error.lineno}, column {error.colno}.")
    except RecursionError:
        return refuse("lists or objects are nested too deeply.")
    except ValueError as error:
        return refuse(f"it is not JSON: {error}.")
    if not isinstance(said, dict):
        return refuse(f"found {_a(said)}, expected an object with 'resources'.")
    resources = said.get("resources")
    if not isinstance(resources, list) or not resources:
        return refuse(f"'resources' is {_a(resources)}, expected a list of one resource a file.")
    if len(resources) > MOST_RESOURCES:
        return refuse(f"'resources' lists {len(resources)} files, expected one a measure and a few words.")
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

    def error(message: str, mend: str = "Pack the campaign again, or delete the file.") -> None:
        findings.append(Finding("error", DESCRIPTION, f"resource {number}: {message}", mend))

    if not isinstance(resource, dict):
        error(f"found {_a(resource)}, expected an object.")
        return set()
    if "data" in resource and "path" not in resource:
        return set()  # which the standard allows: the data stand in the description itself, and no file does
    paths = resource.get("path")
    paths = [paths] if isinstance(paths, str) else paths
    if not isinstance(paths, list) or not paths or not all(isinstance(path, str) for path in paths):
        error(f"'path' is {_a(resource.get('path'))}, expected the name of a file.")
        return set()
    if not isinstance(resource.get("name"), str) or not resource["name"]:
        error(f"'name' is {_a(resource.get('name'))}, expected a name.")
    elif resource["name"] in names:
        error(f"'name' is {quoted(resource['name'])}, as of another resource; expected one of its own.")
    else:
        names.add(resource["name"])
    for path in paths:
        wrong = _leads_elsewhere(folder, path)
        if wrong:
            error(f"'path' is {quoted(path)}, which {wrong}; it was not opened.", "Describe files of this folder only.")
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

    def doubt(message: str, mend: str = PACK_AGAIN) -> None:
        findings.append(Finding("warning", one_line(path), message, mend))

    size, told, schema = (resource.get(key) for key in ("bytes", "hash", "schema"))
    if size is not None and (isinstance(size, bool) or not isinstance(size, int) or size < 0):
        error(f"'bytes' is {_a(size)}, expected the size of {quoted(path)}.")
        size = None
    algorithm, digest = _hash(told)
    if told is not None and not digest:
        error(f"'hash' is {_a(told)}, expected a hash such as sha256:… of one of {listed(HASHES, 'or')}.")
    fields = _field_names(schema)
    if isinstance(schema, dict) and fields is None:
        error("'schema' has no list of 'fields' with a name each.")
    if not os.path.isfile(folder / path):
        doubt(f"the file is described in {DESCRIPTION}, and is not there.")
        return
    try:
        content = _content(folder / path)
    except OSError as wrong:
        doubt(f"the file cannot be read ({wrong.strerror or wrong}).", "Check that you may open it.")
        return
    if content is None:
        doubt(f"the file is larger than {LARGEST / 1e6:.3g} MB; it was not held against {DESCRIPTION}.", "")
        return
    differs = digest and hashlib.new(algorithm, content, usedforsecurity=False).hexdigest() != digest.casefold()
    if differs or size not in (None, len(content)):
        doubt(f"the file has changed since {DESCRIPTION} was written.")
    if fields is not None and path.casefold().endswith(".csv"):
        text, _ = decode(content, path)
        header = None if text is None else header_names(text, path, columns_for(path, measures))
        told_names = [cells.words(one) for one in fields]
        if header is not None and told_names != header:
            doubt(f"its columns are not those of its 'schema': {_first_apart(header, told_names)}.")


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
    return names if all(isinstance(name, str) for name in names) else None


def _first_apart(found: list[str], told: list[str]) -> str:
    """The first column in which two headers differ, in words."""
    for number, (one, other) in enumerate(zip_longest(found, told), start=1):
        if one != other:
            there, described = ("nothing" if name is None else quoted(name) for name in (one, other))
            return f"column {number} is {there}, described is {described}"
    return ""
