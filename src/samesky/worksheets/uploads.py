"""What is in a file that somebody dropped on a page? Believed neither for its name nor for its size."""

from __future__ import annotations

from collections.abc import Mapping

from samesky.campaign.errors import CampaignError, cannot
from samesky.campaign.sections import FILE
from samesky.campaign.source_text import decode
from samesky.campaign.words import listed, plain_name
from samesky.worksheets.tables import Runs


def table_text(data: bytes, name: str, runs: Runs) -> str:
    """The rows of one measure from a CSV file, or from the sheet of its name in a workbook. Raises CampaignError."""
    name = base_name(name)
    if not data:
        raise cannot(name or "nothing", "there is no file, or it is empty.", "Choose a CSV file or a workbook.")
    if name.casefold().endswith(".xlsx"):
        from samesky.campaign.workbook import read_workbook

        sheets = read_workbook(data, name)
        by_plain = {plain_name(file.rpartition(".")[0]): text for file, text in sheets.items() if file != FILE}
        text = by_plain.get(plain_name(runs.stem))
        if text is None:
            mend = f"Name the sheet of its runs {runs.stem}."
            raise cannot(name, f"has no sheet {runs.stem}; it has {listed(by_plain)}.", mend)
        return text
    return _text(data, name)


def campaign_texts(uploads: Mapping[str, bytes]) -> dict[str, str]:
    """The files of a campaign from a zip, a workbook, or its files dropped together. Raises CampaignError."""
    named = {base_name(name): data for name, data in uploads.items() if data}
    if not named:
        raise cannot("nothing", "was chosen.", f"Choose a zip, a workbook, or {FILE} and its CSV files together.")
    first = next(iter(named))
    if len(named) == 1 and first.casefold().endswith(".zip"):
        from samesky.campaign.archive import campaign_files

        found = campaign_files(named[first], first)
    elif len(named) == 1 and first.casefold().endswith(".xlsx"):
        from samesky.campaign.workbook import read_workbook

        found = read_workbook(named[first], first)
    else:
        found = {
            name: _text(data, name) for name, data in named.items() if name == FILE or name.casefold().endswith(".csv")
        }
    if FILE not in found:
        raise cannot(listed(named), f"there is no {FILE} among what was chosen.", "Choose all files of one campaign.")
    return {name: text for name, text in found.items() if name == FILE or name.casefold().endswith((".csv", ".txt"))}


def base_name(name: str) -> str:
    """The last part of a file's name: what comes before it was a path on somebody's machine, and leads nowhere here."""
    last = name.replace("\\", "/").rpartition("/")[2]
    return "".join(c for c in last if c.isprintable()).lstrip(".")[:120]


def _text(data: bytes, name: str) -> str:
    text, findings = decode(data, name)
    if text is None:
        raise CampaignError(findings[0])
    return text
