"""What does the campaign ask, of which measure, and which difference would matter?"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from samesky import units
from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.phrases import spelled
from samesky.campaign.messages.unit_fits import fits
from samesky.campaign.messages.words import listed, nearest, plain_name, quoted
from samesky.campaign.model.campaign import ANSWERS, MeasureSettings
from samesky.campaign.settings.aeroplane import one_day
from samesky.campaign.toml.section import Section
from samesky.measures import MEASURES, free
from samesky.measures.shape import Measure

SMALLEST = "smallest difference that matters"
DIRECTIONS = ("smaller", "larger")


def asked(top: Section) -> dict[str, MeasureSettings]:
    """What ``[measure.NAME]`` says, by the measure's name; measures with an error in their table are left out."""
    sections = top.named("measure")
    known = {plain_name(name): name for name in MEASURES}
    primary_of: dict[str, bool | None] = {}
    found = {}
    misread = False
    for written, section in sections.items():
        name = known.get(plain_name(written), plain_name(written).replace(" ", "_"))
        primary_of[name] = section.flag("primary")
        misread = misread or ("primary" in section and primary_of[name] is None)
        if len(sections) == 1 and primary_of[name] is None:
            primary_of[name] = True
        one = _one(name, section, primary=bool(primary_of[name]))
        section.report_unknown()
        if one is not None:
            found[name] = one
    if not misread:
        _one_primary(top, primary_of)
    return found


def _one(name: str, section: Section, primary: bool) -> MeasureSettings | None:
    measure = _measure(name, section)
    if measure is None:
        for key in ("unit", "better", SMALLEST, "answer from", "answer fixed"):
            section.raw(key)
        return None
    answer_from, answer_fixed = _answer(section, measure)
    better = section.choice("better", DIRECTIONS, measure.better)
    unit = section.text("unit")
    if unit and not fits(unit, measure.dimension):
        section.error(
            "unit",
            say.MEASURE_UNIT_OF_RESULT(
                unit=quoted(unit), dimension=measure.dimension, result=measure.result, unit2=measure.unit
            ),
        )
        unit = ""
    text, smallest, is_fraction = _smallest(section, measure)
    if smallest is None:
        return None
    return MeasureSettings(
        measure=measure,
        primary=primary,
        smallest=smallest,
        smallest_is_fraction=is_fraction,
        better=better,
        unit=unit,
        smallest_text=text,
        answer_from=answer_from,
        answer_fixed=answer_fixed,
    )


def _answer(section: Section, measure: Measure) -> tuple[str, date | None]:
    """Which answer decides, and when that was fixed, where the campaign says so."""
    found = section.choice("answer from", ANSWERS, ANSWERS[0])
    if found != ANSWERS[0] and measure.thrust is None:
        section.error("answer from", say.MEASURE_NO_THRUST(answer=quoted(found), measure=measure.title))
        found = ANSWERS[0]
    return found, one_day(section, "answer fixed")


def _measure(name: str, section: Section) -> Measure | None:
    """The measure of this name, or a free one where the table gives its unit and direction."""
    if name in MEASURES:
        return MEASURES[name]
    if "unit" not in section or "better" not in section:
        near = nearest(name, MEASURES)
        missing = [key for key in ("unit", "better") if key not in section]
        section.error(
            None,
            say.MEASURE_NOT_DESCRIBED(
                name=name,
                measures=listed(sorted(MEASURES)),
                missing=listed(missing),
                what=f"Did you mean [measure.{near}]? " if near else "",
            ),
        )
        return None
    unit = section.text("unit")
    dimension = dimension_of_unit(unit)
    if dimension is None:
        section.error(
            "unit",
            say.MEASURE_UNIT_UNKNOWN(unit=quoted(unit)),
        )
        return None
    return free(name, unit, dimension, section.choice("better", DIRECTIONS, "larger"))


def dimension_of_unit(unit: str) -> str | None:
    """The dimension that a unit belongs to, None where there is none.

    A temperature is taken as a difference: the two configurations are only ever subtracted, and so the unit's zero
    drops out.
    """
    fitting = [name for name in units.DIMENSIONS if fits(unit, name)]
    if "temperature difference" in fitting:
        return "temperature difference"
    return fitting[0] if fitting else None


def _smallest(section: Section, measure: Measure) -> tuple[str, float | None, bool]:
    """The smallest difference that matters: as written, as a number, and whether that is a fraction."""
    value = section.raw(SMALLEST)
    sample = f'For example: {spelled(SMALLEST)} = "5 %"'
    mend = f"Fix before flying which difference would change what you do. {sample}"
    if value is None:
        section.missing(SMALLEST, mend)
        return "", None, False
    if not isinstance(value, str) or not value.strip():
        section.error(SMALLEST, say.MEASURE_SMALLEST_UNREADABLE(value=quoted(value), sample=sample))
        return "", None, False
    text = value.strip()
    is_fraction, dimension = kind_of_size(text, measure)
    smallest = section.quantity(SMALLEST, dimension)
    if smallest is None:
        return text, None, is_fraction
    if smallest <= 0 or (is_fraction and smallest >= 1):
        bounds = "between 0 and 100 %" if is_fraction else "above zero"
        section.error(
            SMALLEST, say.MEASURE_SMALLEST_OUT_OF_BOUNDS(text=quoted(text), bounds=bounds, smallest=spelled(SMALLEST))
        )
        return text, None, is_fraction
    return text, smallest, is_fraction


def kind_of_size(text: str, measure: Measure) -> tuple[bool, str]:
    """Whether the size of a difference is written as a share of the baseline, and the dimension to read it in."""
    # Per cent of the baseline, but for a measure that is itself counted in per cent: there they are its own points.
    is_fraction = text.endswith("%") and measure.unit.strip() != "%"
    dimension = "fraction" if is_fraction else measure.dimension
    return is_fraction, "temperature difference" if dimension == "temperature" else dimension


def _one_primary(top: Section, primary_of: Mapping[str, bool | None]) -> None:
    chosen = [name for name, primary in primary_of.items() if primary]
    if not primary_of:
        top.error(
            "measure",
            say.MEASURE_NONE(first=next(iter(MEASURES), "NAME"), smallest=spelled(SMALLEST)),
        )
    elif len(chosen) > 1:
        top.error(
            "measure",
            say.MEASURE_SEVERAL_PRIMARY(chosen=listed(chosen)),
        )
    elif not chosen:
        top.error(
            "measure",
            say.MEASURE_NO_PRIMARY(primary_of=listed(primary_of)),
        )
