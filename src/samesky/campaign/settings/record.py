"""Which record of earlier repeats does the campaign name, and what does it say?

``[plan] record`` names a file beside ``campaign.toml``, as ``samesky record`` writes it: one table a measure, with
the same two entries that ``[plan.NAME]`` has, ``scatter`` and ``degrees_of_freedom``. What is wrong in it is said of
that file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from samesky.campaign.messages import catalogue as say
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.findings import Finding
from samesky.campaign.messages.words import listed, plain_name, quoted
from samesky.campaign.model.campaign import MeasureSettings
from samesky.campaign.model.plan_request import MeasurePlan, Record
from samesky.campaign.reading.files import RECORD
from samesky.campaign.settings.aeroplane import one_day
from samesky.campaign.toml.parse import parsed
from samesky.campaign.toml.section import Section
from samesky.campaign.toml.shape import line_numbers
from samesky.measures.shape import Measure


def record(
    plan: Section,
    texts: Mapping[str, str | None],
    asked: Mapping[str, MeasureSettings],
    scatter_of: Callable[[Section, Measure], tuple[float | None, bool]],
    findings: list[Finding],
) -> Record | None:
    """The record that ``[plan]`` names, None where it names none or it cannot be used.

    ``texts`` are those of the records beside ``campaign.toml`` by name; ``scatter_of`` reads the entry ``scatter``.
    """
    name, named = plan.text("record"), one_day(plan, "record named")
    if not name:
        return None
    text = texts.get(name)
    if text is None:
        there = f"Beside campaign.toml: {listed(map(quoted, texts))}." if texts else "No such file lies there."
        plan.error("record", say.RECORD_NOT_THERE(name=quoted(name), ending=RECORD, there=there))
        return None
    found: list[Finding] = []
    try:
        top = Section(parsed(text), (), line_numbers(text), found)
    except CampaignError as error:
        findings.append(error.of(name).finding)
        return None
    until = one_day(top, "last flown")
    by_plain = {plain_name(key): key for key in asked}
    measures = {}
    for key in top.names():
        plain = plain_name(key)
        if plain == "last flown" or not isinstance(top.raw(plain), dict):
            continue
        if plain in by_plain:
            one = _measure(top.section(plain), asked[by_plain[plain]].measure, scatter_of)
            if one is not None:
                measures[by_plain[plain]] = one
    findings += [replace(one, file=name) for one in found]
    return Record(name, named, until, measures)


def _measure(
    section: Section, measure: Measure, scatter_of: Callable[[Section, Measure], tuple[float | None, bool]]
) -> MeasurePlan | None:
    scatter, is_fraction = scatter_of(section, measure)
    freedom = section.number("degrees of freedom", low=1.0)
    for name in ("scatter", "degrees of freedom"):
        if section.raw(name) is None:
            section.error(name, say.RECORD_INCOMPLETE())
    if scatter is None or freedom is None:
        return None
    return MeasurePlan(scatter=scatter, scatter_is_fraction=is_fraction, degrees_of_freedom=freedom, from_record=True)
