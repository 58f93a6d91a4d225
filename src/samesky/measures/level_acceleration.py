"""How hard does it gain speed in level flight?

Full throttle before the first of two airspeeds, and the time to the second; the height at both ends, because a few feet
lent or borrowed count as speed: 10 ft are 1.4 kt at 80 kt (USNTPS-FTM-108 (1992) Eq 7.1: energy height h + V^2/2g). In
still air and at one weight it is the excess thrust over the mass at the mean airspeed, between climb and top speed:

    a = (V2 - V1)/t + g dh/(V t),   m a = T - D.

* true airspeed: both airspeeds made true in the air of the run;
* height: dh is tapeline height, dHp T/Ts as in a climb, V the mean in time;
* airspeed: with X, thrust over excess thrust, and v, airspeed over the mean, the excess goes with
  X v^-tau - (X - 1) ((1 - i) v^2 + i v^-2), i being the induced share of the drag; its mean in time is taken between
  the two airspeeds of the run and between those of the common sky;
* weight: a goes with the power -1 - 2 i (X - 1) of it;
* air: at one calibrated airspeed drag stays and thrust goes with the engine's power
  (:func:`samesky.measures.power.level_acceleration`): a = a_sky (1 + X (thrust/thrust_sky - 1)).

X follows from power, weight and the measured acceleration where the campaign knows them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.aeroplane.kinds import Known
from samesky.air import atmosphere, moisture
from samesky.air.constants import G0
from samesky.instruments.rigging import rigging
from samesky.instruments.sources import RESULT, ErrorSource
from samesky.instruments.unseen_drift import unseen_drift
from samesky.measures import conditions as given
from samesky.measures import power, speeds
from samesky.measures.columns import ALTITUDE
from samesky.measures.shape import (
    AIRSPEED_KNOWN,
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
    from samesky.arrays import Floats

FIRST, SECOND, ELAPSED, END = "first airspeed", "second airspeed", "elapsed", "end altitude"
EXCESS, INDUCED, FALL = "thrust over excess", "induced share", "thrust exponent"
#: Points between the two airspeeds at which the excess is taken, and the least share of the mean that is left of it.
_POINTS, _LEAST = np.polynomial.legendre.leggauss(6), 0.1


def coefficients(known: Known) -> tuple[Coefficient, ...]:
    """Of thrust and drag, and of the air and the engine.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    x, u, source = known.level_excess()
    return (
        Coefficient(EXCESS, x, u, "X, thrust over the force that accelerates, at the mean airspeed", source),
        Coefficient(
            INDUCED,
            0.34,
            0.05,
            "induced share of the drag at the mean airspeed",
            "assumed: 0.29 to 0.38 in own computations, from climbing speed half of the way to top speed",
        ),
        Coefficient(
            FALL,
            -0.65,
            0.15,
            "-tau, exponent of airspeed in the thrust",
            "derived: -0.52 to -0.87 in own computations; -1 at constant thrust power",
        ),
        *power.level_acceleration(known),
    )


