"""What does a comparison hand to the terminal, the report and the planner?"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from samesky import units
from samesky.campaign.derived.rpm_in_hand import RpmInHand, cautions
from samesky.campaign.messages.phrases import figures, meant
from samesky.campaign.model.campaign import ANSWERS, MeasureSettings
from samesky.inference.design import Design
from samesky.inference.estimate import Estimate
from samesky.inference.looks import Look
from samesky.inference.together.by_all import ByAll
from samesky.reduction.reduction import Reduction

if TYPE_CHECKING:
    from samesky.arrays import Flags, Floats, Numbers

#: Half the width of an interval of a logarithm from which on its upper end is no bound (chosen: threefold either way).
#: There a drift of so many per cent an hour, added up over hours, has left the range in which it can be added up, and
#: the exponential makes of it whatever one likes.
WIDEST = math.log(3.0)


@dataclass(frozen=True, slots=True)
class Scale:
    """From the scale on which runs are compared to the pilot's unit: ``level`` is the baseline's value [SI]."""

    asked: MeasureSettings
    level: float

    @property
    def unit(self) -> str:
        """The pilot's unit."""
        return self.asked.unit or self.asked.measure.unit

    def si(self, on_scale: float) -> float:
        """A difference from the baseline [SI].

        Parameters
        ----------
        on_scale : difference or size on the scale of the comparison

        Returns
        -------
        float
            [SI].
        """
        return self.level * math.expm1(on_scale) if self.asked.measure.ratio else float(on_scale)

    def shown(self, difference_si: float) -> float:
        """A difference [SI] in the pilot's unit (no zero point).

        Parameters
        ----------
        difference_si : difference [SI]

        Returns
        -------
        float
            [SI].
        """
        dimension = self.asked.measure.dimension
        return float(units.from_si(difference_si, self.unit, dimension) - units.from_si(0.0, self.unit, dimension))

    def difference(self, on_scale: float) -> float:
        """A difference on the scale in the pilot's unit.

        Parameters
        ----------
        on_scale : difference or size on the scale of the comparison

        Returns
        -------
        float
            [1].
        """
        return self.shown(self.si(on_scale))

    def percent(self, on_scale: float) -> float:
        """A difference on the scale in per cent of the baseline; NaN where the baseline is not above zero.

        Parameters
        ----------
        on_scale : difference or size on the scale of the comparison

        Returns
        -------
        float
            [1].
        """
        return 100.0 * self.si(on_scale) / self.level if self.level > 0 else math.nan

    def ends(self, on_scale: tuple[Numbers, Numbers]) -> tuple[float, float]:
        """Ends of an interval on the scale; the upper one infinite where it is too wide to have one.

        The lower end of a ratio measure stays: nothing falls below nothing.

        Parameters
        ----------
        on_scale : lower and upper end on the scale of the comparison

        Returns
        -------
        tuple[float, float]
            [1], of the leading shape of the values.
        """
        low, high = (float(end) for end in on_scale)
        return (low, math.inf) if self.asked.measure.ratio and high - low > 2.0 * WIDEST else (low, high)

    def amount(self, on_scale: float) -> str:
        """A scatter, uncertainty or rate on the scale as a pilot reads it.

        Parameters
        ----------
        on_scale : difference or size on the scale of the comparison
        """
        if self.asked.measure.ratio:
            return f"{figures(100.0 * abs(on_scale))} %"
        return f"{figures(abs(self.shown(on_scale)))} {self.unit}"


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one correction does to the difference: on the scale, and as change of the difference in the pilot's unit.

    In flown order of the corrections, so that raw difference plus contributions is the reduced difference exactly.
    """

    name: str
    on_scale: float
    difference: float
    percent: float


@dataclass(frozen=True, slots=True)
class BudgetRow:
    """One source of uncertainty of the difference, in the pilot's unit.

    ``whole`` is the standard uncertainty that the source puts into the difference with the weights used; ``added`` the
    part that the scatter seen does not already hold; ``share`` of the variance of the difference; ``note`` says why.
    """

    source: str
    scope: str
    whole: float
    added: float
    share: float
    note: str


@dataclass(frozen=True, slots=True)
class Naive:
    """What a plain average of the raw readings would have said: raw means, Welch's unpaired t."""

    difference: float
    percent: float
    interval_95: tuple[float, float]
    says: str


