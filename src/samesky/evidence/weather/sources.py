"""What are cells worth that were filled from weather reports, as text for ``campaign.toml``?

A report replaces a reading, so its errors take the place of the shipped ones of the thermometer, the anemometer and the
altimeter setting, measure by measure. A source acts on a whole column: in one that is partly the pilot's own, the wider
of the two is stated. That the wind at the wing is not the wind of the reading (a share of it, alike in the whole
campaign) holds for reports as well and stays.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from samesky.campaign.messages.words import listed, plain_name
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.toml.parse import parsed
from samesky.evidence.stated_sources import StatedSource
from samesky.evidence.weather.rows import WeatherRows
from samesky.instruments.sources import ErrorSource
from samesky.instruments.weather_between import Weather, error_sources
from samesky.measures import default_sources

#: Remarks around what was written here, so that it can be written anew.
BEGIN = "# ---- From weather reports. Written by `samesky weather`, and written anew when it is used again. ----"
END = "# ---- End of what `samesky weather` wrote. ----"
#: The prepared column on which the error of each filled column acts.
TARGET = {"oat": "oat", "qnh": "pressure", "headwind": "headwind"}
#: What the pilot would have read each column with.
OWN = {"oat": "the thermometer", "qnh": "the altimeter setting", "dew point": "the dew point"}
OWN |= {"headwind": "the wind reading", "crosswind": "the wind reading", "gust": "the wind reading"}
#: The shipped source that a report does not replace.
HEIGHT = "height of the wind reading"
#: What is said of the shipped sources that they replace.
REPLACED = "nothing was read: the weather reports tell it"
#: Unit and dimension in which each target is stated.
UNIT = {"oat": ("K", "temperature difference"), "pressure": ("Pa", "pressure"), "headwind": ("m/s", "speed")}


@dataclass(frozen=True, slots=True, eq=False)
class Filled:
    """A column of a file that is filled: the moments of its runs [s, UTC], the reports' values and uncertainties."""

    rows: WeatherRows
    name: str
    time: np.ndarray
    value: np.ndarray
    spread: np.ndarray

    @property
    def here(self) -> np.ndarray:
        """Which cells are filled and count, boolean (n,)."""
        return self.rows.blank[self.name] & self.rows.counted

    @property
    def mixed(self) -> bool:
        """Whether other cells of the column are the pilot's own."""
        return bool(np.any(~self.rows.blank[self.name] & self.rows.counted))


def own_uncertainty(campaign: Campaign, rows: WeatherRows, name: str, difference: bool = False) -> np.ndarray:
    """Standard uncertainty [SI] of the pilot's own readings (n,), from the campaign's error sources.

    With ``difference`` without those of the whole campaign, which cancel in a comparison.
    """
    target = {"crosswind": "headwind", "gust": "headwind"}.get(name, TARGET.get(name, name))
    square = np.zeros(len(rows.rows))
    for source in campaign.sources:
        if source.target != target or not source.applies_to(rows.measure.name):
            continue
        if not (difference and source.scope == "campaign"):
            square = square + np.square(
                source.standard_uncertainty * (np.nan_to_num(rows.readings[name]) if source.relative else 1.0)
            )
    return np.sqrt(square)


