"""On which line of ``campaign.toml`` does an entry stand? For messages only."""

from __future__ import annotations

import tomllib

from samesky.campaign.messages.words import plain_name


def line_numbers(text: str) -> dict[tuple[str, ...], int]:
    """Line of every table header and entry, by the plain names along its path; for messages only."""
    found: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    for row, line in enumerate(text.splitlines(), start=1):
        stripped = line.strip()
        if stripped.startswith("["):
            table = _path(stripped) or table
            found.setdefault(table, row)
        elif "=" in stripped and not stripped.startswith("#"):
            path = _path(stripped.partition("=")[0] + "= 0")
            if path:
                found.setdefault((*table, *path), row)
    return found


def _path(fragment: str) -> tuple[str, ...] | None:
    try:
        value = tomllib.loads(fragment)
    except tomllib.TOMLDecodeError:
        return None
    path = []
    while isinstance(value, dict) and len(value) == 1:
        ((key, value),) = value.items()
        path.append(plain_name(key))
    return tuple(path)
