"""What goes on the kneeboard? One card a block: what to do, within what, and a blank for every reading.

The blanks stand in the order of the file's own columns, one row a run, so that typing them in is copying.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import cache
from importlib.resources import files
from pathlib import Path

from samesky import units
from samesky.campaign.derived.cautions import of_the_change
from samesky.campaign.messages.words import listed, plain_name
from samesky.campaign.reading.template import columns_shown, header_cell
from samesky.campaign.tables.delimited import split
from samesky.campaign.tables.write import write_bytes, write_text
from samesky.measures.columns import COMMON
from samesky.planning import catalogue as say
from samesky.planning.cards.paper import AIMS, MARGIN, PAPERS, Card, CardTable, may_take_more, roomiest
from samesky.planning.cards.pdf import pdf_bytes
from samesky.planning.flyable import binds
from samesky.planning.output import words
from samesky.planning.plan import Plan
from samesky.planning.question import Wanted, clock, refuse
from samesky.planning.schedule import Block
from samesky.planning.scrub import ScrubLimit

#: Columns that are the same for the whole card, or printed on it already.
_KNOWN = ("run", "date", "configuration", "installation", "pilot", "runway")
#: Cautions on every card, before those of the measures.
STOP = (
    "The aircraft's papers and limits come first; nothing on this card is a permission.",
    "Before each run: strip and propeller clear, abort point agreed. Not flying by then: close the throttle, stop.",
    "Stop the block for any limit, rough running, rising temperatures, traffic, or doubt. A scrubbed run is written "
    "down with its reason.",
)


def cards(plan: Plan) -> list[Card]:
    """The cards of a plan, one a block."""
    headers = {wanted.name: _header(plan, wanted) for wanted in plan.question.wanted}
    return [_card(plan, block, headers) for block in plan.schedule.blocks]


def write_cards(plan: Plan, path: Path, paper: str = "a5", pdf: bool = False) -> list[Path]:
    """Write the cards as HTML, and beside it as PDF where asked; give the paths.

    Raises CampaignError for a paper that is not known, a file that cannot be written, or a PDF without its library.
    """
    if paper not in PAPERS:
        raise refuse(say.CARDS_PAPER(paper=paper, papers=listed(PAPERS, "or")), "--paper")
    made = cards(plan)
    title = plan.question.campaign.title or "Test cards"
    path = Path(path)
    contents = None
    if pdf:
        contents = pdf_bytes(made, title, PAPERS[paper])
    width, height = PAPERS[paper]
    page = _environment().render(
        cards=[(card, *roomiest(card, PAPERS[paper])) for card in made],
        title=title,
        width=width,
        height=height,
        margin=MARGIN,
        aims=AIMS,
    )
    written = [write_text(path, page)]
    if contents is not None:
        written.append(write_bytes(path.with_suffix(".pdf"), contents))
    return written


def on_two_pages(plan: Plan, paper: str = "a5") -> str:
    """Which cards may not fit on one page, a sentence; empty where every card does."""
    made = cards(plan)
    long = [str(card.number) for card in made if may_take_more(card, PAPERS[paper])]
    if not long:
        return ""
    which = "Every card" if len(long) == len(made) else f"Card{'s' * (len(long) > 1)} {listed(long)}"
    return f"{which} may need a second page: fewer runs a block fit on one."


@cache
def _environment():
    from jinja2 import Environment, StrictUndefined

    text = (files("samesky.planning") / "templates" / "cards.html").read_text(encoding="utf-8")
    return Environment(undefined=StrictUndefined, autoescape=True).from_string(text)


def _header(plan: Plan, wanted: Wanted) -> list[str]:
    """Header cells of the measure's file: as it stands in the campaign, else as a fresh one has them."""
    written = plan.question.campaign.text_of(wanted.name)
    sheet = None if written is None else split(written[1], written[0], [column.name for column in COMMON])[0]
    if sheet is not None:
        return [cell for cell in sheet.header if cell]
    measure = replace(wanted.asked.measure, unit=wanted.asked.unit or wanted.asked.measure.unit)
    return [header_cell(column, measure) for column in columns_shown(measure)]


