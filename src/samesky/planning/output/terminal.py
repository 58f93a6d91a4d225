"""What does the terminal say of a plan? One page that a pilot reads on Friday evening."""

from __future__ import annotations

import math
from datetime import timedelta

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from samesky.planning.flyable import binds
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


def print_plan(plan: Plan, console: Console | None = None) -> None:
    """Print the plan: what it can settle first, then order, hours, fuel, limits and looks."""
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


def headline(plan: Plan) -> str:
    """The answer in one sentence."""
    primary = plan.question.primary
    found = plan.powers[primary.name]
    matters = primary.asked.smallest_text
    title = primary.asked.measure.title
    wanted = words.chance(plan.question.request.power)
    if plan.answers:
        return (
            f"This plan can settle the question: a true difference of {matters} in the {title} is found with "
            f"{words.chance(found.found)}, and none that matters is shown with {words.chance(found.none)}."
        )
    if not math.isfinite(found.uncertainty):
        return f"Nothing that fits can settle the question: the {title} gets no interval at all."
    return (
        f"Nothing that fits can settle the question with {wanted}: the likeliest plan, below, finds a true difference "
        f"of {matters} in the {title} with {words.chance(found.found)}, and shows that none matters with "
        f"{words.chance(found.none)}."
    )


def _opening(plan: Plan, console: Console) -> None:
    campaign = plan.question.campaign
    console.print(Text(campaign.title or "Plan", style="bold"), highlight=False)
    if campaign.question:
        console.print(Text(campaign.question, style="italic"), highlight=False)
    keys = (campaign.baseline, plan.question.other)
    labels = [f"{key} = {campaign.configurations[key].label}" for key in keys]
    console.print(Text(f"{labels[0]} (baseline), {labels[1]}"), highlight=False)
    console.print()
    console.print(Text(headline(plan), style="bold green" if plan.answers else "bold yellow"), highlight=False)
    for number, way in enumerate(plan.alternatives):
        says = "cheapest that would" if number == 0 else "or"
        cost = f"{way.days} day{'s' * (way.days > 1)}, {way.hours:.1f} h, {words.chance(way.power)}"
        _line(console, says, f"{way.says}: {cost}")
    if not plan.answers and not plan.alternatives:
        _line(console, "nothing tried would", "ask for a larger difference, another measure, or calmer air")
    console.print()


def _settle(plan: Plan, console: Console) -> None:
    table = _table("measure", "runs", "matters", "expected ±", "found", "none", "if it scatters more", "")
    for wanted in plan.question.wanted:
        found = plan.powers[wanted.name]
        star = "*" if wanted.asked.primary else " "
        table.add_row(
            f"{star} {wanted.asked.measure.title}",
            str(len(plan.schedule.runs_of(wanted.name))),
            wanted.asked.smallest_text,
            words.size(wanted, found.combined),
            words.chance(found.found),
            words.chance(found.none),
            words.chance(found.with_more_scatter) if math.isfinite(wanted.degrees_of_freedom) else "not known",
            words.verdict_words(plan, found),
        )
    console.print(table)
    console.print(
        Text(
            "  * decides. found: a true difference as large as matters; none: no difference that matters, where there "
            "is none. ±: one standard uncertainty."
        ),
        style="dim",
        highlight=False,
    )
    _line(console, "Rests on", plan.powers[plan.question.primary.name].assumption)
    _line(console, "Drift", words.drift_words(plan))
    console.print()


def _blocks(plan: Plan, console: Console) -> None:
    question = plan.question
    first = question.request.first_date
    for day in range(plan.schedule.days):
        date = f" ({first + timedelta(days=day)})" if first else ""
        _line(console, f"Day {day + 1}{date}", words.order_words(plan, day))
    each = "block" if question.campaign.fitted_anew else "turn"
    seed = question.request.seed
    _line(console, f"Each {each}", f"{words.runs_words(plan)}, in rounds. What comes first was drawn with seed {seed}.")
    table = _table("block", "day", "clock", "fly", "fuel from", "to", "weight", "before")
    for block in plan.schedule.blocks:
        table.add_row(
            str(block.number),
            str(block.day + 1),
            f"{clock(block.start)}-{clock(block.end)}",
            " ".join(block.configurations),
            words.fuel(question, block.fuel),
            words.fuel(question, block.fuel_left),
            words.weight_words(plan, block),
            block.before,
        )
    console.print(table)
    _line(console, "In all", words.in_all(plan))
    console.print()


def _limits(plan: Plan, console: Console) -> None:
    share = f"{100 * plan.question.request.left_over:g} %"
    console.print(
        Text(f"Scrub outside these; beyond them the conditions can leave more than {share} of what matters."),
        highlight=False,
    )
    table = _table("condition", "stay within", "forecast", "for", "reading", "set by")
    rules = {"derived": "what is left", "gust": "what is left", "papers": "papers", "range": "range"}
    for limit in words.worth_saying(plan):
        table.add_row(
            words.condition_name(limit),
            words.within(plan.question, limit),
            words.forecast_says(plan, limit),
            limit.measure.replace("_", " ") or "all",
            f"{100 * limit.reading:.0f} %" if limit.reading >= 0.005 else "",
            rules[limit.rule] if binds(limit) else "",
        )
    console.print(table)
    console.print(
        Text(
            "  reading: what reading errors of the condition put into the difference, of what matters. range: the "
            "correction is believed no further. A limit that does not bind lies where nobody flies: the papers come "
            "first."
        ),
        style="dim",
        highlight=False,
    )
    outside = words.outside(plan)
    if outside:
        _line(console, "By the forecast", outside)
    console.print()


def _looks(plan: Plan, console: Console) -> None:
    if not plan.looks:
        return
    said = [words.look_words(look) for look in plan.looks]
    kind = plan.question.request.stopping
    _line(console, "Looks", f"{'; '.join(said)}. {kind} limits, fixed now: samesky compare DIR --look K")
    if words.looks_to_state(plan):
        _line(console, "Fix them", words.looks_to_state(plan))
    console.print()


def _table(*headers: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for header in headers:
        table.add_column(header)
    return table


def _line(console: Console, label: str, text: str) -> None:
    line = Text(f"{label}: ", style="bold")
    line.append(text, style="not bold")
    console.print(Padding(line, 0), highlight=False)
