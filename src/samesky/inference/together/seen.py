"""What does each measure see of the difference of excess thrust between two configurations, or why does it see nothing?

A difference on the scale of comparison becomes one of force through the measure's own view
(:class:`samesky.measures.shape.ThrustView`), with its own variance, degrees of freedom and limit of hidden drift.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from samesky.campaign.derived.coefficients import known_of
from samesky.campaign.derived.prepare import why_missing
from samesky.campaign.derived.rpm_in_hand import throttled_runs
from samesky.campaign.messages.words import listed
from samesky.campaign.model.campaign import Campaign
from samesky.inference.result import Comparison, Scale
from samesky.inference.together.line import Line, fit
from samesky.inference.together.shared_errors import correlations
from samesky.measures.shape import Sight, ThrustView, Vantage
from samesky.measures.takeoff_roll import LIFT_OFF

if TYPE_CHECKING:
    from samesky.arrays import Floats

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
    scale : of its comparison, with the baseline's result
    thin : factor that brings a difference of force from its air to that of the ground
    thin_known : relative standard uncertainty of that factor
    level_known : relative standard uncertainty of the baseline's result
    aloft : whether it is seen in flight
    comparison : of its own runs, None where it was not flown
    """

    measure: str
    title: str
    sight: Sight
    scale: Scale
    thin: float
    thin_known: float
    level_known: float
    aloft: bool
    comparison: Comparison | None = None

    @property
    def own(self) -> Comparison:
        """The comparison of its own runs. Raises ValueError where it was not flown."""
        if self.comparison is None:
            raise ValueError(f"{self.title} was not flown")
        return self.comparison

    @property
    def baseline_force(self) -> float:
        """F of the baseline [N], in the air of the ground."""
        return self.thin * self.sight.factor * self.scale.level**self.sight.exponent

    def force(self, on_scale: float) -> float:
        """Difference of force [N] in the air of the ground, of a difference on the scale of comparison.

        Parameters
        ----------
        on_scale : difference or size on the scale of the comparison

        Returns
        -------
        float
            [N].
        """
        ratio, exponent = self.scale.asked.measure.ratio, self.sight.exponent
        if ratio:
            return self.baseline_force * float(np.expm1(exponent * on_scale))
        return self.baseline_force * (((self.scale.level + on_scale) / self.scale.level) ** exponent - 1.0)

    def on_scale(self, force: float) -> float:
        """Difference on the scale of comparison, of one of force [N]; infinite where no force is left.

        Parameters
        ----------
        force : difference of force [N]

        Returns
        -------
        float
            On the scale of the comparison.
        """
        share, exponent = force / self.baseline_force, self.sight.exponent
        if not share > -1.0:
            return float(np.copysign(np.inf, -exponent))
        if self.scale.asked.measure.ratio:
            return float(np.log1p(share)) / exponent
        return self.scale.level * ((1.0 + share) ** (1.0 / exponent) - 1.0)

    def slope(self, on_scale: float) -> float:
        """Change of force with the difference on the scale [N], there.

        Parameters
        ----------
        on_scale : difference or size on the scale of the comparison

        Returns
        -------
        float
            [N].
        """
        step = 1e-5 * (1.0 if self.scale.asked.measure.ratio else abs(self.scale.level))
        return (self.force(on_scale + step) - self.force(on_scale - step)) / (2.0 * step)


#: Name, title, sight, scale, how well the baseline is known, whether aloft, and the comparison of its own runs.
_Sighted = tuple[str, str, Sight, Scale, float, bool, Comparison | None]


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
    found: list[_Sighted] = []
    blind: dict[str, str] = {}
    known = known_of(campaign)
    for one in comparisons:
        view = one.scale.asked.measure.thrust
        if view is None:
            continue
        reason = _no_view(campaign, one, view)
        if not reason:
            runs = {name: float(np.mean(values[one.used])) for name, values in one.reduction.runs.items()}
            sight = view.see(Vantage(one.reduction.sky, runs, one.scale.level, known))
            if isinstance(sight, Sight):
                scatter = float(one.estimate.scatter) / one.runs[baseline] ** 0.5
                own = 1.0 if one.scale.asked.measure.ratio else abs(one.scale.level)
                found.append((one.measure, one.title, sight, one.scale, scatter / own, view.aloft, one))
                continue
            reason = sight
        blind[one.measure] = reason
    flown = {one.measure for one in comparisons}
    for name, asked in campaign.asked.items():
        view = asked.measure.thrust
        if name not in flown and view is not None:
            sight, level = _expected(campaign, name, view, found)
            if isinstance(sight, Sight):
                scale = Scale(asked, level)
                found.append((name, asked.measure.title, sight, scale, EXPECTED_KNOWN, view.aloft, None))
            else:
                blind[name] = sight
    ground = _ground_density([one[2] for one in found])
    made = []
    for name, title, sight, scale, level_known, aloft, comparison in sorted(found, key=lambda one: one[2].airspeed):
        thin = 1.0 if ground is None or sight.density is None else (ground / sight.density) ** BY_DENSITY
        made.append(
            Seen(name, title, sight, scale, thin, BY_DENSITY_KNOWN * abs(thin - 1.0), level_known, aloft, comparison)
        )
    return made, blind


