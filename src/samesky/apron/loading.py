"""How heavy is it now, where does it balance, and what should go in before the next block?

The moment sum of the FAA Pilot's Handbook of Aeronautical Knowledge (FAA-H-8083-25, weight and balance), through
:mod:`samesky.aeroplane.loading`. The empty weight includes the baseline's part; a configuration adds the difference.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from samesky import units
from samesky.aeroplane.loading import Loading, moment_of
from samesky.apron import catalogue as say
from samesky.apron.fields import arm_unit, believable, bounded, configured, fuel_words, mass_unit, wrong
from samesky.apron.limits import OWN, LimitNow, all_hold, held, own, scrub_bounds
from samesky.campaign.messages.words import did_you_mean, listed, quoted
from samesky.campaign.model.campaign import Campaign
from samesky.planning.plan import Plan

PAPERS = "the aeroplane's own papers, as entered under Question"
CAUTION = (
    "The weighing report, the approved limits and the people licensed to change them decide whether it may fly; a part "
    "fitted for a test changes both figures. Nothing here is a weight-and-balance sheet."
)


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the sum: mass [kg], arm [m aft of datum] (None where unknown), moment [kg m] (NaN then)."""

    name: str
    mass: float
    arm: float | None
    moment: float


@dataclass(frozen=True, slots=True)
class LoadingNow:
    """Weight and balance of one configuration.

    Attributes
    ----------
    items : lines of the sum; their masses and moments add up to the whole
    mass : [kg]; ``mass_without_part`` without the difference of the changed part
    cg, cg_dry : centre of gravity [m aft of datum] now and with no fuel; NaN where an arm is not known
    part_mass, part_arm : by how much the part is heavier than the baseline's [kg], and where it sits [m] or None
    fuel, ballast : on board [kg]
    limits : weight and balance against the aeroplane's and the plan's limits; ``holds`` whether all do
    """

    configuration: str
    items: tuple[Item, ...]
    mass: float
    mass_without_part: float
    cg: float
    cg_dry: float
    part_mass: float
    part_arm: float | None
    fuel: float
    ballast: float
    limits: tuple[LimitNow, ...]
    holds: bool | None
    sentences: tuple[str, ...]
    caution: str = CAUTION


def loading_now(
    campaign: Campaign,
    configuration: str,
    fuel: float,
    ballast: float = 0.0,
    stations: Mapping[str, float] | None = None,
    ballast_arm: float | None = None,
    plan: Plan | None = None,
) -> LoadingNow:
    """Weight, centre of gravity, limits and margins.

    Parameters
    ----------
    configuration : key of what is fitted
    fuel : on board [kg]
    ballast : [kg] beyond the stations, at ``ballast_arm`` [m] (without it the balance is not known)
    stations : masses [kg] that take the place of those in ``[aeroplane.station.NAME]``, by name
    plan : whose limits of weight are held too

    Raises
    ------
    CampaignError : there is no ``[aeroplane]``, or a field is missing or beyond belief
    """
    loading = campaign.loading
    if loading is None:
        raise wrong("weight", say.APRON_EMPTY_WEIGHT_UNKNOWN())
    configured(campaign, configuration)
    unit, unit_arm = mass_unit(campaign), arm_unit(campaign)
    fuel, ballast = believable("fuel", fuel, unit), believable("ballast", ballast, unit)
    if ballast_arm is not None:
        bounded("ballast arm", ballast_arm, -50.0, 50.0, unit_arm, "length")
    loading = _with_stations(loading, stations or {}, unit)
    items = _items(campaign, loading, configuration, fuel, ballast, ballast_arm)
    mass, moment = (sum(getattr(item, name) for item in items) for name in ("mass", "moment"))
    if not mass > 0:
        raise wrong("fuel", say.APRON_IMPOSSIBLE_WEIGHT(mass=units.show(mass, unit, "mass", 1)))
    fuelled = next(item for item in items if item.name == "fuel")
    part_mass, part_arm = _part(campaign, configuration)
    found = LoadingNow(
        configuration=configuration,
        items=items,
        mass=mass,
        mass_without_part=mass - part_mass,
        cg=moment / mass,
        cg_dry=(moment - fuelled.moment) / (mass - fuel) if mass > fuel else math.nan,
        part_mass=part_mass,
        part_arm=part_arm,
        fuel=fuel,
        ballast=ballast,
        limits=(),
        holds=None,
        sentences=(),
    )
    limits = _limits(campaign, loading, found, plan, unit, unit_arm)
    words = _sentences(campaign, found, limits, unit, unit_arm)
    return replace(found, limits=limits, holds=all_hold(limits), sentences=words)