def reduce(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """Acceleration [m/s^2] of every run, step by step, brought to the common sky.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name
    """
    elapsed = np.asarray(runs[ELAPSED], dtype=float)
    steps = [Step("as flown", (np.asarray(runs[SECOND], dtype=float) - runs[FIRST]) / elapsed)]
    x = coefficients[EXCESS]
    first, second = true_speeds(runs)
    if has(runs, "oat", "altitude"):
        steps.append(Step("true airspeed", (second - first) / elapsed))
    if has(runs, END, "altitude"):
        path = 2.0 * height_gained(runs) / ((first + second) * elapsed)
        steps.append(Step("height", steps[-1].value + G0 * path * _of_a_path(runs, coefficients)))
    if given.both(runs, sky, FIRST, SECOND):
        there, here = (_mean_share(one, sky, coefficients) for one in (sky, runs))
        given.scaled(steps, "airspeed", there / here)
    if given.both(runs, sky, "weight"):
        exponent = -1.0 - 2.0 * coefficients[INDUCED] * (x - 1.0)
        given.scaled(steps, "weight", given.weight_ratio(runs, sky) ** -exponent)
    if given.both(runs, sky, "oat", "altitude"):
        thrust = power.thrust_to_the_sky(runs, sky, coefficients, speeds.pressure_of)
        given.scaled(steps, power.CORRECTION, 1.0 / given.positive(1.0 + x * (1.0 / thrust - 1.0)))
    return steps


def true_speeds(runs: given.Conditions) -> tuple[Floats, Floats]:
    """The two airspeeds [m/s], true where the air is known, else as they are; each (..., n).

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)

    Returns
    -------
    tuple[ndarray, ndarray]
        [m/s], (..., n), the last axis the runs.
    """
    found = [np.asarray(runs[name], dtype=float) for name in (FIRST, SECOND)]
    if has(runs, "oat", "altitude"):
        found = [given.true_airspeed(one, runs, speeds.pressure_of(runs)) for one in found]
    return found[0], found[1]


def height_gained(runs: Runs | Sky) -> Floats:
    """Tapeline height [m] gained from the first airspeed to the second (..., n); that of the altimeter without oat.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)

    Returns
    -------
    ndarray
        [m], (..., n), the last axis the runs.
    """
    gained = np.asarray(runs[END], dtype=float) - runs["altitude"]
    if not has(runs, "oat"):
        return gained
    pressure = speeds.pressure_of(runs)
    dry, moist = moisture.density(pressure, runs["oat"]), given.density(runs, pressure)
    return gained * np.asarray(runs["oat"]) / atmosphere.temperature(runs["altitude"]) * dry / moist


def _on_the_way(
    marks: given.Conditions, about: given.Conditions, coefficients: Coefficients
) -> tuple[Floats, Floats, Floats]:
    """Airspeeds [m/s] at points between the two of ``marks``, the shares of the points, and how slowly it gains speed
    there, the acceleration at the mean of the two of ``about`` over that at the point; each (..., n, points).
    """
    x, induced, fall = (np.asarray(coefficients[name])[..., None] for name in (EXCESS, INDUCED, FALL))
    first, second = (np.asarray(marks[name], dtype=float)[..., None] for name in (FIRST, SECOND))
    node, share = _POINTS
    speed = 0.5 * (first + second) + 0.5 * (second - first) * node
    v = speed / (0.5 * (np.asarray(about[FIRST], dtype=float) + about[SECOND]))[..., None]
    drag = (1.0 - induced) * np.square(v) + induced / np.square(v)
    slowness = 1.0 / np.maximum(x * v**fall - (x - 1.0) * drag, _LEAST)
    return speed, 0.5 * share, slowness


def _mean_share(marks: given.Conditions, about: given.Conditions, coefficients: Coefficients) -> Floats:
    """Mean acceleration in time between the two airspeeds of ``marks`` over that at the mean of those of ``about``."""
    _, share, slowness = _on_the_way(marks, about, coefficients)
    return 1.0 / np.sum(share * slowness, axis=-1)


def _of_a_force(slowness: Floats, share: Floats) -> Floats:
    """What a steady force takes from the mean in time, over what it takes from the acceleration: <1/a^2>/<1/a>^2."""
    return np.sum(share * np.square(slowness), axis=-1) / np.square(np.sum(share * slowness, axis=-1))


def _of_a_path(runs: Runs, coefficients: Coefficients) -> Floats:
    """What a path that is not level takes from the mean in time (..., n), over g times height over time and mean speed.

    Height over way is the sine of the path; the way is that of the mean airspeed in time.
    """
    speed, share, slowness = _on_the_way(runs, runs, coefficients)
    in_time = np.sum(share * slowness * speed, axis=-1) / np.sum(share * slowness, axis=-1)
    return _of_a_force(slowness, share) * np.sum(share * speed, axis=-1) / in_time


def mean_ratio(runs: Runs, sky: Sky) -> Floats:
    """Mean of the two airspeeds over that of the common sky (..., n).

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs

    Returns
    -------
    ndarray
        [1], (..., n), the last axis the runs.
    """
    return (np.asarray(runs[FIRST], dtype=float) + runs[SECOND]) / (np.asarray(sky[FIRST], dtype=float) + sky[SECOND])


def see(at: Vantage) -> Sight | str:
    """Mass times acceleration, between the two true airspeeds.

    The mean in time counts the fast end most, where speed is gained slowly: it sees the force there, and a little more
    of it than its share.

    Parameters
    ----------
    at : where and how the measure sees the difference of thrust
    """
    if not {FIRST, SECOND} <= at.sky.keys():
        return "the two airspeeds are not known"
    of = {one.name: one.value for one in coefficients(at.known)}
    first, second = true_speeds(at.sky)
    speed, share, slowness = _on_the_way({FIRST: first, SECOND: second}, {FIRST: first, SECOND: second}, of)
    weights = share * np.square(slowness)
    air = has(at.sky, "oat", "altitude")
    return Sight(
        airspeed=float(np.sum(weights * speed) / np.sum(weights)),
        factor=at.sky["weight"] / float(_of_a_force(slowness, share)),
        density=float(given.density(at.sky, speeds.pressure_of(at.sky))) if air else None,
        doubts={"weight": WEIGHT_KNOWN, "airspeed": AIRSPEED_KNOWN},
    )


def _airspeed(runs: Runs, sky: Sky) -> Floats:
    return mean_ratio(runs, sky) if {FIRST, SECOND} <= sky.keys() else np.asarray(np.nan)


def _span(runs: Runs, sky: Sky) -> Floats:
    return np.asarray(runs[SECOND], dtype=float) / runs[FIRST]


def _height_share(runs: Runs, sky: Sky) -> Floats:
    """What the height is worth (..., n), as a share of the gain of speed; NaN where it was not read."""
    if not has(runs, END, "altitude"):
        return np.asarray(np.nan)
    first, second = true_speeds(runs)
    return 2.0 * G0 * height_gained(runs) / (np.square(second) - np.square(first))


MEASURE = Measure(
    name="level_acceleration",
    title="acceleration in level flight",
    result="mean acceleration between two airspeeds",
    dimension="acceleration",
    unit="m/s^2",
    better="larger",
    ratio=True,
    columns=(
        Column(FIRST, "speed", "airspeed when the time began, as indicated", required=True, low=10.0, high=150.0),
        Column(SECOND, "speed", "airspeed when the time ended, as indicated", required=True, low=12.0, high=200.0),
        Column(ELAPSED, "time", "time from the one airspeed to the other", required=True, low=2.0, high=600.0),
        Column(
            ALTITUDE.name,
            "length",
            "pressure altitude at the first airspeed (1013.25 hPa set)",
            required=True,
            low=ALTITUDE.low,
            high=ALTITUDE.high,
        ),
        Column(
            END,
            "length",
            "pressure altitude at the second airspeed; blank means nobody read it",
            low=ALTITUDE.low,
            high=ALTITUDE.high,
        ),
    ),
    conditions=("altitude", "oat", "dew point", "weight", FIRST, SECOND),
    corrections=("true airspeed", "height", "airspeed", "weight", "density"),
    reduce=reduce,
    needs={
        "true airspeed": ("altitude", "oat"),
        "height": ("altitude", END),
        "airspeed": (FIRST, SECOND),
        "weight": ("weight",),
        "density": ("altitude", "oat"),
    },
    explained={
        "true airspeed": "both airspeeds made true in the air of the run.",
        "height": "for height gained or lost on the way, as speed: g h/V over the time.",
        "airspeed": "to the two airspeeds of the common sky: thrust falls and drag grows on the way.",
        "weight": "to the weight of the common sky, by a power of the weight ratio: weight costs induced drag as well.",
        "density": "to the air of the common sky, at one calibrated airspeed: drag stays, thrust goes with the "
        "engine's power, by the pressure of the dry air and by temperature.",
    },
    coefficients=coefficients(Known()),
    coefficients_for=coefficients,
    said_for=power.said,
    limits=(
        Limit("height", "is believed while it is under 25 % of the gain of speed", _height_share, -0.25, 0.25),
        Limit("airspeed", "is believed within 4 % of the common mean airspeed", _airspeed, 0.96, 1.04),
        Limit("second airspeed", "is not made; let it be 1.15 to 1.45 times the first", _span, 1.15, 1.45),
        Limit("weight", "is believed within 8 % of the common weight", given.weight_ratio, 0.92, 1.08),
        Limit("density", "is believed within 6 % of the common density", speeds.level_density_ratio, 0.94, 1.06),
    ),
    assumptions=(
        "Full throttle before the first airspeed, so that the engine has settled when the time begins; rpm below the "
        "limit up to the second.",
        "The same two airspeeds for all runs, both at the climbing speed or above it and well below top speed.",
        "The air neither rises nor sinks, and the wind along the track does not change meanwhile: reciprocal headings "
        "in turn.",
        "Indicated airspeed is taken as calibrated, unless position_error.csv tells the correction; an error of the "
        "airspeed system common to all runs cancels in a ratio.",
        "Engine speed is a result of a fixed-pitch propeller and is not corrected.",
    ),
    cautions=(
        "Look out all the time: a second person films the dials or runs the watch, or a phone in a holder does.",
        "Stay above the slow speeds that the aeroplane's papers set and below their limits for the roughness of the "
        "air; a full-throttle run begun slow and nose-high is no place to look at a phone.",
        "Keep the engine below its rpm limit: end the run early, and write down yes under 'throttled' where the "
        "throttle was pulled back.",
    ),
    plausible=(0.1, 5.0),
    worst_drift=WorstDrift(
        0.10,
        "assumed: air that comes to rise or sink by 50 ft/min within an hour is 0.07 m/s^2 at 70 kt, a tenth of 0.7",
    ),
    shipped=(
        rigging(0.005),
        *unseen_drift(0.01, 0.01),
        ErrorSource(
            "rising and sinking air while it gains speed",
            RESULT,
            0.03,
            "run",
            "assumed: 0.1 m/s of rising or sinking air in the calm of the morning, times g/V at 65 kt",
        ),
    ),
    far_out=0.30,
    thrust=ThrustView(see, needs=("weight", "altitude"), aloft=True),
)
