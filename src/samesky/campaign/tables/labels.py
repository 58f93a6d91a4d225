"""Do names, keys and installation numbers say what the campaign knows?"""

from __future__ import annotations

from collections.abc import Collection, Mapping

import numpy as np

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.words import did_you_mean, listed, nearest, plain_name, quoted
from samesky.campaign.tables import cells
from samesky.campaign.tables.sheet_rows import SheetRows

#: Cells that mark an exclusion without giving a reason, and cells that look like "not excluded".
MARKS = {"x", "yes", "y", "true", "1", "ja", "oui"}
DENIALS = {"no", "n", "false", "0", "-", "none", "nein", "non"}


def check_exclusions(rows: SheetRows, reasons: list[str]) -> None:
    """A reason has to be a reason: a "no" may mean either, a bare mark says nothing to a reader."""
    for (row, _), reason in zip(rows.rows, reasons, strict=True):
        if reason.casefold() in DENIALS:
            rows.error(row, "exclude", say.EXCLUDE_BARE_MARK(reason=quoted(reason)))
        elif reason.casefold() in MARKS:
            rows.warning(row, "exclude", say.EXCLUDE_NO_REASON(reason=quoted(reason)))


def throttled(rows: SheetRows, found: list[str]) -> list[str]:
    """``"yes"`` where a run was throttled back for the rpm limit, else blank; other words are an error."""
    said = []
    for (row, _), cell in zip(rows.rows, found, strict=True):
        said.append("yes" if cell.casefold() in MARKS else "")
        if cell and not said[-1] and cell.casefold() not in DENIALS:
            rows.error(row, "throttled", say.THROTTLED_UNREADABLE(cell=quoted(cell)))
    return said


def check_names(rows: SheetRows, runs: list[str], flown: Collection[int]) -> None:
    """Every run has its own name, and no row of those ``flown`` (by number) is another one typed twice."""
    copies = _repeats(rows, flown)
    first: dict[str, int] = {}
    for (row, _), run in zip(rows.rows, runs, strict=True):
        name = plain_name(run)
        if row in copies:
            continue
        if not run:
            rows.error(row, "run", say.RUN_BLANK())
        elif name in first:
            rows.error(row, "run", say.RUN_TWICE(run=quoted(run), first=first[name]))
        first.setdefault(name, row)


def _repeats(rows: SheetRows, flown: Collection[int]) -> set[int]:
    """Flown rows that say the same as an earlier one in every cell but the run's name, which are reported."""
    run = rows.where["run"].index if "run" in rows.where else None
    first: dict[tuple[str, ...], int] = {}
    copies = set()
    for row, row_cells in rows.rows:
        if row not in flown:
            continue
        key = tuple(cell.strip() for index, cell in enumerate(row_cells) if index != run)
        if key in first:
            rows.error(row, None, say.ROW_REPEATED(first=first[key]))
            copies.add(row)
        first.setdefault(key, row)
    return copies


def keys(rows: SheetRows, name: str, found: list[str], known: Mapping[str, str], needed: bool) -> list[str]:
    """Cells as keys of the campaign; ``known`` gives each key's label. Unknown cells are errors and come back blank."""
    by_plain = {plain_name(key): key for key in known}
    options = listed((repr(key) for key in known), "or")
    result = []
    for (row, _), cell in zip(rows.rows, found, strict=True):
        result.append(by_plain.get(plain_name(cell), ""))
        if result[-1] or (not cell and not needed):
            continue
        if not cell:
            rows.error(row, name, say.CELL_BLANK_KEY(options=options))
            continue
        near = nearest(cell, known.values())
        label_of = {label: key for key, label in known.items()}
        otherwise = f"Tables [{name}.NAME] in campaign.toml give the names."
        if near is not None:
            otherwise = f"Did you mean {label_of[near]!r} ({near})?"
        rows.error(
            row,
            name,
            say.CELL_NOT_OF_A_LIST(cell=quoted(cell), options=options, hint=did_you_mean(cell, known, otherwise)),
        )
    return result


def fittings(rows: SheetRows, found: list[str]) -> np.ndarray:
    """Installation numbers (n,); what is no whole number is an error."""
    numbers = np.full(len(found), -1, dtype=int)
    for index, ((row, _), cell) in enumerate(zip(rows.rows, found, strict=True)):
        try:
            value = cells.number(cell, rows.sheet.comma_is_decimal)
        except cells.CellError:
            value = -1.0
        if 0 <= value < 1e9 and value == int(value):
            numbers[index] = int(value)
        else:
            said = say.INSTALLATION_NOT_WHOLE(found=quoted(cell)) if cell else say.INSTALLATION_BLANK()
            rows.error(row, "installation", said)
    return numbers
