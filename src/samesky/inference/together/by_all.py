"""What does a measure come to by all measures, and what does each see of the excess thrust? Plain results."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from samesky.campaign.messages.phrases import meant

#: A measure whose own runs weigh more than this is told by them alone: nothing is gained by telling it twice (chosen).
ALONE = 0.98


@dataclass(frozen=True, slots=True)
class Point:
    """What one measure sees: true airspeed [m/s], difference of force [N] in the air of the ground, 95 % interval."""

    measure: str
    title: str
    airspeed: float
    force: float
    force_95: tuple[float, float]
    baseline_force: float
    aloft: bool


@dataclass(frozen=True, slots=True)
class ByAll:
    """One measure told by all of them, in the pilot's unit; as :class:`samesky.inference.result.Comparison`.

    ``shares`` are the weights of the measures in it, by name; ``airspeed`` [m/s] where it is told; ``flown`` whether it
    has runs of its own; ``standard_uncertainty`` and ``worst_drift``, the limit of hidden drift, near the difference.
    ``cheaper`` says which few runs of other measures would settle it, or that all do; empty where neither is so.
    """

    measure: str
    title: str
    unit: str
    difference: float
    percent: float
    interval_95: tuple[float, float]
    interval_90: tuple[float, float]
    percent_95: tuple[float, float]
    verdict: str
    conditional: str
    p: float
    airspeed: float
    shares: Mapping[str, float]
    flown: bool
    level: float = 0.95
    standard_uncertainty: float = math.nan
    degrees_of_freedom: float = math.nan
    worst_drift: float = 0.0
    cheaper: str = ""

    def to_json(self) -> dict[str, object]:
        """The fields promised to machines."""
        return {
            "percent": meant(self.percent),
            "percent_95": [meant(end) for end in self.percent_95],
            "difference": meant(self.difference),
            "difference_95": [meant(end) for end in self.interval_95],
            "unit": self.unit,
            "verdict": self.verdict,
            "conditional": self.conditional or None,
        }

    @property
    def adds(self) -> bool:
        """Whether other measures tell more of it than nothing."""
        return not self.flown or abs(self.shares.get(self.measure, 0.0)) <= ALONE
