"""How long is the ground roll?

A roll is a length that wind, slope, weight, air and above all the lift-off speed of the day change by more than two
good propellers differ. Near any one aeroplane, with V the true airspeed at lift-off and W the headwind,

    S = C m^a sigma^-b V^p (1 - W/V)^n,

and the slope enters through an energy balance. Each correction is one factor of that law, from the run's condition to
the common sky's, so none is counted twice:

* wind: at the run's own lift-off speed, through zero wind to the sky's headwind;
* slope: S_level = S / (1 + 2 g S sin(slope)/V_g^2), at the ground speed V_g, and back to the sky's slope;
* weight and density: at constant *calibrated* lift-off speed where it was read; the density exponent therefore holds
  the rise of true airspeed in thin air as well as the loss of power;
* lift-off airspeed: what is then left is the ratio of the calibrated speeds, both made true in the sky's air.

Where lift-off speed was not read, a heavier aeroplane is taken to be flown off faster (at one lift coefficient), and
the larger exponent of weight applies.

Why the exponents are what they are: for any acceleration a(V) that falls with speed, the roll S = integral of V/a dV
gives p = V^2/(a_LO S) >= 2 and n = V t/S <= 2, both 2 at constant acceleration.

Sources: USNTPS-FTM-108 (1992) sec. 9.3.1.4 and FAA AC 23-8C for form and order of the corrections (from memory);
FAA-H-8083-25A ch. 10 for weight; the rest is derived here and held against direct integration in the tests.
"""

from __future__ import annotations

import numpy as np

from samesky.air.atmosphere import G0
from samesky.measures import conditions as given
from samesky.measures.columns import CROSSWIND, GUST, HEADWIND, RUNWAY, SLOPE
from samesky.measures.shape import Coefficient, Coefficients, Column, Limit, Measure, Runs, Sky, Step, has

ROLL = "ground roll"
LIFT_OFF = "lift-off airspeed"

COEFFICIENTS = (
    Coefficient(
        "wind exponent",
        1.85,
        0.10,
        "n in (1 - headwind/lift-off speed)^n",
        "USNTPS-FTM-108 (1992) sec. 9.3.1.4.1 and FAA AC 23-8C, from memory (row T5-067); 2 at constant acceleration; "
        "1.92 in own simulation",
    ),
    Coefficient(
        "lift-off exponent",
        2.15,
        0.10,
        "p in (lift-off true airspeed)^p",
        "derived: 2 at constant acceleration, more where thrust falls with speed; 2.27 in own simulation",
    ),
    Coefficient(
        "weight exponent at read lift-off airspeed",
        1.20,
        0.15,
        "exponent of weight where lift-off airspeed is corrected by itself",
        "derived: 1 without rolling friction, more with it; 1.20 in own simulation; 1.3 from rows T5-051 and T5-052 "
        "less the part of lift-off speed",
    ),
    Coefficient(
        "weight exponent at unread lift-off airspeed",
        2.30,
        0.40,
        "exponent of weight where lift-off airspeed was not read",
        "2.3 from 440 ft at 2 400 lb and 575 ft at 2 700 lb, FAA-H-8083-25A (2008) p. 10-14 (rows T5-051, T5-052); "
        "2 by the square law (T5-050); wide enough for a pilot who keeps one airspeed",
    ),
    Coefficient(
        "density exponent",
        2.20,
        0.30,
        "exponent of density at constant calibrated lift-off speed",
        "2.4 for fixed-pitch and 1.9 for constant-speed propellers, AFFTC practice, from memory; 1.7 to 2.5 in own "
        "simulation, between two laws of engine power",
    ),
)


