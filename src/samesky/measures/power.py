"""What does the air do to a full-throttle result? Through its density, and through the engine's power.

One exponent cannot hold both: an engine answers to pressure and temperature apart, a wing to density. At one calibrated
airspeed, with sigma the density ratio and f the engine factor (:mod:`samesky.aeroplane.kinds`),

    ln(value) = density exponent x ln(sigma) + power exponent x ln(f),
    ln(f) = (power with dry pressure) x ln(dry pressure) + (power with temperature) x ln(temperature).

A fixed-pitch propeller behind an engine of nearly level torque: n^2 goes with f/sigma, so J at one calibrated airspeed
with f^-1/2 and thrust with f^(1 + beta/2), where thrust falls with J^-beta (near 0 when static, 0.3 over the roll, 0.5
in the climb, 0.8 in level flight). A constant-speed propeller makes thrust of power at one n instead, close to
f^0.6 sigma^0.4 when static (momentum theory: 2/3 and 1/3). The exponents were worked out so and held against direct
computation with aeroplanes of another make; no flight has tested them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from samesky.aeroplane.kinds import (
    CONSTANT,
    ENGINES,
    GROUND,
    PROPELLERS,
    THRUST_BY_POWER,
    THRUST_BY_POWER_UNCERTAINTY,
    Known,
)
from samesky.air import moisture
from samesky.measures import conditions as given
from samesky.measures.shape import Coefficient, Coefficients, Runs, Sky

if TYPE_CHECKING:
    from samesky.arrays import Floats, Numbers

DENSITY, POWER = "density exponent", "power exponent"
PRESSURE, TEMPERATURE = "power with dry pressure", "power with temperature"
#: The correction that all of this is.
CORRECTION = "density"
#: The largest correction for the air that is made (ratio either way): beyond it no exponent holds (up to 42 % off over
#: 8,000 ft and 20 K in own computations).
FURTHEST = 1.25

_FORM = "derived (see samesky.measures.power), held against direct computation"
_SHARED = "of power and density changing alike; the exponent of density is that of density over power"


def dry_pressure(conditions: given.Conditions, pressure: Numbers | None = None) -> Floats:
    """Pressure [Pa] of the air without its water vapour (dry where no dew point was written).

    Parameters
    ----------
    conditions : prepared columns of runs or sky [SI], by name
    pressure : static pressure [Pa], None for that of the conditions

    Returns
    -------
    ndarray
        [Pa], (..., n), the last axis the runs.
    """
    pressure = np.asarray(conditions["pressure"] if pressure is None else pressure, dtype=float)
    dew_point = conditions.get("dew point")
    return pressure if dew_point is None else pressure * (1.0 - moisture.water_fraction(pressure, dew_point))


def to_the_sky(
    runs: Runs,
    sky: Sky,
    coefficients: Coefficients,
    pressure_of: Callable[[given.Conditions], Numbers] = lambda conditions: conditions["pressure"],
) -> Floats:
    """Factor (..., n) that brings a full-throttle result from the air of the runs to that of the sky.

    ``pressure_of`` gives the static pressure [Pa] of runs or sky; both know temperature and what that needs.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name
    pressure_of : gives the static pressure [Pa] of runs or sky

    Returns
    -------
    ndarray
        [1], (..., n), the last axis the runs.
    """
    density, power = logarithms(runs, sky, coefficients, pressure_of)
    return np.exp(coefficients[DENSITY] * density + coefficients[POWER] * power)


def logarithms(
    runs: Runs,
    sky: Sky,
    coefficients: Coefficients,
    pressure_of: Callable[[given.Conditions], Numbers],
) -> tuple[Floats, Floats]:
    """Logarithms (..., n) of density and of the engine factor in the sky over those in the air of the runs.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name
    pressure_of : gives the static pressure [Pa] of runs or sky

    Returns
    -------
    tuple[ndarray, ndarray]
        [1], (..., n), the last axis the runs.
    """
    here, there = pressure_of(runs), pressure_of(sky)
    density = np.log(given.density(sky, there) / given.density(runs, here))
    dry = np.log(dry_pressure(sky, there) / dry_pressure(runs, here))
    warm = np.log(np.asarray(sky["oat"], dtype=float) / np.asarray(runs["oat"], dtype=float))
    return density, coefficients[PRESSURE] * dry + coefficients[TEMPERATURE] * warm


def engine_coefficients(known: Known) -> tuple[Coefficient, Coefficient]:
    """The engine factor's two exponents, one and the same in every measure.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    law = known.law()
    return (
        Coefficient(
            PRESSURE,
            law.pressure,
            law.pressure_uncertainty,
            "exponent of the dry air's pressure in the engine's power at one temperature and engine speed",
            law.source,
        ),
        Coefficient(
            TEMPERATURE,
            law.temperature,
            law.temperature_uncertainty,
            "exponent of absolute temperature in the engine's power at one pressure and engine speed",
            law.source,
        ),
    )


