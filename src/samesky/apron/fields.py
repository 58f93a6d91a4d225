"""What did the pilot type, and is it believable? One kind of message for every field of the apron.

The field's name stands in the finding's ``column``, so that a page can put the message where it belongs.
"""

from __future__ import annotations

import math
import re

from samesky import units
from samesky.aeroplane.loading import AVGAS_DENSITY
from samesky.apron import catalogue as say
from samesky.campaign.messages.errors import CampaignError, cannot
from samesky.campaign.messages.phrases import between
from samesky.campaign.messages.sentences import Said
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.messages.words import did_you_mean, listed, quoted
from samesky.campaign.model.campaign import Campaign, Runway
from samesky.campaign.settings.conditions import COMPUTED
from samesky.campaign.tables import cells
from samesky.measures.columns import COMMON, CROSSWIND, GUST, HEADWIND

#: Where a finding of these answers stands: in no file.
WHERE = "on the day"
#: What is believable of a condition [SI], by name: the bounds of the same cell in a file of runs.
COLUMNS = {column.name: column for column in (*COMMON, HEADWIND, GUST, CROSSWIND, *COMPUTED)}
#: Words for a wind from no one direction; VRB as in aerodrome reports (WMO-No. 306, FM 15).
VARIABLE = ("vrb", "variable", "var")
_RANGE = re.compile(r"(\d{1,3})\s*(?:°|deg)?\s*(?:v|-|–|to)\s*(\d{1,3})\s*(?:°|deg)?", re.IGNORECASE | re.ASCII)

#: A direction [rad], or two with every one from the first clockwise to the second, or None: any.
Direction = float | tuple[float, float] | None


def wrong(field: str, said: Said) -> CampaignError:
    """The error about one field, ready to raise."""
    return cannot(WHERE, said, None, field)


def believable(field: str, value: float, unit: str, name: str | None = None) -> float:
    """The value [SI], if it is a number within the bounds of the column ``name`` (the field's own by default).

    ``unit`` is that of the message. Raises CampaignError.
    """
    column = COLUMNS[name or field]
    # Fuel is bounded by volume in a file; here it is a mass, as COMPUTED has it.
    return bounded(field, value, column.low, column.high, unit, column.dimension)


def bounded(field: str, value: float, low: float | None, high: float | None, unit: str, dimension: str) -> float:
    """The value [SI], if it is a number between the bounds [SI]; raises CampaignError."""
    shown = [None if bound is None else float(units.from_si(bound, unit, dimension)) for bound in (low, high)]
    if value is None or not math.isfinite(value):
        found = "nothing is written" if value is None else "found no number"
        raise wrong(field, say.APRON_NOT_A_NUMBER(found=found, bounds=between(*shown, unit)))
    if (low is not None and value < low - 1e-9) or (high is not None and value > high + 1e-9):
        found = units.show(value, unit, dimension)
        raise wrong(field, say.APRON_OUT_OF_BOUNDS(found=found, bounds=between(*shown, unit)))
    return float(value)


def number(field: str, text: str, dimension: str, unit: str) -> float | None:
    """What was typed into a field [SI]: ``12``, in the field's unit, or ``54 °F``; None where it is blank.

    Raises CampaignError that names the field, what was found, what was expected and how to mend it.
    """
    text = text.strip()
    if not text:
        return None
    try:
        return float(units.to_si(cells.number(text, comma_is_decimal=True), unit, dimension))
    except cells.CellError as error:
        mend = error.mend
    try:
        return float(units.parse(text, dimension))
    except units.UnitError:
        raise wrong(field, say.APRON_UNREADABLE(found=quoted(text), unit=unit, mend=mend)) from None


