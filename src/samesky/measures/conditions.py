"""What do several measures ask of the air?

Small helpers that read prepared columns: density of the air of some runs (or of the common sky), true airspeed in it,
the middle of an altitude band. A condition may be missing; each helper says what it then takes.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from samesky.air import airspeed, atmosphere, moisture
from samesky.measures.shape import Runs, Sky, Step, has

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

#: Runs or sky: prepared values by column name.
Conditions = Mapping[str, "Numbers"]


def both(runs: Runs, sky: Sky, *names: str) -> bool:
    """Whether runs and sky both know every named condition.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    *names : names of prepared columns
    """
    return has(runs, *names) and has(sky, *names)


def scaled(steps: list[Step], name: str, factor: Floats) -> None:
    """Add a step: the values (..., n) of the last one times a factor (..., n).

    Parameters
    ----------
    steps : the steps so far; the new one is put behind them
    name : name of the correction
    factor : factor on the last value [1], (..., n)
    """
    steps.append(Step(name, steps[-1].value * factor))


def column_or_nan(conditions: Conditions, name: str) -> Floats:
    """The named column (..., n) [SI], or a single NaN where nobody wrote it down.

    Parameters
    ----------
    conditions : prepared columns of runs or sky [SI], by name
    name : name of the column

    Returns
    -------
    ndarray
        [SI], (..., n) or ().
    """
    return np.asarray(conditions.get(name, np.nan), dtype=float)


def positive(value: Numbers) -> Floats:
    """The value, and NaN where it is not above zero (a power of it would mean nothing).

    Parameters
    ----------
    value : values [SI] of any shape

    Returns
    -------
    ndarray
        In the unit and shape of ``value``, (..., n).
    """
    value = np.asarray(value, dtype=float)
    return np.where(value > 0.0, value, np.nan)


def density(conditions: Conditions, pressure: Numbers | None = None) -> Floats:
    """Density of the air [kg/m^3] from oat, dew point (dry where blank) and ``pressure`` (else the column).

    Parameters
    ----------
    conditions : prepared columns of runs or sky [SI], by name
    pressure : static pressure [Pa], None for that of the conditions

    Returns
    -------
    ndarray
        [kg/m^3], (..., n), the last axis the runs.
    """
    static = conditions["pressure"] if pressure is None else pressure
    return moisture.density(static, conditions["oat"], conditions.get("dew point"))


def true_airspeed(calibrated: Numbers, conditions: Conditions, pressure: Floats | None = None) -> Floats:
    """True airspeed [m/s] of a calibrated one [m/s] in the air of ``conditions``.

    Moisture thins the air at given pressure and temperature: the compressible relation of dry air is scaled by the
    square root of the density ratio.

    Parameters
    ----------
    calibrated : calibrated airspeed [m/s], (..., n)
    conditions : prepared columns of runs or sky [SI], by name
    pressure : static pressure [Pa], None for that of the conditions

    Returns
    -------
    ndarray
        [m/s], (..., n), the last axis the runs.
    """
    static = conditions["pressure"] if pressure is None else pressure
    dry = moisture.density(static, conditions["oat"])
    return airspeed.cas_to_tas(calibrated, static, conditions["oat"]) * np.sqrt(dry / density(conditions, static))


def middle(conditions: Conditions) -> Floats:
    """Pressure altitude [m] of the middle of the band.

    Parameters
    ----------
    conditions : prepared columns of runs or sky [SI], by name

    Returns
    -------
    ndarray
        [m], (..., n), the last axis the runs.
    """
    return 0.5 * (np.asarray(conditions["from"], dtype=float) + np.asarray(conditions["to"], dtype=float))


def middle_pressure(conditions: Conditions) -> Floats:
    """Static pressure [Pa] at the middle of the band: what the altimeter itself measures.

    Parameters
    ----------
    conditions : prepared columns of runs or sky [SI], by name

    Returns
    -------
    ndarray
        [Pa], (..., n), the last axis the runs.
    """
    return atmosphere.pressure(middle(conditions))


def tapeline_ratio(conditions: Conditions) -> Floats:
    """True height per pressure altitude at the middle of the band.

    A layer of pressure is thick where the air is thin: dh/dHp = T/Ts with the absolute temperature T of the day and
    Ts of the standard atmosphere at that pressure altitude (hydrostatic equation), T being virtual in moist air.

    Parameters
    ----------
    conditions : prepared columns of runs or sky [SI], by name

    Returns
    -------
    ndarray
        [1], (..., n), the last axis the runs.
    """
    pressure = middle_pressure(conditions)
    dry = moisture.density(pressure, conditions["oat"])
    moist = density(conditions, pressure)
    return np.asarray(conditions["oat"]) / atmosphere.temperature(middle(conditions)) * dry / moist


def weight_ratio(runs: Runs, sky: Sky) -> Floats:
    """Weight over that of the common sky (..., n); NaN where unknown.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs

    Returns
    -------
    ndarray
        [1], (..., n).
    """
    return column_or_nan(runs, "weight") / column_or_nan(sky, "weight")


def density_ratio(runs: Runs, sky: Sky) -> Floats:
    """Density over that of the common sky (..., n); NaN where unknown.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs

    Returns
    -------
    ndarray
        [1], (..., n), the last axis the runs.
    """
    return density(runs) / density(sky) if both(runs, sky, "oat", "pressure") else np.asarray(np.nan)


def middle_density_ratio(runs: Runs, sky: Sky) -> Floats:
    """Density over that of the common sky (..., n) at the middle of a band of pressure altitude; NaN where unknown.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs

    Returns
    -------
    ndarray
        [1], (..., n), the last axis the runs.
    """
    if not both(runs, sky, "oat", "from", "to"):
        return np.asarray(np.nan)
    return density(runs, middle_pressure(runs)) / density(sky, middle_pressure(sky))
