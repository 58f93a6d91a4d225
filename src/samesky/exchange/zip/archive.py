"""Is this zip safe to open, and what text files are in it?

A zip from somebody else is opened in memory and never extracted by name: its directory is looked through first, then
each member is unpacked in small pieces against limits of our own, whatever sizes the zip claims. The format is that of
ISO/IEC 21320-1:2015 (Document Container File): members stored or deflated, not encrypted, in one part.
"""

from __future__ import annotations

import io
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable, Mapping
from itertools import compress
from pathlib import PurePosixPath

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import listed, quoted
from samesky.campaign.tables.source_text import decode
from samesky.campaign.toml.section import FILE
from samesky.exchange import catalogue as say
from samesky.exchange.own_files import DESCRIPTION, REPORT, SUFFIXES, is_campaign_file
from samesky.exchange.zip.names import is_systems, refuse_names

#: Most members, and most bytes: of the zip, of one member, of all members unpacked.
#: A season of runs written by hand is a thousandth of that.
MOST_MEMBERS = 200
LARGEST_ZIP = 50_000_000
LARGEST_MEMBER = 20_000_000
LARGEST_TOTAL = 50_000_000
#: Text shrinks to a tenth or a twentieth, seldom to a fiftieth (assumed); a bomb to a thousandth.
MOST_SHRUNK = 200
#: Bytes below which shrinking is no matter.
SMALL = 1_000_000

_CHUNK = 65_536
_KINDS = (
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\xd0\xcf\x11\xe0", "an old office document (.xls or .doc)"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"Rar!", "a RAR archive"),
    (b"\xfd7zXZ", "an xz archive"),
    (b"BZh", "a bzip2 archive"),
    (b"PK\x07\x08", "one part of a zip in several parts"),
)
#: Everything that :mod:`zipfile` raises on bytes that are no sound zip; found by trying all kinds of damage.
_DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    ValueError,
    NotImplementedError,
    OverflowError,
    OSError,
    RuntimeError,
)


def safe_members(data: bytes, file: str, allowed: Callable[[str], bool] | None = None) -> dict[str, bytes]:
    """The members of a zip, unpacked, by name as the zip has it; folders are not listed.

    Parameters
    ----------
    data : the bytes of the zip
    file : its name, for messages
    allowed : which members to unpack, by name; all of them where None. Names are checked either way.

    Raises
    ------
    CampaignError : the bytes are no zip, or a damaged, encrypted or hostile one; says which
    """
    _refuse_no_zip(data, file)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
            names = [info.orig_filename for info in infos]
            wanted = [not name.endswith("/") and (allowed is None or allowed(name)) for name in names]
            refuse_names(infos, wanted, file)
            _refuse_overlaps(infos, len(data), file)
            found: dict[str, bytes] = {}
            total = 0
            for info in compress(infos, wanted):
                found[info.orig_filename] = content = _unpacked(archive, info, file, LARGEST_TOTAL - total)
                total += len(content)
            return found
    except _DAMAGE as error:
        raise cannot(
            file,
            say.ZIP_DAMAGED(error=str(error)[:80] or type(error).__name__),
        ) from None


def campaign_files(data: bytes, file: str, findings: list[Finding] | None = None) -> dict[str, str]:
    """The text files of a zipped campaign by name: :func:`campaign_bytes` as text.

    Raises CampaignError as that does, and where a file of the campaign is no text.
    """
    findings = [] if findings is None else findings
    texts: dict[str, str] = {}
    for name, content in campaign_bytes(data, file, findings).items():
        text, found = decode(content, name)
        if text is None:
            raise CampaignError(found[0])
        findings += found
        texts[name] = text
    return texts


def campaign_bytes(data: bytes, file: str, findings: list[Finding] | None = None) -> dict[str, bytes]:
    """The files of a zipped campaign by name, sorted, without the folder that they were zipped in.

    Only what a campaign is made of is unpacked. Photographs, reports and folders below are left out, not refused:
    people zip the folder as it lies there, and what is never unpacked does no harm. What was left out, and doubts of
    reading, go to ``findings``.

    Raises CampaignError where the zip is not safe (:func:`safe_members`), or holds no ``campaign.toml``.
    """
    findings = [] if findings is None else findings
    names: list[str] = []

    def allowed(name: str) -> bool:
        names.append(name)
        return is_campaign_file(PurePosixPath(name).name)

    members = safe_members(data, file, allowed)
    _refuse_documents(names, file)
    own = [name for name in names if not is_systems(name)]
    top = _common_top(own)
    wanted = {name[len(top) :]: name for name in own}
    kept = {short: members[name] for short, name in wanted.items() if "/" not in short and name in members}
    if FILE not in kept:
        below = [short for short in wanted if PurePosixPath(short).name == FILE]
        where = f"there is no {FILE} in it" + (f", only below: {listed(sorted(below)[:5])}" if below else "")
        raise cannot(file, say.ZIP_SEVERAL_CAMPAIGNS(where=where))
    # The report that `pack` puts beside them is no loss: it is made anew.
    left = [name for name in names if not (name in own and name[len(top) :] in (*kept, REPORT))]
    if left:
        shown = listed([quoted(name) for name in left[:5]] + ([f"{len(left) - 5} more"] if len(left) > 5 else []))
        findings.append(
            Finding(
                "warning",
                file,
                say.ZIP_LEFT_OUT(
                    shown=shown, suffix=", ".join("*" + suffix for suffix in SUFFIXES), description=DESCRIPTION
                ),
            )
        )
    return dict(sorted(kept.items()))


