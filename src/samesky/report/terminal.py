"""What does the terminal say? The answer of the deciding measure, a line for each other, and the warnings.

Readable at 80 columns and in a pipe: no meaning is carried by colour, and nothing is cut off.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from samesky.campaign.messages.columns import wrapped
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign
from samesky.inference.propellers.told import propellers
from samesky.inference.result import Comparison
from samesky.inference.together.told import ExcessThrust, excess_thrust
from samesky.report import by_all_words, missions, phrases
from samesky.report.choice import hard_limits
from samesky.report.propellers import words as propeller_words

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


def print_answers(
    campaign: Campaign, comparisons: Sequence[Comparison], console: Console | None = None, details: bool = False
) -> None:
    """Print the answer of the deciding measure, one line for each other, what suits which flying, and the warnings.

    Parameters
    ----------
    campaign : the campaign
    comparisons : every measure held against the baseline
    console : where to print, default the terminal
    details : whether what each answer rests on follows
    """
    console = _console(console)
    _opening(campaign, comparisons, console)
    ordered = primary_first(comparisons)
    if ordered and ordered[0].withheld:
        _withheld(ordered, console)
        return
    together = excess_thrust(campaign, comparisons)
    _disagreement(together, console)
    ranked = rankings(ordered)
    for said in ranked:
        _plain(console, said, then="  ", style="bold")
    if ranked:
        console.print()
    deciding = [one for one in ordered if one.primary]
    for one in deciding:
        _deciding(one, comparisons, console)
    _others([one for one in ordered if not one.primary], comparisons, bool(deciding), console)
    _not_flown(together, console)
    _propellers(campaign, comparisons, details, console)
    _missions(campaign, comparisons, console)
    _engine(ordered, comparisons, console)
    _warnings(ordered, comparisons, console)
    if details:
        for one in ordered:
            _details(one, comparisons, console)
        _together(campaign, together, console)


def _propellers(campaign: Campaign, comparisons: Sequence[Comparison], details: bool, console: Console) -> None:
    """Propellers on their lines, where the campaign says which settings are of which: what decides, or all of it."""
    found = propellers(campaign, comparisons)
    if found is None or found.refused:
        return
    said = propeller_words.sentences(found) if details else propeller_words.short(found)
    if details:
        said = [*propeller_words.speeds_in_words(found), *said]
    if said:
        _plain(console, "Propeller or pitch?", style="bold")
        for sentence in said:
            _indented(console, sentence)
        console.print()


def _deciding(one: Comparison, among: Sequence[Comparison], console: Console) -> None:
    """The deciding measure: its answer as a headline, the difference in the pilot's unit, and what to fly next."""
    head = f"{phrases.capital(title(one, among))}, the deciding measure: "
    _headed(console, head, f"{by_all_words.headline(one)}.", one)
    _indented(console, phrases.sentence(one))
    _indented(console, f"Flown: {phrases.rests_on(one)}.")
    _by_all(console, one)
    if one.settle:
        _indented(console, f"Fly next: {one.settle}")
    console.print()


def _others(comparisons: Sequence[Comparison], among: Sequence[Comparison], beside: bool, console: Console) -> None:
    """The other measures, a line each: difference, interval, answer."""
    if not comparisons:
        return
    if beside:
        _plain(console, "Flown beside it:", style="bold")
    rows = [_cells(one, among) for one in comparisons]
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    # Where one line is too long for the window, the measure gets a line of its own, and the answer too.
    broken = sum(widths) + 8 > console.width
    alone = sum(widths[1:]) + 9 > console.width
    for one, row in zip(comparisons, rows, strict=True):
        line = Text("  ")
        line.append(f"{row[0]}\n    " if broken else row[0].ljust(widths[0] + 2), style="bold")
        line.append(row[1].rjust(widths[1]) + "  ")
        line.append(f"{row[2]}\n    " if alone else row[2].ljust(widths[2] + 2))
        line.append(row[3], style=_COLOURS[phrases.answer(one)])
        console.print(line, highlight=False)
        if one.left_out:
            _indented(console, f"{phrases.capital(phrases.left_out(one))}.")
        _by_all(console, one)
    console.print()


def _details(one: Comparison, among: Sequence[Comparison], console: Console) -> None:
    """What an answer rests on: the runs, what is assumed, and what more flying would do."""
    _plain(console, f"{phrases.capital(title(one, among))} rests on", style="bold")
    _indented(console, f"{phrases.rests_on(one)}; {phrases.percent(one.percent)}; margin {phrases.matters(one)}.")
    _indented(console, one.assumption)
    words = phrases.rpm_in_hand(one)
    if words:
        _indented(console, f"{words}.")
    if one.exact_test:
        _indented(console, f"Exact p by {one.exact_test}: {phrases.p_value(one.exact_p)}.")
    if one.settle and not one.primary:
        _indented(console, f"Fly next: {one.settle}")
    console.print()


def _disagreement(together: Sequence[ExcessThrust], console: Console) -> None:
    """That measures disagree beyond chance: before any answer."""
    for said in by_all_words.first(together):
        _plain(console, said, then="  ", style="bold yellow")


def _by_all(console: Console, one: Comparison) -> None:
    """What all measures together say of it, beside its own answer, and which of the two decides."""
    for said in filter(None, (by_all_words.beside(one), by_all_words.fixed(one) if one.primary else "")):
        _indented(console, said)


