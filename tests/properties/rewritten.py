"""The same campaign written otherwise: in other units, other orders of rows and columns, with the labels exchanged."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path

import numpy as np

from samesky import units
from samesky.campaign.model.campaign import Campaign

#: Units that a pilot may write instead, by dimension.
OTHERS = {
    "length": ("m", "ft", "yd"),
    "speed": ("kt", "km/h", "mph", "m/s"),
    "time": ("s", "min"),
    "temperature": ("degC", "degF", "K"),
    "pressure": ("hPa", "inHg", "Pa"),
    "force": ("kgf", "N", "lbf"),
    "angle": ("deg", "rad"),
    "fraction": ("%", "1"),
    "volume flow": ("L/h", "gal/h"),
    "volume": ("L", "gal"),
    "rate": ("ft/min", "m/s"),
}
_HEADER = re.compile(r"(.*) \[(.*)\]")


def dimension_of(unit: str) -> str | None:
    """The first dimension to which a unit belongs, of those above."""
    return next((name for name, known in OTHERS.items() if unit in known), None)


def in_other_units(folder: Path, rng: np.random.Generator) -> None:
    """Write every column of numbers in a unit drawn from those of its dimension, to twelve figures."""
    for path in sorted(folder.glob("*.csv")):
        with open(path, newline="", encoding="utf-8") as file:
            header, *rows = list(csv.reader(file))
        for index, cell in enumerate(header):
            found = _HEADER.fullmatch(cell)
            dimension = dimension_of(found[2]) if found else None
            if dimension is None:
                continue
            other = str(rng.choice(OTHERS[dimension]))
            header[index] = f"{found[1]} [{other}]"
            for row in rows:
                if row[index]:
                    si = units.to_si(float(row[index]), found[2], dimension)
                    row[index] = f"{float(units.from_si(si, other, dimension)):.12g}"
        _write(path, header, rows)


def in_other_rows(folder: Path, rng: np.random.Generator) -> None:
    """Shuffle the rows of every table."""
    for path in sorted(folder.glob("*.csv")):
        with open(path, newline="", encoding="utf-8") as file:
            header, *rows = list(csv.reader(file))
        _write(path, header, [rows[k] for k in rng.permutation(len(rows))])


def in_other_columns(folder: Path, rng: np.random.Generator) -> None:
    """Shuffle the columns of every table."""
    for path in sorted(folder.glob("*.csv")):
        with open(path, newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file))
        order = rng.permutation(len(rows[0]))
        _write(path, [rows[0][k] for k in order], [[row[k] for k in order] for row in rows[1:]])


def with_rows_exchanged(campaign: Campaign, rng: np.random.Generator) -> Campaign:
    """The same runs, in memory, in another order of the arrays."""
    tables = {}
    for name, table in campaign.tables.items():
        order = rng.permutation(len(table.rows))
        tables[name] = replace(
            table,
            rows=table.rows[order],
            columns={key: values[order] for key, values in table.columns.items()},
            text={key: [values[k] for k in order] for key, values in table.text.items()},
            configuration=table.configuration[order],
            installation=table.installation[order],
            day=table.day[order],
            hours=table.hours[order],
        )
    return replace(campaign, tables=tables)


def _write(path: Path, header: list[str], rows: list[list[str]]) -> None:
    with open(path, "w", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerows([header, *rows])


def with_labels_exchanged(campaign: Campaign) -> Campaign:
    """A is called B and B is called A; the baseline stays A."""
    other = {"A": "B", "B": "A"}
    tables = {
        name: replace(table, configuration=np.array([other[key] for key in table.configuration]))
        for name, table in campaign.tables.items()
    }
    configurations = {key: replace(campaign.configurations[other[key]], key=key) for key in campaign.configurations}
    return replace(campaign, tables=tables, configurations=configurations)
