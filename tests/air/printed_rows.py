"""How tests account for every printed row of a topic: checked, known to disagree, or listed with a reason."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from samesky.published import registry
from samesky.units import to_si

FT, KT, INHG = 0.3048, 1852 / 3600, 3386.388640341


def account(topic: str, *groups: Mapping[str, object]) -> None:
    """Assert that the groups together hold each row of the topic once."""
    ids = [printed.id for printed in registry.rows(topic)]
    held = [id for group in groups for id in group]
    assert len(held) == len(set(held)), "a row stands in two groups"
    assert set(held) == set(ids), f"not accounted for: {set(ids) ^ set(held)}"


def agrees(id: str, compute: Callable[[], object]) -> None:
    """Assert that the computed value meets the print at the printed rounding."""
    check = registry.check(id, compute())
    assert check.agrees, str(check)


def disagrees(id: str, compute: Callable[[], object], reason: str) -> None:
    """Assert that a row listed as a misprint or variant still is one, so that the list stays honest."""
    check = registry.check(id, compute())
    assert not check.agrees, f"{check}; listed as: {reason}"


def numbers(text: str) -> list[float]:
    """The numbers in a row's inputs, thousands blanks closed."""
    text = re.sub(r"(?<=\d) (?=\d{3}\b)", "", text)
    return [float(found) for found in re.findall(r"[-+]?\d+(?:\.\d+)?(?:e-?\d+)?", text)]


def altitude(inputs: str) -> float:
    """The altitude in a row's inputs [m]."""
    text = re.sub(r"(?<=\d) (?=\d{3}\b)", "", inputs)
    value, unit = re.search(r"=\s*(-?[\d.]+) (m|ft|km)\b", text).groups()
    return to_si(float(value), unit, "length")
