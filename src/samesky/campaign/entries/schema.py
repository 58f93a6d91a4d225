"""Which tables and entries may ``campaign.toml`` have, and what does each mean?

The template is the only source: its entries, those that it has switched off as well, and the remarks before them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from samesky import units
from samesky.campaign.messages.phrases import spelled
from samesky.campaign.messages.words import plain_name
from samesky.campaign.reading.template import template_files
from samesky.campaign.settings.flying import SHARE
from samesky.campaign.settings.plan import FORECAST
from samesky.campaign.toml.lines import Piece, pieces
from samesky.measures import MEASURES

Path = tuple[str, ...]

#: Tables that hold tables with a name of one's own, such as ``[runway.09]``.
NAMED: tuple[Path, ...] = (
    ("configuration",),
    ("measure",),
    ("aeroplane", "station"),
    ("runway",),
    ("instrument",),
    ("plan",),
    ("mission",),
)
#: The table of tables that are named twice, by measure and by name: ``[coefficient.timed_climb.weight_exponent]``.
STATED: Path = ("coefficient",)
#: What each measure's table in ``[plan]`` may have beside its readings.
_PLANNED = ("time", "scatter", "degrees of freedom", "runs a block")


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a table.

    Attributes
    ----------
    name : as the file spells it, else as the template does
    text : the value as a person types it, a list with commas between; ``""`` where the entry is off
    kind : ``"text"``, ``"number"``, ``"flag"``, ``"list"`` or ``"counts"``, a list of whole numbers
    example : the template's value, typed likewise; ``""`` where it has none
    help : the template's remark about it
    on : whether the file has it; in the template's own offers, whether a new table begins with it
    """

    name: str
    text: str = ""
    kind: str = "text"
    example: str = ""
    help: str = ""
    on: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """One table.

    Attributes
    ----------
    path : names down to it, ``()`` for the top of the file
    heading : the template's heading over it and its neighbours
    help : the template's remark about it
    entries : what it has and may have
    on : whether the file has it
    """

    path: Path
    heading: str = ""
    help: str = ""
    entries: tuple[Entry, ...] = ()
    on: bool = False

    def entry(self, name: str) -> Entry | None:
        """The entry of that name in any spelling; None where there is none."""
        return next((one for one in self.entries if plain_name(one.name) == plain_name(name)), None)


def plain_path(path: Path) -> Path:
    """The path with its names in plain spelling."""
    return tuple(map(plain_name, path))


def kind_of(path: Path) -> Path | None:
    """The table of named tables that this one belongs to, such as ``("runway",)``; None for any other table."""
    around = plain_path(path[:-1])
    if len(path) == 3 and around[:1] == STATED:
        return STATED
    return around if around in NAMED else None


@lru_cache(maxsize=256)
def offered(path: Path, asked: tuple[str, ...] = ()) -> Group:
    """The table as the template offers it; one with a name of its own as the template's examples of its kind.

    ``asked`` names the campaign's measures, which a mission weighs.
    """
    kind = kind_of(path)
    own = next((one for one in examples() if plain_path(one.path) == plain_path(path)), None)
    if kind is None:
        return replace(own, path=path) if own else Group(path)
    alike = sorted(
        (one for one in examples() if kind_of(one.path) == kind),
        # A free measure is like the template's free one, a measure with physics like any of those.
        key=lambda one: (one is not own, _has_physics(one.path) != _has_physics(path)),
    )
    entries: dict[str, Entry] = {}
    for one in (entry for like in alike for entry in like.entries):
        before = entries.get(plain_name(one.name), one)
        entries[plain_name(one.name)] = replace(before, help=before.help or one.help)
    if kind == ("plan",):
        entries = _readings(path, own, entries)
    elif kind == ("mission",):
        weights = {plain_name(name): Entry(name, kind="number", example="1") for name in asked}
        entries = {SHARE: entries[SHARE], **(weights or entries)}
    return Group(
        path, alike[0].heading, next((one.help for one in alike if one.help), ""), tuple(entries.values()), alike[0].on
    )


