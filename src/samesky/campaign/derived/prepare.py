"""What do the corrections need of each run, beyond what was written down?

Pressure from the altimeter setting and the strip, weight from the loading and the fuel, slope from the strip.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from samesky.aeroplane.kinds import ELECTRIC, STATIC_SHARE
from samesky.air import altimetry, atmosphere
from samesky.campaign.derived.air_reading import aloft, wind_share
from samesky.campaign.model.campaign import Campaign, RunTable, Runway
from samesky.instruments.airspeed_indicator import INDICATED
from samesky.measures.shape import Runs
from samesky.measures.static_pull import ND
from samesky.spellings import is_calibrated

#: The measure that stands in the wind, tied down.
STATIC = "static_pull"


def prepare(campaign: Campaign, table: RunTable) -> Runs:
    """Prepared columns of every run of a table [SI], each of shape (n,); NaN where a run lacks a reading.

    To the columns as read (fuel as mass) are added, where what they follow from is there:

    ``pressure`` : static pressure at the run [Pa]: from the run's own pressure altitudes (the middle of a band), else
        from ``pressure altitude``, else from ``qnh`` and the strip's elevation
    ``weight`` : mass of the aeroplane [kg] from its loading, the fuel at the start of the run, the changed part and
        ballast
    ``slope`` : of the strip, uphill positive
    ``n D`` : propeller speed times diameter [m/s], of runs on the ground

    and airspeeds as indicated become calibrated ones, where the campaign knows its airspeed system; winds read at
    another height become those at the wing, and temperatures read on the ground those in the middle of a band
    (:mod:`samesky.campaign.derived.air_reading`): here and nowhere else. A column in
    KCAS holds calibrated ones already.
    """
    runs = {name: np.asarray(values, dtype=float) for name, values in table.columns.items()}
    if campaign.airspeed_system is not None:
        for name in INDICATED:
            if name in runs and not is_calibrated(table.units.get(name)):
                runs[name] = campaign.airspeed_system.correct(runs[name])
    if "headwind" in runs:
        runs["headwind"] = runs["headwind"] * wind_share(campaign.air_reading)
    if "oat" in runs and "from" in runs and "to" in runs:
        runs["oat"] = runs["oat"] + aloft(campaign.air_reading, runs, elevations(campaign, table))
    computed_columns = (("pressure", _pressure), ("weight", _weight), ("slope", _slope), (ND, _propeller_speed))
    for name, computed in computed_columns:
        if name not in runs:
            values = computed(campaign, table)
            if values is not None and not np.all(np.isnan(values)):
                runs[name] = values
    return runs


def why_missing(campaign: Campaign, table: RunTable, name: str) -> str:
    """In words, why a prepared column is absent, or absent for some runs."""
    if name == "pressure":
        if "qnh" in table.columns:
            return "the pressure is not known: qnh is there, but the elevation of the runway is not"
        return "the pressure is not known: there is neither pressure altitude nor qnh"
    if name == "weight":
        if campaign.loading is None:
            return "the weight is not known: campaign.toml has no [aeroplane] table with the empty weight"
        return "the weight is not known: there is no column 'fuel'"
    if name == "slope":
        return "the slope is not known: no [runway] in campaign.toml gives it for these runs"
    return f"there is no column {name!r}" if name not in table.columns else f"{name!r} is blank in some runs"


def strip_of(campaign: Campaign, table: RunTable, index: int) -> Runway | None:
    """The strip of one run: as named in its row, else the campaign's only one, else None."""
    name = table.text["runway"][index] if "runway" in table.text else ""
    if name:
        return campaign.runways.get(name)
    return next(iter(campaign.runways.values())) if len(campaign.runways) == 1 else None


def _of_strip(campaign: Campaign, table: RunTable, value: Callable[[Runway], float | None]) -> np.ndarray:
    strips = [strip_of(campaign, table, index) for index in range(len(table.rows))]
    found = [None if strip is None else value(strip) for strip in strips]
    return np.array([np.nan if one is None else one for one in found], dtype=float)


