"""Which lines of ``campaign.toml`` hold which entry, which of them are switched off, and how is a value written?

An entry or a table is switched off where its line is a remark of the form ``# name = value`` or ``# [table]``. What a
line says is asked of :mod:`tomllib`, line by line, so that no second grammar of the file lives here.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import lru_cache

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.errors import cannot
from samesky.campaign.toml.section import FILE

#: Most lines that one value is followed over; a list of limits takes two.
MOST_LINES = 200


@dataclass(frozen=True, slots=True)
class Piece:
    """What stands in the lines ``first`` to before ``end`` (counted from 0).

    Attributes
    ----------
    kind : ``"table"`` (its header), ``"entry"``, ``"remark"`` or ``"blank"``
    on : False where it is switched off; True for remarks and blanks
    table : path of the table that it opens, or stands in
    key : names along an entry's own key, mostly one
    value : an entry's value as parsed
    text : a remark without its ``#``
    """

    kind: str
    first: int
    end: int
    on: bool = True
    table: tuple[str, ...] = ()
    key: tuple[str, ...] = ()
    value: object = None
    text: str = ""

    @property
    def path(self) -> tuple[str, ...]:
        """Names from the top of the file down to this table or entry."""
        return (*self.table, *self.key)


def lines_of(text: str) -> list[str]:
    """The lines with their ends; only a line feed ends a line of TOML."""
    return re.findall(r"[^\n]*\n|[^\n]+", text)


@lru_cache(maxsize=8)
def pieces(text: str) -> tuple[Piece, ...]:
    """Every line of a file that :mod:`tomllib` reads, in pieces. Raises CampaignError where a value never ends."""
    lines = lines_of(text)
    table: tuple[str, ...] = ()
    scope: tuple[str, ...] = ()
    found: list[Piece] = []
    row = 0
    while row < len(lines):
        line, end = lines[row].strip(), row + 1
        if not line:
            found.append(Piece("blank", row, end, table=table))
        elif line.startswith("#"):
            off = _switched_off(line, row, scope)
            if off is not None and off.kind == "table":
                scope = off.table
            remark = re.sub("^# ?", "", line)
            found.append(off or Piece("remark", row, end, table=table, text=remark))
        elif line.startswith("["):
            table = scope = _table_path(line) or ("",)
            found.append(Piece("table", row, end, table=table))
        else:
            scope = table
            end = _end_of_value(lines, row)
            found.append(_entry("".join(lines[row:end]), row, end, table))
        row = end
    return tuple(found)


def key_split(entry: str) -> tuple[str, str]:
    """What stands before and after the equals sign that ends the key."""
    for sign in re.finditer("=", entry):
        if _loads(entry[: sign.start()] + "= 0") is not None:
            return entry[: sign.start()], entry[sign.end() :]
    raise ValueError(entry)


def value_split(value: str) -> tuple[str, str, str]:
    """The space before a value, the value as written, and what follows it on its line: space, a remark."""
    lead = value[: len(value) - len(value.lstrip())]
    body = value[len(lead) :]
    for sign in re.finditer(r"[ \t]*#", body):
        if _loads("x = " + body[: sign.start()]) is not None:
            return lead, body[: sign.start()], body[sign.start() :]
    bare = body.rstrip()
    return lead, bare, body[len(bare) :]


def table_end(header: str) -> int:
    """Where a table's header ends and what follows it on its line begins."""
    return next(sign.end() for sign in re.finditer(r"\]", header) if _loads(header[: sign.end()]) is not None)


def key_text(name: str) -> str:
    """A name as the file writes it: bare where it may be, else in quotes."""
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else quoted_text(name)


def value_text(value: object) -> str:
    """A value as TOML writes it, on one line. Raises UnicodeEncodeError for text that no file can hold."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    if isinstance(value, list):
        return f"[{', '.join(map(value_text, value))}]"
    if isinstance(value, dict):
        inside = ", ".join(f"{key_text(key)} = {value_text(one)}" for key, one in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    return quoted_text(str(value))


def quoted_text(text: str) -> str:
    """Text between quotation marks; whatever does not print is written by its number, so that it can be seen."""
    text.encode("utf-8")
    return '"' + "".join(map(_sign, text)) + '"'


def _sign(character: str) -> str:
    if character in '"\\':
        return "\\" + character
    if character.isprintable():
        return character
    return f"\\u{ord(character):04X}" if ord(character) < 0x10000 else f"\\U{ord(character):08X}"


def _loads(fragment: str) -> dict | None:
    try:
        return tomllib.loads(fragment)
    except (tomllib.TOMLDecodeError, RecursionError):
        return None


def _steps(data: object, last: object) -> Iterator[str]:
    """Names on the way down to ``last``."""
    while isinstance(data, Mapping) and data != last:
        ((name, data),) = data.items()
        yield name


def _table_path(header: str) -> tuple[str, ...] | None:
    if header.startswith("[["):
        return None
    data = _loads(header)
    return None if data is None else tuple(_steps(data, {}))


def _entry(text: str, first: int, end: int, table: tuple[str, ...], on: bool = True) -> Piece:
    key, _ = key_split(text)
    names = tuple(_steps(_loads(key + "= 0"), 0))
    value: object = _loads(text)
    for name in names:
        value = value[name]  # type: ignore[index]
    return Piece("entry", first, end, on, table, names, value)


def _switched_off(line: str, row: int, scope: tuple[str, ...]) -> Piece | None:
    body = line[1:].strip()
    if re.fullmatch(r"\[[^\[\]]+\]", body):
        path = _table_path(body)
        return Piece("table", row, row + 1, False, path) if path else None
    if "=" not in body or body.startswith(("#", "[")) or _loads(body) is None:
        return None
    return _entry(body, row, row + 1, scope, on=False)


def _end_of_value(lines: list[str], row: int) -> int:
    for end in range(row + 1, min(row + MOST_LINES, len(lines)) + 1):
        if _loads("".join(lines[row:end])) is not None:
            return end
    raise cannot(
        FILE,
        say.TOML_VALUE_TOO_LONG(most_lines=MOST_LINES),
        row + 1,
    )
