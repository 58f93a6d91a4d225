"""How long is the take-off roll?

A length that wind, slope, weight, air and above all the lift-off speed of the day change by more than two good
propellers differ. The law and the order of its corrections are those of :mod:`samesky.measures.rolls`; form and order
follow USNTPS-FTM-108 (1992) sec. 9.3.1.4 and FAA AC 23-8C (both from memory). The coefficients are held against direct
integration of the equation of motion in the tests.
"""

from __future__ import annotations

from samesky.aeroplane.kinds import Known
from samesky.instruments.rigging import rigging
from samesky.instruments.unseen_drift import unseen_drift
from samesky.measures import conditions as given
from samesky.measures import power
from samesky.measures.columns import CROSSWIND, GUST, HEADWIND, RUNWAY, SLOPE
from samesky.measures.rolls import ROLL, RollLaw
from samesky.measures.shape import (
    AIRSPEED_KNOWN,
    WEIGHT_KNOWN,
    Coefficient,
    Column,
    Measure,
    Sight,
    ThrustView,
    Vantage,
    WorstDrift,
    has,
)

LIFT_OFF = "lift-off airspeed"
LAW = RollLaw(LIFT_OFF, uphill=+1.0, full_throttle=True)
_WIND, _SPEED, _WEIGHT_READ, _WEIGHT_UNREAD, _ = LAW.names()

_OF_THE_ROLL = (
    Coefficient(
        _WIND,
        1.85,
        0.10,
        "n in (1 - headwind/lift-off speed)^n",
        "USNTPS-FTM-108 (1992) sec. 9.3.1.4.1 and FAA AC 23-8C, from memory (row T5-067); 2 at constant acceleration; "
        "1.92 in own simulation",
    ),
    Coefficient(
        _SPEED,
        2.42,
        0.15,
        "p in (lift-off true airspeed)^p",
        "derived: 2 at constant acceleration, more as thrust falls and drag grows with speed; 2.27 to 2.7 on nine "
        "computed aeroplanes",
    ),
    Coefficient(
        _WEIGHT_READ,
        1.20,
        0.15,
        "exponent of weight where lift-off airspeed is corrected by itself",
        "derived: 1 without rolling friction, more with it; 1.20 in own simulation; 1.3 from rows T5-051 and T5-052 "
        "less the part of lift-off speed",
    ),
    Coefficient(
        _WEIGHT_UNREAD,
        2.30,
        0.40,
        "exponent of weight where lift-off airspeed was not read",
        "2.3 from 440 ft at 2 400 lb and 575 ft at 2 700 lb, FAA-H-8083-25A (2008) p. 10-14 (rows T5-051, T5-052); "
        "2 by the square law (T5-050); wide, for a pilot who keeps one airspeed",
    ),
)


def coefficients(known: Known) -> tuple[Coefficient, ...]:
    """Of wind, lift-off speed and weight, and of the air and the engine.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    return (*_OF_THE_ROLL, *power.takeoff_roll(known))


def see(at: Vantage) -> Sight | str:
    """Mean force of the roll, m V_g^2 / 2 s, at two thirds of the way from the wind to the lift-off speed.

    ds = m V dV / F, so that with F nearly level ds / s = - dF / F with dF averaged over V dV: of a dF that is straight
    in V, its value at two thirds of the ground speed at lift-off.

    Parameters
    ----------
    at : where and how the measure sees the difference of thrust
    """
    air = has(at.sky, "oat", "pressure")
    lift_off = float(given.true_airspeed(at.sky[LIFT_OFF], at.sky) if air else at.sky[LIFT_OFF])
    wind = float(at.sky.get("headwind", 0.0))
    ground_speed = lift_off - wind
    if not ground_speed > 0.0:
        return "the headwind is no less than the lift-off airspeed"
    return Sight(
        airspeed=wind + 2.0 / 3.0 * ground_speed,
        factor=at.sky["weight"] * ground_speed**2 / 2.0,
        exponent=-1.0,
        density=float(given.density(at.sky)) if air else None,
        doubts={"weight": WEIGHT_KNOWN, "airspeed": 2.0 * AIRSPEED_KNOWN * lift_off / ground_speed},
    )


MEASURE = Measure(
    name="takeoff_roll",
    title="take-off roll",
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
    reduce=LAW.reduce,
    needs=LAW.needs(),
    coefficients=coefficients(Known()),
    coefficients_for=coefficients,
    said_for=power.said,
    limits=LAW.limits(),
    assumptions=(
        "Rolling friction is the same on every run: same strip, same line, grass neither wetter nor longer.",
        "The headwind is the mean over the roll at the height of the wing.",
        "Full throttle from brake release, same technique and flap setting; engine speed is a result of a fixed-pitch "
        "propeller and is not corrected.",
        "Indicated airspeed is taken as calibrated, unless position_error.csv tells the correction; an error of the "
        "airspeed system common to all runs cancels at one airspeed.",
        "Lift-off airspeed that was not read on every run is taken to be that of the common sky, if that is given.",
    ),
    cautions=(
        "Keep tailwinds out of the test, know the accelerate-stop distance, and mark an abort point before flying.",
        "Keep people and cameras clear of the strip and of the propeller's plane.",
        "The approved take-off data rule the flight; a reduced roll is a comparison, never a field-length promise.",
    ),
    plausible=(10.0, 3_000.0),
    worst_drift=WorstDrift(
        0.15,
        "assumed: a headwind that freshens by 3 kt in an hour unread shortens a roll to 45 kt by 13 %; grass "
        "that dries adds to it",
    ),
    shipped=(rigging(0.005), *unseen_drift(0.02, 0.01)),
    far_out=0.22,
    thrust=ThrustView(see, needs=("weight", LIFT_OFF)),
)