def exponents(
    known: Known, density: tuple[float, float], power: tuple[float, float], says: str, rests: str = ""
) -> tuple[Coefficient, Coefficient]:
    """The two exponents of a result, each (value, standard uncertainty); ``says`` names the result.

    Where the engine has no law nothing is corrected, and all of it is uncertain.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    density : density exponent [1] and its standard uncertainty
    power : power exponent [1] and its standard uncertainty
    says : what the result is called
    rests : on what the power exponent rests beside the derivation
    """
    if not known.has_law():
        density = (0.0, float(np.hypot(*density)))
    source = f"{_FORM}{'; ' if rests else ''}{rests}"
    return (
        Coefficient(DENSITY, *density, f"exponent of density at constant engine power in {says}", _FORM),
        Coefficient(POWER, *power, f"exponent of the engine's power in {says}", source),
    )


def static_pull(known: Known) -> tuple[Coefficient, ...]:
    """Tied down: thrust goes with torque, by dimensional analysis; a torque that droops with speed takes a little.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    if known.constant_speed:
        found = exponents(known, (0.40, 0.12), (0.60, 0.12), "the full-throttle static pull, constant-speed propeller")
    else:
        found = exponents(known, (0.0, 0.06), (1.0, 0.06), "the full-throttle static pull, fixed pitch")
    return (*found, *engine_coefficients(known))


def takeoff_roll(known: Known) -> tuple[Coefficient, ...]:
    """-1 for the true airspeed squared; -1.15 y for thrust, of which y is the share in the net force.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    y, u, source = known.rolling()
    rests = f"y = mean thrust / mean net force = {y:.2f}, {source}"
    says = "the take-off roll at constant calibrated lift-off speed"
    if known.constant_speed:
        found = exponents(known, (-1.0 - 0.43 * y, 0.15), (-0.72 * y, float(np.hypot(0.72 * u, 0.10))), says, rests)
    else:
        found = exponents(known, (-1.0, 0.08), (-1.15 * y, 1.15 * u), says, rests)
    return (*found, *engine_coefficients(known))


def timed_climb(known: Known) -> tuple[Coefficient, ...]:
    """Weight, and the air: thrust power is X times what climbing takes, drag at one calibrated airspeed stays, and true
    airspeed goes with sigma^-1/2.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    x, u, source = known.excess()
    rests = f"X = thrust power / (weight x rate) = {x:.2f}, {source}"
    says = "the tapeline rate of climb at constant calibrated airspeed"
    of = by_power(known)
    width = x * float(np.hypot(of * u / x, THRUST_BY_POWER_UNCERTAINTY))
    if known.constant_speed:
        found = exponents(known, (0.40 * x - 0.50, 0.20), (of * x, width), says, rests)
    else:
        found = exponents(known, (-0.50, 0.05), (of * x, width), says, rests)
    return (climb_weight(known), *found, *engine_coefficients(known))


def by_power(known: Known) -> float:
    """Exponent of the engine factor in the thrust of a climb.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane

    Returns
    -------
    float
        [1].
    """
    return 0.90 if known.constant_speed else THRUST_BY_POWER


def climb_to_the_sky(runs: Runs, sky: Sky, coefficients: Coefficients) -> Floats:
    """Factor (..., n) that brings a full-throttle rate of climb from the air of the runs to that of the sky.

    Thrust power less drag power, X and X - 1 times what climbing takes in the sky: rate goes with
    sigma^(density exponent) x (1 + X (f^k - 1)), X k being the power exponent. For a small change that is the power of
    the ratio, as elsewhere; a large one is no power of anything. k is that of a fixed pitch: at constant speed the
    difference is of second order.

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name

    Returns
    -------
    ndarray
        [1], (..., n), the last axis the runs.
    """
    density, power = logarithms(runs, sky, coefficients, given.middle_pressure)
    excess = coefficients[POWER] / THRUST_BY_POWER
    return np.exp(coefficients[DENSITY] * density) / given.positive(
        1.0 + excess * (np.exp(-THRUST_BY_POWER * power) - 1.0)
    )


def climb_weight(known: Known) -> Coefficient:
    """Exponent of weight in the rate of climb: -1 for the excess power, and the induced drag that more lift costs.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    x, u, source = known.excess()
    induced, doubt = 0.42, 0.08
    return Coefficient(
        "weight exponent",
        -1.0 - 2.0 * induced * (x - 1.0),
        2.0 * float(np.hypot(doubt * (x - 1.0), induced * u)),
        "exponent of weight in the rate of climb at constant calibrated airspeed",
        f"derived: -1 - 2 i (X - 1), i = induced share of the drag = 0.42 +- 0.08 (0.38 to 0.47 in own computations), "
        f"X = {x:.2f}, {source}",
    )


