"""How hard does it gain speed on the take-off run?

Mean acceleration between two speeds over the ground, a = (v2 - v1)/t: the same run as a take-off roll, without the
pilot's lift-off and with little of the wind in it. A receiver in the cockpit records it for nothing (a straight line
through its fixes), a film of marker passages tells it, a stopwatch and a receiver's display tell it roughly.

On the wheels, with V = headwind + ground speed (USNTPS-FTM-108 (1992) sec. 9.3, from memory; any text),

    m a = T - D - mu (m g - L) - m g sin(slope),

so that with F = m (a + mu g) + m g sin(slope), the force beside rolling friction and slope:

* slope: a + g sin(slope), exactly;
* wind and ground speeds: a falls with the square of the airspeed, as exp(-c V^2/2). A knot of wind counts about 1 %,
  where it counts 5 % in the length of a roll;
* weight: (a + mu g) goes with 1/m. Rolling friction is no constant of nature: 0.02 on a hard surface to 0.10 in long
  grass, and its coefficient is wide; where weights are alike it hardly matters. That it changes while the grass dries
  is drift, and no correction;
* air: (a + mu g) goes with T - D + mu L, at one true airspeed (:func:`samesky.measures.power.ground_acceleration`).

Rotating parts (propeller, wheels) add a per cent or two to the mass that is accelerated, alike in all runs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.aeroplane.kinds import Known
from samesky.air.constants import G0
from samesky.instruments.airspeed_indicator import KNOT
from samesky.instruments.rigging import rigging
from samesky.instruments.unseen_drift import unseen_drift
from samesky.measures import conditions as given
from samesky.measures import power
from samesky.measures.columns import CROSSWIND, GUST, HEADWIND, RUNWAY, SLOPE
from samesky.measures.rolls import sine
from samesky.measures.shape import (
    WEIGHT_KNOWN,
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
    from samesky.arrays import Floats, Numbers

FIRST, SECOND, ELAPSED = "first ground speed", "second ground speed", "elapsed"
FRICTION, LOSS = "rolling friction", "loss with airspeed"

_ON_THE_WHEELS = (
    Coefficient(
        FRICTION,
        0.055,
        0.025,
        "mu, rolling friction of the wheels over the weight on them",
        "printed values run from 0.02 and 0.03 on a hard surface over 0.04 and 0.05 on hard turf to 0.10 in long grass "
        "(rows T5-054 to T5-066, some from memory); taken as rectangular",
    ),
    Coefficient(
        LOSS,
        0.0016,
        0.00035,
        "c in acceleration = that at a standstill x exp(-c V^2/2), V true airspeed [s^2/m^2]",
        "derived: thrust falls and drag grows with airspeed; 0.0012 to 0.0019 on eight computed aeroplanes, between a "
        "third and three quarters of the lift-off speed",
    ),
)


def coefficients(known: Known) -> tuple[Coefficient, ...]:
    """Of wheels and airspeed, and of the air and the engine.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    return (*_ON_THE_WHEELS, *power.ground_acceleration(known))


def as_flown(runs: Runs) -> Floats:
    """Mean acceleration [m/s^2] between the two ground speeds of every run (..., n).

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)

    Returns
    -------
    ndarray
        [m/s^2], (..., n), the last axis the runs.
    """
    return (np.asarray(runs[SECOND], dtype=float) - runs[FIRST]) / runs[ELAPSED]


