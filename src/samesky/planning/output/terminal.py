"""What does the terminal say of a plan? One page that a pilot reads on Friday evening."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import timedelta

from rich.console import Console
from rich.text import Text

from samesky.campaign.messages.columns import columns, wrapped
from samesky.campaign.messages.words import capital
from samesky.planning.output import words
from samesky.planning.plan import Plan
from samesky.planning.question import clock

#: Widest text: longer lines are hard to read.
WIDEST = 100
#: Cautions that go with every plan.
CAUTION = (
    "The aircraft's papers, the local rules and licensed people come first; a plan is no permission. "
    "Scrub rather than hurry."
)


def print_plan(plan: Plan, console: Console | None = None, details: bool = False) -> None:
    """Print the plan: what it can settle first, then the order of the day, hours, fuel and limits.

    Parameters
    ----------
    plan : the plan
    console : where to print, default the terminal
    details : whether what its chances rest on follows
    """
    console = console or Console()
    console.width = min(console.width, WIDEST)
    _opening(plan, console)
    _settle(plan, console)
    _blocks(plan, console)
    _limits(plan, console)
    _looks(plan, console)
    for note in plan.notes:
        _line(console, "Note", note)
    _line(console, "Caution", CAUTION)
    if details:
        _details(plan, console)


def _opening(plan: Plan, console: Console) -> None:
    campaign = plan.question.campaign
    _say(console, campaign.title or "Plan", style="bold")
    if campaign.question:
        _say(console, campaign.question, style="italic")
    keys = (campaign.baseline, plan.question.other)
    labels = [f"{key} = {campaign.configurations[key].label}" for key in keys]
    _say(console, f"{labels[0]} (baseline), {labels[1]}")
    console.print()
    _say(console, words.headline(plan), style="bold green" if plan.answers else "bold yellow")
    ways = words.alternatives(plan)
    if ways:
        _say(console, "What would do, cheapest first:")
        for way in ways:
            _say(console, way, first="  - ", then="    ")
    elif not plan.answers:
        _say(console, "Nothing that was tried would do: ask for a larger difference, another measure, or calmer air.")
    console.print()


def _settle(plan: Plan, console: Console) -> None:
    _say(console, "Of 100 campaigns like this one", style="bold")
    rows = [("measure", "runs", "margin", "find it", "show equal", "an answer is")]
    for wanted in sorted(plan.question.wanted, key=lambda one: not one.asked.primary):
        found = plan.deciding(wanted.name)
        rows.append(
            (
                f"{capital(wanted.asked.measure.title)}{', decides' * wanted.asked.primary}",
                str(len(plan.schedule.runs_of(wanted.name))),
                wanted.asked.smallest_text,
                words.count_in_100(found.found),
                words.count_in_100(found.none),
                words.verdict_words(plan, found),
            )
        )
    _table(console, rows, right=(1, 3, 4))
    _say(
        console,
        "find it: a real difference as large as the margin is found. show equal: if the two are equal, it is shown.",
        style="dim",
        then="  ",
    )
    if words.by_all(plan):
        _say(console, words.by_all(plan))
    console.print()


def _blocks(plan: Plan, console: Console) -> None:
    question = plan.question
    each = "block" if question.campaign.fitted_anew else "turn"
    _line(console, f"Each {each}", f"{words.runs_words(plan)}, in rounds.")
    first = question.request.first_date
    for day in range(plan.schedule.days):
        date = f" ({first + timedelta(days=day)})" if first else ""
        _line(console, f"Day {day + 1}{date}", words.order_words(plan, day))
        rows = [("block", "clock", "fly", "fuel", "weight", "before")]
        for block in plan.schedule.blocks:
            if block.day == day:
                rows.append(
                    (
                        str(block.number),
                        f"{clock(block.start)}-{clock(block.end)}",
                        " ".join(block.configurations),
                        f"{words.fuel(question, block.fuel)} to {words.fuel(question, block.fuel_left)}",
                        words.weight_words(plan, block),
                        block.before,
                    )
                )
        _table(console, rows, right=(0,))
    _line(console, "In all", f"{words.in_all(plan)}.")
    console.print()


def _limits(plan: Plan, console: Console) -> None:
    share = f"{100 * plan.question.request.left_over:g} %"
    _say(console, f"Scrub outside these limits: beyond them the conditions can leave more than {share} of the margin.")
    for title, said in words.limits_by_measure(plan):
        _line(console, title, f"{'; '.join(said)}.", first="  ", then="    ")
    outside = words.outside(plan)
    if outside:
        _line(console, "By the forecast", outside)
    console.print()


def _looks(plan: Plan, console: Console) -> None:
    if not plan.looks:
        return
    said = [words.look_words(look) for look in plan.looks]
    kind = {"pocock": "Pocock", "obrien-fleming": "O'Brien-Fleming"}[plan.question.request.stopping]
    _line(console, "Planned looks", f"{'; '.join(said)}. {kind} limits, fixed now: samesky compare DIR --look K")
    if words.looks_to_state(plan):
        _line(console, "Fix them", words.looks_to_state(plan))
    console.print()


def _details(plan: Plan, console: Console) -> None:
    """What the chances rest on, for who asks."""
    question = plan.question
    console.print()
    _line(console, "The chances rest on", plan.powers[question.primary.name].assumption)
    _line(console, "Drift", f"{words.drift_words(plan)}.")
    _line(console, "What comes first", f"drawn with seed {question.request.seed}.")
    rows = [("measure", "standard uncertainty", "if it scatters more")]
    for wanted in question.wanted:
        found = plan.powers[wanted.name]
        more = words.chance(found.with_more_scatter) if math.isfinite(wanted.degrees_of_freedom) else "not known"
        rows.append((capital(wanted.asked.measure.title), words.size(wanted, found.combined), more))
    _table(console, rows, right=(1, 2))
    limits = [("measure", "condition", "reading errors", "limit set by"), *words.limits_set_by(plan)]
    _say(console, "What reading errors of a condition put into the difference, of the margin; and what sets its limit:")
    _table(console, limits, right=(2,))


def _table(console: Console, rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> None:
    head, *lines = columns(rows, console.width - 2, right)
    console.print(Text(f"  {head}", style="dim"), highlight=False)
    for line in lines:
        console.print(Text(f"  {line}"), highlight=False)


def _line(console: Console, label: str, text: str, first: str = "", then: str = "  ") -> None:
    line = Text("\n".join(wrapped(f"{label}: {text}", console.width, first, then)))
    line.stylize("bold", 0, len(first) + len(label) + 1)
    console.print(line, highlight=False)


def _say(console: Console, text: str, style: str = "", first: str = "", then: str = "") -> None:
    console.print(Text("\n".join(wrapped(text, console.width, first, then)), style=style), highlight=False)
