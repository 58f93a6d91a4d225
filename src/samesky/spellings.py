"""How do people write units, and what do we say when they write one that cannot be?

Dimensions, everyday spellings with their exact factors, and the messages, for :mod:`samesky.units`. Factors follow
the exact definitions of NIST SP 811 (2008), Appendix B; the tests hold every one against ``pint``.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of number: its SI unit and the units in which people usually write it."""

    si: str
    examples: tuple[str, ...]


#: Every kind of number a file or a page may hold.
DIMENSIONS: dict[str, Dimension] = {
    "length": Dimension("m", ("m", "ft", "km", "NM", "in")),
    "area": Dimension("m^2", ("m^2", "ft^2")),
    "volume": Dimension("m^3", ("L", "US gal", "imp gal", "m^3")),
    "mass": Dimension("kg", ("kg", "lb", "g")),
    "time": Dimension("s", ("s", "min", "h")),
    "speed": Dimension("m/s", ("kt", "m/s", "km/h", "mph", "ft/min")),
    "temperature": Dimension("K", ("degC", "degF", "K")),
    "temperature difference": Dimension("K", ("degC", "degF", "K")),
    "pressure": Dimension("Pa", ("hPa", "inHg", "mbar", "Pa")),
    "force": Dimension("N", ("N", "daN", "kgf", "lbf")),
    "power": Dimension("W", ("kW", "hp", "W")),
    "rotational speed": Dimension("rev/s", ("rpm", "rev/s")),
    "angle": Dimension("rad", ("deg", "rad")),
    "fraction": Dimension("1", ("%", "1")),
    "sound level": Dimension("dB", ("dB", "dB(A)")),
    "volume flow": Dimension("m^3/s", ("L/h", "US gal/h", "gph")),
    # What people write one of is a fuel: 0.72 of the SI unit would be a gas.
    "density": Dimension("kg/m^3", ("kg/L", "lb/US gal", "kg/m^3")),
    "acceleration": Dimension("m/s^2", ("m/s^2", "kt/s", "ft/s^2", "g")),
    "fraction per hour": Dimension("1/h", ("%/h", "1/h")),
    "fraction per root hour": Dimension("1/h**0.5", ("%/h**0.5", "1/h**0.5")),
}

#: Knots of an airspeed as indicated and of one corrected for the error of the airspeed system already.
INDICATED, CALIBRATED = "KIAS", "KCAS"
AIRSPEEDS = (INDICATED, CALIBRATED)
#: Units in which a bare number is taken, for everybody writes these without one.
BARE = {"rotational speed": "rpm", "angle": "deg", "fraction": ""}

_FT, _IN, _NM, _MI = 0.3048, 0.0254, 1852.0, 1609.344
_LB, _G0 = 0.45359237, 9.80665
_US_GAL, _IMP_GAL = 231 * _IN**3, 4.54609e-3
_INHG = 13595.1 * _G0 * _IN

