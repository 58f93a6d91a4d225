"""What would the airfield's weather reports put into the blank cells of the runs?

Only blank cells are filled, only those of measures made on the field, and a column either in full or not at all, so
that a campaign that could be computed before can be computed after. A pilot's own reading is never replaced: it is held
against the report. Wind is brought from the anemometer's height to the wing's by the logarithmic law
(:func:`samesky.instruments.weather_report.wind_at_height`); gusts stay as reported. What the filled cells are worth
goes into ``campaign.toml``: :mod:`samesky.evidence.weather.sources`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from samesky import units
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import listed, plain_name
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.files import is_table, stem_of
from samesky.campaign.tables.grid import Grid
from samesky.campaign.toml.section import FILE
from samesky.evidence import catalogue as say
from samesky.evidence.proposal import ProposedRow, changed_meanwhile
from samesky.evidence.weather.rows import TOLD, WeatherRows, on_the_ground, weather_rows
from samesky.evidence.weather.sources import OWN, Filled, own_uncertainty, sources_text
from samesky.evidence.weather.words import GROUPS, OLDEST, Heights, age_of, how_long, reports_near, told, weather_of
from samesky.instruments.weather_report import Report
from samesky.measures.columns import COMMON

#: Standard uncertainties by which a reading may differ from the report before that is doubtful.
APART = 3.0
#: Clocks of the world, behind and ahead of UTC [h].
OFFSETS = (-12.0, 14.0)
#: A wing at about a man's height, an anemometer as airfields have them.
ASSUMED = Heights()


@dataclass(frozen=True, slots=True)
class Fill:
    """One blank cell with what the reports say: ``text`` in ``unit`` for the cell, SI ``value`` and what it is worth.

    ``row`` is the number in a spreadsheet; ``uncertainty`` [SI] is a standard one.
    """

    file: str
    row: int
    run: str
    column: str
    text: str
    unit: str
    value: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class WeatherProposal:
    """What the reports would put into a campaign folder.

    Attributes
    ----------
    found : the reports, in order of time
    fills : the cells
    headers : header cells of columns that files would get, by file
    toml : the text of ``campaign.toml`` for which this was made, and the new one with error sources for what is filled
    doubted : readings that disagree with the reports, and what else is doubtful
    left : sentences: what stays blank, and why
    notes : sentences: what the filled cells rest on
    """

    found: tuple[Report, ...]
    fills: tuple[Fill, ...]
    headers: dict[str, tuple[str, ...]]
    toml: tuple[str, str]
    doubted: tuple[Finding, ...]
    left: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def proposed(self) -> tuple[ProposedRow, ...]:
        """The blank cells that are filled, row by row."""
        rows: dict[tuple[str, int], dict[str, str]] = {}
        for one in self.fills:
            rows.setdefault((one.file, one.row), {})[one.column] = one.text
        return tuple(ProposedRow(file, row, cells) for (file, row), cells in rows.items())

    def texts(self, campaign: Campaign) -> dict[str, str]:
        """The new files: cells filled, and what the reports are worth.

        Raises CampaignError where a cell has been filled since, or ``campaign.toml`` has changed.
        """
        if not self.fills:
            return {}
        before, after = self.toml
        if campaign.toml != before:
            raise changed_meanwhile(FILE)
        texts = {} if after == before else {FILE: after}
        return texts | {
            file: _filled_text(campaign, file, self) for file in dict.fromkeys(one.file for one in self.fills)
        }


def propose(
    campaign: Campaign, reports_text: str, *, utc_offset_hours: float, heights: Heights = ASSUMED
) -> WeatherProposal:
    """What METAR and SPECI reports would fill in; nothing is written.

    Parameters
    ----------
    campaign : as read from its folder; cells that are still blank, and missing runs, are no hindrance
    reports_text : the reports of one aerodrome, as pasted
    utc_offset_hours : how far the clocks of the runs are ahead of UTC [h], 2 for Central European summer time
    heights : of the wing and the anemometer

    Raises
    ------
    CampaignError
        nothing to fill, reports that cannot be read or are of several aerodromes, none near any run, a file of runs
        that has to be mended first
    """
    tables = _tables(campaign)
    if not OFFSETS[0] <= utc_offset_hours <= OFFSETS[1]:
        raise cannot("UTC offset", say.WEATHER_OFFSET_OUT_OF_BOUNDS(utc_offset_hours=utc_offset_hours))
    times = {rows.file: rows.local - 3600.0 * utc_offset_hours for rows in tables}
    reports = reports_near(reports_text, np.concatenate(list(times.values())))
    if campaign.air_reading.wind_height is not None:
        # Readings are brought to the wing from this height: so are those of the report.
        heights = replace(heights, wing=campaign.air_reading.wind_height)
    share = heights.share()
    fills: list[Fill] = []
    filled: list[Filled] = []
    headers: dict[str, tuple[str, ...]] = {}
    doubts: list[Finding] = []
    left = [
        f"{name}: nothing is filled: a report tells the air of the field, not that of the run's own height."
        for name, one in campaign.asked.items()
        if "oat" in one.measure.conditions and not on_the_ground(one.measure)
    ]
    for rows in tables:
        weather = weather_of(reports, times[rows.file], share)
        for name in (name for name in TOLD if name in rows.columns):
            value, spread = told(weather, rows, name)
            age = age_of(reports, times[rows.file], GROUPS[name])
            if not np.any(rows.blank[name]):
                doubts += _apart(campaign, rows, name, value, spread)
                continue
            why = _why_not(rows, name, value, age)
            if why:
                left.append(f"{rows.file}, {name}: {why}")
                continue
            doubts += _apart(campaign, rows, name, value, spread)
            fills += _fills(rows, name, value, spread, age <= OLDEST)
            if name not in rows.present:
                headers[rows.file] = (*headers.get(rows.file, ()), rows.header[name])
            filled.append(Filled(rows, name, times[rows.file], value, spread))
    toml, notes = sources_text(campaign, filled, lambda time: weather_of(reports, time, share))
    said = (*_notes(reports, filled, heights, share), *notes) if fills else ()
    both = campaign.toml, toml
    return WeatherProposal(tuple(reports), tuple(fills), headers, both, tuple(doubts), tuple(left), said)


def _tables(campaign: Campaign) -> list[WeatherRows]:
    by_plain = {plain_name(name): one.measure for name, one in campaign.asked.items()}
    found = []
    for file in filter(is_table, campaign.texts):
        measure = by_plain.get(stem_of(file))
        if measure is not None and on_the_ground(measure):
            found.append(weather_rows(campaign, file, measure))
    found = [rows for rows in found if rows is not None]
    if not found:
        raise cannot(campaign.folder or "the campaign", say.WEATHER_NO_RUN())
    return found


def _why_not(rows: WeatherRows, name: str, value: np.ndarray, age: np.ndarray) -> str:
    """Why a column cannot be filled for every run that counts; blank where it can."""
    wanted = rows.blank[name] & rows.counted
    if not np.any(wanted):
        return "no run that counts lacks it."
    if name == "qnh" and rows.own_pressure:
        return "the pressure is known from the column 'pressure altitude'."
    if name == "gust" and np.any(np.isnan(value[wanted])):
        told = "tells a gust about some of the runs" if np.any(np.isfinite(value[wanted])) else "tells a gust"
        return f"no report {told}, which means less than 10 kt above the mean wind."
    if np.all(np.isinf(age)):
        return "no report tells it."
    far = np.flatnonzero(wanted & (age > OLDEST))
    if far.size:
        which = f"run {rows.runs[far[0]]}" + (f" and {far.size - 1} more" if far.size > 1 else "")
        return (
            f"the nearest report that tells it is {how_long(float(age[far].max()))} from {which}; at most "
            f"{how_long(OLDEST)} is used, and a column is filled for all its runs or for none."
        )
    if name in ("headwind", "crosswind") and np.any(np.isnan(rows.heading[wanted])):
        return f"the heading of the strip is not known. Give it in [runway.NAME] of {FILE}."
    column = rows.columns[name]
    if np.any(value[wanted] < column.low) or np.any(value[wanted] > column.high):
        return "the reports give a value that is not believable for it."
    return ""


def _fills(rows: WeatherRows, name: str, value: np.ndarray, spread: np.ndarray, near: np.ndarray) -> list[Fill]:
    """The blank cells of a column, those of excluded runs too where a report is ``near``."""
    unit, dimension = rows.unit[name], rows.columns[name].dimension
    shown = np.asarray(units.from_si(value, unit, dimension), dtype=float)
    size = np.asarray(
        units.from_si(spread, unit, "temperature difference" if dimension == "temperature" else dimension)
    )
    # Figures to about half of the uncertainty at most: fewer would add an error of rounding, more would boast.
    places = max(0, -math.floor(math.log10(float(np.nanmin(size[rows.blank[name]])) / 2)))
    return [
        Fill(
            rows.file,
            int(rows.rows[index]),
            rows.runs[index],
            name,
            _figures(float(shown[index]), places),
            unit,
            float(value[index]),
            float(spread[index]),
        )
        for index in np.flatnonzero(rows.blank[name] & np.isfinite(value) & near)
    ]


def _figures(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    return text.removeprefix("-") if float(text) == 0 else text


def _apart(campaign: Campaign, rows: WeatherRows, name: str, value: np.ndarray, spread: np.ndarray) -> list[Finding]:
    """Readings further from the report than the stated uncertainties of both allow."""
    if name == "gust" or name not in rows.present:
        return []
    own = rows.readings[name]
    # A pilot writes a crosswind with either sign.
    gap = np.abs(np.abs(own) - np.abs(value)) if name == "crosswind" else np.abs(own - value)
    allowed = APART * np.hypot(spread, own_uncertainty(campaign, rows, name))
    where = np.flatnonzero(rows.counted & (gap > allowed))
    if not where.size:
        return []
    worst = where[np.argmax(gap[where] / allowed[where])]
    dimension = rows.columns[name].dimension
    kind = "temperature difference" if dimension == "temperature" else dimension
    named = f"run{'s' if where.size > 1 else ''} {listed([rows.runs[index] for index in where])}"
    return [
        Finding(
            "warning",
            rows.file,
            say.WEATHER_READING_APART(
                named=named,
                gap=units.show(float(gap[worst]), rows.unit[name], kind),
                run=rows.runs[worst],
                apart=APART,
                allowed=units.show(float(allowed[worst]), rows.unit[name], kind),
                own=OWN[name],
            ),
            int(rows.rows[where[0]]),
            name,
        )
    ]


def _notes(reports: Sequence[Report], filled: Sequence[Filled], heights: Heights, share: float) -> tuple[str, ...]:
    notes = []
    names = {one.name for one in filled}
    if names & {"headwind", "crosswind"}:
        notes.append(
            f"The wind of the reports, {heights.anemometer:g} m above the field, was brought to {heights.wing:g} m: "
            f"{100 * share:.0f} % of it is left (logarithmic law over grass)."
        )
        if any(report.variable and report.sector is None for report in reports):
            notes.append(
                "A wind told as variable (VRB) is filled in as none, and its uncertainty is as large as itself."
            )
        if any(report.variable and report.sector is not None for report in reports):
            notes.append(
                "A variable wind (VRB) told with a sector is filled in from the sector's middle, shorter by what it "
                "wanders."
            )
    if "gust" in names:
        notes.append("Gusts are as reported, at the height of the anemometer.")
    if any(report.kind == "SPECI" for report in reports):
        notes.append("A special report (SPECI) says that the weather changed fast about then.")
    return tuple(notes)


def _filled_text(campaign: Campaign, file: str, proposal: WeatherProposal) -> str:
    """The text of a file of runs with its cells filled in."""
    text = campaign.texts.get(file)
    if text is None:
        raise changed_meanwhile(file)
    grid = Grid.from_text(text, file, [column.name for column in COMMON] + list(TOLD))
    for cell in proposal.headers.get(file, ()):
        grid = grid if grid.column(cell.partition("[")[0]) is not None else grid.with_column(cell)
    row_of = {number: index for index, number in enumerate(grid.numbers_as_read()[1])}
    for one in proposal.fills:
        if one.file != file:
            continue
        column, index = grid.column(one.column), row_of.get(one.row)
        if column is None or index is None or (column < len(grid.rows[index]) and grid.rows[index][column].strip()):
            raise changed_meanwhile(file, one.row, one.column)
        grid = grid.with_cell(index, column, one.text)
    return grid.to_text()
