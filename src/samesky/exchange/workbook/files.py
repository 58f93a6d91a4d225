"""What campaign do these sheets describe? The text of its files, from the cells of a workbook."""

from __future__ import annotations

import re
from collections.abc import Sequence

from samesky.campaign.entries.edit import with_entry, with_group, without_group
from samesky.campaign.entries.outline import outline
from samesky.campaign.entries.schema import NAMED, Path, kind_of, plain_path
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.words import listed, plain_name, quoted
from samesky.campaign.reading.template import template_files
from samesky.campaign.tables.delimited import MOST_ROWS
from samesky.campaign.tables.grid import Grid
from samesky.campaign.toml.parse import parsed
from samesky.campaign.toml.section import FILE
from samesky.exchange import catalogue as say
from samesky.exchange.workbook.cells import decoded, spoken
from samesky.exchange.workbook.open import Sheet
from samesky.exchange.workbook.sheets import CAMPAIGN, EMPTY, REMARKS, path_of

#: Entries that a spreadsheet takes for a date or a clock time, by the column that is read like them.
_COLUMN_LIKE = {"date": "date", "first date": "date", "start": "clock", "end": "clock"}

#: What a filled row of the sheet ``campaign`` says: row, table, entry, text.
Said = tuple[int, Path, str, str]


def files_of(sheets: Sequence[Sheet], file: str) -> dict[str, str]:
    """The files of the campaign by name; see :func:`samesky.exchange.workbook.workbook.read_workbook`."""
    filled = {plain_name(sheet.name): sheet for sheet in sheets if sheet.cells}
    if not filled:
        raise cannot(file, say.WORKBOOK_BLANK())
    remarks = _remarks(filled.get(REMARKS))
    found = {}
    if CAMPAIGN in filled:
        found[FILE] = _campaign_text(filled[CAMPAIGN], "\n".join(remarks.get(FILE, [])))
    for sheet in filled.values():
        if plain_name(sheet.name) in (CAMPAIGN, REMARKS):
            continue
        name = f"{_file_stem(sheet)}.csv"
        found[name] = _grid(sheet, remarks.get(name, [])).to_text()
    return found


def _file_stem(sheet: Sheet) -> str:
    if not re.fullmatch(r"[^\W_][\w -]*", sheet.name) or sheet.name != sheet.name.strip():
        raise cannot(
            f"{sheet.file}, sheet {quoted(sheet.name)}",
            say.WORKBOOK_SHEET_NAME(),
        )
    return sheet.name


def _remarks(sheet: Sheet | None) -> dict[str, list[str]]:
    """The lines that are kept for each file. Blank ones are no cells: they are those between the others."""
    found: dict[str, list[str]] = {}
    if sheet is None:
        return found
    for row in sheet.rows():
        if row > 1 and (row, 1) in sheet.cells:
            line = sheet.cells.get((row, 2))
            found.setdefault(spoken(sheet.cells[row, 1]), []).append(
                "" if line is None else decoded(str(line.value)).replace("\n", " ")
            )
    return found


# -- runs --------------------------------------------------------------------------------------------------------------


def _grid(sheet: Sheet, lines: Sequence[str]) -> Grid:
    remarks = [(-1, line) for line in lines if line.startswith("#")]
    rows = sheet.rows()
    marked = {row for row in rows if _is_remark(sheet, row)}
    body = [row for row in rows if row not in marked]
    if not body:
        raise cannot(f"{sheet.file}, sheet {quoted(sheet.name)}", say.WORKBOOK_NO_HEADER())
    top, last = body[0], body[-1]
    if last - top + 1 - len(marked) > MOST_ROWS or len(marked) > MOST_ROWS:
        raise sheet.wrong(last, rows[last][0], say.WORKBOOK_TOO_MANY_ROWS(last=last, most_rows=MOST_ROWS))
    columns = sorted({column for row in body for column in rows[row]})
    header = [_text(sheet, top, column) for column in columns]
    names = [plain_name(cell.partition("[")[0]) for cell in header]
    runs = [row for row in range(top + 1, last + 1) if row not in marked]
    filled = [tuple(_text(sheet, row, at, name) for at, name in zip(columns, names, strict=True)) for row in runs]
    for row in sorted(marked):
        place = -1 if row < top else sum(run < row for run in runs)
        remarks.append((place, " ".join(_text(sheet, row, at) for at in rows[row])))
    return Grid(tuple(header), tuple(filled), tuple(remarks))


def _is_remark(sheet: Sheet, row: int) -> bool:
    first = sheet.cells.get((row, 1))
    return first is not None and isinstance(first.value, str) and first.value.lstrip().startswith("#")


