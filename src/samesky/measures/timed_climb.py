"""How fast does it climb?

A stopwatch through a band of pressure altitude. The altimeter counts pressure, not height, so the day's temperature
stretches the band; speed gained or lost on the way is height lent or borrowed; weight and density change the excess
power. Steps:

* tapeline height: dh = dHp T/Ts at the middle of the band, T virtual in moist air (hydrostatic equation);
* energy: (V_exit^2 - V_entry^2)/2g is added to the height (energy height, USNTPS-FTM-108 (1992) Eq 7.1), both speeds
  made true with the density of the middle of the band: a climb at constant indicated airspeed gets no correction,
  though its true airspeed does rise by about 1 % of the climb rate's worth (row T6-014, alike in all runs);
* weight: a power of the ratio, with an uncertainty that enters the budget. The form with the drag polar (FTM-108 Eq
  7.32-7.34) is better and needs a polar that a pilot rarely has;
* the air: its density at constant power, and the engine's power in it (:mod:`samesky.measures.power`).

The temperature is that of the middle of the band. One read on the ground on every run does as well for a comparison:
the lapse is common and cancels.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from samesky.aeroplane.kinds import Known
from samesky.air.constants import G0
from samesky.instruments.rigging import rigging
from samesky.instruments.unseen_drift import unseen_drift
from samesky.measures import conditions as given
from samesky.measures import power
from samesky.measures.columns import band
from samesky.measures.shape import (
    AIRSPEED_KNOWN,
    WEIGHT_KNOWN,
    Coefficients,
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


def reduce(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """Rate of climb [m/s] of every run, step by step, brought to the common sky.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name
    """
    height = np.asarray(runs["to"], dtype=float) - runs["from"]

    def air(runs: Runs, sky: Sky) -> Floats:
        return power.climb_to_the_sky(runs, sky, coefficients)

    return band_steps(height, runs, sky, coefficients["weight exponent"], air, +1.0)


def band_steps(
    height: Floats,
    runs: Runs,
    sky: Sky,
    weight_exponent: Numbers,
    air: Callable[[Runs, Sky], Floats],
    sign: float,
) -> list[Step]:
    """Steps of a rate [m/s]: ``height`` of the band [m], positive; ``sign`` +1 in a climb, -1 in a descent.

    ``air`` gives the factor (..., n) from the air of the runs to that of the sky.

    Parameters
    ----------
    height : height of the band [m], (..., n), positive
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    weight_exponent : exponent of weight in the rate [1]
    air : gives the factor (..., n) for the air
    sign : +1 in a climb, -1 in a descent
    """
    steps = [Step("as flown", height / runs["elapsed"])]
    if given.both(runs, sky, "oat"):
        given.scaled(steps, "tapeline height", given.tapeline_ratio(runs))
    energy = energy_rate(runs)
    if energy is not None:
        steps.append(Step("energy", steps[-1].value + sign * energy))
    if given.both(runs, sky, "weight"):
        given.scaled(steps, "weight", (runs["weight"] / sky["weight"]) ** -weight_exponent)
    if given.both(runs, sky, "oat", "from", "to"):
        given.scaled(steps, power.CORRECTION, air(runs, sky))
    return steps


def energy_rate(runs: Runs) -> Floats | None:
    """Rate of gain of kinetic energy height [m/s] from entry to exit; None where a speed was not read.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)

    Returns
    -------
    ndarray or None
        [m/s], (..., n), the last axis the runs.
    """
    if not has(runs, "entry airspeed", "exit airspeed"):
        return None
    speeds = [np.asarray(runs[name], dtype=float) for name in ("entry airspeed", "exit airspeed")]
    if has(runs, "oat"):
        speeds = [given.true_airspeed(speed, runs, given.middle_pressure(runs)) for speed in speeds]
    return (np.square(speeds[1]) - np.square(speeds[0])) / (2.0 * G0 * np.asarray(runs["elapsed"], dtype=float))


def energy_share(runs: Runs, sky: Sky) -> Floats:
    """Energy correction (..., n) as a fraction of the rate as flown; NaN where it is not made.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs

    Returns
    -------
    ndarray
        [1], (..., n), the last axis the runs.
    """
    energy = energy_rate(runs)
    rate = np.abs(np.asarray(runs["to"], dtype=float) - runs["from"]) / runs["elapsed"]
    return np.full(np.shape(rate), np.nan) if energy is None else energy / rate


def airspeed_ratio(runs: Runs, sky: Sky) -> Floats:
    """Airspeed over that of the common sky (..., n); NaN where unknown.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs

    Returns
    -------
    ndarray
        [1], (..., n), the last axis the runs.
    """
    return given.column_or_nan(runs, "airspeed") / given.column_or_nan(sky, "airspeed")


def see(at: Vantage) -> Sight | str:
    """Weight times rate of climb over true airspeed: the specific excess power F V / W, turned round.

    The airspeed held, else the mean of those read at the bottom and at the top.

    Parameters
    ----------
    at : what the measure may lean on

    Returns
    -------
    Sight or str
        Where and how it sees the force, or why it does not.
    """
    held = at.sky.get("airspeed")
    if held is None:
        held = 0.5 * (at.means.get("entry airspeed", np.nan) + at.means.get("exit airspeed", np.nan))
    if not held > 0.0:
        return "the airspeed of the climb is not known: there is no column 'airspeed', nor entry and exit airspeed"
    pressure = given.middle_pressure(at.sky)
    known = has(at.sky, "oat")
    speed = float(given.true_airspeed(held, at.sky, pressure) if known else held)
    return Sight(
        airspeed=speed,
        factor=at.sky["weight"] * G0 / speed,
        density=float(given.density(at.sky, pressure)) if known else None,
        doubts={"weight": WEIGHT_KNOWN, "airspeed": -AIRSPEED_KNOWN},
    )


MEASURE = Measure(
    name="timed_climb",
    title="timed climb",
    result="rate of climb",
    dimension="speed",
    unit="ft/min",
    better="larger",
    ratio=True,
    columns=band("bottom", "top"),
    conditions=("oat", "dew point", "weight", "from", "to", "airspeed"),
    corrections=("tapeline height", "energy", "weight", "density"),
    reduce=reduce,
    needs={
        "tapeline height": ("oat",),
        "energy": ("entry airspeed", "exit airspeed"),
        "weight": ("weight",),
        "density": ("oat",),
    },
    coefficients=power.timed_climb(Known()),
    coefficients_for=power.timed_climb,
    said_for=power.said,
    limits=(
        Limit("energy", "is believed while it is under 10 % of the rate", energy_share, -0.10, 0.10),
        Limit("weight", "is believed within 5 % of the common weight", given.weight_ratio, 0.95, 1.05),
        Limit("density", "is believed within 5 % of the common density", given.middle_density_ratio, 0.95, 1.05),
        Limit("airspeed", "is not made; hold the airspeed within 5 % of the common one", airspeed_ratio, 0.95, 1.05),
    ),
    assumptions=(
        "Full throttle, one airspeed held through the band; airspeed near best climb changes the rate little.",
        "The air neither rises nor sinks, and the wind along the track does not change with height: climb in the calm "
        "of the morning, across the wind, on reciprocal headings.",
        "The temperature is that of the middle of the band, or was read at one and the same place on every run.",
        "Errors of altimeter and airspeed system are common to all runs and cancel in the difference.",
        "Engine speed is a result of a fixed-pitch propeller and is not corrected.",
    ),
    cautions=(
        "Watch engine temperatures and the rpm limit; stop the climb rather than the limit.",
        "A high nose hides traffic: clear the climb path, and keep looking out while someone else writes.",
    ),
    plausible=(0.1, 40.0),
    worst_drift=WorstDrift(
        0.08,
        "assumed: air that comes to rise or sink by 50 ft/min within an hour is 7 % of 700 ft/min; a tiring "
        "engine adds to it",
    ),
    shipped=(rigging(0.005), *unseen_drift(0.01, 0.01)),
    far_out=0.11,
    thrust=ThrustView(see, needs=("weight", "from", "to"), aloft=True),
)