def elevations(campaign: Campaign, table: RunTable) -> np.ndarray:
    """Elevation [m] of each run's strip (n,); NaN where it is not known."""
    return _of_strip(campaign, table, lambda strip: strip.elevation)


def _pressure(campaign: Campaign, table: RunTable) -> np.ndarray | None:
    columns = table.columns
    if "from" in columns and "to" in columns:
        return atmosphere.pressure(0.5 * (columns["from"] + columns["to"]))
    for name in ("altitude", "pressure altitude"):
        if name in columns:
            return atmosphere.pressure(columns[name])
    if "qnh" in columns:
        return altimetry.static_pressure(columns["qnh"], elevations(campaign, table))
    return None


def _slope(campaign: Campaign, table: RunTable) -> np.ndarray:
    return _of_strip(campaign, table, lambda strip: strip.slope)


def part_change(campaign: Campaign, table: RunTable) -> tuple[np.ndarray, np.ndarray]:
    """Mass [kg] and moment [kg m] by which each run's changed part exceeds the baseline's, each (n,).

    The empty weight of the aeroplane includes the baseline's part. The moment is NaN where an arm is not known.
    """
    base = campaign.configurations[campaign.baseline]

    def moment(mass: float, arm: float | None) -> float:
        return 0.0 if mass == 0.0 else np.nan if arm is None else mass * arm

    mass_by_key, moment_by_key = {}, {}
    for key, one in campaign.configurations.items():
        mass_by_key[key] = one.mass - base.mass
        same = one.mass == base.mass and one.arm == base.arm
        moment_by_key[key] = 0.0 if same else moment(one.mass, one.arm) - moment(base.mass, base.arm)
    return (
        np.array([mass_by_key[key] for key in table.configuration], dtype=float),
        np.array([moment_by_key[key] for key in table.configuration], dtype=float),
    )


def _weight(campaign: Campaign, table: RunTable) -> np.ndarray | None:
    fuel = fuel_of(campaign, table)
    if campaign.loading is None or fuel is None:
        return None
    return campaign.loading.mass_at(fuel, part_change(campaign, table)[0] + ballast(table))


def fuel_of(campaign: Campaign, table: RunTable) -> np.ndarray | None:
    """Fuel [kg] of each run (n,); None where nobody wrote it down. An electric aeroplane burns none."""
    if "fuel" not in table.columns and campaign.engine.kind == ELECTRIC:
        return np.zeros(len(table.rows))
    return table.columns.get("fuel")


def _propeller_speed(campaign: Campaign, table: RunTable) -> np.ndarray | None:
    """n D [m/s] of each run of a measure that stands in the wind; NaN where rpm and their likes, or diameter, lack."""
    if table.measure.name != STATIC:
        return None
    engine, columns = campaign.engine, table.columns
    low, high = engine.static_speed_low, engine.static_speed_high
    usual = 0.5 * (low + high) if low is not None and high is not None else low or high
    if usual is None and engine.speed_limit is not None:
        usual = STATIC_SHARE * engine.speed_limit
    read = columns.get("rpm", np.full(len(table.rows), np.nan))
    speed = np.where(np.isnan(read), np.nan if usual is None else usual, read)
    diameter = [campaign.configurations[key].diameter for key in table.configuration]
    return speed / engine.gear_ratio * np.array([np.nan if one is None else one for one in diameter], dtype=float)


def ballast(table: RunTable) -> np.ndarray:
    """Ballast [kg] of each run (n,), beyond the stations of the aeroplane; none where it is blank."""
    return np.nan_to_num(table.columns.get("ballast", np.zeros(len(table.rows))))


def centre_of_gravity(campaign: Campaign, table: RunTable) -> np.ndarray | None:
    """Centre of gravity of each run [m aft of datum] (n,), NaN where an arm is not known; None without loading.

    Where the ballast sat is not written down, so runs with ballast have none.
    """
    fuel = fuel_of(campaign, table)
    if campaign.loading is None or fuel is None:
        return None
    mass, moment = part_change(campaign, table)
    before = campaign.loading.mass_at(fuel)
    balance = (campaign.loading.cg_at(fuel) * before + moment) / (before + mass)
    return np.where(ballast(table) > 0, np.nan, balance)
