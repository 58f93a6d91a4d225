"""Which entries does ``campaign.toml`` have, and which more may it have, with what each of them means?

Changing one is :mod:`samesky.campaign.entries.edit`'s.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from samesky.campaign.entries.schema import (
    Entry,
    Group,
    Path,
    examples,
    kind_of,
    kind_of_value,
    offered,
    plain_path,
    typed,
)
from samesky.campaign.messages.words import plain_name
from samesky.campaign.settings.conditions import conditions
from samesky.campaign.toml.parse import parsed
from samesky.measures import MEASURES

__all__ = ["Entry", "Group", "Path", "outline"]


def outline(text: str) -> tuple[Group, ...]:
    """Every table and entry that the file has or may have, in the template's order.

    Of tables with a name of one's own those of the file are given, of measures and of their plans also those that it
    lacks; where the file has none of a kind, the template's examples stand there, off. Raises CampaignError where the
    text is no TOML.
    """
    written = dict(_tables(parsed(text), ()))
    measures = [path[1] for path in written if kind_of(path) == ("measure",)]
    found: dict[Path, Group] = {}
    for example in examples():
        kind = kind_of(example.path)
        for path in [example.path] if kind is None else _named(kind, written, measures):
            found.setdefault(plain_path(path), _group(path, written, measures))
    for path in written:
        found.setdefault(plain_path(path), _group(path, written, measures))
    return tuple(found.values())


def table(text: str, path: Path) -> Group:
    """One table, as in :func:`outline`; names in any spelling."""
    written = dict(_tables(parsed(text), ()))
    return _group(path, written, [one[1] for one in written if kind_of(one) == ("measure",)])


def _tables(data: Mapping[str, object], path: Path) -> Iterator[tuple[Path, dict[str, object]]]:
    """The file's tables with their entries; a table that only holds others is none of its own."""
    entries = {name: value for name, value in data.items() if not isinstance(value, dict)}
    if entries or not data:
        yield path, entries
    for name, value in data.items():
        if isinstance(value, dict):
            yield from _tables(value, (*path, name))


def _named(kind: Path, written: Iterable[Path], measures: Iterable[str]) -> list[Path]:
    """The tables of a kind: the file's, then those that may be added."""
    there = [path for path in written if kind_of(path) == kind]
    shown = [one.path for one in examples() if kind_of(one.path) == kind]
    if kind == ("measure",):
        free = [path for path in there if path[1] not in MEASURES]
        return there + [path for path in shown if path[1] in MEASURES or not free]
    if kind == ("plan",):
        return there + ([("plan", name) for name in measures] or shown)
    return there or shown


def _group(path: Path, written: Mapping[Path, Mapping[str, object]], measures: Iterable[str]) -> Group:
    """One table: what is offered, with what the file says."""
    here = next((one for one in written if plain_path(one) == plain_path(path)), path)
    group = offered(here, tuple(measures))
    values = {plain_name(name): (name, value) for name, value in written.get(here, {}).items()}
    entries = {plain_name(one.name): replace(one, on=False) for one in group.entries}
    for plain, (name, value) in values.items():
        known = entries.get(plain)
        kind = kind_of_value(here, name, value)
        if known is None:
            # A number that nobody expects may just as well be words: "120 h".
            known = Entry(name, kind="text" if kind == "number" else kind, help=_meaning(here, name))
        kind = kind if kind == "list" and known.kind != "counts" else known.kind
        entries[plain] = replace(known, name=name, text=typed(value), kind=kind, on=True)
    return replace(group, entries=tuple(entries.values()), on=here in written)


def _meaning(path: Path, name: str) -> str:
    """What a condition means, where the table is one of conditions."""
    kind = kind_of(path)
    if kind != ("plan",) and plain_path(path) not in (("limits",), ("reference",)):
        return ""
    column = conditions(MEASURES.values()).get(plain_name(name))
    return column.meaning if column else ""
