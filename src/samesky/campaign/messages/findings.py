"""What is wrong, what is doubtful, and how is it mended?"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain, pairwise

from samesky.campaign.messages.sentences import Said
from samesky.campaign.messages.words import one_line, quoted

#: Lines about one file that are listed.
LISTED = 25
#: Findings alike from which on they are told in one line.
ALIKE = 3


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong (``error``) or doubtful (``warning``), and how to mend it.

    In a CSV file ``row`` is the row that a spreadsheet shows and ``column`` the column's name; in ``campaign.toml``
    they are the line and the entry, such as ``[swap] time``. What is said comes from a catalogue
    (:mod:`samesky.campaign.messages.sentences`).
    """

    kind: str
    file: str
    said: Said
    row: int | None = None
    column: str | None = None

    @property
    def code(self) -> str:
        """What kind of finding it is: stable, whatever the wording."""
        return self.said.code

    @property
    def message(self) -> str:
        """What was found, and what was expected."""
        return self.said.message

    @property
    def mend(self) -> str:
        """How to mend it."""
        return self.said.mend

    @property
    def facts(self) -> dict[str, object]:
        """What is filled into the sentence, by name."""
        return dict(self.said.facts)

    def words(self) -> str:
        """What was found and how to mend it, without the place."""
        return f"{self.message} {self.mend}".strip()

    def sentence(self) -> str:
        """File, row, column, what was found and how to mend it, in one line."""
        return one_line(f"{self._place('' if self.row is None else f'{self._line} {self.row}')}: {self.words()}")

    def to_json(self) -> dict[str, object]:
        """The finding for machines: its code and facts, its place, and its words."""
        place = {"file": self.file, "row": self.row, "column": self.column}
        return {"code": self.code, "kind": self.kind, **place, "message": self.message, "mend": self.mend} | {
            "facts": {name: _for_machines(fact) for name, fact in self.facts.items()}
        }

    @property
    def _line(self) -> str:
        return "line" if self.file.endswith(".toml") else "row"

    def _place(self, rows: str) -> str:
        place = f"{self.file}, {rows}" if rows else self.file
        if self.column is not None:
            place += f", {self.column}" if self._line == "line" else f", column {quoted(self.column)}"
        return place


def _for_machines(fact: object) -> object:
    """A fact as JSON takes it; null for a number that it has no sign for."""
    if not isinstance(fact, float):
        return fact
    return float(f"{fact:.6g}") if math.isfinite(fact) else None


def is_sound(findings) -> bool:
    """Whether nothing among the findings has to be mended before arithmetic."""
    return not any(finding.kind == "error" for finding in findings)


def sentences(findings) -> list[str]:
    """What is found, a line for each or for several that are alike; of a file with very many the first lines.

    Alike are findings of one code in one column of one file: :data:`ALIKE` of them and more are one line with all
    their rows, for they seldom have more than one cause.
    """
    alike: dict[object, list[Finding]] = {}
    for finding in findings:
        apart = id(finding) if finding.row is None else None
        alike.setdefault((finding.kind, finding.file, finding.code, finding.column, apart), []).append(finding)
    groups: list[list[Finding]] = []
    for found in alike.values():
        groups += [found] if len(found) >= ALIKE else [[one] for one in found]
    said: list[str] = []
    count: Counter[str] = Counter()
    for found in groups:
        file = found[0].file
        count[file] += 1
        if count[file] <= LISTED:
            said.append(found[0].sentence() if len(found) == 1 else _together(found))
    more = {file: lines - LISTED for file, lines in count.items() if lines > LISTED}
    return said + [f"{file}: {lines} more like these. Mend the first and look again." for file, lines in more.items()]


def _together(found: list[Finding]) -> str:
    """One line for findings that are alike: all their rows, and what is said of the first."""
    first = found[0]
    if all(one.said == first.said for one in found):
        words = first.words()
    else:
        words = f"{first.message} So in {first._line} {first.row}; the others are alike. {first.mend}"
    rows = row_words(one.row for one in found if one.row is not None)
    return one_line(f"{first._place(f'{first._line}s {rows}')}: {words}".rstrip())


def row_words(rows: Iterable[int]) -> str:
    """Rows in words, those without a gap as a range: ``3, 5 to 12``."""
    rows = sorted(set(rows))
    breaks = [0, *(k for k in range(1, len(rows)) if rows[k] != rows[k - 1] + 1), len(rows)]
    spans = [rows[a:b] for a, b in pairwise(breaks)]
    parts = [[f"{one[0]} to {one[-1]}"] if len(one) > 2 else map(str, one) for one in spans]
    return ", ".join(chain.from_iterable(parts))
