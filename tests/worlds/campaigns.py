"""Campaigns of two configurations in the worlds, through the package's own way: read, prepare, reduce, compare, judge.

A :class:`Cell` says in which order is flown, what differs between the configurations beside the propeller, how wrong
the readings are and what drifts. Files are written once for a world and read by ``campaign.read``; the readings of all
its campaigns then take the way of ``compare`` many at once (as the rehearsal does), and a test holds some of them
against ``compare`` itself, one by one.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np

from samesky.campaign.messages.findings import sentences
from samesky.campaign.model.campaign import Campaign
from samesky.campaign.reading.read import read
from samesky.inference.comparison import flown_order, stated_parts
from samesky.inference.design import recognise
from samesky.inference.estimate import Estimate
from samesky.reduction.reduction import reduce_table
from samesky.rehearsal.flight import Ready, brought_together, judged
from samesky.rehearsal.script import Script
from tests.worlds.air import FOOT, KNOT, standard_temperature, vapour_pressure
from tests.worlds.corrections import World, truth_at
from tests.worlds.flown import Conditions, Errors, Order, columns, order, write
from tests.worlds.propellers import Propeller

#: Straight drift of a day, a share of the result an hour (standard deviation, new each day), and level of a day.
SLOPE = {"takeoff_roll": 0.02, "timed_climb": 0.01, "static_pull": 0.003, "level_speed": 0.003,
         "ground_acceleration": 0.006, "level_acceleration": 0.01}  # fmt: skip
LEVEL = {"takeoff_roll": 0.03, "timed_climb": 0.02, "static_pull": 0.01, "level_speed": 0.005,
         "ground_acceleration": 0.015, "level_acceleration": 0.02}  # fmt: skip
#: The column that a share of the result goes into, and its sign.
CARRIES = {"takeoff_roll": ("ground roll", 1), "timed_climb": ("elapsed", -1), "static_pull": ("pull", 1),
           "level_speed": ("airspeed", 1), "ground_acceleration": ("elapsed", -1),
           "level_acceleration": ("elapsed", -1)}  # fmt: skip


@dataclass(frozen=True)
class Cell:
    """One kind of campaign.

    Attributes
    ----------
    name, says : for the table
    measure : that is flown, or several
    letters : the order, ``|`` between days; ``fitted_anew`` where changing fits a part anew
    wind, height, warmer : by configuration: mean wind [kt], pressure altitude of the place or the middle of the band
        [ft], kelvin above the day
    slopes : how many times the drift of a day is what :data:`SLOPE` has
    freshening : kt an hour that the true wind rises unread
    levels : how many times the change of level from day to day is what :data:`LEVEL` has
    fittings : how many times as far fittings differ as usual; entered so
    readings : how many times as large as stated the errors of reading are
    changing : share by which the difference of the two changes from day to day (standard deviation)
    honest : whether power is held against standard methods: nothing is there that the order hides, the conditions of
        both are alike, and no ceiling takes part
    entered : whether an entered size or a ceiling takes part in the interval
    propellers : by configuration, a propeller of its own; the aeroplane's where there is none
    pitch : [rad], standard deviation of the blade angle of a fitting, shared by all measures
    better : share by which the other propeller is another one (:meth:`Propeller.better_by`), 0 for identical ones
    """

    name: str
    says: str
    measure: str | tuple[str, ...]
    letters: str
    fitted_anew: bool = True
    wind: Mapping[str, float] = field(default_factory=dict)
    height: Mapping[str, float] = field(default_factory=dict)
    warmer: Mapping[str, float] = field(default_factory=dict)
    slopes: float = 1.0
    freshening: float = 0.0
    changing: float = 0.0
    levels: float = 1.0
    fittings: float = 1.0
    readings: float = 1.0
    honest: bool = True
    entered: bool = False
    better: float = 0.0
    step: float = 0.17
    propellers: Mapping[str, Propeller] = field(default_factory=dict)
    pitch: float = 0.0

    @property
    def measures(self) -> tuple[str, ...]:
        return (self.measure,) if isinstance(self.measure, str) else self.measure

    @property
    def alike(self) -> bool:
        """Whether nothing but drift, fittings and errors makes the two differ: a method has to hold in all of these."""
        return not (self.wind or self.height or self.warmer or self.freshening or self.better or self.propellers)

    @property
    def order(self) -> Order:
        return order(self.letters, self.fitted_anew, step=self.step)


def flown(world: World, cell: Cell, campaigns: int, rng: np.random.Generator) -> dict[str, dict[str, np.ndarray]]:
    """Columns as read (campaigns, runs) [SI] by measure."""
    script, shared = cell.order, {}
    runs = len(script.letters)
    since = script.hours - script.hours.min()
    days = script.day
    shape = (campaigns, runs)
    # Hours since the run before of the same day; from day to day the level is new.
    gap = np.where(np.diff(days, prepend=-1) > 0, 0.0, np.diff(script.hours, prepend=script.hours[0]))
    # What measures of one campaign share: fittings and days.
    # What nobody takes off and puts back is not fitted anew.
    shared["fitting"] = (
        float(cell.fitted_anew) * rng.standard_normal((campaigns, script.block.max() + 1))[:, script.block]
    )
    if cell.pitch:
        shared["angle"] = cell.pitch * rng.standard_normal((campaigns, script.block.max() + 1))[:, script.block]
    shared["slope"] = rng.standard_normal((campaigns, days.max() + 1))[:, days] * since
    shared["level"] = rng.standard_normal((campaigns, days.max() + 1))[:, days]
    day_warmth = 4.0 * rng.standard_normal((campaigns, days.max() + 1))[:, days]
    dew = 281.0 + 3.0 * rng.standard_normal((campaigns, days.max() + 1))[:, days]
    found = {}
    for measure in cell.measures:
        climb = measure == "timed_climb"
        height = np.array([cell.height.get(letter, 1500.0 if climb else 800.0) for letter in script.letters]) * FOOT
        warmer = np.array([cell.warmer.get(letter, 0.0) for letter in script.letters])
        wind = np.array([cell.wind.get(letter, 4.0) for letter in script.letters]) * KNOT
        errors = Errors().times(cell.readings)
        c = Conditions(
            height=height + np.zeros(shape),
            oat=standard_temperature(height) + day_warmth + warmer + 1.0 * since + 0.3 * rng.standard_normal(shape),
            mass=world.plane.mass * 0.97 - 3.0 * np.arange(runs) + np.zeros(shape),
            vapour=vapour_pressure(np.minimum(dew, standard_temperature(height) + day_warmth + warmer - 1.0)),
            wind=wind + 1.0 * KNOT * rng.standard_normal(shape),
            lift_off=world.plane.lift_off + 1.0 * KNOT * rng.standard_normal(shape),
            rising=errors.rising * cell.readings * rng.standard_normal(shape) if climb else 0.0,
        )
        true = columns(world.plane, measure, replace(c, wind=c.wind + cell.freshening * KNOT * since))
        if cell.better:
            other = world.plane.with_propeller(world.plane.machine.propeller.better_by(cell.better))
            there = columns(other, measure, replace(c, wind=c.wind + cell.freshening * KNOT * since))
            true = {name: np.where(script.configuration == "A", true[name], there[name]) for name in true}
        for key in sorted(set(script.letters)) if cell.propellers else ():
            own = cell.propellers.get(key, world.plane.machine.propeller)
            there = columns(
                world.plane.with_propeller(own), measure, replace(c, wind=c.wind + cell.freshening * KNOT * since)
            )
            if cell.pitch:
                there = _set_off(world, own, measure, c, there, shared["angle"])
            true = {name: np.where(script.configuration == key, there[name], true[name]) for name in true}
        if "headwind" in true:
            true["headwind"] = c.wind
        walk = np.cumsum(rng.standard_normal(shape) * np.sqrt(gap), axis=1)
        changes = rng.standard_normal((campaigns, days.max() + 1))[:, days] * (script.configuration == "B")
        share = (
            cell.changing * changes
            + cell.fittings * errors.fitting[measure] * shared["fitting"]
            + cell.slopes * SLOPE[measure] * shared["slope"]
            + cell.levels * LEVEL[measure] * shared["level"]
            + errors.wandering[measure] * walk
        )
        column, sign = CARRIES[measure]
        true[column] = true[column] * np.exp(sign * share)
        if measure == "level_speed":
            true[column] = true[column] * (1.0 + 0.004 * cell.readings * rng.standard_normal(shape))
        found[measure] = errors.read(true, days, rng)
        # Nobody writes down a dew point above the temperature: it would be refused.
        found[measure]["dew point"] = np.minimum(found[measure]["dew point"], found[measure]["oat"])
    return found


def _set_off(
    world: World, own: Propeller, measure: str, c: Conditions, there: Mapping[str, np.ndarray], angle: np.ndarray
) -> dict[str, np.ndarray]:
    """The columns with every fitting's blades set off by its angle [rad], along the logarithm of each column."""
    step = np.radians(0.5)
    other = columns(world.plane.with_propeller(replace(own, turned=own.turned + step)), measure, c)
    column = CARRIES[measure][0]
    moved = {name: there[name] * (other[name] / there[name]) ** (angle / step) for name in (column, "rpm")}
    return {**there, **moved}