#: Everyday spellings: dimension -> spelling -> factor to SI (temperatures apart).
FACTORS: dict[str, dict[str, float]] = {
    "length": {
        **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1.0),
        **dict.fromkeys(("ft", "foot", "feet", "'"), _FT),
        **dict.fromkeys(("in", "inch", "inches", '"'), _IN),
        **dict.fromkeys(("NM", "nmi", "nm", "nautical mile", "nautical miles"), _NM),
        **dict.fromkeys(("mi", "mile", "miles", "statute mile"), _MI),
        **{"km": 1000.0, "cm": 0.01, "mm": 0.001, "yd": 0.9144},
    },
    "area": {"m^2": 1.0, "m2": 1.0, "m²": 1.0, "ft^2": _FT**2, "ft2": _FT**2, "ft²": _FT**2, "sq ft": _FT**2},
    "volume": {
        **dict.fromkeys(("m^3", "m3", "m³"), 1.0),
        **dict.fromkeys(("L", "l", "litre", "litres", "liter", "liters", "ltr", "ltrs"), 1e-3),
        **dict.fromkeys(("US gal", "gal", "gallon", "gallons", "US gallon", "US gallons", "USG"), _US_GAL),
        **dict.fromkeys(("imp gal", "Imp gal", "UK gal", "imperial gallon"), _IMP_GAL),
        **{"mL": 1e-6, "ml": 1e-6},
    },
    "mass": {
        **dict.fromkeys(("kg", "kilogram", "kilograms"), 1.0),
        **dict.fromkeys(("lb", "lbs", "pound", "pounds"), _LB),
        **{"g": 1e-3, "t": 1000.0, "oz": _LB / 16},
    },
    "time": {
        **dict.fromkeys(("s", "sec", "second", "seconds"), 1.0),
        **dict.fromkeys(("min", "mins", "minute", "minutes"), 60.0),
        **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), 3600.0),
        **{"ms": 1e-3, "d": 86400.0, "day": 86400.0, "days": 86400.0},
    },
    "speed": {
        **dict.fromkeys(("m/s", "mps"), 1.0),
        **dict.fromkeys(("kt", "kts", "knot", "knots", "kn", *AIRSPEEDS), _NM / 3600),
        **dict.fromkeys(("km/h", "kmh", "kph"), 1 / 3.6),
        **dict.fromkeys(("mph", "mi/h"), _MI / 3600),
        **dict.fromkeys(("ft/min", "fpm", "ft/mn"), _FT / 60),
        **{"ft/s": _FT, "fps": _FT},
    },
    "pressure": {
        **{"Pa": 1.0, "kPa": 1000.0, "psi": _LB * _G0 / _IN**2, "atm": 101325.0, "bar": 1e5},
        **dict.fromkeys(("hPa", "mbar", "mb", "millibar", "hectopascal"), 100.0),
        **dict.fromkeys(("inHg", "in Hg", "in.Hg", "inches Hg", "in_Hg"), _INHG),
        **{"mmHg": _INHG / 25.4, "mm Hg": _INHG / 25.4},
    },
    # A hanging scale that reads kg or lb shows the force on its hook: kgf or lbf.
    "force": {
        **{"N": 1.0, "daN": 10.0, "kN": 1000.0},
        **dict.fromkeys(("kgf", "kg", "kp"), _G0),
        **dict.fromkeys(("lbf", "lb", "lbs"), _LB * _G0),
    },
    "power": {
        **{"W": 1.0, "kW": 1000.0, "MW": 1e6},
        **dict.fromkeys(("hp", "bhp", "horsepower"), 550 * _FT * _LB * _G0),
        **dict.fromkeys(("PS", "ch", "cv", "metric hp"), 75 * _G0),
    },
    "rotational speed": {
        **dict.fromkeys(("rpm", "rev/min", "r/min", "1/min"), 1 / 60),
        **dict.fromkeys(("rev/s", "rps", "r/s", "Hz", "1/s"), 1.0),
        "rad/s": 1 / (2 * math.pi),
    },
    "angle": {
        **dict.fromkeys(("rad", "radian", "radians"), 1.0),
        **dict.fromkeys(("deg", "°", "º", "degree", "degrees"), math.pi / 180),
    },
    "fraction": {"": 1.0, "1": 1.0, "%": 0.01, "percent": 0.01, "per cent": 0.01, "ppm": 1e-6},
    # Levels are subtracted as they are read: a difference of 2 dB is 2 dB, at any level.
    "sound level": dict.fromkeys(("dB", "dB(A)", "dBA", "dB A", "dB(C)", "decibel", "decibels"), 1.0),
    "volume flow": {
        **dict.fromkeys(("m^3/s", "m3/s"), 1.0),
        **dict.fromkeys(("L/h", "l/h", "lph", "L/hr", "l/hr", "litre/h", "litres/h"), 1e-3 / 3600),
        **dict.fromkeys(("US gal/h", "gal/h", "gph", "US gal/hr", "gal/hr", "USG/h"), _US_GAL / 3600),
        **{"imp gal/h": _IMP_GAL / 3600, "L/min": 1e-3 / 60, "l/min": 1e-3 / 60},
    },
    "density": {
        **dict.fromkeys(("kg/m^3", "kg/m3", "kg/m³"), 1.0),
        **dict.fromkeys(("kg/L", "kg/l", "g/cm^3", "g/cm3"), 1000.0),
        **dict.fromkeys(("lb/US gal", "lb/gal", "lbs/gal"), _LB / _US_GAL),
    },
    "acceleration": {
        **dict.fromkeys(("m/s^2", "m/s2", "m/s²"), 1.0),
        **dict.fromkeys(("ft/s^2", "ft/s2", "ft/s²"), _FT),
        **dict.fromkeys(("kt/s", "kts/s", "kn/s"), _NM / 3600),
        "g": _G0,
    },
    "fraction per hour": {"1/h": 1.0, "%/h": 0.01, "percent/h": 0.01, "%/hr": 0.01, "per hour": 1.0},
    "fraction per root hour": {"1/h**0.5": 1.0, "%/h**0.5": 0.01, "%/h^0.5": 0.01, "1/h^0.5": 1.0, "%/sqrt(h)": 0.01},
}
# The sign of the ordinal stands beside that of the degree on many keyboards.
_CELSIUS = ("degC", "°C", "ºC", "\u2103", "C", "deg C", "celsius")
_FAHRENHEIT = ("degF", "°F", "ºF", "\u2109", "F", "deg F", "fahrenheit")
FACTORS["temperature difference"] = {
    **{"K": 1.0, "kelvin": 1.0, "delta_degC": 1.0, "delta_degF": 5 / 9, "degR": 5 / 9},
    **dict.fromkeys(_CELSIUS, 1.0),
    **dict.fromkeys(_FAHRENHEIT, 5 / 9),
}
#: Temperatures: spelling -> (factor, offset), K = value * factor + offset.
TEMPERATURES: dict[str, tuple[float, float]] = {
    **{"K": (1.0, 0.0), "kelvin": (1.0, 0.0), "degR": (5 / 9, 0.0)},
    **dict.fromkeys(_CELSIUS, (1.0, 273.15)),
    **dict.fromkeys(_FAHRENHEIT, (5 / 9, 459.67 * 5 / 9)),
}


