"""What do all measures together say of each, and do they agree?

The answer of a measure's own runs stays; beside it stands the one that follows from the line of excess thrust through
all measures, its own runs among them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from samesky import units
from samesky.campaign.messages.phrases import figures, meant
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign
from samesky.inference import several, verdict
from samesky.inference.believable_drift import survives_up_to
from samesky.inference.estimate import Estimate
from samesky.inference.looks import Look
from samesky.inference.result import Comparison
from samesky.inference.together.by_all import ByAll, Point
from samesky.inference.together.cheaper import cheaper
from samesky.inference.together.line import Line
from samesky.inference.together.seen import Seen, line, refused, seen
from samesky.inference.uncertainty import t_quantile

if TYPE_CHECKING:
    from samesky.arrays import Floats

#: Below this probability measures disagree beyond chance.
DISAGREE = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class ExcessThrust:
    """The difference of excess thrust of two configurations against airspeed.

    Attributes
    ----------
    points : what each measure sees, by airspeed
    agreement_p : probability of measures so far from one line by chance; NaN where none is to spare
    predicted : every measure told by all of them, by name
    refused : why nothing is told, a sentence; empty where something is
    unseen : why a measure sees nothing, by its title
    line : through the points, None where there is none
    lift_off : true airspeed [m/s] at the end of the roll, NaN where not known
    """

    baseline: str
    other: str
    points: tuple[Point, ...] = ()
    agreement_p: float = math.nan
    predicted: Mapping[str, ByAll] = field(default_factory=dict)
    refused: str = ""
    unseen: Mapping[str, str] = field(default_factory=dict)
    line: Line | None = None
    lift_off: float = math.nan

    @property
    def disagree(self) -> bool:
        """Whether the measures disagree beyond chance."""
        return self.agreement_p < DISAGREE

    def to_json(self) -> dict[str, object]:
        """The fields promised to machines; airspeeds are true."""
        return {
            "baseline": self.baseline,
            "other": self.other,
            "points": [
                {
                    "measure": one.measure,
                    "airspeed_kt": meant(float(units.from_si(one.airspeed, "kt", "speed"))),
                    "force_N": meant(one.force),
                    "force_95_N": [meant(end) for end in one.force_95],
                }
                for one in self.points
            ],
            "agreement_p": meant(self.agreement_p),
            "predicted": {name: one.to_json() for name, one in self.predicted.items()},
            "refused": self.refused or None,
            "unseen": dict(self.unseen),
        }


def by_pair(campaign: Campaign, comparisons: Sequence[Comparison]) -> dict[tuple[str, str], Mapping[str, ByAll]]:
    """Every measure told by all of them, by name, for each pair of configurations that was compared.

    Parameters
    ----------
    campaign : the campaign
    comparisons : the comparisons of the campaign
    """
    found = {}
    for pair in dict.fromkeys((one.baseline, one.other) for one in comparisons):
        own = [one for one in comparisons if (one.baseline, one.other) == pair]
        found[pair] = _of_pair(campaign, own, *pair).predicted
    return found


def excess_thrust(campaign: Campaign, comparisons: Sequence[Comparison]) -> list[ExcessThrust]:
    """What all measures say together, of each other configuration against the baseline.

    Parameters
    ----------
    campaign : the campaign
    comparisons : the comparisons of the campaign
    """
    found = []
    for other in dict.fromkeys(one.other for one in comparisons if one.baseline == campaign.baseline):
        own = [one for one in comparisons if (one.baseline, one.other) == (campaign.baseline, other)]
        found.append(_of_pair(campaign, own, campaign.baseline, other))
    return found


def _of_pair(campaign: Campaign, own: list[Comparison], baseline: str, other: str) -> ExcessThrust:
    nothing = ExcessThrust(baseline, other)
    withheld = next((one.withheld for one in own if one.withheld), "")
    why = withheld or refused(campaign, baseline, other)
    if why:
        return replace(nothing, refused=why)
    views, blind = seen(campaign, own, baseline, other)
    flown = [one for one in views if one.witness is not None]
    look = own[0].look
    unseen = {campaign.asked[name].measure.title: reason for name, reason in blind.items()}
    nothing = replace(nothing, points=tuple(_point(one) for one in flown), unseen=unseen)
    try:
        if len(flown) < 2:
            raise ValueError
        through = line(views)
    except ValueError:
        named = "; ".join(f"{title}: {reason}" for title, reason in unseen.items())
        why = "Two measures must see the excess thrust at two airspeeds" + (f" ({named})." if named else ".")
        return replace(nothing, refused=why)
    predicted = {}
    for one in views:
        predicted[one.measure] = _told(views, one, baseline, other, look)
    roll = next((one.sight for one in views if one.measure == "takeoff_roll"), None)
    return replace(
        nothing,
        line=through,
        agreement_p=float(through.agreement()),
        predicted=_after_holm(campaign, predicted),
        lift_off=1.5 * roll.airspeed if roll is not None else math.nan,
    )


def _point(one: Seen) -> Point:
    estimate = one.own.estimate
    ends = sorted(float(one.force(end)) for end in replace(estimate, compared=2).interval(0.95))
    return Point(
        one.measure,
        one.title,
        one.sight.airspeed,
        float(one.force(estimate.difference)),
        (ends[0], ends[1]),
        float(one.baseline_force),
        one.aloft,
    )


def estimate_by_all(views: Sequence[Seen], one: Seen) -> Estimate:
    """The difference of one measure by all of them, as force [N] in the air of the ground, of one campaign or of many.

    Raises ValueError where the measures do not see two airspeeds.

    Parameters
    ----------
    views : the measures that see the difference
    one : the measure that is told, one of them
    """
    told = line(views, one).at(one.sight.airspeed)
    standard, known = told.joined((told.value * one.level_known) ** 2)
    unknown = np.full_like(told.value, math.nan)
    compared = max((each.own.estimate.compared for each in views if each.witness is not None), default=2)
    return Estimate(
        difference=told.value,
        standard_uncertainty=standard,
        degrees_of_freedom=known,
        type_a=standard,
        type_b=np.zeros_like(standard),
        scatter=unknown,
        scatter_degrees_of_freedom=0,
        floor_used=np.zeros(unknown.shape, dtype=bool),
        weights=told.weights,
        drift=unknown,
        drift_uncertainty=unknown,
        worst_drift=told.worst,
        # Forces of several configurations are each held against the baseline's: Bonferroni's bound for all pairs.
        compared=compared,
        pooled=compared == 2,
    )


def judge_by_all(one: Seen, estimate: Estimate, look: Look | None = None) -> Floats:
    """Codes of the verdict (...) of a difference told by all measures.

    Parameters
    ----------
    one : the measure that is told
    estimate : of it, as :func:`estimate_by_all` gives it
    look : the planned look whose limits count, None for the end

    Returns
    -------
    ndarray
        [1], of the leading shape of the estimate.
    """
    asked = one.scale.asked
    sure, alike = (look.level, look.equivalence_level) if look else (0.95, 0.90)
    margins = verdict.margins(asked.smallest, asked.smallest_is_fraction, asked.measure.ratio, one.level)
    outer, inner = ends(one, estimate.interval(sure)), ends(one, estimate.equivalence_interval(alike))
    return verdict.judge(outer, inner, *margins, asked.better)


def ends(one: Seen, forces: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Lower and upper end (...) on the scale of the comparison, of an interval of force [N].

    Parameters
    ----------
    one : the measure that is told
    forces : ends of the interval [N]

    Returns
    -------
    tuple of ndarray
        On the scale of the comparison, of the shape of the forces.
    """
    there = [one.on_scale(end) for end in forces]
    return np.minimum(*there), np.maximum(*there)


