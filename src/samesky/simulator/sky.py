"""What does the sky do while the pilot flies?

Every quantity of the air follows a *course* through the campaign: a level, a trend and a curve through each day, a
trend that differs from day to day, a random walk, a step at some hour, a level of the day, and scatter from run to
run that may grow after mid-morning, as thermals do. The courses are drawn at the times of all runs of all measures
together, so that a roll and a climb flown minutes apart share the same air.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from samesky.simulator.aeroplane.airframe import GRASS

KNOT = 1852 / 3600


@dataclass(frozen=True, slots=True)
class Course:
    """How one quantity changes from run to run; all in its SI unit.

    Attributes
    ----------
    level : at hour ``since`` of every day
    rate, curve : per hour and per hour squared since then
    rate_scatter, curve_scatter : standard deviation of rate and curve from day to day
    walk : standard deviation of a random walk after one hour; it starts anew each day
    step : standard deviation of one step a day, at an hour drawn evenly between the day's first and last run
    day : standard deviation of the day's level
    scatter : standard deviation from run to run
    growth, growth_from : scatter added per hour after this hour of the day
    low : the value never falls below this
    """

    level: float = 0.0
    rate: float = 0.0
    curve: float = 0.0
    rate_scatter: float = 0.0
    curve_scatter: float = 0.0
    walk: float = 0.0
    step: float = 0.0
    day: float = 0.0
    scatter: float = 0.0
    growth: float = 0.0
    growth_from: float = 10.5
    since: float = 9.0
    low: float | None = None

    def draw(self, rng: np.random.Generator, hours: np.ndarray, campaigns: int) -> np.ndarray:
        """Values (campaigns, n) at ``hours`` (n,) [h] from the first midnight, in rising order."""
        day = np.floor(hours / 24).astype(int)
        _, day = np.unique(day, return_inverse=True)
        days, elapsed = int(day.max()) + 1 if len(hours) else 0, hours % 24 - self.since
        fixed = self.level + self.rate * elapsed + self.curve * elapsed**2
        value = np.broadcast_to(fixed, (campaigns, len(hours)))
        for sd, shape in ((self.day, 1.0), (self.rate_scatter, elapsed), (self.curve_scatter, elapsed**2)):
            if sd:
                value = value + rng.normal(0.0, sd, (campaigns, days))[:, day] * shape
        if self.step:
            value = value + self._steps(rng, hours, day, days, campaigns)
        if self.walk:
            value = value + self._walk(rng, hours, day, campaigns)
        if self.scatter or self.growth:
            spread = self.scatter + self.growth * np.maximum(hours % 24 - self.growth_from, 0.0)
            value = value + rng.standard_normal(value.shape) * spread
        return value.copy() if self.low is None else np.maximum(value, self.low)

    def _walk(self, rng, hours, day, campaigns) -> np.ndarray:
        gaps = np.diff(hours, prepend=hours[0])
        steps = rng.standard_normal((campaigns, len(hours))) * (self.walk * np.sqrt(gaps))
        walk = np.cumsum(steps, axis=1)
        first = np.searchsorted(day, day, side="left")
        return walk - walk[:, first]

    def _steps(self, rng, hours, day, days, campaigns) -> np.ndarray:
        first = np.array([hours[day == d].min() for d in range(days)])
        last = np.array([hours[day == d].max() for d in range(days)])
        when = first + (last - first) * rng.random((campaigns, days))
        size = rng.normal(0.0, self.step, (campaigns, days))
        return np.where(hours >= when[:, day], size[:, day], 0.0)


#: What the sky of the simulator is made of, with a quiet default. Wind is along the strip in use. ``power`` is the
#: share of its power that the engine gives: a change that no reading shows. ``friction`` is the rolling friction of
#: the surface. The unseen ones have no unit: each measure answers to them as its :class:`Unseen` says.
QUIET = {
    "temperature": Course(288.15),
    "pressure": Course(101325.0),
    "dew point": Course(281.15),
    "headwind": Course(0.0),
    "gust": Course(0.0),
    "crosswind": Course(0.0),
    "rising air": Course(0.0),
    "wind gradient": Course(0.0),
    "friction": Course(GRASS),
    "power": Course(1.0),
    "unseen slope": Course(),
    "unseen walk": Course(),
    "unseen day": Course(),
}


@dataclass(frozen=True, slots=True)
class SkyModel:
    """Courses by quantity; what is not named stays quiet. Raises ValueError for a quantity the sky does not have."""

    courses: Mapping[str, Course] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name in self.courses:
            if name not in QUIET:
                raise ValueError(f"the simulated sky has no {name!r}: expected one of {', '.join(QUIET)}")

    def draw(self, rng: np.random.Generator, hours: np.ndarray, campaigns: int) -> dict[str, np.ndarray]:
        """Every quantity (campaigns, n) at ``hours`` (n,), in any order."""
        order = np.argsort(hours, kind="stable")
        back = np.argsort(order, kind="stable")
        courses = {**QUIET, **self.courses}
        return {name: course.draw(rng, hours[order], campaigns)[:, back] for name, course in courses.items()}


@dataclass(frozen=True, slots=True)
class Unseen:
    """What no reading of one measure shows, and how steady its runs are.

    ``handle``: the course that it moves, ``"power"``, ``"friction"`` or ``"rising air"``, in whose unit are ``level``
    (always there), ``scatter`` (from run to run), ``slope`` (standard deviation an hour, a slope of its own each day),
    ``walk`` (after an hour) and ``day`` (of the day's level); drift is the same chance for all measures. ``fitting``:
    by how much each fitting changes the thrust. ``steadiness``: factor on what pilot, readings and gusts alone scatter.
    """

    handle: str
    level: float = 0.0
    scatter: float = 0.0
    slope: float = 0.0
    walk: float = 0.0
    day: float = 0.0
    fitting: float = 0.0
    steadiness: float = 1.0

    def moved(self, rng: np.random.Generator, air: Mapping[str, np.ndarray]) -> np.ndarray:
        """The handle's course (campaigns, n) of this measure."""
        course = air[self.handle]
        drift = self.slope * air["unseen slope"] + self.walk * air["unseen walk"] + self.day * air["unseen day"]
        return course + self.level + drift + self.scatter * rng.standard_normal(course.shape)


#: A working day in fair weather: warms, freshens, thermals after mid-morning. Sizes are assumed.
FAIR = SkyModel(
    {
        "temperature": Course(286.15, rate=1.1, walk=0.2, day=2.5),
        "pressure": Course(100600.0, rate_scatter=25.0, walk=12.0, day=500.0),
        "dew point": Course(280.65, walk=0.2, day=1.5),
        "headwind": Course(2.0, rate_scatter=0.25, walk=0.4, day=0.7, scatter=1.0 * KNOT),
        "gust": Course(0.8, scatter=0.4, low=0.0),
        "crosswind": Course(0.8, walk=0.4, day=0.7, scatter=0.4),
        "rising air": Course(0.0, scatter=0.06, growth=0.04),
        "wind gradient": Course(0.002, scatter=0.002),
        "friction": Course(GRASS, rate_scatter=0.0005, scatter=0.002, low=0.03),
        "power": Course(1.0, walk=0.002),
    }
)