#: Blanks that people put between groups of three digits.
_BLANKS = "[ \u00a0\u2009\u202f]"
#: A written value: its number, and whatever stands behind it.
NUMBER = re.compile(
    rf"^\s*(?P<number>[+\-−]?(?:\d{{1,3}}(?:{_BLANKS}\d{{3}})+(?!\d)|\d[\d.,]*|[.,]\d+)(?:[eE][+\-]?\d+)?)"
    r"\s*(?P<unit>.*?)\s*$"
)


class UnitError(ValueError):
    """A number or unit that cannot be taken: ``found`` as written, ``expected`` in words."""

    def __init__(self, message: str, found: str, expected: str) -> None:
        super().__init__(message)
        self.found = found
        self.expected = expected


def known(dimension: str) -> Dimension:
    """The dimension of this name; KeyError, naming all of them, for another."""
    if dimension not in DIMENSIONS:
        raise KeyError(f"{dimension!r} is no dimension; there are: {', '.join(DIMENSIONS)}")
    return DIMENSIONS[dimension]


def expected_words(dimension: str) -> str:
    """What should have stood there, for a message."""
    article = "an" if dimension[0] in "aeiou" else "a"
    return f"{article} {dimension}, in {', '.join(e for e in known(dimension).examples)} or another unit of that kind"


#: Spellings whose capitals tell one unit from another: a milliwatt, a megasecond, a molar ... are none of ours.
_CAPITALS_COUNT = {"mw", "ms", "mm", "pa", "mpa"}


