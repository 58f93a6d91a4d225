"""How do error sources that were worked out get into ``campaign.toml`` without a line of it being touched?

A finder of readings (a track, a film) knows how well it read. What it knows becomes ``[instrument.NAME]`` tables,
appended where the file has none of that name; a table that is there already stays, if what it states is no less.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from samesky import units
from samesky.campaign.messages.errors import cannot
from samesky.campaign.messages.words import plain_name
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.toml.parse import parsed
from samesky.campaign.toml.section import FILE
from samesky.evidence import catalogue as say
from samesky.instruments.sources import ErrorSource

#: A stated size that is smaller by no more than this share is taken as the same: it is the same receiver.
ALIKE = 0.15


@dataclass(frozen=True, slots=True)
class StatedSource:
    """One error source for ``campaign.toml``.

    Attributes
    ----------
    name : of the table; that of a shipped source takes its place in the measures named
    target : the column that it disturbs, or ``"result"``
    scope : one of :data:`samesky.instruments.sources.SCOPES`
    size : standard uncertainty [SI of the target, or a fraction where ``unit`` is ``"%"``]
    unit, dimension : in which the size is written
    source : where it comes from, in words
    measures : names of the measures it belongs to
    typical : [SI of the target] a usual value, to weigh a size in per cent against one in a unit
    """

    name: str
    target: str
    scope: str
    size: float
    unit: str
    dimension: str
    source: str
    measures: tuple[str, ...]
    typical: float = 1.0

    def key(self, apart: bool = False) -> str:
        """The table's key in the file; with its measures behind it where it has to stand ``apart`` from another."""
        return "_".join(plain_name(part).replace(" ", "_") for part in (self.name, *(self.measures if apart else ())))

    def size_text(self) -> str:
        """The size with its unit, rounded up to three figures: never less than what was found."""
        value = float(units.from_si(self.size, self.unit, self.dimension))
        return f"{three_figures_up(value)} {self.unit}".strip()

    def table(self, apart: bool = False) -> str:
        """The table as text of ``campaign.toml``."""
        name = f"name = {json.dumps(self.name)}\n" if apart else ""
        return (
            f"[instrument.{self.key(apart)}]\n{name}"
            f"target = {json.dumps(self.target)}\n"
            f"scope = {json.dumps(self.scope)}\n"
            f"standard_uncertainty = {json.dumps(self.size_text())}\n"
            f"source = {json.dumps(self.source, ensure_ascii=False)}\n"
            f"measures = {json.dumps(list(self.measures))}\n"
        )


def three_figures_up(value: float) -> str:
    """A number of zero or more, rounded up to three significant figures and written plainly."""
    from decimal import ROUND_CEILING, Decimal

    exact = Decimal(repr(float(value)))
    if not exact:
        return "0"
    # What lies above the third figure by no more than the noise of arithmetic is not rounded up.
    exact -= abs(exact) * Decimal("1e-9")
    step = Decimal(1).scaleb(exact.adjusted() - 2)
    found = exact.quantize(step, rounding=ROUND_CEILING).normalize()
    return format(found, "f")


def to_append(text: str, sources: Sequence[ErrorSource], stated: Sequence[StatedSource], finder: str = "track") -> str:
    """What has to be appended to the text of ``campaign.toml`` so that it states all of these; blank for nothing.

    ``sources`` are the error sources that the file now gives (``sources`` of the campaign);
    ``finder`` is what messages call what found the readings.

    Raises
    ------
    CampaignError
        A table of one of the names is there and states another target, or less than was found.
    """
    there = parsed(text).get("instrument", {})
    added, larger = [], []
    for one in stated:
        written = table_of(there, one)
        if written is None:
            apart = plain_name(one.key()) in {plain_name(key) for key in there}
            added.append(one.table(apart))
        elif _states_less(one, written, sources, finder):
            larger.append(f'[instrument.{written}] standard_uncertainty = "{one.size_text()}"')
    if larger:
        raise cannot(
            FILE,
            say.SOURCE_STATED_SMALLER(
                finder=finder, count=len(larger), plural="s" * (len(larger) > 1), larger="; ".join(larger)
            ),
        )
    return "\n".join(added)


def with_tables(text: str, tables: str) -> str:
    """The text of ``campaign.toml`` with tables behind it, in its own line ends; as it is where there are none."""
    if not tables:
        return text
    end = "\r\n" if "\r\n" in text else "\n"
    gap = "" if not text else "\n" if text.endswith("\n") else "\n\n"
    return text + (gap + tables).replace("\n", end)


def table_of(there: Mapping[str, object], one: StatedSource) -> str | None:
    """Key of the table that is about this source in these measures; None where there is none.

    ``there`` are the ``[instrument]`` tables by key. One that names other measures alone is about other runs.
    """
    for key, table in there.items():
        entries = {plain_name(entry): value for entry, value in table.items()} if isinstance(table, dict) else {}
        if plain_name(str(entries.get("name", key))) != plain_name(one.name):
            continue
        named = entries.get("measures")
        named = [named] if isinstance(named, str) else named
        if not isinstance(named, list) or {plain_name(str(n)) for n in named} & {plain_name(n) for n in one.measures}:
            return key
    return None


def _states_less(one: StatedSource, written: str, sources: Sequence[ErrorSource], finder: str) -> bool:
    """Whether the table that is there states a smaller size; raises where it is about something else."""
    own = [source for source in sources if plain_name(source.name) == plain_name(one.name)]
    own = [source for source in own if any(source.applies_to(measure) for measure in one.measures)]
    same = [source for source in own if source.target == one.target]
    where = f"[instrument.{written}]"
    if not same:
        found = f"is about {own[0].target!r}" if own else f"leaves out {', '.join(one.measures)}"
        raise cannot(
            FILE,
            say.SOURCE_OTHER_TARGET(where=where, found=found, finder=finder, target=one.target),
        )
    if same[0].scope != one.scope:
        raise cannot(
            FILE,
            say.SOURCE_OTHER_SCOPE(where=where, scope=same[0].scope, finder=finder, scope2=one.scope),
        )
    return max(_in_unit_of(source, one) for source in same) < (1.0 - ALIKE) * one.size


def _in_unit_of(source: ErrorSource, one: StatedSource) -> float:
    """The source's size as that of ``one`` is given: a fraction, or SI."""
    size, wanted = source.standard_uncertainty, one.dimension == "fraction"
    if source.relative == wanted:
        return size
    return size * one.typical if source.relative else size / one.typical


def largest_stated(campaign: Campaign, one: StatedSource) -> float:
    """Standard uncertainty [SI] that the campaign states under the name of a source; below any where it states none."""
    sizes = [
        source.standard_uncertainty * (one.typical if source.relative and one.dimension != "fraction" else 1.0)
        for source in campaign.sources
        if plain_name(source.name) == plain_name(one.name)
        and source.target == one.target
        and any(source.applies_to(measure) for measure in one.measures)
    ]
    return max(sizes, default=float("-inf"))
