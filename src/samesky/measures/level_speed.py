"""How fast is it in level flight at full throttle?

True airspeed, from the airspeed indicator or from satellite-navigation legs, at the common density and weight. Well
above the speed of least drag P ~ sigma V^3: thin air lets the aeroplane go faster and leaves the engine less power, the
two nearly cancel, and what is left hangs on how power goes with temperature (:mod:`samesky.measures.power`). Three per
cent of power is one per cent of speed.

The engine speed reached is reported beside the speed, with the rpm in hand
(:func:`samesky.aeroplane.engine.speed_margin`): a propeller that is fast because it over-speeds is not the better one.
"""

from __future__ import annotations

from samesky.aeroplane.kinds import Known, engine_factor
from samesky.instruments.rigging import rigging
from samesky.instruments.unseen_drift import unseen_drift
from samesky.measures import conditions as given
from samesky.measures import power, speeds
from samesky.measures.columns import AIRSPEED, ALTITUDE, FUEL_FLOW, LEGS
from samesky.measures.shape import (
    Coefficient,
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
)

_WEIGHT = Coefficient(
    "weight exponent",
    -0.07,
    0.03,
    "exponent of weight in the full-throttle level true airspeed (induced drag)",
    "assumed: -0.06 in own simulation of a light aeroplane",
)


def coefficients(known: Known) -> tuple[Coefficient, ...]:
    """Of wind and weight, and of the air and the engine.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    return (*speeds.COEFFICIENTS, _WEIGHT, *power.level_speed(known))


def reduce(runs: Runs, sky: Sky, coefficients: Coefficients) -> list[Step]:
    """True airspeed [m/s] of every run, step by step, brought to the common sky.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name
    """
    steps = [Step("as flown", speeds.as_shown(runs))]
    airspeed = speeds.true_of(runs, coefficients)
    if airspeed is not None:
        steps.append(Step("true airspeed", airspeed))
    if given.both(runs, sky, "oat", "altitude"):
        given.scaled(steps, power.CORRECTION, power.to_the_sky(runs, sky, coefficients, speeds.pressure_of))
    if given.both(runs, sky, "weight"):
        given.scaled(steps, "weight", (runs["weight"] / sky["weight"]) ** -coefficients["weight exponent"])
    return steps


#: How steeply thrust less drag falls with airspeed at top speed, as -dF/dV V/T, and its standard uncertainty (2.2 to
#: 3.0 in own computations).
STEEPNESS, STEEPNESS_UNCERTAINTY = 2.6, 0.4
#: Efficiency of a propeller at top speed (assumed; its doubt is within that of the power).
EFFICIENCY = 0.78
#: Relative standard uncertainty of the thrust power (assumed: a rated power is seldom the power of this engine).
POWER_KNOWN = 0.20


def see(at: Vantage) -> Sight | str:
    """A little more thrust is a little more speed: dF = k T dV / V, with the thrust from power, T = efficiency P / V.

    Of fixed pitch torque is nearly level with engine speed, so that the rated power counts as far as its engine speed
    is reached; rpm that nobody read is taken to be the rated one.

    Parameters
    ----------
    at : where and how the measure sees the difference of thrust
    """
    known = at.known
    if known.power is None:
        return "the power of the engine is not entered ([engine] power)"
    pressure, oat = speeds.pressure_of(at.sky), at.sky.get("oat")
    share = at.means.get("rpm", float("nan")) / (known.rated_speed or float("nan"))
    reached = min(share, 1.05) if share == share else 1.0
    left = float(engine_factor(known.law(), pressure, oat)) if oat is not None else 1.0
    thrust = EFFICIENCY * known.power * reached * left / at.level
    return Sight(
        airspeed=at.level,
        factor=STEEPNESS * thrust / at.level,
        density=float(given.density(at.sky, pressure)) if oat is not None else None,
        doubts={"power": POWER_KNOWN, "steepness at top speed": STEEPNESS_UNCERTAINTY / STEEPNESS},
    )


MEASURE = Measure(
    name="level_speed",
    title="full-throttle level speed",
    result="true airspeed in level flight",
    dimension="speed",
    unit="kt",
    better="larger",
    ratio=False,
    columns=(ALTITUDE, AIRSPEED, *LEGS, FUEL_FLOW),
    conditions=("altitude", "oat", "dew point", "weight"),
    corrections=("true airspeed", "density", "weight"),
    reduce=reduce,
    needs={
        "true airspeed": ("altitude", "oat", "airspeed"),
        "density": ("altitude", "oat"),
        "weight": ("weight",),
    },
    coefficients=coefficients(Known()),
    coefficients_for=coefficients,
    said_for=power.said,
    sources=speeds.SOURCES,
    limits=(
        Limit(
            "true airspeed",
            "from two legs wants reciprocal tracks, within 10 degrees",
            speeds.two_leg_angle,
            0.0,
            0.1745,
        ),
        Limit("density", "is believed within 10 % of the common density", speeds.level_density_ratio, 0.90, 1.10),
        Limit("weight", "is believed within 10 % of the common weight", given.weight_ratio, 0.90, 1.10),
    ),
    assumptions=(
        "Full throttle, level, speed settled for two minutes or more; the air neither rises nor sinks.",
        *speeds.ASSUMED,
        "The mean of two reciprocal tracks is a little low in a crosswind, alike for both configurations.",
        "Indicated airspeed is taken as calibrated, unless position_error.csv tells the correction; an error of the "
        "airspeed system common to all runs cancels at one airspeed.",
        "Engine speed is a result of a fixed-pitch propeller and is not corrected; the rpm in hand is reported.",
    ),
    cautions=(
        "Keep the engine below its rpm limit: throttle back, and write down the rpm and yes under 'throttled', rather "
        "than over-speed.",
        "Stay below the airspeed limits for the roughness of the air, and keep looking out.",
    ),
    plausible=(10.0, 150.0),
    worst_drift=WorstDrift(
        0.02,
        "assumed: a wave or thermals that come to carry by 100 ft/min within an hour change top speed by 2 %",
    ),
    shipped=(rigging(0.001), *unseen_drift(0.003, 0.003)),
    far_out=0.06,
    thrust=ThrustView(see, needs=("altitude",), aloft=True),
)
