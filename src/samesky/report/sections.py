"""What stands in the tables of the page: every run, the conditions, the budget, the settings, ready to print.

Rows are lists of text; whatever was written by a pilot stays text and is escaped by the template.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.aeroplane.loading import AVGAS_DENSITY
from samesky.campaign.messages.phrases import meant
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.model.campaign import Campaign, RunTable
from samesky.campaign.settings.conditions import conditions
from samesky.inference.result import BudgetRow, Comparison
from samesky.reduction.reduction import Reduction
from samesky.report import phrases
from samesky.report.adding_up import strides_adding_up

#: Units in which a condition is shown where the file gives none.
USUAL = {"mass": "kg", "pressure": "hPa", "fraction": "%", "temperature": "degC"}
#: Conditions shown although no correction of the measure may use them.
ALSO = ("headwind", "gust", "crosswind", "oat", "pressure", "rpm", "fuel", "weight")


#: A source that puts less than this share of the standard uncertainty into the difference is only named.
NEGLIGIBLE = 0.05


@dataclass(frozen=True, slots=True)
class TableCell:
    """A cell with a second, quieter line."""

    main: str
    under: str


@dataclass(frozen=True, slots=True)
class PageTable:
    """Header cells and rows of cells; ``marked`` are the rows that do not count, ``words`` the columns of words."""

    header: list[str]
    rows: list[list[str | TableCell]]
    marked: frozenset[int] = frozenset()
    words: frozenset[int] = frozenset({0})


def runs(campaign: Campaign, reduction: Reduction, unit: str) -> PageTable:
    """Every run of one measure: as flown, each correction, reduced, uncertainty; left-out ones with their reason."""
    table, dimension = reduction.table, reduction.table.measure.dimension
    zero = units.from_si(0.0, unit, dimension)
    shown = {"as flown": units.from_si(reduction.steps[0].value, unit, dimension)}
    shown |= {name: units.from_si(change, unit, dimension) - zero for name, change in reduction.corrections.items()}
    shown["same sky"] = units.from_si(reduction.value, unit, dimension)
    shown["± u"] = units.from_si(reduction.standard_uncertainty, unit, dimension) - zero
    places = _run_places(shown["± u"], shown["as flown"])
    signed = set(reduction.corrections)
    several_days = len(set(table.text.get("date", []))) > 1
    rows = []
    for index in range(len(table.rows)):
        reason, note = table.text["exclude"][index], _text(table, "notes", index)
        said = [f"left out: {reason}"] if reason else []
        row = {name: float(values[index]) for name, values in shown.items()}
        changes = [row[name] for name in reduction.corrections]
        row |= zip(
            reduction.corrections, strides_adding_up(row["as flown"], changes, row["same sky"], places)[1], strict=True
        )
        numbers = [phrases.number(value, places, sign=name in signed) for name, value in row.items()]
        when = _text(table, "date", index) if several_days else ""
        when = f"{when} {_text(table, 'clock', index)}".strip()
        head = [_text(table, "run", index), when, str(table.configuration[index])]
        rows.append([*head, *numbers, "; ".join(said + ([note] if note else []))])
    header = ["run", "flown", "config.", *shown, "note"]
    marked = frozenset(np.flatnonzero(~table.included).tolist())
    return PageTable(header, rows, marked, frozenset({0, 1, 2, len(header) - 1}))


def _run_places(uncertainty: np.ndarray, raw: np.ndarray) -> int:
    known = uncertainty[np.isfinite(uncertainty) & (uncertainty > 0)]
    if known.size:
        # Finer than the uncertainty asks for, so that the sum of the corrections can be checked.
        return phrases.places_for(float(np.median(known)) / 5.0)
    largest = np.nanmax(np.abs(raw), initial=1.0)
    return phrases.places_for(float(largest) / 1000.0)


def _text(table: RunTable, name: str, index: int) -> str:
    return table.text[name][index] if name in table.text else ""


def flown_conditions(campaign: Campaign, reduction: Reduction) -> PageTable:
    """Mean and range of every condition for each configuration, and the common sky, in the pilot's units."""
    table = reduction.table
    keys = [key for key in campaign.configurations if np.any(table.included & (table.configuration == key))]
    header = ["condition", *[f"{key}: mean (range)" for key in keys], "common sky"]
    names = [*table.measure.conditions, *[name for name in ALSO if name not in table.measure.conditions]]
    rows = []
    for name in names:
        if name not in reduction.runs or not np.isfinite(reduction.runs[name][table.included]).any():
            continue
        unit, values, sky = in_units(campaign, table, name, reduction.runs[name], reduction.sky.get(name))
        cells = [_mean_and_range(values[table.included & (table.configuration == key)]) for key in keys]
        rows.append([f"{name}{phrases.unit_in_brackets(unit)}", *cells, "" if sky is None else _plain(sky, values)])
    return PageTable(header, rows)