def _told(views: list[Seen], one: Seen, baseline: str, other: str, look: Look | None) -> ByAll:
    """One measure by all of them."""
    flown = [each for each in views if each.witness is not None]
    estimate = estimate_by_all(views, one)
    sure = look.level if look else 0.95

    def judged(of: Estimate) -> int:
        return int(judge_by_all(one, of, look))

    code = judged(estimate)
    outer = one.scale.ends(ends(one, estimate.interval(0.95)))
    inner = one.scale.ends(ends(one, estimate.equivalence_interval(0.90)))
    on_scale = float(one.on_scale(estimate.difference))
    weights = np.asarray(estimate.weights)
    conditional = ""
    if code == verdict.NOT_ENOUGH and float(estimate.worst_drift) > 0:
        conditional = _condition(estimate, judged, sure, flown, weights, baseline, other)
    return ByAll(
        measure=one.measure,
        title=one.title,
        unit=one.scale.unit,
        difference=one.scale.difference(on_scale),
        percent=one.scale.percent(on_scale),
        interval_95=(one.scale.difference(outer[0]), one.scale.difference(outer[1])),
        interval_90=(one.scale.difference(inner[0]), one.scale.difference(inner[1])),
        percent_95=(one.scale.percent(outer[0]), one.scale.percent(outer[1])),
        verdict=verdict.words(code, baseline, other),
        conditional=conditional,
        p=float(estimate.p_value),
        airspeed=one.sight.airspeed,
        shares={each.measure: float(weight) for each, weight in zip(flown, weights, strict=True)},
        flown=one.witness is not None,
        level=sure,
        standard_uncertainty=_near(one, estimate, float(estimate.standard_uncertainty)),
        degrees_of_freedom=float(estimate.degrees_of_freedom),
        worst_drift=_near(one, estimate, float(estimate.worst_drift)),
        cheaper=cheaper(views, one) if code == verdict.NOT_ENOUGH else _told_already(one, code, baseline, other),
    )


