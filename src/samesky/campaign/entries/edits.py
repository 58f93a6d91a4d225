"""In which ways may one change be written into the lines of ``campaign.toml``? The neatest comes first.

None of them is trusted: :mod:`samesky.campaign.entries.edit` takes the first that says what it should.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from copy import deepcopy

from samesky.campaign.entries.schema import Path, kind_of, plain_path
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import plain_name
from samesky.campaign.toml.lines import (
    Piece,
    key_split,
    key_text,
    lines_of,
    pieces,
    table_end,
    value_split,
    value_text,
)
from samesky.campaign.toml.section import FILE

#: What is done in a table to the entry of a key.
Change = Callable[[dict, str], object]


def with_value(text: str, target: Path, value: object, written: str) -> Iterator[str]:
    """The text with an entry set; ``written`` is the value as TOML writes it."""
    place, name = target[:-1], target[-1]
    for piece in _standing(pieces(text), target):
        if len(piece.path) == len(target):
            yield _rewritten(text, piece, written)
        else:
            yield _rewritten(text, piece, _inside(piece, target, lambda around, key: around.__setitem__(key, value)))
    for ready in with_table(text, place):
        found = pieces(ready)
        for piece in found:
            if piece.kind == "entry" and not piece.on and plain_path(piece.path) == plain_path(target):
                yield _rewritten(ready, piece, written)
        last = [one.end for one in found if one.on and one.kind in ("entry", "table") and one.table == place]
        yield _put(ready, last[-1] if last else 0, [f"{key_text(name)} = {written}"])
    top = [one.end for one in pieces(text) if one.kind == "entry" and one.on and not one.table]
    yield _put(text, top[-1] if top else 0, [f"{'.'.join(map(key_text, target))} = {written}"])


def with_table(text: str, path: Path) -> Iterator[str]:
    """The text with the table's header in it: as it is, switched on, put behind its like, or at the end."""
    found = pieces(text)
    if not path or any(one.kind == "table" and one.on and one.table == path for one in found):
        yield text
        return
    for piece in found:
        if piece.kind == "table" and not piece.on and plain_path(piece.table) == plain_path(path):
            lines = lines_of(text)
            lines[piece.first] = re.sub(r"^\s*#\s*", "", lines[piece.first])
            yield "".join(lines)
    header = f"[{'.'.join(map(key_text, path))}]"
    for depth in range(len(path) - 1, 0, -1) if kind_of(path) else (1,):
        around = plain_path(path)[:depth]
        like = [one.end for one in found if one.kind in ("table", "entry") and plain_path(one.path)[:depth] == around]
        if like:
            yield _put(text, like[-1], ["", header])
    yield _put(text, len(lines_of(text)), ["", header])


def without_entry(text: str, target: Path) -> Iterator[str]:
    """The text without an entry."""
    for piece in _standing(pieces(text), target):
        if len(piece.path) == len(target):
            yield _cut(text, piece.first, piece.end)
        else:
            yield _rewritten(text, piece, _inside(piece, target, lambda around, key: around.pop(key)))


def without_table(text: str, path: Path) -> str:
    """The text without a table, those inside it, and what stands between their lines; path in plain spelling."""
    depth, inside, kept = len(path), False, 0
    spans: list[list[int]] = []
    for piece in pieces(text):
        if piece.kind not in ("table", "entry"):
            continue
        mine = plain_path(piece.path)[:depth] == path
        if piece.kind == "table":
            inside = mine and (piece.on or inside)
            if inside and piece.on:
                spans.append([piece.first, piece.end])
        if mine and (inside or piece.on):
            kept = piece.end
            if inside:
                spans[-1][1] = kept
            else:
                spans.append([piece.first, kept])
    for first, end in reversed(spans):
        text = _cut(text, first, end)
    return text


def with_name(text: str, old: Path, new: Path) -> str:
    """The text with a table, and those inside it, under another path."""
    lines = lines_of(text)
    for piece in pieces(text):
        if not piece.on or piece.path[: len(old)] != old:
            continue
        named = (*new, *piece.path[len(old) :])
        if piece.kind == "table":
            line = lines[piece.first]
            lines[piece.first] = f"[{'.'.join(map(key_text, named))}]{line[table_end(line) :]}"
        elif piece.kind == "entry" and len(piece.table) < len(old):
            _, value = key_split("".join(lines[piece.first : piece.end]))
            key = ".".join(map(key_text, named[len(piece.table) :]))
            lines[piece.first : piece.end] = [f"{key} ={value}"] + [""] * (piece.end - piece.first - 1)
    return "".join(lines)


def changed(data: dict, path: Path, change: Change) -> dict:
    """A copy of parsed tables with ``change`` made in the one around the last name of ``path``.

    Raises CampaignError where an entry stands in place of a table.
    """
    copy = around = deepcopy(data)
    for name in path[:-1]:
        around = around.setdefault(_key(around, name), {})
        if not isinstance(around, dict):
            raise cannot(FILE, say.ENTRY_NO_TABLE(name=name), column=".".join(path[:-1]))
    change(around, _key(around, path[-1]))
    return copy


def _key(around: dict, name: str) -> str:
    return name if name in around else next((key for key in around if plain_name(key) == plain_name(name)), name)


def _inside(piece: Piece, target: Path, change: Change) -> str:
    """The table that an entry holds between braces, as TOML writes it once it is changed."""
    inner = ("", *target[len(piece.path) :])
    return value_text(changed({"": piece.value}, inner, change)[""])


def _standing(found: Sequence[Piece], target: Path) -> Iterator[Piece]:
    """The entry itself, or the entry that holds its table between braces."""
    for piece in found:
        if piece.kind == "entry" and piece.on and plain_path(piece.path) == plain_path(target)[: len(piece.path)]:
            yield piece


def _rewritten(text: str, piece: Piece, written: str) -> str:
    """With another value in an entry, which is switched on if need be; its own remark stays."""
    lines = lines_of(text)
    whole = "".join(lines[piece.first : piece.end])
    if not piece.on:
        whole = re.sub(r"^\s*#\s*", "", whole)
    key, value = key_split(whole)
    lead, _, tail = value_split(value)
    lines[piece.first : piece.end] = [f"{key}={lead}{written}{tail}"]
    return "".join(lines)


def _put(text: str, row: int, new: list[str]) -> str:
    lines = lines_of(text)
    end = "\r\n" if "\r\n" in text else "\n"
    if 0 < row <= len(lines) and not lines[row - 1].endswith("\n"):
        lines[row - 1] += end
    if new[0] == "" and (row == 0 or not lines[row - 1].strip()):
        new = new[1:]
    lines[row:row] = [line + end for line in new]
    return "".join(lines)


def _cut(text: str, first: int, end: int) -> str:
    lines = lines_of(text)
    if (first == 0 or not lines[first - 1].strip()) and end < len(lines) and not lines[end].strip():
        end += 1
    return "".join(lines[:first] + lines[end:])
