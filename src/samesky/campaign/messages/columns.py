"""How do sentences and rows stand in a terminal, or in a pipe? Wrapped at a width, no word broken, nothing padded."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence


def wrapped(text: str, width: int, first: str = "", then: str = "") -> list[str]:
    """Lines no wider than ``width`` - 1 that break at blanks only.

    Parameters
    ----------
    text : one paragraph
    width : of the window [characters]
    first, then : what stands before the first line and before the others
    """
    return textwrap.wrap(text, width - 1, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)


def columns(rows: Sequence[Sequence[str]], width: int, right: Sequence[int] = ()) -> list[str]:
    """Rows in columns two blanks apart; the last column wraps under itself, and no word of it is broken.

    Parameters
    ----------
    rows : cells, as many in each row; the header is a row like any other
    width : of the window [characters]
    right : numbers of the columns that stand to the right
    """
    if not rows:
        return []
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = []
    for row in rows:
        *cells, last = (
            cell.rjust(wide) if column in right else cell.ljust(wide)
            for column, (cell, wide) in enumerate(zip(row, widths, strict=True))
        )
        before = "".join(f"{cell}  " for cell in cells)
        room = width - 1 - len(before)
        # In a window too narrow for the columns the last one stands below, a step to the right.
        if room < min(len(last.strip()), 12):
            lines += [before.rstrip(), *wrapped(last.strip(), width, "    ", "    ")]
        else:
            lines += [line.rstrip() for line in wrapped(last.strip(), width, before, " " * len(before))] or [
                before.rstrip()
            ]
    return lines
