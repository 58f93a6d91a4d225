"""Sphinx extension: appendices that are made from the package each time the book is built.

``book/appendices/file_reference.md`` and ``printed_values.md`` hold their prose and a line ``% GENERATED`` in it; what
belongs there is written in from the measures, the columns, the units and the table of printed values, so that it
cannot go stale.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from pathlib import Path

from samesky import units
from samesky.campaign.reading.template import header_cell, template_files
from samesky.campaign.reading.unflown import RULE
from samesky.evidence.fill_planned import RULE as FILLED
from samesky.measures import MEASURES, default_sources
from samesky.measures.airspeed_calibration import CALIBRATION
from samesky.measures.columns import COMMON
from samesky.measures.filmed_rolls import FILMED
from samesky.measures.shape import Column, Measure

#: The line that is replaced.
MARK = "% GENERATED"
_SPECIAL = re.compile(r"([\\`*_{}\[\]<>|$#~^])")


def plain(text: str) -> str:
    """Text in which no character means anything to the markup."""
    return _SPECIAL.sub(r"\\\1", " ".join(str(text).split()))


def table(header: Sequence[str], rows: Iterable[Sequence[str]], kind: str) -> str:
    """A table in a container of this kind; cells are text without markup."""
    lines = ["| " + " | ".join(cells) + " |" for cells in ([plain(c) or " " for c in row] for row in rows)]
    head = f"| {' | '.join(header)} |\n|{' --- |' * len(header)}"
    return "\n".join([f":::{{container}} {kind}", head, *lines, ":::", ""])


def file_reference() -> str:
    """Everything that a campaign folder may hold."""
    parts = [
        "## campaign.toml",
        "",
        _shown(template_files()["campaign.toml"], "toml"),
        "",
        "## Columns of every file",
        "",
    ]
    parts += [table(["column", "dimension", "meaning"], map(_column, COMMON), "columns")]
    parts += ["## Rows that are planned and not flown yet", "", plain(RULE), "", plain(FILLED), ""]
    parts += ["`samesky plan my-campaign --into-tables` writes such rows, and so does the worksheet's page Plan.", ""]
    for measure in MEASURES.values():
        parts += _measure(measure)
    for one in (CALIBRATION, FILMED):
        parts += _table(one)
    parts += ["## Error sources that the package brings", ""]
    parts += [
        "A table `[instrument.NAME]` of the same name, blanks written as `_`, takes the place of one.",
        "",
        _sources(),
    ]
    parts += ["## Units", "", "The first of each line is usual in a fresh file. Inside, everything is SI.", ""]
    spelled = ((name, ", ".join(one.examples), one.si) for name, one in units.DIMENSIONS.items())
    parts += [table(["dimension", "as people write it", "inside"], spelled, "columns")]
    return "\n".join(parts)


def _measure(measure: Measure) -> list[str]:
    own = [column for column in measure.columns if column.name not in {each.name for each in COMMON}]
    shown = [(header_cell(column, measure), *_column(column)[1:]) for column in own]
    corrected = ((name, " and ".join(measure.needs.get(name, ()))) for name in measure.corrections)
    leant = (
        (c.name, f"{c.value:g}", f"{c.standard_uncertainty:g}", f"{c.meaning}. {c.source}")
        for c in measure.coefficients
    )
    ratio = "by ratio" if measure.ratio else "by difference"
    lines = [f"## {measure.name}.csv", ""]
    lines += [
        f"{plain(measure.title).capitalize()}: {plain(measure.result)}. Better is {measure.better}; compared {ratio}.",
        "",
    ]
    lines += [table(["column", "dimension", "meaning"], shown, "columns")]
    lines += [table(["correction", "made where these were read"], corrected, "columns corrections")]
    if measure.coefficients:
        lines += [
            table(
                ["coefficient", "value", "standard uncertainty", "what it is, and its source"],
                leant,
                "columns coefficients",
            )
        ]
    lines += [
        "Valid where:",
        "",
        *(f"- the {one.correction} correction {plain(one.says)}" for one in measure.limits),
        "",
    ]
    return lines


def _table(one: Measure) -> list[str]:
    """A file of readings that is no measure by itself."""
    columns = ((header_cell(column, one), *_column(column)[1:]) for column in one.columns)
    lines = [f"## {one.name}.csv", "", f"{plain(one.title).capitalize()}, one row a run; no measure by itself.", ""]
    return [*lines, table(["column", "dimension", "meaning"], columns, "columns")]


def _column(column: Column) -> tuple[str, str, str]:
    needed = " (needed)" if column.required else ""
    return column.name, " or ".join((column.dimension, *column.also)), column.meaning + needed


def _sources() -> str:
    rows = []
    for one in default_sources():
        si = units.DIMENSIONS.get(_dimension(one.target))
        unit = "" if one.relative or si is None else f" {si.si}"
        size = f"{100 * one.standard_uncertainty:.3g} %" if one.relative else f"{one.standard_uncertainty:.3g}{unit}"
        where = ", ".join(one.measures) or "all"
        rows.append((one.name, one.target, size, one.scope, f"{one.source}. Measures: {where}"))
    return table(["name", "acts on", "standard uncertainty", "scope", "source"], rows, "columns sources")


def _dimension(target: str) -> str:
    columns = [*COMMON, *(column for measure in MEASURES.values() for column in measure.columns)]
    return next((column.dimension for column in columns if column.name == target), "")


def _shown(text: str, language: str) -> str:
    return f"```{language}\n{text.rstrip()}\n```"


def printed_values() -> str:
    """The printed values that tests and book hold, by topic and source."""
    from printed_values import read

    rows = read()
    agreeing = [row for row in rows if row["held"] == "agrees"]
    certified = [row for row in rows if row["held"].endswith("digits")]
    differing = [row for row in rows if row["held"] == "differs"]
    sources, topics = ({row[name] for row in rows} for name in ("source", "topic"))
    parts = [
        f"**{len(agreeing)}** printed values agree at the printed rounding, from {len(sources)} sources on "
        f"{len(topics)} topics. {len(certified)} more are certified to more digits than a double carries through the "
        f"computation; there the agreeing digits are given. {len(differing)} differ, because the print is wrong or "
        "means something else; the tests assert that they do, and the last table says why.",
        "",
    ]
    by_topic = {topic: list(group) for topic, group in groupby(sorted(agreeing + certified, key=_topic), key=_topic)}
    parts += [table(["topic", "values"], ((t, str(len(g))) for t, g in by_topic.items()), "columns")]
    for topic, group in by_topic.items():
        parts += [f"## {plain(topic)[:1].upper()}{plain(topic)[1:]}", ""]
        by_source = groupby(sorted(group, key=_source), key=_source)
        for (source, verified), same in by_source:
            parts += [f"**{plain(source)}** ({plain(verified)})", ""]
            parts += [table(["value", "printed", "computed", "difference", "rounding"], map(_row, same), "printed")]
    parts += ["## Where print and computation differ", ""]
    why = ((f"{r['id']}: {r['quantity']}", r["printed"], r["computed"], r["notes"] or r["source"]) for r in differing)
    parts += [table(["value", "printed", "computed", "why"], why, "printed differs")]
    return "\n".join(parts)


def _topic(row: dict[str, str]) -> str:
    return row["topic"]


def _source(row: dict[str, str]) -> tuple[str, str]:
    return row["source"], row["verified"]


def _row(row: dict[str, str]) -> tuple[str, ...]:
    inputs = f" ({row['inputs']})" if row["inputs"] else ""
    unit = f" {row['unit']}" if row["unit"] not in ("", "1") else ""
    held = "" if row["held"] == "agrees" else f"; {row['held']} agree"
    what = f"{row['id']}: {row['quantity']}{inputs}"
    return what, row["printed"] + unit, row["computed"], row["difference"], row["rounding"] + held


#: What is written where, by document.
WRITERS: dict[str, Callable[[], str]] = {
    "appendices/file_reference": file_reference,
    "appendices/printed_values": printed_values,
}


def write_in(app, name: str, source: list[str]) -> None:
    """Put what is generated in the place of its mark."""
    if name in WRITERS:
        source[0] = source[0].replace(MARK, WRITERS[name]())
        app.env.note_dependency(str(Path(app.srcdir) / "appendices" / "printed_values.csv"))


def setup(app) -> dict[str, object]:
    """Register with Sphinx."""
    app.connect("source-read", write_in)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
