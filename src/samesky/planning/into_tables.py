"""How does the planned order get into the files of runs? As rows that are planned and not flown yet.

Every planned run becomes a row with its number, date, installation and configuration, and its block in the notes; clock
and readings stay blank. Below what was flown, never over it; in place of rows that an earlier plan put there and nobody
flew. All files or none: what is wrong is said before anything is written.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.words import listed, plain_name
from samesky.campaign.reading.files import texts_in
from samesky.campaign.reading.read import read_texts
from samesky.campaign.reading.table import columns_of
from samesky.campaign.reading.template import measure_file
from samesky.campaign.reading.unflown import block_note, block_of, unflown_places
from samesky.campaign.tables import cells
from samesky.campaign.tables.delimited import MOST_ROWS
from samesky.campaign.tables.grid import Grid
from samesky.campaign.tables.write import write_together
from samesky.checks.check import check
from samesky.planning import catalogue as say
from samesky.planning.plan import Plan
from samesky.planning.question import Wanted, refuse

#: Cells of a planned row that the plan fills in; beside them its block, in the notes.
FILLED = ("run", "date", "configuration", "installation")


@dataclass(frozen=True, slots=True)
class Put:
    """What one file gets: ``runs`` by name, below how many rows that ``stay``, in place of how many that ``go``."""

    title: str
    file: str
    fresh: bool
    runs: tuple[str, ...]
    stay: int
    go: int

    def says(self) -> str:
        """The same in one sentence."""
        count = len(self.runs)
        numbers = f"run {self.runs[0]}" if count == 1 else f"runs {self.runs[0]} to {self.runs[-1]}"
        said = f"{self.title[:1].upper()}{self.title[1:]}: {count} row{'s' * (count > 1)} ({numbers}) into {self.file}"
        if self.stay:
            said += f", below the {self.stay} row{'s' * (self.stay > 1)} there"
        if self.go:
            said += f", in place of {self.go} planned before and not flown"
        return f"{said}."


@dataclass(frozen=True, slots=True)
class IntoTables:
    """What putting a plan into the tables comes to: ``files`` with their new texts (none where they hold it already),
    ``puts`` in the plan's order, and what to know, in ``notes``.
    """

    files: Mapping[str, str]
    puts: tuple[Put, ...]
    notes: tuple[str, ...]

    @property
    def count(self) -> int:
        """Rows, over all files."""
        return sum(len(put.runs) for put in self.puts)

    def says(self) -> list[str]:
        """What it would do, or that nothing is left to do, in sentences."""
        if not self.files:
            return ["The tables hold this plan already: nothing would change."]
        return [*(put.says() for put in self.puts), *self.notes]


def into_tables(plan: Plan, texts: Mapping[str, str]) -> IntoTables:
    """The files of runs with the planned order in them; nothing is written here.

    Parameters
    ----------
    texts : ``campaign.toml`` and every CSV file as they are now, by name

    Raises
    ------
    CampaignError
        a row that an earlier plan put there has something typed by hand; the plan's first date is not after the last
        day flown; days cannot be told apart; or a file would not read as it should
    """
    first = _first_date(plan)
    wanted = [one for one in plan.question.wanted if plan.schedule.runs_of(one.name)]
    cleared = {one.name: _cleared(plan, one, texts) for one in wanted}
    last = _last_installation(plan, [grid for _, grid, *_ in cleared.values()])
    files, puts = {}, []
    for one in wanted:
        file, grid, fresh, gone = cleared[one.name]
        stay = sum(any(cell.strip() for cell in row) for row in grid.rows)
        rows = _rows(plan, one.name, first, last)
        _must_tell_days(plan, file, grid)
        there = [{name: text for name, text in row.items() if grid.column(name) is not None} for row in rows]
        grid = grid.with_rows(there)
        if len(grid.rows) > MOST_ROWS - 1:
            raise cannot(file, say.TABLES_TOO_MANY_ROWS(count=len(grid.rows), most_rows=MOST_ROWS - 1))
        text = grid.to_text()
        if fresh or text != texts[file]:
            files[file] = text
        puts.append(Put(one.asked.measure.title, file, fresh, tuple(row["run"] for row in rows), stay, gone))
    _must_read_back({**texts, **files})
    return IntoTables(files, tuple(puts), _notes(first))


def put_into_tables(folder: Path, plan: Plan) -> IntoTables:
    """Put the planned order into the files of a campaign's folder, all of them or none; give what was put.

    Raises as :func:`into_tables` does, and where a file cannot be read or written.
    """
    found = into_tables(plan, texts_in(folder))
    write_together(folder, found.files)
    return found


def _notes(first: date | None) -> tuple[str, ...]:
    filled = [name for name in FILLED if name != "date" or first is not None]
    said = [f"Filled in: {listed(filled)}, and the block in the notes. Clock and readings stay blank."]
    if first is None:
        said.append("The plan has no first date, so the date stays blank as well: type it with each run.")
    return tuple(said)


def _first_date(plan: Plan) -> date | None:
    """The first day of the plan; None where it is not said. Raises CampaignError where that day is flown already."""
    first = plan.question.request.first_date
    tables = plan.question.campaign.tables.values()
    flown = [cells.day(text) for table in tables for text in table.text.get("date", []) if text]
    if first is not None and flown and first <= max(flown):
        raise refuse(
            say.TABLES_DAYS_GONE(first=first, flown=max(flown)),
            "[plan] first date",
        )
    return first


def _cleared(plan: Plan, wanted: Wanted, texts: Mapping[str, str]) -> tuple[str, Grid, bool, int]:
    """The measure's file without the rows that an earlier plan put there: name, grid, whether new, and how many."""
    measure = replace(wanted.asked.measure, unit=wanted.asked.unit or wanted.asked.measure.unit)
    columns = columns_of(measure)
    there = [name for name in texts if plain_name(name.rpartition(".")[0]) == plain_name(measure.name)]
    file = next((name for name in sorted(there) if name.casefold().endswith(".csv")), f"{measure.name}.csv")
    text = texts.get(file, "")
    fresh = not text.strip()
    grid = Grid.from_text(measure_file(measure) if fresh else text, file, [column.name for column in columns])
    planned = [place for place in unflown_places(grid, columns) if not _cell(grid, place, "exclude")]
    for place in reversed(planned):
        _must_be_of_a_plan(grid, place, file)
        grid = grid.without_row(place)
    return file, grid.trimmed(), fresh, len(planned)