def _folded(table: Mapping[str, object]) -> dict[str, str]:
    """Spellings of two signs and more by their small letters, where these leave one unit only."""
    found: dict[str, str] = {}
    doubtful = set(_CAPITALS_COUNT)
    for spelling in table:
        small = spelling.casefold()
        if table[found.setdefault(small, spelling)] != table[spelling]:
            doubtful.add(small)
    return {small: spelling for small, spelling in found.items() if len(small) > 1 and small not in doubtful}


_FOLDED = {dimension: _folded(table) for dimension, table in FACTORS.items()} | {"temperature": _folded(TEMPERATURES)}


def everyday(unit: str, dimension: str) -> tuple[float, float] | None:
    """(factor, offset) to SI of an everyday spelling, or None. ``FT``, ``Ft`` and ``ft`` are one spelling."""
    if dimension == "temperature":
        return TEMPERATURES.get(_as_listed(unit, dimension, TEMPERATURES))
    factor = FACTORS[dimension].get(_as_listed(unit, dimension, FACTORS[dimension]))
    return None if factor is None else (factor, 0.0)


def _as_listed(unit: str, dimension: str, table: Mapping[str, object]) -> str:
    """The spelling in which the table knows a unit, capitals aside."""
    return unit if unit in table else _FOLDED[dimension].get(unit.casefold(), unit)


def is_calibrated(unit: str | None) -> bool:
    """Whether airspeeds in this unit are corrected for the error of the airspeed system already."""
    return unit is not None and unit.strip().casefold() == CALIBRATED.casefold()


def plain_speed(unit: str) -> str:
    """The unit without what it says of the airspeed: knots for KIAS and KCAS, any other as it is."""
    return "kt" if unit.strip().upper() in AIRSPEEDS else unit


def refuse(unit: str, dimension: str, cause: str) -> UnitError:
    """The error for a unit that cannot be taken."""
    return UnitError(f"{cause}; expected {expected_words(dimension)}", unit, expected_words(dimension))


def unknown(unit: str, dimension: str) -> UnitError:
    """The error for a unit that nobody knows, or that everyday speech knows as something else."""
    owners = [other for other in DIMENSIONS if other != dimension and everyday(unit, other) and unit not in ("", "1")]
    if owners:
        return refuse(unit, dimension, f"{unit!r} does not fit: it measures {owners[0]}, not {dimension}")
    if not unit or unit == "1":
        return refuse(unit, dimension, "no unit given")
    near = [*TEMPERATURES] if dimension == "temperature" else [*FACTORS[dimension]]
    close = difflib.get_close_matches(unit, near, n=1, cutoff=0.5)
    elsewhere = [*(spelling for table in FACTORS.values() for spelling in table), *TEMPERATURES]
    close = close or difflib.get_close_matches(unit, elsewhere, n=1, cutoff=0.7)
    hint = f" (did you mean {close[0]!r}?)" if close else ""
    return refuse(unit, dimension, f"unit {unit!r} is not known{hint}")


def expected_value(dimension: str) -> str:
    """What a written value should have looked like, for a message."""
    return f"a number such as 75.5, then {expected_words(dimension)}"


def number(text: str, whole: str, dimension: str) -> float:
    """The number in ``text``, with one decimal comma allowed where it cannot be a thousands mark."""
    expected = expected_value(dimension)
    if "," in text and "." in text:
        raise UnitError(
            f"{whole!r} has both a comma and a point: write the number with one decimal point, as in 1234.5",
            whole,
            expected,
        )
    if text.count(",") > 1 or re.fullmatch(r"[+\-−]?[1-9]\d{0,2},\d{3}", text):
        decimals = f" or {text.replace(',', '.')}" if text.count(",") == 1 else ""
        raise UnitError(
            f"{whole!r} is ambiguous: a comma may mark thousands or decimals; write {text.replace(',', '')}{decimals}",
            whole,
            expected,
        )
    try:
        value = float(re.sub(_BLANKS, "", text).replace(",", ".").replace("−", "-"))
    except ValueError:
        raise UnitError(f"{whole!r} holds no number; expected {expected}", whole, expected) from None
    if not math.isfinite(value):
        raise UnitError(f"{whole!r} is too large a number", whole, expected)
    return value
