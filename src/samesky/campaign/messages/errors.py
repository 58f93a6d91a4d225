"""What stops everything: the one error that the person at the keyboard can mend."""

from __future__ import annotations

from dataclasses import replace

from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.sentences import Said


class CampaignError(Exception):
    """There is nothing to read, or nowhere to write; carries the one :class:`Finding` that says so."""

    def __init__(self, finding: Finding):
        super().__init__(finding.sentence())
        self.finding = finding

    def of(self, file: object) -> CampaignError:
        """The same, said of another file, or of what a person calls it."""
        return CampaignError(replace(self.finding, file=str(file)))


def cannot(file: object, said: Said, row: int | None = None, column: str | None = None) -> CampaignError:
    """The error for one file or folder, ready to raise."""
    return CampaignError(Finding("error", str(file), said, row, column))
