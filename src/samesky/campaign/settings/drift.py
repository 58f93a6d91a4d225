"""How fast does the result drift, unseen? A share of it an hour, or so much of its own unit an hour."""

from __future__ import annotations

import re
from collections.abc import Callable

from samesky import units
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.phrases import spelled, unit_of
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.messages.words import briefly, quoted
from samesky.campaign.toml.section import Section

#: Dimension of a drift as a share of the result: its growth with time.
DRIFTS = {"straight drift": "fraction per hour", "wandering": "fraction per root hour"}
#: How a drift in the result's own unit ends, by scope: as a pattern, and as it is shown.
_PER = {
    "straight drift": (r"\s*/\s*(h|hr|hour)|\s+(per|an) hour", "/h"),
    "wandering": (r"\s*/\s*(h\s*(\*\*|\^)\s*0\.5|sqrt\(h\)|√h)|\s+(per|a) root hour", "/h**0.5"),
}


def drift_size(
    section: Section, key: str, scope: str, dimension_of: Callable[[], str | None]
) -> tuple[float, bool] | None:
    """Size of a drift [fraction, or SI unit of the result; an hour or a root hour], and whether it is a fraction.

    ``dimension_of`` gives the result's dimension, or None where it has found a fault and reported it. None is given
    back for an entry that is wrong, and has been reported.
    """
    text = section.raw(key)
    pattern, shown = _PER[scope]
    own = re.fullmatch(rf"(?P<size>.*\S)(?:{pattern})\s*", text) if isinstance(text, str) else None
    if own is None or fits(unit_of(str(text)), DRIFTS[scope]):
        value = section.quantity(key, DRIFTS[scope], low=0.0)
        return None if value is None else (value, True)
    dimension = dimension_of()
    if dimension is None:
        return None
    # A change of a temperature is a difference: the zero of the scale does not belong to it.
    dimension = "temperature difference" if dimension == "temperature" else dimension
    sample = f'{spelled(key)} = "0.5 {units.DIMENSIONS[dimension].examples[0]}{shown}"'
    try:
        value = units.parse(own["size"], dimension)
    except units.UnitError as error:
        section.error(key, say.DRIFT_UNIT(text=quoted(text), error=briefly(error), sample=sample, shown=shown))
        return None
    if value < 0:
        section.error(key, say.DRIFT_NEGATIVE(text=quoted(text)))
        return None
    return value, False