def _with_stations(loading: Loading, stations: Mapping[str, float], unit: str) -> Loading:
    changed = dict(loading.stations)
    for name, mass in stations.items():
        if name not in changed:
            raise wrong(
                f"station {name}",
                say.APRON_NO_SUCH_STATION(
                    name=quoted(name), hint=did_you_mean(name, changed, f"There is {listed(map(repr, changed))}.")
                ),
            )
        changed[name] = (bounded(f"station {name}", mass, 0.0, 20_000.0, unit, "mass"), changed[name][1])
    return replace(loading, stations=changed)


def _part(campaign: Campaign, key: str) -> tuple[float, float | None]:
    """By how much [kg] the part of a configuration is heavier than the baseline's, and its arm [m]."""
    one, base = campaign.configurations[key], campaign.configurations[campaign.baseline]
    return one.mass - base.mass, one.arm


def _items(
    campaign: Campaign, loading: Loading, key: str, fuel: float, ballast: float, ballast_arm: float | None
) -> tuple[Item, ...]:
    one, base = campaign.configurations[key], campaign.configurations[campaign.baseline]
    lines = [("empty, with the baseline's part", loading.empty_mass, loading.empty_arm)]
    lines += [(name, mass, arm) for name, (mass, arm) in loading.stations.items()]
    lines.append(("fuel", fuel, loading.fuel_arm))
    if ballast:
        lines.append(("ballast", ballast, ballast_arm))
    if (one.mass, one.arm) != (base.mass, base.arm):
        lines.append((f"part of {campaign.baseline}, taken off", -base.mass, base.arm))
        lines.append((f"part of {key}, fitted", one.mass, one.arm))
    return tuple(Item(name, mass, arm, float(moment_of(mass, arm))) for name, mass, arm in lines)


def _limits(
    campaign: Campaign, loading: Loading, found: LoadingNow, plan: Plan | None, unit: str, unit_arm: str
) -> tuple[LimitNow, ...]:
    def weighed(value: float) -> str:
        return units.show(value, unit, "mass", 1)

    def placed(value: float) -> str:
        return arm_words(value, unit_arm)

    def filled(value: float) -> str:
        return fuel_words(campaign, value)

    mass, fuel = (found.mass, found.mass), (found.fuel, found.fuel)
    low, high = loading.cg_forward, loading.cg_aft
    balances = (found.cg, found.cg_dry)
    # As fuel burns the balance moves one way only, from the one end to the other.
    why = "an arm is not entered under Question, or where the ballast sits"
    travel = None if any(map(math.isnan, balances)) else (min(balances), max(balances))
    limits = [
        held("weight", PAPERS, (None, loading.max_mass), mass, weighed),
        held("centre of gravity, from now to no fuel,", PAPERS, (low, high), travel, placed, why),
        held("weight", OWN, own(campaign, "weight"), mass, weighed),
        held("fuel", OWN, own(campaign, "fuel"), fuel, filled),
    ]
    reserve = None if campaign.plan is None else campaign.plan.reserve
    limits.append(held("fuel", "the reserve of the plan", (reserve, None), fuel, filled))
    limits += [
        held("weight", whose, (limit.low, limit.high), mass, weighed)
        for limit, whose in scrub_bounds(plan, ("weight",))
    ]
    return tuple(limit for limit in limits if limit is not None)


def arm_words(arm: float, unit: str) -> str:
    """An arm [m] with the digits of a weighing report."""
    return units.show(arm, unit, "length", 3 if unit == "m" else 1)


def _sentences(
    campaign: Campaign, found: LoadingNow, limits: tuple[LimitNow, ...], unit: str, unit_arm: str
) -> tuple[str, ...]:
    label = campaign.configurations[found.configuration].label
    said = [f"With {found.configuration} ({label}) it weighs {units.show(found.mass, unit, 'mass', 1)}."]
    if math.isnan(found.cg):
        said.append("Where it balances is not known: an arm is missing.")
    else:
        said.append(
            f"It balances at {arm_words(found.cg, unit_arm)} aft of the datum now, and at "
            f"{arm_words(found.cg_dry, unit_arm)} once all fuel is burnt."
        )
    if found.part_mass:
        heavier = "heavier" if found.part_mass > 0 else "lighter"
        arm = "at an arm that is not given" if found.part_arm is None else f"at {arm_words(found.part_arm, unit_arm)}"
        size = units.show(abs(found.part_mass), unit, "mass", 1)
        said.append(f"Its part is {size} {heavier} than that of {campaign.baseline}, {arm}.")
    if campaign.loading.max_mass is None:
        said.append("No maximum weight is entered under Question: look it up in the papers.")
    if campaign.loading.cg_forward is None and campaign.loading.cg_aft is None:
        said.append("No limits of the centre of gravity are entered under Question: look them up in the papers.")
    return (*said, *(limit.says for limit in limits))
