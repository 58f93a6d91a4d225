"""In what units? The only door between people's units and plain SI.

People and files speak in any unit (``ground roll [ft]``, ``"75 kt"``); everything behind this door is a plain SI
float or array. Everyday spellings (:mod:`samesky.spellings`) carry their exact definitions and need no further library;
any other unit goes through ``pint``, which is imported only then, on its application registry, and asked only once a
unit: factors are remembered.

Three traps are dealt with here and nowhere else: a temperature *difference* of 2 degC is 2 K and not 275.15 K; one
rpm is 1/60 rev/s and not 0.105 rad/s; and angles, fractions and plain counts are different things although all are
"dimensionless".
"""

from __future__ import annotations

import functools
import inspect
import math
import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Protocol, cast, overload

import numpy as np

from samesky.spellings import (
    BARE,
    DIMENSIONS,
    NUMBER,
    Dimension,
    UnitError,
    everyday,
    expected_value,
    expected_words,
    known,
    number,
    refuse,
    unknown,
)

if TYPE_CHECKING:
    from pint import Quantity, Unit

    from samesky.arrays import Floats, Numbers

__all__ = ["DIMENSIONS", "Dimension", "UnitError", "from_si", "header", "parse", "quantities", "show", "to_si"]


class WithUnits(Protocol):
    """A function that takes and gives quantities; ``si`` is the plain one behind it."""

    si: Callable[..., Any]

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        """Call it with quantities, or with text such as ``"75 kt"``."""


#: How pint spells our SI units.
_PINT_SI = {"rev/s": "revolution/second", "1": "dimensionless", "1/h": "1/hour", "1/h**0.5": "1/hour**0.5"}
#: Longest text that is looked at as a unit, and powers that nobody's unit has: of more than one digit before the point,
#: of powers, of brackets. Working one out could take for ever.
_LONGEST_UNIT = 60
_POWERS = re.compile(
    r"(\*\*|\^)(?!\s*[+-]?(\d(\.\d+)?|\.\d+)(?![\d.eE]|\s*(\*\*|\^)))"
    r"|\)\s*(\*\*|\^|[⁰¹⁴-⁹])|[⁰¹⁴-⁹]{2}|[⁰¹⁴-⁹]\s*(\*\*|\^)"
)
_ANGLES = {"radian", "degree", "turn", "revolution", "arcminute", "arcsecond", "grade", "revolutions_per_minute"}


@functools.lru_cache(maxsize=512)
def _to_si_line(unit: str, dimension: str) -> tuple[float, float]:
    """(factor, offset) that bring a number in ``unit`` to the SI unit of ``dimension``; remembered."""
    si = known(dimension).si
    unit = unit.strip()
    line = everyday(unit, dimension)
    if line is not None:
        return line
    if unit in ("", "1") or any(everyday(unit, other) for other in DIMENSIONS):
        raise unknown(unit, dimension)
    if len(unit) > _LONGEST_UNIT or _POWERS.search(unit.replace("²", "**2").replace("³", "**3")):
        raise unknown(unit[:_LONGEST_UNIT], dimension)
    import pint

    registry = pint.get_application_registry()  # type: ignore[no-untyped-call] # pint types it not
    spelling = re.sub(r"(?<=[A-Za-z])([23])\b", r"**\1", unit.replace("·", "*").replace("²", "**2").replace("³", "**3"))
    try:
        parsed = registry.Unit(spelling)
        target = registry.Unit(_PINT_SI.get(si, si))
        alike = parsed.dimensionality == target.dimensionality
    except Exception:  # pint raises its own, tokenizer and attribute errors for text that is no unit
        raise unknown(unit, dimension) from None
    # Angles, turns and fractions are all dimensionless to pint: keep them apart ourselves.
    names = {*dict(parsed._units)}
    turns = bool(_ANGLES & names)
    difference = any(name.startswith("delta_") for name in names)
    if (
        not alike
        or turns != (dimension in ("angle", "rotational speed"))
        or (difference and dimension == "temperature")
    ):
        raise refuse(unit, dimension, f"{unit!r} does not fit: it is no {dimension}")
    zero, one, two = (registry.Quantity(value, parsed).to(target).magnitude for value in (0.0, 1.0, 2.0))
    if abs(two - 2.0 * one + zero) > 1e-9 * abs(two):
        # A ratio on a logarithmic scale (Np, bel) has no factor: 2 of it are not twice 1 of it.
        raise refuse(unit, dimension, f"{unit!r} is a logarithmic unit")
    return one - zero, 0.0 if dimension == "temperature difference" else zero


