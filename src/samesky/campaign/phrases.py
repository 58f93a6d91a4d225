"""How are values, units and bounds put into a message?"""

from __future__ import annotations

import re

from samesky import units


def spelled(name: str) -> str:
    """The name as the file writes it without quotes: with underscores."""
    return name.replace(" ", "_") if re.fullmatch(r"[A-Za-z0-9_ -]+", name) else f'"{name}"'


def sample_of(dimension: str) -> str:
    """An example value with a unit of the dimension."""
    return {"fraction": "3 %", "temperature": "15 °C"}.get(dimension, f"10 {units.DIMENSIONS[dimension].examples[0]}")


def a_dimension(dimension: str) -> str:
    """The dimension with its article."""
    return f"{'an' if dimension[0] in 'aeiou' else 'a'} {dimension}"


def unit_of(value: str) -> str:
    """The unit at the end of a value that has been parsed."""
    return re.sub(r"^\s*[+-]?[\d.,]+([eE][+-]?\d+)?\s*", "", value).strip() or "1"


def between(low: float | None, high: float | None, unit: str = "") -> str:
    """``between 10 and 20 kt``, or the half of it that is bounded."""
    tail = f" {unit}" if unit and unit != "1" else ""
    if low is None:
        return f"at most {high:.6g}{tail}"
    if high is None:
        return f"at least {low:.6g}{tail}"
    return f"between {low:.6g} and {high:.6g}{tail}"


def figures(value: float, digits: int = 2, sign: str = "") -> str:
    """A number with this many significant figures, written out: 110 and never 1.1e+02; ``sign="+"`` shows a plus."""
    return f"{float(f'{value:.{digits}g}'):{sign}.10g}"