def ground_acceleration(known: Known) -> tuple[Coefficient, ...]:
    """Of the force beside rolling friction, between two ground speeds.

    At one true airspeed thrust, drag and lift all go with density where the engine's power does.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    says = "the force of the take-off run beside rolling friction, at one true airspeed"
    if known.constant_speed:
        found = exponents(known, (0.27, 0.09), (1.0, 0.05), f"{says}, constant-speed propeller", _SHARED)
    else:
        found = exponents(known, (-0.06, 0.11), (1.0, 0.05), f"{says}, fixed pitch", _SHARED)
    return (*found, *engine_coefficients(known))


def level_acceleration(known: Known) -> tuple[Coefficient, ...]:
    """Of the thrust at one calibrated airspeed above that of the climb; an engine whose torque falls with its speed
    makes thrust go with density as well, for in thin air it turns faster.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    says = "the thrust at one calibrated airspeed, in level flight"
    if known.constant_speed:
        found = exponents(known, (0.43, 0.08), (1.42, 0.08), f"{says}, constant-speed propeller", _SHARED)
    else:
        found = exponents(known, (0.10, 0.16), (1.26, 0.05), f"{says}, fixed pitch", _SHARED)
    return (*found, *engine_coefficients(known))


def thrust_to_the_sky(
    runs: Runs,
    sky: Sky,
    coefficients: Coefficients,
    pressure_of: Callable[[given.Conditions], Numbers] = lambda conditions: conditions["pressure"],
) -> Floats:
    """Factor (..., n) on a force, from the air of the runs to that of the sky: f^(power) (sigma/f)^(density).

    Height changes power and density almost alike: what is known of them together is not lost in what is not known of
    each (an exponent of sigma/f, of which height moves little).

    Parameters
    ----------
    runs : prepared columns of the runs [SI], (..., n)
    sky : the common sky [SI], by column name; broadcasts against the runs
    coefficients : values of the coefficients, by name
    pressure_of : gives the static pressure [Pa] of runs or sky

    Returns
    -------
    ndarray
        [1], (..., n), the last axis the runs.
    """
    density, power = logarithms(runs, sky, coefficients, pressure_of)
    return np.exp(coefficients[POWER] * power + coefficients[DENSITY] * (density - power))


def level_speed(known: Known) -> tuple[Coefficient, ...]:
    """Full throttle, level, true airspeed: thrust against drag, both at the top of the range.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    if known.constant_speed:
        found = exponents(
            known, (-0.33, 0.06), (0.41, 0.06), "the full-throttle level true airspeed, constant-speed propeller"
        )
    else:
        found = exponents(known, (-0.50, 0.06), (0.58, 0.07), "the full-throttle level true airspeed, fixed pitch")
    return (*found, *engine_coefficients(known))


def said(known: Known) -> tuple[str, ...]:
    """Sentences for the report: what engine and propeller were taken to be, and what the correction rests on.

    Parameters
    ----------
    known : what the campaign knows of its aeroplane
    """
    engine, propeller = known.engine or ENGINES[0], known.propeller or PROPELLERS[0]
    missing = [
        f"[{table}] kind"
        for table, value in (("engine", known.engine), ("propeller", known.propeller))
        if value is None
    ]
    turns = {GROUND: "of fixed pitch in flight (ground-adjustable)", CONSTANT: "constant-speed"}
    taken = f"Engine {engine}, propeller {turns.get(propeller, 'of fixed pitch')}"
    taken += (
        f": taken so, because {' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} not entered."
        * bool(missing)
        or "."
    )
    return (
        taken,
        "The engine's power goes with the pressure of the dry air and with temperature, each by an exponent of its own "
        "with its own uncertainty; no flight has tested these exponents, so flying at one height in like air beats "
        "correcting.",
    )
