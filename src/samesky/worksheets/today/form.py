"""What is known now: the fields of the page used on the apron, and what the last run typed puts into them.

Every field says in which unit it is, the campaign's own, and where what it was filled with comes from.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.apron.fields import fuel_density, fuel_unit, mass_unit, number, unit_of
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.model.campaign import Campaign, RunTable


@dataclass(frozen=True, slots=True)
class Field:
    """One field of the form.

    Attributes
    ----------
    name : in the address and in messages
    label : for people
    unit : in which a bare number is; ``""`` for words
    dimension : key of :data:`samesky.units.DIMENSIONS`, or ``"text"``
    text : what it holds
    origin : where that comes from, where it was not typed
    choices : to choose from, where it is a list
    """

    name: str
    label: str
    unit: str
    dimension: str
    text: str
    origin: str = ""
    choices: tuple[str, ...] = ()


def form(campaign: Campaign, given: Mapping[str, str]) -> list[Field]:
    """The fields, each with what was ``given``, else with what the last run typed says."""
    filled = _from_runs(campaign)
    speed = unit_of(campaign, ("headwind", "gust", "crosswind", "airspeed"), "speed", "kt")
    shapes = [
        ("configuration", "Fitted now", "", "text", tuple(campaign.configurations)),
        ("runway", "Strip, in the direction of the run", "", "text", tuple(campaign.runways)),
        ("wind from", "Wind from, true", "deg", "text", ()),
        ("wind", "Wind", speed, "speed", ()),
        ("gust", "Gusts", speed, "speed", ()),
        ("oat", "Outside air", unit_of(campaign, ("oat",), "temperature", "degC"), "temperature", ()),
        ("dew point", "Dew point", unit_of(campaign, ("dew point", "oat"), "temperature", "degC"), "temperature", ()),
        ("qnh", "QNH", unit_of(campaign, ("qnh",), "pressure", "hPa"), "pressure", ()),
        ("pressure altitude", "or pressure altitude", unit_of(campaign, ("pressure altitude",), "length", "ft"),
         "length", ()),
        ("fuel", "Fuel on board", fuel_unit(campaign), "fuel", ()),
    ]  # fmt: skip
    if campaign.plan is not None and campaign.plan.ballast:
        shapes.append(("ballast", "Ballast", mass_unit(campaign), "mass", ()))
    shapes.append(("clock", "Time of day", "", "text", ()))
    if len(campaign.runways) < 2:
        shapes = [shape for shape in shapes if shape[0] != "runway"]
    found = []
    for name, label, unit, dimension, choices in shapes:
        text, origin = given.get(name), ""
        if text is None:
            text, origin = filled.get(name, ("", ""))
        found.append(Field(name, label, unit, dimension, text.strip(), origin, choices))
    return found


def _from_runs(campaign: Campaign) -> dict[str, tuple[str, str]]:
    """Text and origin of what the last runs say; the air only from runs on the ground, where a QNH was read."""
    filled: dict[str, tuple[str, str]] = {}
    for name in ("fuel", "oat", "qnh", "dew point"):
        tables = [table for table in campaign.tables.values() if name == "fuel" or "qnh" in table.columns]
        last = _last(tables, name, campaign)
        if last is not None:
            filled[name] = last
    tables = [table for table in campaign.tables.values() if len(table.rows)]
    if tables:
        table, index = _latest(tables)
        filled["configuration"] = (str(table.configuration[index]), _origin(table, index))
        if table.text["runway"][index]:
            filled["runway"] = (table.text["runway"][index], _origin(table, index))
    return filled


def _last(tables: list[RunTable], name: str, campaign: Campaign) -> tuple[str, str] | None:
    tables = [table for table in tables if name in table.columns and np.isfinite(table.columns[name]).any()]
    if not tables:
        return None
    table, index = _latest(tables, name)
    origin = _origin(table, index)
    if name == "fuel":
        origin += ", at its start: less is left now, gauge it"
    return _written(campaign, name, float(table.columns[name][index])), origin


def _latest(tables: list[RunTable], name: str = "") -> tuple[RunTable, int]:
    """The table and row of the latest run, of those that have a reading of ``name``."""
    places = []
    for table in tables:
        rows = np.isfinite(table.columns[name]) if name else np.ones(len(table.rows), dtype=bool)
        index = int(np.flatnonzero(rows)[np.argmax(table.hours[rows])])
        places.append((float(table.hours[index]), table, index))
    _, table, index = max(places, key=lambda place: place[0])
    return table, index


def _written(campaign: Campaign, name: str, value: float) -> str:
    """A reading [SI] as a bare number in the unit of its field."""
    unit, dimension = {
        "oat": (unit_of(campaign, ("oat",), "temperature", "degC"), "temperature"),
        "dew point": (unit_of(campaign, ("dew point", "oat"), "temperature", "degC"), "temperature"),
        "qnh": (unit_of(campaign, ("qnh",), "pressure", "hPa"), "pressure"),
        "fuel": (fuel_unit(campaign), "mass"),
    }[name]
    if name == "fuel" and not fits(unit, "mass"):
        value, dimension = value / fuel_density(campaign), "volume"
    return f"{units.from_si(value, unit, dimension):.5g}"


def _origin(table: RunTable, index: int) -> str:
    return f"from run {table.text['run'][index]}, {table.measure.title}"


def value(campaign: Campaign, field: Field) -> float | None:
    """What the field says [SI], fuel as mass [kg]; None where blank. Raises CampaignError that names the field."""
    if field.dimension != "fuel":
        return number(field.name, field.text, field.dimension, field.unit)
    if fits(field.unit, "mass"):
        return number(field.name, field.text, "mass", field.unit)
    volume = number(field.name, field.text, "volume", field.unit)
    return None if volume is None else volume * fuel_density(campaign)
