"""Which planned rows do runs fill that were flown since: found in a track, pasted, or taken from another file?

One rule (:data:`RULE`), proposed on the pages and by the command line in the same words. All runs fill planned rows, or
none does: then a sentence says what disagrees, and they go in as rows of their own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from samesky.campaign.messages.words import listed, plain_name
from samesky.campaign.reading.unflown import block_note, block_of, is_unflown, unflown_places
from samesky.campaign.tables import cells
from samesky.campaign.tables.grid import Grid
from samesky.measures.shape import Column

#: The rule, for whoever tells it.
RULE = (
    "Runs that were flown fill the next planned rows of their table in order, where number, date, configuration, "
    "installation, pilot and runway agree as far as both say them, and no run that is written down began later. "
    "What stands in the planned rows stays; notes of the run are put behind theirs. All of them fill planned rows, or "
    "none does."
)
#: What must not be said in two ways, beside the date.
AGREE = ("run", "configuration", "installation", "pilot", "runway")


@dataclass(frozen=True, slots=True)
class Filling:
    """Rows as they go in: ``places`` in the grid that they fill, none where they are rows of their own.

    ``rows`` hold text by column name; ``said`` is what to tell before they are put, ``""`` where nothing was planned.
    """

    rows: tuple[Mapping[str, str], ...]
    places: tuple[int, ...] = ()
    said: str = ""


def filling(
    grid: Grid, columns: Sequence[Column], rows: Sequence[Mapping[str, str]], day: date | None = None
) -> Filling:
    """How rows that were flown go into a grid that may hold planned ones.

    Parameters
    ----------
    columns : those that the measure knows
    rows : text by column name, one mapping a run, in the units of the grid
    day : of rows without a date
    """
    there = [_written(grid, k) for k in range(len(grid.rows))]
    waiting = [k for k in unflown_places(grid, columns) if not there[k].get("exclude")]
    if not waiting or not rows or any(is_unflown(row) for row in rows):
        return Filling(tuple(rows))
    moments = [moment_of(row, day) for row in rows]
    known = all(moment is not None for moment in moments)
    order = sorted(range(len(rows)), key=lambda k: moments[k] if known else k)
    why = _too_many(len(rows), len(waiting)) or _too_early(grid, there, waiting, rows, day)
    if not why:
        pairs = zip(waiting, order, strict=False)
        why = next(filter(None, (_apart(there[place], grid, place, rows[k], day) for place, k in pairs)), "")
    if why:
        one = len(rows) == 1
        itself = "It goes in as a row of its own" if one else "They go in as rows of their own"
        meant = "If it is a planned run all the same" if one else "If they are planned runs all the same"
        said = (
            f"No planned row is filled: {why}. {itself}. {meant}, delete the planned row{'s' * (not one)} afterwards."
        )
        return Filling(tuple(rows), (), said)
    places = [0] * len(rows)
    for place, k in zip(waiting, order, strict=False):
        places[k] = place
    merged = tuple(_merged(there[place], row) for place, row in zip(places, rows, strict=True))
    return Filling(merged, tuple(places), _fill_words(grid, there, sorted(places)))


def filled(grid: Grid, place: int, cells_of: Mapping[str, str]) -> Grid:
    """The grid with one planned row filled. Raises KeyError for a name that no column has."""
    for name, text in cells_of.items():
        at = grid.column(name)
        if at is None:
            raise KeyError(name)
        grid = grid.with_cell(place, at, text)
    return grid


def moment_of(row: Mapping[str, str], day: date | None) -> float | None:
    """Hours from a fixed midnight at which a row began; None where date or clock cannot be read."""
    if not row.get("clock"):
        return None
    try:
        written = cells.day(row["date"]) if row.get("date") else day
        return None if written is None else 24.0 * written.toordinal() + cells.clock_hours(row["clock"])
    except cells.CellError:
        return None


def _written(grid: Grid, place: int) -> dict[str, str]:
    names = [plain_name(cell.partition("[")[0]) for cell in grid.header]
    return {name: cell.strip() for name, cell in zip(names, grid.rows[place], strict=False) if name and cell.strip()}


def _too_many(count: int, left: int) -> str:
    if count <= left:
        return ""
    return f"{count} runs were flown, and {left} planned row{'s are' if left > 1 else ' is'} left"


def _too_early(grid: Grid, there, waiting, rows, day) -> str:
    """Whether a run that is written down began later than one of these: then they were not the next."""
    began = [(moment, row) for row in rows if (moment := moment_of(row, day)) is not None]
    first = min(began, default=None, key=lambda one: one[0])
    for place, row in enumerate(there):
        moment = moment_of(row, day)
        if first and moment is not None and place not in waiting and moment > first[0]:
            return f"{_flown(first[1])} was flown before {_called(grid, row, place)}, which is written down already"
    return ""


def _apart(planned: Mapping[str, str], grid: Grid, place: int, row: Mapping[str, str], day: date | None) -> str:
    """What a planned row and a run say differently; blank where they agree."""
    next_ = f"next in the plan is {_called(grid, planned, place)}"
    for name in AGREE:
        if planned.get(name) and row.get(name) and not _alike(planned[name], row[name]):
            return f"{next_}, {_as_said(name, planned[name])}, and {_flown(row)} has {_as_said(name, row[name])}"
    on = _day(row.get("date", "")) or day
    if planned.get("date") and on is not None and _day(planned["date"]) != on:
        return f"{next_} on {planned['date']}, and {_flown(row)} was flown on {on}"
    return ""


def _alike(one: str, other: str) -> bool:
    if plain_name(one) == plain_name(other):
        return True
    try:
        return cells.number(one, True) == cells.number(other, True)
    except cells.CellError:
        return False


def _as_said(name: str, text: str) -> str:
    return f"{'number' if name == 'run' else name} {text}"


def _day(text: str) -> date | None:
    try:
        return cells.day(text) if text else None
    except cells.CellError:
        return None


def _flown(row: Mapping[str, str]) -> str:
    return f"the run of {row['clock']}" if row.get("clock") else "a run that was flown"


def _called(grid: Grid, row: Mapping[str, str], place: int) -> str:
    return f"run {row['run']}" if row.get("run") else f"the run in row {grid.numbers()[1][place]}"


def _merged(planned: Mapping[str, str], row: Mapping[str, str]) -> dict[str, str]:
    """The run's cells with what stands in its planned row."""
    made = {name: planned.get(plain_name(name)) or text for name, text in row.items()}
    made |= {name: planned[name] for name in ("run", "installation") if planned.get(name)}
    before, after = planned.get("notes", ""), row.get("notes", "")
    if before and after:
        made["notes"] = after if plain_name(after).startswith(plain_name(before)) else f"{before}; {after}"
    return made


def _fill_words(grid: Grid, there: Sequence[Mapping[str, str]], places: Sequence[int]) -> str:
    blocks = [block_of(there[place].get("notes", ""))[0] for place in places]
    blocks = list(dict.fromkeys(block for block in blocks if block is not None))
    where = f" ({listed(block_note(block) for block in blocks)})" if blocks else ""
    names = [there[place].get("run", "") for place in places]
    if all(names):
        what = f"run{'s' * (len(names) > 1)} {listed(names)}"
    else:
        numbers = grid.numbers()[1]
        what = f"row{'s' * (len(names) > 1)} {listed(numbers[place] for place in places)}"
    if len(places) == 1:
        return f"This run was planned: it fills the planned {what}{where}. Its number, fitting and notes stay."
    return (
        f"These {len(places)} runs were planned: they fill the planned {what}{where}, in order. Their numbers, "
        "fittings and notes stay."
    )