@dataclass(frozen=True, slots=True)
class Drift:
    """Straight drifts, in per cent of the baseline (ratio measures) or the pilot's unit, an hour.

    ``removed`` what the comparison removed, ``within`` what runs within blocks show, each with its standard
    uncertainty; ``weather`` what the corrections took out; ``erases`` what would erase the difference unseen. NaN where
    the order does not tell.
    """

    unit: str
    removed: float
    removed_uncertainty: float
    within: float
    within_uncertainty: float
    weather: float
    erases: float


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """One measure, one configuration against the baseline.

    Numbers are in the pilot's ``unit`` unless said; ``used`` (rows,) marks the runs compared, ``left_out`` names the
    others of the two configurations, each with why, and ``weights`` (as many as used) multiply their values on the
    scale to give the difference. ``exact_p`` is that of the randomisation test named by ``exact_test``: NaN and empty
    where the flown order allows none. ``look`` is the planned look whose limits the verdict has, None where only the
    end is looked at; ``withheld`` says why no verdict is due, and then every number that would tell one is NaN. ``rpm``
    is the rpm in hand of each of the two, where engine speeds and a limit are there: it is never withheld.
    ``conditional`` is the answer with the drift below which it would stand, where hidden drift alone keeps it open, or
    with the scatter of a repeat below which it would be real, where nothing was repeated;
    ``unmet`` says so where the runs within the blocks drift faster than that.
    ``hangs_on`` names the one run without which the answer would be another; empty where it hangs on none.
    ``by_all`` is the same measure told by all of them, None where thrust does not tell it; ``answer_from`` says which
    of the two decides, as fixed before flying.
    ``ranking`` is the order of three configurations or more on this measure in words; empty with two.
    """

    measure: str
    title: str
    unit: str
    better: str
    primary: bool
    baseline: str
    other: str
    runs: dict[str, int]
    fittings: dict[str, int]
    days: int
    design_name: str
    method: str
    replication: str
    difference: float
    percent: float
    interval_95: tuple[float, float]
    interval_90: tuple[float, float]
    percent_95: tuple[float, float]
    standard_uncertainty: float
    degrees_of_freedom: float
    smallest_that_matters: float
    smallest_text: str
    verdict: str
    assumption: str
    warnings: tuple[str, ...]
    settle: str
    levels: dict[str, float]
    raw_difference: float
    raw_percent: float
    contributions: tuple[Contribution, ...]
    budget: tuple[BudgetRow, ...]
    naive: Naive
    drift: Drift
    p: float
    p_holm: float
    exact_p: float
    exact_test: str
    used: Flags
    weights: Floats
    design: Design
    estimate: Estimate
    reduction: Reduction
    scale: Scale
    left_out: tuple[tuple[str, str], ...] = ()
    look: Look | None = None
    withheld: str = ""
    rpm: Mapping[str, RpmInHand] = field(default_factory=dict)
    conditional: str = ""
    unmet: str = ""
    ranking: str = ""
    hangs_on: str = ""
    by_all: ByAll | None = None

    @property
    def answer_from(self) -> str:
        """Which answer decides, as the campaign fixed it: that of its own runs or that of all measures."""
        return self.scale.asked.answer_from

    @property
    def deciding_verdict(self) -> str:
        """The verdict of the answer that decides; of its own runs where all measures do not tell it."""
        return self.deciding.verdict

    @property
    def deciding(self) -> Comparison | ByAll:
        """The answer that decides: of its own runs, or of all measures where these were fixed and tell it."""
        if self.answer_from == ANSWERS[0] or self.by_all is None or self.withheld:
            return self
        return self.by_all

    @property
    def level(self) -> float:
        """Level of the interval that has to clear zero for the verdict: 0.95, or that of the look."""
        return 0.95 if self.look is None else self.look.level

    @property
    def equivalence_level(self) -> float:
        """Level of the interval that has to lie inside the margins: 0.90, or that of the look."""
        return 0.90 if self.look is None else self.look.equivalence_level

    @property
    def interval(self) -> tuple[float, float]:
        """The interval of ``level``."""
        if self.look is None or self.withheld:
            return self.interval_95
        return self._ends(self.estimate.interval(self.level))

    @property
    def equivalence_interval(self) -> tuple[float, float]:
        """The interval of ``equivalence_level``."""
        if self.look is None or self.withheld:
            return self.interval_90
        return self._ends(self.estimate.equivalence_interval(self.equivalence_level))

    @property
    def percent_interval(self) -> tuple[float, float]:
        """The interval of ``level`` in per cent of the baseline."""
        if self.look is None or self.withheld:
            return self.percent_95
        low, high = self.scale.ends(self.estimate.interval(self.level))
        return self.scale.percent(low), self.scale.percent(high)

    def _ends(self, on_scale: tuple[Numbers, Numbers]) -> tuple[float, float]:
        low, high = self.scale.ends(on_scale)
        return self.scale.difference(low), self.scale.difference(high)

    @property
    def no_upper_bound(self) -> str:
        """Why the 95 % interval has no upper end, a sentence; empty where it has one."""
        if self.interval_95[1] != math.inf:
            return ""
        return "No upper bound from this order: the doubt is more than threefold either way."

    @property
    def cautions(self) -> tuple[str, ...]:
        """Dangers that the runs show: an over-speed, sure or possible. Said with the answer, whatever it is."""
        return cautions(list(self.rpm.values()))

    def to_json(self) -> dict[str, object]:
        """The fields promised to machines; numbers that do not exist are null, as is an end that is no bound."""
        return {
            "measure": self.measure,
            "unit": self.unit,
            "configurations": {"baseline": self.baseline, "other": self.other},
            "runs": self.runs,
            "left_out": [{"run": run, "why": why} for run, why in self.left_out],
            "installations": self.fittings,
            "design": self.design_name,
            "method": self.method,
            "difference": meant(self.difference),
            "percent": meant(self.percent),
            "interval_95": [meant(end) for end in self.interval_95],
            "interval_90": [meant(end) for end in self.interval_90],
            "no_upper_bound": self.no_upper_bound or None,
            "look": self._look_to_json(),
            "smallest_that_matters": meant(self.smallest_that_matters),
            "verdict": None if self.withheld else self.verdict,
            "conditional": self.conditional or None,
            "answer_from": self.answer_from,
            "ranking": self.ranking or None,
            "hangs_on": self.hangs_on or None,
            "withheld": self.withheld or None,
            "assumption": self.assumption,
            "warnings": list(self.warnings),
            "rpm": {key: one.to_json() for key, one in self.rpm.items()} or None,
            "cautions": list(self.cautions),
        }

    def _look_to_json(self) -> dict[str, object] | None:
        if self.look is None:
            return None
        return {
            "number": self.look.number,
            "planned": self.look.planned,
            "limits": self.look.shape,
            "level": meant(self.level),
            "interval": [meant(end) for end in self.interval],
            "equivalence_level": meant(self.equivalence_level),
            "equivalence_interval": [meant(end) for end in self.equivalence_interval],
        }
