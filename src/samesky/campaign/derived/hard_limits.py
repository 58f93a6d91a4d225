"""Which limits does each configuration meet, whatever the runs say: balance, tips, noise?

From what was entered alone: where an arm, a clearance or a limit was not entered, that is said, and nothing is taken in
its place. The empty weight includes the baseline's part, as everywhere.

Caution: this arithmetic shows where to look. The aeroplane's weighing report, its papers and the people licensed to
change it decide what may be fitted and flown.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from samesky import units
from samesky.aeroplane.engine import propeller_speed
from samesky.aeroplane.propeller import tip_mach
from samesky.air.atmosphere import speed_of_sound
from samesky.campaign.derived.prepare import fuel_of
from samesky.campaign.messages.words import plain_name
from samesky.campaign.model.campaign import Campaign
from samesky.instruments.airspeed_indicator import INDICATED

#: Standard acceleration of free fall [m/s^2] (ISO 80000-3).
FREE_FALL = 9.80665
#: Air for the tips where no run has its temperature: the standard atmosphere at sea level [K] (ISO 2533).
STANDARD = 288.15


@dataclass(frozen=True, slots=True)
class HardLimit:
    """One limit and where one configuration stands to it [SI of ``dimension``].

    ``least`` and ``most`` are as entered, None where they were not; ``value`` is NaN where it cannot be said, and
    ``lacks`` then names what was not entered. ``note`` says at what it holds. ``name`` is one of :data:`NAMES`.
    """

    name: str
    configuration: str
    value: float
    dimension: str
    unit: str
    least: float | None = None
    most: float | None = None
    lacks: str = ""
    note: str = ""

    @property
    def broken(self) -> bool:
        """Whether the value lies outside a limit that was entered."""
        below = self.least is not None and self.value < self.least - 1e-9
        return below or (self.most is not None and self.value > self.most + 1e-9)

    @property
    def judged(self) -> bool:
        """Whether there are both a value and a limit."""
        return math.isfinite(self.value) and not (self.least is None and self.most is None)

    def to_json(self) -> dict[str, object]:
        """The same for machines, in ``unit``; null where a number was not entered."""
        return {
            "limit": self.name,
            "configuration": self.configuration,
            "value": _number(self, self.value),
            "unit": self.unit,
            "least": _number(self, self.least),
            "most": _number(self, self.most),
            "broken": self.broken if self.judged else None,
            "not_entered": self.lacks or None,
            "at": self.note or None,
        }


def _number(one: HardLimit, value: float | None) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return float(f"{float(units.from_si(value, one.unit, one.dimension)):.6g}")


@dataclass(frozen=True, slots=True)
class NoseChange:
    """What another configuration's part does to the balance, against the baseline's.

    ``mass`` by which it is heavier [kg], ``shift`` of the centre of gravity loaded [m, aft positive], ``tail_load``
    change of the load that the tail carries in steady level flight [N, up positive; NaN where the tail's arm was not
    entered], ``ballast`` at the ballast's arm that would give the baseline the same centre of gravity [kg]; negative:
    that this one needs to balance as the baseline does; NaN without that arm.
    """

    configuration: str
    mass: float
    shift: float
    tail_load: float
    ballast: float


def hard_limits(campaign: Campaign) -> list[HardLimit]:
    """Every limit of every configuration, limit by limit."""
    found = []
    for key in campaign.configurations:
        found += [*_balance(campaign, key), _clearance(campaign, key), _tips(campaign, key), _noise(campaign, key)]
    names = list(dict.fromkeys(one.name for one in found))
    return [one for name in names for one in found if one.name == name]


def fuel_carried(campaign: Campaign) -> tuple[float, float] | None:
    """Least and most fuel [kg] of runs and plan; None where none was entered."""
    amounts = [] if campaign.plan is None else [campaign.plan.fuel, campaign.plan.reserve]
    found = [one for one in amounts if one is not None]
    for table in campaign.tables.values():
        fuel = fuel_of(campaign, table)
        if fuel is not None and np.isfinite(fuel).any():
            found += [float(np.nanmin(fuel)), float(np.nanmax(fuel))]
    return (min(found), max(found)) if found else None


def _part(campaign: Campaign, key: str) -> tuple[float, float]:
    """Mass [kg] and moment [kg m] by which a configuration's part exceeds the baseline's; NaN without an arm."""
    base, own = campaign.configurations[campaign.baseline], campaign.configurations[key]
    if own.mass == base.mass and own.arm == base.arm:
        return 0.0, 0.0
    moments = [0.0 if one.mass == 0.0 else math.nan if one.arm is None else one.mass * one.arm for one in (own, base)]
    return own.mass - base.mass, moments[0] - moments[1]


def _weight_and_balance(campaign: Campaign, key: str, fuel: float | None) -> tuple[float, float]:
    """Mass [kg] and centre of gravity [m]: empty where ``fuel`` [kg] is None, else with stations and that fuel."""
    loading = campaign.loading
    if loading is None:
        return math.nan, math.nan
    mass, moment = _part(campaign, key)
    if fuel is None:
        empty_arm = math.nan if loading.empty_arm is None else loading.empty_arm
        before, balance = loading.empty_mass, empty_arm
    else:
        before, balance = float(loading.mass_at(fuel)), float(loading.cg_at(fuel))
    return before + mass, (before * balance + moment) / (before + mass)


def _balance(campaign: Campaign, key: str) -> list[HardLimit]:
    loading, fuels = campaign.loading, fuel_carried(campaign)
    unit = campaign.written_units.get("aeroplane.empty arm", "m")
    kilos = campaign.written_units.get("aeroplane.empty weight", "kg")
    lacks = "" if loading is not None else "[aeroplane]"
    mass, empty = _weight_and_balance(campaign, key, None)
    without = lacks or _arms_lacking(campaign, key, loaded=False)
    found = [HardLimit("centre of gravity, empty", key, empty, "length", unit, lacks=without)]
    if loading is None:
        return [*found, HardLimit("weight, loaded", key, math.nan, "mass", kilos, lacks=lacks)]
    missing = _arms_lacking(campaign, key, loaded=True)
    least_and_most = (("least", fuels[0]), ("most", fuels[1])) if fuels else (("no", 0.0),)
    for word, fuel in least_and_most:
        mass, balance = _weight_and_balance(campaign, key, fuel)
        note = f"stations and {word} fuel" + (f" ({fuel:.0f} kg)" if word != "no" else ", as none was entered")
        ends = (loading.cg_forward, loading.cg_aft)
        name = f"centre of gravity, loaded, {word} fuel"
        found.append(HardLimit(name, key, balance, "length", unit, *ends, lacks=missing, note=note))
    return [*found, HardLimit("weight, loaded", key, mass, "mass", kilos, None, loading.max_mass, note=note)]


def _arms_lacking(campaign: Campaign, key: str, loaded: bool) -> str:
    loading, own = campaign.loading, campaign.configurations[key]
    if loading is None:
        return ""
    if loading.empty_arm is None:
        return "empty_arm"
    if math.isnan(_part(campaign, key)[1]):
        return f"arm of {key}'s part" if own.arm is None and own.mass else f"arm of {campaign.baseline}'s part"
    if loaded:
        without = [name for name, (mass, arm) in loading.stations.items() if mass and arm is None]
        if without:
            return f"arm of {without[0]}"
        if loading.fuel_arm is None and fuel_carried(campaign) is not None:
            return "arm of the fuel"
    return ""


def nose_changes(campaign: Campaign) -> list[NoseChange]:
    """What each other configuration's part does to the balance; none where parts or arms were not entered.

    The load on the tail follows from moments about the baseline's centre of gravity, at one lift and airspeed: a change
    of mass ``dm`` at the part's arm x_p is carried by the tail as dm g (x_p - x_cg) / (x_t - x_cg). Ballast: weight
    times shift over the distance from the new centre of gravity to where it is secured (the ballast formula of
    FAA-H-8083-25, weight and balance).
    """
    loading, fuels = campaign.loading, fuel_carried(campaign)
    if loading is None:
        return []
    fuel = fuels[1] if fuels else 0.0
    weight, before = _weight_and_balance(campaign, campaign.baseline, fuel)
    found = []
    for key in campaign.configurations:
        mass, moment = _part(campaign, key)
        if key == campaign.baseline or (mass == 0.0 and moment == 0.0):
            continue
        after = _weight_and_balance(campaign, key, fuel)[1]
        if math.isnan(after):
            continue
        tail, at = loading.tail_arm, loading.ballast_arm
        load = math.nan if tail is None else FREE_FALL * (moment - mass * before) / (tail - before)
        ballast = math.nan
        if at is not None:
            ballast = weight * (after - before) / (at - after)
            if ballast < 0:
                ballast = -(weight + mass) * (before - after) / (at - before)
        found.append(NoseChange(key, mass, after - before, load, ballast))
    return found


def _clearance(campaign: Campaign, key: str) -> HardLimit:
    own, asked = campaign.configurations[key].tip_clearance, campaign.papers.tip_clearance
    unit = campaign.written_units.get(
        f"configuration.{plain_name(key)}.tip clearance", ""
    ) or campaign.written_units.get("papers.tip clearance", "cm")
    value = math.nan if own is None else own
    return HardLimit("tip clearance", key, value, "length", unit, asked, lacks="" if own is not None else "not entered")


def _noise(campaign: Campaign, key: str) -> HardLimit:
    own, asked = campaign.configurations[key].noise, campaign.papers.noise
    unit = campaign.written_units.get("papers.noise", "") or campaign.written_units.get(
        f"configuration.{plain_name(key)}.noise", "dB(A)"
    )
    value = math.nan if own is None else own
    lacks = "" if own is not None else "not entered"
    return HardLimit("noise", key, value, "sound level", unit, None, asked, lacks)


def _tips(campaign: Campaign, key: str) -> HardLimit:
    """The largest Mach number of the tips of all runs with an engine speed; of the limit, standing, without any."""
    diameter, engine = campaign.configurations[key].diameter, campaign.engine
    nothing = HardLimit("tip Mach", key, math.nan, "fraction", "1")
    if diameter is None:
        return _lacking(nothing, "diameter")
    top, where = math.nan, ""
    for table in campaign.tables.values():
        rpm = table.columns.get("rpm")
        if rpm is None:
            continue
        temperature = table.columns.get("oat", np.full(len(rpm), np.nan))
        sound = speed_of_sound(np.where(np.isfinite(temperature), temperature, STANDARD))
        speed = _airspeed(table.columns)
        mach = np.asarray(tip_mach(propeller_speed(rpm, engine.gear_ratio), diameter, sound, speed))
        rows = np.flatnonzero((table.configuration == key) & np.isfinite(mach))
        if rows.size and not mach[rows].max() <= top:
            row = rows[np.argmax(mach[rows])]
            top, air = float(mach[row]), float(np.where(np.isfinite(temperature), temperature, STANDARD)[row])
            where = f"{60.0 * rpm[row]:.0f} rpm, {air - 273.15:.0f} °C, {table.measure.title}"
    if math.isnan(top) and engine.speed_limit is not None:
        top = float(
            tip_mach(propeller_speed(engine.speed_limit, engine.gear_ratio), diameter, speed_of_sound(STANDARD))
        )
        where = f"the rpm limit of {60.0 * engine.speed_limit:.0f} rpm, standing, 15 °C"
    if math.isnan(top):
        return _lacking(nothing, "rpm")
    return HardLimit("tip Mach", key, top, "fraction", "1", note=where)


def _airspeed(columns: Mapping[str, np.ndarray]) -> np.ndarray | float:
    """Airspeed of each run [m/s] as far as it was read; the tips' own speed is some ten times as large."""
    for name in (*INDICATED, "airspeed"):
        if name in columns:
            return np.nan_to_num(columns[name])
    legs = [values for name, values in columns.items() if name.startswith("speed ")]
    if legs:
        # Ground speeds of legs spread round the compass: their mean is the airspeed to a knot or so.
        there = np.isfinite(legs)
        return np.where(there, legs, 0.0).sum(axis=0) / np.maximum(there.sum(axis=0), 1)
    return 0.0


def _lacking(one: HardLimit, what: str) -> HardLimit:
    return HardLimit(one.name, one.configuration, one.value, one.dimension, one.unit, lacks=what)