def zip_bytes(files: Mapping[str, bytes | str]) -> bytes:
    """A zip of the files; the same files give the same bytes on every day and machine. Text becomes UTF-8."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name in sorted(files):
            info = zipfile.ZipInfo(name)  # which is dated 1980-01-01, the first day that a zip can name
            info.compress_type = zipfile.ZIP_DEFLATED
            info.create_system = 3
            info.external_attr = (stat.S_IFREG | 0o644) << 16
            content = files[name]
            archive.writestr(info, content.encode("utf-8") if isinstance(content, str) else content)
    return stream.getvalue()


def _refuse_no_zip(data: bytes, file: str) -> None:
    if len(data) > LARGEST_ZIP:
        raise cannot(
            file,
            say.ZIP_TOO_LARGE(count=len(data) / 1000000.0, largest_zip=LARGEST_ZIP / 1000000.0),
        )
    if not data.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        raise cannot(file, say.ZIP_NONE(sort=_kind(data, file)))
    # Each entry of the directory begins so; counting first keeps a directory of millions from being taken in.
    if data.count(b"PK\x01\x02") > MOST_MEMBERS:
        raise cannot(file, say.ZIP_TOO_MANY_FILES(most_members=MOST_MEMBERS))


def _kind(data: bytes, file: str) -> str:
    """What bytes are that are no zip, in words."""
    if not data:
        return "empty"
    for begins, kind in _KINDS:
        if data.startswith(begins):
            return kind
    if data.lstrip()[:14].lower().startswith((b"<!doctype html", b"<html")):
        return "a web page"
    return "a text file" if decode(data[:4096], file)[0] is not None else "of no kind that is known here"


def _refuse_overlaps(infos: list[zipfile.ZipInfo], size: int, file: str) -> None:
    """No two members may share bytes: a few kilobytes could stand for any number of members otherwise."""
    spans = sorted((info.header_offset, info.header_offset + 30 + info.compress_size) for info in infos)
    ends = [*(start for start, _ in spans[1:]), size]
    if any(start < 0 or stop > end for (start, stop), end in zip(spans, ends, strict=False)):
        raise cannot(
            file,
            say.ZIP_OVERLAPPING(),
        )


def _unpacked(archive: zipfile.ZipFile, info: zipfile.ZipInfo, file: str, room: int) -> bytes:
    """One member, read in pieces; what the zip says of its size is not believed."""
    # Packing never makes text longer by more than this; a smaller size would hide what comes after it.
    if info.compress_size > 1.01 * info.file_size + 64:
        raise zipfile.BadZipFile("sizes that contradict each other")
    content = bytearray()
    name = quoted(info.orig_filename)
    with archive.open(info) as stream:
        while piece := stream.read(_CHUNK):
            content += piece
            if len(content) > SMALL and len(content) > MOST_SHRUNK * info.compress_size:
                wrong = f"{name} unpacks to more than {MOST_SHRUNK} times its size, which text never does"
            elif len(content) > LARGEST_MEMBER:
                wrong = f"{name} unpacks to more than {LARGEST_MEMBER / 1e6:.3g} MB"
            elif len(content) > room:
                wrong = f"its members unpack to more than {LARGEST_TOTAL / 1e6:.3g} MB"
            else:
                continue
            raise cannot(file, say.ZIP_REFUSED(wrong=wrong))
    if len(content) != info.file_size:
        raise zipfile.BadZipFile("a size other than the one it tells")
    if content.startswith(b"PK\x03\x04"):
        raise cannot(
            file,
            say.ZIP_ARCHIVE_INSIDE(name=name),
        )
    return bytes(content)


def _refuse_documents(names: list[str], file: str) -> None:
    """Office documents are zips too: say what was given instead of what it lacks."""
    for begins, kind in (("xl/", "a workbook (.xlsx)"), ("word/", "a document (.docx)"), ("ppt/", "slides (.pptx)")):
        if "[Content_Types].xml" in names and any(name.startswith(begins) for name in names):
            raise cannot(file, say.ZIP_OTHER_KIND(sort=kind))
    if "META-INF/manifest.xml" in names and "mimetype" in names:
        raise cannot(file, say.ZIP_OFFICE_DOCUMENT())


def _common_top(names: list[str]) -> str:
    tops = {name.partition("/")[0] for name in names}
    return f"{tops.pop()}/" if len(tops) == 1 and all("/" in name for name in names) else ""