def _cell(grid: Grid, place: int, name: str) -> str:
    at, row = grid.column(name), grid.rows[place]
    return row[at].strip() if at is not None and at < len(row) else ""


def _must_be_of_a_plan(grid: Grid, place: int, file: str) -> None:
    for header, cell in zip(grid.header, grid.rows[place], strict=False):
        name = plain_name(header.partition("[")[0])
        by_plan = name in FILLED or (name == "notes" and cell.strip() == _own_note(cell))
        if cell.strip() and not by_plan:
            raise cannot(
                file,
                say.TABLES_TYPED_BY_HAND(cell=cell.strip()),
                grid.numbers()[1][place],
                header,
            )


def _own_note(cell: str) -> str:
    block, turn = block_of(cell)
    return "" if block is None else block_note(block, turn)


def _rows(plan: Plan, measure: str, first: date | None, last: int | None) -> list[dict[str, str]]:
    """The cells of every planned run of a measure, by column; without an installation where ``last`` is None."""
    found = []
    for block in plan.schedule.blocks:
        each = len(block.runs) // len(block.configurations)
        for at, run in enumerate(block.runs):
            if run.measure != measure:
                continue
            turn = at // each + 1 if len(block.configurations) > 1 else None
            row = {"run": str(run.number), "configuration": run.configuration, "notes": block_note(block.number, turn)}
            if first is not None:
                row["date"] = str(first + timedelta(days=run.day))
            if last is not None:
                row["installation"] = str(last + 1 + run.installation)
            found.append(row)
    return found


def _last_installation(plan: Plan, grids: Sequence[Grid]) -> int | None:
    """The highest number of a fitting so far; None where the rows are better off without.

    Where changing is free, fittings follow from the order. Else every file counts them, or none does.
    """
    tables = plan.question.campaign.tables.values()
    written = [text for table in tables for text in table.text.get("installation", [""] * len(table.rows))]
    every = all(written) and all(grid.column("installation") is not None for grid in grids)
    if not (every and plan.question.campaign.fitted_anew):
        return None
    return max((int(float(text.replace(",", "."))) for text in written), default=0)


def _must_tell_days(plan: Plan, file: str, grid: Grid) -> None:
    """Rows without a date are of the campaign's one day."""
    if grid.column("date") is None and plan.schedule.days > 1:
        raise cannot(file, say.TABLES_DAYS_NOT_TOLD_APART())


def _must_read_back(texts: Mapping[str, str]) -> None:
    for finding in check(read_texts(texts, flown=False)):
        if finding.kind == "error":
            raise CampaignError(finding)
