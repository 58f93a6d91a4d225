"""How much fuel does a distance cost?

Fuel flow over true airspeed, shown as the fuel for a stated still-air distance (100 nautical miles unless the campaign
names another). Two propellers are compared at one airspeed: fuel for a distance follows drag, so with
k = (D0 - Di)/(D0 + Di), parasite drag D0 and induced drag Di,

    d ln(fuel)/d ln(V) = 2k,   d ln(fuel)/d ln(W) = 1 - k

at constant consumption per unit of work. At one calibrated airspeed and weight, drag does not depend on density: none
is corrected.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.instruments.rigging import rigging
from samesky.instruments.unseen_drift import unseen_drift
from samesky.measures import conditions as given
from samesky.measures import speeds
from samesky.measures.columns import AIRSPEED, ALTITUDE, FUEL_FLOW, LEGS
from samesky.measures.shape import Coefficient, Coefficients, Column, Limit, Measure, Runs, Sky, Step, WorstDrift, has
from samesky.measures.timed_climb import airspeed_ratio

if TYPE_CHECKING:
    from samesky.arrays import Numbers

#: 100 international nautical miles [m], over which the fuel is told.
HUNDRED_MILES = 185_200.0

COEFFICIENTS = (
    *speeds.COEFFICIENTS,
    Coefficient(
        "parasite excess",
        0.60,
        0.20,
        "k, parasite less induced drag over their sum, at cruising speed",
        "assumed: 0 at the speed of least drag, towards 1 well above it",
    ),
)


def reduce(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """Fuel [m^3] for the distance, every run, step by step, brought to the common sky.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name
    """
    k = coefficients["parasite excess"]
    work = np.asarray(runs["fuel flow"], dtype=float) * distance(sky)
    steps = [Step("as flown", work / speeds.as_shown(runs))]
    airspeed = speeds.true_of(runs, coefficients)
    if airspeed is not None:
        steps.append(Step("true airspeed", work / airspeed))
    if given.both(runs, sky, "airspeed"):
        given.scaled(steps, "airspeed", airspeed_ratio(runs, sky) ** (-2.0 * k))
    if given.both(runs, sky, "weight"):
        given.scaled(steps, "weight", given.weight_ratio(runs, sky) ** (k - 1.0))
    return steps


def distance(sky: Sky) -> Numbers:
    """Distance [m] over which the fuel is told.

    Parameters
    ----------
    sky : the common sky [SI], by column name; broadcasts against the runs

    Returns
    -------
    ndarray or float
        [m].
    """
    return sky["distance"] if has(sky, "distance") else HUNDRED_MILES


MEASURE = Measure(
    name="cruise_fuel",
    title="fuel in the cruise",
    result="fuel for 100 nautical miles in still air",
    dimension="volume",
    unit="L",
    better="smaller",
    ratio=True,
    columns=(
        Column("fuel flow", "volume flow", FUEL_FLOW.meaning, True, FUEL_FLOW.low, FUEL_FLOW.high),
        ALTITUDE,
        AIRSPEED,
        *LEGS,
    ),
    conditions=("altitude", "oat", "dew point", "weight", "airspeed"),
    corrections=("true airspeed", "airspeed", "weight"),
    reduce=reduce,
    needs={"true airspeed": ("altitude", "oat", "airspeed"), "airspeed": ("airspeed",), "weight": ("weight",)},
    coefficients=COEFFICIENTS,
    sources=speeds.SOURCES,
    limits=(
        Limit(
            "true airspeed",
            "from two legs wants reciprocal tracks, within 10 degrees",
            speeds.two_leg_angle,
            0.0,
            0.1745,
        ),
        Limit("airspeed", "is believed within 5 % of the common airspeed", airspeed_ratio, 0.95, 1.05),
        Limit("weight", "is believed within 10 % of the common weight", given.weight_ratio, 0.90, 1.10),
    ),
    assumptions=(
        "Level, settled, mixture set the same way; the air neither rises nor sinks.",
        "The same calibrated airspeed for both configurations; fuel per unit of work changes little nearby.",
        "Errors of the flow meter and of the airspeed system are common to all runs and cancel in the difference.",
        *speeds.ASSUMED,
    ),
    cautions=(
        "Lean only as the engine's handbook allows.",
        "A reduced figure is a comparison: plan fuel from the handbook, with its reserves.",
    ),
    plausible=(1e-3, 0.5),
    worst_drift=WorstDrift(
        0.05,
        "assumed: air that changes the speed by 2 % within an hour changes the fuel for it by 4 to 5 %, as "
        "its square or more",
    ),
    shipped=(rigging(0.005), *unseen_drift(0.005, 0.005)),
    far_out=0.12,
)
