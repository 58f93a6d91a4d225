"""What stops everything: the one error that the person at the keyboard can mend."""

from __future__ import annotations

from samesky.campaign.messages.findings import Finding


class CampaignError(Exception):
    """There is nothing to read, or nowhere to write; carries the one :class:`Finding` that says so."""

    def __init__(self, finding: Finding):
        super().__init__(finding.sentence())
        self.finding = finding


def cannot(file: object, message: str, mend: str, row: int | None = None, column: str | None = None) -> CampaignError:
    """The error for one file or folder, ready to raise."""
    return CampaignError(Finding("error", str(file), message, mend, row, column))
