"""How far can a reading be trusted, and what does one error have in common with the next?

An error source is a standard uncertainty with a *scope*: the set of runs that share one and the same error.
Reading error is new each run, a pitch setting is shared by an installation, a tape by the whole campaign.
What is shared by both configurations cancels in a difference; what is shared by one installation never averages
out with more runs on it. Follows the Guide to the expression of uncertainty in measurement (JCGM 100:2008), Type B
evaluation (clause 4.3); the scopes are this project's own addition.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

#: Runs that share one error of the source. The last two are drifts of the air that no reading shows.
SCOPES = ("run", "installation", "day", "campaign", "straight drift", "wandering")

#: The target of a source that acts on the reduced result itself rather than on one reading.
RESULT = "result"


@dataclass(frozen=True, slots=True)
class ErrorSource:
    """One cause of error in a measure.

    Attributes
    ----------
    name : what a pilot would call it, such as ``"stopwatch"``
    target : the column, coefficient or ``"result"`` that it disturbs
    standard_uncertainty : [SI unit of the target, or 1 where ``relative``]; for the two drift scopes on the result,
        per hour (``"straight drift"``) or per square root of an hour (``"wandering"``)
    scope : one of :data:`SCOPES`
    source : where the number comes from; ``"assumed"`` or ``"common practice"`` where print has none
    relative : the uncertainty is a fraction of the target's value
    about : [SI unit of the target] where relative, the value from which that fraction is counted; the error is zero
        there and changes its sign
    degrees_of_freedom : how well the uncertainty itself is known (infinite where it is taken as given)
    measures : names of the measures it applies to; empty means every measure that has the target
    """

    name: str
    target: str
    standard_uncertainty: float
    scope: str
    source: str
    relative: bool = False
    degrees_of_freedom: float = math.inf
    measures: tuple[str, ...] = ()
    about: float = 0.0

    def __post_init__(self) -> None:
        if self.scope not in SCOPES:
            raise ValueError(f"error source {self.name!r}: scope {self.scope!r} is none of {', '.join(SCOPES)}")
        if not self.standard_uncertainty >= 0:
            raise ValueError(f"error source {self.name!r}: the standard uncertainty must be zero or more")
        if not self.degrees_of_freedom > 0:
            raise ValueError(f"error source {self.name!r}: the degrees of freedom must be more than zero")

    def applies_to(self, measure: str) -> bool:
        """Whether the source acts on the measure of this name."""
        return not self.measures or measure in self.measures


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a tolerance of plus or minus ``half_width``: over root three (JCGM 100:2008, 4.3.7)."""
    return half_width / math.sqrt(3.0)