def example_of(path: Path, name: str, dimension: str) -> str:
    """What the template writes at an entry, the first of several; ``""`` where that is no value of the dimension."""
    entry = offered(path).entry(name)
    shown = "" if entry is None else entry.example.partition(";" if ";" in entry.example else ",")[0].strip()
    try:
        units.parse(shown, dimension)
    except units.UnitError:
        return ""
    return shown


def kind_of_value(path: Path, name: str, value: object) -> str:
    """How a value is written: as a list also where it may be two ends, such as the lowest and the highest."""
    if isinstance(value, list) and value and all(type(one) is int for one in value):
        return "counts"
    ends = plain_path(path) == ("limits",) or (plain_path(path) == ("plan",) and plain_name(name) in FORECAST)
    if ends or isinstance(value, list):
        return "list"
    return "flag" if isinstance(value, bool) else "number" if isinstance(value, int | float) else "text"


def typed(value: object) -> str:
    """A value as a person types it: text without quotes; a list with commas between, or semicolons if need be."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        texts = [typed(one) for one in value]
        return ("; " if any("," in one for one in texts) else ", ").join(texts)
    return value if isinstance(value, str) else value.isoformat() if hasattr(value, "isoformat") else str(value)


def _has_physics(path: Path) -> bool:
    return path[-1] in MEASURES


def _readings(path: Path, own: Group | None, entries: dict[str, Entry]) -> dict[str, Entry]:
    """What a measure's table in ``[plan]`` may have: the readings are its own, or those of the template's example."""
    mine = {name: one for name, one in entries.items() if name in _PLANNED or (own and own.entry(name))}
    for column in MEASURES[path[-1]].columns if _has_physics(path) else ():
        if column.required and column.dimension != "text":
            old = mine.get(column.name, Entry(spelled(column.name)))
            mine[column.name] = replace(old, help=old.help or column.meaning)
    return mine


@cache
def examples() -> tuple[Group, ...]:
    """The template's tables with every entry of theirs, in its order."""
    found: list[Group] = [Group(())]
    heading = ""
    remarks: list[list[str]] = [[]]  # blocks of lines with blank lines between
    for piece in pieces(template_files()["campaign.toml"]):
        if piece.kind == "blank":
            remarks.append([])
        elif piece.kind == "remark" and piece.text.startswith("----"):
            heading, remarks = piece.text.strip("- "), [[]]
        elif piece.kind == "remark":
            remarks[-1].append(piece.text)
        else:
            over = " ".join(" ".join(block) for block in remarks[:-1] if block)
            own = " ".join(remarks[-1]).removesuffix(":")
            if piece.kind == "table":
                found.append(Group(piece.table, heading, own if not over else f"{over} {own}".strip(), on=piece.on))
            else:
                found[-1] = _with_example(found[-1], piece, over, own)
            remarks = [[]]
    return tuple(_explained(group, found) for group in found)


def _with_example(group: Group, piece: Piece, over: str, own: str) -> Group:
    if kind_of(group.path) == ("measure",) and not group.entries:
        # The remark that opens a measure's table is about the measure.
        over, own = f"{own} {group.help}".strip(), ""
    kind = kind_of_value(group.path, piece.key[-1], piece.value)
    entry = Entry(piece.key[-1], kind=kind, example=typed(piece.value), help=own, on=piece.on)
    return replace(group, help=over or group.help, entries=(*group.entries, entry))


def _explained(group: Group, found: list[Group]) -> Group:
    """What a remark over a table says of an entry, as ``name: what it is``, goes to the entries of all of its kind."""
    alike = [one for one in found if one is group or (kind_of(one.path) and kind_of(one.path) == kind_of(group.path))]
    names = {entry.name for one in alike for entry in one.entries}
    mark = re.compile(rf"(?:^|(?<=[.?!:] ))({'|'.join(map(re.escape, sorted(names)))}): ")
    says: dict[str, str] = {}
    for one in alike:
        _, *parts = mark.split(one.help)
        says |= dict(zip(parts[::2], map(str.strip, parts[1::2]), strict=True))
    entries = tuple(replace(entry, help=entry.help or says.get(entry.name, "")) for entry in group.entries)
    return replace(group, help=mark.split(group.help)[0].strip(), entries=entries)
