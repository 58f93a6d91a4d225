"""Who says so? Printed values by row name, and the check of a computed value against one.

The rows are the CSV files beside this module (see ``data/README.md`` for the columns). A check holds a computed value
against the print at the printed rounding, no looser and no tighter, and prints both in one line.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

#: Folder of the printed values.
DATA = Path(__file__).parent / "data"
#: The files of rows, by name.
TABLES = ("air", "propeller", "statistics")

#: A double carries about this much of itself through a few operations.
_BITS = 1e-12
#: Share of the way to the printed value by which a computed one is moved before it is written.
TIE = 1e-9


@dataclass(frozen=True, slots=True)
class Printed:
    """One printed value: the columns of ``data/README.md``.

    ``value`` is a number where the row prints one number, else the text; ``printed`` is always the text.
    """

    id: str
    topic: str
    quantity: str
    inputs: str
    value: float | str
    unit: str
    rounding: str
    source: str
    verified: str
    notes: str
    printed: str

    @property
    def numbers(self) -> tuple[float, ...]:
        """The printed numbers in order; empty where the row prints a formula or a sentence."""
        return tuple(float(number) for number in self._written())

    def _written(self) -> tuple[str, ...]:
        parts = re.split(r"\s*;\s*|\s+", self.printed.strip())
        return tuple(parts) if self.rounding != "text" and all(_is_number(part) for part in parts) else ()

    def half_width(self, position: int = 0) -> float:
        """Largest difference that the printed rounding allows for the number at this position.

        Raises ValueError for a row of text.
        """
        written = self._written()
        if not written:
            raise ValueError(f"row {self.id} prints {self.printed!r}: that is no number to compare with")
        value = float(written[position])
        match self.rounding.split():
            case ["last", "printed", "digit", step]:
                return float(step) / 2
            case [places, "dp"]:
                return 10.0 ** -int(places) / 2
            case [figures, "sig"]:
                return 10.0 ** (_magnitude(value) - int(figures) + 1) / 2
            case ["as", "printed"]:
                return 10.0 ** -_places(written[position]) / 2
            case ["exact"]:
                return 0.0
            case ["within", tolerance]:
                return float(tolerance)
            case ["within", tolerance, "%"]:
                return abs(value) * float(tolerance) / 100
        raise ValueError(f"row {self.id}: rounding {self.rounding!r} is not one of data/README.md")

    def places(self, position: int = 0) -> int:
        """Places behind the point that the printed rounding keeps (negative: tens, hundreds …)."""
        half = self.half_width(position)
        if self.rounding == "exact":
            return _places(self._written()[position])
        return -math.floor(math.log10(2 * half) + 1e-9) if half else 0

    def write(self, value: float, position: int = 0, more: int = 0) -> str:
        """A value with as many places as the print keeps, and ``more``."""
        places = self.places(position) + more
        size = _magnitude(value) if math.isfinite(value) else 0
        if places > 6 and size < -3:
            return f"{value:.{max(places + size, 0)}e}"
        text = f"{round(value, places):.{max(places, 0)}f}"
        return text.removeprefix("-") if float(text) == 0 else text


@dataclass(frozen=True, slots=True)
class Check:
    """A computed value held against a printed one; ``str`` shows both in one line.

    ``difference`` is computed minus printed (of the worst number where the row prints several), ``agrees`` is the
    verdict at the printed rounding, ``digits`` the agreeing significant digits (log relative error, at most 15).
    """

    printed: Printed
    computed: float | tuple[float, ...]
    difference: float
    rounding: str
    agrees: bool
    digits: float

    def __str__(self) -> str:
        row = self.printed
        results = self.computed if isinstance(self.computed, tuple) else (self.computed,)
        more = 0 if self.agrees else 2
        # A tie falls to the side that is printed; its last bits, which no two processors share, would send it either
        # way.
        told = [value + TIE * (number - value) for value, number in zip(results, row.numbers, strict=True)]
        computed = "; ".join(row.write(value, k, more) for k, value in enumerate(told))
        printed = "; ".join(row.write(value, k) for k, value in enumerate(row.numbers))
        unit = f" {row.unit}" if row.unit not in ("", "1") else ""
        verdict = "agrees" if self.agrees else "DISAGREES"
        memory = ", quoted from memory" if "memory" in row.verified else ""
        values = f"computed {computed}{unit}, printed {printed}{unit} ({row.rounding})"
        return f"{row.id}: {values}: {verdict} [{row.source}{memory}]"

    __repr__ = __str__


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False


def _magnitude(value: float) -> int:
    return math.floor(math.log10(abs(value))) if value else 0


def _places(number: str) -> int:
    """Places behind the point in a written number, its exponent taken into account."""
    mantissa, _, exponent = number.lower().partition("e")
    return len(mantissa.partition(".")[2]) - int(exponent or 0)


@cache
def _table(name: str) -> dict[str, Printed]:
    with open(DATA / f"{name}.csv", newline="", encoding="utf-8") as file:
        found = {}
        for cells in csv.DictReader(file):
            text = cells["value"]
            one = cells["rounding"] != "text" and _is_number(text)
            rest = {name: cell for name, cell in cells.items() if name != "value"}
            found[cells["id"]] = Printed(**rest, value=float(text) if one else text, printed=text)
        return found


def row(id: str) -> Printed:
    """The printed row of this name.

    Raises KeyError, with the nearest names, where there is none.

    Examples
    --------
    >>> row("T1-203").value
    101325.0
    """
    for name in TABLES:
        if id in _table(name):
            return _table(name)[id]
    import difflib

    near = difflib.get_close_matches(id, [key for name in TABLES for key in _table(name)], n=3, cutoff=0.4)
    raise KeyError(f"no printed row {id!r}; near it: {', '.join(near) or 'none'}")


def topics() -> dict[str, int]:
    """Every topic with its number of rows."""
    counted: dict[str, int] = {}
    for name in TABLES:
        for printed in _table(name).values():
            counted[printed.topic] = counted.get(printed.topic, 0) + 1
    return counted


def rows(topic: str | None = None, table: str | None = None) -> list[Printed]:
    """All rows, or those of one topic, or of one file (``"air"``, ``"propeller"``, ``"statistics"``).

    Raises KeyError, naming what there is, for a topic or file that does not exist.
    """
    if table is not None and table not in TABLES:
        raise KeyError(f"no table {table!r}; there are: {', '.join(TABLES)}")
    if topic is not None and topic not in topics():
        raise KeyError(f"no topic {topic!r}; there are: {', '.join(topics())}")
    chosen = [printed for name in TABLES if table in (None, name) for printed in _table(name).values()]
    return [printed for printed in chosen if topic in (None, printed.topic)]


def check(id: str, computed: float | Sequence[float]) -> Check:
    """Hold a computed value against the printed row, at the printed rounding.

    Parameters
    ----------
    id : name of the row
    computed : in the row's unit; as many numbers as the row prints

    Returns
    -------
    Check

    Raises
    ------
    KeyError
        If there is no such row.
    ValueError
        If the row prints text, or another number of values.

    Examples
    --------
    >>> check("T1-203", 101325.0)
    T1-203: computed 101325 Pa, printed 101325 Pa (exact): agrees [ISO 2533:1975 / ICAO Doc 7488/3 primary constants]
    """
    printed = row(id)
    numbers = printed.numbers
    values = tuple(float(value) for value in np.atleast_1d(computed))
    if not numbers:
        printed.half_width()  # raises, saying that there is no number
    if len(values) != len(numbers):
        raise ValueError(f"row {id} prints {len(numbers)} numbers, {len(values)} computed")
    differences = [value - number for value, number in zip(values, numbers, strict=True)]
    fine = [
        abs(difference) <= printed.half_width(k) * (1 + 1e-9) + _BITS * abs(number) * (printed.half_width(k) == 0)
        for k, (difference, number) in enumerate(zip(differences, numbers, strict=True))
    ]
    worst = max(range(len(numbers)), key=lambda k: (not fine[k], abs(differences[k])))
    return Check(
        printed=printed,
        computed=values if np.ndim(computed) else values[0],
        difference=differences[worst],
        rounding=printed.rounding,
        agrees=all(fine),
        digits=_digits(differences[worst], numbers[worst]),
    )


def _digits(difference: float, number: float) -> float:
    """Agreeing significant digits (log relative error; log absolute error where zero is printed), 0 to 15."""
    if difference == 0:
        return 15.0
    if math.isnan(difference):
        return 0.0
    return min(15.0, max(0.0, -math.log10(abs(difference) / (abs(number) or 1.0))))


def dataset(name: str) -> pd.DataFrame:
    """A small data set that rows name, such as ``"darwin_zea_mays"``.

    Raises KeyError, naming what there is, where there is none; needs pandas, which comes with the extras ``book``
    and ``test``.
    """
    path = DATA / "datasets" / f"{name.removesuffix('.csv')}.csv"
    if not path.is_file():
        raise KeyError(f"no data set {name!r}; there are: {', '.join(datasets())}")
    import pandas as pd

    return pd.read_csv(path, comment="#")


def datasets() -> list[str]:
    """Names of all data sets."""
    return sorted(path.stem for path in (DATA / "datasets").glob("*.csv"))
