"""What is simulated? Aeroplane, configurations, sky, pilot, readings and the flown order, all known, in one place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields

import numpy as np

from samesky.instruments.sources import ErrorSource
from samesky.simulator.aeroplane_model import Effect, SimAeroplane
from samesky.simulator.pilot import Pilot
from samesky.simulator.readings import shipped_readings
from samesky.simulator.schedule import RunPlan, Schedule
from samesky.simulator.sky import FAIR, SkyModel

FOOT = 0.3048


@dataclass(frozen=True, slots=True)
class Fitting:
    """What differs each time a configuration is fitted: standard deviations as fractions.

    ``pitch`` is the pitch-setting error of a ground-adjustable propeller (0.01 is about a quarter of a degree at three
    quarters of the radius, assumed), ``thrust`` anything else about the fitting that changes the thrust, ``drag``
    that changes the drag.
    """

    pitch: float = 0.0
    thrust: float = 0.0
    drag: float = 0.0


@dataclass(frozen=True, slots=True)
class Scenario:
    """A campaign with known truth.

    Attributes
    ----------
    effects : what each configuration really changes, by its key
    schedule : the flown order of each measure
    sources : the errors of the readings, with their scope
    ready_mass : aeroplane and crew without usable fuel and changed part [kg]; ``crew_scatter`` its scatter from day
        to day [kg]
    slope : of the strip, uphill positive
    climb, descent : from and to [m, pressure altitude]; altitude : of level flight [m, pressure altitude]
    tracks : of the legs of a level run [rad] where the speed is read by satellite; none means the airspeed indicator
    heading : of the strip [rad]; wind_aloft : wind at height over that along the strip
    unread : columns that the pilot does not write down
    """

    effects: Mapping[str, Effect]
    schedule: Schedule
    aeroplane: SimAeroplane = field(default_factory=SimAeroplane)
    sky: SkyModel = FAIR
    pilot: Pilot = field(default_factory=Pilot)
    sources: tuple[ErrorSource, ...] = field(default_factory=shipped_readings)
    fitting: Fitting = field(default_factory=Fitting)
    ready_mass: float = 505.0
    crew_scatter: float = 0.0
    slope: float = 0.0
    climb: tuple[float, float] = (1000 * FOOT, 2000 * FOOT)
    descent: tuple[float, float] = (3000 * FOOT, 2000 * FOOT)
    altitude: float = 2000 * FOOT
    tracks: tuple[float, ...] = ()
    heading: float = 0.0
    wind_aloft: float = 1.8
    unread: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        flown = {key for plan in self.schedule.values() for key in np.unique(plan.configuration)}
        if missing := sorted(flown - set(self.effects)):
            raise ValueError(f"the schedule flies {', '.join(missing)}, which the scenario does not describe")

    def effect_of(self, plan: RunPlan, fitted: Mapping[str, np.ndarray], power: np.ndarray) -> Effect:
        """The effect on each run of ``plan``: its configuration's, its fitting's, and the engine's of that moment.

        ``fitted`` holds factors (campaigns, installations) by field of :class:`Effect`; ``power`` is (campaigns, n).
        """
        values = {}
        for item in fields(Effect):
            own = np.array([getattr(self.effects[key], item.name) for key in plan.configuration])
            values[item.name] = own if np.any(own != own[0]) else own[0]
        for name, factors in fitted.items():
            values[name] = values[name] * factors[:, plan.installation]
        values["power"] = values["power"] * power
        return Effect(**values)
