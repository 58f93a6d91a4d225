"""Gross slips of the pen, of the watch and of the unit, each drawn from a seed into the files of a sound campaign."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

import numpy as np


@dataclass
class Sheet:
    """A file of runs as cells."""

    header: list[str]
    rows: list[list[str]]

    @classmethod
    def of(cls, text: str) -> Sheet:
        header, *rows = csv.reader(io.StringIO(text))
        return cls(header, rows)

    def text(self) -> str:
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows([self.header, *self.rows])
        return out.getvalue()

    def named(self, *names: str) -> list[int]:
        """Columns whose name before the unit is one of these."""
        return [index for index, cell in enumerate(self.header) if cell.partition(" [")[0] in names]

    def counted(self) -> list[int]:
        """Rows that count."""
        excluded = self.named("exclude")
        return [index for index, row in enumerate(self.rows) if not (excluded and row[excluded[0]].strip())]


@dataclass(frozen=True)
class Slip:
    """What was spoilt: where, how, from what to what."""

    kind: str
    file: str
    row: int | None
    column: str
    before: str
    after: str


RESULTS = ("ground roll", "elapsed", "pull", "fuel flow")
SPEEDS = (
    "airspeed",
    "entry airspeed",
    "exit airspeed",
    "lift-off airspeed",
    "touch-down airspeed",
    "speed 1",
    "speed 2",
)


def _cell(rng, sheet, *names):
    """A counted row and one of these columns, where it holds a number."""
    places = [
        (r, c) for c in sheet.named(*names) for r in sheet.counted() if re.fullmatch(r"-?[\d.]+", sheet.rows[r][c])
    ]
    return places[rng.integers(len(places))] if places else None


def _times(*factors):
    def slip(rng, cell):
        value = float(cell) * factors[rng.integers(len(factors))]
        return f"{value:.{len(cell.partition('.')[2])}f}"

    return slip


def _no_point(rng, cell):
    return cell.replace(".", "") if "." in cell else None


def _a_digit_more(rng, cell):
    """A key that was held down: 130 becomes 1130."""
    return cell[0] + cell if cell[0].isdigit() else None


def _a_digit_less(rng, cell):
    """1800 becomes 180."""
    whole, point, part = cell.partition(".")
    return whole[:-1] + point + part if len(whole) > 1 and whole[-1].isdigit() else None


def _leading_digit(rng, cell):
    """441 for 141: another leading digit, two or more away."""
    first = int(cell[0]) if cell[0].isdigit() else 0
    other = [digit for digit in range(1, 10) if abs(digit - first) >= 2]
    return str(other[rng.integers(len(other))]) + cell[1:] if first and len(cell) > 1 else None


def _exchanged(rng, cell):
    """The first two digits the other way round, where they differ by two or more."""
    if len(cell) < 2 or not cell[:2].isdigit() or abs(int(cell[0]) - int(cell[1])) < 2 or cell[1] == "0":
        return None
    return cell[1] + cell[0] + cell[2:]


def _minus(rng, cell):
    return f"-{cell}" if not cell.startswith("-") and float(cell) >= 5 else None


#: One cell: kind -> (columns, what becomes of the cell).
CELLS = {
    "leading digit": ((*RESULTS, *SPEEDS, "oat"), _leading_digit),
    "digit more": ((*RESULTS, *SPEEDS, "oat", "headwind"), _a_digit_more),
    "digit less": ((*RESULTS, *SPEEDS, "altitude", "from", "to", "oat"), _a_digit_less),
    "digits exchanged": ((*RESULTS, *SPEEDS, "oat", "fuel"), _exchanged),
    "point lost": ((*RESULTS, *SPEEDS, "oat", "headwind", "fuel"), _no_point),
    "doubled": (("elapsed", "ground roll", "pull", "fuel flow"), _times(2.0)),
    "halved": (("elapsed", "ground roll", "pull", "fuel flow"), _times(0.5)),
    "times a hundred": (("fuel flow", "pull", "elapsed", "ground roll"), _times(100.0, 0.01)),
    "sign": (("oat", "headwind"), _minus),
    "another unit of speed": (SPEEDS, _times(1.852, 0.5399, 0.5144)),
    "wind in another unit": (("headwind",), _times(1.852, 3.6)),
    "another unit of length": (("ground roll", "altitude", "from", "to"), _times(3.2808, 0.3048)),
    "another unit of force": (("pull",), _times(2.2046, 0.4536, 9.80665)),
    "fahrenheit": (("oat",), lambda rng, cell: f"{float(cell) * 1.8 + 32:.0f}"),
}
EXCHANGES = (
    ("rpm", "pull"),
    ("airspeed", "elapsed"),
    ("headwind", "lift-off airspeed"),
    ("oat", "headwind"),
    ("to", "from"),
)
EXCHANGES += (("lift-off airspeed", "ground roll"), ("airspeed", "fuel flow"), ("oat", "fuel"), ("speed 1", "track 1"))
UNITS = {"ft": "m", "m": "ft", "kt": "km/h", "km/h": "kt", "degC": "degF", "s": "min", "mph": "kt", "kgf": "lbf"}
UNITS |= {"L/h": "US gal/h", "US gal/h": "L/h", "lbf": "kgf", "N": "kgf", "L": "US gal", "US gal": "L"}
KINDS = (*CELLS, "columns exchanged", "day off", "unit of a column", "all times a tenth", "row of another")


def spoilt(rng: np.random.Generator, files: dict[str, str]) -> tuple[dict[str, str], Slip] | None:
    """The files with one gross slip of a drawn kind; None where that kind found no place."""
    kind = KINDS[rng.integers(len(KINDS))]
    tables = [name for name in files if name.endswith(".csv")]
    file = tables[rng.integers(len(tables))]
    sheet = Sheet.of(files[file])
    slip = _slip(rng, kind, file, sheet)
    if slip is None or slip.before == slip.after:
        return None
    return {**files, file: sheet.text()}, slip


def _slip(rng, kind, file, sheet) -> Slip | None:
    if kind in CELLS:
        names, change = CELLS[kind]
        place = _cell(rng, sheet, *names)
        if place is None:
            return None
        row, column = place
        before = sheet.rows[row][column]
        after = change(rng, before)
        if after is None:
            return None
        sheet.rows[row][column] = after
        return Slip(kind, file, row, sheet.header[column], before, after)
    if kind == "columns exchanged":
        pairs = [(a[0], b[0]) for a, b in ((sheet.named(x), sheet.named(y)) for x, y in EXCHANGES) if a and b]
        if not pairs:
            return None
        (a, b), row = pairs[rng.integers(len(pairs))], sheet.counted()[rng.integers(len(sheet.counted()))]
        cells = sheet.rows[row]
        cells[a], cells[b] = cells[b], cells[a]
        return Slip(kind, file, row, sheet.header[a], cells[b], cells[a])
    if kind == "day off":
        # Any other row would go back in time, which is an error already.
        row, column = len(sheet.rows) - 1, sheet.named("date")[0]
        before = sheet.rows[row][column]
        sheet.rows[row][column] = str(np.datetime64(before) + 1)
        return Slip(kind, file, row, "date", before, sheet.rows[row][column])
    if kind == "unit of a column":
        places = [
            (index, match[1]) for index, cell in enumerate(sheet.header)
            if (match := re.search(r"\[(.+)\]$", cell)) and match[1] in UNITS
        ]  # fmt: skip
        if not places:
            return None
        column, unit = places[rng.integers(len(places))]
        before = sheet.header[column]
        sheet.header[column] = before.replace(f"[{unit}]", f"[{UNITS[unit]}]")
        return Slip(kind, file, None, before.partition(" [")[0], before, sheet.header[column])
    if kind == "all times a tenth":
        columns = sheet.named("elapsed")
        if not columns:
            return None
        for cells in sheet.rows:
            cells[columns[0]] = f"{float(cells[columns[0]]) / 10:.2f}"
        return Slip(kind, file, None, "elapsed", "", "a tenth")
    # "row of another": a reading of a run of the other configuration, written into this row as well.
    columns = sheet.named(*RESULTS, "airspeed", "rpm")
    if not columns:
        return None
    key = sheet.named("configuration")[0]
    rows = sheet.counted()
    row, other = rows[rng.integers(len(rows))], rows[rng.integers(len(rows))]
    column = columns[rng.integers(len(columns))]
    if sheet.rows[row][key] == sheet.rows[other][key]:
        return None
    before, after = sheet.rows[row][column], sheet.rows[other][column]
    # Gross only where the two are far from each other.
    if abs(float(after) / float(before) - 1) <= 0.2:
        return None
    sheet.rows[row][column] = after
    return Slip(kind, file, row, sheet.header[column], before, after)