def reduce(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """Ground roll [m] of every run, step by step, brought to the common sky."""
    n, p = coefficients["wind exponent"], coefficients["lift-off exponent"]
    steps = [Step("as flown", np.asarray(runs[ROLL], dtype=float))]
    read = given.both(runs, sky, LIFT_OFF)
    indicated = lift_off_speed(runs, sky)
    speed = speed_in_sky = _true(indicated, runs)
    wind = runs["headwind"] if has(runs, "headwind") else 0.0
    if indicated is not None and given.both(runs, sky, "headwind"):
        given.scaled(steps, "wind", (given.positive(speed - sky["headwind"]) / given.positive(speed - wind)) ** n)
        wind = sky["headwind"]
    if indicated is not None and given.both(runs, sky, "slope"):
        steps.append(Step("slope", to_slope(steps[-1].value, speed - wind, runs["slope"], sky["slope"])))
    if given.both(runs, sky, "weight"):
        a = coefficients[f"weight exponent at {'read' if read else 'unread'} lift-off airspeed"]
        given.scaled(steps, "weight", (sky["weight"] / runs["weight"]) ** a)
    if given.both(runs, sky, "oat", "pressure"):
        factor = (given.density(runs) / given.density(sky)) ** coefficients["density exponent"]
        if indicated is not None:
            speed_in_sky = given.true_airspeed(indicated, sky)
            factor = factor * wind_factor(speed_in_sky, wind, n) / wind_factor(speed, wind, n)
        given.scaled(steps, "density", factor)
    if read:
        wanted = _true(sky[LIFT_OFF], sky) if given.both(runs, sky, "oat", "pressure") else sky[LIFT_OFF]
        factor = (wanted / speed_in_sky) ** p * wind_factor(wanted, wind, n) / wind_factor(speed_in_sky, wind, n)
        given.scaled(steps, LIFT_OFF, factor)
    return steps


def lift_off_speed(runs: Runs, sky: Sky) -> np.ndarray | None:
    """Calibrated lift-off speed [m/s]: as read on each run, else that of the common sky for all, else None."""
    for conditions in (runs, sky):
        if has(conditions, LIFT_OFF):
            return np.asarray(conditions[LIFT_OFF], dtype=float)
    return None


def wind_factor(speed: np.ndarray, headwind: np.ndarray, exponent: float) -> np.ndarray:
    """Share of the still-air roll that is left in a headwind [m/s], at true airspeed ``speed`` [m/s]; NaN if none."""
    return given.positive(1.0 - np.asarray(headwind) / speed) ** exponent


def to_slope(roll: np.ndarray, ground_speed: np.ndarray, slope: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """Roll [m] on slope ``wanted`` from a roll [m] on ``slope`` (fractions, uphill positive).

    Energy balance at a given ground speed at lift-off [m/s]: 1/S = 1/S_level - 2 g sin(slope)/V^2.
    """
    sines = [np.sin(np.arctan(grade)) for grade in (slope, wanted)]
    return 1.0 / given.positive(1.0 / roll + 2.0 * G0 * (sines[0] - sines[1]) / np.square(ground_speed))


def _true(indicated: np.ndarray | None, conditions: given.Conditions) -> np.ndarray | None:
    """True airspeed [m/s]; the calibrated one where the air was not written down."""
    if indicated is None or not has(conditions, "oat", "pressure"):
        return indicated
    return given.true_airspeed(indicated, conditions)


def headwind_share(runs: Runs, sky: Sky) -> np.ndarray:
    """Headwind as a share of lift-off airspeed; NaN where either is unknown."""
    speed = lift_off_speed(runs, sky)
    return given.column_or_nan(runs, "headwind") / (np.nan if speed is None else speed)


def _lift_off_ratio(runs: Runs, sky: Sky) -> np.ndarray:
    return given.column_or_nan(runs, LIFT_OFF) / given.column_or_nan(sky, LIFT_OFF)


def _slope_share(runs: Runs, sky: Sky) -> np.ndarray:
    speed = lift_off_speed(runs, sky)
    if speed is None:
        return np.full(np.shape(runs[ROLL]), np.nan)
    change = given.column_or_nan(runs, "slope") - given.column_or_nan(sky, "slope")
    return 2.0 * G0 * runs[ROLL] * change / np.square(speed - given.column_or_nan(runs, "headwind"))


MEASURE = Measure(
    name="takeoff_roll",
    title="take-off ground roll",
    result="ground roll from brake release to lift-off",
    dimension="length",
    unit="m",
    better="smaller",
    ratio=True,
    columns=(
        Column(ROLL, "length", "brake release to the last wheel off the ground", required=True, low=5.0, high=5_000.0),
        HEADWIND,
        GUST,
        CROSSWIND,
        Column(LIFT_OFF, "speed", "airspeed at lift-off, as indicated", low=5.0, high=120.0),
        SLOPE,
        RUNWAY,
    ),
    conditions=("oat", "pressure", "dew point", "weight", "headwind", "slope", LIFT_OFF),
    corrections=("wind", "slope", "weight", "density", LIFT_OFF),
    reduce=reduce,
    needs={
        "wind": ("headwind", LIFT_OFF),
        "slope": ("slope", LIFT_OFF),
        "weight": ("weight",),
        "density": ("oat", "pressure"),
        LIFT_OFF: (LIFT_OFF,),
    },
    coefficients=COEFFICIENTS,
    limits=(
        Limit("wind", "is believed for headwinds up to 10 % of lift-off airspeed", headwind_share, 0.0, 0.10),
        Limit("slope", "is believed while it changes the roll by less than 20 %", _slope_share, -0.20, 0.20),
        Limit("weight", "is believed within 5 % of the common weight", given.weight_ratio, 0.95, 1.05),
        Limit("density", "is believed within 5 % of the common density", given.density_ratio, 0.95, 1.05),
        Limit(LIFT_OFF, "is believed within 10 % of the common lift-off airspeed", _lift_off_ratio, 0.90, 1.10),
    ),
    assumptions=(
        "Rolling friction is the same on every run: same strip, same line, grass neither wetter nor longer.",
        "The headwind is the mean over the roll at the height of the wing.",
        "Full throttle from brake release, the same technique and flap setting; engine speed is a result, not corrected.",
        "Indicated airspeed is taken as calibrated; an error of the airspeed system common to all runs cancels.",
        "Lift-off airspeed that was not read on every run is taken to be that of the common sky, if that is given.",
        "Moisture changes density; its further effect on engine power is left out.",
    ),
    cautions=(
        "Keep tailwinds out of the test, know the accelerate-stop distance, and mark an abort point before the first run.",
        "Keep people and cameras clear of the strip and of the propeller's plane.",
        "The approved take-off data rule the flight; a reduced roll is a comparison, never a field-length promise.",
    ),
    plausible=(10.0, 3_000.0),
)
