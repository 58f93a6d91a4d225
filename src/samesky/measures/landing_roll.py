"""How short is the landing roll? The propeller as an air brake.

The mirror of the take-off roll, under the law of :mod:`samesky.measures.rolls`, with the hill now helping. Its
coefficients depend on who brakes: air and idling propeller at speed, wheels at the end. They are wide, because the
braking is the pilot's: only the same technique on every run makes the comparison mean something.
"""

from __future__ import annotations

from samesky.instruments.rigging import rigging
from samesky.instruments.unseen_drift import unseen_drift
from samesky.measures.columns import CROSSWIND, GUST, HEADWIND, RUNWAY, SLOPE
from samesky.measures.rolls import ROLL, RollLaw
from samesky.measures.shape import Coefficient, Column, Measure, WorstDrift

TOUCH_DOWN = "touch-down airspeed"
LAW = RollLaw(TOUCH_DOWN, uphill=-1.0)
_WIND, _SPEED, _WEIGHT_READ, _WEIGHT_UNREAD, _DENSITY = LAW.names()

COEFFICIENTS = (
    Coefficient(
        _WIND,
        1.90,
        0.10,
        "n in (1 - headwind/touch-down speed)^n",
        "derived: 2 at constant deceleration, less where the air brakes most at speed; 1.85 in airworthiness practice, "
        "from memory",
    ),
    Coefficient(
        _SPEED,
        1.90,
        0.15,
        "p in (touch-down true airspeed)^p",
        "derived: 2 at constant deceleration, less where the air brakes most at speed",
    ),
    Coefficient(
        _WEIGHT_READ,
        0.20,
        0.20,
        "exponent of weight where touch-down airspeed is corrected by itself",
        "derived: 0 where friction brakes (in proportion to weight), more where the air brakes",
    ),
    Coefficient(
        _WEIGHT_UNREAD,
        1.00,
        0.30,
        "exponent of weight where touch-down airspeed was not read",
        "UK CAA SafetySense Leaflet 7c (2013): landing distance x 1.10 for 10 % more weight (note to row T5-001)",
    ),
    Coefficient(
        _DENSITY,
        -1.00,
        0.25,
        "exponent of density at constant calibrated touch-down speed",
        "derived: true airspeed squared; the CAA leaflet's x 1.05 for 1 000 ft (note to row T5-002) gives -1.7 after "
        "rounding up",
    ),
)

MEASURE = Measure(
    name="landing_roll",
    title="landing ground roll",
    result="ground roll from touch-down to standstill",
    dimension="length",
    unit="m",
    better="smaller",
    ratio=True,
    columns=(
        Column(ROLL, "length", "first touch of the main wheels to standstill", required=True, low=5.0, high=5_000.0),
        HEADWIND,
        GUST,
        CROSSWIND,
        Column(TOUCH_DOWN, "speed", "airspeed at touch-down, as indicated", low=5.0, high=120.0),
        SLOPE,
        RUNWAY,
    ),
    conditions=("oat", "pressure", "dew point", "weight", "headwind", "slope", TOUCH_DOWN),
    corrections=("wind", "slope", "weight", "density", TOUCH_DOWN),
    reduce=LAW.reduce,
    needs=LAW.needs(),
    coefficients=COEFFICIENTS,
    limits=LAW.limits(),
    assumptions=(
        "The same technique on every run: flap, idle throttle, braking from the same moment and as hard.",
        "Rolling and braking friction are the same on every run: same strip, neither wetter nor longer grass.",
        "The headwind is the mean over the roll at the height of the wing.",
        "Indicated airspeed is taken as calibrated, unless position_error.csv tells the correction; an error of the "
        "airspeed system common to all runs cancels at one airspeed.",
        "Touch-down airspeed that was not read on every run is taken to be that of the common sky, if that is given.",
    ),
    cautions=(
        "Never brake or land shorter for the sake of a number; go around when the approach is not the briefed one.",
        "Let brakes cool between landings.",
        "The approved landing data rule the flight; a reduced roll is a comparison, never a field-length promise.",
    ),
    plausible=(10.0, 3_000.0),
    worst_drift=WorstDrift(
        0.15,
        "assumed: a headwind that freshens by 3 kt in an hour unread shortens a roll from 45 kt by 13 %; "
        "drying grass and warm brakes add to it",
    ),
    shipped=(rigging(0.005), *unseen_drift(0.02, 0.01)),
    far_out=0.3,
)
