"""Which column is which, and in what unit?"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from samesky import units
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.sentences import Said
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.messages.words import briefly, did_you_mean, nearest, plain_name, quoted
from samesky.campaign.tables.delimited import DelimitedRows
from samesky.instruments.airspeed_indicator import INDICATED
from samesky.measures.shape import Column
from samesky.spellings import AIRSPEEDS, BARE

#: Units proposed where the first of the dimension's usual ones is not the pilot's.
USUAL = {"qnh": "hPa", "oat": "degC", "dew point": "degC", "pressure altitude": "ft", "from": "ft", "to": "ft"}
USUAL |= {"altitude": "ft", "end altitude": "ft", "slope": "%", "fuel": "L"}


@dataclass(frozen=True, slots=True)
class Place:
    """Where a known column stands, in which unit, and of which dimension that unit is (both None for words)."""

    column: Column
    index: int
    header: str
    unit: str | None
    dimension: str | None

    @property
    def written_in(self) -> tuple[str, str]:
        """Unit and dimension of a column of numbers. Raises ValueError for a column of words, which has neither."""
        if self.unit is None or self.dimension is None:
            raise ValueError(f"the column {self.column.name!r} holds words and has no unit")
        return self.unit, self.dimension


def places(
    sheet: DelimitedRows, file: str, columns: Iterable[Column], excused: Collection[str], findings: list[Finding]
) -> dict[str, Place]:
    """Every known column of the sheet by name; what is wrong goes to ``findings``.

    ``excused`` names required columns that may be absent all the same.
    """
    known = {plain_name(column.name): column for column in columns}
    seen: dict[str, int] = {}
    strangers: list[tuple[str, str]] = []
    found: dict[str, Place] = {}

    def error(said: Said, column: str) -> None:
        findings.append(Finding("error", file, said, sheet.header_row, column))

    for index, cell in enumerate(sheet.header):
        if not cell:
            if any(index < len(cells) and cells[index].strip() for _, cells in sheet.rows):
                findings.append(Finding("error", file, say.HEADER_NO_NAME(index=index + 1), sheet.header_row))
            continue
        try:
            name, unit = units.header(cell)
        except units.UnitError as wrong:
            error(say.HEADER_UNREADABLE(wrong=briefly(wrong)), cell)
            continue
        name = plain_name(name)
        if name in seen:
            error(say.HEADER_TWICE(seen=seen[name] + 1, index=index + 1), name)
            continue
        seen[name] = index
        if name not in known:
            strangers.append((name, cell))
            continue
        column = known[name]
        if column.dimension == "text":
            found[column.name] = Place(column, index, cell, None, None)
            continue
        unit, dimension = _unit(column, unit, error)
        if dimension is not None:
            found[column.name] = Place(column, index, cell, unit, dimension)
    if not known.keys() & seen.keys():
        findings.append(
            Finding(
                "error",
                file,
                say.HEADER_NOTHING_KNOWN(name=", ".join(column.name for column in known.values() if column.required)),
                sheet.header_row,
            )
        )
        return {}
    _missing(known, seen, strangers, excused, sheet, file, findings)
    absent = [column.name for name, column in known.items() if name not in seen]
    for name, cell in strangers:
        findings.append(
            Finding(
                "warning",
                file,
                say.HEADER_UNKNOWN_COLUMN(
                    cell=quoted(cell),
                    hint=did_you_mean(name, absent, "Rename it if it should count; otherwise leave it as it is."),
                ),
                sheet.header_row,
                name,
            )
        )
    return found


def _unit(column: Column, unit: str | None, error) -> tuple[str | None, str | None]:
    """Unit and dimension of a column, (None, None) where they do not fit."""
    dimensions = (column.dimension, *column.also)
    if unit is None:
        if fits(column.name, column.dimension):
            return column.name, column.dimension
        if column.dimension in BARE:
            return BARE[column.dimension] or "1", column.dimension
        sample = usual_unit(column)
        error(say.HEADER_NO_UNIT(name=column.name, sample=sample), column.name)
        return None, None
    if unit.strip().upper() in AIRSPEEDS and column.dimension == "speed" and column.name not in INDICATED:
        error(say.HEADER_INDICATED_UNIT(unit=quoted(unit), name=column.name), column.name)
        return None, None
    for dimension in dimensions:
        try:
            units.to_si(1.0, unit, dimension)
        except units.UnitError as wrong:
            problem = wrong
        else:
            return unit, dimension
    sample = usual_unit(column)
    error(
        say.HEADER_UNIT_MISFIT(
            unit=quoted(unit),
            problem=briefly(problem),
            dimensions=" or ".join(dimensions),
            name=column.name,
            sample=sample,
        ),
        column.name,
    )
    return None, None


def usual_unit(column: Column) -> str:
    """The unit that a fresh file and every message propose for a column of numbers."""
    return USUAL.get(column.name, units.DIMENSIONS[column.dimension].examples[0])


def _missing(known, seen, strangers, excused, sheet, file, findings) -> None:
    for name, column in known.items():
        if not column.required or name in seen or column.name in excused:
            continue
        near = nearest(name, [stranger for stranger, _ in strangers])
        unit = "" if column.dimension == "text" or fits(column.name, column.dimension) else f" [{usual_unit(column)}]"
        findings.append(
            Finding(
                "error",
                file,
                say.COLUMN_MISSING(
                    what=f"Rename {near!r} to it." if near else f"Add a column {column.name}{unit}: {column.meaning}."
                ),
                sheet.header_row,
                column.name,
            )
        )