def campaign_of(
    world: World, cell: Cell, tables: Mapping[str, Mapping[str, np.ndarray]], margin: str = "0.1 %", extra: str = ""
) -> Campaign:
    """A campaign read from files that hold the mean of these columns (campaigns, runs)."""
    if cell.fittings != 1.0:
        size = cell.fittings * Errors().fitting[cell.measures[0]]
        extra += (
            f'\n[instrument.rigging]\ntarget = "result"\nstandard_uncertainty = "{100 * size:g} %"\n'
            'scope = "installation"\n'
        )
    typical = {name: {key: values.mean(axis=0) for key, values in one.items()} for name, one in tables.items()}
    with tempfile.TemporaryDirectory() as place:
        write(Path(place), world.plane, cell.order, typical, world.kind, extra, margin)
        campaign = read(Path(place))
    if set(campaign.tables) != set(tables):
        raise ValueError("\n".join(sentences(campaign.findings)))
    return campaign


def one_of(campaign: Campaign, tables: Mapping[str, Mapping[str, np.ndarray]], number: int) -> Campaign:
    """The campaign with the readings of one of many."""
    own = {
        name: replace(table, columns={key: tables[name][key][number] for key in table.columns})
        for name, table in campaign.tables.items()
    }
    return replace(campaign, tables=own)


