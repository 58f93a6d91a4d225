"""What is wrong, what is doubtful, and how is it mended?"""

from __future__ import annotations

from dataclasses import dataclass

from samesky.campaign.messages.words import one_line, quoted

#: Findings about one file that are listed one by one.
LISTED = 25


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong (``error``) or doubtful (``warning``), and how to mend it.

    In a CSV file ``row`` is the row that a spreadsheet shows and ``column`` the column's name; in ``campaign.toml``
    they are the line and the entry, such as ``[swap] time``.
    """

    kind: str
    file: str
    message: str
    mend: str
    row: int | None = None
    column: str | None = None

    def sentence(self) -> str:
        """File, row, column, what was found and how to mend it, in one line."""
        toml = self.file.endswith(".toml")
        place = self.file
        if self.row is not None:
            place += f", {'line' if toml else 'row'} {self.row}"
        if self.column is not None:
            place += f", {self.column}" if toml else f", column {quoted(self.column)}"
        return one_line(f"{place}: {self.message} {self.mend}".rstrip())


def is_sound(findings) -> bool:
    """Whether nothing among the findings has to be mended before arithmetic."""
    return not any(finding.kind == "error" for finding in findings)


def sentences(findings) -> list[str]:
    """One line a finding; of a file with very many the first, for they seldom have more than one cause."""
    said: list[str] = []
    count: dict[str, int] = {}
    for finding in findings:
        count[finding.file] = count.get(finding.file, 0) + 1
        if count[finding.file] <= LISTED:
            said.append(finding.sentence())
    more = {file: found - LISTED for file, found in count.items() if found > LISTED}
    return said + [f"{file}: {found} more like these. Mend the first and look again." for file, found in more.items()]
