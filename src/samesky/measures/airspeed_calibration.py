"""By how much does the airspeed system lie, run by run?

Not a measure of configurations but one of the instrument, of the same shape, so that its file is read and its errors
are found like all others: calibrated airspeed from ground speeds and tracks of three or more legs, less what the
indicator showed. :mod:`samesky.instruments.position_error` fits it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.air import airspeed, altimetry, atmosphere, moisture
from samesky.instruments.airspeed_indicator import KNOT
from samesky.instruments.sources import ErrorSource
from samesky.measures import speeds
from samesky.measures.columns import AIRSPEED, COMMON, LEGS, MOST_LEGS
from samesky.measures.shape import Coefficients, Column, Measure, Runs, Sky, Step, has

if TYPE_CHECKING:
    from samesky.arrays import Floats

_COMMON = {column.name: column for column in COMMON}


def static_pressure(runs: Runs) -> Floats | None:
    """Static pressure [Pa] (..., n): from ``pressure altitude``, else from ``altitude`` and the setting that ``qnh``
    gives (standard where it is absent); None without any altitude.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)

    Returns
    -------
    ndarray or None
        [Pa], (..., n).
    """
    if has(runs, "pressure altitude"):
        return atmosphere.pressure(runs["pressure altitude"])
    if not has(runs, "altitude"):
        return None
    if has(runs, "qnh"):
        return altimetry.static_pressure(runs["qnh"], runs["altitude"])
    return atmosphere.pressure(runs["altitude"])


def reduce(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """Calibrated minus indicated airspeed [m/s] (..., n); NaN where the legs cannot tell airspeed from wind.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name

    Raises
    ------
    ValueError
        Without legs or without an altitude.
    """
    indicated = np.asarray(runs["airspeed"], dtype=float)
    flown, pressure = speeds.legs_of(runs), static_pressure(runs)
    if flown is None or pressure is None:
        raise ValueError("the position error needs ground speeds and tracks of legs, and an altitude")
    tas = speeds.from_legs(*flown)
    # Moisture thins the air: the relation of dry air, scaled as in samesky.measures.conditions.true_airspeed.
    dry = moisture.density(pressure, runs["oat"])
    tas = tas / np.sqrt(dry / moisture.density(pressure, runs["oat"], runs.get("dew point")))
    steps = [Step("as flown", tas - indicated)]
    return [*steps, Step("calibrated", airspeed.tas_to_cas(tas, pressure, runs["oat"]) - indicated)]


CALIBRATION = Measure(
    name="position_error",
    title="position error of the airspeed system",
    result="calibrated minus indicated airspeed",
    dimension="speed",
    unit="kt",
    better="smaller",
    ratio=False,
    columns=(
        Column("date", "text", "day of the run; may be left out"),
        Column("clock", "text", "time of day; may be left out"),
        Column("configuration", "text", "key of the configuration flown; may be left out"),
        Column(AIRSPEED.name, "speed", AIRSPEED.meaning, required=True, low=AIRSPEED.low, high=AIRSPEED.high),
        Column("oat", "temperature", _COMMON["oat"].meaning, True, _COMMON["oat"].low, _COMMON["oat"].high),
        Column(
            "altitude",
            "length",
            "altimeter reading, with the setting that stands in 'qnh', else with 1013.25 hPa",
            low=-600.0,
            high=8_000.0,
        ),
        *LEGS,
    ),
    conditions=(),
    corrections=("calibrated",),
    reduce=reduce,
    needs={"calibrated": ("airspeed", "oat", "altitude")},
    sources=tuple(
        ErrorSource(
            f"airspeed and wind not alike on leg {leg}",
            f"speed {leg}",
            0.7 * KNOT,
            "run",
            "assumed: 0.7 kt; printed four-leg points scatter by 0.0 to 0.7 kt (rows T4-041 to T4-065)",
        )
        for leg in range(1, MOST_LEGS + 1)
    ),
    assumptions=(
        "One true airspeed, one height and one wind on all legs of a run; tracks, not headings, of one north.",
        "Level flight at the weight and the flap setting of the campaign, or near them.",
    ),
)