@dataclass(frozen=True, eq=False)
class Judged:
    """Estimates and verdict codes of many campaigns, and the reduced runs (campaigns, n) on the scale of comparison."""

    estimate: Estimate
    code: np.ndarray
    reduced: np.ndarray
    design: str
    ratio: bool
    larger: bool


def judge(campaign: Campaign, measure: str, readings: Mapping[str, np.ndarray]) -> Judged:
    """One measure of many campaigns (campaigns, n), the way of ``compare``."""
    table = campaign.tables[measure]
    scene = SimpleNamespace(script=Script(campaign, "B", {measure: table}))
    used = np.ones(len(table.rows), dtype=bool)
    design = recognise(flown_order(campaign, table, used, "B"))
    parts = stated_parts(campaign, reduce_table(campaign, table), used)
    ready = Ready(table, design, parts, np.arange(len(table.rows)))
    own = {key: readings[key] for key in table.columns}
    estimate, code = judged(scene, measure, ready, own)
    larger = campaign.asked[measure].better == "larger"
    steps = brought_together(scene, table, own)[2]
    return Judged(estimate, code, table.measure.to_scale(steps[-1].value), design.name, table.measure.ratio, larger)


def truth(world: World, cell: Cell, measure: str, campaign: Campaign) -> float:
    """True difference B less A at the common sky of the typical campaign, on the scale of comparison."""
    if not cell.better:
        return 0.0
    reduction = reduce_table(campaign, campaign.tables[measure])
    spare = Conditions(800.0 * FOOT, 288.0, world.plane.mass, lift_off=world.plane.lift_off)
    other = world.plane.with_propeller(world.plane.machine.propeller.better_by(cell.better))
    ends = [truth_at(replace(world, plane=plane), measure, reduction, spare) for plane in (world.plane, other)]
    scaled = campaign.tables[measure].measure.to_scale(np.array(ends))
    return float(scaled[1] - scaled[0])