def _not_flown(together: Sequence[ExcessThrust], console: Console) -> None:
    """Measures without runs of their own that all others tell."""
    said = by_all_words.not_flown(together)
    for sentence in said:
        _plain(console, sentence, then="  ")
    if said:
        console.print()


def _together(campaign: Campaign, together: Sequence[ExcessThrust], console: Console) -> None:
    """What answers by all measures rest on."""
    for sentence in by_all_words.rests_on(together, campaign):
        _plain(console, sentence, then="  ")


def _engine(comparisons: Sequence[Comparison], among: Sequence[Comparison], console: Console) -> None:
    """Cautions, each once with the measures that it is of, and the rpm in hand: with the answer, whatever it is."""
    of = _grouped(comparisons, among, "cautions")
    for caution, titles in of.items():
        _plain(console, f"Caution, {listed(titles)}: {caution}", then="  ", style="bold red")
    read = [f"{name} {short}" for name, short in phrases.rpm_in_hand_by_measure(comparisons).items()]
    if read:
        _plain(console, f"rpm in hand: {'; '.join(read)}.", then="  ")
    if of or read:
        console.print()


def _grouped(comparisons: Sequence[Comparison], among: Sequence[Comparison], kind: str) -> dict[str, list[str]]:
    """Every caution or warning once, with the titles that it is of: the measure alone where it holds for all pairs."""
    of: dict[str, list[Comparison]] = {}
    for one in comparisons:
        for said in getattr(one, kind):
            of.setdefault(said, []).append(one)
    pairs = Counter(one.measure for one in comparisons)
    found: dict[str, list[str]] = {}
    for said, own in of.items():
        whole = {one.measure for one in own if sum(each.measure == one.measure for each in own) == pairs[one.measure]}
        titles = [one.title if one.measure in whole or kind == "cautions" else title(one, among) for one in own]
        found[said] = list(dict.fromkeys(titles))
    return found


def _warnings(comparisons: Sequence[Comparison], among: Sequence[Comparison], console: Console) -> None:
    """Every warning once, with the measures that it is of; of all measures without their names."""
    of = _grouped(comparisons, among, "warnings")
    everything = {one.title for one in comparisons}
    for warning, titles in of.items():
        whose = "" if set(titles) == everything else f", {listed(titles)}"
        _plain(console, f"Warning{whose}: {warning}", then="  ")
    if of:
        console.print()


def _withheld(comparisons: Sequence[Comparison], console: Console) -> None:
    """Why no verdict is told now, once for all, and what was flown."""
    _plain(console, comparisons[0].withheld, style=_COLOURS[phrases.Answer.WITHHELD])
    console.print()
    for one in comparisons:
        _plain(console, f"{phrases.capital(title(one, comparisons))}: {phrases.rests_on(one)}.", then="    ")
    console.print()
    _engine(comparisons, comparisons, console)
    _warnings(comparisons, comparisons, console)


def _missions(campaign: Campaign, comparisons: Sequence[Comparison], console: Console) -> None:
    """Which configuration suits which flying, where the campaign names kinds of flying; and limits that are broken."""
    said = [missions.traded(comparisons), *missions.sentences(campaign, comparisons)]
    for sentence in filter(None, said):
        _plain(console, phrases.capital(sentence), then="  ")
    if any(said):
        console.print()
    limits_broken = hard_limits.broken(campaign)
    for sentence in limits_broken:
        _plain(console, f"Caution: {sentence}", then="  ", style="bold red")
    beside = [*hard_limits.balance(campaign), *filter(None, [hard_limits.not_entered(campaign)])]
    for sentence in beside:
        _plain(console, sentence, then="  ")
    if limits_broken or beside:
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


def _console(console: Console | None) -> Console:
    console = console or Console()
    console.width = min(console.width, WIDEST)
    return console


def _opening(campaign: Campaign, comparisons: Sequence[Comparison], console: Console) -> None:
    for text, style in ((campaign.title, "bold"), (campaign.question, "italic")):
        if text:
            _plain(console, text, style=style)
    named = ", ".join(
        f"{key} = {configuration.label or key}{' (baseline)' * (key == campaign.baseline)}"
        for key, configuration in campaign.configurations.items()
    )
    _plain(console, f"{named}.{_minus(comparisons)}", then="    ")
    if not comparisons:
        _plain(console, "No measure has runs of two configurations: there is nothing to compare yet.")
    console.print()


def _minus(comparisons: Sequence[Comparison]) -> str:
    """Which is taken from which, a sentence with its blank before it; empty where nothing is compared."""
    if not comparisons or comparisons[0].withheld:
        return ""
    if len({one.baseline for one in comparisons}) > 1:
        return " Differences are the first named minus the second."
    others = phrases.listed(dict.fromkeys(one.other for one in comparisons))
    return f" Differences are {others} minus {comparisons[0].baseline}."


def _headed(console: Console, head: str, answer: str, one: Comparison) -> None:
    """A line that begins with what it is of, its answer in the colour of the answer."""
    text = Text("\n".join(_wrapped(console, f"{head}{answer}", "", "  ")))
    text.stylize("bold")
    text.stylize(_COLOURS[phrases.answer(one)], len(head))
    console.print(text, highlight=False)


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
    return wrapped(text, console.width, first, then)
