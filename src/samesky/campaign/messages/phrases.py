"""How are values, units and bounds put into a message?"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

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
    """``between 10 and 20 kt``, or the half of it that is bounded.

    A bound that is not round in this unit is rounded inwards, so that what is said to be taken is taken.
    """
    tail = f" {unit}" if unit and unit != "1" else ""
    if high is None:
        return "any number" if low is None else f"at least {_bound(low, math.ceil)}{tail}"
    if low is None:
        return f"at most {_bound(high, math.floor)}{tail}"
    return f"between {_bound(low, math.ceil)} and {_bound(high, math.floor)}{tail}"


def _bound(value: float, inwards: Callable[[float], int]) -> str:
    """As it is where five figures tell it, else with three, rounded up or down."""
    plain = f"{value:.5g}"
    if math.isclose(float(plain), value, rel_tol=1e-9, abs_tol=1e-12):
        return f"{float(plain):.10g}"
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
    return f"{float(f'{inwards(value / step) * step:.3g}'):.10g}"


def figures(value: float, digits: int = 2, sign: str = "") -> str:
    """A number with this many significant figures, written out: 110 and never 1.1e+02; ``sign="+"`` shows a plus."""
    return f"{float(f'{value:.{digits}g}'):{sign}.10g}"


def meant(value: float, digits: int = 6) -> float | None:
    """A number for machines: so many significant figures, null where there is none.

    No uncertainty here is known to more than three figures; what follows is how one processor rounds and another does
    not. Of that the last trace of a difference that cancels is nothing but zero.
    """
    if not math.isfinite(value):
        return None
    return 0.0 if abs(value) < 1e-12 else float(f"{value:.{digits}g}")