def direction(field: str, text: str) -> Direction:
    """Where a wind comes from [rad]: ``240``, a range ``210-270`` or ``210V270`` (clockwise), or ``variable`` (None).

    Raises CampaignError for anything else, a blank among it: a wind without direction says nothing of a crosswind.
    """
    bare = text.strip().casefold()
    if bare in VARIABLE:
        return None
    pair = _RANGE.fullmatch(bare)
    ends = [float(end) for end in pair.groups()] if pair else []
    if not pair:
        try:
            ends = [cells.number(bare.removesuffix("deg").removesuffix("°").strip(), comma_is_decimal=True)]
        except cells.CellError:
            ends = [-1.0]
    if not all(0.0 <= end <= 360.0 for end in ends):
        raise wrong(
            field,
            say.APRON_NO_DIRECTION(
                what=f"found {quoted(text)}, expected a direction from 0 to 360 degrees."
                if bare
                else "nothing is written."
            ),
        )
    return math.radians(ends[0]) if len(ends) == 1 else (math.radians(ends[0]), math.radians(ends[1]))


def strip(campaign: Campaign, name: str | None = None) -> Runway | None:
    """The strip of that name; without a name that of ``[plan]``, else the campaign's only one, else None.

    Raises CampaignError for a name that the campaign does not have.
    """
    if not name:
        name = campaign.plan.runway if campaign.plan is not None else ""
    if name:
        if name not in campaign.runways:
            raise wrong(
                "runway",
                say.APRON_NO_SUCH_RUNWAY(
                    name=quoted(name),
                    hint=did_you_mean(
                        name, campaign.runways, f"The campaign has {listed(map(repr, campaign.runways))}."
                    ),
                ),
            )
        return campaign.runways[name]
    return next(iter(campaign.runways.values())) if len(campaign.runways) == 1 else None


def configured(campaign: Campaign, key: str) -> str:
    """The key, if it is a configuration of the campaign; raises CampaignError."""
    if key in campaign.configurations:
        return key
    raise wrong(
        "configuration",
        say.APRON_NO_SUCH_CONFIGURATION(
            key=quoted(key),
            hint=did_you_mean(key, campaign.configurations, f"One of {listed(map(repr, campaign.configurations))}."),
        ),
    )


def unit_of(campaign: Campaign, names: tuple[str, ...], dimension: str, usual: str) -> str:
    """The pilot's unit: that of the first of these columns in the campaign's files, else the usual one."""
    for table in campaign.tables.values():
        for name in names:
            unit = table.units.get(name)
            if unit is not None and fits(unit, dimension):
                return unit
    return usual


def written_unit(campaign: Campaign, table: str, entry: str, dimension: str, usual: str) -> str:
    """The unit in which ``campaign.toml`` has an entry of a table, else the usual one."""
    unit = campaign.written_units.get(f"{table}.{entry}", "")
    return unit if unit and fits(unit, dimension) else usual


def mass_unit(campaign: Campaign) -> str:
    """The pilot's unit of weight: that of the empty weight."""
    return written_unit(campaign, "aeroplane", "empty weight", "mass", "kg")


def arm_unit(campaign: Campaign) -> str:
    """The pilot's unit of arms: that of the empty arm."""
    return written_unit(campaign, "aeroplane", "empty arm", "length", "m")


def fuel_unit(campaign: Campaign) -> str:
    """The pilot's unit of fuel, of volume or of mass: that of the files, else of the plan, else litres."""
    written = [table.units["fuel"] for table in campaign.tables.values() if "fuel" in table.units]
    return written[0] if written else campaign.plan.fuel_unit if campaign.plan is not None else "L"


def fuel_density(campaign: Campaign) -> float:
    """Of the campaign's fuel [kg/m^3]; that of aviation gasoline where it says nothing."""
    return AVGAS_DENSITY if campaign.loading is None else campaign.loading.fuel_density


def fuel_words(campaign: Campaign, mass: float) -> str:
    """Fuel [kg] in the pilot's unit."""
    unit = fuel_unit(campaign)
    if fits(unit, "mass"):
        return units.show(mass, unit, "mass", 1)
    return units.show(mass / fuel_density(campaign), unit, "volume", 1)