def _mean_and_range(values: np.ndarray) -> str:
    values = values[np.isfinite(values)]
    if not values.size:
        return "not read"
    if np.ptp(values) == 0:
        return _plain(values[0], values)
    return f"{_plain(values.mean(), values)} ({_plain(values.min(), values)} to {_plain(values.max(), values)})"


def _plain(value: float, among: np.ndarray) -> str:
    """A condition with about four digits, or as many as the spread among the runs asks for."""
    spread = float(np.nanmax(among) - np.nanmin(among))
    by_spread = phrases.places_for(spread / 4.0) if spread > 0 else 0
    return phrases.number(float(value), min(by_spread, 3) or (1 if abs(value) < 100 and value % 1 else 0))


def in_units(
    campaign: Campaign, table: RunTable, name: str, values: np.ndarray, sky: float | None = None
) -> tuple[str, np.ndarray, float | None]:
    """Unit, values and common sky of a condition: in the unit of its column where it has one."""
    dimension = conditions([table.measure])[name].dimension
    unit = table.units.get(name)
    values = np.asarray(values, dtype=float)
    if name == "fuel" and unit is not None and fits(unit, "volume"):
        density = AVGAS_DENSITY if campaign.loading is None else campaign.loading.fuel_density
        values, dimension = values / density, "volume"
        sky = None if sky is None else sky / density
    elif unit is None or not fits(unit, dimension):
        unit = USUAL.get(dimension, units.DIMENSIONS[dimension].examples[0])
    return unit, units.from_si(values, unit, dimension), None if sky is None else units.from_si(sky, unit, dimension)


def _by_size(row: BudgetRow) -> tuple[float, float, str]:
    """Largest first; of those that differ by rounding alone, by name."""
    return -float(f"{row.share:.3g}"), -(meant(row.whole, 3) or 0.0), row.source


def budget(comparison: Comparison) -> tuple[PageTable, list[str]]:
    """Every source of doubt of the difference that shows in it, and the names of those too small to show."""
    decimals = phrases.places(comparison) + 1
    shows = NEGLIGIBLE * comparison.standard_uncertainty
    rows, small = [], []
    for row in sorted(comparison.budget, key=_by_size):
        if not max(row.whole, row.added) >= shows:
            small.append(row.source)
            continue
        share = phrases.number(100.0 * row.share, 0) + f"{phrases.NARROW}% of variance" if row.share >= 0.005 else ""
        shared = {"run": "new each run"}.get(row.scope, row.scope if "drift" in row.scope else f"one each {row.scope}")
        shared = {"one each campaign": "the same throughout", "one each wandering": "wandering"}.get(shared, shared)
        rows.append(
            [
                TableCell(row.source, f"{shared}; {row.note}"),
                phrases.number(row.whole, decimals),
                TableCell(phrases.number(row.added, decimals), share) if share else phrases.number(row.added, decimals),
            ]
        )
    unit = phrases.unit_in_brackets(comparison.unit)
    header = ["source of doubt", f"in the difference{unit}", f"added{unit}"]
    return PageTable(header, rows), list(dict.fromkeys(small))