def _text(sheet: Sheet, row: int, column: int, name: str = "") -> str:
    cell = sheet.cells.get((row, column))
    if cell is None:
        return ""
    if isinstance(cell.value, bool):
        raise sheet.wrong(row, column, say.WORKBOOK_CELL_KIND(value=cell.value))
    text = spoken(cell, name).strip()
    # An apostrophe before the # of a row's first cell says that the row is no remark.
    return text[1:] if column == 1 and re.match("'+#", text) else text


# -- campaign.toml -----------------------------------------------------------------------------------------------------


def _campaign_text(sheet: Sheet, kept: str) -> str:
    """The text of ``campaign.toml``: what was kept of it, or the template, with what the sheet says in its place."""
    base = kept or template_files()[FILE]
    try:
        parsed(base)
    except CampaignError as error:
        raise cannot(
            f"{sheet.file}, sheet {REMARKS!r}",
            say.WORKBOOK_REMARKS(message=error.finding.message, remarks=REMARKS, campaign=CAMPAIGN),
        ) from None
    said, empty = _said(sheet)
    wanted = {(plain_path(path), plain_name(name)) for _, path, name, _ in said}
    tables = {path for path, _ in wanted} | {plain_path(path) for path in empty}
    text = base
    for group in outline(base):
        path = plain_path(group.path)
        if path and group.on and not any(other[: len(path)] == path for other in tables):
            text = without_group(text, group.path) if _is_there(text, path) else text
            continue
        for entry in group.entries:
            # An entry that is there and blank looks in the sheet like one that is not there.
            if entry.on and entry.text.strip() and (path, plain_name(entry.name)) not in wanted:
                text = with_entry(text, group.path, entry.name, "")
    there = {
        (plain_path(group.path), plain_name(entry.name)): entry.text
        for group in outline(text)
        for entry in group.entries
    }
    for row, path, name, value in said:
        if there.get((plain_path(path), plain_name(name))) != value:
            text = _set(sheet, row, text, path, name, value)
    for path in empty:
        if not _is_there(text, plain_path(path)):
            text = with_group(text, path)
    return _in_the_order_of(said, text)


def _in_the_order_of(said: Sequence[Said], text: str) -> str:
    """With the tables of each kind in the sheet's order: runs are flown in that of their plans."""
    groups = {plain_path(group.path): group for group in outline(text) if group.on}
    for kind in NAMED:
        wanted = list(dict.fromkeys(plain_path(path) for _, path, _, _ in said if kind_of(path) == kind))
        if [path for path in groups if path in wanted] != wanted:
            for path in wanted:
                text = without_group(text, groups[path].path)
            for group in (groups[path] for path in wanted if path in groups):
                for entry in group.entries:
                    text = with_entry(text, group.path, entry.name, entry.text) if entry.on else text
    return text


def _is_there(text: str, path: Path) -> bool:
    return any(group.on and plain_path(group.path)[: len(path)] == path for group in outline(text))


def _set(sheet: Sheet, row: int, text: str, path: Path, name: str, value: str) -> str:
    try:
        return with_entry(text, path, name, value)
    except CampaignError as error:
        column = _column(sheet, "value")
        raise error.of(sheet.cell(row, column)) from None


def _said(sheet: Sheet) -> tuple[list[Said], list[Path]]:
    """The filled rows, and the tables that stand there without an entry."""
    part, entry, value = (_column(sheet, name) for name in ("part", "entry", "value"))
    said: list[Said] = []
    empty: list[Path] = []
    seen: dict[tuple[Path, str], int] = {}
    for row in sheet.rows():
        cell = sheet.cells.get((row, value))
        if row == 1 or cell is None:
            continue
        table, name = (_text(sheet, row, at) for at in (part, entry))
        text = spoken(cell, _COLUMN_LIKE.get(plain_name(name), ""))
        if not table:
            raise sheet.wrong(row, part, say.WORKBOOK_VALUE_WITHOUT_PART(text=quoted(text)))
        if not name and plain_name(text) == EMPTY:
            empty.append(path_of(table))
            continue
        if not name:
            raise sheet.wrong(row, entry, say.WORKBOOK_VALUE_WITHOUT_ENTRY(text=quoted(text)))
        key = (plain_path(path_of(table)), plain_name(name))
        if key in seen:
            raise sheet.wrong(row, entry, say.WORKBOOK_VALUE_TWICE(table=table, name=name, seen=seen[key]))
        seen[key] = row
        said.append((row, path_of(table), name, text))
    return said, empty


def _column(sheet: Sheet, name: str) -> int:
    header = {plain_name(spoken(cell)): column for (row, column), cell in sheet.cells.items() if row == 1}
    if name not in header:
        raise cannot(
            f"{sheet.file}, sheet {quoted(sheet.name)}",
            say.WORKBOOK_NO_SETTINGS_COLUMN(name=name, header=listed(map(quoted, header))),
        )
    return header[name]