def reduce(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """Acceleration [m/s^2] of every run, step by step, brought to the common sky.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name
    """
    steps = [Step("as flown", as_flown(runs))]
    rubbing, loss = coefficients[FRICTION] * G0, coefficients[LOSS]
    wind = runs["headwind"] if has(runs, "headwind") else 0.0
    if given.both(runs, sky, "slope"):
        steps.append(Step("slope", steps[-1].value + G0 * (sine(runs["slope"]) - sine(sky["slope"]))))
    if given.both(runs, sky, "headwind"):
        change = _mean_square(runs, runs["headwind"]) - _mean_square(runs, sky["headwind"])
        given.scaled(steps, "wind", np.exp(0.5 * loss * change))
        wind = sky["headwind"]
    if given.both(runs, sky, FIRST, SECOND):
        change = _mean_square(runs, wind) - _mean_square(sky, wind)
        given.scaled(steps, "ground speeds", np.exp(0.5 * loss * change))
    if given.both(runs, sky, "weight"):
        force = (steps[-1].value + rubbing) * given.weight_ratio(runs, sky)
        steps.append(Step("weight", force - rubbing))
    if given.both(runs, sky, "oat", "pressure"):
        force = (steps[-1].value + rubbing) * power.thrust_to_the_sky(runs, sky, coefficients)
        steps.append(Step(power.CORRECTION, force - rubbing))
    return steps


def see(at: Vantage) -> Sight | str:
    """Mass times acceleration, at the headwind and the mean of the two ground speeds.

    Parameters
    ----------
    at : where and how the measure sees the difference of thrust
    """
    if not {FIRST, SECOND} <= at.sky.keys():
        return "the two ground speeds are not known"
    air = has(at.sky, "oat", "pressure")
    return Sight(
        airspeed=float(at.sky.get("headwind", 0.0)) + float(_middle(at.sky)),
        factor=at.sky["weight"],
        density=float(given.density(at.sky)) if air else None,
        doubts={"weight": WEIGHT_KNOWN},
    )


def _middle(conditions: given.Conditions) -> Floats:
    """Mean [m/s] of the two ground speeds."""
    return 0.5 * (np.asarray(conditions[FIRST], dtype=float) + conditions[SECOND])


def _mean_square(conditions: given.Conditions, wind: Numbers) -> Floats:
    """Mean square of the airspeed [m^2/s^2] between the two ground speeds in a headwind [m/s]."""
    first, second = (np.asarray(conditions[name], dtype=float) + wind for name in (FIRST, SECOND))
    return (np.square(first) + first * second + np.square(second)) / 3.0


def _headwind(runs: Runs, sky: Sky) -> Floats:
    return given.column_or_nan(runs, "headwind")


def _gained(runs: Runs, sky: Sky) -> Floats:
    return np.asarray(runs[SECOND], dtype=float) - runs[FIRST]


def _away(runs: Runs, sky: Sky) -> Floats:
    """How far [m/s] the mean ground speed of each run is from that of the common sky."""
    return _middle(runs) - _middle(sky) if {FIRST, SECOND} <= sky.keys() else np.asarray(np.nan)


def _slope_share(runs: Runs, sky: Sky) -> Floats:
    """What the slope beyond that of the common sky takes (..., n), as a share of the acceleration."""
    return G0 * (given.column_or_nan(runs, "slope") - given.column_or_nan(sky, "slope")) / as_flown(runs)


MEASURE = Measure(
    name="ground_acceleration",
    title="acceleration on the ground",
    result="mean acceleration between two ground speeds",
    dimension="acceleration",
    unit="m/s^2",
    better="larger",
    ratio=True,
    columns=(
        Column(FIRST, "speed", "speed over the ground when the time began", required=True, low=1.0, high=60.0),
        Column(SECOND, "speed", "speed over the ground when the time ended", required=True, low=3.0, high=90.0),
        Column(ELAPSED, "time", "time from the one speed to the other", required=True, low=0.5, high=120.0),
        HEADWIND,
        GUST,
        CROSSWIND,
        SLOPE,
        RUNWAY,
    ),
    conditions=("oat", "pressure", "dew point", "weight", "headwind", "slope", FIRST, SECOND),
    corrections=("slope", "wind", "ground speeds", "weight", "density"),
    reduce=reduce,
    needs={
        "slope": ("slope",),
        "wind": ("headwind",),
        "ground speeds": (FIRST, SECOND),
        "weight": ("weight",),
        "density": ("oat", "pressure"),
    },
    explained={
        "slope": "to the slope of the common sky: g times the sine of the slope, exactly.",
        "wind": "to the headwind of the common sky: the acceleration falls with the square of the airspeed.",
        "ground speeds": "to the two ground speeds of the common sky, by the same law as the wind.",
        "weight": "to the weight of the common sky: acceleration and rolling friction together go with one over it.",
        "density": "to the air of the common sky, at one true airspeed: thrust and drag with density, thrust with the "
        "engine's power, by the pressure of the dry air and by temperature; rolling friction stays.",
    },
    coefficients=coefficients(Known()),
    coefficients_for=coefficients,
    said_for=power.said,
    limits=(
        Limit("slope", "is believed while it changes the acceleration by less than 10 %", _slope_share, -0.10, 0.10),
        Limit("wind", "is believed from 3 kt of tailwind to 10 kt of headwind", _headwind, -1.56, 5.2),
        Limit("ground speeds", "is believed within 3 kt of the common mean ground speed", _away, -3 * KNOT, 3 * KNOT),
        Limit("gain of speed", "is not made; time a gain of 8 kt to 60 kt", _gained, 8 * KNOT, 60 * KNOT),
        Limit("weight", "is believed within 10 % of the common weight", given.weight_ratio, 0.90, 1.10),
        Limit("density", "is believed within 10 % of the common density", given.density_ratio, 0.90, 1.10),
    ),
    assumptions=(
        "Full throttle, set before the first speed, all wheels on the ground and the same flap up to the second.",
        "Rolling friction is the same on every run: same strip, same line, grass neither wetter nor longer.",
        "The headwind is the mean over the run at the height of the wing.",
        "The two ground speeds are the same for all runs, within a knot or so.",
        "Engine speed is a result of a fixed-pitch propeller and is not corrected.",
    ),
    cautions=(
        "Keep tailwinds out of the test, know the accelerate-stop distance, and mark an abort point before flying.",
        "The pilot looks out and flies: a second person films the display or runs the watch, or a receiver records.",
        "Keep ground runs that are broken off short: brakes heat up, cooling is poor, loose stones ruin blades.",
    ),
    plausible=(0.3, 8.0),
    worst_drift=WorstDrift(
        0.06,
        "assumed: a headwind that freshens by 3 kt in an hour unread takes 3 % of the acceleration; grass that dries "
        "gives as much",
    ),
    shipped=(rigging(0.005), *unseen_drift(0.01, 0.007)),
    far_out=0.20,
    thrust=ThrustView(see, needs=("weight",)),
)
