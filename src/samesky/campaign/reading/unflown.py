"""Which rows are planned and not flown yet, and which of them comes next?

One rule for the command line and the pages alike (:data:`RULE`): such a row is read, its names and keys are checked,
and nothing is computed from it. Rows that hold a clock or a reading were flown, and every cell of theirs is wanted.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.words import listed, plain_name, quoted
from samesky.campaign.model.campaign import Campaign, UnflownRun
from samesky.campaign.tables import cells
from samesky.campaign.tables.cells import CellError
from samesky.campaign.tables.grid import Grid
from samesky.campaign.tables.labels import fittings, keys
from samesky.campaign.tables.sheet_rows import SheetRows
from samesky.measures.shape import Column

#: Columns that can be filled in before a run is flown.
BEFORE = ("run", "date", "configuration", "installation", "pilot", "runway", "exclude", "notes")
#: The rule, for the file reference and whoever else tells it.
RULE = (
    f"A row is planned and not flown yet where the configuration is filled in, the clock is blank, and so is every "
    f"reading: only {listed(BEFORE, 'or')} may hold something. It counts for nothing and lacks nothing, until its "
    "clock or a first reading is written down; from then on it is a run like any other, and what is missing in it is "
    "an error at its cell. With a reason under exclude it was called off, and never comes up as the next run. "
    "Notes that begin with a block, such as “block 2” or “block 2, turn 3”, say where in the plan it stands."
)
_BLOCK = re.compile(r"\s*block ([0-9]{1,4})(?:, turn ([0-9]{1,4}))?(?![0-9])", re.IGNORECASE)


def is_unflown(written: Mapping[str, str]) -> bool:
    """Whether a row is planned and not flown yet; ``written`` are its cells by name of the column.

    Pass the columns that the measure knows: what else a file holds beside them says nothing of a run.
    """
    filled = {plain_name(name) for name, cell in written.items() if cell.strip()}
    return "configuration" in filled and filled.issubset(BEFORE)


def block_note(block: int, turn: int | None = None) -> str:
    """What the notes of a planned row begin with: its block, and its place there where changing is free."""
    return f"block {block}" if turn is None else f"block {block}, turn {turn}"


def block_of(notes: str) -> tuple[int | None, int | None]:
    """Block and turn as notes begin with them; None where they do not."""
    found = _BLOCK.match(notes)
    return (None, None) if found is None else (int(found[1]), None if found[2] is None else int(found[2]))


def unflown_places(grid: Grid, columns: Sequence[Column]) -> list[int]:
    """The rows of a grid that are planned and not flown yet; ``columns`` are those that the measure knows."""
    known = {plain_name(column.name) for column in columns}
    names = [plain_name(cell.partition("[")[0]) for cell in grid.header]
    return [
        place
        for place, row in enumerate(grid.rows)
        if is_unflown({name: cell for name, cell in zip(names, row, strict=False) if name in known})
    ]


def parted(rows: SheetRows) -> tuple[SheetRows, SheetRows]:
    """The rows that were flown, and those that are planned and not flown yet."""
    at = {place.index: name for name, place in rows.where.items()}
    ahead = [
        is_unflown({at[index]: cell for index, cell in enumerate(row_cells) if index in at})
        for _, row_cells in rows.rows
    ]
    return rows.only([not one for one in ahead]), rows.only(ahead)


def unflown_runs(
    rows: SheetRows,
    ahead: SheetRows,
    runs: Sequence[str],
    measure: str,
    configurations: Mapping[str, str],
    runways: Mapping[str, str],
) -> tuple[UnflownRun, ...]:
    """The planned rows of a file as runs still to fly; faults in what they hold go to the findings.

    ``rows`` are all of the file's, ``ahead`` those not flown, ``runs`` the names of all; ``configurations`` and
    ``runways`` give each key's label.
    """
    configuration = ahead.words("configuration")
    if configuration is None:
        return ()
    if configurations:
        configuration = keys(ahead, "configuration", configuration, configurations, needed=True)
    blank = [""] * len(ahead)
    if runways:
        keys(ahead, "runway", ahead.words("runway") or blank, runways, needed=False)
    dates = [_date(ahead, k, cell) for k, cell in enumerate(ahead.words("date") or blank)]
    installation = ahead.words("installation") or blank
    filled = [bool(cell) for cell in installation]
    fittings(ahead.only(filled), [cell for cell in installation if cell])
    exclude = ahead.words("exclude") or blank
    places = _places(rows)
    name = {row: run for (row, _), run in zip(rows.rows, runs, strict=True)}
    return tuple(
        UnflownRun(measure, rows.file, row, name[row], dates[k], configuration[k], exclude[k], *places[row])
        for k, (row, _) in enumerate(ahead.rows)
    )


def _date(ahead: SheetRows, k: int, cell: str) -> str:
    if not cell:
        return ""
    row = ahead.rows[k][0]
    try:
        return str(cells.day(cell))
    except CellError as error:
        ahead.error(row, "date", say.PLANNED_DATE_UNREADABLE(cell=quoted(cell), wrong=error.wrong, mend=error.mend))
        return ""


def _places(rows: SheetRows) -> dict[int, tuple[int | None, int | None, int]]:
    """Block, turn and round of every row: how many of its kind stand before it without a break."""
    blank = [""] * len(rows)
    notes, keys_, fitted = (rows.words(name) or blank for name in ("notes", "configuration", "installation"))
    found, before, count = {}, None, 0
    for (row, _), note, key, number in zip(rows.rows, notes, keys_, fitted, strict=True):
        block, turn = block_of(note)
        kind = (block, turn, key, number)
        count = count + 1 if kind == before else 0
        before = kind
        found[row] = (block, turn, count)
    return found


def last_number(campaign: Campaign, measure: str) -> int:
    """The highest run number that a file's flown and called-off runs have; 0 without one."""
    table = campaign.tables.get(measure)
    names = [] if table is None else list(table.text["run"])
    names += [one.run for one in campaign.unflown if one.measure == measure and one.called_off]
    return max((int(name) for name in names if name.isascii() and name.isdigit() and len(name) < 10), default=0)


