"""A campaign's files as one workbook (.xlsx), and back.

The sheet ``campaign`` has a row for every entry that ``campaign.toml`` has or may have, one sheet a measure has its
runs, and the sheet ``remarks`` keeps the remarks of all files.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from samesky.campaign.tables.write import write_bytes
from samesky.campaign.toml.section import FILE
from samesky.exchange.workbook.files import files_of
from samesky.exchange.workbook.open import sheets
from samesky.exchange.workbook.sheets import workbook_bytes

__all__ = ["NAME", "as_workbook", "read_workbook", "workbook_bytes", "write_workbook"]

#: Name of the workbook in a campaign's folder.
NAME = "campaign.xlsx"


def write_workbook(files: Mapping[str, str], path: Path | str) -> Path:
    """Write ``campaign.toml`` and the CSV files, given as text by name, as one workbook; other files are left out.

    Nothing in it is a formula. Raises CampaignError for a file that cannot be taken apart, for a name that no sheet can
    have, and where the workbook cannot be written; nothing is then written.
    """
    return write_bytes(Path(path), workbook_bytes(files, str(path)))


def read_workbook(data: bytes, file: str) -> dict[str, str]:
    """The files of a campaign, as text by name, from the bytes of a workbook; ``file`` is its name, for messages.

    Without a sheet ``campaign`` there is no ``campaign.toml`` among them. Raises CampaignError with workbook, sheet and
    cell for whatever cannot be taken as it stands: formulas, errors, merged or hidden cells, macros, damage.
    """
    return files_of(sheets(data, file), file)


def as_workbook(files: Mapping[str, str]) -> dict[str, str | bytes]:
    """A campaign's files with one workbook in place of ``campaign.toml`` and the CSV files. Raises CampaignError."""
    others = {name: text for name, text in files.items() if name != FILE and not name.casefold().endswith(".csv")}
    return {NAME: workbook_bytes(files, NAME), **others}
