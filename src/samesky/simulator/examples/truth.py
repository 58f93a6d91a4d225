"""What was really there? The text of ``TRUTH.md`` beside a synthetic campaign."""

from __future__ import annotations

from collections.abc import Mapping

from samesky import units
from samesky.campaign.derived.prepare import prepare
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.read import read_texts
from samesky.reduction.reduction import common_sky
from samesky.simulator.campaign_sim import true_results
from samesky.simulator.examples.shape import Example


def truth_text(example: Example, files: Mapping[str, str]) -> str:
    """The truth of an example with these files, by name: true results at each measure's common sky."""
    campaign = read_texts(files)
    lines = [f"# What was really there: {campaign.title}", "", example.story.strip(), ""]
    lines += ["| measure | " + " | ".join(campaign.configurations) + " | true difference | smallest that matters |"]
    lines += ["| --- |" + " ---: |" * (len(campaign.configurations) + 2)]
    lines += [_row(example, campaign, name) for name in campaign.tables]
    lines += [
        "",
        "Each value is what the simulated aeroplane does, without any scatter, at the common sky of its measure (the "
        "mean conditions of the runs that count). No pilot ever sees such a page: make up your own mind first.",
        "",
        f"Made by `python -m samesky.simulator.examples.catalogue`, seed {example.seed}.",
        "",
    ]
    return "\n".join(lines)


def _row(example: Example, campaign: Campaign, name: str) -> str:
    table, asked = campaign.tables[name], campaign.asked[name]
    measure = asked.measure
    sky = common_sky(campaign, table, prepare(campaign, table))
    results = true_results(example.scenario, measure, sky)
    base = results[campaign.baseline]
    cells = [units.show(value, asked.unit, measure.dimension, digits=1) for value in results.values()]
    other = results[next(key for key in results if key != campaign.baseline)]
    difference = f"{(other / base - 1) * 100:+.1f} %" if abs(other / base - 1) >= 5e-4 else "none"
    if not measure.ratio and difference != "none":
        size = units.from_si(other, asked.unit, measure.dimension) - units.from_si(base, asked.unit, measure.dimension)
        difference = f"{float(size):+.1f} {asked.unit} ({difference})"
    return f"| {measure.title} | " + " | ".join(cells) + f" | {difference} | {asked.smallest_text} |"
