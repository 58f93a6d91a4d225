"""What is found in evidence, proposed to the campaign, doubted, and put? The same four words for track, film, weather.

A finder looks at evidence and gives a :class:`Proposal`; nothing is changed by that. :func:`dry_run` works out the
whole new files and reads the campaign that they would make, in memory. :func:`put` writes them together: all of them,
or none.
"""

from __future__ import annotations

import codecs
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.findings import Finding, is_sound
from samesky.campaign.messages.words import plain_name
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.read import read, read_texts
from samesky.campaign.tables.write import write_together
from samesky.checks.check import check
from samesky.evidence import catalogue as say

#: How a file is kept that begins with one of these marks: in the letters that its program understands.
_MARKS = {codecs.BOM_UTF8: "utf-8-sig", codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}
#: Codes of what a pilot may still have to fill in.
BLANK = (
    "cell.blank",
    "cell.blank-among-others",
    "cell.blank-key",
    "run.blank",
    "cell.blank-time",
    "installation.blank",
)


@dataclass(frozen=True, slots=True)
class ProposedRow:
    """Cells of one row of a file: text by name of the column, in the units of the file's header.

    ``row`` is its number in a spreadsheet; None for a row that goes in by its clock, or fills a planned one.
    """

    file: str
    row: int | None
    cells: Mapping[str, str]


class Proposal(Protocol):
    """What evidence offers to a campaign."""

    @property
    def found(self) -> object:
        """What was seen in the evidence itself, before any campaign was asked."""

    @property
    def proposed(self) -> tuple[ProposedRow, ...]:
        """The cells that it would fill; none where there is nothing to put."""

    @property
    def doubted(self) -> tuple[Finding, ...]:
        """Readings that disagree with the evidence, and what else is doubtful; nothing of it stops the rest."""

    def texts(self, campaign: Campaign) -> dict[str, str]:
        """The whole new files by name, in the order in which they are to be written, ``campaign.toml`` first.

        Raises CampaignError where the campaign is no longer the one to which it was proposed.
        """


@dataclass(frozen=True, slots=True)
class DryRun:
    """What putting a proposal comes to: the whole new ``files``, and the errors ``left`` for the pilot to mend."""

    files: Mapping[str, str]
    left: tuple[Finding, ...]


def dry_run(campaign: Campaign, proposal: Proposal) -> DryRun:
    """What :func:`put` would write and leave to be done; nothing is written.

    Raises
    ------
    CampaignError
        nothing is proposed, the campaign has changed since, or the new files would have an error in what was put
    """
    files = proposal.texts(campaign)
    after = read_texts({**campaign.texts, **files}, flown=False, folder=campaign.folder)
    known = Counter(_what(finding) for finding in _errors(campaign))
    left = [finding for finding in _errors(after) if not known[_what(finding)]]
    # What shows on the whole alone could not be looked at while there were errors: it is not the evidence's doing.
    hidden = is_sound(after.findings) and not is_sound(campaign.findings)
    for finding in left:
        if not hidden and not _is_left_to_fill_in(finding, proposal):
            raise CampaignError(finding)
    return DryRun(files, tuple(left))


def put(folder: Path | str, proposal: Proposal) -> list[Path]:
    """Write a proposal into the files of a folder, all of them or none; give the paths written.

    Raises CampaignError as :func:`dry_run` does, and where a file cannot be written; nothing is changed then.
    """
    folder = Path(folder)
    files = dry_run(read(folder, flown=False), proposal).files
    return write_together(folder, {name: _in_its_letters(folder / name, text) for name, text in files.items()})


def changed_meanwhile(file: str, row: int | None = None, column: str | None = None) -> CampaignError:
    """The error for a proposal that no longer fits what stands in the files, ready to raise."""
    return cannot(file, say.PUT_FILE_CHANGED() if row is None else say.PUT_CELL_CHANGED(), row, column)


def _errors(campaign: Campaign) -> list[Finding]:
    return [finding for finding in check(campaign) if finding.kind == "error"]


def _what(finding: Finding) -> tuple[object, ...]:
    """A finding without its row: rows move when others are put between them."""
    return finding.file, finding.column, finding.message


def _is_left_to_fill_in(finding: Finding, proposal: Proposal) -> bool:
    """Whether an error is one of a cell that the evidence cannot know, or of the file as a whole: still to be flown."""
    own = [one for one in proposal.proposed if one.file == finding.file]
    written = {plain_name(name) for one in own for name in one.cells}
    blank = finding.code in BLANK and plain_name(finding.column or "") not in written
    return bool(own) and (blank or (finding.row is None and finding.column is None))


def _in_its_letters(path: Path, text: str) -> bytes:
    """The text in the encoding in which the file stands there; UTF-8 for a new one."""
    try:
        with path.open("rb") as stream:
            begin = stream.read(4)
    except OSError:
        begin = b""
    for mark, encoding in _MARKS.items():
        if begin.startswith(mark):
            return (b"" if encoding == "utf-8-sig" else mark) + text.encode(encoding)
    return text.encode("utf-8")
