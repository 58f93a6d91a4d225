"""How well were the readings taken, where the campaign knows better than the shipped figures?"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.words import did_you_mean, listed, plain_name, quoted
from samesky.campaign.settings.drift import DRIFTS, drift_size
from samesky.campaign.toml.section import Section
from samesky.instruments.sources import RESULT, SCOPES, ErrorSource
from samesky.measures import default_sources
from samesky.measures.shape import Measure

#: Entries that say how large an error is; one of them is enough.
SIZES = ("standard uncertainty", "tolerance")


def error_sources(
    top: Section, measures: Mapping[str, Measure], dimensions: Mapping[str, str], fuel_density: float
) -> tuple[ErrorSource, ...]:
    """The shipped error sources, with those of ``[instrument.NAME]`` in their place or beside them.

    A table is about the source that its ``name`` gives, or, without one, its key.

    ``dimensions`` gives the dimension of every column that can be disturbed. A measure's own source is overridden by
    name like a shipped one: :func:`samesky.measures.sensitivity.sensitivities` prefers what it is given. A table that
    names its measures leaves the shipped source in force for all others.
    """
    shipped = list(default_sources())
    inherited = shipped + [source for measure in measures.values() for source in measure.sources]
    own: list[ErrorSource] = []
    for key, section in top.named("instrument").items():
        # Two tables may be about one source in different measures: the table's key is free where it has a name.
        name = section.text("name", key)
        before = [source for source in inherited if plain_name(source.name) == plain_name(name)]
        own += _own(name, before, section, measures, dimensions, fuel_density)
        section.report_unknown()
    return (*(left for source in shipped for left in _left_of(source, own, measures)), *own)


def _left_of(source: ErrorSource, own: Iterable[ErrorSource], measures: Iterable[str]) -> list[ErrorSource]:
    """What own sources of its name leave of a shipped one: all of it, the other measures, or nothing."""
    same = [one for one in own if plain_name(one.name) == plain_name(source.name)]
    if not same:
        return [source]
    if not all(one.measures for one in same):
        return []
    taken = {name for one in same for name in one.measures}
    rest = tuple(name for name in (source.measures or measures) if name not in taken)
    return [replace(source, measures=rest)] if rest else []


def _own(
    name: str,
    before: list[ErrorSource],
    section: Section,
    measures: Mapping[str, Measure],
    dimensions: Mapping[str, str],
    fuel_density: float,
) -> list[ErrorSource]:
    first = before[0] if before else None
    target = _target(section, first, measures, dimensions)
    scope = section.choice("scope", SCOPES, first.scope if first else "run")
    origin = section.text("source", first.source if first else "given in the campaign")
    freedom = section.number("degrees of freedom", low=0.5)
    where = _measures(section, first, measures)
    size = _size(section, target, scope, where, measures, dimensions, fuel_density)
    if target is None or (size is None and any(key in section for key in SIZES)):
        return []
    if size is None and first is None:
        section.error(
            None,
            say.ERROR_SOURCE_NO_SIZE(),
        )
        return []
    fallback = ErrorSource(name.replace("_", " "), target, 0.0, scope, origin, measures=where)
    same = [one for one in before if one.target == target] or [fallback]
    changed = []
    for source in same:
        value, relative = size or (source.standard_uncertainty, source.relative)
        # Two shipped sources may share a name and part the measures between them: each keeps to its own.
        own = [name for name in where if not source.measures or name in source.measures]
        if "measures" in section and where and not own:
            continue
        changed.append(
            replace(
                source,
                standard_uncertainty=value,
                relative=relative,
                scope=scope if "scope" in section else source.scope,
                source=origin,
                measures=tuple(own) if "measures" in section else source.measures,
                degrees_of_freedom=freedom or (math.inf if size else source.degrees_of_freedom),
            )
        )
    left = [name for name in where if changed and not any(one.applies_to(name) for one in changed)]
    if left or not changed:
        base = changed[0] if changed else replace(fallback, degrees_of_freedom=freedom or math.inf)
        value, relative = size or (base.standard_uncertainty, base.relative)
        changed.append(replace(base, standard_uncertainty=value, relative=relative, measures=tuple(left) or where))
    return changed


def _target(
    section: Section, first: ErrorSource | None, measures: Mapping[str, Measure], dimensions: Mapping[str, str]
) -> str | None:
    coefficients = [one.name for measure in measures.values() for one in measure.coefficients]
    known = {plain_name(name): name for name in (RESULT, *dimensions, *coefficients)}
    text = section.text("target", first.target if first else "")
    if plain_name(text) in known:
        return known[plain_name(text)]
    section.error(
        "target",
        say.ERROR_SOURCE_TARGET(
            what=f"found {quoted(text)}, expected the reading that it disturbs." if text else "is missing.",
            hint=did_you_mean(text, known.values(), f"Write one of: {listed(sorted(known.values()), 'or')}."),
        ),
    )
    return None


def _measures(section: Section, first: ErrorSource | None, measures: Mapping[str, Measure]) -> tuple[str, ...]:
    value = section.raw("measures")
    if value is None:
        return first.measures if first else ()
    names = [value] if isinstance(value, str) else value
    known = {plain_name(name): name for name in measures}
    found = []
    for name in names if isinstance(names, list) else [names]:
        if plain_name(str(name)) in known:
            found.append(known[plain_name(str(name))])
        else:
            section.error(
                "measures",
                say.ERROR_SOURCE_NO_SUCH_MEASURE(
                    name=quoted(name), hint=did_you_mean(str(name), known, f"Known: {listed(known.values())}.")
                ),
            )
    return tuple(found)


def _size(
    section: Section,
    target: str | None,
    scope: str,
    where: Iterable[str],
    measures: Mapping[str, Measure],
    dimensions: Mapping[str, str],
    fuel_density: float,
) -> tuple[float, bool] | None:
    """Standard uncertainty in the target's unit, or as a fraction of it; None where it is not given or wrong.

    A tolerance is the half-width of a rectangular distribution: JCGM 100:2008, 4.3.7.
    """
    given = [key for key in SIZES if section.raw(key) is not None]
    if not given or target is None:
        return None
    if len(given) == 2:
        section.error("tolerance", say.ERROR_SOURCE_SIZE_GIVEN_TWICE())
        return None
    key = given[0]
    shrink = 1 / math.sqrt(3) if key == "tolerance" else 1.0
    text = str(section.raw(key))
    if scope in DRIFTS:
        if target != RESULT:
            section.error("target", say.ERROR_SOURCE_DRIFT_TARGET(target=target, scope=scope))
            return None
        size = drift_size(section, key, scope, lambda: _result_dimension(section, key, where, measures))
        return None if size is None else (size[0] * shrink, size[1])
    if target not in dimensions and target != RESULT:
        value = section.number(key, low=0.0)
        return None if value is None else (value * shrink, False)
    if text.rstrip().endswith("%") and dimensions.get(target) != "fraction":
        value = section.quantity(key, "fraction", low=0.0)
        return None if value is None else (value * shrink, True)
    dimension = dimensions.get(target) or _result_dimension(section, key, where, measures)
    if dimension is None:
        return None
    # An error of a temperature is a difference: the zero of the scale does not belong to it.
    dimension = "temperature difference" if dimension == "temperature" else dimension
    value = section.quantity(key, dimension, low=0.0, density=fuel_density if target == "fuel" else None)
    return None if value is None else (value * shrink, False)


def _result_dimension(section: Section, key: str, where: Iterable[str], measures: Mapping[str, Measure]) -> str | None:
    found = {measures[name].dimension for name in (where or measures)}
    if len(found) == 1:
        return found.pop()
    section.error(
        key,
        say.ERROR_SOURCE_UNIT_OF_SEVERAL(),
    )
    return None