def numbers(comparisons: Sequence[Comparison], titles: Sequence[str]) -> PageTable:
    """The answers as a table for those who read tables."""
    levels = [phrases.level(share) for share in (comparisons[0].level, comparisons[0].equivalence_level)]
    header = ["measure", "levels", "difference", f"{levels[0]} ({levels[1]}) interval", "matters", "p"]
    rows = []
    for one, title in zip(comparisons, titles, strict=True):
        decimals = phrases.places(one)
        # As printed the second level is the first and the printed difference.
        first = one.levels[one.baseline]
        second = round(first, decimals) + round(one.difference, decimals) if math.isfinite(first) else first
        levels = [
            f"{key}{phrases.NARROW}{phrases.amount(value, one.unit, decimals)}"
            for key, value in ((one.baseline, first), (one.other, second))
        ]
        inner = phrases.signed(one.equivalence_interval, decimals)
        smallest = phrases.amount(one.smallest_that_matters, one.unit, decimals)
        written = "" if phrases.matters(one) == smallest else one.smallest_text
        adjusted = p_values(one)
        rows.append(
            [
                TableCell(phrases.capital(title), one.verdict),
                TableCell(*levels),
                TableCell(phrases.difference(one), phrases.percent(one.percent)),
                TableCell(phrases.interval(one, one.interval), f"({inner})"),
                TableCell(smallest, written),
                TableCell(adjusted[0], "; ".join(adjusted[1:])),
            ]
        )
    return PageTable(header, rows)


def p_values(comparison: Comparison) -> list[str]:
    """The p-value of no difference at all, after Holm where that changes it, and the exact one where there is one."""
    said = [phrases.p_value(comparison.p)]
    if math.isfinite(comparison.p_holm) and not math.isclose(comparison.p_holm, comparison.p, rel_tol=1e-9):
        said.append(f"after Holm {phrases.p_value(comparison.p_holm)}")
    if math.isfinite(comparison.exact_p):
        said.append(f"exact {phrases.p_value(comparison.exact_p)}")
    return said


def limits(campaign: Campaign) -> PageTable | None:
    """The limits that were fixed before flying, in the units of the files."""
    rows = []
    for name, (low, high) in campaign.limits.items():
        column = "headwind" if name == "tailwind" else name
        table = next((one for one in campaign.tables.values() if column in conditions([one.measure])), None)
        if table is None:
            continue
        cells = []
        for bound in (low, high):
            if bound is None:
                cells.append("")
                continue
            unit, value, _ = in_units(campaign, table, column, np.array([bound]))
            cells.append(f"{phrases.significant(value[0])}{phrases.unit_behind(unit)}")
        rows.append([name, *cells])
    return PageTable(["limit", "at least", "at most"], rows) if rows else None


def configurations(campaign: Campaign) -> PageTable:
    """What each configuration is: label, changed part, details as written."""
    rows = []
    for key, one in campaign.configurations.items():
        parts = []
        if one.mass:
            parts.append(
                f"changed part {phrases.significant(one.mass)} kg"
                + (f" at {phrases.significant(one.arm)} m" if one.arm is not None else "")
            )
        if one.diameter is not None:
            parts.append(f"diameter {phrases.significant(one.diameter)} m")
        parts += [f"{name}: {value}" for name, value in one.details.items()]
        role = ", baseline" if key == campaign.baseline else ""
        rows.append([f"{key}{role}", TableCell(one.label or key, "; ".join(parts))])
    return PageTable(["key", "configuration, as written"], rows, words=frozenset({0, 1}))


def fingerprints(campaign: Campaign) -> PageTable | None:
    """SHA-256 of every file that the answer rests on; None for a campaign that came from no folder."""
    if campaign.folder is None:
        return None
    names = ["campaign.toml", *[table.file for table in campaign.tables.values()]]
    names += [] if campaign.airspeed_system is None else [campaign.airspeed_system.file]
    rows = []
    for name in dict.fromkeys(names):
        path = campaign.folder / name
        if path.is_file():
            rows.append([name, hashlib.sha256(path.read_bytes()).hexdigest()])
    return PageTable(["file", "SHA-256"], rows, words=frozenset({0, 1}))