def _card(plan: Plan, block: Block, headers: dict[str, list[str]]) -> Card:
    question = plan.question
    campaign = question.campaign
    flown = [wanted for wanted in question.wanted if any(run.measure == wanted.name for run in block.runs)]
    superfluous = _superfluous(plan)
    tables = tuple(_table(plan, block, wanted, headers[wanted.name], superfluous) for wanted in flown)
    left = sorted({name for wanted in flown for name in map(_name, headers[wanted.name]) if name in superfluous})
    labels = [f"{key}: {campaign.configurations[key].label}" for key in dict.fromkeys(block.configurations)]
    looks = [look for look in plan.looks if look.after_block == block.number]
    before = [f"Before: {block.before}"] if block.before else []
    if block.ballast:
        before.append(f"Ballast on board: {block.ballast:g} kg, secured as the papers allow")
    after = [f"After this block: look {look.number}, samesky compare DIR --look {look.number}" for look in looks]
    return Card(
        number=block.number,
        of=len(plan.schedule.blocks),
        heading=" ".join(block.configurations),
        facts=(
            *labels,
            f"{_date(plan, block)}, {clock(block.start)} to {clock(block.end)} as planned",
            _fitting(plan, block),
            f"Fuel {words.fuel(question, block.fuel)} at the start, about {words.fuel(question, block.fuel_left)} left",
            *before,
            *after,
        ),
        order=_order(block),
        limits=_limits(plan, [one.name for one in flown]),
        stop=(
            *STOP,
            *of_the_change(campaign),
            *(wanted.asked.measure.cautions[0] for wanted in flown if wanted.asked.measure.cautions),
        ),
        tables=tables,
        left_out=f"Not on this card: {', '.join(left)} (leave blank)." if left else "",
    )


def _limits(plan: Plan, flown: list[str]) -> tuple[tuple[str, str, str], ...]:
    """Each condition with the band that all measures of the block allow, and whose that is."""
    held: dict[str, ScrubLimit] = {}
    for limit in words.worth_saying(plan):
        if limit.measure not in ("", *flown) or not binds(limit):
            continue
        before = held.get(limit.condition)
        if before is None:
            held[limit.condition] = replace(limit, measure=_short(limit.measure) or "all")
        else:
            low, high = max(before.low, limit.low), min(before.high, limit.high)
            both = low != limit.low or high != limit.high
            whose = f"{before.measure}, {_short(limit.measure)}" if both else _short(limit.measure)
            held[limit.condition] = replace(before, low=low, high=high, measure=whose)
    question = plan.question
    return tuple((words.condition_name(one), words.within(question, one), one.measure) for one in held.values())


def _date(plan: Plan, block: Block) -> str:
    first = plan.question.request.first_date
    return f"Day {block.day + 1}" if first is None else str(first + timedelta(days=block.day))


def _fitting(plan: Plan, block: Block) -> str:
    if not plan.question.campaign.fitted_anew:
        return "Changing is free: set it before each run, and read it back"
    return f"Fitting {block.runs[0].installation + 1}: fitted, set and checked as the papers ask"


def _short(measure: str) -> str:
    return measure.replace("_", " ")


def _order(block: Block) -> tuple[str, ...]:
    """What is flown one after the other, with its configuration where that changes within the block."""
    changes = len(set(block.configurations)) > 1
    return tuple(
        f"{_short(run.measure)} {run.number}" + (f" {run.configuration}" if changes else "") for run in block.runs
    )


def _name(cell: str) -> str:
    return plain_name(cell.partition("[")[0])


def _superfluous(plan: Plan) -> set[str]:
    """Columns that nobody needs to read in flight, because the plan or the campaign gives them."""
    strip = plan.question.runway
    found = set()
    if strip is not None and strip.slope is not None:
        found.add("slope")
    if strip is not None and strip.elevation is not None:
        found.add("pressure altitude")
    if not any(block.ballast for block in plan.schedule.blocks):
        found.add("ballast")
    return found


def _table(plan: Plan, block: Block, wanted: Wanted, header: list[str], superfluous: set[str]) -> CardTable:
    cells = [cell for cell in header if _name(cell) not in _KNOWN and _name(cell) not in superfluous]
    runs = [run for run in block.runs if run.measure == wanted.name]
    changes = len(set(block.configurations)) > 1
    return CardTable(
        title=f"{wanted.asked.measure.title} ({wanted.name}.csv), card {block.number}",
        header=tuple(cells),
        aims=tuple(_aim(wanted, cell) for cell in cells),
        rows=tuple(f"{run.number} {run.configuration}" if changes else str(run.number) for run in runs),
    )


def _aim(wanted: Wanted, cell: str) -> str:
    """What is aimed at: airspeeds and heights as expected, in the unit of the column; blank for what is found out."""
    name = _name(cell)
    if name not in wanted.expected or not (
        name.endswith(("airspeed", "ground speed")) or name in ("from", "to", "altitude")
    ):
        return ""
    column = next((one for one in wanted.asked.measure.columns if one.name == name), None)
    unit = cell.partition("[")[2].rstrip("] ")
    if column is None or not unit:
        return ""
    return units.show(wanted.expected[name], unit, column.dimension).removesuffix(f" {unit}")
