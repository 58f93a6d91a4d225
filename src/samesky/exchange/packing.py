"""How is a campaign put into one file, or a package folder, and taken out again?"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import listed, quoted
from samesky.campaign.tables.source_text import decode
from samesky.campaign.tables.write import write_bytes, write_folder
from samesky.campaign.toml.section import FILE
from samesky.exchange import catalogue as say
from samesky.exchange.data_package.describe import README, belonging, package
from samesky.exchange.own_files import DESCRIPTION, REPORT, is_campaign_file, own_files
from samesky.exchange.zip.archive import LARGEST_ZIP, campaign_bytes, campaign_files, zip_bytes

ZIP, WORKBOOK = ".zip", ".xlsx"


@dataclass(frozen=True, slots=True)
class Packed:
    """The names of the files that were packed, and a sentence for each reason for which others were not."""

    files: list[str]
    left_out: list[str]


def usual_target(folder: Path) -> Path:
    """``DIR.zip`` beside the folder, whatever way it was named."""
    whole = Path(os.path.abspath(folder))
    return whole.with_name(whole.name + ZIP) if folder.name in ("", "..") else folder.with_name(folder.name + ZIP)


def pack(folder: Path, target: Path, report: str = "") -> Packed:
    """Write the campaign's own files as a data package: a zip or a folder; or, without its description, as a workbook.

    ``report`` is the page of its report, which lies beside them in a zip or a new folder; blank for none.

    A folder has to be new or empty, or the campaign's own, which gets the description added. What a zip holds is what
    :func:`unpack` takes: that is tried before anything is written. Raises CampaignError; then nothing was written.
    """
    kept, left_out = _own(folder)
    suffix = target.suffix.casefold()
    if os.path.isdir(target):
        suffix = ""
    if suffix == WORKBOOK:
        from samesky.exchange.workbook.workbook import write_workbook

        texts = {name: _text(name, content) for name, content in kept.items() if _has_a_sheet(name)}
        write_workbook(texts, target)
        others = [name for name in kept if name not in texts]
        others += [REPORT] if report else []
        return Packed(sorted(texts), [*left_out, *([f"{_few(others)}: no sheet of a workbook"] if others else [])])
    if suffix not in (ZIP, ""):
        raise cannot(target, say.PACK_ENDING(zip=ZIP, workbook=WORKBOOK))
    files = package(kept) | ({REPORT: report.encode("utf-8")} if report else {})
    data = zip_bytes(files)
    try:
        campaign_files(data, str(folder))
    except CampaignError as error:
        wrong = error.finding
        which = "" if wrong.file == str(folder) else f"{quoted(wrong.file)}: "
        raise cannot(folder, say.PACK_FILE_REFUSED(which=which, message=wrong.message)) from None
    if suffix == ZIP:
        write_bytes(target, data)
    elif os.path.isdir(target) and os.path.samefile(folder, target):
        write_folder(target, {name: files[name] for name in (README, DESCRIPTION)})
    else:
        _write_new(target, files)
    return Packed(sorted(files), left_out)


def unpack(file: Path, folder: Path) -> list[Finding]:
    """Write what a zip or a workbook holds into a new or empty folder; give what was left out, and doubts of reading.

    Raises CampaignError; then nothing was written.
    """
    data = _read(file)
    findings: list[Finding] = []
    if file.suffix.casefold() == WORKBOOK:
        from samesky.exchange.workbook.workbook import read_workbook

        texts = read_workbook(data, file.name)
        if FILE not in texts:
            raise cannot(file, say.WORKBOOK_NO_CAMPAIGN())
        _write_new(folder, texts)
        return findings
    campaign_files(data, file.name, findings)
    _write_new(folder, campaign_bytes(data, file.name))
    return findings


def _own(folder: Path) -> tuple[dict[str, bytes], list[str]]:
    """The files to pack, and sentences on the others. A link in the place of one of them is refused, not passed over:
    the package would not be the campaign.
    """
    found, rest = own_files(folder)
    links = [name for name in rest if is_campaign_file(name) and os.path.islink(folder / name)]
    if links:
        raise cannot(folder, say.PACK_LINKS(links=listed(map(quoted, links))))
    if FILE not in found:
        raise cannot(folder, say.PACK_NO_CAMPAIGN())
    kept, unflown = belonging(found)
    said = [f"{_few(unflown)}: neither asked for nor flown"] if unflown else []
    rest = [name for name in rest if name != REPORT]
    said += [f"{_few(rest)}: not what a campaign is made of, or hidden"] if rest else []
    return kept, said


def _has_a_sheet(name: str) -> bool:
    return name == FILE or name.casefold().endswith(".csv")


def _few(names: list[str]) -> str:
    return listed([*map(quoted, names[:5])] + ([f"{len(names) - 5} more"] if len(names) > 5 else []))


def _text(name: str, content: bytes) -> str:
    text, findings = decode(content, name)
    if text is None:
        raise CampaignError(findings[0])
    return text


def _read(file: Path) -> bytes:
    """The bytes of a zip or a workbook; a pipe or a film is not taken in to find out."""
    try:
        if os.path.exists(file) and not os.path.isfile(file):
            raise cannot(file, say.UNPACK_NOT_A_FILE(zip=ZIP, workbook=WORKBOOK))
        size = os.stat(file).st_size
        if size > LARGEST_ZIP:
            most = f"{LARGEST_ZIP / 1e6:.3g} MB"
            raise cannot(file, say.UNPACK_TOO_LARGE(size=size / 1000000.0, most=most))
        return file.read_bytes()
    except OSError as error:
        raise cannot(file, say.UNPACK_NOT_READ(reason=error.strerror or error)) from None


def _refuse_filled(folder: Path) -> None:
    try:
        empty = not os.path.exists(folder) or (os.path.isdir(folder) and not os.listdir(folder))
    except OSError as error:
        raise cannot(folder, say.UNPACK_FOLDER_NOT_OPENED(reason=error.strerror or error)) from None
    if not empty:
        wrong = "the folder is not empty" if os.path.isdir(folder) else "is a file, so no folder can be made there"
        raise cannot(folder, say.UNPACK_FOLDER(wrong=wrong))


def _write_new(folder: Path, files: Mapping[str, str | bytes]) -> None:
    """Write files into a new or empty folder, all or none.

    A new one appears whole by itself. In an empty one ``campaign.toml`` comes last, so that what a pulled plug leaves
    is no campaign; any other failure takes back what was written.
    """
    _refuse_filled(folder)
    there = os.path.isdir(folder)
    try:
        write_folder(folder, dict(sorted(files.items(), key=lambda item: item[0] == FILE)))
    except BaseException:
        for name in files if there else ():
            (folder / name).unlink(missing_ok=True)
        raise