def _told_already(one: Seen, code: int, baseline: str, other: str) -> str:
    """That more of its own runs are not needed, and what to fix before the next campaign, a sentence."""
    return (
        f"More of the {one.title} alone is not the way: all measures together tell it already "
        f"({verdict.words(code, baseline, other)}). To let them decide next time, write before the first flight "
        f'answer_from = "all measures" into [measure.{one.measure}].'
    )


def _near(one: Seen, estimate: Estimate, force: float) -> float:
    """A small force [N] beside the difference, in the pilot's unit."""
    on_scale = float(one.on_scale(estimate.difference))
    small = force / abs(float(one.slope(on_scale)))
    return abs(one.scale.difference(on_scale + small) - one.scale.difference(on_scale))


def _condition(
    estimate: Estimate,
    judged: Callable[[Estimate], int],
    sure: float,
    flown: list[Seen],
    weights: Floats,
    baseline: str,
    other: str,
) -> str:
    """The answer and the drift below which it would stand; empty where there is none.

    As a share of the worst believable drift of every measure that tells, for they drift together.
    """
    if any(bool(one.own.estimate.carried) for one in flown):
        return ""
    level = float(several.each_of_pairs(sure, estimate.compared)) if estimate.compared > 2 else sure
    value, u, df = (
        abs(float(each)) for each in (estimate.difference, estimate.standard_uncertainty, estimate.degrees_of_freedom)
    )
    if not value > float(t_quantile(0.5 + level / 2.0, df)) * u:
        return ""
    limit = survives_up_to(value, u, df, level) / float(estimate.worst_drift)
    share = math.floor(100.0 * min(limit, 1.0)) / 100.0
    if not 0.0 < share < 1.0:
        return ""
    code = judged(replace(estimate, worst_drift=share * float(estimate.worst_drift) * (1.0 - 1e-6)))
    if code == verdict.NOT_ENOUGH:
        return ""
    rates = []
    for one, weight in zip(flown, weights, strict=True):
        own = one.own.estimate
        if float(own.worst_drift) > 0 and abs(float(weight)) > 0.01:
            rate = one.scale.amount(share * float(own.worst_drift) / float(own.reach))
            rates.append(f"{rate} an hour ({one.title})")
    return f"{verdict.words(code, baseline, other)} if drift stayed below {listed(rates)}"


def _after_holm(campaign: Campaign, predicted: dict[str, ByAll]) -> dict[str, ByAll]:
    """Secondary answers that do not survive Holm's adjustment are not enough data."""
    names = [name for name in predicted if not campaign.asked[name].primary]
    adjusted = verdict.holm(np.array([predicted[name].p for name in names]))
    found = dict(predicted)
    for name, p in zip(names, adjusted, strict=True):
        one = predicted[name]
        if one.verdict.endswith(f" {verdict.WORDS[verdict.OTHER_BETTER]}") and p > 1.0 - one.level:
            found[name] = replace(one, verdict=verdict.WORDS[verdict.NOT_ENOUGH], conditional="")
    return found


def disagreement(found: ExcessThrust) -> str:
    """That the measures disagree beyond chance and what to look for, a sentence; empty where they do not.

    Parameters
    ----------
    found : what all measures say together
    """
    if not found.disagree:
        return ""
    return (
        "The measures do not lie on one line of thrust (chance alone does this "
        f"{figures(100.0 * found.agreement_p, 2)} times in 100): something else changed with {found.other}. Compare "
        "lift-off technique, wind, tyres, brakes and throttle of the runs before you trust an answer by all measures."
    )