@overload
def to_si(values: float, unit: str, dimension: str) -> float: ...
@overload
def to_si(values: Floats | Sequence[float], unit: str, dimension: str) -> Floats: ...
def to_si(values: Numbers | Sequence[float], unit: str, dimension: str) -> Numbers:
    """Bring numbers in a written unit to SI.

    Parameters
    ----------
    values : float or array_like, in ``unit``; NaN stays NaN (nothing written), infinities are refused
    unit : as people write it, such as ``"kt"``; see the module's spellings, else any unit of ``pint``
    dimension : key of :data:`DIMENSIONS`

    Returns
    -------
    ndarray or float
        Same shape [SI unit of the dimension].

    Raises
    ------
    UnitError
        If the unit is not known, does not fit the dimension, or a value is infinite.

    Examples
    --------
    >>> to_si(100, "ft", "length")
    30.48
    """
    factor, offset = _to_si_line(unit, dimension)
    array = np.asarray(values, dtype=float)
    if np.isinf(array).any():
        raise UnitError(f"an infinite number is no {dimension}", "inf", expected_words(dimension))
    with np.errstate(over="ignore"):
        result = array * factor + offset if offset else array * factor
    if np.isinf(result).any():
        raise UnitError(f"a number beyond all measure is no {dimension}", "1e308", expected_words(dimension))
    return float(result) if array.ndim == 0 else result


@overload
def from_si(values: float, unit: str, dimension: str) -> float: ...
@overload
def from_si(values: Floats | Sequence[float], unit: str, dimension: str) -> Floats: ...
def from_si(values: Numbers | Sequence[float], unit: str, dimension: str) -> Numbers:
    """Bring SI numbers to a written unit; the inverse of :func:`to_si`, same parameters and errors."""
    factor, offset = _to_si_line(unit, dimension)
    array = np.asarray(values, dtype=float)
    result = (array - offset) / factor if offset else array / factor
    return float(result) if array.ndim == 0 else result


def parse(text: str, dimension: str) -> float:
    """Read one written value with its unit.

    A decimal comma is taken where it can be nothing else (``"75,5 kt"``: one comma, no point, and not the pattern of
    a thousands mark); ``"1,000 ft"`` is refused, for it may be one or a thousand. ``"1 000 ft"`` is a thousand.
    Not-a-number and infinities are refused. Without a unit may stand what everybody writes without one
    (:data:`samesky.spellings.BARE`): a fraction, revolutions a minute, degrees.

    Parameters
    ----------
    text : such as ``"75 kt"``, ``"15 degC"``, ``"3 %"``
    dimension : key of :data:`DIMENSIONS`

    Returns
    -------
    float
        [SI unit of the dimension]

    Raises
    ------
    UnitError
        With ``found`` and ``expected``, if the number or the unit cannot be taken.

    Examples
    --------
    >>> round(parse("75 kt", "speed"), 4)
    38.5833
    >>> parse("15 degC", "temperature")
    288.15
    """
    known(dimension)
    expected = expected_value(dimension)
    if not isinstance(text, str):
        raise UnitError(
            f"{text!r} has no unit: write it as text, with its unit; expected {expected_words(dimension)}",
            repr(text),
            expected,
        )
    match = NUMBER.match(text)
    if match is None:
        raise UnitError(f"{text!r} holds no number; expected {expected}", text, expected)
    if re.match(r"\d", match["unit"]) and not re.match(r"1\s*/|1$", match["unit"]):
        raise UnitError(f"{text.strip()!r} holds two numbers; expected {expected}", text, expected)
    value = number(match["number"], text.strip(), dimension)
    if not match["unit"] and dimension not in BARE:
        # In which one it was meant nobody can know: a unit put behind the number here could be taken for an answer.
        raise UnitError(f"{text.strip()!r} has no unit; expected {expected_words(dimension)}", text, expected)
    return to_si(value, match["unit"] or BARE[dimension], dimension)


