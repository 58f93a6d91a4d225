"""What does a column of numbers hold, and is it believable?"""

from __future__ import annotations

import numpy as np

from samesky import units
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.phrases import between
from samesky.campaign.messages.words import quoted
from samesky.campaign.tables import cells
from samesky.campaign.tables.cells import CellError
from samesky.campaign.tables.header import Place
from samesky.campaign.tables.sheet_rows import LISTED, SheetRows, some


def number_column(rows: SheetRows, place: Place, counted: list[bool], fuel_density: float) -> np.ndarray:
    """A column of numbers in SI (n,), NaN where blank or unreadable; fuel as mass [kg].

    ``counted`` says which runs count: a run that is left out may lack readings.
    """
    values = np.full(len(rows), np.nan)
    blank, wrong = [], 0
    for index, (row, row_cells) in enumerate(rows.rows):
        cell = row_cells[place.index].strip()
        if not cell:
            blank.append(index)
            continue
        try:
            values[index] = cells.number(cell, rows.sheet.comma_is_decimal, place.header)
        except CellError as error:
            wrong += 1
            if wrong <= LISTED:
                facts = {"wrong": error.wrong, "mend": error.mend, "why": error.code}
                said = say.CELL_NOT_A_NUMBER(found=quoted(cell), unit=_in(place), **facts)
                rows.error(row, place.column.name, said)
    if wrong > LISTED:
        rows.error(None, place.column.name, say.COLUMN_MORE_NOT_NUMBERS(wrong=wrong - LISTED))
    _blanks(rows, place, [index for index in blank if counted[index]], sum(counted))
    values = np.asarray(units.to_si(values, *place.written_in), dtype=float)
    _believable(rows, place, values, fuel_density)
    # Fuel is read in litres or gallons as often as it is weighed; what counts is its mass.
    return values * fuel_density if place.column.name == "fuel" and place.dimension == "volume" else values


def _in(place: Place) -> str:
    return "" if place.unit == "1" else f" in {place.unit}"


def _blanks(rows: SheetRows, place: Place, blank: list[int], counted: int) -> None:
    # Runs may differ in their number of legs; numbered columns are complete in pairs, see cross_checks.
    leg = place.column.name.rpartition(" ")[2].isdigit()
    if not blank or (not place.column.required and (leg or len(blank) == counted)):
        return
    places = [rows.rows[index][0] for index in blank]
    more = "" if len(places) == 1 else f" (so {'are' if len(places) > 2 else 'is'} row{'s' if len(places) > 2 else ''} "
    more += f"{some(places[1:])})" if more else ""
    sentence = say.CELL_BLANK if place.column.required else say.CELL_BLANK_AMONG_OTHERS
    rows.error(places[0], place.column.name, sentence(more=more, unit=_in(place)))


def _believable(rows: SheetRows, place: Place, values: np.ndarray, fuel_density: float) -> None:
    """Refuse readings outside the column's bounds: a slip of the pen or of the unit."""
    column = place.column
    weighed = fuel_density if place.dimension == "mass" and column.dimension == "volume" else 1.0
    low = -np.inf if column.low is None else column.low * weighed
    high = np.inf if column.high is None else column.high * weighed
    # The limits are round numbers of the pilot's world; a reading on the limit must not fall to a last digit.
    slack = 1e-9 * max(abs(bound) for bound in (low, high, 1.0) if np.isfinite(bound))
    outside = np.flatnonzero((values < low - slack) | (values > high + slack))
    bounds = [float(units.from_si(bound, *place.written_in)) if np.isfinite(bound) else None for bound in (low, high)]
    for index in outside[:LISTED]:
        row, row_cells = rows.rows[index]
        found = quoted(row_cells[place.index].strip())
        rows.error(
            row,
            column.name,
            say.CELL_NOT_BELIEVABLE(
                found=found, in_=_in(place), bounds=between(bounds[0], bounds[1], place.unit or "")
            ),
        )
    if len(outside) > LISTED:
        rows.error(None, column.name, say.COLUMN_MORE_NOT_BELIEVABLE(count=len(outside) - LISTED))
