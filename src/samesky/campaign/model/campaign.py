"""What did the pilot write down?

The campaign as read from its folder: plain data, SI inside, with the units the pilot chose kept beside it so that
answers come back in them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import numpy as np

from samesky.aeroplane.loading import Loading
from samesky.campaign.messages.errors import CampaignError
from samesky.campaign.messages.findings import Finding
from samesky.campaign.model.airspeed_system import AirspeedSystem
from samesky.campaign.model.papers import Papers
from samesky.campaign.model.plan_request import PlanRequest
from samesky.campaign.reading.files import named
from samesky.campaign.reading.film_file import FilmedRolls
from samesky.campaign.toml.section import FILE
from samesky.instruments.sources import ErrorSource
from samesky.measures.shape import Measure, StatedCoefficient


@dataclass(frozen=True, slots=True)
class Runway:
    """A strip: elevation [m], slope (fraction, uphill positive in the direction used), heading [rad, true], surface."""

    name: str
    elevation: float | None = None
    slope: float | None = None
    heading: float | None = None
    surface: str = ""


@dataclass(frozen=True, slots=True)
class Configuration:
    """One of the things compared: its key (``"A"``), label, and the changed part's mass [kg] and arm [m].

    ``own_speeds`` [m/s, calibrated], by column, are given where the change itself alters the airspeed that it is meant
    to be flown at (vortex generators, a flap setting): runs are then brought to their own configuration's.
    ``tip_clearance`` [m] of the propeller's tips from the ground and ``noise`` [dB] are as measured and entered.
    ``of`` names the propeller of which it is one setting, ``setting`` is the number of that setting in whatever the
    pilot counts (degrees, turns, marks).
    """

    key: str
    label: str
    mass: float = 0.0
    arm: float | None = None
    details: Mapping[str, str] = field(default_factory=dict)
    diameter: float | None = None
    own_speeds: Mapping[str, float] = field(default_factory=dict)
    tip_clearance: float | None = None
    noise: float | None = None
    of: str = ""
    setting: float | None = None


@dataclass(frozen=True, slots=True)
class EngineSettings:
    """Power [W] and rotational-speed limits [rev/s] of the engine; propeller turns at engine speed / ``gear_ratio``.

    ``power`` is given at ``rated_speed``; ``kind`` is one of :data:`samesky.aeroplane.kinds.ENGINES`, None where the
    campaign does not say.
    """

    power: float | None = None
    rated_speed: float | None = None
    kind: str | None = None
    speed_limit: float | None = None
    static_speed_low: float | None = None
    static_speed_high: float | None = None
    gear_ratio: float = 1.0


@dataclass(frozen=True, slots=True)
class AirReading:
    """How the air was read: ``wind_height`` above the ground of the wind readings, None at that of the wing
    (``wing_height``) [m]; ``ground_temperature`` where the temperatures of climbs were read on the ground.
    """

    wind_height: float | None = None
    wing_height: float = 1.5
    ground_temperature: bool = False


#: Which answer of a measure decides: that of its own runs, or that of all measures together; the first by default.
ANSWERS = ("own runs", "all measures")


@dataclass(frozen=True, slots=True)
class MeasureSettings:
    """What the campaign asks of one measure.

    ``smallest`` is the smallest difference that matters: a fraction of the baseline where ``smallest_is_fraction``,
    else [SI of the measure].
    ``answer_from`` says which answer decides, one of :data:`ANSWERS`; ``answer_fixed`` when that was fixed, as entered.
    """

    measure: Measure
    primary: bool
    smallest: float
    smallest_is_fraction: bool
    better: str
    unit: str
    smallest_text: str
    answer_from: str = "own runs"
    answer_fixed: date | None = None


@dataclass(frozen=True, slots=True)
class RunTable:
    """One measure's file, row by row in flown order.

    All arrays have length n, the number of rows; ``rows`` are their numbers in a spreadsheet. ``columns`` holds SI
    floats (NaN where blank; a column that is blank throughout is left out), fuel always as mass [kg]. ``text`` holds
    the words: ``run``, ``exclude``, ``notes``, ``pilot`` and ``runway`` are always there. ``units`` gives each
    column's unit as written (of fuel, perhaps one of volume). ``hours`` counts from the first midnight of the
    campaign; ``day`` and ``installation`` are counters from 0 through all tables of the campaign.
    """

    measure: Measure
    file: str
    rows: np.ndarray
    columns: Mapping[str, np.ndarray]
    text: Mapping[str, list[str]]
    units: Mapping[str, str]
    configuration: np.ndarray
    installation: np.ndarray
    day: np.ndarray
    hours: np.ndarray

    @property
    def included(self) -> np.ndarray:
        """Boolean (n,): runs that carry no reason for exclusion."""
        return np.array([not reason for reason in self.text["exclude"]], dtype=bool)


@dataclass(frozen=True, slots=True)
class UnflownRun:
    """One row that is planned and not flown yet (:mod:`samesky.campaign.reading.unflown` has the rule).

    ``measure`` by name; ``file``, and ``row`` as a spreadsheet shows it; ``run``, ``date`` (year-month-day, blank where
    not said) and ``configuration`` as in its cells; ``called_off`` the reason under ``exclude``; ``block`` and ``turn``
    of the plan as its notes begin, None where they do not; ``round``: how many of its turn stand before it in the file.
    """

    measure: str
    file: str
    row: int
    run: str
    date: str
    configuration: str
    called_off: str
    block: int | None
    turn: int | None
    round: int


@dataclass(frozen=True, slots=True)
class Campaign:
    """Everything a campaign folder says. ``fitted_anew``: changing configuration means fitting a part anew.

    ``airspeed_system`` is its calibration, None where none was flown: airspeeds as indicated are then taken as
    calibrated. ``unflown`` are rows that are planned and not flown yet: they are in no table. ``film`` is what was
    written down of filmed rolls, None where nothing was. ``propeller_kind`` is one of
    :data:`samesky.aeroplane.kinds.PROPELLERS`, None where the campaign does not say; ``coefficients`` are those that it
    states itself, by measure and name; ``day`` is its date where the file says that it was flown on one day,
    ``first_day`` the date from whose midnight the hours of its tables count. ``texts`` are its files as text by name,
    None for one that is no text; ``written_units`` the unit of each quantity in ``campaign.toml``, by its dotted name
    (``"aeroplane.empty weight"``). ``missions`` are the kinds of flying, each with what measures count in it;
    ``share_of_year`` how much of a year's flying is of each kind, where it was entered.
    """

    folder: Path | None
    title: str
    question: str
    baseline: str
    fitted_anew: bool
    swap_hours: float | None
    loading: Loading | None
    engine: EngineSettings
    runways: Mapping[str, Runway]
    configurations: Mapping[str, Configuration]
    asked: Mapping[str, MeasureSettings]
    sources: tuple[ErrorSource, ...]
    limits: Mapping[str, tuple[float | None, float | None]]
    reference: Mapping[str, float]
    missions: Mapping[str, Mapping[str, float]]
    tables: Mapping[str, RunTable]
    findings: tuple[Finding, ...] = ()
    plan: PlanRequest | None = None
    airspeed_system: AirspeedSystem | None = None
    unflown: tuple[UnflownRun, ...] = ()
    film: FilmedRolls | None = None
    propeller_kind: str | None = None
    air_reading: AirReading = AirReading()
    coefficients: Mapping[str, Mapping[str, StatedCoefficient]] = field(default_factory=dict)
    day: date | None = None
    first_day: date | None = None
    texts: Mapping[str, str | None] = field(default_factory=dict)
    written_units: Mapping[str, str] = field(default_factory=dict)
    share_of_year: Mapping[str, float] = field(default_factory=dict)
    papers: Papers = field(default_factory=Papers)

    def text_of(self, name: str) -> tuple[str, str] | None:
        """File and text of the table of that name, whatever its spelling; None where there is none.

        Raises CampaignError for a file that could not be read.
        """
        file = named(self.texts, name)
        return None if file is None else (file, self.must_be_text(file))

    @property
    def toml(self) -> str:
        """The text of ``campaign.toml``; blank for a campaign that was not read from one."""
        return self.must_be_text(FILE) if FILE in self.texts else ""

    def must_be_text(self, file: str) -> str:
        """The text of a file. Raises CampaignError where it could not be read."""
        text = self.texts[file]
        if text is None:
            raise CampaignError(next(one for one in self.findings if one.file == file and one.kind == "error"))
        return text
