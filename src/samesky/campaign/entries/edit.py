"""How is one entry or table of ``campaign.toml`` changed without disturbing the rest?

Lines are put in, taken out or rewritten one at a time, an entry that is switched off in its own place, and remarks stay
where they are. Before a change is given out :mod:`tomllib` reads the text: it must say what it said before and the one
change, nothing else. That is why no value can open an entry of its own, whatever it holds.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Sequence

from samesky.campaign.entries.edits import changed, with_name, with_table, with_value, without_entry, without_table
from samesky.campaign.entries.outline import table
from samesky.campaign.entries.schema import Path, kind_of, kind_of_value, offered, plain_path
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.sentences import Sentence
from samesky.campaign.messages.words import plain_name, quoted
from samesky.campaign.tables import cells
from samesky.campaign.toml.lines import value_text
from samesky.campaign.toml.parse import parsed
from samesky.campaign.toml.section import FILE

#: Longest name that a table or an entry may be given.
LONGEST_NAME = 60
_FLAGS = {"true": True, "yes": True, "false": False, "no": False}


def with_entry(text: str, path: Sequence[str], name: str, value: str) -> str:
    """The file's text with one entry set, or taken out where ``value`` is blank.

    The table is made where there is none. ``value`` is as a person types it: text without quotes, a list with commas
    (or semicolons) between; a line end in it becomes a space. Raises CampaignError for a value that is not of the
    entry's kind, and for a name that is more than plain words.
    """
    data = parsed(text)
    group = table(text, tuple(path))
    entry = group.entry(name)
    _names_are_plain(group.path if not group.on else (), name if entry is None else "")
    value = _one_line(value)
    if not value.strip():
        return text if entry is None or not entry.on else _taken_out(text, data, (*group.path, entry.name))
    if entry is not None and entry.on and _one_line(entry.text) == value:
        return text
    target = (*group.path, entry.name if entry else name.strip().replace(" ", "_"))
    kind = entry.kind if entry else kind_of_value(group.path, name, value)
    found, written = _value(kind, value, _place(target))
    expected = changed(data, target, lambda around, key: around.__setitem__(key, found))
    return _first_sound(with_value(text, target, found, written), expected, target)


def _one_line(value: str) -> str:
    return re.sub(r"\r\n|\r|\n", " ", value)


def _taken_out(text: str, data: dict, target: Path) -> str:
    expected = changed(data, target, lambda around, key: around.pop(key))
    return _first_sound(without_entry(text, target), expected, target)


def with_group(text: str, path: Sequence[str]) -> str:
    """The file's text with one more table, and the entries that the template's example of it begins with.

    Raises CampaignError where the table is there, or its name is more than plain words.
    """
    group = table(text, tuple(path))
    if group.on:
        raise cannot(FILE, say.ENTRY_THERE_ALREADY(), column=_place(group.path))
    _names_are_plain(group.path)
    data = parsed(text)
    expected = changed(data, group.path, lambda around, key: around.setdefault(key, {}))
    text = _first_sound(with_table(text, group.path), expected, group.path)
    primaries = [table(text, one).entry("primary") for one in _measures(data)]
    decided = any(entry is not None and entry.text == "true" for entry in primaries)
    for entry in offered(group.path).entries:
        value = {"label": group.path[-1], "primary": "false" if decided else "true"}.get(entry.name, entry.example)
        text = with_entry(text, group.path, entry.name, value) if entry.on else text
    return text


def _measures(data: dict) -> list[Path]:
    around = data.get("measure")
    return [("measure", name) for name in around] if isinstance(around, dict) else []


def without_group(text: str, path: Sequence[str]) -> str:
    """The file's text without a table, the tables inside it, and what stands between their lines.

    Raises CampaignError for the entries before the first table, which are in none.
    """
    group = table(text, tuple(path))
    if not group.path:
        raise cannot(FILE, say.ENTRY_TOP_STAYS())
    data = parsed(text)
    expected = changed(data, group.path, lambda around, key: around.pop(key, None))
    return _first_sound([without_table(text, plain_path(group.path))], expected, group.path)


def renamed(text: str, path: Sequence[str], name: str) -> str:
    """The file's text with a table of one's own naming under another name; the baseline follows its configuration.

    Raises CampaignError where there is no such table, or where one has that name already.
    """
    group = table(text, tuple(path))
    old, new = group.path, (*group.path[:-1], name)
    if not group.on or kind_of(old) is None:
        raise cannot(FILE, say.ENTRY_NOT_RENAMED(), column=_place(old))
    _names_are_plain((name,))
    if plain_name(name) != plain_name(old[-1]) and table(text, new).on:
        raise cannot(FILE, say.ENTRY_THERE_ALREADY(), column=_place(new))
    data = parsed(text)
    expected = changed(data, old, lambda around, key: around.__setitem__(name, around.pop(key)))
    again = _first_sound([with_name(text, old, new)], expected, old)
    follows = kind_of(old) == ("configuration",) and plain_name(str(data.get("baseline", ""))) == plain_name(old[-1])
    return with_entry(again, (), "baseline", name) if follows else again


def _names_are_plain(path: Path, name: str = "") -> None:
    for part in (*path, *([name] if name else [])):
        allowed = all(character.isalnum() or character in "_- " for character in part)
        if not (allowed and part.strip(" _-") and len(part) <= LONGEST_NAME):
            raise cannot(
                FILE,
                say.ENTRY_NAME_NOT_PLAIN(part=quoted(part), longest_name=LONGEST_NAME),
            )


def _place(path: Path) -> str:
    return f"[{'.'.join(path[:-1])}] {path[-1]}" if len(path) > 1 else "".join(path)


def _value(kind: str, text: str, place: str) -> tuple[object, str]:
    """A typed value as TOML's value and as TOML's text."""

    def refuse(sentence: Sentence, **facts: object) -> CampaignError:
        return cannot(FILE, sentence(found=quoted(text), **facts), column=place)

    found: object = text
    if kind == "number":
        try:
            number = cells.number(text, comma_is_decimal=True)
        except cells.CellError as error:
            raise refuse(say.TYPED_NOT_A_NUMBER, wrong=error.wrong) from None
        found = int(number) if re.fullmatch(r"\s*[+-]?\d+\s*", text) and abs(number) < 2**53 else number
        bare = text.strip()
        return found, bare if re.fullmatch(r"-?(0|[1-9]\d*)(\.\d+)?", bare, re.ASCII) else value_text(found)
    if kind == "flag":
        found = _FLAGS.get(text.strip().casefold())
        if found is None:
            raise refuse(say.TYPED_NO_FLAG)
    if kind == "counts":
        found = [int(part) for part in re.findall(r"\d+", text, re.ASCII)]
        if not re.fullmatch(r"\s*\[?\s*\d{1,6}(?:[\s,;]+\d{1,6})*[\s,;]*\]?\s*", text, re.ASCII):
            raise refuse(say.TYPED_NOT_WHOLE)
    if kind == "list":
        # A comma between two digits is a decimal comma.
        parts = text.split(";") if ";" in text else re.split(r"(?<!\d),|,(?!\d)", text)
        items = [part.strip() for part in parts if part.strip(" ,\t")]
        if not items:
            raise refuse(say.TYPED_NO_VALUE)
        found = items if len(items) > 1 else items[0]
    try:
        return found, value_text(found)
    except UnicodeEncodeError:
        raise refuse(say.TYPED_SIGNS) from None


def _first_sound(ways: Iterable[str], expected: dict, target: Path) -> str:
    for text in ways:
        try:
            if _canonical(tomllib.loads(text)) == _canonical(expected):
                return text
        except (tomllib.TOMLDecodeError, RecursionError):
            continue
    raise cannot(
        FILE,
        say.ENTRY_NOT_CHANGED_HERE(),
        column=_place(target),
    )


def _canonical(value: object) -> object:
    """To be compared: without regard to order, to the spelling of names, and to tables without entries."""
    if isinstance(value, dict):
        inside = [(plain_name(name), _canonical(one)) for name, one in value.items()]
        return sorted((pair for pair in inside if pair[1] != []), key=repr)
    return (type(value).__name__, repr(value))