def header(cell: str) -> tuple[str, str | None]:
    """Split a header cell ``name [unit]`` into its name and its unit (None where it has none).

    Raises
    ------
    UnitError
        If the brackets are not one closed pair at the end, with a name before and a unit inside.

    Examples
    --------
    >>> header("ground roll [ft]")
    ('ground roll', 'ft')
    >>> header("run")
    ('run', None)
    """
    expected = 'a name, and its unit in square brackets behind it, as in "ground roll [ft]"'
    text = " ".join(cell.split())
    if "[" not in text and "]" not in text:
        # "roll (ft)" would otherwise be taken for a name, and its numbers for numbers without a unit.
        round_brackets = re.fullmatch(r"(.+?)\s*\(([^()]*)\)", text)
        if round_brackets and any(
            everyday(round_brackets[2].strip(), d) for d in DIMENSIONS if round_brackets[2].strip()
        ):
            raise UnitError(
                f"header {cell!r}: the unit goes in square brackets, as in "
                f'"{round_brackets[1]} [{round_brackets[2].strip()}]"',
                cell,
                expected,
            )
        return text, None
    match = re.fullmatch(r"([^\[\]]*?)\s*\[([^\[\]]*)\]", text)
    if match is None or not match[1] or not match[2].strip():
        raise UnitError(f"header {cell!r} is not {expected}", cell, expected)
    return match[1], match[2].strip()


def show(value_si: float, unit: str, dimension: str, digits: int | None = None) -> str:
    """Write one SI value in a unit, such as ``"412 ft"``.

    ``digits`` counts the places behind the point; None gives three significant figures, whole numbers kept whole.
    A NaN reads "not known".
    """
    value = from_si(value_si, unit, dimension)
    if math.isnan(value):
        return "not known"
    if digits is None:
        digits = 0 if value == 0 or not math.isfinite(value) else max(0, 2 - math.floor(math.log10(abs(value))))
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.removeprefix("-")
    return f"{text} {unit}".strip() if unit != "1" else text


def _plain(value: Quantity[Any] | str | None, dimension: str, where: str) -> Numbers | None:
    """One argument of a notebook-facing function as plain SI; None passes."""
    if value is None:
        return None
    if isinstance(value, str):
        return parse(value, dimension)
    if not (hasattr(value, "magnitude") and hasattr(value, "units")):
        raise UnitError(
            f"{where} needs a unit: {value!r} is a bare number; expected {expected_words(dimension)}",
            repr(value),
            expected_words(dimension),
        )
    return to_si(value.magnitude, str(value.units), dimension)


def quantities(
    returns: str | tuple[str, ...] | None = None, **dimensions: str
) -> Callable[[Callable[..., Any]], WithUnits]:
    """Make a plain-SI function take and give quantities.

    The wrapped function takes ``pint`` quantities (or text such as ``"75 kt"``) for the named parameters and refuses
    bare numbers there; other parameters pass untouched. A result comes back in the unit of the first argument of its
    dimension, else in SI. The plain function stays reachable as ``.si``.

    Parameters
    ----------
    returns : dimension of the result, a tuple of them for a tuple of results, or None for a plain result
    dimensions : dimension of each parameter by name

    Raises
    ------
    UnitError
        From the wrapped function, for a bare number or a unit that does not fit.

    Examples
    --------
    >>> fall = quantities(returns="speed", height="length")(lambda height: (2 * 9.80665 * height) ** 0.5)
    >>> round(fall("10 ft").to("ft/s").magnitude, 1)
    25.4
    """
    for dimension in (*dimensions.values(), *((returns,) if isinstance(returns, str) else returns or ())):
        known(dimension)

    def decorate(function: Callable[..., Any]) -> WithUnits:
        signature = inspect.signature(function)

        @functools.wraps(function)
        def wrapped(*args: Any, **kwargs: Any) -> Any:
            bound = signature.bind(*args, **kwargs)
            spoken: dict[str, Unit] = {}
            for name, value in bound.arguments.items():
                if name in dimensions:
                    bound.arguments[name] = _plain(value, dimensions[name], f"{function.__name__}: {name}")
                    if hasattr(value, "units"):
                        spoken.setdefault(dimensions[name], value.units)
            result = function(*bound.args, **bound.kwargs)
            if returns is None:
                return result
            if isinstance(returns, str):
                return _spoken(result, returns, spoken)
            parts = [_spoken(part, dimension, spoken) for part, dimension in zip(result, returns, strict=True)]
            return type(result)(*parts) if hasattr(result, "_fields") else tuple(parts)

        found = cast("WithUnits", wrapped)
        found.si = function
        return found

    return decorate


def _spoken(value: Numbers, dimension: str, spoken: dict[str, Unit]) -> Quantity[Any]:
    """A plain SI result as a quantity, in the unit of the first argument of its dimension."""
    import pint

    registry = pint.get_application_registry()  # type: ignore[no-untyped-call] # pint types it not
    unit = None if dimension == "temperature difference" else spoken.get(dimension)
    if unit is not None:
        return registry.Quantity(from_si(value, str(unit), dimension), unit)
    si = DIMENSIONS[dimension].si
    return registry.Quantity(value, "delta_degC" if dimension == "temperature difference" else _PINT_SI.get(si, si))
