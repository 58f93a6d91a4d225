"""How hard does it pull, tied down?

A scale between the tail and the ground. At full throttle the static pull of a fixed-pitch propeller follows the torque
of the engine (:mod:`samesky.measures.power`); weight does not matter, wind does: in a headwind the propeller turns at
an advance ratio J = w/(n D), thrust falls in proportion to it, and the wind pushes on the airframe with its square. In
5 kt that is some 2 % of the pull. Static pull resolves a propeller best and says least about flight: the blades are
partly stalled, and it matters for the first metres of the roll.

A pull above the bound of momentum theory (:func:`samesky.aeroplane.propeller.static_thrust`) is a mistake of reading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.aeroplane.kinds import TYPICAL_ND, Known
from samesky.air.constants import RHO0
from samesky.instruments.rigging import rigging
from samesky.instruments.unseen_drift import unseen_drift
from samesky.measures import conditions as given
from samesky.measures import power
from samesky.measures.columns import CROSSWIND, GUST, HEADWIND
from samesky.measures.shape import (
    Coefficient,
    Coefficients,
    Column,
    Limit,
    Measure,
    Runs,
    Sight,
    Sky,
    Step,
    ThrustView,
    Vantage,
    WorstDrift,
    has,
)

if TYPE_CHECKING:
    from samesky.arrays import Floats

PULL = "pull"

#: Prepared column: propeller speed times diameter [m/s], where both are known.
ND = "n D"


def coefficients(known: Known) -> tuple[Coefficient, ...]:
    """Of the wind, and of the air and the engine.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    rests = "run by run" if known.pull_speed_read else f"not known for every run: {TYPICAL_ND:.0f} m/s taken there"
    return (
        Coefficient(
            "wind loss",
            0.60,
            0.25 if known.pull_speed_read else 0.28,
            "c in thrust = thrust in calm (1 - c J), J = headwind / (propeller speed x diameter)",
            "0.24, 0.71 and 0.76 at constant torque, three open sets of model propellers (published/data/datasets); "
            f"n D {rests}",
        ),
        Coefficient(
            "drag area",
            0.60,
            0.25,
            "drag of the tied-down airframe over the dynamic pressure of the wind [m^2]",
            "assumed: two to four seats, struts and wheels in the wind",
        ),
        *power.static_pull(known),
    )


def reduce(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """Static pull [N] of every run, step by step, brought to the common sky.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name
    """
    steps = [Step("as flown", np.asarray(runs[PULL], dtype=float))]
    if given.both(runs, sky, "headwind"):
        steps.append(Step("wind", in_wind(in_calm(steps[-1].value, runs, runs, coefficients), runs, sky, coefficients)))
    if given.both(runs, sky, "oat", "pressure"):
        given.scaled(steps, power.CORRECTION, power.to_the_sky(runs, sky, coefficients))
    return steps


def in_calm(pull: Floats, runs: Runs, wind: given.Conditions, coefficients: Coefficients) -> Floats:
    """Pull [N] that would have been in calm air, of one in the headwind of ``wind``; NaN where no thrust is left.

    Parameters
    ----------
    pull : pull [N], (..., n)
    runs : prepared columns of the runs [SI], (..., n)
    wind : prepared columns with the headwind [m/s]
    coefficients : values of the coefficients, by name

    Returns
    -------
    ndarray
        [N], (..., n), the last axis the runs.
    """
    left = given.positive(_share(runs, wind, coefficients))
    return (pull + coefficients["drag area"] * _push(runs, wind)) / left


def in_wind(pull: Floats, runs: Runs, wind: given.Conditions, coefficients: Coefficients) -> Floats:
    """Pull [N] in the headwind of ``wind``, of one in calm air.

    Parameters
    ----------
    pull : pull [N], (..., n)
    runs : prepared columns of the runs [SI], (..., n)
    wind : prepared columns with the headwind [m/s]
    coefficients : values of the coefficients, by name

    Returns
    -------
    ndarray
        [N], (..., n), the last axis the runs.
    """
    return pull * _share(runs, wind, coefficients) - coefficients["drag area"] * _push(runs, wind)


def _share(runs: Runs, wind: given.Conditions, coefficients: Coefficients) -> Floats:
    speed = given.column_or_nan(runs, ND)
    return 1.0 - coefficients["wind loss"] * wind["headwind"] / np.where(np.isnan(speed), TYPICAL_ND, speed)


def _push(runs: Runs, wind: given.Conditions) -> Floats:
    """Dynamic pressure [Pa] of the headwind, from behind negative."""
    density = given.density(runs) if has(runs, "oat", "pressure") else RHO0
    return 0.5 * density * wind["headwind"] * np.abs(wind["headwind"])


def see(at: Vantage) -> Sight:
    """The pull itself, at the airspeed of the wind that it stood in.

    Parameters
    ----------
    at : where and how the measure sees the difference of thrust
    """
    air = has(at.sky, "oat", "pressure")
    return Sight(
        airspeed=max(0.0, float(at.sky.get("headwind", 0.0))),
        factor=1.0,
        density=float(given.density(at.sky)) if air else None,
    )


def _headwind(runs: Runs, sky: Sky) -> Floats:
    return given.column_or_nan(runs, "headwind")


MEASURE = Measure(
    name="static_pull",
    title="static pull",
    result="full-throttle static pull",
    dimension="force",
    unit="N",
    better="larger",
    ratio=True,
    columns=(
        Column(PULL, "force", "steady reading of the scale at full throttle", required=True, low=50.0, high=50_000.0),
        HEADWIND,
        GUST,
        CROSSWIND,
    ),
    conditions=("oat", "pressure", "dew point", "headwind"),
    corrections=("wind", "density"),
    reduce=reduce,
    needs={"wind": ("headwind",), "density": ("oat", "pressure")},
    coefficients=coefficients(Known()),
    coefficients_for=coefficients,
    said_for=power.said,
    limits=(
        Limit("wind", "is believed from 3 kt of tailwind to 10 kt of headwind", _headwind, -1.56, 5.2),
        Limit("density", "is believed within 8 % of the common density", given.density_ratio, 0.92, 1.08),
    ),
    assumptions=(
        "Full throttle, engine warm and settled; the pull line is level and in the aeroplane's plane of symmetry.",
        "Engine speed is a result of a fixed-pitch propeller and is not corrected: unequal static rpm between two "
        "ground-adjustable propellers is a difference of pitch setting, to be mended before the comparison.",
        "Static pull matters for the first metres of the roll and little after: it must not decide alone.",
    ),
    cautions=(
        "Two lines, either strong enough alone, with shackles and anchors rated for several times the pull; chocks a "
        "hand's breadth ahead of the wheels; brakes on until the first line is taut, feet over them from then on; "
        "nobody in line with a line or in the propeller's plane; one person whose only job is to call stop; a fire "
        "extinguisher at hand.",
        "A pilot at the controls, an observer in sight, hand signals agreed, magneto off before anyone walks in.",
        "Keep ground runs short: cooling is poor and loose stones ruin blades.",
    ),
    plausible=(100.0, 20_000.0),
    worst_drift=WorstDrift(
        0.04,
        "assumed: 5 kt of wind that come up within an hour unread take 1 to 3 % of the pull, a warming engine 1 %",
    ),
    shipped=(rigging(0.005), *unseen_drift(0.003, 0.003)),
    far_out=0.07,
    thrust=ThrustView(see),
)