def _no_view(campaign: Campaign, one: Comparison, view: ThrustView) -> str:
    table = one.reduction.table
    lifting = [key for key in (one.baseline, one.other) if campaign.configurations[key].own_speeds]
    if any(name in one.reduction.sky for key in lifting for name in campaign.configurations[key].own_speeds):
        return f"{listed(lifting)} {'is' if len(lifting) == 1 else 'are'} flown at an airspeed of its own"
    pulled = [run for key in (one.baseline, one.other) for run in throttled_runs(table, key)]
    if pulled:
        return f"the throttle was pulled back in run{'s' * (len(pulled) > 1)} {listed(pulled)}: not full throttle"
    missing = [name for name in view.needs if name not in one.reduction.sky]
    if missing:
        return "; ".join(why_missing(campaign, table, name) for name in missing)
    if not np.isfinite(float(one.estimate.standard_uncertainty)):
        return "its own runs give no interval"
    return ""


def _expected(campaign: Campaign, name: str, view: ThrustView, found: list[_Sighted]) -> tuple[Sight | str, float]:
    """What a measure that was not flown would see, at the readings that the plan expects, and its expected result."""
    plan = None if campaign.plan is None else campaign.plan.measures.get(name)
    measure = campaign.asked[name].measure
    if plan is None or not plan.expected:
        return f"it was not flown, and [plan.{name}] expects no readings of it", float("nan")
    sky = dict(plan.expected)
    for _, _, _, _, _, _, one in found:
        for condition in ("oat", "pressure", "weight", "headwind"):
            if one is not None and condition in one.reduction.sky and not (condition == "headwind" and view.aloft):
                sky.setdefault(condition, one.reduction.sky[condition])
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
    flown = [one for one in points if one.comparison is not None]
    estimates = [one.own.estimate for one in flown]
    difference = [float(one.difference) for one in estimates]
    force = np.array([one.force(d) for one, d in zip(flown, difference, strict=True)])
    slope = np.array([one.slope(d) for one, d in zip(flown, difference, strict=True)])
    size = np.abs(slope) * np.array([float(one.standard_uncertainty) for one in estimates])
    # Correlations are those of gains, larger is better: turned to those of force.
    sign = np.sign(slope) * np.array([1.0 if one.own.better == "larger" else -1.0 for one in flown])
    shared = correlations([one.own for one in flown]) * np.outer(sign, sign)
    return fit(
        np.array([one.sight.airspeed for one in flown]),
        force,
        shared * np.outer(size, size) + _doubts(flown, force, told),
        np.array([float(one.degrees_of_freedom) for one in estimates]),
        np.abs(slope) * np.array([float(one.worst_drift) for one in estimates]),
        np.array([one.aloft for one in flown]),
    )


def _doubts(points: Sequence[Seen], force: Floats, told: Seen | None) -> Floats:
    """Covariance (k, k) [N^2] of the forces by what their factors are not known by, common to the campaign."""
    total = np.zeros((len(points), len(points)))
    for cause in dict.fromkeys(cause for one in points for cause in one.sight.doubts):
        own = 0.0 if told is None else told.sight.doubts.get(cause, 0.0)
        effect = force * np.array([one.sight.doubts.get(cause, 0.0) - own for one in points])
        total += np.outer(effect, effect)
    effect = force * np.array([one.thin_known - (0.0 if told is None else told.thin_known) for one in points])
    return total + np.outer(effect, effect)
