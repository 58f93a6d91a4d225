"""What does the terminal say? One line a measure, then what that line rests on.

Readable at 80 columns and in a pipe: no meaning is carried by colour, and nothing is cut off.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from samesky.campaign.model.campaign import Campaign
from samesky.inference.result import Comparison
from samesky.inference.together.told import ExcessThrust, excess_thrust
from samesky.report import by_all_words, missions, phrases

#: Marks the primary measure; the foot of the list says so.
PRIMARY = "*"
#: Widest text: longer lines are hard to read.
WIDEST = 100
#: Colours beside the words, never instead of them.
_COLOURS = {
    phrases.Answer.OTHER: "bold green",
    phrases.Answer.BASELINE: "bold green",
    phrases.Answer.SAME: "bold cyan",
    phrases.Answer.SMALL: "bold cyan",
    phrases.Answer.OPEN: "bold yellow",
    phrases.Answer.WITHHELD: "bold yellow",
}


def print_comparisons(campaign: Campaign, comparisons: Sequence[Comparison], console: Console | None = None) -> None:
    """Print every measure: difference, interval, verdict; then what it rests on and what to beware of."""
    console = _console(console)
    _opening(campaign, comparisons, console)
    ordered = primary_first(comparisons)
    if ordered and ordered[0].withheld:
        _withheld(ordered, console)
        return
    together = excess_thrust(campaign, comparisons)
    _disagreement(together, console)
    cells = [_cells(one, comparisons) for one in ordered]
    widths = [max(len(row[column]) for row in cells) for column in range(4)] if cells else []
    # Where one line is too long for the window, the measure gets a line of its own.
    broken = sum(widths) + 8 > console.width
    before_verdict = "\n    " if sum(widths[1:]) + 9 > console.width else ""
    common = _common_warnings(comparisons)
    ranked = set()
    for one, row in zip(ordered, cells, strict=True):
        if one.ranking and one.measure not in ranked:
            ranked.add(one.measure)
            _plain(console, f"{phrases.capital(one.title)}: {one.ranking}.", style="bold")
        line = Text(f"{PRIMARY if one.primary else ' '} ", style="bold")
        line.append(f"{row[0]}\n    " if broken else row[0].ljust(widths[0] + 2), style="bold")
        line.append(row[1].rjust(widths[1]) + "  ")
        line.append(f"{row[2]}{before_verdict}" if before_verdict else row[2].ljust(widths[2] + 2))
        line.append(row[3], style=_COLOURS[phrases.answer(one)])
        console.print(line, highlight=False)
        _indented(console, f"{phrases.percent(one.percent)}; {phrases.matters(one)} matters; {phrases.rests_on(one)}.")
        _by_all(console, one)
        _engine(console, one)
        _indented(console, one.assumption)
        if one.exact_test:
            _indented(console, f"Exact p by {one.exact_test}: {phrases.p_value(one.exact_p)}.")
        if one.conditional:
            _indented(console, f"On a condition: {one.conditional}.")
        if one.settle:
            _indented(console, f"To settle it: {one.settle}")
        for warning in one.warnings:
            if warning not in common:
                _indented(console, f"Warning: {warning}")
        console.print()
    for warning in common:
        _plain(console, f"Warning, for all: {warning}", then="  ")
    _together(campaign, together, console)
    _missions(campaign, comparisons, console)
    _foot(comparisons, console)


def print_verdicts(campaign: Campaign, comparisons: Sequence[Comparison], console: Console | None = None) -> None:
    """Print the answers alone, one sentence a measure."""
    console = _console(console)
    _opening(campaign, comparisons, console)
    ordered = primary_first(comparisons)
    if ordered and ordered[0].withheld:
        _withheld(ordered, console)
        return
    _disagreement(excess_thrust(campaign, comparisons), console)
    for said in rankings(ordered):
        _plain(console, said, style="bold")
    for one in ordered:
        head = f"{PRIMARY if one.primary else ' '} {phrases.capital(title(one, comparisons))}: "
        verdict = by_all_words.headline(one)
        without = f" {phrases.capital(phrases.rests_on(one))}." if one.left_out else ""
        lines = _wrapped(console, f"{head}{verdict}. {phrases.sentence(one)}{without}", "", "  ")
        text = Text("\n".join(lines))
        text.stylize("bold", 0, len(head))
        text.stylize(_COLOURS[phrases.answer(one)], len(head), len(head) + len(verdict))
        console.print(text, highlight=False)
        _by_all(console, one)
        _engine(console, one)
    console.print()
    _missions(campaign, comparisons, console)
    _foot(comparisons, console)


def _disagreement(together: Sequence[ExcessThrust], console: Console) -> None:
    """That measures disagree beyond chance: before any answer."""
    for said in by_all_words.first(together):
        _plain(console, said, then="  ", style="bold yellow")


def _by_all(console: Console, one: Comparison) -> None:
    """What all measures together say of it, beside its own answer, and which of the two decides."""
    for said in filter(None, (by_all_words.beside(one), by_all_words.fixed(one))):
        _indented(console, said)


def _together(campaign: Campaign, together: Sequence[ExcessThrust], console: Console) -> None:
    """Measures that were not flown and are told, and what answers by all measures rest on."""
    said = [*by_all_words.not_flown(together), *by_all_words.rests_on(together, campaign)]
    for sentence in said:
        _plain(console, sentence, then="  ")
    if said:
        console.print()


def _engine(console: Console, one: Comparison) -> None:
    """The rpm in hand of both configurations, and what has to be said of it: with the answer, whatever it is."""
    for caution in one.cautions:
        _plain(console, f"Caution: {caution}", first="    ", then="    ", style="bold red")
    words = phrases.rpm_in_hand(one)
    if words:
        _indented(console, f"{words}.")


def _withheld(comparisons: Sequence[Comparison], console: Console) -> None:
    """Why no verdict is told now, once for all, and what was flown."""
    _plain(console, comparisons[0].withheld, style=_COLOURS[phrases.Answer.WITHHELD])
    console.print()
    common = _common_warnings(comparisons)
    for one in comparisons:
        mark = PRIMARY if one.primary else " "
        _plain(console, f"{mark} {phrases.capital(title(one, comparisons))}: {phrases.rests_on(one)}.", then="    ")
        _engine(console, one)
        for warning in one.warnings:
            if warning not in common:
                _indented(console, f"Warning: {warning}")
    console.print()
    for warning in common:
        _plain(console, f"Warning, for all: {warning}", then="  ")


def _missions(campaign: Campaign, comparisons: Sequence[Comparison], console: Console) -> None:
    """Which configuration suits which flying, where the campaign names missions."""
    said = [missions.traded(comparisons), *missions.sentences(missions.suited(campaign, comparisons))]
    for sentence in filter(None, said):
        _plain(console, phrases.capital(sentence), then="  ")
    if any(said):
        console.print()


def primary_first(comparisons: Sequence[Comparison]) -> list[Comparison]:
    """The comparisons, those of the primary measure first, else as they come."""
    return sorted(comparisons, key=lambda one: not one.primary)


def rankings(comparisons: Sequence[Comparison]) -> list[str]:
    """The order of three configurations or more, one sentence a measure."""
    ranked = {one.title: one.ranking for one in comparisons if one.ranking}
    return [f"{phrases.capital(name)}: {words}." for name, words in ranked.items()]


def title(comparison: Comparison, among: Sequence[Comparison]) -> str:
    """The measure, and the configuration where several are held against the baseline."""
    if len({one.other for one in among}) < 2:
        return comparison.title
    return f"{comparison.title}, {comparison.other} against {comparison.baseline}"


def _common_warnings(comparisons: Sequence[Comparison]) -> list[str]:
    """Warnings that hold for every one of several comparisons: said once."""
    if len(comparisons) < 2:
        return []
    return [said for said in comparisons[0].warnings if all(said in one.warnings for one in comparisons)]


def _console(console: Console | None) -> Console:
    console = console or Console()
    console.width = min(console.width, WIDEST)
    return console


def _opening(campaign: Campaign, comparisons: Sequence[Comparison], console: Console) -> None:
    for text, style in ((campaign.title, "bold"), (campaign.question, "italic")):
        if text:
            _plain(console, text, style=style)
    for key, configuration in campaign.configurations.items():
        role = " (baseline)" if key == campaign.baseline else ""
        _plain(console, f"{key} = {configuration.label or key}{role}", then="    ")
    if not comparisons:
        _plain(console, "No measure has runs of two configurations: there is nothing to compare yet.")
    console.print()


def _foot(comparisons: Sequence[Comparison], console: Console) -> None:
    if not comparisons:
        return
    marked = f"{PRIMARY} = deciding measure. " if any(one.primary for one in comparisons) else ""
    if len({one.baseline for one in comparisons}) > 1:
        _plain(console, f"{marked}Differences are the first named less the second.")
        return
    others = phrases.listed(dict.fromkeys(one.other for one in comparisons))
    _plain(console, f"{marked}Differences are {others} minus {comparisons[0].baseline}.")


def _cells(one: Comparison, among: Sequence[Comparison]) -> tuple[str, str, str, str]:
    return (
        title(one, among),
        phrases.difference(one),
        f"({phrases.interval(one, one.interval)})",
        by_all_words.headline(one),
    )


def _indented(console: Console, text: str) -> None:
    _plain(console, text, first="    ", then="    ")


def _plain(console: Console, text: str, first: str = "", then: str = "", style: str = "") -> None:
    console.print(Text("\n".join(_wrapped(console, text, first, then)), style=style), highlight=False)


def _wrapped(console: Console, text: str, first: str, then: str) -> list[str]:
    # Not by rich: it fills lines with blanks, which is a nuisance in a pipe.
    return textwrap.wrap(text, console.width - 1, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)