def sources_text(
    campaign: Campaign, filled: Sequence[Filled], weather: Callable[[np.ndarray], Weather]
) -> tuple[str, tuple[str, ...]]:
    """The text of ``campaign.toml`` with the errors of what is filled, and sentences.

    ``weather`` gives the weather at moments [s, UTC].
    """
    before, block, after = _apart(campaign.toml)
    earlier = parsed(block).get("instrument", {})
    taken = {plain_name(name) for name in parsed(before + after).get("instrument", {})}
    notes: list[str] = []
    sources: list[ErrorSource] = []
    for name, target in TARGET.items():
        columns = [one for one in filled if one.name == name]
        known = {
            measure for entry in earlier.values() if entry.get("target") == target for measure in entry["measures"]
        }
        told = [one for one in columns if one.rows.measure.name in known or _report_is_wider(campaign, one, notes)]
        if not told:
            continue
        moments = np.concatenate([one.time[one.here] for one in told])
        measures = {one.rows.measure.name for one in told}
        sources += [
            _with_earlier(replace(source, name=source.name.replace(",", "")), measures, earlier)
            for source in error_sources(weather(moments), 0.0)
            if source.target == target
        ]
    kept = {plain_name(source.name) for source in sources}
    sources += [_from_text(name, entry) for name, entry in earlier.items() if plain_name(name) not in kept]
    sources = [source for source in sources if source.name.startswith("weather report")]
    if not sources:
        return campaign.toml, tuple(notes)
    pieces = [_stated(source).table() for source in sources if plain_name(source.name) not in taken]
    for target in TARGET.values():
        measures = {name for source in sources if source.target == target for name in source.measures}
        if measures:
            pieces += _replaced(target, measures, taken, notes)
    return f"{before.rstrip()}\n\n{BEGIN}\n" + "\n".join(pieces) + f"{END}\n{after}", tuple(notes)


def _apart(text: str) -> tuple[str, str, str]:
    """What stands before, in and after the block that was written here earlier."""
    text = text.replace("\r\n", "\n")
    if END not in text:
        return text, "", ""
    before, _, rest = text.partition(BEGIN)
    block, _, after = rest.partition(END)
    return before, block, after.lstrip("\n")


def _report_is_wider(campaign: Campaign, one: Filled, notes: list[str]) -> bool:
    """Whether the report's errors are stated for a column: always where it is filled in full, else if the wider."""
    if not one.mixed:
        return True
    report = float(np.sqrt(np.mean(np.square(one.spread[one.here]))))
    own = own_uncertainty(campaign, one.rows, one.name, difference=True)[~one.rows.blank[one.name]]
    wider = report >= float(np.sqrt(np.mean(np.square(own))))
    notes.append(
        f"{one.rows.file}, {one.name}: partly the pilot's own readings; an error source acts on a whole column, so "
        f"that of {'the reports' if wider else OWN[one.name]}, the wider of the two, is stated for all."
    )
    return wider


def _with_earlier(source: ErrorSource, measures: set[str], earlier: dict) -> ErrorSource:
    """The source for these measures, and for those and at least as wide as it was stated before."""
    for name, entry in earlier.items():
        if plain_name(name) == plain_name(source.name):
            before = _from_text(name, entry)
            measures = measures | set(before.measures)
            wider = max(source.standard_uncertainty, before.standard_uncertainty)
            source = replace(source, standard_uncertainty=wider)
    return replace(source, measures=tuple(sorted(measures)))


def _from_text(name: str, entry: dict) -> ErrorSource:
    """A source that was written here earlier."""
    size = float(str(entry.get("standard_uncertainty", "0")).split()[0])
    return ErrorSource(
        plain_name(name),
        entry.get("target", ""),
        size,
        entry.get("scope", "run"),
        entry.get("source", ""),
        measures=tuple(entry.get("measures", ())),
    )


def _stated(source: ErrorSource) -> StatedSource:
    """A source as the file states it."""
    size, (unit, dimension) = source.standard_uncertainty, UNIT[source.target]
    return StatedSource(source.name, source.target, source.scope, size, unit, dimension, source.source, source.measures)


def _replaced(target: str, measures: set[str], taken: set[str], notes: list[str]) -> list[str]:
    """Shipped sources of readings that were not taken: nothing in these measures, as shipped in all others."""
    pieces = []
    for source in default_sources():
        if source.target != target or source.name == HEIGHT:
            continue
        if plain_name(source.name) in taken:
            notes.append(
                f"[instrument.{source.name.replace(' ', '_')}] is the campaign's own and was left: it acts beside the "
                f"errors of the reports in {listed(sorted(measures))}; give it 'measures' if it should not."
            )
            continue
        where = sorted(name for name in measures if source.applies_to(name))
        if where:
            nothing = replace(source, standard_uncertainty=0.0, source=REPLACED, measures=tuple(where))
            pieces.append(_stated(nothing).table())
    return pieces