def planned_runs(campaign: Campaign) -> list[UnflownRun]:
    """The planned runs in the order in which they are to be flown, over all files; those called off are not among them.

    By date, block and turn; within a turn in rounds, the measures in the order of their plan, which is how a plan lays
    them out. Runs of one file keep its order.
    """
    named = [*(campaign.plan.measures if campaign.plan is not None else ()), *campaign.asked]
    order = {name: place for place, name in reversed(list(enumerate(named)))}
    waiting: dict[str, list[UnflownRun]] = {}
    for one in campaign.unflown:
        if not one.called_off:
            waiting.setdefault(one.measure, []).append(one)

    def first(name: str) -> tuple:
        one = waiting[name][0]
        return one.date, one.block or 0, one.turn or 0, one.round, order.get(name, len(order))

    found = []
    while waiting:
        name = min(waiting, key=first)
        found.append(waiting[name].pop(0))
        if not waiting[name]:
            del waiting[name]
    return found


def next_run(campaign: Campaign) -> UnflownRun | None:
    """The planned run that comes next; None where none is left."""
    return next(iter(planned_runs(campaign)), None)


def place_words(run: UnflownRun) -> str:
    """Configuration and place in the plan: ``B, block 2``."""
    return ", ".join([run.configuration, *([] if run.block is None else [block_note(run.block, run.turn)])])


def next_words(campaign: Campaign) -> str:
    """``Next run: B, block 2 (timed climb, run 3).``; empty where no planned run is left."""
    run = next_run(campaign)
    if run is None:
        return ""
    # A row that was begun by hand may have no number yet.
    number = f", run {run.run}" if run.run else ""
    return f"Next run: {place_words(run)} ({campaign.asked[run.measure].measure.title}{number})."


def unflown_words(campaign: Campaign) -> str:
    """How many planned runs are not flown yet, and how many were called off; empty where there is none."""
    left = [one.measure for one in planned_runs(campaign)]
    off = len(campaign.unflown) - len(left)
    said = []
    if left:
        each = listed(f"{left.count(name)} x {campaign.asked[name].measure.title}" for name in dict.fromkeys(left))
        what = "1 planned run is" if len(left) == 1 else f"{len(left)} planned runs are"
        said.append(f"{what} not flown yet: {each}.")
    if off:
        said.append(f"{off} planned run{'s were' if off > 1 else ' was'} called off, with a reason written down.")
    return " ".join(said)
