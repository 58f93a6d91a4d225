"""What does each measure see of the difference of excess thrust between two configurations, or why does it see nothing?

A difference on the scale of comparison becomes one of force through the measure's own view
(:class:`samesky.measures.shape.ThrustView`), with its own variance, degrees of freedom and limit of hidden drift.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from samesky.campaign.derived.coefficients import known_of
from samesky.campaign.derived.prepare import why_missing
from samesky.campaign.derived.rpm_in_hand import throttled_runs
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign
from samesky.inference.estimate import Estimate
from samesky.inference.result import Comparison, Scale
from samesky.inference.together.line import Line, fit
from samesky.inference.together.shared_errors import correlations
from samesky.inference.together.witness import Witness, witness
from samesky.measures.shape import Sight, ThrustView, Vantage
from samesky.measures.takeoff_roll import LIFT_OFF
from samesky.reduction.reduction import Reduction

if TYPE_CHECKING:
    from samesky.arrays import Flags, Floats, Numbers

#: Exponent of density in a difference of thrust at one true airspeed (0.63 to 1.32 in own computations); half of what
#: it changes is a standard uncertainty.
BY_DENSITY, BY_DENSITY_KNOWN = 0.8, 0.5
#: Relative standard uncertainty of a result that the plan expects and nobody measured (assumed).
EXPECTED_KNOWN = 0.10


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """One measure that sees the excess thrust, at its own sky.

    Attributes
    ----------
    measure, title : of it
    sight : where and how it sees
    scale : of its comparison
    level : the baseline's result [SI], of one campaign or of many
    level_known : relative standard uncertainty of the baseline's result
    aloft : whether it is seen in flight
    witness : what its own runs say, of one campaign or of many; None where it was not flown
    thin : factor that brings a difference of force from its air to that of the ground
    thin_known : relative standard uncertainty of that factor
    """

    measure: str
    title: str
    sight: Sight
    scale: Scale
    level: Numbers
    level_known: Numbers
    aloft: bool
    witness: Witness | None = None
    thin: float = 1.0
    thin_known: float = 0.0

    @property
    def own(self) -> Witness:
        """What its own runs say. Raises ValueError where it was not flown."""
        if self.witness is None:
            raise ValueError(f"{self.title} was not flown")
        return self.witness

    @property
    def baseline_force(self) -> Floats:
        """F of the baseline [N], in the air of the ground."""
        return self.thin * self.sight.factor * np.asarray(self.level, dtype=float) ** self.sight.exponent

    def force(self, on_scale: Numbers) -> Floats:
        """Difference of force [N] in the air of the ground, of a difference on the scale of comparison.

        Parameters
        ----------
        on_scale : difference or size on the scale of the comparison

        Returns
        -------
        ndarray
            [N], of the shape of ``on_scale``.
        """
        ratio, exponent = self.scale.asked.measure.ratio, self.sight.exponent
        on_scale = np.asarray(on_scale, dtype=float)
        if ratio:
            return self.baseline_force * np.expm1(exponent * on_scale)
        return self.baseline_force * (((self.level + on_scale) / self.level) ** exponent - 1.0)

    def on_scale(self, force: Numbers) -> Floats:
        """Difference on the scale of comparison, of one of force [N]; infinite where no force is left.

        Parameters
        ----------
        force : difference of force [N]

        Returns
        -------
        ndarray
            On the scale of the comparison, of the shape of ``force``.
        """
        share, exponent = np.asarray(force, dtype=float) / self.baseline_force, self.sight.exponent
        with np.errstate(divide="ignore", invalid="ignore"):
            if self.scale.asked.measure.ratio:
                found = np.log1p(share) / exponent
            else:
                found = self.level * ((1.0 + share) ** (1.0 / exponent) - 1.0)
        return np.where(share > -1.0, found, np.copysign(np.inf, -exponent))

    def slope(self, on_scale: Numbers) -> Floats:
        """Change of force with the difference on the scale [N], there.

        Parameters
        ----------
        on_scale : difference or size on the scale of the comparison

        Returns
        -------
        ndarray
            [N], of the shape of ``on_scale``.
        """
        step = 1e-5 * (1.0 if self.scale.asked.measure.ratio else np.abs(self.level))
        return (self.force(on_scale + step) - self.force(on_scale - step)) / (2.0 * step)


def refused(campaign: Campaign, baseline: str, other: str) -> str:
    """Why thrust does not tell these two apart, a sentence; empty where it may.

    Parameters
    ----------
    campaign : the campaign
    baseline : key of the baseline
    other : key of the other configuration
    """
    lifting = [key for key in (baseline, other) if LIFT_OFF in campaign.configurations[key].own_speeds]
    if lifting:
        return (
            f"{listed(lifting)} {'has' if len(lifting) == 1 else 'have'} a lift-off airspeed of its own: the change is "
            "one of lift, and a roll is not told by thrust alone."
        )
    return ""


def seen(
    campaign: Campaign, comparisons: Sequence[Comparison], baseline: str, other: str
) -> tuple[list[Seen], dict[str, str]]:
    """The measures that see the difference, by airspeed, and why the others of the campaign do not, by name.

    Parameters
    ----------
    campaign : the campaign
    comparisons : the comparisons of the campaign
    baseline : key of the baseline
    other : key of the other configuration
    """
    found: list[Seen] = []
    blind: dict[str, str] = {}
    skies = {}
    for one in comparisons:
        if one.scale.asked.measure.thrust is None:
            continue
        skies[one.measure] = one.reduction.sky
        scatter = float(one.estimate.scatter) / one.runs[baseline] ** 0.5
        own = 1.0 if one.scale.asked.measure.ratio else abs(one.scale.level)
        sighted = sight_of(campaign, one.reduction, one.used, (baseline, other), one.scale, scatter / own)
        if not isinstance(sighted, str) and not np.isfinite(float(one.estimate.standard_uncertainty)):
            sighted = "its own runs give no interval"
        if isinstance(sighted, str):
            blind[one.measure] = sighted
        else:
            found.append(replace(sighted, witness=witness(one)))
    for name, asked in campaign.asked.items():
        view = asked.measure.thrust
        if name not in skies and view is not None:
            sight, level = _expected(campaign, name, view, [skies[one.measure] for one in found])
            if isinstance(sight, Sight):
                scale = Scale(asked, level)
                found.append(Seen(name, asked.measure.title, sight, scale, level, EXPECTED_KNOWN, view.aloft))
            else:
                blind[name] = sight
    return in_one_air(found), blind


def sight_of(
    campaign: Campaign, reduction: Reduction, used: Flags, pair: tuple[str, str], scale: Scale, level_known: float
) -> Seen | str:
    """What a measure sees of the difference from its own air, or why it sees nothing, a clause.

    Parameters
    ----------
    campaign : the campaign
    reduction : of its runs
    used : the runs compared, bool (rows,)
    pair : keys of the baseline and of the other configuration
    scale : of its comparison, with the baseline's result
    level_known : relative standard uncertainty of that result
    """
    measure = scale.asked.measure
    view = measure.thrust
    if view is None:
        return "it does not measure thrust"
    reason = _no_view(campaign, reduction, pair, view)
    if reason:
        return reason
    means = {name: float(np.mean(values[used])) for name, values in reduction.runs.items()}
    sight = view.see(Vantage(reduction.sky, means, scale.level, known_of(campaign)))
    if isinstance(sight, str):
        return sight
    return Seen(measure.name, measure.title, sight, scale, scale.level, level_known, view.aloft)


def in_one_air(found: Sequence[Seen]) -> list[Seen]:
    """The measures by airspeed, their forces brought to the air of the ground.

    Parameters
    ----------
    found : what each sees from its own air
    """
    made, ground = [], _ground_density([one.sight for one in found])
    for one in sorted(found, key=lambda one: one.sight.airspeed):
        density = one.sight.density
        thin = 1.0 if ground is None or density is None else (ground / density) ** BY_DENSITY
        made.append(replace(one, thin=thin, thin_known=BY_DENSITY_KNOWN * abs(thin - 1.0)))
    return made


def _no_view(campaign: Campaign, reduction: Reduction, pair: tuple[str, str], view: ThrustView) -> str:
    table = reduction.table
    lifting = [key for key in pair if campaign.configurations[key].own_speeds]
    if any(name in reduction.sky for key in lifting for name in campaign.configurations[key].own_speeds):
        return f"{listed(lifting)} {'is' if len(lifting) == 1 else 'are'} flown at an airspeed of its own"
    pulled = [run for key in pair for run in throttled_runs(table, key)]
    if pulled:
        return f"the throttle was pulled back in run{'s' * (len(pulled) > 1)} {listed(pulled)}: not full throttle"
    missing = [name for name in view.needs if name not in reduction.sky]
    return "; ".join(why_missing(campaign, table, name) for name in missing)


def _expected(
    campaign: Campaign, name: str, view: ThrustView, skies: Sequence[Mapping[str, float]]
) -> tuple[Sight | str, float]:
    """What a measure that was not flown would see, at the readings that the plan expects, and its expected result."""
    plan = None if campaign.plan is None else campaign.plan.measures.get(name)
    measure = campaign.asked[name].measure
    if plan is None or not plan.expected:
        return f"it was not flown, and [plan.{name}] expects no readings of it", float("nan")
    sky = dict(plan.expected)
    for flown in skies:
        for condition in ("oat", "pressure", "weight", "headwind"):
            if condition in flown and not (condition == "headwind" and view.aloft):
                sky.setdefault(condition, flown[condition])
    missing = [condition for condition in view.needs if condition not in sky]
    if missing:
        return f"it was not flown, and [plan.{name}] expects no {listed(missing)}", float("nan")
    try:
        steps = measure.reduce(
            {key: np.array([value]) for key, value in sky.items()}, sky, measure.coefficient_values()
        )
    except KeyError as absent:
        return f"it was not flown, and [plan.{name}] expects no {absent.args[0]}", float("nan")
    level = float(steps[-1].value[0])
    return view.see(Vantage(sky, sky, level, known_of(campaign))), level


def _ground_density(sights: Sequence[Sight]) -> float | None:
    """Density [kg/m^3] in which the slowest measure saw; None where nobody wrote down the air."""
    known = [one for one in sights if one.density is not None]
    return min(known, key=lambda one: one.airspeed).density if known else None


def line(points: Sequence[Seen], told: Seen | None = None) -> Line:
    """The line through the measures that were flown, in newtons, or as shares of the force of the measure ``told``.

    A common cause acts on those that tell and on the one that is told: a weight that is wrong cancels between climb and
    roll. Raises ValueError where the measures do not see two airspeeds.

    Parameters
    ----------
    points : the measures that see the difference
    told : the measure whose force the shares are of, None for newtons
    """
    flown = [one for one in points if one.witness is not None]
    estimates = [one.own.estimate for one in flown]
    difference = [np.asarray(one.difference, dtype=float) for one in estimates]
    force = np.stack([one.force(d) for one, d in zip(flown, difference, strict=True)], axis=-1)
    slope = np.stack([one.slope(d) for one, d in zip(flown, difference, strict=True)], axis=-1)
    size = np.abs(slope) * _together(estimates, "standard_uncertainty", force)
    # Correlations are those of gains, larger is better: turned to those of force.
    sign = np.sign(slope) * np.array([1.0 if one.own.better == "larger" else -1.0 for one in flown])
    signed = sign * size
    shared = correlations([one.own for one in flown])
    return fit(
        np.array([one.sight.airspeed for one in flown]),
        force,
        shared * signed[..., :, None] * signed[..., None, :] + _doubts(flown, force, told),
        _together(estimates, "degrees_of_freedom", force),
        np.abs(slope) * _together(estimates, "worst_drift", force),
        np.array([one.aloft for one in flown]),
    )


def _together(estimates: Sequence[Estimate], name: str, like: Floats) -> Floats:
    """One field of the estimates, (..., k) as ``like``."""
    columns = [np.broadcast_to(np.asarray(getattr(one, name), dtype=float), like.shape[:-1]) for one in estimates]
    return np.stack(columns, axis=-1)


def _doubts(points: Sequence[Seen], force: Floats, told: Seen | None) -> Floats:
    """Covariance (..., k, k) [N^2] of the forces by what their factors are not known by, common to the campaign."""
    causes = dict.fromkeys(cause for one in points for cause in one.sight.doubts)
    own = [0.0 if told is None else told.sight.doubts.get(cause, 0.0) for cause in causes]
    doubts = [[one.sight.doubts.get(cause, 0.0) for one in points] for cause in causes]
    rows = [np.array(row) - common for row, common in zip(doubts, own, strict=True)]
    rows.append(np.array([one.thin_known for one in points]) - (0.0 if told is None else told.thin_known))
    effects = force[..., None, :] * np.array(rows)
    return np.swapaxes(effects, -1, -2) @ effects
