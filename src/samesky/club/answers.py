"""What did one campaign answer, as far as others can use it?"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from samesky.campaign.messages.words import one_line
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.read import read
from samesky.checks.check import check
from samesky.inference.comparison import compare
from samesky.inference.result import Comparison

#: A configuration's details that make it another thing when they differ.
KIND_OF_THING = ("blades", "diameter", "pitch setting", "material")


@dataclass(frozen=True, slots=True, eq=False)
class CampaignAnswer:
    """One measure and one pair of one campaign, in numbers that travel between processes.

    ``difference``, ``standard_uncertainty``, ``limit`` (signed, what a hidden drift may do) and ``interval_95`` on the
    scale of the comparison: logarithm of the ratio where ``ratio``, else SI. ``common`` holds errors that others may
    share, signed. ``level`` [SI] is the baseline's. ``smallest`` is a fraction of it where ``smallest_is_fraction``.
    ``fingerprint`` is alike where the runs are.
    """

    campaign: str
    folder: str
    measure: str
    title: str
    unit: str
    dimension: str
    ratio: bool
    better: str
    primary: bool
    baseline: str
    other: str
    baseline_label: str
    other_label: str
    details: Mapping[str, Mapping[str, str]]
    difference: float
    standard_uncertainty: float
    limit: float
    interval_95: tuple[float, float]
    common: Mapping[str, float]
    level: float
    smallest: float
    smallest_is_fraction: bool
    smallest_text: str
    verdict: str
    runs: tuple[int, int]
    fingerprint: str

    @property
    def name(self) -> str:
        """How the campaign is called in a table: its title, else its folder."""
        return self.campaign or self.folder


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A campaign that gives nothing, and why: a whole sentence."""

    folder: str
    why: str


def answers(folder: Path) -> list[CampaignAnswer] | Unreadable:
    """Every answer of the campaign in ``folder``, or why there is none; a pure function of its files."""
    from samesky.campaign.messages.errors import CampaignError

    try:
        campaign = read(folder)
        errors = [one for one in check(campaign) if one.kind == "error"]
        if errors:
            return Unreadable(str(folder), f"{len(errors)} to mend, first: {errors[0].sentence()}")
        comparisons = compare(campaign)
    except CampaignError as error:
        return Unreadable(str(folder), str(error))
    if not comparisons:
        return Unreadable(str(folder), "no measure was flown with two configurations.")
    return [_answer(folder, campaign, one) for one in comparisons]


def _answer(folder: Path, campaign: Campaign, one: Comparison) -> CampaignAnswer:
    asked, scale = one.scale.asked, one.scale
    low, high = one.estimate.interval(0.95)
    labels = {key: campaign.configurations[key].label for key in (one.baseline, one.other)}
    return CampaignAnswer(
        campaign=one_line(campaign.title),
        folder=str(folder),
        measure=one.measure,
        title=one.title,
        unit=one.unit,
        dimension=asked.measure.dimension,
        ratio=asked.measure.ratio,
        better=one.better,
        primary=one.primary,
        baseline=one.baseline,
        other=one.other,
        baseline_label=labels[one.baseline] or one.baseline,
        other_label=labels[one.other] or one.other,
        details={key: dict(campaign.configurations[key].details) for key in labels},
        difference=float(one.estimate.difference),
        standard_uncertainty=float("nan") if one.withheld else float(one.estimate.standard_uncertainty),
        limit=_signed_limit(one),
        interval_95=(float(low), float(high)),
        common=_common(one),
        level=scale.level,
        smallest=asked.smallest,
        smallest_is_fraction=asked.smallest_is_fraction,
        smallest_text=asked.smallest_text,
        verdict=one.verdict,
        runs=(one.runs[one.baseline], one.runs[one.other]),
        fingerprint=_fingerprint(one),
    )


def _signed_limit(one: Comparison) -> float:
    """What a hidden drift may do, with the sign of the hours by which the other configuration was flown later."""
    later = float(np.asarray(one.estimate.weights) @ one.design.order.time)
    return float(np.copysign(np.asarray(one.estimate.worst_drift), later if later else 1.0))


def _common(one: Comparison) -> dict[str, float]:
    """Campaign-wide errors of corrections: the same coefficient errs alike wherever it is used."""
    weights = np.asarray(one.estimate.weights)
    coefficients = {coefficient.name for coefficient in one.scale.asked.measure.coefficients}
    found: dict[str, float] = {}
    for part, variance in one.estimate.added:
        if part.scope == "campaign" and part.name in coefficients and variance > 0:
            moved = np.broadcast_to(np.asarray(part.sensitivity, dtype=float), weights.shape)
            found[part.name] = float(weights @ moved)
    return found


def _fingerprint(one: Comparison) -> str:
    """Of the readings compared: two campaigns with the same runs are one campaign twice."""
    raw = one.reduction.steps[0].value[one.used]
    told = [f"{value:.9g}" for value in raw] + [str(k) for k in one.design.order.configuration]
    return hashlib.sha256("|".join(told).encode()).hexdigest()
