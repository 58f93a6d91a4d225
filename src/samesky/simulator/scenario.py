"""What is simulated? Aeroplane, configurations, sky, pilot, readings and the flown order, all known, in one place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np

from samesky.instruments.sources import ErrorSource
from samesky.simulator.aeroplane.model import Effect, SimAeroplane
from samesky.simulator.pilot import Pilot
from samesky.simulator.readings import shipped_readings
from samesky.simulator.schedule import Schedule
from samesky.simulator.sky import FAIR, KNOT, SkyModel, Unseen

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
    ground_speeds : between which an acceleration on the ground is timed [m/s]; level_speeds : the same in level flight,
        calibrated airspeeds [m/s]; path_scatter : of the height over the way there, level as it is meant
    tracks : of the legs of a level run [rad] where the speed is read by satellite; none means the airspeed indicator
    heading : of the strip [rad]; wind_aloft : wind at height over that along the strip
    unread : columns that the pilot does not write down
    trim : by measure, factors that bring the aeroplane to the result that is expected of it, in every configuration
    unseen : by measure, what none of its readings shows
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
    ground_speeds: tuple[float, float] = (10 * KNOT, 28 * KNOT)
    level_speeds: tuple[float, float] = (60 * KNOT, 78 * KNOT)
    path_scatter: float = 0.004
    tracks: tuple[float, ...] = ()
    heading: float = 0.0
    wind_aloft: float = 1.8
    unread: frozenset[str] = frozenset()
    trim: Mapping[str, Effect] = field(default_factory=dict)
    unseen: Mapping[str, Unseen] = field(default_factory=dict)

    def __post_init__(self) -> None:
        flown = {key for plan in self.schedule.values() for key in np.unique(plan.configuration)}
        if missing := sorted(flown - set(self.effects)):
            raise ValueError(f"the schedule flies {', '.join(missing)}, which the scenario does not describe")

    def sources_of(self, measure: str) -> tuple[ErrorSource, ...]:
        """The errors of the readings of a measure, those of single runs as steady as the measure is flown."""
        own = self.unseen.get(measure)
        if own is None or own.steadiness == 1.0:
            return tuple(self.sources)
        return tuple(
            replace(one, standard_uncertainty=own.steadiness * one.standard_uncertainty) if one.scope == "run" else one
            for one in self.sources
        )

    def fitting_of(self, measure: str) -> dict[str, float]:
        """Standard deviations of a fitting, by field of :class:`Effect`."""
        own = self.unseen.get(measure)
        more = 0.0 if own is None else own.fitting
        return {
            "pitch": self.fitting.pitch,
            "thrust": float(np.hypot(self.fitting.thrust, more)),
            "drag": self.fitting.drag,
        }

    def effect_of(self, measure: str, fitted: Mapping[str, np.ndarray], power: np.ndarray) -> Effect:
        """The effect on each run of a measure: its configuration's, its fitting's, and the engine's of that moment.

        ``fitted`` holds standard normal values (campaigns, installations) by field of :class:`Effect`; ``power`` is
        (campaigns, n).
        """
        plan, sizes, trim = self.schedule[measure], self.fitting_of(measure), self.trim.get(measure)
        values: dict[str, Any] = {}  # one number for all runs, or one a run
        for item in fields(Effect):
            own = np.array([getattr(self.effects[key], item.name) for key in plan.configuration])
            values[item.name] = own if np.any(own != own[0]) else own[0]
        for name, chance in fitted.items():
            values[name] = values[name] * (1.0 + sizes[name] * chance[:, plan.installation])
        if trim is not None:
            values |= {name: values[name] * getattr(trim, name) for name in ("thrust", "drag")}
        values["power"] = values["power"] * power
        return Effect(**values)
