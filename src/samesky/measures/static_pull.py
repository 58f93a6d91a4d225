"""How hard does it pull, tied down?

A scale between the tail and the ground. At a given throttle the static pull of a fixed-pitch propeller follows density
through air and engine power; weight does not matter and wind hardly: a headwind raises the advance ratio a little and
pushes on the airframe, both growing with its square. Static pull resolves a propeller best and says least about
flight: the blades are partly stalled, and it matters for the first metres of the roll.

A pull above the bound of momentum theory (:func:`samesky.aeroplane.propeller.static_thrust`) is a mistake of reading.
"""

from __future__ import annotations

import numpy as np

from samesky.measures import conditions as given
from samesky.measures.columns import CROSSWIND, GUST, HEADWIND
from samesky.measures.shape import Coefficient, Coefficients, Column, Limit, Measure, Runs, Sky, Step, WorstDrift

PULL = "pull"

COEFFICIENTS = (
    Coefficient(
        "wind loss",
        6.0e-4,
        2.0e-4,
        "share of the pull lost per square of the headwind [(m/s)^-2]",
        "assumed: in own simulation 1 % of thrust in 10 kt, and 0.6 to 0.8 % of it for the drag of the airframe",
    ),
    Coefficient(
        "density exponent",
        0.80,
        0.20,
        "exponent of density in the full-throttle static pull of a fixed-pitch propeller",
        "assumed: 0.5 to 1.1 in own simulation, between engine power with the root of temperature and with density",
    ),
)


def reduce(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """Static pull [N] of every run, step by step, brought to the common sky."""
    steps = [Step("as flown", np.asarray(runs[PULL], dtype=float))]
    if given.both(runs, sky, "headwind"):
        left = [given.positive(1 - coefficients["wind loss"] * np.square(c["headwind"])) for c in (runs, sky)]
        given.scaled(steps, "wind", left[1] / left[0])
    if given.both(runs, sky, "oat", "pressure"):
        given.scaled(steps, "density", given.density_ratio(runs, sky) ** -coefficients["density exponent"])
    return steps


def _headwind(runs: Runs, sky: Sky) -> np.ndarray:
    return np.abs(given.column_or_nan(runs, "headwind"))


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
    coefficients=COEFFICIENTS,
    limits=(
        Limit("wind", "is believed up to 10 kt of wind along the aeroplane", _headwind, 0.0, 5.2),
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
)
