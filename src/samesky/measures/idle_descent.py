"""How steeply does it come down at idle? The propeller as an air brake.

A stopwatch through a band of pressure altitude at one airspeed with the throttle closed, reduced as a climb is
(:mod:`samesky.measures.timed_climb`), and brought to the common airspeed, on which sink depends strongly. With
parasite drag D0 and induced drag Di, sink = (D0 + Di) V/W and the share k = (D0 - Di)/(D0 + Di) give

    d ln(sink)/d ln(V) = 1 + 2k,   d ln(sink)/d ln(W) = -k,   d ln(sink)/d ln(sigma) = -1/2

at constant calibrated airspeed (drag of an idling propeller counted with the parasite drag).

Which direction is better is the pilot's to say: a brake for a short field, or a glide. Default: more sink.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from samesky.instruments.rigging import rigging
from samesky.instruments.unseen_drift import unseen_drift
from samesky.measures import conditions as given
from samesky.measures import timed_climb
from samesky.measures.columns import band
from samesky.measures.shape import Coefficient, Coefficients, Limit, Measure, Runs, Sky, Step, WorstDrift

if TYPE_CHECKING:
    from samesky.arrays import Floats

COEFFICIENTS = (
    Coefficient(
        "parasite excess",
        0.50,
        0.25,
        "k, parasite less induced drag over their sum, idling propeller included",
        "assumed: 0 at the speed of least drag, 0.5 to 0.8 at approach speeds above it",
    ),
    Coefficient(
        "density exponent",
        -0.50,
        0.15,
        "exponent of density in the sink rate at constant calibrated airspeed",
        "derived: true airspeed at constant drag; the idling propeller's drag is taken to follow the airframe's",
    ),
)


def reduce(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """Sink rate [m/s] of every run, step by step, brought to the common sky.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name
    """
    k = coefficients["parasite excess"]
    height = np.asarray(runs["from"], dtype=float) - runs["to"]

    def air(runs: Runs, sky: Sky) -> Floats:
        return given.middle_density_ratio(runs, sky) ** -coefficients["density exponent"]

    steps = timed_climb.band_steps(height, runs, sky, -k, air, -1.0)
    if given.both(runs, sky, "airspeed"):
        given.scaled(steps, "airspeed", timed_climb.airspeed_ratio(runs, sky) ** -(1.0 + 2.0 * k))
    return steps


MEASURE = Measure(
    name="idle_descent",
    title="descent at idle",
    result="sink rate at idle",
    dimension="speed",
    unit="ft/min",
    better="larger",
    ratio=True,
    columns=band("top", "bottom"),
    conditions=("oat", "dew point", "weight", "from", "to", "airspeed"),
    corrections=("tapeline height", "energy", "weight", "density", "airspeed"),
    reduce=reduce,
    needs={**timed_climb.MEASURE.needs, "airspeed": ("airspeed",)},
    coefficients=COEFFICIENTS,
    limits=(
        Limit("energy", "is believed while it is under 10 % of the rate", timed_climb.energy_share, -0.10, 0.10),
        Limit("weight", "is believed within 10 % of the common weight", given.weight_ratio, 0.90, 1.10),
        Limit("density", "is believed within 10 % of the common density", given.middle_density_ratio, 0.90, 1.10),
        Limit("airspeed", "is believed within 5 % of the common airspeed", timed_climb.airspeed_ratio, 0.95, 1.05),
    ),
    assumptions=(
        "Throttle closed, same flap, same idle setting and engine temperature; one airspeed held through the band.",
        "The air neither rises nor sinks, and the wind along the track does not change with height.",
        "The temperature is that of the middle of the band, or was read at one and the same place on every run.",
        "Errors of altimeter and airspeed system are common to all runs and cancel in the difference.",
    ),
    cautions=(
        "Descend over a place where you could land; warm the engine as its handbook says, and go around in good time.",
        "Mind carburettor icing at closed throttle, and the rpm limit in a fast glide.",
    ),
    plausible=(0.2, 30.0),
    worst_drift=WorstDrift(
        0.08,
        "assumed: air that comes to rise or sink by 50 ft/min within an hour is 7 % of 700 ft/min",
    ),
    shipped=(rigging(0.005), *unseen_drift(0.01, 0.01)),
    far_out=0.16,
)
