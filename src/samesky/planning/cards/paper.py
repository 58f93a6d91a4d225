"""How much fits on a card: papers, the blanks of a block, and the heights that keep it on one page."""

from __future__ import annotations

from dataclasses import dataclass

#: Papers by name: width and height [mm].
PAPERS = {"a5": (148.0, 210.0), "letter-half": (139.7, 215.9)}
#: Margin of the paper [mm], and heights of a row of blanks and of its header [mm], the roomiest first.
MARGIN = 7.0
SIZES = ((6.0, 17.0), (5.4, 15.5), (4.9, 14.5))
#: Heights [mm] of a line of text, of the row of aims, and of what stands around the tables.
_LINE, AIMS, _AROUND = 3.25, 3.6, 21.0


@dataclass(frozen=True, slots=True)
class CardTable:
    """The blanks of one measure: header cells in the file's order, what is aimed at under each, one row a run."""

    title: str
    header: tuple[str, ...]
    aims: tuple[str, ...]
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """One block on paper. ``left_out`` names columns of the files that the plan makes superfluous."""

    number: int
    of: int
    heading: str
    facts: tuple[str, ...]
    order: tuple[str, ...]
    limits: tuple[tuple[str, str, str], ...]
    stop: tuple[str, ...]
    tables: tuple[CardTable, ...]
    left_out: str


def roomiest(card: Card, paper: tuple[float, float]) -> tuple[float, float]:
    """Heights [mm] of a row of blanks and of its header that keep the card on one page.

    The roomiest where none does: then it takes two pages, as a number that cannot be read back is no reading.
    """
    return _on_one_page(card, paper) or SIZES[0]


def may_take_more(card: Card, paper: tuple[float, float]) -> bool:
    """Whether the card may not fit on one page of this paper: no height of its blanks is sure to keep it there."""
    return _on_one_page(card, paper) is None


def _on_one_page(card: Card, paper: tuple[float, float]) -> tuple[float, float] | None:
    width, height = (size - 2.0 * MARGIN for size in paper)
    a_line = width / 1.25
    flown = -(-sum(len(run) + 3 for run in card.order) // int(0.45 * a_line))
    facts = sum(-(-len(fact) // int(0.45 * a_line)) for fact in card.facts)
    lines = max(facts + 1 + flown, len(card.limits) + 1)
    lines += sum(-(-len(line) // int(a_line)) for line in card.stop) + len(card.tables) + bool(card.left_out)
    for row, header in SIZES:
        needed = _AROUND + lines * _LINE
        for table in card.tables:
            needed += header + row * len(table.rows) + (AIMS if any(table.aims) else 0.0) + 1.5
        if needed <= height:
            return row, header
    return None
