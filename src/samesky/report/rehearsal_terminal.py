"""What does the terminal say of a rehearsal? One page."""

from __future__ import annotations

import textwrap

from rich.console import Console
from rich.text import Text

from samesky.rehearsal.rehearse import Rehearsal
from samesky.report import phrases
from samesky.report import rehearsal_words as words

#: Widest text: longer lines are hard to read.
WIDEST = 100
#: Most changes listed of each kind.
_MOST = 5


def print_rehearsal(found: Rehearsal, console: Console | None = None) -> None:
    """Print the answer, how often each verdict comes, what costs and what helps."""
    console = console or Console()
    console.width = min(console.width, WIDEST)
    campaign, primary = found.script.campaign, found.script.primary
    console.print(Text(campaign.title or "Rehearsal", style="bold"), highlight=False)
    if campaign.question:
        console.print(Text(campaign.question, style="italic"), highlight=False)
    console.print()
    style = "bold green" if words.power(found, primary) >= words.ENOUGH else "bold yellow"
    console.print(Text(words.headline(found), style=style), highlight=False)
    for line in (words.none_there(found), words.covered(found), *words.looks(found), words.averaged(found)):
        _plain(console, line)
    if words.by_all(found, primary):
        _plain(console, words.by_all(found, primary))
    for name in found.script.tables:
        console.print()
        mark = "*" if name == primary else " "
        console.print(
            Text(f"{mark} {phrases.capital(words.title(found, name))}: {words.order_of(found, name)}", style="bold"),
            highlight=False,
        )
        _table(console, words.verdict_table(found, name))
    console.print()
    _plain(console, words.dearest(found))
    _table(console, words.change_table(found, words.costs(found)[:_MOST]), words_too=False)
    console.print()
    _plain(console, words.best_help(found))
    _table(console, words.change_table(found, words.helps(found)), words_too=False)
    console.print()
    for line in words.would_settle(found):
        _plain(console, f"Would answer: {line}")
    for note in found.scene.notes:
        _plain(console, f"Note: {note}")
    _plain(console, f"Caution: {words.CAUTION}")


def _plain(console: Console, text: str) -> None:
    # Rich would take brackets in somebody's title for markup.
    for line in textwrap.wrap(text, console.width, subsequent_indent="  "):
        console.print(Text(line), highlight=False)


def _table(console: Console, table: words.RehearsalTable, words_too: bool = True) -> None:
    kept = [k for k in range(len(table.header)) if k == 0 or words_too or k not in table.words]
    rows = [[row[k] for k in kept] for row in (table.header, *table.rows)]
    widths = [max(len(row[k]) for row in rows) for k in range(len(kept))]
    for row in rows:
        cells = [row[0].ljust(widths[0]), *(cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True))]
        console.print(Text("    " + "  ".join(cells)), highlight=False, no_wrap=True, overflow="ignore", crop=False)
